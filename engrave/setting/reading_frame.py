"""A lid's area as its reader sees it: turned so that the words' feet are below, mm, y up, origin at its middle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from shapely import affinity, union_all
from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.geometry.affine import Matrix, matrix_product
from engrave.geometry.regions import is_convex, polygons, region
from engrave.setting.fit.prepared_room import PreparedRoom, prepare_room
from engrave.shop import room
from engrave.shop.models import Area, Cutter, Front, Machine

SOLVING_MARGIN = 0.004
"""mm: words are solved in a room smaller by this, so that what just touches is surely inside, curves between
the points of their chords (2.5 micrometres on a letter of 25 mm) included."""

MIRROR_DIFFERENCE = 0.005
"""Share of an outline's area by which its mirror image may differ for it to count as having an axis."""

CORNER_TOLERANCE = 0.01
"""mm: a room that is not convex is solved with as few corners as stay within this, inside it; a thousandth of a letter
of 10 mm, for a third of the work."""

ARC_CHORDS = 32
"""Chords of a quarter circle where a groove's half width is taken off: 0.2 micrometres at half a millimetre."""

SLIVER = 0.02
"""Share of a part of the room below which a piece of it is no place for words."""

LONG_RATIO = 2.5
"""Length over height from which an area counts as long and narrow: two and a half squares hold one line of words."""

RECTANGLE_SHARE = 0.9
"""Share of its box that a lid must fill to count as a rectangle; a circle fills 0.785, a hexagon 0.75."""

READER_TURNS: dict[Front, Matrix] = {
    "bottom": (1.0, 0.0, 0.0, -1.0, 0.0, 0.0),
    "top": (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 1.0, 0.0, 0.0, 0.0),
    "right": (0.0, -1.0, -1.0, 0.0, 0.0, 0.0),
}
"""The reader's frame (y up) on the lid (y down), by where the words have their feet; each is its own inverse."""


@dataclass(frozen=True, eq=False)  # without slots: what is worked out of it is kept with it
class ReadingFrame:
    """A lettered area ready for its words. All in the reader's frame except `to_area`, which maps it to the area.

    outline: the lid itself. room: where grooves' middles or outlines may stand. solving: the same, a little smaller.
    width, height: of the lid's box as read. axis: x of the outline's mirror axis, None if it has none;
    mirrored: whether the room has the same one.
    middle: y of the outline's centroid. inside: of the lid. kind: 'round', 'rectangle' or 'long'.
    """

    to_area: Matrix
    outline: BaseGeometry
    room: BaseGeometry
    solving: PreparedRoom
    width: float
    height: float
    axis: float | None
    mirrored: bool
    middle: float
    kind: str
    inside: bool = False

    def airy_room(self, air: float) -> PreparedRoom | None:
        """Return the room for solving, smaller all round by air in mm; None if nothing is left of it."""

        def made() -> PreparedRoom | None:
            left = self.solving.shape.buffer(-air, join_style="mitre")
            return None if left.is_empty else prepare_room(left)

        return self.kept.get(AIRY_ROOMS, air, made)

    @cached_property
    def kept(self) -> Cache:
        """What was worked out of this frame: it goes when the frame goes."""
        return Cache()

    @cached_property
    def banded(self) -> ReadingFrame | None:
        """The frame without the band across it at the height of what stands on its axis; None if nothing does."""
        room = self.solving
        axis = self.axis if self.axis is not None else (room.box[0] + room.box[2]) / 2
        on_axis = [o for o in room.obstacles if o.x[0] < axis < o.x[-1]]
        if not on_axis:
            return None
        low, high = min(o.low.min() for o in on_axis), max(o.high.max() for o in on_axis)
        left = room.shape.difference(rectangle(room.box[0] - 1.0, low, room.box[2] + 1.0, high))
        return None if left.is_empty else replace(self, solving=prepare_room(left))


AIRY_ROOMS: CacheKind[PreparedRoom | None] = CacheKind("airy rooms", 256)

FRAMES: CacheKind[ReadingFrame | None] = CacheKind("frames", 256)
"""As many as lids of a shop times the grooves of a week's cutters: with all that is worked out of them, one for all cutters
that leave the same room."""

FRAMES_OF: CacheKind[ReadingFrame | None] = CacheKind("frames by cutter", 256)


def frame_of(
    area: Area, machine: Machine, cutter: Cutter, groove: float, cache: Cache | None = None
) -> ReadingFrame | None:
    """Return an area ready for words cut with grooves `groove` mm wide (0: outlines); None if it has no room for any."""
    kept = cache or Cache()

    def made() -> ReadingFrame | None:
        whole = _read(room(area, machine, cutter), area)
        return kept.get(FRAMES, (area, whole.wkb, groove), lambda: _frame(area, whole, groove))

    return kept.get(FRAMES_OF, (area, machine, cutter, groove), made)


def _frame(area: Area, whole: BaseGeometry, groove: float) -> ReadingFrame | None:
    turn = READER_TURNS[area.front]
    to_area = matrix_product((1.0, 0.0, 0.0, 1.0, area.width / 2, area.height / 2), turn)
    outline = _read(region(area.outline), area)
    shrunk = _shrunk(whole, groove / 2)
    tight = _shrunk(whole, groove / 2 + SOLVING_MARGIN)
    if tight.is_empty:
        return None
    low, bottom, high, top = outline.bounds
    width, height = high - low, top - bottom
    lesser, greater = sorted((width, height))
    boxy = outline.area >= RECTANGLE_SHARE * width * height
    kind = "long" if greater >= LONG_RATIO * lesser else "rectangle" if boxy else "round"
    solving = prepare_room(simpler_room(tight))
    axis = mirror_axis(outline)
    mirrored = axis is not None and mirror_axis(whole) is not None
    return ReadingFrame(
        to_area,
        outline,
        shrunk,
        solving,
        width,
        height,
        axis,
        mirrored,
        outline.centroid.y,
        kind,
        area.side == "inside",
    )


def _read(shape: BaseGeometry, area: Area) -> BaseGeometry:
    a, b, c, d, _, _ = READER_TURNS[area.front]
    centred = affinity.translate(shape, -area.width / 2, -area.height / 2)
    return affinity.affine_transform(centred, [a, c, b, d, 0.0, 0.0])


def _shrunk(shape: BaseGeometry, by: float) -> BaseGeometry:
    if by <= 0:
        return shape
    return shape.buffer(-by, join_style="mitre") if is_convex(shape) else shape.buffer(-by, quad_segs=ARC_CHORDS)


def simpler_room(shape: BaseGeometry) -> BaseGeometry:
    """Return a room with as few corners as stay within CORNER_TOLERANCE, inside it; a convex one as it is."""
    if is_convex(shape):
        return shape
    simple = shape.buffer(-CORNER_TOLERANCE, quad_segs=2).simplify(CORNER_TOLERANCE)
    return simple if not simple.is_empty and shape.covers(simple) else shape


def part_of(frame: ReadingFrame, part: BaseGeometry) -> ReadingFrame | None:
    """Return a part of a place's room as a place of its own, its slivers left out; None if nothing is left of it."""
    tight = part.buffer(-SOLVING_MARGIN)
    whole = [p for p in polygons(tight) if p.area > SLIVER * tight.area]
    return replace(frame, room=part, solving=prepare_room(simpler_room(union_all(whole)))) if whole else None


def mirror_axis(shape: BaseGeometry) -> float | None:
    """Return x of the upright axis about which a shape mirrors itself; None if there is none."""
    low, _, high, _ = shape.bounds
    middle = (low + high) / 2
    mirrored = affinity.scale(shape, -1.0, 1.0, origin=(middle, 0.0))
    return middle if shape.symmetric_difference(mirrored).area <= MIRROR_DIFFERENCE * shape.area else None
