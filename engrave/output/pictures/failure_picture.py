"""Where the cut fails: lost parts and thin wood in two tones over the lettering, the places ringed and magnified."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import region
from engrave.output.numbers import in_shop_units
from engrave.output.pictures.frames import frame_for
from engrave.output.pictures.lid_rendering import cut_shape
from engrave.output.pictures.limit_picture import limits_told
from engrave.output.pictures.paper import DARK, EDGE, LOST, PAPER, THIN, WIDE, in_few_colours
from engrave.output.pictures.scenes import CHORD, NOTHING, Scene, mixed, scene
from engrave.output.pictures.vectors import drawing, filled
from engrave.output.quotation import quoted
from engrave.output.typesetting import typesetter_for

if TYPE_CHECKING:
    from engrave.cutting import Spot
    from engrave.making import Piece
    from engrave.setting import Why
    from engrave.shop import Shop
    from engrave.typefaces import Shelf

LETTER, CORNER, FLOOR = "#8a6b50", "#c4a98b", "#5b4331"
"""Lettering that is cut as drawn; corners that a round bit cannot reach, which are no fault; and the flat floor where
a V-bit goes no deeper."""

LENS_MM = 8.0
"""Side of a magnified square on the lid, mm."""

LENS = 300
"""Side of its picture in pixels: some forty times true size on a common screen."""

MOST_LENSES = 3
"""Places magnified and numbered: the worst stroke, the worst web, and others that are not the same again."""

MOST_RINGS = 12
"""Further places ringed at most: more hide what they mark."""

RING, FURTHER, CLOSE = 22, 14, 16
"""Pixels: radius of a numbered ring and of the others, and how near others may lie to a ring that is there."""

SPOT = 0.8
"""mm: radius of the ring that shows the very place within a magnified square."""

SEEN = LENS_MM / LENS / 2.0
"""mm: half a pixel of a magnified square; what is narrower than a pixel is in no picture, nor in its key."""

GLASS = mixed(PAPER, DARK, 0.12)
"""What a magnified square shows beyond the lid's edge."""

TEMPLATE = "trouble.typ"


def failure_png(piece: Piece, shelf: Shelf, shop: Shop, reason: Why | None = None) -> bytes:
    """Return the picture of what is lost and too thin, as PNG; a piece without trouble shows its cut as it is.

    With a reason, what limits the size is drawn below it, or alone where nothing is lost or too thin.
    Raises ValueError for a piece that was never set on a lid.
    """
    data, pictures = failure_told(piece, shop, reason)
    (png,) = typesetter_for(data, shelf).pages(TEMPLATE, data, pictures, dpi=72)
    return in_few_colours(png)


def _in_shop_units(told: Any, shop: Shop) -> Any:
    """Return what the template is told, however deep, with the lengths of its sentences as the shop measures."""
    if isinstance(told, str):
        return in_shop_units(told, shop)
    if isinstance(told, dict):
        return {key: _in_shop_units(value, shop) for key, value in told.items()}
    return [_in_shop_units(value, shop) for value in told] if isinstance(told, list | tuple) else told


def failure_told(piece: Piece, shop: Shop, reason: Why | None = None) -> tuple[dict[str, Any], dict[str, bytes]]:
    """Return what the picture's template is told, lengths in pixels, and the drawings that it names; sentences as the shop measures."""
    seen = scene(piece)
    if seen is None or not seen.strokes or piece.task is None or piece.lettering is None:
        raise ValueError(f"order {piece.order.id}, piece {piece.piece}: no words are set on a lid yet")
    pictures: dict[str, bytes] = {}
    limits = limits_told(seen, piece.task, piece.lettering, reason, pictures) if reason else None
    trouble = _trouble(piece, seen, pictures) if seen.spots or limits is None else None
    return _in_shop_units({"width": WIDE, "edge": EDGE, "trouble": trouble, "limits": limits}, shop), pictures


def _trouble(piece: Piece, seen: Scene, pictures: dict[str, bytes]) -> dict[str, Any]:
    frame = frame_for(seen, WIDE - 2 * EDGE, 700, EDGE)
    tones = _tones(piece, seen)
    layers = _layers(seen, tones)
    spots = piece.fitness.weak if piece.fitness else ()
    shown = chosen(spots)
    pictures["trouble-lid.svg"] = drawing(frame.window, [filled(shape, colour) for shape, colour in layers])
    for number, which in enumerate(shown, 1):
        pictures[f"trouble-{number}.svg"] = _lens(layers, seen.spots[which])
    return {
        "lid": {"picture": "trouble-lid.svg", "width": frame.width, "height": frame.height, "alt": "The lid"},
        "rings": _rings([frame.pixel(*place) for place in seen.spots], shown),
        "lens": {"side": LENS, "ring": SPOT * LENS / LENS_MM},
        "lenses": [
            {"picture": f"trouble-{number}.svg", "number": str(number)} | _lens_says(spots[which])
            for number, which in enumerate(shown, 1)
        ],
        "key": [{"colour": tone.colour, "says": tone.says} for tone in tones],
        "says": _says(piece),
    }


def chosen(spots: Sequence[Spot]) -> list[int]:
    """Return the indices of the places to be magnified: the worst of each kind, then others in turn.

    The same letters are not shown twice, nor a place that another square shows already.
    """
    kinds = list(dict.fromkeys(s.kind for s in spots))
    first = [next(i for i, s in enumerate(spots) if s.kind == kind) for kind in kinds]
    found: list[int] = []
    for i in dict.fromkeys([*first, *range(len(spots))]):
        spot, others = spots[i], [spots[k] for k in found]
        again = any(o.kind == spot.kind and o.text == spot.text for o in others)
        near = any(math.dist((o.x, o.y), (spot.x, spot.y)) < LENS_MM / 3.0 for o in others)
        if i in first or not (again or near):
            found.append(i)
    return found[:MOST_LENSES]


@dataclass(frozen=True, slots=True)
class _Tone:
    """A tone of the picture: where, in which colour, and what the key says of it."""

    shape: BaseGeometry
    colour: str
    says: str


def _tones(piece: Piece, seen: Scene) -> list[_Tone]:
    """Return what is painted over the lettering, the later over the earlier; what is too small to see is left out."""
    cut = cut_shape(seen)
    drawn = NOTHING if seen.single else region(seen.strokes, CHORD)
    corners = drawn.difference(cut).difference(seen.lost) if not seen.beam and not drawn.is_empty else NOTHING
    tones = [
        _Tone(cut, LETTER, "cut" if seen.single or seen.beam else "cut as drawn"),
        _Tone(_floor(piece, drawn), FLOOR, "flat floor"),
        _Tone(corners, CORNER, "corner, as round as the bit"),
        _Tone(seen.thin, THIN, "wood too thin, or none left"),
        _Tone(seen.lost, LOST, "drawn, not cut"),
    ]
    return [t for t in tones if not t.shape.is_empty and not t.shape.buffer(-SEEN).is_empty]


def _floor(piece: Piece, drawn: BaseGeometry) -> BaseGeometry:
    """Return where strokes are wider than a V-bit cuts at its deepest, if the piece is said to have such."""
    most = next((p.limit for p in piece.problems if p.code == "wide-for-vee"), None)
    return NOTHING if not isinstance(most, float) else drawn.buffer(-most / 2.0)


def _layers(seen: Scene, tones: Sequence[_Tone]) -> list[tuple[BaseGeometry, str]]:
    """Return what is drawn, in this order: region and colour."""
    pale = mixed(seen.wood.colour, "#fffaf0", 0.72)
    keep = mixed(seen.wood.colour, "#ffffff", 0.35)
    return [
        (seen.body, mixed(pale, "#5a4632", 0.25)),
        (seen.flat.intersection(seen.body), pale),
        *((region(k.outline, CHORD), keep) for k in seen.keep_outs),
        *((tone.shape, tone.colour) for tone in tones),
    ]


def _rings(places: Sequence[tuple[float, float]], shown: Sequence[int]) -> list[dict[str, Any]]:
    """Return the rings: of further places where they do not crowd, then of the numbered ones, which stand above them."""
    ringed = [places[i] for i in shown]
    rings: list[dict[str, Any]] = []
    for place in places:
        if len(rings) >= MOST_RINGS:
            break
        if all(math.dist(place, other) >= CLOSE for other in ringed):
            ringed.append(place)
            rings.append({"at": place, "radius": FURTHER, "line": 1, "number": ""})
    numbered = enumerate((places[i] for i in shown), 1)
    return [*rings, *({"at": at, "radius": RING, "line": 3, "number": str(number)} for number, at in numbered)]


def _lens(layers: Iterable[tuple[BaseGeometry, str]], spot: tuple[float, float]) -> bytes:
    """Return the magnified square around a place."""
    left, top = spot[0] - LENS_MM / 2, spot[1] - LENS_MM / 2
    window = rectangle(left, top, left + LENS_MM, top + LENS_MM)
    around = window.buffer(1.0)
    seen = ((shape.intersection(around), colour) for shape, colour in layers)
    parts = [filled(shape, colour) for shape, colour in seen]
    return drawing((left, top, LENS_MM, LENS_MM), [filled(window, GLASS), *parts])


def _lens_says(spot: Spot) -> dict[str, str]:
    """Return what stands below a magnified place: what is how wide there, and what that is held against."""
    what = {"stroke": "stroke", "web": "wood"}[spot.kind]
    figure = f"{spot.width:.2f} mm"
    below = "just under " if spot.needs.endswith(figure) else ""
    says = f"{what} {below}{figure}" if spot.width > 0.0 else "fills up"
    return {"says": f"{says} at {spot.text}" if spot.text.strip() else says, "needs": spot.needs}


def _says(piece: Piece) -> list[str]:
    """Return the findings, a sentence each."""
    serious = [p for p in piece.problems if p.level != "note"]
    return [f"{p.level}: {quoted(p.says)}" for p in serious] or ["Nothing is lost, and no wood is left too thin."]
