"""Letterings, tools and raster rows, drawn here so that nothing but the toolpath and its clock is under test."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from engrave.geometry.paths import Contour, Path, polygon_path
from engrave.setting.lettering import Lettering, Mark
from engrave.shop.models import Beam, EndMill, Machine, Method, Recipe
from engrave.tasks import Tool
from engrave.toolpath.raster import Rows
from engrave.typefaces.run import Glyph, TypefaceKind

KAPPA = 0.5522847498
"""Control length of a quarter circle's cubic (closed form 4/3 (sqrt 2 - 1))."""


def ring(x: float, y: float, r: float, clockwise: bool = False) -> Contour:
    """A circle of four cubics."""
    k = KAPPA * r
    circle = Contour(
        (x + r, y),
        (
            ((x + r, y + k), (x + k, y + r), (x, y + r)),
            ((x - k, y + r), (x - r, y + k), (x - r, y)),
            ((x - r, y - k), (x - k, y - r), (x, y - r)),
            ((x + k, y - r), (x + r, y - k), (x + r, y)),
        ),
        True,
    )
    return circle.reversed() if clockwise else circle


def stroke(*points: tuple[float, float]) -> Contour:
    """An open polyline."""
    return polygon_path(points, closed=False)


def box(x: float, y: float, w: float, h: float) -> Contour:
    """A rectangle, its outline turning the same way as `ring`."""
    return polygon_path([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])


def lettering(kind: TypefaceKind, glyphs: Sequence[Path], groove: float = 0.6) -> Lettering:
    """One line of glyphs, each given in the lid's mm."""
    marks = tuple(
        Mark(Glyph(f"test/{i}/0", kind, g, 1.0), (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), chr(65 + i), 0)
        for i, g in enumerate(glyphs)
    )
    return Lettering(kind, "stack", marks, (), groove)


def machine(kind: str = "router", **changes: Any) -> Machine:
    """A small router or a gantry laser."""
    router = kind == "router"
    values: dict[str, Any] = {
        "id": kind, "title": kind, "kind": kind, "vmax": (50.0, 50.0, 10.0) if router else (400.0, 300.0, 20.0),
        "amax": (400.0, 400.0, 150.0) if router else (3000.0, 2000.0, 100.0), "corner": "slow", "corner_slack": 0.01,
        "min_block_s": 0.0, "look_ahead": None, "bed": (600.0, 400.0), "holder_radius": 20.0, "datum": "front-left",
        "axes": ("right", "back"), "retract": 4.0, "approach": 1.0, "spin_up_s": 4.0 if router else 0.0,
        "fixed_s": 0.0, "beam_sync": "flow", "beam_delay_s": 0.0, "scatter": 0.05,
    }  # fmt: skip
    return Machine(**(values | changes))


def recipe(method: Method = "follow", **changes: Any) -> Recipe:
    """A recipe in some wood."""
    values: dict[str, Any] = {
        "cutter": "c", "wood": "w", "method": method, "feed": 20.0, "plunge": 5.0, "depth": 0.8, "pass_depth": 0.4,
        "step_over": 0.4, "row_pitch": 0.1, "run_out": 5.0, "both_ways": True, "trimmed": True, "skip_blank": True,
        "blank_rapid": None, "inset": False, "by": "stroke", "dwell_s": 0.0, "passes": 1, "power": "",
    }  # fmt: skip
    return Recipe(**(values | changes))


def bit_tool(method: Method = "follow", diameter: float = 1.0, of: Machine | None = None, **changes: Any) -> Tool:
    """An end mill in the router."""
    made = recipe(method, **changes)
    cutter = EndMill(id="c", title="end mill", machine="router", diameter=diameter, flute=10.0)
    return Tool(cutter, of or machine(), made, method, made.depth, 0.6, diameter)


def beam_tool(method: Method = "follow", of: Machine | None = None, **changes: Any) -> Tool:
    """A beam in the laser."""
    made = recipe(method, **({"feed": 80.0 if method == "follow" else 200.0} | changes))
    cutter = Beam(id="b", title="beam", machine="laser", kerf_x=0.2, kerf_y=0.2, wavelength=450.0)
    return Tool(cutter, of or machine("laser"), made, method, 0.1, 0.2, 0.2)


def joined_rows(y: Sequence[float], marks: Sequence[Sequence[Sequence[float]]]) -> Rows:
    """Return rows given as lists of marks, each (on, off) in mm."""
    spans = [(float(i), float(on), float(off)) for i, row in enumerate(marks) for on, off in row]
    return Rows(np.array(y, dtype=np.float64), np.array(spans, dtype=np.float64).reshape(-1, 3))


LINES = lettering(
    "single-line",
    [(stroke((9 * i, 0), (9 * i, 6)), stroke((9 * i + 4, 6), (9 * i + 4, 0)), ring(9 * i + 2, 3, 1)) for i in range(6)],
)
RINGS = lettering("outline", [(ring(10 * i + 5, 5, 4), ring(10 * i + 5, 5, 2.6, True)) for i in range(5)])


METHODS = {
    "follow": (LINES, bit_tool()),
    "follow by pass": (LINES, bit_tool(by="pass")),
    "follow outlines": (RINGS, bit_tool()),
    "beam": (LINES, beam_tool()),
    "beam stops": (LINES, beam_tool(of=machine("laser", beam_sync="stop", beam_delay_s=0.03))),
    "raster": (RINGS, beam_tool("raster")),
    "raster of lines": (LINES, beam_tool("raster")),
    "pocket": (RINGS, bit_tool("pocket", 0.6, step_over=0.25)),
}
"""A lettering and a tool for each method."""
