"""The card of one piece: all that the week's page says of it, as it is kept between the making and the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from engrave.problems import Problem
from engrave.stored import as_plain, read_as

if TYPE_CHECKING:
    from engrave.advising import Remedy


@dataclass(frozen=True, slots=True)
class Files:
    """Where a piece's files lie within the week's folder; None for what is not written."""

    svg: str | None = None
    proof: str | None = None
    outline: str | None = None


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of a card's figures."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Card:
    """What the page says of one piece. Everything is text that the template escapes, but for the two pictures.

    width: mm of the picture's view; wood, grain: what it is drawn on. share: of a card's width; href: where it stands; both are
    known once all cards are. scripts: files of the letters that its words and its buyer's note want beside the page's own.
    """

    ident: str
    order: str
    title: str
    about: str
    verdict: str
    verdict_says: str
    words: str
    picture: Markup
    view_box: str
    lens: Markup
    approved_picture: Markup
    shows_lost: bool
    received: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]
    changes: tuple[str, ...]
    facts: tuple[Fact, ...]
    problems: tuple[Problem, ...]
    notes: tuple[Problem, ...]
    remedies: tuple[Remedy, ...]
    nothing_helps: str
    files: Files
    code: str | None
    note: str
    sign: str
    width: float | None
    wood: str
    grain: str
    scripts: tuple[str, ...] = ()
    share: float = 1.0
    href: str = ""


Told = Mapping[str, Any]
"""A card as plain values, in which it is kept; see `card_told`."""


def card_told(card: Card) -> Told:
    """Return a card as plain values."""
    return {**as_plain(replace(card, remedies=())), "remedies": [{"says": r.says} for r in card.remedies]}


def card_read(told: Told) -> Card:
    """Return a card from its plain values; its facts, remedies and files stay plain, which templates read alike.

    Raises KeyError, TypeError or ValueError if it is none.
    """
    lists: dict[str, Any] = {key: tuple(v) if isinstance(v, list) else v for key, v in told.items()}
    lists |= {key: Markup(told[key]) for key in ("picture", "lens", "approved_picture")}
    lists |= {key: tuple(read_as(Problem, one) for one in told[key]) for key in ("problems", "notes")}
    return Card(**lists)


def outlined(card: Card) -> Card:
    """Return a card with only what the rest of the page says of it: small enough to hold all of a year's."""
    return replace(
        card,
        picture=Markup(""),
        lens=Markup(""),
        approved_picture=Markup(""),
        received=(),
        lines=(),
        changes=(),
        facts=(),
    )
