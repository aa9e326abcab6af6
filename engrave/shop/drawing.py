"""The shapes of an SVG drawn in any program, as contours in mm, with units, transforms and reuse resolved."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any
from xml.etree import ElementTree

import svgelements as sv

from engrave.geometry.paths import Contour, Path, Segment, transformed
from engrave.shop.drawing_source import Element, checked_path, source_of
from engrave.shop.shapes import ARC_STEP, OutlineError
from engrave.units import MM_PER_INCH

PX_PER_INCH = 96.0
"""A user unit without a size in the file is 1/96 in (CSS Values and Units, absolute lengths)."""


WHITE = 0xFFFFFF

MOST_IDS = 20
"""Ids of a drawing's shapes named at most."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape of a drawing: how to call it in front of people, its contours in mm, its fill rule.

    filled, stroked: whether it is drawn so; white: its fill is white. An outline of a lid asks for none of these.
    """

    label: str
    contours: Path
    evenodd: bool
    filled: bool = True
    stroked: bool = False
    white: bool = False


DAMAGED = (ValueError, TypeError, AttributeError, IndexError, KeyError, ArithmeticError)
"""What the reader of SVG raises for drawings that are damaged in one way or another."""


def shapes_of(file: File, ident: str = "") -> list[Shape]:
    """Return every shape that would be seen; with `ident` those alone of the element of that id.

    Raises OutlineError when the file cannot be read, or has nothing of that id.
    """
    mm = MM_PER_INCH / PX_PER_INCH
    found = []
    try:
        drawing = parsed(source_of(file), PX_PER_INCH)
        for shape in _seen(drawing) if not ident else _named(drawing, ident):
            path = sv.Path(shape)
            path.reify()  # a turned or skewed rectangle keeps its transform until it is a path
            contours = transformed(contours_of(path), (mm, 0, 0, mm, 0, 0))
            if contours:
                found.append(_shape(shape, contours))
    except OutlineError:
        raise
    except DAMAGED as error:
        raise OutlineError(f"cannot be read as SVG: {error or type(error).__name__}") from error
    return found


def _shape(shape: Any, contours: Path) -> Shape:
    fill, stroke = shape.fill, shape.stroke
    filled = fill is not None and fill.value is not None
    return Shape(
        _label(shape),
        contours,
        shape.values.get("fill-rule") == "evenodd",
        filled,
        stroke is not None and stroke.value is not None,
        filled and fill.rgb == WHITE,
    )


def parsed(root: Element, ppi: float) -> Any:
    """Return a drawing's source as the reader's own tree, transforms resolved. Raises one of DAMAGED."""
    text = ElementTree.tostring(root, encoding="unicode")
    return sv.SVG.parse(io.StringIO(text), reify=True, ppi=ppi)


def states_size(file: File) -> bool:
    """Tell whether a drawing states its size in a unit of length; px and bare figures are as large as one takes them.

    Raises OutlineError when the file cannot be read.
    """
    root = source_of(file)
    stated = root.get("width") or root.get("height") or ""
    return stated.strip().lower().endswith(("mm", "cm", "in", "pt", "pc", "q"))


def path_data(data: str) -> Path:
    """Return the contours of SVG path data, taken as mm. Raises OutlineError when it is none."""
    try:
        contours = contours_of(sv.Path(checked_path(data)))
    except OutlineError:
        raise
    except DAMAGED as error:
        raise OutlineError("is not path data as SVG writes it: M, L, H, V, C, Q, A and Z with figures") from error
    if not contours:
        raise OutlineError("is not path data as SVG writes it: M, L, H, V, C, Q, A and Z with figures")
    return contours


def _named(drawing: Any, ident: str) -> list[Any]:
    """Return the shapes of the element of an id."""
    found = [e for e in drawing.elements() if getattr(e, "id", None) == ident]
    shapes = [s for e in found for s in ([e] if isinstance(e, sv.Shape) else _seen(e) if isinstance(e, list) else [])]
    if not shapes:
        ids = sorted({e.id for e in drawing.elements() if isinstance(e, sv.Shape) and e.id})
        known = f"its shapes are called {', '.join(ids[:MOST_IDS])}" if ids else "its shapes have no ids"
        raise OutlineError(f"has no shape with the id '{ident}'; {known}")
    return shapes


def _seen(group: Any) -> list[Any]:
    """Return the shapes that are drawn, leaving out hidden ones."""
    out: list[Any] = []
    for item in group:
        if _hidden(item):
            continue
        if isinstance(item, sv.Shape):
            out.append(item)
        elif isinstance(item, sv.Use | sv.Group | sv.SVG):
            out.extend(_seen(item))
    return out


def _hidden(item: Any) -> bool:
    values = getattr(item, "values", None) or {}
    return values.get("display") == "none" or values.get("visibility") in ("hidden", "collapse")


def _label(shape: Any) -> str:
    kind = type(shape).__name__.lower().removeprefix("simple")
    name = f"{'an' if kind[0] in 'aeio' else 'a'} {kind}"
    return f"{name} '{shape.id}'" if shape.id else name


def contours_of(path: Any) -> Path:
    """Return our contours of a path of the reader's: arcs become cubics, one run from each 'move'."""
    return tuple(c for sub in path.as_subpaths() if (c := _contour(sub)) is not None)


def _contour(sub: Any) -> Contour | None:
    segments: list[Segment] = []
    start: tuple[float, float] | None = None
    closed = False
    for part in sub:
        if isinstance(part, sv.Move):
            start = _point(part.end)
        elif isinstance(part, sv.Close):
            closed = True
        else:
            segments.extend(_segments(part))
    if (
        start is None
        or not segments
        or not all(map(math.isfinite, (*start, *(v for s in segments for p in s for v in p))))
    ):
        return None
    if closed and segments[-1][-1] != start:
        segments.append((start,))
    return Contour(start, tuple(segments), closed)


def _segments(part: Any) -> list[Segment]:
    if isinstance(part, sv.Arc):
        return [_cubic(c) for c in part.as_cubic_curves(max(1, math.ceil(abs(part.sweep) / ARC_STEP - 1e-9)))]
    if isinstance(part, sv.CubicBezier):
        return [_cubic(part)]
    if isinstance(part, sv.QuadraticBezier):
        return [(_point(part.control), _point(part.end))]
    return [(_point(part.end),)]


def _cubic(c: Any) -> Segment:
    return (_point(c.control1), _point(c.control2), _point(c.end))


def _point(p: Any) -> tuple[float, float]:
    return (float(p.x), float(p.y))
