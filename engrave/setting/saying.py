"""What setting has to say when words do not come out: what, why, and what would help."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.problems import Problem
from engrave.setting.composing import Composed
from engrave.setting.frames import Place
from engrave.setting.lettering import Lettering
from engrave.setting.taste import least_cap
from engrave.setting.voices import Voice, shape_of
from engrave.tasks import Task
from engrave.tasks.choosing import midway
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
    """Return the area that a voice's lines cover at a cap height of 1: its words' widths times the pitch."""
    return sum(w.unit.right - w.unit.left for w in voice.words) * voice.pitch


def _tool(task: Task) -> str:
    return f"in {midway(task.wood.title)} with this {'beam' if task.tool.cutter.is_beam else 'bit'}"


def no_room(task: Task) -> Problem:
    """Say that margin and keep-outs leave nothing of the lid."""
    says = (
        f"Edge, margin and keep-outs leave no room for words on {task.lid.title}. A smaller margin or clearance in the "
        "lid's table would help."
    )
    return Problem("does-not-fit", "hold", says, where=task.lid.id)


def too_long(task: Task, where: Place, spoken: Sequence[Voice]) -> Problem:
    """Say that the lines would cover more than the room."""
    assert where.solving is not None
    size = (where.solving.area / sum(cover(v) * v.ratio**2 for v in spoken)) ** 0.5
    longest = max(spoken, key=lambda v: cover(v) * v.ratio**2)
    least = least_cap(task, longest.field, longest.typeface)
    letters = sum(len(w.placed) for v in spoken for w in v.words)
    says = (
        f"{letters} letters are too many for {task.lid.title}: filling all of its room they would be about "
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


def too_small_lines(task: Task, laid: Lettering, spoken: Sequence[Voice]) -> list[Problem]:
    """Say which lines along a rim come out smaller than their least."""
    out = []
    for line in laid.lines:
        voice = next(v for v in spoken if v.field == line.field)
        least = least_cap(task, line.field, voice.typeface)
        if line.cap_mm < least * (1 - 1e-9):
            says = (
                f"The {line.field} would be only {line.cap_mm:.1f} mm high along the rim: {_tool(task)} {least:.1f} mm is "
                "the least. Lines one over the other, fewer words or a larger lid would help."
            )
            where = f"{line.field}: {quoted(line.text)}"
            out.append(Problem("too-small", "hold", says, where, round(line.cap_mm, 3), round(least, 3)))
    return out


def no_rim(task: Task, spoken: Sequence[Voice], cap: float | None) -> Problem:
    """Say that words do not go along the rim."""
    words = quoted(" / ".join(v.text for v in spoken))
    at = f" with capitals {cap:.1f} mm high, the size of its set" if cap is not None else ""
    says = (
        f"{words} does not go along the rim of {task.lid.title}{at}. Lines one over the other, fewer words or a larger lid "
        "would help."
    )
    return Problem("does-not-fit", "hold", says, where=task.lid.id, value=None, limit=round(cap, 2) if cap else None)


def rim_larger(size: float, now: float) -> Problem:
    """Say that words would come out larger along the rim."""
    says = f"Along the rim these words would come out about {size:.1f} mm high instead of {now:.1f} mm: setting 'rim'."
    return Problem("rim-would-be-larger", "note", says, value=round(size, 1), limit=round(now, 1))
