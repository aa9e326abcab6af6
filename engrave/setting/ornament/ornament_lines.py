"""Ornaments as lines of a stack: between name and message, below a lonely word, beside the '&' of a pair.

An ornament is a field of its own without text, so that the solver gives it room, air and a place as it does to words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.setting.ornament.inking import Inker, placed
from engrave.setting.text.break_opportunities import END, Stretch
from engrave.setting.text.fields import ShapedField, ShapedWord, shaped_fields
from engrave.setting.text.glyph_shapes import hull_of
from engrave.setting.text.joined_words import JoinedWords
from engrave.setting.text.silhouettes import Silhouette, hull_slices
from engrave.tasks import Task
from engrave.typefaces import Placed, Shelf
from engrave.typefaces.run import ORNAMENT

PAIR_RATIO = 0.6
"""Size of what stands between two names, over theirs (our eye, no source)."""

PARTING = ("rule", "lozenge-rule")
"""Ornaments that part what stands over them from what stands under them."""

ENDING_SHARE, ENDING_NEARER = 0.65, 0.8
"""Size of these below a name without a message, and of the wood over them, over what they are between the two: so they read
as the name's own end, else as half of something (our eye, no source)."""

FLANK = 0.8
"""Size of the rules beside an '&', over its own; FLANK_AIR: capitals of wood between them."""
FLANK_AIR = 0.35


def word_of(glyphs: tuple[Placed, ...], text: str, where: tuple[int, int]) -> ShapedWord | None:
    """Return glyphs as one word that no line breaks; None if they leave no ink."""
    hull, around = hull_of(glyphs), hull_of(glyphs, rough=True)
    if hull is None or around is None:
        return None
    return ShapedWord(
        Stretch(*where, text, END, False), glyphs, Silhouette(text, hull, hull_slices(around), stops=True)
    )


def ornament_field(name: str, inker: Inker, beside: ShapedField, size: float) -> ShapedField | None:
    """Return an ornament as a line of its own, `size` capitals of the first field high, measured as `beside` is."""
    drawn = inker.ornament(name)
    if drawn is None:
        return None
    word = word_of((placed(drawn, f"the {name}", scale=size / beside.ratio),), "", (0, 0))
    if word is None:
        return None
    return replace(beside, field=ORNAMENT, pitch=1.0, tracking=0.0, text="", words=(word,), mixed=False)


def with_ornament(fields: tuple[ShapedField, ...], name: str, inker: Inker, size: float) -> tuple[ShapedField, ...]:
    """Return the fields with an ornament after the first: before what follows it, or below it where nothing does."""
    drawn = ornament_field(name, inker, fields[1], size) if len(fields) > 1 else ending(fields[0], name, inker, size)
    return fields if drawn is None else (fields[0], drawn, *fields[1:])


def ending(name_field: ShapedField, name: str, inker: Inker, size: float) -> ShapedField | None:
    """Return an ornament for below a name alone: one that parts is shorter and nearer, as it waits for no further line."""
    share, nearer = (ENDING_SHARE, ENDING_NEARER) if name in PARTING else (1.0, 1.0)
    return ornament_field(name, inker, replace(name_field, ratio=PAIR_RATIO * nearer * name_field.ratio), size * share)


def as_pair(fields: tuple[ShapedField, ...], name: str, inker: Inker, size: float) -> tuple[ShapedField, ...]:
    """Return the fields with two names parted by an ornament; words that are no pair have it below the name.

    The buyer's '&' (or 'and') stays, smaller, between two rules of the ornament's hand; names that the buyer wrote on
    two lines without one have the ornament itself between them.
    """
    first = fields[0]
    parted = _two_names(first)
    if parted is None:
        return with_ornament(fields, name, inker, size)
    last, next_one = parted
    if next_one - last == 2:
        between = _flanked(first, last + 1, inker)
    else:
        between = ornament_field(name, inker, replace(first, ratio=first.ratio * PAIR_RATIO), size)
    if between is None:
        return fields
    above, below = first.words[: last + 1], first.words[next_one:]
    return (replace(first, words=above), between, replace(first, words=below), *fields[1:])


def _two_names(of: ShapedField) -> tuple[int, int] | None:
    """Return the last word of the first name and the first of the second, with '&' or nothing between; None if no pair."""
    joined = JoinedWords([w.piece.text for w in of.words])
    lone = [k for k in range(1, len(of.words) - 1) if of.words[k].piece.lone or _joins_short_names(of, joined, k)]
    ends = [k for k, w in enumerate(of.words[:-1]) if w.unit.closes]
    if len(lone) == 1 and not of.mixed and not set(ends) - {lone[0] - 1, lone[0]}:
        return lone[0] - 1, lone[0] + 1
    return (ends[0], ends[0] + 1) if not lone and len(ends) == 1 else None


def _joins_short_names(of: ShapedField, joined: JoinedWords, k: int) -> bool:
    """Tell whether a word joins 'Mum & Dad' or 'A & B': one line by themselves, and yet two names."""
    return joined.is_lone(k) and of.words[k - 1].piece.joint.rule in ("short-pair", "pair-of-letters")


def holds_pair(task: Task, shelf: Shelf) -> bool:
    """Tell whether a task's name is two names, which an ornament can part."""
    fields, _ = shaped_fields(task, shelf)
    return bool(fields) and fields[0].field == "name" and _two_names(fields[0]) is not None


def _flanked(of: ShapedField, index: int, inker: Inker) -> ShapedField | None:
    """Return the word between two names as a smaller line of its own, a rule to either side."""
    word = of.words[index]
    drawn = inker.ornament("rule")
    flank = hull_of((placed(drawn, ""),)) if drawn is not None else None
    if drawn is None or flank is None:
        return None
    low, high = float(flank[:, 0].min()) * FLANK, float(flank[:, 0].max()) * FLANK
    middle = float(word.unit.hull[:, 1].max() + word.unit.hull[:, 1].min()) / 2
    y = middle - float(flank[:, 1].max() + flank[:, 1].min()) / 2 * FLANK
    left = placed(drawn, "the rule", word.unit.left - FLANK_AIR - high, y, FLANK)
    right = placed(drawn, "the rule", word.unit.right + FLANK_AIR - low, y, FLANK)
    whole = word_of((left, *word.placed, right), word.piece.text, (word.piece.start, word.piece.end))
    if whole is None:
        return None
    return replace(of, ratio=of.ratio * PAIR_RATIO, words=(whole,))


def is_ornament(field: ShapedField) -> bool:
    """Tell whether a field is an ornament, without words."""
    return field.field == ORNAMENT


def worded(fields: Sequence[ShapedField]) -> tuple[ShapedField, ...]:
    """Return the fields that hold words."""
    return tuple(f for f in fields if not is_ornament(f))
