"""A lid and its areas as values, with the keys of their table; `lids` reads their outlines and mirrors what is handed.

Lengths mm. An area has its origin at the top left of its bounding box, x right, y down.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from engrave.geometry.paths import Path
from engrave.problems import Problem
from engrave.shop.keys import entry_name, key
from engrave.shop.readers import FILLED, LENGTH, MONEY, TEXT, YES, choice, length, list_of, one_of

Side = Literal["top", "inside"]
Front = Literal["bottom", "top", "left", "right"]
Finish = Literal["none", "oil", "wax", "varnish", "lacquer"]
Handed = Literal["right", "left"]
Grain = Literal["x", "y"]
AREA_FIELDS = list_of(choice("name", "message", "foot", "artwork"), least=1, most=4)
NO_COST = Decimal(0)
"""Of a lid whose cost is not stated: a spoiled one then counts nothing in a quote."""


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A place where nothing may be cut. `outline` is closed, in the area's frame; `clearance` is added around it.

    `height` is how far it stands proud of the lid (0: flush): then the holder's radius also stays away from it.
    `outline` is what lies on the lid and is drawn; `whole`, where the keep-out overhangs the lid's edge as a finger notch
    does, is all of it, from which the clearance is measured; () where the outline is all of it.
    """

    outline: Path
    clearance: float = key(LENGTH, 2.0)
    height: float = key(LENGTH, 0.0)
    why: str = key(TEXT, "")
    whole: Path = ()

    @property
    def taken(self) -> Path:
        """The whole shape, with what overhangs the lid's edge."""
        return self.whole or self.outline


@dataclass(frozen=True, slots=True, kw_only=True)
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
    margin: float | None = key(LENGTH, None)
    keep_outs: tuple[KeepOut, ...]
    front: Front = key(one_of(Front), "bottom")
    side: Side = key(one_of(Side), "top")
    fields: tuple[str, ...] = key(AREA_FIELDS, ("name", "message", "foot"))
    setting: str | None = key(FILLED, None)
    border: bool = key(YES, False)
    edge_sides: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lid:
    """A kind of lid the shop makes. thickness, flatness in mm; grain 'x' or 'y' is the run of the fibres.

    areas: the first is the lid's face ('lid'), others as the shop names them ('inside', 'front').
    finish: what the wood is treated with before it is lettered, for the cautions.
    problems: what was mended in a drawn outline, as notes.
    """

    id: str = entry_name()
    title: str = key(FILLED)
    areas: tuple[Area, ...]
    thickness: float = key(length(1.0, 100.0))
    flatness: float = key(length(0.0, 5.0), 0.2)
    grain: Grain = key(one_of(Grain), "x")
    handed: Handed = "right"
    hinge: Front | None = key(one_of(Front), None)
    wood: str | None = key(FILLED, None)
    typeface: str | None = key(FILLED, None)
    cutter: str | None = key(FILLED, None)
    setting: str | None
    cost: Decimal = key(MONEY, NO_COST)
    price: Decimal | None = key(MONEY, None)
    finish: Finish = key(one_of(Finish), "none")
    problems: tuple[Problem, ...] = ()
