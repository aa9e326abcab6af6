"""Words placed on a lid: lines broken and sized by the solver, composed by the setting's numbers, proved to be inside.

The words are read with the area's front towards one: the room is turned so, y up, everything is solved there, and one
map takes the result back to the area's frame (mm, y down).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import affinity, unary_union
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Matrix, compose, flatten, transformed
from engrave.geometry.regions import centre_lines, region
from engrave.problems import Problem
from engrave.setting.layout import Field, Stack
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.shapes import Unit, unit
from engrave.setting.solver import Fit, Search
from engrave.setting.spaces import space
from engrave.shop import room
from engrave.shop.models import Area, Setting
from engrave.tasks import Task
from engrave.typefaces import Run, Shelf, Typeface

CHORD_CAPS = 0.002
"""Cap heights that chords may stand off a letter's curve while it is placed: 20 micrometres on a letter of 10 mm."""

INSIDE = 0.002
"""mm: the words are solved in a room smaller by this, so that what just touches is surely inside."""

SHAVE = 0.995
"""Where the line as shaped whole turns out wider than its words were, sizes smaller by this are tried."""

SHAVES = 12
"""Times that is tried; 6 % is more than any space's kerning can be off."""

RIM_SAYS = "This setting lays words along the rim, which cannot be done yet: they are set in lines. Check that it suits."
"""Said of every lid whose setting is a rim."""

MOST_LETTERS = 600
"""Letters above which no lid is tried: at the least readable size they would not go on the largest."""

READ_FROM: dict[str, Matrix] = {
    "bottom": (1.0, 0.0, 0.0, -1.0, 0.0, 0.0),
    "top": (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 1.0, 0.0, 0.0, 0.0),
    "right": (0.0, -1.0, -1.0, 0.0, 0.0, 0.0),
}
"""The area's frame (y down) as its reader sees it (y up), by where the words have their feet; each its own inverse."""

TITLES = frozenset(
    ["mr", "mrs", "ms", "miss", "dr", "prof", "rev", "st", "sir", "dame", "lady", "lord", "herr", "frau", "hr", "fr", "m", "mme", "mlle", "sr", "sra", "srta", "don", "doña", "sig", "dhr", "mevr"]
)
"""Titles and forms of address after which no line ends (common practice in English, German and Romance typesetting)."""


@dataclass(frozen=True, slots=True)
class _Voice:
    """One field, ready to be set: its words as units, and how to shape any run of them as a line."""

    field: str
    ratio: float
    pitch: float
    tracking: float
    typeface: Typeface
    words: tuple[str, ...]
    units: tuple[Unit, ...]


def place(task: Task, shelf: Shelf, cap: float | None = None) -> Lettering:
    """Set a task's words as large as room and taste allow, or at `cap` mm; what cannot be placed has no marks.

    On alike lids the same cap gives the same pitch and the same ratios. Problems: 'does-not-fit', 'too-small',
    'all-capitals-in-script', and what shaping found.
    """
    voices, problems = _voices(task, shelf)
    if task.setting.kind == "rim" and voices:
        problems += (Problem("rim-not-set", "look", RIM_SAYS),)
    kind = shelf.get(task.typefaces[0][1]).kind if task.typefaces else "outline"
    groove = task.tool.groove if kind == "single-line" else 0.0
    empty = Lettering(kind, task.setting.id, (), (), groove, problems)
    if any(p.level == "hold" for p in problems) or not voices:
        return empty
    to_reader = READ_FROM[task.area.front]
    shape = affinity.affine_transform(room(task.area, task.tool.machine, task.tool.cutter), _shapely(to_reader))
    shape = shape.buffer(-groove / 2 - INSIDE, join_style="mitre")
    letters = sum(len(w) for v in voices for w in v.words)
    if shape.is_empty or letters > MOST_LETTERS:
        return _with(empty, _does_not_fit(task, voices, None))
    fit = _fit(task, voices, shape, cap)
    if fit is None:
        return _with(empty, _does_not_fit(task, voices, cap))
    return _proved(task, voices, fit, shape, empty)


def _with(lettering: Lettering, problem: Problem) -> Lettering:
    return Lettering(
        lettering.kind, lettering.setting, lettering.marks, lettering.lines, lettering.groove,
        (*lettering.problems, problem),
    )  # fmt: skip


def _shapely(m: Matrix) -> list[float]:
    a, b, c, d, e, f = m
    return [a, c, b, d, e, f]


# --- words ------------------------------------------------------------------------------------------------------


def _voices(task: Task, shelf: Shelf) -> tuple[list[_Voice], tuple[Problem, ...]]:
    """Make every filled field ready; the first has ratio 1."""
    ratios = {"name": 1.0, "message": task.setting.message_ratio, "foot": task.setting.foot_ratio}
    filled = task.words.filled()
    if not filled:
        return [], ()
    base = ratios[filled[0][0]]
    voices: list[_Voice] = []
    problems: list[Problem] = []
    for field, words in filled:
        typeface = shelf.get(task.typeface(field))
        capitals = _all_capitals(words)
        tracking = task.setting.tracking_capitals if capitals and not typeface.joined else 0.0
        if capitals and not typeface.bears_capitals:
            problems.append(
                Problem(
                    "all-capitals-in-script",
                    "look",
                    f"The {field} is all in capitals, which {typeface.title} does not bear well; nothing was changed. "
                    "Ask the buyer, or take another typeface.",
                    where=f"{field}: {words}",
                )
            )
        units = _units(words, typeface, tracking)
        for line in words.split("\n"):
            problems += typeface.shape(" ".join(line.split(" ")), tracking).problems
        if units:
            pitch = _pitch(words, task.setting)
            texts = tuple(u.text for u in units)
            voices.append(_Voice(field, ratios[field] / base, pitch, tracking, typeface, texts, units))
    return voices, tuple(dict.fromkeys(problems))


def _all_capitals(words: str) -> bool:
    cased = [c for c in words if c.isalpha() and c.lower() != c.upper()]
    return len(cased) > 3 and all(c.isupper() for c in cased)


def _pitch(words: str, setting: Setting) -> float:
    """Return the line pitch in cap heights by what the words hold (ISO 3098-1: b3, b2, b1)."""
    if any(c.isupper() and unicodedata.decomposition(c) for c in words):
        return setting.pitch_accents
    return setting.pitch_capitals if _all_capitals(words) else setting.pitch_mixed


def _units(words: str, typeface: Typeface, tracking: float) -> tuple[Unit, ...]:
    """Return the words as units of one strip, each where it would stand in an unbroken line."""
    gap = typeface.shape("n n").advance - 2 * typeface.shape("n").advance + tracking
    units: list[Unit] = []
    at = 0.0
    for paragraph in words.split("\n"):
        texts = _kept_together([w for w in paragraph.split(" ") if w])
        for i, text in enumerate(texts):
            run = typeface.shape(text, tracking)
            outlines = [points + (at, 0.0) for points in _outlines(run)]
            at += run.advance + gap
            if outlines:
                price = 0.05 if text.endswith("&") else 0.0
                units.append(unit(text, outlines, price=price, closes=i == len(texts) - 1))
    return tuple(units)


def _kept_together(words: list[str]) -> list[str]:
    """Join words that no line may part: a title or initial and its name, a number and its unit, a day and its month."""
    out: list[str] = []
    for word in words:
        before = out[-1].split(" ")[-1] if out else ""
        if before and _holds(before, word):
            out[-1] += f" {word}"
        else:
            out.append(word)
    return out


def _holds(before: str, word: str) -> bool:
    bare = before.rstrip(".").casefold()
    initial = re.fullmatch(r"\w\.", before) is not None
    number = re.fullmatch(r"[\d.,/]+\.?", before) is not None and re.match(r"[^\W\d]", word) is not None
    return bare in TITLES or initial or number


def _outlines(run: Run) -> list[np.ndarray]:
    return [
        flatten(c, CHORD_CAPS)
        for p in run.placed
        for c in transformed(p.glyph.path, (p.scale, 0.0, 0.0, p.scale, p.x, p.y))
    ]


# --- size -------------------------------------------------------------------------------------------------------


def _stack(task: Task, voices: Sequence[_Voice]) -> Stack:
    fields = tuple(Field(v.ratio, v.units) for v in voices)
    return Stack(fields, voices[0].pitch, task.setting.field_gap, tuple(v.pitch for v in voices))


def _fit(task: Task, voices: Sequence[_Voice], shape: BaseGeometry, cap: float | None) -> Fit | None:
    prepared = space(shape)
    stack = _stack(task, voices)
    best: Fit | None = None
    for axis in _axes(shape):
        search = Search(prepared, stack, axis, tidy=True)
        if cap is not None:
            found = search.break_at(cap) if search.layout.complete else None
            fit = search.fit(found, cap) if found is not None else None
        else:
            fit = search.largest(greatest_cap(task.area, task.setting))
        if fit is not None and (best is None or fit.cap > 1.02 * best.cap):
            best = fit
    return best


def _axes(shape: BaseGeometry) -> list[float]:
    """Return the axes worth trying: the mirror axis alone, or where the room has none, several across it."""
    low, _, high, _ = shape.bounds
    middle = (low + high) / 2
    mirrored = affinity.scale(shape, -1.0, 1.0, origin=(middle, 0.0))
    if shape.symmetric_difference(mirrored).area <= 0.002 * shape.area:
        return [middle]
    centroid = float(shape.centroid.x)
    return [middle, centroid, *np.linspace(low + 0.3 * (high - low), high - 0.3 * (high - low), 5)]


def greatest_cap(area: Area, setting: Setting) -> float:
    """Return the greatest cap height in mm that taste allows on an area, by its kind."""
    wide, high = (area.width, area.height) if area.front in ("bottom", "top") else (area.height, area.width)
    lesser = min(wide, high)
    if max(wide, high) >= 3 * lesser:
        return setting.greatest_long * lesser
    round_lid = region(area.outline).area < 0.9 * area.width * area.height
    return (setting.greatest_round if round_lid else setting.greatest_rectangle) * lesser


def _proved(task: Task, voices: Sequence[_Voice], fit: Fit, shape: BaseGeometry, empty: Lettering) -> Lettering:
    """Lay the lines as shaped whole, and shave the size until the real geometry is inside the room."""
    grown = shape.buffer(INSIDE / 2)
    size = fit.cap
    for _ in range(SHAVES):
        laid = _laid(task, voices, fit, size, empty)
        if _is_inside(laid, task.area, grown):
            return _judged(task, laid)
        size *= SHAVE
    return _with(empty, _does_not_fit(task, voices, None))


def _is_inside(laid: Lettering, area: Area, shape: BaseGeometry) -> bool:
    to_reader = READ_FROM[area.front]
    paths = [transformed(m.path(), to_reader) for m in laid.marks]
    ink = [centre_lines(p) if laid.kind == "single-line" else region(p) for p in paths if p]
    return bool(shape.contains(unary_union(ink))) if ink else True


def _laid(task: Task, voices: Sequence[_Voice], fit: Fit, size: float, empty: Lettering) -> Lettering:
    back = READ_FROM[task.area.front]
    every = [(v, text) for v in voices for text in v.words]
    middle = (fit.baselines[0] + fit.baselines[-1]) / 2
    marks: list[Mark] = []
    lines: list[Line] = []
    for k, (i, j) in enumerate(fit.lines):
        voice = every[i][0]
        text = " ".join(words for _, words in every[i:j])
        run = voice.typeface.shape(text, voice.tracking)
        cap = size * voice.ratio
        y = middle + (fit.baselines[k] - middle) * size / fit.cap
        x = _start(task, run, cap, fit, size)
        for p in run.placed:
            inner = (p.scale, 0.0, 0.0, p.scale, p.x, p.y)
            marks.append(Mark(p.glyph, compose(back, compose((cap, 0, 0, cap, x, y), inner)), p.text, k))
        lines.append(Line(text, voice.field, cap, cap * voice.typeface.x_height, -y))
    return Lettering(empty.kind, empty.setting, tuple(marks), tuple(lines), empty.groove, empty.problems)


def _start(task: Task, run: Run, cap: float, fit: Fit, size: float) -> float:
    """Return where a line's run begins so that its ink is centred on the axis."""
    xs = np.concatenate([o[:, 0] for o in _outlines(run)])
    return fit.x - cap * (float(xs.min()) + float(xs.max())) / 2


# --- problems ---------------------------------------------------------------------------------------------------


def least_cap(task: Task, field: str) -> float:
    """Return the least cap height in mm of a field, by tool and wood."""
    coarse = task.wood.pores == "ring" or (task.wood.softwood and task.tool.cutter.is_beam)
    s = task.setting
    if task.tool.cutter.is_beam:
        least = s.least_beam_coarse if coarse else s.least_beam_fine
    else:
        least = s.least_bit_coarse if coarse else s.least_bit_fine
    return least if field == "name" else least * s.message_least


def _judged(task: Task, laid: Lettering) -> Lettering:
    """Add a hold for the line that is too small to be read or cut."""
    for line in laid.lines:
        least = max(least_cap(task, line.field), task.setting.least_x_height * line.cap_mm / line.x_mm)
        if line.cap_mm < least - 1e-6:
            says = (
                f"The {line.field} would be {line.cap_mm:.1f} mm high ('{line.text}'); in {task.wood.title.lower()} with "
                f"this {'beam' if task.tool.cutter.is_beam else 'bit'} it should be at least {least:.1f} mm. Fewer words, "
                "a narrower typeface or a larger lid would help."
            )
            return _with(laid, Problem("too-small", "hold", says, line.text, round(line.cap_mm, 3), round(least, 3)))
    return laid


def _does_not_fit(task: Task, voices: Sequence[_Voice], cap: float | None) -> Problem:
    at = f" at {cap:.1f} mm" if cap is not None else ""
    words = " / ".join(" ".join(v.words) for v in voices)
    shown = words if len(words) <= 60 else words[:59] + "…"
    says = (
        f"The words do not fit on {task.lid.title}{at} at any size that can be read: '{shown}'. "
        "Fewer words, a narrower typeface or a larger lid would help."
    )
    return Problem("does-not-fit", "hold", says, where=task.lid.id)
