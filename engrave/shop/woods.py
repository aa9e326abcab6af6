"""Woods: pores, the least webs that stand, what they look like, what their dust does."""

from __future__ import annotations

from typing import Literal

from engrave.shop.models import Wood
from engrave.shop.readers import COLOUR, FILLED, TEXT, YES, Reader, choice, length, number
from engrave.shop.tables import TomlEntry

NEWTONS_PER_POUND_FORCE = 4.4482216152605
"""Exact: the pound of 0.45359237 kg under the standard acceleration of 9.80665 m/s2."""

PORES: Reader[Literal["diffuse", "semi-ring", "ring", "none"]] = choice("diffuse", "semi-ring", "ring", "none")
FIGURE = choice("plain", "straight", "cathedral", "fleck")
WEB = length(0.0, 10.0, above=True)


def read_wood(entry: TomlEntry) -> Wood:
    """Return one wood from its table. Hardness may be given in pounds (force), as handbooks print it, or newtons."""
    wood = Wood(
        id=entry.id,
        title=entry.take("title", FILLED),
        latin=entry.take_or("latin", TEXT, ""),
        pores=entry.take("pores", PORES),
        softwood=entry.take_or("softwood", YES, False),
        web_along=entry.take("web_along", WEB),
        web_across=entry.take("web_across", WEB),
        gravity=entry.take_or("specific_gravity", number(0.05, 1.5), 0.0),
        janka_n=_hardness(entry),
        colour=entry.take("colour", COLOUR),
        figure=entry.take_or("figure", FIGURE, "plain"),
        burn=entry.take("burn", COLOUR),
        caution=entry.take_or("caution", TEXT, ""),
    )
    entry.finish()
    return wood


def _hardness(entry: TomlEntry) -> float:
    in_pounds = entry.take_or("janka_lbf", number(1.0, 10_000.0, unit="lbf"), None)
    in_newtons = entry.take_or("janka_n", number(1.0, 50_000.0, unit="N"), None)
    if in_pounds is not None and in_newtons is not None:
        entry.wrong("janka_n", "is given as well as janka_lbf", "Allowed: one of the two.")
    if in_newtons is not None:
        return in_newtons
    return in_pounds * NEWTONS_PER_POUND_FORCE if in_pounds is not None else 0.0
