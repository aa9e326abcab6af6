"""Cutters, woods, lids and letterings for the cutting tests, without tables or typefaces."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from shapely import affinity
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Contour, Path, polygon_path
from engrave.geometry.regions import polygons
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.shop.cutters import KINDS
from engrave.shop.models import Cutter, CutterKind, Lid, Machine, Method, Recipe, Wood
from engrave.tasks import Tool
from engrave.typefaces.run import Glyph, TypefaceKind

MACHINE = Machine(
    id="small-router", title="Small router", kind="router", vmax=(80.0, 80.0, 20.0), amax=(300.0, 300.0, 100.0),
    corner="slow", corner_slack=0.01, bed=(300.0, 200.0), holder_radius=20.0, datum="front-left", axes=("right", "back"),
    retract=5.0, approach=1.0, spin_up_s=5.0, fixed_s=10.0, scatter=0.1,
)  # fmt: skip
RECIPE = Recipe(
    cutter="bit", wood="maple", method="pocket", feed=15.0, plunge=5.0, depth=0.8, pass_depth=0.8, step_over=0.2, row_pitch=0.1,
    run_out=3.0, both_ways=True, trimmed=True, skip_blank=True, blank_rapid=None, inset=False, by="stroke",
    dwell_s=0.0, passes=1, power="",
)  # fmt: skip


def lid(flatness: float = 0.0, grain: str = "x") -> Lid:
    return Lid(
        id="round-caddy", title="Tea caddy", areas=(), thickness=12.0, flatness=flatness, grain=grain, setting=None,  # type: ignore[arg-type]
    )  # fmt: skip


def wood(along: float = 0.4, across: float = 0.4) -> Wood:
    return Wood(
        id="maple", title="Hard maple", pores="diffuse", web_along=along, web_across=across, gravity=0.63, janka_n=6450.0,
        colour="#e8d8b8", burn="#6b4a2b",
    )  # fmt: skip


def cutter_of(kind: CutterKind = "end-mill", **figures: Any) -> Cutter:
    """A cutter of a kind; what is not said of it plays no part."""
    unsaid: dict[str, Any] = {"flute": 50.0, "deepest": 50.0} if kind != "beam" else {"wavelength": 450.0}
    if kind == "beam":
        figures = {"kerf_x": 0.2} | {k: v for k, v in figures.items() if k != "diameter"}
        figures = {"kerf_y": figures["kerf_x"]} | figures
    return KINDS[kind](id="bit", title="end mill", machine="small-router", **(unsaid | figures))


def tool(
    diameter: float, method: Method = "pocket", kind: CutterKind = "end-mill", depth: float = 0.1,
    groove: float | None = None, recipe: Recipe = RECIPE, **of_cutter: Any,
) -> Tool:  # fmt: skip
    cutter = cutter_of(kind, **({"diameter": diameter} | of_cutter))
    recipe = replace(recipe, method=method, depth=depth)
    return Tool(cutter, MACHINE, recipe, method, depth, diameter if groove is None else groove, diameter)


def outline(shape: BaseGeometry) -> Path:
    """Contours of a region, outer rings one way, holes the other."""
    contours: list[Contour] = []
    for part in polygons(shape):
        ordered = part.normalize()
        rings = [ordered.exterior, *ordered.interiors]
        contours += [polygon_path(list(ring.coords)[:-1]) for ring in rings]
    return tuple(contours)


def glyph(name: str, path: Path, kind: TypefaceKind = "outline") -> Glyph:
    return Glyph(f"test/{name}/{hashlib.sha256(repr(path).encode()).hexdigest()[:16]}", kind, path, 1.0)


def lettering(
    glyphs: Sequence[tuple[str, Path]],
    cap: float,
    words: str | None = None,
    kind: TypefaceKind = "outline",
    groove: float = 0.0,
) -> Lettering:
    """Letters given in mm, y up, baseline at 0, set where they stand; lid's frame has y down."""
    marks = []
    for text, path in glyphs:
        unit = tuple(c.transformed((1 / cap, 0.0, 0.0, 1 / cap, 0.0, 0.0)) for c in path)
        marks.append(Mark(glyph(text, unit, kind), (cap, 0.0, 0.0, -cap, 0.0, 0.0), text, 0))
    spelt = words if words is not None else "".join(t for t, _ in glyphs)
    return Lettering(kind, "stack", tuple(marks), (Line(spelt, "name", cap, 0.0, 0.0),), groove)


def region_lettering(shapes: Sequence[tuple[str, BaseGeometry]], cap: float, words: str | None = None) -> Lettering:
    return lettering([(t, outline(s)) for t, s in shapes], cap, words)


def scaled(shape: BaseGeometry, by: float) -> BaseGeometry:
    return affinity.scale(shape, by, by, origin=(0.0, 0.0))
