"""From what a row says to entries of the shop: by id, by title, in any case and spelling of spaces, or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from engrave.findings import FindingCode
from engrave.intake.order import Order
from engrave.problems import Problem
from engrave.shop.artwork import Drawings
from engrave.shop.mistakes import close, listed, plainly
from engrave.shop.models import Recipe, Shop


class _Titled(Protocol):
    @property
    def title(self) -> str: ...


E = TypeVar("E", bound=_Titled)

UNKNOWN: dict[str, FindingCode] = {
    "lid": "unknown-lid",
    "wood": "unknown-wood",
    "cutter": "unknown-cutter",
    "typeface": "unknown-typeface",
    "setting": "unknown-setting",
}
"""The hold for each column whose name the shop does not have."""


@dataclass(frozen=True, slots=True)
class Book:
    """The shop as rows are looked up in it. kinds: typeface id to 'outline' or 'single-line'.

    refused: why a typeface of the shop's own cannot be used, by id. lid: taken where a row names none; '' for none.
    drawings: the shop's own.
    """

    shop: Shop
    kinds: Mapping[str, str]
    recipes: Mapping[tuple[str, str, str], Recipe] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)
    lid: str = ""
    drawings: Drawings = field(default_factory=Drawings)


def book(
    shop: Shop,
    kinds: Mapping[str, str],
    refused: Mapping[str, str] | None = None,
    lid: str = "",
    drawings: Drawings | None = None,
) -> Book:
    """Return the shop with its recipes by cutter, wood and method."""
    recipes: dict[tuple[str, str, str], Recipe] = {(r.cutter, r.wood, r.method): r for r in shop.recipes}
    return Book(shop, kinds, recipes, refused or {}, lid, drawings or Drawings())


def chosen(order: Order, column: str, fallback: str, entries: Mapping[str, E], holds: list[Problem]) -> E | None:
    """Return the entry that a row's column names, or the fallback's; None, with a hold noted, if there is none."""
    found = matched(getattr(order, column) or fallback, {i: e.title for i, e in entries.items()})
    if found is None:
        holds.append(unknown(order, column, fallback, {i: e.title for i, e in entries.items()}))
        return None
    return entries[found]


def chosen_typeface(order: Order, fallback: str, shelf: Book, holds: list[Problem]) -> str | None:
    """Return the typeface that a row names, or the fallback; None, with a hold noted, if it is not on the shelf."""
    asked = order.typeface or fallback
    found = matched(asked, {i: i for i in shelf.kinds})
    refused = matched(asked, {i: i for i in shelf.refused})
    if found is None and refused is not None:
        says = f"The typeface '{asked}' cannot be used. {shelf.refused[refused]}"
        holds.append(Problem("unknown-typeface", "hold", says, where(order, "typeface"), asked))
    elif found is None:
        holds.append(unknown(order, "typeface", fallback, {i: i for i in shelf.kinds}))
    return found


def matched(text: str, titles: Mapping[str, str]) -> str | None:
    """Return the id that a text means: the id itself or its title, whatever the case and the spaces."""
    if text in titles:
        return text
    plain = plainly(text)
    ids = [i for i in titles if plainly(i) == plain] or [i for i, title in titles.items() if plainly(title) == plain]
    return ids[0] if len(ids) == 1 else None


def no_lid(order: Order) -> Problem:
    """Return the hold for a row without a lid where the shop has not said which one such rows mean."""
    says = (
        "The row names no lid, and the shop's own defaults.toml names none for such rows. Write the lid into the column "
        'lid, or once for all such rows lid = "..." into defaults.toml.'
    )
    return Problem("no-lid", "hold", says, _row(order))


def unknown(order: Order, column: str, fallback: str, titles: Mapping[str, str]) -> Problem:
    """Return the hold for a name that the shop does not have, with the nearest one and all that are allowed."""
    text = getattr(order, column)
    if not text:
        says = f"The {column} '{fallback}', which is taken when the row names none, is not in the shop's tables."
        return Problem(UNKNOWN[column], "hold", f"{says} Known: {listed(titles)}.", _row(order), fallback)
    hint = close(text, titles) or next((i for i, t in titles.items() if t == close(text, titles.values())), "")
    meant = f" Did you mean '{hint}'?" if hint else ""
    says = f"The {column} '{text}' is not in the shop's tables.{meant} Known: {listed(titles)}."
    return Problem(UNKNOWN[column], "hold", says, where(order, column), text, hint or None)


def where(order: Order, column: str) -> str:
    """Return the place of a row's cell for people; words typed by hand have no row."""
    return f"row {order.row}, column {column}" if order.row else column


def _row(order: Order) -> str:
    return f"row {order.row}" if order.row else ""


NAMES_OF_PLACES = frozenset([
    "african", "alaska", "american", "asian", "australian", "brazilian", "british", "canadian", "caribbean",
    "chinese", "cuban", "czech", "danish", "douglas", "dutch", "english", "european", "finnish", "french",
    "german", "greek", "hawaiian", "honduras", "hungarian", "indian", "irish", "italian", "japanese",
    "norwegian", "oregon", "pacific", "polish", "portuguese", "russian", "scandinavian", "scots", "scottish",
    "siberian", "spanish", "swedish", "swiss", "tasmanian", "thai", "turkish", "ukrainian", "welsh",
])  # fmt: skip
"""First words of a wood's or a lid's title that keep their capital inside a sentence: Swedish birch."""


def midway(title: str) -> str:
    """Return a title as it stands inside a sentence: its first letter small, unless it is a name or an abbreviation."""
    if not title[1:2].islower() or title.split()[0].casefold() in NAMES_OF_PLACES:
        return title
    return title[:1].lower() + title[1:]
