"""Lettering parted into components: single glyphs, or letters that touch and are measured as one (joined scripts).

A component is kept in cap heights in the frame of its first glyph, so that what is measured on it holds at every size and
place; its matrix takes it to the lid.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely import LineString, MultiLineString, STRtree, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.cutting import criteria
from engrave.geometry.affine import IDENTITY, Matrix, inverse_matrix, map_shape, matrix_product
from engrave.geometry.regions import centre_lines, region
from engrave.setting.lettering import Lettering, Mark
from engrave.typefaces.run import Glyph

PLACE_DECIMALS = 6
"""Decimals of a relative place in cap heights: a hundredth of a micron; equal neighbours must give equal keys."""

GLYPH_SHAPES: CacheKind[BaseGeometry] = CacheKind("glyph shapes", 2048)
"""Several typefaces, every letter."""


@dataclass(frozen=True, slots=True)
class Component:
    """One shape to be measured. key: equal keys mean equal shapes. shape: region or lines in cap heights, y up.

    matrix: to the lid's mm. on_lid: the shape there, mm. marks: indices of the marks that it joins.
    """

    key: str
    shape: BaseGeometry
    matrix: Matrix
    on_lid: BaseGeometry
    marks: tuple[int, ...]

    @property
    def cap_mm(self) -> float:
        """How many mm one cap height is on the lid."""
        a, b, c, d, _, _ = self.matrix
        return float(abs(a * d - b * c) ** 0.5)


def glyph_shape(glyph: Glyph, as_lines: bool) -> BaseGeometry:
    """Return a glyph as a region (or as its lines) in cap heights."""
    return centre_lines(glyph.path, criteria.GLYPH_CHORD) if as_lines else region(glyph.path, criteria.GLYPH_CHORD)


def kept_glyph_shape(glyph: Glyph, as_lines: bool, cache: Cache) -> BaseGeometry:
    """Return a glyph's shape, kept by the glyph's key."""
    return cache.get(GLYPH_SHAPES, (glyph.key, as_lines), lambda: glyph_shape(glyph, as_lines))


def components_of(lettering: Lettering, as_lines: bool, cache: Cache) -> tuple[Component, ...]:
    """Part lettering into components, in the order of their first marks. Marks that draw nothing are left out."""
    marks = [(i, m) for i, m in enumerate(lettering.marks) if m.glyph.path]
    shapes = [kept_glyph_shape(m.glyph, as_lines, cache) for _, m in marks]
    filled = [k for k, s in enumerate(shapes) if not s.is_empty]
    marks, shapes = [marks[k] for k in filled], [shapes[k] for k in filled]
    placed = [map_shape(s, m.matrix) for (_, m), s in zip(marks, shapes, strict=True)]
    return tuple(
        _single(marks[group[0]], shapes[group[0]], placed[group[0]])
        if len(group) == 1
        else _united([marks[k] for k in group], [shapes[k] for k in group])
        for group in _touching(placed, marks, lettering, as_lines)
    )


def _single(mark: tuple[int, Mark], shape: BaseGeometry, on_lid: BaseGeometry) -> Component:
    return Component(mark[1].glyph.key, shape, mark[1].matrix, on_lid, (mark[0],))


def _touching(
    placed: Sequence[BaseGeometry], marks: Sequence[tuple[int, Mark]], lettering: Lettering, as_lines: bool
) -> list[list[int]]:
    """Return groups of indices of shapes that touch, each group and the groups themselves in order."""
    if len(placed) < 2:
        return [[k] for k in range(len(placed))]
    leader = list(range(len(placed)))

    def root(k: int) -> int:
        while leader[k] != k:
            k = leader[k]
        return k

    for one, two in _pairs(placed, [m for _, m in marks], lettering, as_lines):
        a, b = root(one), root(two)
        if a != b:
            leader[max(a, b)] = min(a, b)
    groups: dict[int, list[int]] = {}
    for k in range(len(placed)):
        groups.setdefault(root(k), []).append(k)
    return list(groups.values())


def _pairs(
    placed: Sequence[BaseGeometry], marks: Sequence[Mark], lettering: Lettering, as_lines: bool
) -> Iterator[tuple[int, int]]:
    """Yield indices of shapes that touch: of single lines that are joined by design, also where their ends just miss."""
    tree, least = STRtree(placed), min(m.cap_mm for m in marks)
    joined = {n for n, line in enumerate(lettering.lines) if line.joined and as_lines}
    most = criteria.RETRACED_DISTANCE * max((m.cap_mm for m in marks if m.line in joined), default=0.0)
    touching = criteria.TOUCHING_DISTANCE * least
    for one, two in tree.query(placed, predicate="dwithin", distance=max(touching, most)).T.tolist():
        same = marks[one].line == marks[two].line in joined
        reach = criteria.RETRACED_DISTANCE * marks[one].cap_mm if same else touching
        if most <= touching or placed[one].distance(placed[two]) <= reach:
            yield one, two


def _united(marks: Sequence[tuple[int, Mark]], shapes: Sequence[BaseGeometry]) -> Component:
    """Return letters that touch as one component, in the frame of the first."""
    first = marks[0][1]
    relative = [_rounded(matrix_product(inverse_matrix(first.matrix), m.matrix)) for _, m in marks]
    relative[0] = IDENTITY
    named = repr([(m.glyph.key, r) for (_, m), r in zip(marks, relative, strict=True)])
    digest = hashlib.sha256(named.encode()).hexdigest()[:24]
    joined = _joined(shapes, relative)
    # letters bent along a rim hardly ever come again just so: `measures` keeps them for this run only
    kind = "bent~" if any("~" in m.glyph.key for _, m in marks) else "joined"
    key = f"{first.glyph.key.split('/')[0]}/{kind}/{digest}"
    return Component(key, joined, first.matrix, map_shape(joined, first.matrix), tuple(i for i, _ in marks))


def _joined(shapes: Sequence[BaseGeometry], relative: Sequence[Matrix]) -> BaseGeometry:
    placed = [map_shape(s, r) for s, r in zip(shapes, relative, strict=True)]
    if all(isinstance(s, LineString | MultiLineString) for s in placed):
        return MultiLineString([line for s in placed for line in getattr(s, "geoms", [s])])
    return union_all(placed)


def _rounded(m: Matrix) -> Matrix:
    a, b, c, d, e, f = (round(v, PLACE_DECIMALS) + 0.0 for v in m)
    return (a, b, c, d, e, f)


def relative_matrix(one: Component, two: Component) -> Matrix:
    """Return where `two` stands in the frame of `one`, in cap heights, rounded as keys need it."""
    return _rounded(matrix_product(inverse_matrix(one.matrix), two.matrix))
