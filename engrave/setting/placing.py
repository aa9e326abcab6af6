"""Words placed on a lid: broken and sized by the solver, composed by the setting's numbers, proved to be inside."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

from engrave.problems import Problem, held
from engrave.setting import fit_messages
from engrave.setting.compose.composition import HELD_BY_BUYER, Sizes, compose_at, compose_largest, may_reach, restood
from engrave.setting.compose.containment import is_inside
from engrave.setting.compose.lay import lines_of, settled
from engrave.setting.compose.size_rules import LARGER_RATIOS, SEARCHED_SHARE, greatest_cap, least_cap
from engrave.setting.compose.standing import Composition
from engrave.setting.lettering import Lettering
from engrave.setting.ornament.dressing import Dressed, dressed, is_undressed, pen_wanted
from engrave.setting.ornament.inking import least_line
from engrave.setting.ornament.ornament_lines import is_ornament, worded
from engrave.setting.reading_frame import ReadingFrame, frame_of
from engrave.setting.rim.arch import in_an_arch
from engrave.setting.rim.rim_bands import has_rim
from engrave.setting.rim.rim_layout import along_rim, rim_size
from engrave.setting.text.fields import ShapedField, shaped_fields
from engrave.tasks import Task
from engrave.typefaces import Shelf

SHAVED_SHARE = 0.997
"""Where a line that reads both ways turns out otherwise than its words alone, sizes smaller by this are tried."""

SHAVE_ROUNDS = 20
"""Times that is tried: 6 % is more than the space between two words can be off."""

MOST_WORDS_ON_RIM = 2
"""Words for which a rim is offered: with more, a stack is nearly always larger."""

SMALLER_SHARE = 0.7
"""Share of its ratio to a short name tried for what follows it, so that the name need not stay as small as a long
message makes it: 0.7 of 0.5 is a little over a third, still one family (our eye, no source)."""

SHORT_SHARE = 0.7
"""A name less wide than this share of the widest other line is short beside it."""

MOST_WORDS_BESIDE = 16
"""Words up to which that is tried: a text of more is to be read, and its name is a heading."""

SHORT_BY = 0.97
"""Share of its size that a name may lose when what follows it is made just large enough to be read."""

READABLE_ROUNDS = 4
"""Times that is tried, each with a little more to spare, as what grows takes room from the name."""

KEPT_SHARE, GROWN_SHARE = 0.92, 1.08
"""What follows must keep this share of its size, and the name gain this much, for that to be worth it."""


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """A task's words set, and how that was decided. frame: None where nothing could be tried in it.

    composition: what was chosen for lines one over the other; None along a rim and where nothing is set.
    """

    lettering: Lettering
    frame: ReadingFrame | None = None
    composition: Composition | None = None


NOT_READ = ("order", "piece", "problems", "tool", "lid", "wood", "weighting")
"""What placing does not read of a task, or only as far as `placing_key` names it."""


def placing_key(task: Task, shelf: Shelf, cap: float | None = None) -> Hashable:
    """Return what a task's words are placed by: in one shop equal keys mean equal letterings, messages and all.

    Of the tool: whether it is a beam, the groove that single lines get, the room that it needs on the lid, and the
    thinnest line that it makes where ornaments, a frame or a drawing go by it.
    """
    tool, lines = task.tool, shelf.get(task.typefaces[0][1]).kind == "single-line"
    groove = tool.groove if lines else 0.0
    frame = frame_of(task.area, tool.machine, tool.cutter, groove, shelf.cache)
    room = frame and (frame.room.wkb, frame.solving.shape.wkb)
    read = tuple(getattr(task, f.name) for f in dataclasses.fields(task) if f.name not in NOT_READ)
    least = 0.0 if is_undressed(task) else least_line(tool)
    return (*read, task.lid.id, task.lid.title, task.wood, tool.cutter.is_beam, groove, least, room, cap)


def place(task: Task, shelf: Shelf, cap: float | None = None) -> Lettering:
    """Set a task's words as large as room and taste allow, or at just `cap` mm for pieces that belong together.

    What cannot be placed has no marks. With `cap`, alike lids with as many lines get the same pitch and baselines.
    Problems: 'does-not-fit', 'too-long', 'too-small' (holds), 'all-capitals-in-script' (look), and those of shaping.
    """
    return placement(task, shelf, cap).lettering


def placement(task: Task, shelf: Shelf, cap: float | None = None) -> Placement:
    """Set a task's words as `place` does, and return the composition chosen beside the lettering."""
    found = _placement(task, shelf, cap)
    return replace(found, lettering=_with_weights(task, found.lettering)) if task.weights else found


def _with_weights(task: Task, lettering: Lettering) -> Lettering:
    lines = tuple(replace(line, weight=task.weight(line.field) * line.cap_mm) for line in lettering.lines)
    return replace(lettering, lines=lines)


def _placement(task: Task, shelf: Shelf, cap: float | None) -> Placement:
    fields, problems = shaped_fields(task, shelf)
    empty = _empty(task, fields, problems, shelf)
    if not (fields or task.artwork) or held(problems):
        return Placement(empty)
    frame = frame_of(task.area, task.tool.machine, task.tool.cutter, empty.groove, shelf.cache)
    if frame is None:
        return Placement(_with(empty, fit_messages.no_room(task)))
    found = _dressed_up(task, shelf, frame, fields, empty, cap)
    pen = pen_wanted(task, found.lettering)
    return _dressed_up(task, shelf, frame, fields, empty, cap, pen) if pen else found


def _dressed_up(
    task: Task, shelf: Shelf, frame: ReadingFrame, fields: tuple[ShapedField, ...], empty: Lettering, cap: float | None,
    pen: float = 0.0,
) -> Placement:  # fmt: skip
    """Lay the fields as the setting dresses them, with its frame. pen: see `dressed`."""
    what = dressed(task, shelf, frame, fields, empty.kind, pen)
    if isinstance(what, Problem):
        return Placement(_with(empty, what), frame)
    empty = _with(empty, *what.problems)
    if not fields:  # a drawing that has its area to itself
        return Placement(replace(empty, marks=what.marks), frame)
    found = _by_kind(what, empty, cap)
    if not what.marks or not found.lettering.marks:
        return found
    return replace(found, lettering=replace(found.lettering, marks=(*found.lettering.marks, *what.marks)))


def _by_kind(what: Dressed, empty: Lettering, cap: float | None) -> Placement:
    task, frame, fields = what.task, what.frame, what.fields
    nothing_round = task.setting.rim_where == "around" and len(fields) == 1
    if task.setting.kind == "rim" and has_rim(frame) and not nothing_round:
        return Placement(_on_rim(what, empty, cap), frame)
    if task.setting.kind == "arch":
        laid = in_an_arch(task, frame, fields, empty, cap, what.spare)
        if laid is not None:
            return Placement(_with(laid, *fit_messages.too_small_lines(task, laid, fields)[:1]), frame)
        empty = _with(empty, fit_messages.no_arch(task))
    return _stacked(task, frame, fields, empty, cap)


def largest_cap(task: Task, shelf: Shelf) -> float:
    """Return the cap height in mm that a task's words have alone; 0 if they have no place."""
    return place(task, shelf).cap_mm


def _stacked(
    task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], empty: Lettering, cap: float | None
) -> Placement:
    long = _too_long(task, frame, fields)
    if long is not None:
        return Placement(_with(empty, long), frame)
    composed = _composed(task, frame, fields, cap)
    laid = _proved(task, frame, composed, empty) if composed is not None else None
    if laid is None:
        return Placement(_with(empty, fit_messages.does_not_fit(task, frame, worded(fields), cap)), frame)
    return Placement(_rim_offered(task, frame, fields, laid) if cap is None else laid, frame, composed)


def _empty(task: Task, fields: Sequence[ShapedField], problems: tuple[Problem, ...], shelf: Shelf) -> Lettering:
    kind = fields[0].typeface.kind if fields else shelf.get(task.typefaces[0][1]).kind
    groove = task.tool.groove if kind == "single-line" else 0.0
    return Lettering(kind, task.setting.id, (), (), groove, problems)


def _with(lettering: Lettering, *problems: Problem) -> Lettering:
    return replace(lettering, problems=(*lettering.problems, *problems))


def leasts(task: Task, fields: Sequence[ShapedField]) -> list[float]:
    """Return the least cap height of each field, in mm of its own caps; an ornament has none."""
    return [0.0 if is_ornament(v) else least_cap(task, v.field, v.typeface) for v in fields]


def _too_long(task: Task, frame: ReadingFrame, fields: Sequence[ShapedField]) -> Problem | None:
    """Refuse, before solving, words that would cover more than the room even where they are too small."""
    sized = zip(fields, leasts(task, fields), strict=True)
    return fit_messages.too_long(task, frame, fields) if fit_messages.cover_too_much(frame, sized) else None


def _composed(
    task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], cap: float | None
) -> Composition | None:
    if cap is not None:
        return _at_size(task, frame, fields, cap)
    first = _at_ratio(task, frame, fields, parted=False)
    if first is not None and not _too_small(task, first):
        return _no_larger_than_alone(task, frame, fields, _by_words(task, frame, fields, first))
    lesser = first is not None and _only_lesser_too_small(task, first)
    larger = [_with_ratio(fields, ratio) for ratio in LARGER_RATIOS] if lesser else []
    readable = _just_readable(task, frame, fields, first) if lesser and first is not None else None
    if readable is not None:
        return _no_larger_than_alone(task, frame, fields, readable)
    tries = [(of, False) for of in larger] + [(of, True) for of in (fields, *larger)]
    hopeless: list[tuple[ShapedField, ...]] = []
    for of, parted in tries:
        if first is not None and (of in hopeless or not _may_be(task, frame, of)):
            hopeless.append(of)
            continue
        again = _at_ratio(task, frame, of, parted) if of != fields or parted else None
        if again is not None and not _too_small(task, again):
            return _no_larger_than_alone(task, frame, fields, again)
        first = first or again
    return first


def _by_words(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], composed: Composition) -> Composition:
    """Return the words with a short name larger against a long message, where the message hardly loses by it."""
    many = sum(len(v.words) for v in fields) > MOST_WORDS_BESIDE
    if many or not _is_short(fields, composed) or composed.size >= greatest_cap(frame, task.setting) * (1 - 1e-6):
        return composed
    smaller, wanted = _smaller_beside(fields), max(GROWN_SHARE, KEPT_SHARE / SMALLER_SHARE) * composed.size
    if not _may_be(task, frame, smaller, wanted):
        return composed
    again = _at_ratio(task, frame, smaller, parted=False)
    if again is None or _too_small(task, again) or again.size < GROWN_SHARE * composed.size:
        return composed
    return again if again.size * SMALLER_SHARE >= KEPT_SHARE * composed.size else composed


def _is_short(fields: tuple[ShapedField, ...], composed: Composition) -> bool:
    """Tell whether the name's lines are much shorter than the widest of what follows."""
    layout = composed.search.layout
    wide = [(layout.field_of[layout.ends[n][0]], layout.widths[n]) for n in composed.chosen.lines]
    name, rest = max(w for f, w in wide if f == 0), max((w for f, w in wide if f), default=0.0)
    return fields[0].field == "name" and name < SHORT_SHARE * rest


def _smaller_beside(fields: tuple[ShapedField, ...]) -> tuple[ShapedField, ...]:
    """Return the fields, those after a name smaller against it."""
    return tuple(replace(v, ratio=v.ratio * SMALLER_SHARE) if k else v for k, v in enumerate(fields))


def _no_larger_than_alone(
    task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], composed: Composition
) -> Composition:
    """Return the words no larger than the first field would be alone: what is added never makes letters grow.

    A word alone may give up more for its place in the middle than two lines do, and less for being read. What would be too
    small to be read for that is larger against it; where that fails, nothing becomes too small.
    """
    first = _alone(fields)
    if len(first) == len(fields):
        return composed
    alone = _at_ratio(task, frame, first, parted=False)
    if alone is None or composed.size <= alone.size * (1 + 1e-6):
        return composed
    setting, border = task.setting, task.area.border
    readable = max(least / v.ratio for v, least in zip(composed.fields, leasts(task, composed.fields), strict=True))
    if readable > alone.size:
        of = _readable_at(task, composed.fields, alone.size)
        again = _at_ratio(task, frame, of, parted=False) if of is not None else None
        if again is not None and again.size > alone.size:
            again = restood(frame, again, setting, border, alone.size, alone.size)
        if again is not None and again.size <= alone.size and not _too_small(task, again):
            return again
    size = max(alone.size, min(readable, composed.size))
    return restood(frame, composed, setting, border, size, readable)


def _alone(fields: tuple[ShapedField, ...]) -> tuple[ShapedField, ...]:
    """Return the first words, with the ornaments that they have without any others."""
    words = [k for k, v in enumerate(fields) if not is_ornament(v)]
    return fields[: words[1]] if len(words) > 1 else fields


def _at_size(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], cap: float) -> Composition | None:
    """Compose at a set's size; a message that would be too small to read is larger against the name, as it is alone."""
    first = compose_at(frame, fields, task.setting, cap, task.area.border)
    if first is None and fields[0].field == "name" and len(fields) > 1:
        first = compose_at(frame, _smaller_beside(fields), task.setting, cap, task.area.border)
    if first is None or not _only_lesser_too_small(task, first):
        return first
    for of in (_readable_at(task, fields, cap), *(_with_ratio(fields, ratio) for ratio in LARGER_RATIOS)):
        again = compose_at(frame, of, task.setting, cap, task.area.border) if of is not None else None
        if again is not None and not _too_small(task, again):
            return again
    return first


def _readable_at(task: Task, fields: tuple[ShapedField, ...], size: float) -> tuple[ShapedField, ...] | None:
    """Return the fields, those after a first of `size` mm just large enough to be read; None if larger than the first."""
    ratios = [least / size for least in leasts(task, fields)]
    if max(ratios) > 1.0:
        return None
    pairs = enumerate(zip(fields, ratios, strict=True))
    return tuple(replace(v, ratio=max(v.ratio, r)) if k else v for k, (v, r) in pairs)


def _just_readable(
    task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], first: Composition
) -> Composition | None:
    """Return the words with what came out too small as much larger against the name as it lacks; None if that fails.

    Each try starts from the size that the name had in the one before; none makes it smaller than what follows it.
    """
    near = first
    for times in range(1, READABLE_ROUNDS + 1):
        of = _readable_at(task, fields, near.size * SHORT_BY**times)
        if of is None or (times == READABLE_ROUNDS and not _may_be(task, frame, of)):
            return None
        again = _at_ratio(task, frame, of, parted=False)
        if again is None or not _too_small(task, again):
            return again
        near = again
    return None


def _with_ratio(fields: tuple[ShapedField, ...], ratio: float) -> tuple[ShapedField, ...]:
    """Return the fields, those after the first at least as large as this ratio to it."""
    return tuple(replace(v, ratio=max(v.ratio, ratio)) if k and not is_ornament(v) else v for k, v in enumerate(fields))


def _at_ratio(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], parted: bool) -> Composition | None:
    """Compose fields at their ratios. parted: words that could not be read otherwise part what belongs together."""
    return compose_largest(frame, fields, task.setting, _sizes(task, frame, fields, parted), task.area.border)


def _sizes(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], parted: bool) -> Sizes:
    ceiling = greatest_cap(frame, task.setting)
    caps = [m / v.ratio for v, m in zip(fields, leasts(task, fields), strict=True) if not is_ornament(v)]
    return Sizes(ceiling, min(SEARCHED_SHARE * min(caps), ceiling), max(caps), parted)


def _may_be(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], size: float = 0.0) -> bool:
    """Tell whether fields may come out large enough to be read, and at `size` mm: asked before all is composed in vain."""
    sizes = _sizes(task, frame, fields, parted=False)
    return may_reach(frame, fields, task.setting, sizes, max(sizes.readable, size) * (1 - 1e-8))


def _too_small(task: Task, composed: Composition) -> list[ShapedField]:
    pairs = zip(composed.fields, leasts(task, composed.fields), strict=True)
    return [v for v, least in pairs if composed.size * v.ratio < least * (1 - 1e-9)]


def _only_lesser_too_small(task: Task, composed: Composition) -> bool:
    small = _too_small(task, composed)
    return bool(small) and composed.fields[0] not in small


# --- laying -----------------------------------------------------------------------------------------------------


def _proved(task: Task, frame: ReadingFrame, composed: Composition, empty: Lettering) -> Lettering | None:
    """Lay the words and hold their real outlines against the room; shave the size if a line came out wider."""
    size = composed.size
    for _ in range(SHAVE_ROUNDS):
        laid = _laid(frame, composed, size, empty)
        if is_inside(laid, frame):
            small = _too_small(task, replace(composed, size=size))
            told = [fit_messages.too_small(task, frame, v, size * v.ratio, composed) for v in small[:1]]
            return _with(laid, *told, *(fit_messages.broken_further(v.field, laid) for v in _broken_further(composed)))
        if not any(v.mixed for v in composed.fields):
            return None
        size *= SHAVED_SHARE
    return None


def _broken_further(composed: Composition) -> list[ShapedField]:
    """Return the fields in which a line ends inside what the buyer typed in one."""
    layout = composed.search.layout
    ends = [layout.ends[n][1] - 1 for n in composed.chosen.lines]
    within = {layout.field_of[u] for u in ends if layout.units[u].grip == HELD_BY_BUYER}
    return [v for k, v in enumerate(composed.fields) if k in within]


def _laid(frame: ReadingFrame, composed: Composition, size: float, empty: Lettering) -> Lettering:
    lines, marks = settled(lines_of(frame, composed, size))
    return replace(empty, lines=lines, marks=marks)


# --- the rim ----------------------------------------------------------------------------------------------------


def _on_rim(what: Dressed, empty: Lettering, cap: float | None) -> Lettering:
    task, fields = what.task, what.fields
    laid = along_rim(task, what.frame, fields, empty, cap, what.spare)
    if laid is None:
        return _with(empty, fit_messages.no_rim(task, fields, cap))
    return _with(laid, *fit_messages.too_small_lines(task, laid, fields)[:1])


def _rim_offered(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], laid: Lettering) -> Lettering:
    """Note it where one or two words would come out more than the setting's gain larger along the rim."""
    plain = task.setting.kind in ("stack", "rim") and task.setting.frame == "none"
    several = len(fields) > 1 or len(fields[0].words) > MOST_WORDS_ON_RIM
    if several or not plain or frame.kind != "round" or not laid.marks:
        return laid
    size = rim_size(task, frame, fields, laid.cap_mm * (1 + task.setting.rim_gain))
    return laid if size is None else _with(laid, fit_messages.rim_larger(size, laid.cap_mm))
