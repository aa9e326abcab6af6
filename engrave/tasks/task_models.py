"""What an order's row becomes: a task, a plain lid, or a refusal with its reasons."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engrave.intake.order import Order, Words
from engrave.problems import Problem
from engrave.shop.artwork import Artwork
from engrave.shop.models import Area, Cutter, Lid, Machine, Method, Recipe, Setting, Wood


@dataclass(frozen=True, slots=True)
class Tool:
    """The cutter in its machine, with method, depth and feeds: everything that cutting and timing ask.

    depth: mm below the lid's face. groove: width in mm that it leaves when it follows a line at that depth.
    diameter: mm that limits the thinnest stroke it can clear (an end mill's diameter, a V-bit's tip, a beam's mark).
    machine: as in the shop's table, its retract height raised where something on the lid stands prouder.
    """

    cutter: Cutter
    machine: Machine
    recipe: Recipe
    method: Method
    depth: float
    groove: float
    diameter: float


@dataclass(frozen=True, slots=True)
class Weighting:
    """How a piece's single lines get a weight. shares: of the capitals' height, heaviest first; () for plain lines.

    tool: what draws them so; plain: what follows them without; others: by which methods the same cutter could too.
    asked: the row itself says how heavy.
    """

    shares: tuple[float, ...]
    tool: Tool
    plain: Tool
    others: tuple[Tool, ...] = ()
    asked: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """One piece, definite. words: only the fields that this area carries. typefaces: typeface id by field.

    tracking: extra space between letters in cap heights; joined typefaces never take it. thicken: by how many cap
    heights every stroke is drawn thicker; single lines never are. features: OpenType tags that the row asks for.
    artwork: the drawing that is cut on this area. weighting: how
    single lines get a weight, None for letters with a body; weights: the weight of each field's lines in cap heights, () for
    plain ones.
    """

    order: Order
    piece: int
    lid: Lid
    area: Area
    words: Words
    typefaces: tuple[tuple[str, str], ...]
    setting: Setting
    tool: Tool
    wood: Wood
    problems: tuple[Problem, ...] = ()
    tracking: float = 0.0
    thicken: float = 0.0
    features: tuple[str, ...] = ()
    weighting: Weighting | None = None
    artwork: Artwork | None = None
    weights: tuple[tuple[str, float], ...] = ()

    def typeface(self, field: str) -> str:
        """Return the id of the typeface in which a field is set."""
        return dict(self.typefaces)[field]

    def weight(self, field: str) -> float:
        """Return the weight of a field's lines in cap heights; 0 for plain ones, and for letters with a body."""
        return dict(self.weights).get(field, 0.0)

    def weighed(self, weights: tuple[tuple[str, float], ...]) -> Task:
        """Return the task with its lines drawn so heavy, by the tool that does it; as it is where lines stay plain."""
        return self if self.weighting is None else replace(self, weights=weights, tool=self.weighting.tool)

    def plainly(self) -> Task:
        """Return the task with its lines as the cutter's groove leaves them."""
        return (
            self if not self.weights or self.weighting is None else replace(self, weights=(), tool=self.weighting.plain)
        )


@dataclass(frozen=True, slots=True)
class Refused:
    """A row that cannot become a task, with the reasons; it still gets its entry in the week."""

    order: Order
    piece: int
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class Plain:
    """A lid ordered without words, on purpose: nothing to engrave and nothing to pay for it."""

    order: Order
    piece: int
    lid: Lid
