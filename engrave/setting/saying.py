"""What setting has to say when words do not come out: what, why, and what would help."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.problems import Problem
from engrave.setting.composing import Composed
from engrave.setting.frames import Place
from engrave.setting.taste import least_cap
from engrave.setting.voices import Voice, shape_of
from engrave.tasks import Task
from engrave.typefaces import Placed

SHOWN = 60
"""Characters of the words quoted in a message: a line on a phone's screen."""

HELPS = "Fewer words, a narrower typeface or a larger lid would help."


def quoted(text: str) -> str:
    """Return words as they are quoted in a message, long ones shortened."""
    plain = " ".join(text.split())
    return f"'{plain}'" if len(plain) <= SHOWN else f"'{plain[: SHOWN - 1].rstrip()}…'"


def middle(glyphs: Sequence[Placed]) -> float:
    """Return the middle of placed glyphs' ink, in caps."""
    hull = shape_of(glyphs)
    return float(hull[:, 0].min() + hull[:, 0].max()) / 2 if hull is not None else 0.0


def cover(voice: Voice) -> float:
    """Return the area that a voice's words cover at a cap height of 1: the sum of their hulls."""
    total = 0.0
    for word in voice.words:
        x, y = word.unit.hull.T
        total += abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2
    return total


def _tool(task: Task) -> str:
    return f"in {task.wood.title.lower()} with this {'beam' if task.tool.cutter.is_beam else 'bit'}"


def no_room(task: Task) -> Problem:
    """Say that margin and keep-outs leave nothing of the lid."""
    says = (
        f"Edge, margin and keep-outs leave no room for words on {task.lid.title}. A smaller margin or clearance in the "
        "lid's table would help."
    )
    return Problem("does-not-fit", "hold", says, where=task.lid.id)


def too_long(task: Task, where: Place, spoken: Sequence[Voice]) -> Problem:
    """Say that the letters alone cover more than the room."""
    assert where.solving is not None
    size = (where.solving.area / sum(cover(v) * v.ratio**2 for v in spoken)) ** 0.5
    longest = max(spoken, key=lambda v: cover(v) * v.ratio**2)
    least = least_cap(task, longest.field, longest.typeface)
    letters = sum(len(w.placed) for v in spoken for w in v.words)
    says = (
        f"{letters} letters are too many for {task.lid.title}: packed edge to edge they would be less than "
        f"{size * longest.ratio:.1f} mm high, and {_tool(task)} {least:.1f} mm is the least. "
        "Agree on fewer words, or take a larger lid."
    )
    return Problem("too-long", "hold", says, quoted(longest.text), round(size * longest.ratio, 2), round(least, 2))


def does_not_fit(task: Task, where: Place, spoken: Sequence[Voice], cap: float | None) -> Problem:
    """Say that there is no place for the words, naming a word that no line can hold."""
    if cap is not None:
        words = quoted(" / ".join(v.text for v in spoken))
        says = f"{words} has no place on {task.lid.title} with capitals {cap:.1f} mm high, the size of its set. {HELPS}"
        return Problem("does-not-fit", "hold", says, where=task.lid.id, value=None, limit=round(cap, 2))
    assert where.solving is not None
    voice, word = max(
        ((v, w) for v in spoken for w in v.words), key=lambda p: (p[1].unit.right - p[1].unit.left) * p[0].ratio
    )
    size = where.solving.width / (word.unit.right - word.unit.left)
    least = least_cap(task, voice.field, voice.typeface)
    if size < least:
        says = (
            f"{quoted(word.piece.text)} is too long for a line on {task.lid.title}: it would be at most {size:.1f} mm "
            f"high, and {_tool(task)} {least:.1f} mm is the least. It is not broken by itself; agree with the buyer "
            "where to break it, or take a narrower typeface or a larger lid."
        )
        return Problem("does-not-fit", "hold", says, quoted(word.piece.text), round(size, 2), round(least, 2))
    words = quoted(" / ".join(v.text for v in spoken))
    says = f"{words} does not fit on {task.lid.title} at any size that can be read. {HELPS}"
    return Problem("does-not-fit", "hold", says, where=task.lid.id, value=None, limit=round(least, 2))


def too_small(task: Task, where: Place, voice: Voice, cap: float, composed: Composed) -> Problem:
    """Say that a field comes out smaller than its least, and which limit that is."""
    least = least_cap(task, voice.field, voice.typeface)
    why = f"{_tool(task)} {least:.1f} mm is the least"
    if task.setting.least_x_height / voice.typeface.x_height >= least * (1 - 1e-9):
        why = f"its small letters would be {cap * voice.typeface.x_height:.1f} mm, and {task.setting.least_x_height:.1f} mm is the least"
    widest = max(voice.words, key=lambda w: w.unit.right - w.unit.left)
    one = len(voice.words) == 1
    helps = f"A shorter name than {quoted(widest.piece.text)}, a" if one else "Fewer words, a"
    share = least / cap
    says = (
        f"The {voice.field} would be only {cap:.1f} mm high: {why}. {helps} narrower typeface or a lid "
        f"{share:.2g} times as large would help."
    )
    return Problem("too-small", "hold", says, f"{voice.field}: {quoted(voice.text)}", round(cap, 3), round(least, 3))
