"""What a shop's tables say, as values; a table's class stands beside its reader, and is offered here.

Lengths mm, speeds mm/s, accelerations mm/s2, angles degrees, money Decimal. Tables may
state feeds per minute and lengths in inches; `engrave.shop.tables` turns them into these units once.
Frames: a lid's area has its origin at the top left of its bounding box, x right, y down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from engrave.geometry.paths import Path
from engrave.problems import Problem
from engrave.shop.cutters import Beam, Bit, Cutter, CutterKind, EndMill, Method
from engrave.shop.house import Defaults, Intake
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

Side = Literal["top", "inside"]
Front = Literal["bottom", "top", "left", "right"]
Finish = Literal["none", "oil", "wax", "varnish", "lacquer"]


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A place where nothing may be cut. `outline` is closed, in the area's frame; `clearance` is added around it.

    `height` is how far it stands proud of the lid (0: flush): then the holder's radius also stays away from it.
    `outline` is what lies on the lid and is drawn; `whole`, where the keep-out overhangs the lid's edge as a finger notch
    does, is all of it, from which the clearance is measured; () where the outline is all of it.
    """

    outline: Path
    clearance: float
    height: float
    why: str
    whole: Path = ()

    @property
    def taken(self) -> Path:
        """The whole shape, with what overhangs the lid's edge."""
        return self.whole or self.outline


@dataclass(frozen=True, slots=True)
class Area:
    """One place on a lid that is lettered, mirrored already where `handed` or `side` ask for it.

    outline: closed contours (holes included). edge: width of round-over or chamfer; the flat begins there.
    edge_sides: how far from the box's top, right, bottom and left the flat begins where a side has an edge of its own, as
    a sliding lid has where it runs in its grooves.
    margin: from the flat's edge inwards; tables are read with the shop's rule filled in, None means that same rule
    with our figures (the larger of 5 mm and 8 % of the lesser side).
    front: the side on which the words have their feet. fields: which of name, message, foot it carries.
    border: something round or framed would show an optical shift, so words are centred on the box of the ink.
    """

    name: str
    outline: Path
    width: float
    height: float
    edge: float
    margin: float | None
    keep_outs: tuple[KeepOut, ...]
    front: Front
    side: Side
    fields: tuple[str, ...]
    setting: str | None
    border: bool = False
    edge_sides: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Lid:
    """A kind of lid the shop makes. thickness, flatness in mm; grain 'x' or 'y' is the run of the fibres.

    areas: the first is the lid's face ('lid'), others as the shop names them ('inside', 'front').
    finish: what the wood is treated with before it is lettered, for the cautions.
    problems: what was mended in a drawn outline, as notes.
    """

    id: str
    title: str
    areas: tuple[Area, ...]
    thickness: float
    flatness: float
    grain: Literal["x", "y"]
    handed: Literal["right", "left"]
    hinge: Front | None
    wood: str | None
    typeface: str | None
    cutter: str | None
    setting: str | None
    cost: Decimal
    price: Decimal | None
    finish: Finish = "none"
    problems: tuple[Problem, ...] = ()


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

    def cutters_at_hand(self) -> tuple[Cutter, ...]:
        """Return the cutters that the shop owns, to be offered: those that its own files name, or else all of ours."""
        return tuple(c for c in self.cutters.values() if not self.own_cutters or c.id in self.own_cutters)
