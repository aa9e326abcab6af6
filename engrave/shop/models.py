"""What a shop's tables say, as values; a table's class stands beside its reader, and is offered here.

Lengths mm, speeds mm/s, accelerations mm/s2, angles degrees, money Decimal. Tables may
state feeds per minute and lengths in inches; `engrave.shop.tables` turns them into these units once.
Frames: a lid's area has its origin at the top left of its bounding box, x right, y down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from engrave.problems import Problem
from engrave.shop.cutters import Beam, Bit, Cutter, CutterKind, EndMill, Method
from engrave.shop.house import Defaults, Intake
from engrave.shop.lid_values import Area, Finish, Front, KeepOut, Lid, Side
from engrave.shop.machines import Machine, MachineKind
from engrave.shop.proof_words import ProofUnits, ProofWords
from engrave.shop.rates import Channel, Hands, Rates
from engrave.shop.recipes import Recipe
from engrave.shop.settings import LetteringSize, Setting
from engrave.shop.woods import Wood

__all__ = [
    "Area",
    "Beam",
    "Bit",
    "Channel",
    "Cutter",
    "CutterKind",
    "Defaults",
    "EndMill",
    "Finish",
    "Front",
    "Hands",
    "Intake",
    "KeepOut",
    "LetteringSize",
    "Lid",
    "Machine",
    "MachineKind",
    "Method",
    "ProofUnits",
    "ProofWords",
    "Rates",
    "Recipe",
    "Setting",
    "Shop",
    "Side",
    "Wood",
]


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything all orders share. `sources` tells for each entry ('lids/round-caddy') the file it came from.

    notes: what was mended on the way in, such as an outline that crossed itself. own_cutters: those that the shop's own
    files name; none where they name none.
    """

    name: str
    lids: Mapping[str, Lid]
    cutters: Mapping[str, Cutter]
    machines: Mapping[str, Machine]
    woods: Mapping[str, Wood]
    recipes: tuple[Recipe, ...]
    rates: Rates
    settings: Mapping[str, Setting]
    intake: Intake
    defaults: Defaults
    proof: ProofWords
    sources: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[Problem, ...] = ()
    own_cutters: frozenset[str] = frozenset()

    def parts(self) -> tuple[object, ...]:
        """Return what many orders have in common: lids and their areas, woods, cutters, machines, settings."""
        lids = (part for lid in self.lids.values() for part in (lid, *lid.areas))
        every: tuple[Mapping[str, object], ...] = (self.cutters, self.machines, self.woods, self.settings)
        return (*lids, *(part for some in every for part in some.values()))

    def cutters_at_hand(self) -> tuple[Cutter, ...]:
        """Return the cutters that the shop owns, to be offered: those that its own files name, or else all of ours."""
        return tuple(c for c in self.cutters.values() if not self.own_cutters or c.id in self.own_cutters)
