"""Words placed on a lid: broken and sized by the solver, composed by the setting's numbers, proved to be inside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.problems import Problem, held
from engrave.setting import saying
from engrave.setting.composing import Composed, compose, compose_at
from engrave.setting.frames import Place, placed
from engrave.setting.inside import is_inside
from engrave.setting.laying import lines_of
from engrave.setting.lettering import Lettering
from engrave.setting.on_rim import along_rim, rim_size
from engrave.setting.rim import has_rim
from engrave.setting.taste import greatest_cap, least_cap
from engrave.setting.voices import Voice, voices
from engrave.tasks import Task
from engrave.typefaces import Shelf

SEARCHED = 0.35
"""Share of the least cap height down to which sizes are searched: below it, how small it would be helps nobody."""

HOPELESS = 0.8
"""Share of the least cap height at which words that would still cover more than the room are not even tried."""

SHAVE = 0.997
"""Where a line that reads both ways turns out otherwise than its words alone, sizes smaller by this are tried."""

SHAVES = 20
"""Times that is tried: 6 % is more than the space between two words can be off."""

MOST_WORDS_ON_RIM = 2
"""Words for which a rim is offered: with more, a stack is nearly always larger."""

LARGER_MESSAGE = (0.7, 0.85, 1.0)
"""Ratios of message to name tried where the message alone would be too small, as the name need not stay so large."""


def place(task: Task, shelf: Shelf, cap: float | None = None) -> Lettering:
    """Set a task's words as large as room and taste allow, or at just `cap` mm for pieces that belong together.

    What cannot be placed has no marks. With `cap`, alike lids with as many lines get the same pitch and baselines.
    Problems: 'does-not-fit', 'too-long', 'too-small' (holds), 'all-capitals-in-script' (look), and those of shaping.
    """
    spoken, problems = voices(task, shelf)
    empty = _empty(task, spoken, problems)
    if not spoken or held(problems):
        return empty
    where = placed(task.area, task.tool.machine, task.tool.cutter, empty.groove)
    if where.solving is None:
        return _with(empty, saying.no_room(task))
    if task.setting.kind == "rim" and has_rim(where):
        return _on_rim(task, where, spoken, empty, cap)
    laid = _stacked(task, where, spoken, empty, cap)
    return _rim_offered(task, where, spoken, laid) if cap is None else laid


def largest_cap(task: Task, shelf: Shelf) -> float:
    """Return the cap height in mm that a task's words have alone; 0 if they have no place."""
    return place(task, shelf).cap_mm


def _stacked(task: Task, where: Place, spoken: tuple[Voice, ...], empty: Lettering, cap: float | None) -> Lettering:
    long = _too_long(task, where, spoken)
    if long is not None:
        return _with(empty, long)
    composed = _composed(task, where, spoken, cap)
    if composed is None:
        return _with(empty, saying.does_not_fit(task, where, spoken, cap))
    laid = _proved(task, where, composed, empty)
    return laid if laid is not None else _with(empty, saying.does_not_fit(task, where, spoken, cap))


def _empty(task: Task, spoken: Sequence[Voice], problems: tuple[Problem, ...]) -> Lettering:
    kind = spoken[0].typeface.kind if spoken else "outline"
    groove = task.tool.groove if kind == "single-line" else 0.0
    return Lettering(kind, task.setting.id, (), (), groove, problems)


def _with(lettering: Lettering, *problems: Problem) -> Lettering:
    return replace(lettering, problems=(*lettering.problems, *problems))


def leasts(task: Task, spoken: Sequence[Voice]) -> list[float]:
    """Return the least cap height of each voice, in mm of its own caps."""
    return [least_cap(task, v.field, v.typeface) for v in spoken]


def _too_long(task: Task, where: Place, spoken: Sequence[Voice]) -> Problem | None:
    """Refuse, before solving, words whose lines would cover more than the room even where they are too small.

    Lines with half the pitch above and below each lie side by side in the room, but for the first's and the last's
    overhang, which is less than one more line.
    """
    assert where.solving is not None
    covered = overhang = 0.0
    for v, least in zip(spoken, leasts(task, spoken), strict=True):
        covered += saying.cover(v) * (least * HOPELESS) ** 2
        overhang = max(overhang, v.pitch * least * HOPELESS * where.solving.width)
    return saying.too_long(task, where, spoken) if covered > where.solving.area + overhang else None


def _composed(task: Task, where: Place, spoken: tuple[Voice, ...], cap: float | None) -> Composed | None:
    border = task.area.border
    if cap is not None:
        return compose_at(where, spoken, task.setting, cap, border)
    ceiling = greatest_cap(where, task.setting)
    first = _at_ratio(task, where, spoken, ceiling)
    if first is None or not _only_lesser_too_small(task, first):
        return first
    for ratio in LARGER_MESSAGE:
        grown = tuple(replace(v, ratio=max(v.ratio, ratio)) if k else v for k, v in enumerate(spoken))
        again = _at_ratio(task, where, grown, ceiling) if grown != spoken else None
        if again is not None and not _too_small(task, again):
            return again
    return first


def _at_ratio(task: Task, where: Place, spoken: tuple[Voice, ...], ceiling: float) -> Composed | None:
    least = SEARCHED * min(m / v.ratio for v, m in zip(spoken, leasts(task, spoken), strict=True))
    return compose(where, spoken, task.setting, ceiling, min(least, ceiling), task.area.border)


def _too_small(task: Task, composed: Composed) -> list[Voice]:
    pairs = zip(composed.voices, leasts(task, composed.voices), strict=True)
    return [v for v, least in pairs if composed.size * v.ratio < least * (1 - 1e-9)]


def _only_lesser_too_small(task: Task, composed: Composed) -> bool:
    small = _too_small(task, composed)
    return bool(small) and composed.voices[0] not in small


# --- laying -----------------------------------------------------------------------------------------------------


def _proved(task: Task, where: Place, composed: Composed, empty: Lettering) -> Lettering | None:
    """Lay the words and hold their real outlines against the room; shave the size if a line came out wider."""
    size = composed.size
    for _ in range(SHAVES):
        laid = _laid(where, composed, size, empty)
        if is_inside(laid, where):
            small = _too_small(task, replace(composed, size=size))
            return _with(laid, *(saying.too_small(task, where, v, size * v.ratio, composed) for v in small[:1]))
        if not any(v.mixed for v in composed.voices):
            return None
        size *= SHAVE
    return None


def _laid(where: Place, composed: Composed, size: float, empty: Lettering) -> Lettering:
    lines = lines_of(where, composed, size)
    return replace(empty, lines=tuple(line for line, _ in lines), marks=tuple(m for _, ms in lines for m in ms))


# --- the rim ----------------------------------------------------------------------------------------------------


def _on_rim(task: Task, where: Place, spoken: tuple[Voice, ...], empty: Lettering, cap: float | None) -> Lettering:
    laid = along_rim(task, where, spoken, empty, cap)
    if laid is None:
        return _with(empty, saying.no_rim(task, spoken, cap))
    return _with(laid, *saying.too_small_lines(task, laid, spoken)[:1])


def _rim_offered(task: Task, where: Place, spoken: tuple[Voice, ...], laid: Lettering) -> Lettering:
    """Note it where one or two words would come out more than the setting's gain larger along the rim."""
    if len(spoken) > 1 or len(spoken[0].words) > MOST_WORDS_ON_RIM or where.kind != "round" or not laid.marks:
        return laid
    size = rim_size(task, where, spoken, laid.cap_mm * (1 + task.setting.rim_gain))
    return laid if size is None else _with(laid, saying.rim_larger(size, laid.cap_mm))
