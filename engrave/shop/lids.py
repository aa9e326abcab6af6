"""Lids: outlines in every way they may be given, keep-outs, further areas, and the mirroring of handed and inside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path as File
from typing import Any

from shapely.geometry.base import BaseGeometry

from engrave.geometry.clipping import clipped
from engrave.geometry.paths import Path, box
from engrave.geometry.regions import REGION_CHORD, region
from engrave.problems import Problem
from engrave.shop import shapes
from engrave.shop.drawn_before import outline_of, outline_of_path
from engrave.shop.keys import read_keys, read_table
from engrave.shop.lid_room import room_of_lid
from engrave.shop.lid_values import Area, Front, Handed, KeepOut, Lid
from engrave.shop.readers import (
    FILLED,
    LENGTH,
    PLACE,
    SIZE,
    Reader,
    length,
    list_of,
    one_of,
    pair,
    whole,
)
from engrave.shop.shapes import DrawnOutline, OutlineError
from engrave.shop.tables import TomlEntry

HANDED: Reader[Handed] = one_of(Handed)
OUTLINE_SHAPES = ("circle", "ellipse", "rectangle", "polygon", "sides", "svg", "path")
SHAPE_HELP = (
    "Allowed: one of { circle = 92 }, { ellipse = [140, 90] }, { rectangle = [170, 110], corner = 12 }, "
    "{ polygon = [[0, 0], [80, 0], [40, 60]] }, { sides = 6, across = 110 }, { svg = 'heart.svg', width = 100 } (id = 'outline': the path of that id alone), "
    "{ path = 'M 0 0 H 80 V 50 H 0 Z' }."
)
EDGE_SIDES = ("top", "right", "bottom", "left")
NO_SIDES = (0.0, 0.0, 0.0, 0.0)
Edge = tuple[float, tuple[float, float, float, float]]
"""Width all round, and of each of EDGE_SIDES."""


def _edge(value: object) -> Edge:
    if not isinstance(value, dict):
        return LENGTH.read(value), NO_SIDES
    if not value or set(value) - set(EDGE_SIDES):
        raise ValueError
    top, right, bottom, left = (LENGTH.read(value.get(side, 0.0)) for side in EDGE_SIDES)
    return 0.0, (top, right, bottom, left)


EDGE_WIDTHS: Reader[Edge] = Reader(
    "Allowed: a width all round, as 3 or '1/8 in', or of single sides, as { left = 6, right = 6 } (top, right, bottom, left).",
    (0.0, NO_SIDES),
    _edge,
)
MOST_KEEP_OUTS = 60
"""Keep-outs of one area: a lid has a handful, and each is held against every line of words."""

POINTS = list_of(pair(PLACE), least=3)
MOST_SIDES = 24
"""Corners of a regular polygon at most; one with more is a circle for any purpose of a lid."""

SPECK_ON_LID = 0.01
"""mm2: a keep-out of which less lies on the lid lies off it."""

LEAST_ROOM = 10.0
"""mm2: a lid with less room carries no letter that can be read; its margins are a slip."""

MIRROR: dict[Front, Front] = {"left": "right", "right": "left", "top": "top", "bottom": "bottom"}


@dataclass(frozen=True, slots=True)
class MarginRule:
    """The margin of a lid that states none: the larger of `least` mm and `share` of the lesser side."""

    least: float
    share: float


def read_lid(entry: TomlEntry, rule: MarginRule) -> Lid:
    """Return one lid from its table."""
    handed: Handed = entry.take_or("handed", HANDED, "right")
    notes: list[str] = []
    outline = _outline(entry, notes)
    areas = [_area(entry, "lid", outline, handed == "left", rule)]
    further = entry.sub("areas")
    for name, inner in further.subs() if further else ():
        own = _outline(inner, notes) if "outline" in inner else outline
        inner.known.append("outline")
        areas.append(_area(inner, name, own, handed == "left", rule))
        inner.finish()
    read = read_table(Lid, entry, handed=handed, areas=tuple(areas), setting=areas[0].setting)
    hinge = read.hinge
    return replace(
        read,
        hinge=MIRROR[hinge] if hinge and handed == "left" else hinge,
        problems=tuple(_note(entry.id, n) for n in notes),
    )


def _note(lid: str, says: str) -> Problem:
    return Problem("outline-mended", "note", f"The drawing of lid '{lid}': {says}.", where=f"lids/{lid}")


def _area(entry: TomlEntry, name: str, drawn: DrawnOutline, left: bool, rule: MarginRule) -> Area:
    width, height = drawn.width, drawn.height
    keep_outs = _keep_outs(entry)
    edge, edge_sides = entry.take_or("edge", EDGE_WIDTHS, (0.0, NO_SIDES))
    area = read_keys(Area, entry, name=name, outline=drawn.outline, width=width, height=height, edge=edge, keep_outs=())
    side = area.side
    if left != (side == "inside"):  # a left-handed lid seen from inside is mirrored twice
        keep_outs = tuple(_mirrored(k, width) for k in keep_outs)
        edge_sides = (edge_sides[0], edge_sides[3], edge_sides[2], edge_sides[1])
    outline = shapes.mirrored(drawn.outline, width) if side == "inside" else drawn.outline
    body = region(outline, REGION_CHORD)
    area = replace(
        area,
        outline=outline,
        edge_sides=edge_sides,
        margin=max(rule.least, rule.share * min(width, height)) if area.margin is None else area.margin,
        keep_outs=tuple(_on_lid(k, outline, body) for k in keep_outs),
    )
    _check_area(entry, area, body)
    return area


def _mirrored(keep: KeepOut, width: float) -> KeepOut:
    return KeepOut(shapes.mirrored(keep.outline, width), keep.clearance, keep.height, keep.why)


def _on_lid(keep: KeepOut, outline: Path, body: BaseGeometry) -> KeepOut:
    """Return a keep-out that overhangs the lid's edge (a finger notch) with what lies on the lid as what is drawn."""
    if body.covers(region(keep.outline, REGION_CHORD)):
        return keep
    on_lid = clipped(keep.outline, outline)
    return replace(keep, outline=on_lid, whole=keep.outline) if on_lid else keep


def _check_area(entry: TomlEntry, area: Area, body: BaseGeometry) -> None:
    """Note keep-outs that miss the lid and margins that leave nothing."""
    missed = [k for k in area.keep_outs if region(k.outline, REGION_CHORD).intersection(body).area < SPECK_ON_LID]
    for keep in missed:
        at = box(keep.outline)
        assert at is not None
        x, y = (at[0] + at[2]) / 2, (at[1] + at[3]) / 2
        entry.wrong(
            "keep_out",
            f"the {keep.why or 'keep-out'} at [{x:g}, {y:g}] lies wholly off the lid",
            f"Allowed: a place on the lid, from [0, 0] at its top left to [{area.width:g}, {area.height:g}].",
        )
    if room_of_lid(area).area < LEAST_ROOM:
        used = f"edge {max(area.edge, *area.edge_sides):g}, margin {area.margin:g} mm and the keep-outs"
        entry.wrong("margin", f"{used} leave no room for words", "Allowed: less margin, or a larger outline.")


def _keep_outs(entry: TomlEntry) -> tuple[KeepOut, ...]:
    def read(value: object) -> tuple[Mapping[str, Any], ...]:
        if not isinstance(value, list) or len(value) > MOST_KEEP_OUTS or not all(isinstance(v, dict) for v in value):
            raise ValueError
        return tuple(value)

    allowed = (
        "Allowed: a list of tables, as [ { circle = 14, at = [46, 46], clearance = 2, why = 'knob' } ], at most 60."
    )
    none: tuple[Mapping[str, Any], ...] = ()
    tables = entry.take_or("keep_out", Reader(allowed, none, read), none)
    return tuple(_keep_out(entry.at("keep_out", i, t)) for i, t in enumerate(tables))


def _keep_out(entry: TomlEntry) -> KeepOut:
    drawn = _shape(entry, [])
    at = entry.take("at", pair(PLACE))
    return read_table(KeepOut, entry, outline=shapes.centred_at(drawn.outline, at))


def _outline(entry: TomlEntry, notes: list[str]) -> DrawnOutline:
    inner = entry.sub("outline")
    if inner is None:
        entry.wrong("outline", "is missing", SHAPE_HELP)
        return _drawn(shapes.rectangle(100.0, 60.0))
    drawn = _shape(inner, notes)
    inner.finish()
    return drawn


def _shape(entry: TomlEntry, notes: list[str]) -> DrawnOutline:
    """Return the shape that a table of figures gives, whichever of the known ones it is."""
    given = [s for s in OUTLINE_SHAPES if s in entry]
    entry.known.extend(OUTLINE_SHAPES)
    stand_in = _drawn(shapes.rectangle(100.0, 60.0))
    if len(given) != 1:
        found = f"gives {' and '.join(given)}" if given else "gives no shape"
        entry.wrong("", found, SHAPE_HELP)
        return stand_in
    if given[0] in ("svg", "path"):
        return _drawing(entry, given[0], notes) or stand_in
    return _drawn(_figure(entry, given[0]))


def _figure(entry: TomlEntry, shape: str) -> Path:
    if shape == "circle":
        return shapes.circle(entry.take("circle", SIZE))
    if shape == "ellipse":
        return shapes.ellipse(*entry.take("ellipse", pair(SIZE)))
    if shape == "rectangle":
        width, height = entry.take("rectangle", pair(SIZE))
        corner = entry.take_or("corner", length(0.0, min(width, height) / 2), 0.0)
        return shapes.rectangle(width, height, min(corner, min(width, height) / 2))
    if shape == "sides":
        return shapes.regular(entry.take("sides", whole(3, MOST_SIDES)), entry.take("across", SIZE))
    return _polygon(entry)


def _polygon(entry: TomlEntry) -> Path:
    points = entry.take("polygon", POINTS)
    path = shapes.polygon(points) if points else shapes.rectangle(100.0, 60.0)
    body = region(path)
    if points and (not body.is_valid or body.geom_type != "Polygon" or body.area < 1.0):
        entry.wrong(
            "polygon", "its sides cross each other or enclose nothing", "Allowed: corners in order, once round."
        )
        return shapes.rectangle(100.0, 60.0)
    return path


def _drawing(entry: TomlEntry, shape: str, notes: list[str]) -> DrawnOutline | None:
    size = {key: entry.take_or(key, SIZE, None) for key in ("width", "height")} if shape == "svg" else {}
    ident = entry.take_or("id", FILLED, "") if shape == "svg" else ""
    given = entry.take(shape, FILLED)
    try:
        if shape == "path":
            drawn = outline_of_path(given, entry.file(shape), ".".join(entry.where))
        else:
            drawn = outline_of(File(entry.file(shape)).parent / given, size["width"], size["height"], ident)
    except OutlineError as error:
        entry.wrong(shape, f"{given!r} {error}" if shape == "svg" else str(error), "")
        return None
    notes.extend(drawn.notes)
    return drawn


def _drawn(path: Path) -> DrawnOutline:
    found = box(path)
    assert found is not None  # every figure has at least a start
    return DrawnOutline(path, found[2] - found[0], found[3] - found[1], ())
