"""Cutters: bits and beams, a class for each kind, with what its groove is worked out from. All lengths in mm.

Cutter
  Bit        turns, or is drawn; stands in a holder
    EndMill    square: its groove is as wide as it is
    BallNose   round, or a ball that tapers: a chord of its circle, then its cone
    Conical    a point with a flat: wider with depth by its angle
      VBit       follows lines, or goes down the middle of strokes
      HalfRound  follows lines
    DragBit    scratches as wide as its tip
  Beam       leaves a mark
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar, Literal, Protocol

from engrave.geometry.paths import Point
from engrave.shop.keys import entry_name, key, look_over, read_keys
from engrave.shop.readers import FILLED, TEXT, Reader, choice, length, number, whole
from engrave.shop.tables import TomlEntry

CutterKind = Literal["end-mill", "ball-nose", "v-bit", "half-round", "drag-bit", "beam"]
Method = Literal["follow", "raster", "pocket", "vee", "side-by-side"]
"""How a cutter works. side-by-side: single lines with a weight, as lines beside one another; it has no recipe of its own."""

MUST_STATE = "A cutter of kind {0.kind} must state it."
BIT = replace(length(0.0, 50.0, above=True), blank=50.0)  # after a mistake no bit is too small for what else is said
TIP = length(0.0, 10.0)
MARK_WIDTH = length(0.01, 2.0)
ANGLE = number(5.0, 170.0, unit="degrees, the whole angle at the point")
WAVELENGTH = number(180.0, 20_000.0, unit="nm")

BALL_STEPS = 24
"""Chords of a ball's outline in a picture."""


class MarkMeasured(Protocol):
    """What a recipe may know from a test piece: the width of a beam's mark along x and y, mm."""

    @property
    def mark_x(self) -> float | None: ...  # noqa: D102
    @property
    def mark_y(self) -> float | None: ...  # noqa: D102


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter(ABC):
    """A bit or a beam. machine: the one it is used in. note: what to know of it.

    kind: what tables call it. methods: how it can be used: along single lines first, then how it makes letters with body,
    if it can.
    """

    kind: ClassVar[CutterKind]
    methods: ClassVar[tuple[Method, ...]]
    is_beam: ClassVar[bool] = False

    id: str = entry_name()
    title: str = key(FILLED)
    machine: str = key(FILLED)
    note: str = key(TEXT, "")

    @abstractmethod
    def groove_at(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return the width of the groove at the wood's face when the cutter follows a line at a depth."""

    def depth_for(self, groove: float) -> float | None:
        """Return the depth at which a pointed or round cutter leaves that groove; None if it cannot, or any depth does."""
        return None

    def least_width(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return what limits the thinnest stroke the cutter can clear: a V-bit's tip, else its groove."""
        return self.groove_at(depth, recipe)

    def mark(self, recipe: MarkMeasured | None = None) -> tuple[float, float]:
        """Return the width of a beam's mark along x and y; a bit leaves none but its groove."""
        return (0.0, 0.0)

    def depth_limits(self) -> Iterator[tuple[float, str]]:
        """Yield the depths that the cutter must not pass, each with what of it sets that limit."""
        yield from ()

    @property
    def widening(self) -> float:
        """By how much the cut widens for each mm of depth, both its walls together; 0 where it does not throughout."""
        return 0.0

    @property
    def point(self) -> float:
        """Width of what is flat at the very point."""
        return 0.0

    @property
    def body_width(self) -> float:
        """Width of the body that comes down beside what stands proud of a lid."""
        return 0.0

    @property
    def holder_above(self) -> float:
        """How high above the lid the holder stays at the greatest depth; 0 where that is not known."""
        return 0.0

    @property
    @abstractmethod
    def fineness(self) -> float:
        """A width by which cutters are ranked: the smaller, the finer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bit(Cutter):
    """What cuts wood by its edge. angle: whole angle at its point in degrees; of a ball nose that tapers, of its cone.

    tip: flat of a V-bit, tip width of a half-round or drag bit. flute: cutting length; flutes: how many edges.
    deepest: greatest depth it is ever run at. reach: how far it stands out of its holder; None: unknown, so the holder may
    come down to the lid.
    """

    diameter: float | None = key(BIT, None)
    angle: float | None = key(ANGLE, None, called="angle_deg")
    tip: float | None = key(TIP, None)
    flute: float | None = key(BIT, None)
    flutes: int | None = key(whole(1, 8), None)
    deepest: float | None = key(BIT, None)
    reach: float | None = key(BIT, None)

    def depth_limits(self) -> Iterator[tuple[float, str]]:
        """Yield its greatest depth and its flute, where they are known."""
        if self.deepest is not None:
            yield self.deepest, "greatest depth"
        if self.flute is not None:
            yield self.flute, "flute"

    @property
    def point(self) -> float:
        """Width of its tip, if it has one."""
        return self.tip or 0.0

    @property
    def body_width(self) -> float:
        """Its diameter, where it is known."""
        return self.diameter or 0.0

    @property
    def holder_above(self) -> float:
        """What stands out of the holder less what goes into the wood."""
        return 0.0 if self.reach is None else max(0.0, self.reach - (self.deepest or self.flute or 0.0))

    @property
    def fineness(self) -> float:
        """Its tip, or else its diameter."""
        return self.tip or self.diameter or 0.0

    def side_view(self, height: float) -> list[Point]:
        """Return its outline from the side, once round: x from its axis, and how high above its point, up to a height."""
        radius, tip = (self.diameter or self.tip or 1.0) / 2.0, (self.tip or 0.0) / 2.0
        rise = (radius - tip) / math.tan(math.radians(self.angle / 2.0)) if self.angle else 0.0
        foot = [(radius, rise), (tip, 0.0), (-tip, 0.0), (-radius, rise)] if rise else [(radius, 0.0), (-radius, 0.0)]
        return [(radius, height), *foot, (-radius, height)]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndMill(Bit):
    """A square bit of diameter D: its groove is D wide at any depth."""

    kind: ClassVar[CutterKind] = "end-mill"
    methods: ClassVar[tuple[Method, ...]] = ("follow", "pocket")

    diameter: float = key(BIT, missing=MUST_STATE)
    flute: float = key(BIT, missing=MUST_STATE)

    def groove_at(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return its diameter."""
        return self.diameter


@dataclass(frozen=True, slots=True, kw_only=True)
class BallNose(Bit):
    """A round bit of radius R; one that tapers goes over into its cone, or a straight one into its shank."""

    kind: ClassVar[CutterKind] = "ball-nose"
    methods: ClassVar[tuple[Method, ...]] = ("follow", "pocket")

    diameter: float = key(BIT, missing=MUST_STATE)
    flute: float = key(BIT, missing=MUST_STATE)

    def groove_at(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return 2 sqrt(2 R z - z^2), a chord of the circle, up to where its taper begins; above it, the taper's width."""
        at, width = self._taper_begins()
        z = min(depth, at)
        return (
            2.0 * math.sqrt(max(0.0, self.diameter * z - z * z))
            if depth <= at
            else width + 2.0 * (depth - at) * math.tan(self._half_angle)
        )

    def depth_for(self, groove: float) -> float | None:
        """Return the depth on the ball, or on its cone; None where it is never that wide."""
        at, width = self._taper_begins()
        if groove > width:
            return at + (groove - width) / (2.0 * math.tan(self._half_angle)) if self.angle else None
        radius = self.diameter / 2
        return radius - math.sqrt(radius**2 - (groove / 2) ** 2) if groove > 0 else None

    def side_view(self, height: float) -> list[Point]:
        """Return the ball's arc between the sides of its taper."""
        radius, half = self.diameter / 2.0, self._half_angle
        turns = [half + (math.pi - 2.0 * half) * i / BALL_STEPS for i in range(BALL_STEPS + 1)]
        foot = [(radius * math.cos(t), radius - radius * math.sin(t)) for t in turns]
        wide = (height - radius * (1.0 - math.sin(half))) * math.tan(half) + radius * math.cos(half)
        return [(wide, height), *foot, (-wide, height)]

    @property
    def _half_angle(self) -> float:
        return math.radians((self.angle or 0.0) / 2)

    def _taper_begins(self) -> tuple[float, float]:
        """Return how far above its point its taper, or its shank, begins, R (1 - sin(a/2)), and how wide it is there."""
        radius, half = self.diameter / 2, self._half_angle
        return radius * (1.0 - math.sin(half)), 2.0 * radius * math.cos(half)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conical(Bit):
    """A point of whole angle a with a flat tip t: its groove is t + 2 z tan(a/2) wide, at most its diameter.

    Point-tool depth and width as in Machinery's Handbook.
    """

    diameter: float = key(BIT, missing=MUST_STATE)
    angle: float = key(ANGLE, called="angle_deg", missing=MUST_STATE)
    tip: float = key(TIP, missing=MUST_STATE)
    deepest: float = key(BIT, missing=MUST_STATE)

    @property
    def widening(self) -> float:
        """By how much the cut widens for each mm of depth: 2 tan(a/2).

        0.54, 1.15 and 2.0 mm at 30, 60 and 90 degrees (Machinery's Handbook, on countersinks: depth = D/2 cot(A/2)).
        """
        return 2.0 * math.tan(math.radians(self.angle / 2))

    def groove_at(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return the width of its cone at the wood's face."""
        return min(self.diameter, self.tip + depth * self.widening)

    def depth_for(self, groove: float) -> float | None:
        """Return the depth for a groove wider than its tip and no wider than its body."""
        depth = (groove - self.tip) / self.widening
        return depth if depth > 0 and groove <= self.diameter else None

    def least_width(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return its tip: it rises out of the wood where a stroke narrows."""
        return self.tip

    def depth_limits(self) -> Iterator[tuple[float, str]]:
        """Yield also the depth at which it is as wide as its body: deeper, the shank would rub."""
        yield from Bit.depth_limits(self)
        yield (self.diameter - self.tip) / self.widening, "cone"


@dataclass(frozen=True, slots=True, kw_only=True)
class VBit(Conical):
    """A pointed bit that follows lines, or goes down the middle of strokes as deep as they are wide."""

    kind: ClassVar[CutterKind] = "v-bit"
    methods: ClassVar[tuple[Method, ...]] = ("follow", "vee")


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfRound(Conical):
    """An engraving cutter ground to half its round: it follows lines."""

    kind: ClassVar[CutterKind] = "half-round"
    methods: ClassVar[tuple[Method, ...]] = ("follow",)


@dataclass(frozen=True, slots=True, kw_only=True)
class DragBit(Bit):
    """A point that is drawn over the wood and scratches as wide as its tip."""

    kind: ClassVar[CutterKind] = "drag-bit"
    methods: ClassVar[tuple[Method, ...]] = ("follow",)

    tip: float = key(TIP, missing=MUST_STATE)

    def groove_at(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return its tip's width."""
        return self.tip


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam(Cutter):
    """A beam. kerf_x, kerf_y: width of its mark along the machine's axes. wavelength in nm."""

    kind: ClassVar[CutterKind] = "beam"
    methods: ClassVar[tuple[Method, ...]] = ("follow", "raster")
    is_beam: ClassVar[bool] = True

    kerf_x: float = key(MARK_WIDTH, missing=MUST_STATE)
    kerf_y: float = key(MARK_WIDTH, missing=MUST_STATE)
    wavelength: float = key(WAVELENGTH, called="wavelength_nm", missing=MUST_STATE)

    def groove_at(self, depth: float, recipe: MarkMeasured | None = None) -> float:
        """Return the wider of its mark's two directions, since webs close by it."""
        return max(self.mark(recipe))

    def mark(self, recipe: MarkMeasured | None = None) -> tuple[float, float]:
        """Return its mark along x and y: the recipe's, measured on a test piece, before its own."""
        x = recipe.mark_x if recipe and recipe.mark_x else self.kerf_x
        y = recipe.mark_y if recipe and recipe.mark_y else self.kerf_y
        return (x, y)

    @property
    def fineness(self) -> float:
        """Its mark along x."""
        return self.kerf_x


KINDS: dict[CutterKind, type[Cutter]] = {
    kind.kind: kind for kind in (EndMill, BallNose, VBit, HalfRound, DragBit, Beam)
}
"""The class of each kind, by what tables call it."""

KIND: Reader[CutterKind] = choice(*KINDS)


def read_cutter(entry: TomlEntry) -> Cutter:
    """Return one cutter from its table; each kind must state what its groove is worked out from.

    What another kind would state may stand there too, as a drag bit's diameter or what `like` brought along.
    """
    cutter = read_keys(KINDS[entry.take("kind", KIND)], entry)
    for kind in (Bit, Beam):
        look_over(kind, entry)
    entry.finish()
    if isinstance(cutter, Bit) and "tip" in entry and "diameter" in entry and cutter.point > cutter.body_width:
        found = f"found {cutter.point:g} mm, wider than the bit's diameter of {cutter.body_width:g} mm"
        entry.wrong("tip", found, "Allowed: at most the diameter.")
    return cutter
