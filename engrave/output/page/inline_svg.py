"""Small pictures for pages, as inline SVG: the lid in its wood's colour with the lettering, and where it fails."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING

from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from engrave.cutting.effect import luminance
from engrave.geometry.paths import Contour
from engrave.geometry.regions import region
from engrave.output.numbers import plain
from engrave.output.page.drawn_fittings import drawn_fitting, thrown_mm
from engrave.output.pictures import Scene
from engrave.output.pictures.paper import LOST, THIN
from engrave.output.pictures.scenes import CHORD, mixed, region_path
from engrave.output.words_on_lid import words_cut
from engrave.shop.models import KeepOut, Wood

if TYPE_CHECKING:
    from engrave.making import Piece

SCREEN = 2
"""Decimals of mm of a lid's outline: a hundredth of a millimetre is below a pixel at ten times true size."""

FINE_MM, FINE_PARTS = 0.02, 2500
"""mm, and parts of a lid's width: points of its lettering lie on a grid of the coarser of these, about a tenth of a
pixel of a card's picture; what is magnified is on the finer one. A page of hundreds of lids stays small by it."""

AROUND = 0.03
"""Blank around the lid, as a share of its width: room for its shadow."""

LENS = 7.0
"""mm: half the width of the magnified place; a stroke of half a millimetre is then a tenth of its picture's width."""

MOST_RINGS = 8
"""Places ringed at most: more hide what they mark."""


DARK_WOOD = 0.12
"""Relative luminance below which a burnt or cut line hardly shows on a wood."""


def lid_picture(piece: Piece, seen: Scene, ident: str) -> str:
    """Return the inline SVG of a piece. ident: the id under which its drawing can be used again on the page."""
    troubled = piece.verdict in ("look", "hold")
    inner = [*_lid(seen, ident), *_lettering(seen, ident)]
    if troubled:
        inner += _trouble(seen)
    rings = _rings(seen) if troubled else []
    label = escape(f"Lid with {spoken(piece)}", quote=True)
    return (
        f'<svg class="lid" viewBox="{view_box(seen)}" role="img" aria-label="{label}">'
        f'<g id="{ident}">{"".join(inner)}</g>{"".join(rings)}</svg>'
    )


def view_box(seen: Scene) -> str:
    """Return the viewBox of a lid's picture, with room for its shadow."""
    pad = AROUND * max(seen.view.width, seen.view.height)
    size = (seen.view.width + 2 * pad, seen.view.height + 2 * pad)
    return " ".join(plain(v, 1) for v in (-pad, -pad, *size))


def lens_picture(piece: Piece, seen: Scene, ident: str) -> str:
    """Return the magnified worst place of a piece that has one, drawn from the lid's picture; else ''."""
    if piece.verdict not in ("look", "hold") or not seen.spots:
        return ""
    x, y = seen.spots[0]
    box = f"{plain(x - LENS, 2)} {plain(y - LENS, 2)} {plain(2 * LENS, 2)} {plain(2 * LENS, 2)}"
    ring = f'<circle cx="{plain(x, 2)}" cy="{plain(y, 2)}" r="2" class="ring"/>'
    return (
        f'<svg class="lens" viewBox="{box}" role="img" aria-label="The place, magnified">'
        f'<use href="#{ident}"/>{ring}</svg>'
    )


def spoken(piece: Piece) -> str:
    """Return what stands on the lid, for those who do not see it."""
    return " / ".join(words_cut(piece)) or "no words"


def _lid(seen: Scene, ident: str) -> list[str]:
    wood = seen.wood
    parts = [
        f'<defs><path id="{ident}-rim" d="{_d(seen.outline)}"/></defs><use class="cast" href="#{ident}-rim"/>',
        f'<use href="#{ident}-rim" fill="url(#{wood_id(wood, seen.grain)})" stroke="{mixed(wood.colour, "#1a0f08", 0.45)}" '
        f'stroke-width="0.35" fill-rule="evenodd"/>',
    ]
    if not seen.flat.equals(seen.body):
        parts.append(f'<path class="edge" d="{_d(region_path(seen.flat.simplify(0.05)))}"/>')
    beyond = [_shade_beyond(seen, keep) for keep in seen.keep_outs]
    if any(beyond):
        parts.append(f'<clipPath id="{ident}-body"><use href="#{ident}-rim"/></clipPath>')
    for n, (keep, clipped) in enumerate(zip(seen.keep_outs, beyond, strict=True)):
        parts.append(drawn_fitting(keep, wood, _d(keep.outline), f"{ident}{n}", f"{ident}-body" if clipped else ""))
    return parts


def _shade_beyond(seen: Scene, keep: KeepOut) -> bool:
    """Tell whether a fitting's shadow would fall beyond the lid, where there is nothing for it to fall on."""
    far = thrown_mm(keep)
    return far > 0.0 and not seen.body.contains(translate(region(keep.outline, CHORD), far, far))


def cut_colour(seen: Scene) -> str:
    """Return the colour in which lettering is drawn: a beam's mark as it burns that wood, a groove as its shadow."""
    return seen.wood.burn if seen.beam else mixed(seen.wood.colour, "#180c05", 0.62)


def _lettering(seen: Scene, ident: str) -> list[str]:
    """Return the lettering as wide as it is cut, and on a dark wood the light that its far edge catches."""
    if not seen.strokes:
        return []
    dark = luminance(seen.wood.colour) < DARK_WOOD
    name = f"{ident}-cut"
    lit = mixed(seen.wood.colour, "#fff4df", 0.55)
    by = "translate(.2 .26)"
    grid = _grid(seen)
    if seen.single:
        shape = _on_grid(seen.strokes, grid)
        paint = 'fill="none" stroke-linecap="round" stroke-linejoin="round"'
        width = plain(seen.groove / grid, 2)
        under = f'{paint} stroke="{lit}" stroke-width="{width}"'
        over = f'{paint} stroke="{cut_colour(seen)}" stroke-width="{width}"'
    else:
        shape = _on_grid(seen.strokes if seen.cut.is_empty else region_path(seen.cut.simplify(grid)), grid)
        under = f'fill="{lit}" fill-rule="evenodd"'
        over = f'fill="{cut_colour(seen)}" fill-rule="evenodd"'
    edge = f'<use href="#{name}" transform="{by}" opacity=".6" {under}/>' if dark else ""
    return [
        f'<defs><path id="{name}" transform="scale({plain(grid)})" d="{shape}"/></defs>{edge}<use href="#{name}" {over}/>'
    ]


def _trouble(seen: Scene) -> list[str]:
    return [
        f'<path transform="scale({FINE_MM})" d="{_on_grid(region_path(shape.simplify(FINE_MM)), FINE_MM)}" fill="{colour}" '
        f'stroke="#fff6e6" stroke-width="{plain(0.05 / FINE_MM, 2)}" fill-rule="evenodd"/>'
        for shape, colour in ((seen.thin, THIN), (seen.lost, LOST))
        if not _empty(shape)
    ]


def _empty(shape: BaseGeometry) -> bool:
    return bool(shape.is_empty) or shape.area < 1e-4


def _rings(seen: Scene) -> list[str]:
    radius = plain(max(3.0, 0.045 * max(seen.view.width, seen.view.height)), 1)
    return [
        f'<circle class="{kind}" cx="{plain(x, 2)}" cy="{plain(y, 2)}" r="{radius}"/>'
        for x, y in seen.spots[:MOST_RINGS]
        for kind in ("halo", "ring")
    ]


def _d(contours: Iterable[Contour]) -> str:
    """Return compact path data: absolute, a hundredth of a millimetre, no needless blanks."""
    parts = []
    for contour in contours:
        parts.append("M" + _points([contour.start]))
        letter = ""
        for segment in contour.segments:
            now = "LQC"[len(segment) - 1]
            parts.append((now if now != letter else " ") + _points(segment))
            letter = now
        if not contour.segments:
            parts.append("L" + _points([contour.start]))
        if contour.closed:
            parts.append("Z")
    return "".join(parts)


def _grid(seen: Scene) -> float:
    """Return mm of the grid that a picture's lettering lies on."""
    return FINE_MM if seen.spots else round(max(FINE_MM, seen.view.width / FINE_PARTS), 4)


def _on_grid(contours: Iterable[Contour], grid: float) -> str:
    """Return path data in whole steps of a grid, each point told from the one before."""
    parts = []
    for contour in contours:
        x, y = _steps(contour.start, grid)
        parts.append(f"M{x} {y}")
        letter = ""
        for segment in contour.segments:
            points = [_steps(point, grid) for point in segment]
            if len(points) == 1 and points[0] == (x, y):
                continue
            now = "lqc"[len(points) - 1]
            told = "".join(f"{' ' if n >= 0 else ''}{n}" for px, py in points for n in (px - x, py - y))
            parts.append(now + told.lstrip() if now != letter else told)
            letter, (x, y) = now, points[-1]
        if not letter:
            parts.append("l0 0")  # a dot, which round ends make a round mark
        if contour.closed:
            parts.append("Z")
    return "".join(parts)


def _steps(point: tuple[float, float], grid: float) -> tuple[int, int]:
    return round(point[0] / grid), round(point[1] / grid)


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{plain(x, SCREEN)},{plain(y, SCREEN)}" for x, y in points)


def wood_id(wood: Wood, grain: str) -> str:
    """Return the id of a wood's pattern on a page."""
    return f"wood-{hashlib.sha256(wood.id.encode()).hexdigest()[:6]}-{grain}"


def wood_patterns(woods: Iterable[tuple[Wood, str]]) -> str:
    """Return the patterns of all woods (with the run of their grain) that a page's pictures use, to be put on it once."""
    used = {wood_id(wood, grain): (wood, grain) for wood, grain in woods}
    return "".join(_pattern(ident, *used[ident]) for ident in sorted(used))


def _pattern(ident: str, wood: Wood, grain: str) -> str:
    """Return a tile of grain: a handful of long, gently waving lines, the same for a wood wherever it is drawn."""
    seed = hashlib.sha256(f"grain {wood.id}".encode()).digest()
    dark = mixed(wood.colour, "#1c0f06", 0.5 if luminance(wood.colour) > 0.3 else 0.65)
    pale = mixed(wood.colour, "#fff3dc", 0.35)
    bold = {"ring": 0.3, "semi-ring": 0.24, "none": 0.22}.get(wood.pores, 0.14)
    width, height, count = 130.0, 38.0, 30
    lines = []
    for i in range(count):
        one, two = seed[i % 32], seed[(7 * i + 11) % 32]
        y = height * (i + one / 300.0) / count
        bow, dip = (two - 128) / 128.0 * 1.5, (one - 128) / 128.0 * 1.2
        colour, share = (dark, bold * (0.25 + two / 330.0)) if i % 3 else (pale, 0.34)
        lines.append(
            f'<path d="M0,{plain(y, 2)}C{plain(width / 3, 1)},{plain(y + bow, 2)} {plain(width * 0.6, 1)},'
            f'{plain(y + dip, 2)} {plain(width, 1)},{plain(y, 2)}" fill="none" stroke="{colour}" '
            f'stroke-opacity="{plain(share, 2)}" stroke-width="{plain(0.12 + two / 450.0, 2)}"/>'
        )
    turn = ' patternTransform="rotate(90)"' if grain == "y" else ""
    return (
        f'<pattern id="{ident}" width="{plain(width)}" height="{plain(height)}" patternUnits="userSpaceOnUse"{turn}>'
        f'<rect width="{plain(width)}" height="{plain(height)}" fill="{wood.colour}"/>{"".join(lines)}</pattern>'
    )
