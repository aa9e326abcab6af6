"""Woods: pores, the least webs that stand, what they look like, what their dust does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from engrave.shop.keys import entry_name, key, read_table, taken
from engrave.shop.readers import COLOUR, FILLED, TEXT, YES, length, number, one_of
from engrave.shop.tables import TomlEntry

NEWTONS_PER_POUND_FORCE = 4.4482216152605
"""Exact: the pound of 0.45359237 kg under the standard acceleration of 9.80665 m/s2."""

Pores = Literal["diffuse", "semi-ring", "ring", "none"]
Figure = Literal["plain", "straight", "cathedral", "fleck"]
WEB = length(0.0, 10.0, above=True)


def _hardness(entry: TomlEntry, name: str) -> float:
    """Return the hardness in newtons; it may be given in pounds (force), as handbooks print it."""
    in_pounds = entry.take_or("janka_lbf", number(1.0, 10_000.0, unit="lbf"), None)
    in_newtons = entry.take_or(name, number(1.0, 50_000.0, unit="N"), None)
    if in_pounds is not None and in_newtons is not None:
        entry.wrong(name, "is given as well as janka_lbf", "Allowed: one of the two.")
    if in_newtons is not None:
        return in_newtons
    return in_pounds * NEWTONS_PER_POUND_FORCE if in_pounds is not None else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wood:
    """A wood: pores, least webs along and across the grain (mm), colour for pictures (#rrggbb), caution by species.

    figure: how its face looks. burn: colour of a beam's mark (#rrggbb).
    gravity: specific gravity; janka_n: side hardness in newtons, both at 12 % moisture; 0 where it is not known.
    """

    id: str = entry_name()
    title: str = key(FILLED)
    latin: str = key(TEXT, "")
    pores: Pores = key(one_of(Pores))
    softwood: bool = key(YES, False)
    web_along: float = key(WEB)
    web_across: float = key(WEB)
    gravity: float = key(number(0.05, 1.5), 0.0, called="specific_gravity")
    janka_n: float = taken(_hardness)
    colour: str = key(COLOUR)
    figure: Figure = key(one_of(Figure), "plain")
    burn: str = key(COLOUR)
    caution: str = key(TEXT, "")


def read_wood(entry: TomlEntry) -> Wood:
    """Return one wood from its table."""
    return read_table(Wood, entry)
