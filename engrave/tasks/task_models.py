"""What an order's row becomes: a task, a plain lid, or a refusal with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.intake.order import Order, Words
from engrave.problems import Problem
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
class Task:
    """One piece, definite. words: only the fields that this area carries. typefaces: typeface id by field.

    tracking: extra space between letters in cap heights; joined typefaces never take it. thicken: by how many cap
    heights every stroke is drawn thicker; single lines never are. features: OpenType tags that the row asks for.
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

    def typeface(self, field: str) -> str:
        """Return the id of the typeface in which a field is set."""
        return dict(self.typefaces)[field]


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
