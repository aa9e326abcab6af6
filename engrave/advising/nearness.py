"""How near a change stays to what was ordered: the order in which remedies are offered."""

from __future__ import annotations

from typing import Literal

from engrave.advising.trying import Change
from engrave.making import Env, Piece
from engrave.shop.house import WORD_FIELDS
from engrave.tasks.choosing import book
from engrave.tasks.define import Named, named_for

Character = Literal["script", "display", "thick and thin", "even"]

EVEN = 1.6
"""A stem up to so many times as wide as the thinnest stroke looks drawn with one width: Noto Sans has 1.3, Vollkorn 2.3."""

LEAST_SEEN_FIRST = (
    "spacing", "depth", "line_weight", "cutter", "matching", "thicken", "lettering_size", "setting", "typeface", "foot",
    "message", "lid",
)  # fmt: skip
"""Columns by how little a change in them is seen: a hair of space hardly, another lid is another sale.
A weight stands before another bit, which makes a line as wide but must first be put into the machine."""

LESS_WORDS, OTHER_LID = frozenset(WORD_FIELDS), frozenset({"lid"})

Nearness = tuple[int, int, bool, int, int]


def character_of(typeface: str, env: Env) -> Character:
    """Return a typeface's character of letter: joined, made to begin words only, in two widths of stroke or in one."""
    facts = env.shelf.facts(typeface)
    if facts.joined:
        return "script"
    if not facts.bears_capitals:
        return "display"
    measured = facts.measured
    if measured is None or measured.stem is None or measured.stroke is None:
        return "even"
    return "thick and thin" if measured.stem > EVEN * measured.stroke else "even"


def how_near(change: Change, leaves: int, before: Piece, after: Piece, env: Env) -> Nearness:
    """Return how far a change goes from what was ordered; the least is offered first. leaves: findings to be looked at.

    First whether words and lid stay; then machine, typeface and character of letter, all before some; then what is clear
    before what is to be looked at; last how little the changed columns are seen, and how many they are.
    """
    columns = {column for column, _ in change}
    sale = 2 if columns & OTHER_LID else 1 if columns & LESS_WORDS else 0
    seen = max(LEAST_SEEN_FIRST.index(column) for column in columns)
    return (sale, looks_changed(before, after, env), leaves > 0, seen, len(change))


def looks_changed(before: Piece, after: Piece, env: Env) -> int:
    """Return 0 where machine and typeface are kept, 1 for another machine, 2 and 3 for another typeface of the same
    character on the same and on another machine, 4 and 5 for one of another character.
    """
    other_machine = machine_of(before, env) != machine_of(after, env)
    was, now = typeface_of(before, env), typeface_of(after, env)
    if was == now:
        return int(other_machine)
    return (2 if character_of(was, env) == character_of(now, env) else 4) + int(other_machine)


def machine_of(piece: Piece, env: Env) -> str:
    """Return the machine on which a piece is, or would have been, cut."""
    if piece.task is not None:
        return piece.task.tool.machine.id
    cutter = named_of(piece, env).cutter
    return cutter.machine if cutter is not None else ""


def cutter_of(piece: Piece, env: Env) -> str:
    """Return the cutter of a piece; where its row gave no task, the one that is named for it, '' if there is none."""
    if piece.task is not None:
        return piece.task.tool.cutter.id
    cutter = named_of(piece, env).cutter
    return cutter.id if cutter is not None else ""


def typeface_of(piece: Piece, env: Env) -> str:
    """Return the typeface of a piece's first words; where its row gave no task, the one named for it, or the shop's own."""
    if piece.task is not None and piece.task.typefaces:
        return piece.task.typefaces[0][1]
    return named_of(piece, env).typeface or env.shop.defaults.typeface


def named_of(piece: Piece, env: Env) -> Named:
    """Return what a piece's row, its lid or the shop names: what is known of a row that gave no task."""
    shop, shelf = env.shop, env.shelf
    return named_for(piece.order, book(shop, shelf.kinds(), shelf.refused, shop.defaults.lid), [])
