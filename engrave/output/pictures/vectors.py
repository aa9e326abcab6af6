"""Drawings in lines and flat tones, as SVG that the typesetter puts on a sheet: regions and paths of a lid, in mm."""

from __future__ import annotations

from collections.abc import Iterable

from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Path
from engrave.geometry.regions import polygons
from engrave.output.numbers import plain
from engrave.output.svg.lid_file import path_data

Window = tuple[float, float, float, float]
"""Left, top, width and height of what a drawing shows, in its own unit."""


def drawing(window: Window, parts: Iterable[str], unit: str = "") -> bytes:
    """Return an SVG of that window. unit: of its width and height, as 'mm'; how large it is shown, the sheet says."""
    left, top, width, height = (plain(v, 3) for v in window)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}{unit}" height="{height}{unit}" '
        f'viewBox="{left} {top} {width} {height}">{"".join(parts)}</svg>'
    ).encode()


def filled(shape: BaseGeometry, colour: str) -> str:
    """Return a region in one tone; '' for an empty one."""
    return f'<path d="{_rings(shape)}" fill="{colour}" fill-rule="evenodd"/>' if not shape.is_empty else ""


def dashed(shape: BaseGeometry, colour: str, width: float, dash: float, blank: float) -> str:
    """Return a region's border as a broken line."""
    broken = f'stroke-dasharray="{plain(dash, 3)} {plain(blank, 3)}"'
    return f'<path d="{_rings(shape)}" fill="none" stroke="{colour}" stroke-width="{plain(width, 3)}" {broken}/>'


def drawn(path: Path, fill: str, stroke: str = "none", width: float = 0.0) -> str:
    """Return contours, filled and with a line of that width with round ends; no line where it has no width."""
    line = (
        f' stroke="{stroke}" stroke-width="{plain(width, 3)}" stroke-linecap="round" stroke-linejoin="round"'
        if width
        else ""
    )
    return f'<path d="{path_data(path)}" fill="{fill}" fill-rule="evenodd"{line}/>'


def _rings(shape: BaseGeometry) -> str:
    return "".join(
        "M" + " ".join(f"{x:.3f},{y:.3f}" for x, y, *_ in ring.coords[:-1]) + "Z"
        for polygon in polygons(shape)
        for ring in (polygon.exterior, *polygon.interiors)
    )
