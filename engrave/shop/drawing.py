"""The shapes of an SVG drawn in any program, as contours in mm, with units, transforms and reuse resolved."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any
from xml.etree import ElementTree

import svgelements as sv

from engrave.files import Unreadable, whole_file
from engrave.geometry.paths import Contour, Path, Segment, transformed
from engrave.limits import DRAWING_BYTES
from engrave.units import MM_PER_INCH

PX_PER_INCH = 96.0
"""A user unit without a size in the file is 1/96 in (CSS Values and Units, absolute lengths)."""

SVG = "{http://www.w3.org/2000/svg}"
NEVER_SEEN = frozenset({"clipPath", "mask", "pattern", "marker", "filter", "metadata", "foreignObject"})
"""Elements whose shapes are tools for drawing others and are not part of the picture."""

ARC_STEP = math.pi / 4
"""Greatest angle of one cubic of an arc: 4e-6 of its radius off at most."""


class OutlineError(ValueError):
    """The drawing cannot be a lid's outline; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape of a drawing: how to call it in front of people, its contours in mm, its fill rule."""

    label: str
    contours: Path
    evenodd: bool


def shapes_of(file: File) -> list[Shape]:
    """Return every shape that would be seen. Raises OutlineError when the file cannot be read."""
    text = _plain_svg(file)
    try:
        svg = sv.SVG.parse(io.StringIO(text), reify=True, ppi=PX_PER_INCH)
    except (ValueError, TypeError, AttributeError, IndexError, ZeroDivisionError) as error:
        raise OutlineError(f"cannot be read as SVG: {error}") from error
    mm = MM_PER_INCH / PX_PER_INCH
    found = []
    for shape in _seen(svg):
        path = sv.Path(shape)
        path.reify()  # a turned or skewed rectangle keeps its transform until it is a path
        contours = transformed(contours_of(path), (mm, 0, 0, mm, 0, 0))
        if contours:
            found.append(Shape(_label(shape), contours, shape.values.get("fill-rule") == "evenodd"))
    return found


def states_size(file: File) -> bool:
    """Tell whether a drawing states its size in a unit of length; px and bare figures are as large as one takes them.

    Raises OutlineError when the file cannot be read.
    """
    stated = _root(file).get("width") or _root(file).get("height") or ""
    return stated.strip().lower().endswith(("mm", "cm", "in", "pt", "pc", "q"))


def path_data(data: str) -> Path:
    """Return the contours of SVG path data, taken as mm. Raises OutlineError when it is none."""
    try:
        contours = contours_of(sv.Path(data))
    except (ValueError, IndexError, TypeError, AttributeError, ZeroDivisionError) as error:
        raise OutlineError("is not path data as SVG writes it: M, L, H, V, C, Q, A and Z with figures") from error
    if not contours:
        raise OutlineError("is not path data as SVG writes it: M, L, H, V, C, Q, A and Z with figures")
    return contours


def _plain_svg(file: File) -> str:
    """Return the file's text without what is never seen, and with symbols as groups that wait to be used."""
    root = _root(file)
    _strip(root)
    return ElementTree.tostring(root, encoding="unicode")


def _root(file: File) -> ElementTree.Element:
    try:
        root = ElementTree.fromstring(whole_file(file, DRAWING_BYTES))
    except Unreadable as error:
        raise OutlineError(str(error)) from error
    except (ElementTree.ParseError, ValueError, LookupError) as error:  # the last two: encodings that it does not know
        raise OutlineError(f"cannot be read as SVG: {error}") from error
    if root.tag not in ("svg", f"{SVG}svg"):
        raise OutlineError("is not an SVG: it does not begin with <svg>")
    return root


def _strip(parent: ElementTree.Element) -> None:
    for child in list(parent):
        name = child.tag.removeprefix(SVG) if isinstance(child.tag, str) else ""
        if name in NEVER_SEEN:
            parent.remove(child)
        elif name == "symbol":
            if "viewBox" in child.attrib:
                raise OutlineError("draws with a symbol that has a viewBox of its own; break it apart into paths")
            child.tag = f"{SVG}g"
            waiting = ElementTree.SubElement(parent, f"{SVG}defs")
            parent.remove(child)
            waiting.append(child)
            _strip(child)
        else:
            _strip(child)


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
