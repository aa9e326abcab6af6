"""What setting has to say when words do not come out: what, why, and what would help."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from engrave.problems import Problem
from engrave.setting.compose.size_rules import least_cap
from engrave.setting.compose.standing import Composition
from engrave.setting.lettering import Lettering
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.fields import ShapedField
from engrave.tasks import Task
from engrave.tasks.choosing import midway
from engrave.typefaces.characters import capitals_or_letters

HOPELESS_SHARE = 0.8
"""Share of the least cap height at which words that would still cover more than the room are not even tried."""

QUOTED_LENGTH = 60
"""Characters of the words quoted in a message: a line on a phone's screen."""

WOULD_HELP = "Fewer words, a narrower typeface or a larger lid would help."


def shortened(text: str) -> str:
    """Return words as they are quoted in a message, long ones shortened."""
    plain = " ".join(text.split())
    return f"'{plain}'" if len(plain) <= QUOTED_LENGTH else f"'{plain[: QUOTED_LENGTH - 1].rstrip()}…'"


def cover(shaped: ShapedField) -> float:
    """Return the area that a field's lines cover at a cap height of 1: its words' widths times the pitch."""
    return sum(w.unit.right - w.unit.left for w in shaped.words) * shaped.pitch


def cover_too_much(frame: ReadingFrame, sized: Iterable[tuple[ShapedField, float]]) -> bool:
    """Tell whether the lines of fields, each with its least cap in mm, cover more than the room even where too small.

    Lines with half the pitch above and below each lie side by side in the room, but for the first's and the last's
    overhang, which is less than one more line.
    """
    covered = overhang = 0.0
    for v, least in sized:
        covered += cover(v) * (least * HOPELESS_SHARE) ** 2
        overhang = max(overhang, v.pitch * least * HOPELESS_SHARE * frame.solving.width)
    return covered > frame.solving.area + overhang


def _tool(task: Task) -> str:
    return f"in {midway(task.wood.title)} with this {'beam' if task.tool.cutter.is_beam else 'bit'}"


def no_room(task: Task) -> Problem:
    """Say that margin and keep-outs leave nothing of the lid."""
    says = (
        f"Edge, margin and keep-outs leave no room for words on {task.lid.title}. A smaller margin or clearance in the "
        "lid's table would help."
    )
    return Problem("does-not-fit", "hold", says, where=task.lid.id)


def too_long(task: Task, frame: ReadingFrame, fields: Sequence[ShapedField]) -> Problem:
    """Say that the lines would cover more than the room."""
    size = (frame.solving.area / sum(cover(v) * v.ratio**2 for v in fields)) ** 0.5
    longest = max(fields, key=lambda v: cover(v) * v.ratio**2)
    least = least_cap(task, longest.field, longest.typeface)
    letters = sum(len(w.placed) for v in fields for w in v.words)
    says = (
        f"{letters} letters are too many for {task.lid.title}: filling all of its room they would be about "
        f"{size * longest.ratio:.1f} mm high, and {_tool(task)} {least:.1f} mm is the least. "
        "Agree on fewer words, or take a larger lid."
    )
    return Problem("too-long", "hold", says, shortened(longest.text), round(size * longest.ratio, 2), round(least, 2))


def does_not_fit(task: Task, frame: ReadingFrame, fields: Sequence[ShapedField], cap: float | None) -> Problem:
    """Say that there is no place for the words, naming a word that no line can hold."""
    if cap is not None:
        words = shortened(" / ".join(v.text for v in fields))
        says = f"{words} has no place on {task.lid.title} with {capitals_or_letters(words)} {cap:.1f} mm high, the size of its set. {WOULD_HELP}"
        return Problem("does-not-fit", "hold", says, where=task.lid.id, value=None, limit=round(cap, 2))
    shaped, word = max(
        ((v, w) for v in fields for w in v.words), key=lambda p: (p[1].unit.right - p[1].unit.left) * p[0].ratio
    )
    size = frame.solving.width / (word.unit.right - word.unit.left)
    least = least_cap(task, shaped.field, shaped.typeface)
    if size < least:
        says = (
            f"{shortened(word.piece.text)} is too long for a line on {task.lid.title}: it would be at most {size:.1f} mm "
            f"high, and {_tool(task)} {least:.1f} mm is the least. It is not broken by itself; agree with the buyer "
            "where to break it, or take a narrower typeface or a larger lid."
        )
        return Problem("does-not-fit", "hold", says, shortened(word.piece.text), round(size, 2), round(least, 2))
    words = shortened(" / ".join(v.text for v in fields))
    says = f"{words} does not fit on {task.lid.title} at any size that can be read. {WOULD_HELP}"
    return Problem("does-not-fit", "hold", says, where=task.lid.id, value=None, limit=round(least, 2))


def too_small(task: Task, frame: ReadingFrame, shaped: ShapedField, cap: float, composed: Composition) -> Problem:
    """Say that a field comes out smaller than its least, and which limit that is."""
    least = least_cap(task, shaped.field, shaped.typeface)
    why = f"{_tool(task)} {least:.1f} mm is the least"
    if task.setting.least_x_height / shaped.typeface.x_height >= least * (1 - 1e-9):
        why = f"its small letters would be {cap * shaped.typeface.x_height:.1f} mm, and {task.setting.least_x_height:.1f} mm is the least"
    widest = max(shaped.words, key=lambda w: w.unit.right - w.unit.left)
    one = len(shaped.words) == 1
    helps = f"A shorter name than {shortened(widest.piece.text)}, a" if one else "Fewer words, a"
    share = least / cap
    says = (
        f"The {shaped.field} would be only {cap:.1f} mm high: {why}. {helps} narrower typeface or a lid "
        f"{share:.2g} times as large would help."
    )
    return Problem(
        "too-small", "hold", says, f"{shaped.field}: {shortened(shaped.text)}", round(cap, 3), round(least, 3)
    )


def too_small_lines(task: Task, laid: Lettering, fields: Sequence[ShapedField]) -> list[Problem]:
    """Say which lines along a rim come out smaller than their least."""
    out = []
    for line in laid.lines:
        shaped = next(v for v in fields if v.field == line.field)
        least = least_cap(task, line.field, shaped.typeface)
        if line.cap_mm < least * (1 - 1e-9):
            says = (
                f"The {line.field} would be only {line.cap_mm:.1f} mm high along the rim: {_tool(task)} {least:.1f} mm is "
                "the least. Lines one over the other, fewer words or a larger lid would help."
            )
            at = f"{line.field}: {shortened(line.text)}"
            out.append(Problem("too-small", "hold", says, at, round(line.cap_mm, 3), round(least, 3)))
    return out


def broken_further(field: str, laid: Lettering) -> Problem:
    """Say that lines which the buyer broke by hand are broken once more, as they fit no other way."""
    lines = " / ".join(line.text for line in laid.lines if line.field == field)
    says = (
        f"The buyer broke the {field} into lines, and one of them is broken further, as it can be read in no other way: "
        f"{shortened(lines)}. Show it to the buyer; a larger lid or fewer words would keep the lines."
    )
    return Problem("broken-further", "look", says, where=f"{field}: {shortened(lines)}")


def no_rim(task: Task, fields: Sequence[ShapedField], cap: float | None) -> Problem:
    """Say that words do not go along the rim."""
    words = shortened(" / ".join(v.text for v in fields))
    at = f" with {capitals_or_letters(words)} {cap:.1f} mm high, the size of its set" if cap is not None else ""
    says = (
        f"{words} does not go along the rim of {task.lid.title}{at}. Lines one over the other, fewer words or a larger lid "
        "would help."
    )
    return Problem("does-not-fit", "hold", says, where=task.lid.id, value=None, limit=round(cap, 2) if cap else None)


def no_arch(task: Task) -> Problem:
    """Say that a name does not go into an arch, and stands in lines instead."""
    says = (
        f"The name does not go into an arch on {task.lid.title} at a size that can be read: it stands in lines instead. Show "
        "it to the buyer, or take another setting."
    )
    return Problem("no-arch", "look", says, where=task.lid.id)


def rim_larger(size: float, now: float) -> Problem:
    """Say that words would come out larger along the rim."""
    says = f"Along the rim these words would come out about {size:.1f} mm high instead of {now:.1f} mm: setting 'rim'."
    return Problem("rim-would-be-larger", "note", says, value=round(size, 1), limit=round(now, 1))
