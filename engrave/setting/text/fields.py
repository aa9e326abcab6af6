"""The words of each field in their typeface: shaped once as a strip, cut into units that no line breaks."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace

from engrave.cache import CacheKind
from engrave.problems import Problem
from engrave.setting.text.break_opportunities import Stretch, stretches
from engrave.setting.text.foot_capitals import CAPITALS_SHARE, drawn_in_capitals, told_of_capitals
from engrave.setting.text.glyph_shapes import feet_of, hull_of
from engrave.setting.text.joints import Joint
from engrave.setting.text.silhouettes import Silhouette, hull_slices
from engrave.shop.models import Setting
from engrave.tasks import Task
from engrave.typefaces import Placed, Run, Shelf, Typeface, thickened, weighted

FEWEST_CAPITALS = 2
"""Words with fewer letters than this are not 'all in capitals': an initial is a name as it should be."""

PAIR_RULES = ("pair", "pair-of-letters")
"""Rules of joints whose price is the setting's `ampersand`."""


@dataclass(frozen=True, slots=True)
class ShapedWord:
    """A unit's glyphs as placed in the field's strip, and what they make as a shape."""

    piece: Stretch
    placed: tuple[Placed, ...]
    unit: Silhouette


@dataclass(frozen=True, slots=True)
class ShapedField:
    """One field ready to be set. ratio: its cap over the first field's. pitch: in its own caps.

    mixed: it reads in both directions, so that a line must be shaped whole to know its order.
    """

    field: str
    ratio: float
    pitch: float
    tracking: float
    typeface: Typeface
    text: str
    words: tuple[ShapedWord, ...]
    mixed: bool

    def line(self, first: int, last: int) -> tuple[str, tuple[Placed, ...]]:
        """Return the text and the glyphs, in caps, of the line made of words first to last - 1."""
        text = self.text[self.words[first].piece.start : self.words[last - 1].piece.end]
        if self.mixed:
            return text, self.typeface.shape(text, self.tracking).placed
        return text, tuple(p for w in self.words[first:last] for p in w.placed)


Shaped = tuple[tuple[ShapedField, ...], tuple[Problem, ...]]

SHAPED: CacheKind[Shaped] = CacheKind("shaped fields", 64)
"""Words as shaped: another size, lid or cutter has the same ones, not only equal ones."""


def shaped_fields(task: Task, shelf: Shelf) -> Shaped:
    """Return every field that leaves ink, the first with ratio 1, and what is to be said of letters and capitals."""
    read = replace(task.setting, fill=1.0)
    key = (task.words, task.typefaces, task.features, task.thicken, task.weights, task.tracking, read)
    return shelf.cache.get(SHAPED, key, lambda: _shaped_fields(task, shelf))


def _shaped_fields(task: Task, shelf: Shelf) -> Shaped:
    setting = task.setting
    ratios = {"name": 1.0, "message": setting.message_ratio, "foot": setting.foot_ratio}
    out: list[ShapedField] = []
    problems: list[Problem] = []
    for field, words in task.words.filled():
        drawn = shelf.get(task.typeface(field), task.features)
        typeface = weighted(thickened(drawn, task.thicken, shelf.cache), task.weight(field), shelf.cache)
        text, ratio, said = _as_drawn(field, words, typeface, setting)
        problems += said
        capitals = all_capitals(text)
        if capitals and not typeface.bears_capitals:
            problems.append(_in_capitals(field, words, typeface))
        tracking = _tracking(task, field, text, typeface)
        found, said, mixed = _words(words, text, typeface, tracking, setting)
        problems += said
        if found:
            out.append(
                ShapedField(
                    field, ratios[field] * ratio, line_pitch(text, setting), tracking, typeface, text, found, mixed
                )
            )
    if out:
        out = [replace(v, ratio=v.ratio / out[0].ratio) for v in out]
    return tuple(out), tuple(dict.fromkeys(problems))


def _as_drawn(field: str, words: str, typeface: Typeface, setting: Setting) -> tuple[str, float, list[Problem]]:
    """Return a field's words as their letters are drawn, how high over the field's ratio, and what is to be said of it."""
    if field != "foot" or setting.foot_letters != "capitals":
        return words, 1.0, []
    drawn = drawn_in_capitals(words, typeface, setting.foot_longest)
    if drawn == words and not all_capitals(words):
        return words, 1.0, []
    return drawn, CAPITALS_SHARE, [told_of_capitals(words, drawn)] if drawn != words else []


def _tracking(task: Task, field: str, text: str, typeface: Typeface) -> float:
    """Return the extra space between letters in caps: the order's, and the setting's between capitals; none if joined."""
    if typeface.joined:
        return 0.0
    setting = task.setting
    if field == "foot" and _stands_in_capitals(text) and sum(c.isalnum() for c in text) <= setting.foot_longest:
        return task.tracking + max(setting.foot_spacing, setting.tracking_capitals)
    return task.tracking + (setting.tracking_capitals if all_capitals(text) else 0.0)


def _stands_in_capitals(text: str) -> bool:
    """Tell whether words are capitals, figures and marks alone, in a script that has capitals or in figures only."""
    return any(c.isalnum() for c in text) and all(c.isupper() or not c.isalpha() for c in text)


def _in_capitals(field: str, words: str, typeface: Typeface) -> Problem:
    says = (
        f"The {field} is all in capitals, which {typeface.title} does not bear: its capitals are made to begin words. "
        "It is set as written; ask the buyer for capitals and small letters, or take another typeface."
    )
    return Problem("all-capitals-in-script", "look", says, where=f"{field}: {words}")


def all_capitals(words: str) -> bool:
    """Tell whether words are written in capitals alone."""
    cased = [c for c in words if c.lower() != c.upper()]
    return len(cased) > FEWEST_CAPITALS and all(c.isupper() for c in cased)


def line_pitch(words: str, setting: Setting) -> float:
    """Return the line pitch in caps by what the words hold (ISO 3098-1, type B: b3, b2, b1 over h)."""
    if any(c.isupper() and len(unicodedata.normalize("NFD", c)) > 1 for c in words):
        return setting.pitch_accents
    return setting.pitch_capitals if all_capitals(words) else setting.pitch_mixed


def _words(
    words: str, text: str, typeface: Typeface, tracking: float, setting: Setting
) -> tuple[tuple[ShapedWord, ...], list[Problem], bool]:
    """Shape each line that the buyer asked for as one strip, and cut it into words; one that leaves no ink is left.

    words: as written, which say what stays together; text: as drawn, letter for letter.
    """
    mixed = _reads_both_ways(text)
    problems: list[Problem] = []
    out: list[ShapedWord] = []
    at = 0
    every = [replace(p, text=text[p.start : p.end]) for p in stretches(words)]
    for line in text.split("\n"):
        run = typeface.shape(line, tracking)
        problems += run.problems
        inside = [replace(p, start=p.start - at) for p in every if at <= p.start < at + len(line) + 1]
        cut = _apart(inside, typeface, tracking) if mixed else _cut(inside, run)
        for piece, glyphs in zip(inside, cut, strict=True):
            hull, around = hull_of(glyphs), hull_of(glyphs, rough=True)
            if hull is not None and around is not None:
                shape = Silhouette(
                    piece.text, hull, hull_slices(around), _price(piece.joint, setting), piece.closes, _grip(piece), piece.lone,
                    piece.joint.weight == "stop", feet_of(glyphs),
                )  # fmt: skip
                out.append(ShapedWord(replace(piece, start=piece.start + at, end=piece.end), glyphs, shape))
        at += len(line) + 1
    return tuple(out), problems, mixed


def _price(joint: Joint, setting: Setting) -> float:
    """Return the share of the size that is given up rather than end a line at a joint."""
    if joint.rule in PAIR_RULES:
        return setting.ampersand
    return {"strong": setting.joint_strong, "weak": setting.joint_weak, "plain": setting.joint_plain}.get(
        joint.weight, 0.0
    )


def _grip(piece: Stretch) -> int:
    return 3 if piece.asked else {"strong": 2, "weak": 1}.get(piece.joint.weight, 0)


def _cut(inside: Sequence[Stretch], run: Run) -> list[tuple[Placed, ...]]:
    return [tuple(p for p in run.placed if q.start <= p.start < q.start + len(q.text)) for q in inside]


def _apart(inside: Sequence[Stretch], typeface: Typeface, tracking: float) -> list[tuple[Placed, ...]]:
    """Shape each word by itself, side by side: as wide as the line will be, whatever its order."""
    blank = typeface.shape("n n", tracking).advance - 2 * typeface.shape("n", tracking).advance
    out: list[tuple[Placed, ...]] = []
    at = 0.0
    for piece in inside:
        run = typeface.shape(piece.text, tracking)
        out.append(tuple(replace(p, x=p.x + at) for p in run.placed))
        at += run.advance + max(blank, 0.0)
    return out


def _reads_both_ways(text: str) -> bool:
    ways = {unicodedata.bidirectional(c) for c in text}
    return bool(ways & {"R", "AL"}) and bool(ways & {"L", "EN", "AN"})
