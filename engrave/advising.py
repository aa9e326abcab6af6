"""Remedies: change what was ordered in one column, make the piece again, and offer only what really helps.

A remedy clears the problem it is for and adds none; that is not judged but tried. They are tried in the order of how
little they change for the buyer: another bit is the shop's own business, another typeface is seen, a left-out message
is missed. Trying stops at three that work, or when the shop's patience (`TRIES`) is used up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from engrave.intake.order import Order
from engrave.making import Env, How, Piece, finished, make, make_any, set_and_checked
from engrave.problems import Problem
from engrave.setting import Lettering
from engrave.shop.models import Cutter, Lid
from engrave.tasks import Task, define_all
from engrave.timing import Job, time_only
from engrave.timing.faster import WORTH

MOST_SHOWN = 3
"""Remedies shown at most: more than three is a list to study, not an answer."""

TRIES = 7
"""Pieces made at most in search of remedies: about a third of a second, on a piece that a person looks at anyway."""

USUAL_WORDS = 16
"""Words up to which a piece is made in some hundredths of a second."""

LEAST_TRIES = 2
"""Pieces made even for a poem."""

TOO_SMALL = frozenset({"too-small", "does-not-fit", "too-long"})
"""Problems of room: only a wider setting, a narrower typeface, fewer words or a larger lid can help."""

CANNOT_CUT = frozenset(
    {"stroke-too-thin", "short-join-narrow", "web-too-thin", "loop-fills", "burnt-wider", "finer-than-rows",
     "groove-heavy", "groove-light", "web-under-depth"}
)  # fmt: skip
"""Problems of the cutter with these letters in this wood."""

NO_ROOM_BETWEEN = frozenset({"web-too-thin", "loop-fills", "web-under-depth"})
"""Problems of the wood that stands: between two letters, more space between letters helps."""

SPACINGS = 3
"""Spacings tried: the first by what is missing, the next by what is still missing when wider words came out smaller."""

HAIR_WIDER = 1.05
"""More than what is missing, since wider words are set a little smaller."""

SPACING_STEP = 0.005
"""Cap heights to which a spacing is rounded up: 0.05 mm on capitals of 10 mm, and '3.5 %' is easily typed again."""

LOOSEST = 0.15
"""Cap heights of extra space beyond which words fall apart into letters: a third of the space between two words."""

NO_TOOL = frozenset({"no-recipe", "outline-needs-area"})
"""Problems of pairing: this cutter is not used so, or not in this wood."""

HELPABLE = TOO_SMALL | CANNOT_CUT | NO_TOOL


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change that was tried and works: column of the orders table to its new value, said in a sentence.

    piece: the piece as it comes out with the change made.
    """

    change: tuple[tuple[str, str], ...]
    says: str
    piece: Piece


@dataclass(frozen=True, slots=True)
class _Candidate:
    column: str
    value: str
    says: str


def remedies(piece: Piece, env: Env, cap: float | None = None) -> tuple[Remedy, ...]:
    """Return at most three changes that clear the piece's problems, each made and checked, best first."""
    targets = {p.code for p in piece.problems if p.code in HELPABLE and p.level != "note"}
    if not targets:
        return ()
    found: list[Remedy] = []
    for tried, candidate in enumerate(_candidates(piece, env, targets, cap)):
        if tried >= _patience(piece) or len(found) >= MOST_SHOWN:
            break
        changed = replaced(piece.order, candidate.column, candidate.value)
        trial = remake(changed, piece, env, cap, set_and_checked)
        if trial is not None and clears(piece, trial, targets):
            change = ((candidate.column, candidate.value),)
            found.append(Remedy(change, _with_size(candidate.says, trial), finished(trial, env)))
    return tuple(found)


LEAST_SAVED = 60.0
"""Seconds that another kind of typeface must save: the look of the lid changes, and for less nobody asks the buyer."""


LINES_TRIED = 3
"""Single-line typefaces tried, most alike first: a note is worth no more time than that."""


def faster_typeface(piece: Piece, env: Env, cap: float | None = None) -> Problem | None:
    """Return a note if single lines instead of letters with a body save clearly more than a tenth of the time.

    Made and checked with the same cutter; a typeface that brings a problem the piece has not is not offered.
    """
    if piece.job is None or piece.lettering is None or piece.task is None or piece.lettering.kind != "outline":
        return None
    if not piece.is_made or piece.job.seconds <= LEAST_SAVED:
        return None
    known, joined = {p.code for p in piece.problems}, env.shelf.get(piece.task.typefaces[0][1]).joined
    lines = [i for i, kind in env.shelf.kinds().items() if kind == "single-line"]
    for ident in sorted(lines, key=lambda i: (env.shelf.get(i).joined != joined, i))[:LINES_TRIED]:
        trial = remake(replaced(piece.order, "typeface", ident), piece, env, cap, set_and_checked)
        if trial is None or trial.task is None or trial.lettering is None or not trial.is_made:
            continue
        if {p.code for p in trial.problems if p.level != "note"} <= known:
            return _single_line(
                env.shelf.get(ident).title, ident, piece.job, time_only(trial.lettering, trial.task.tool)
            )
    return None


def _single_line(title: str, ident: str, now: Job, then: Job) -> Problem | None:
    if then.seconds > (1.0 - WORTH) * now.seconds or now.seconds - then.seconds < LEAST_SAVED:
        return None
    says = (
        f"Single lines ({title}, {ident}) instead of letters with a body would be faster, if the buyer likes them: "
        f"{then.seconds:.0f} s instead of {now.seconds:.0f} s ({100.0 * (1.0 - then.seconds / now.seconds):.0f} % less)."
    )
    return Problem("single-line", "note", says, value=round(then.seconds, 1), limit=round(now.seconds, 1))


def _patience(piece: Piece) -> int:
    """Return how many pieces are made in search of remedies: fewer for long texts, each of which takes seconds."""
    words = sum(len(text.split()) for _, text in piece.order.words.filled())
    return max(LEAST_TRIES, TRIES * USUAL_WORDS // max(USUAL_WORDS, words))


def clears(before: Piece, after: Piece, targets: set[str]) -> bool:
    """Tell whether `after` is made, has none of the target problems, and none that `before` had not."""
    serious = {p.code for p in after.problems if p.level != "note"}
    known = {p.code for p in before.problems if p.level != "note"}
    return after.is_made and not serious & targets and serious <= known


def replaced(order: Order, column: str, value: str) -> Order:
    """Return the order with one column of its row changed."""
    if column in ("name", "message", "foot"):
        return replace(order, words=replace(order.words, **{column: value}))
    return replace(order, **{column: value})  # type: ignore[arg-type]  # the other columns hold text


def remake(order: Order, piece: Piece, env: Env, cap: float | None = None, how: How = make) -> Piece | None:
    """Make the changed order's piece again: that of the same area, or its first. None if it has none."""
    tasks = define_all([order], env.shop, env.shelf.kinds())
    area = piece.task.area.name if piece.task else None
    same = [t for t in tasks if isinstance(t, Task) and t.area.name == area] or [
        t for t in tasks if isinstance(t, Task)
    ]
    return make_any(replace(same[0], piece=piece.piece), env, cap, how) if same else None


def _with_size(says: str, again: Piece) -> str:
    if again.lettering is None:
        return says
    return f"{says}: comes out with capitals {again.lettering.cap_mm:.1f} mm high"


def _candidates(piece: Piece, env: Env, targets: set[str], cap: float | None) -> Iterator[_Candidate]:
    """Yield changes worth trying, those that change least for the buyer first."""
    if targets & NO_ROOM_BETWEEN:
        yield from _wider_spacing(piece, env, cap)
    if targets & (CANNOT_CUT | NO_TOOL):
        yield from _other_cutters(piece, env)
    if targets & TOO_SMALL:
        yield from _other_settings(piece, env)
    yield from _other_typefaces(piece, env)
    if targets & TOO_SMALL:
        yield from _fewer_words(piece)
        yield from _larger_lids(piece, env)
    if targets & CANNOT_CUT and piece.order.matching:
        yield _Candidate("matching", "", "Set it at its own size, apart from its matching pieces")
    if targets & CANNOT_CUT:
        yield from _fewer_words(piece)


def _wider_spacing(piece: Piece, env: Env, cap: float | None) -> Iterator[_Candidate]:
    """Yield the least extra space between letters that leaves enough wood between them, if nothing else is wrong.

    Never for joined typefaces, whose letters must touch, nor for what is thin inside a letter.
    """
    task = piece.task
    if task is None or any(env.shelf.get(typeface).joined for _, typeface in task.typefaces):
        return
    share, trial = task.tracking, piece
    for _ in range(SPACINGS):
        lacks = _lacking_between(trial)
        if lacks is None:
            return
        share = math.ceil((share + HAIR_WIDER * lacks) / SPACING_STEP - 1e-9) * SPACING_STEP
        if share > LOOSEST:
            return
        value = f"{100 * share:g} %"
        again = remake(replaced(piece.order, "spacing", value), piece, env, cap, set_and_checked)
        if again is None or again.lettering is None:
            return
        if not {p.code for p in again.problems if p.level != "note"} & NO_ROOM_BETWEEN:
            yield _Candidate("spacing", value, _wider_says(value, share - task.tracking, again.lettering))
            return
        trial = again


def _wider_says(value: str, more: float, lettering: Lettering) -> str:
    """Say how much wider: in mm on the largest line, as it is lines of several sizes that are spaced by one share."""
    caps = {round(line.cap_mm, 3) for line in lettering.lines}
    return f"Space the letters {'up to ' if len(caps) > 1 else ''}{more * max(caps):.2f} mm wider (spacing {value})"


def _lacking_between(piece: Piece) -> float | None:
    """Return how much wood lacks between letters, in cap heights of the smallest line; None if it lacks inside one."""
    lacking = [p for p in piece.problems if p.code in NO_ROOM_BETWEEN and p.level != "note"]
    if piece.lettering is None or not lacking or not all(p.where.startswith("between") for p in lacking):
        return None
    smallest = min((line.cap_mm for line in piece.lettering.lines if line.cap_mm > 0.0), default=0.0)
    missing = [p.limit - p.value for p in lacking if isinstance(p.limit, float) and isinstance(p.value, float)]
    return max(missing) / smallest if missing and smallest > 0.0 else None


def _other_cutters(piece: Piece, env: Env) -> Iterator[_Candidate]:
    wood = piece.task.wood.id if piece.task else piece.order.wood or env.shop.defaults.wood
    now = piece.task.tool.cutter if piece.task else env.shop.cutters.get(piece.order.cutter)
    with_recipe = {r.cutter for r in env.shop.recipes if r.wood == wood}
    others = [c for c in env.shop.cutters.values() if c.id in with_recipe and (now is None or c.id != now.id)]
    for cutter in sorted(others, key=lambda c: _distance(c, now)):
        yield _Candidate("cutter", cutter.id, f"Cut it with the {_lower_first(cutter.title)} ({cutter.id})")


def _distance(cutter: Cutter, now: Cutter | None) -> tuple[bool, bool, float, str]:
    """Rank cutters: same machine, same kind, then the next finer one before the much finer."""
    if now is None:
        return (False, False, 0.0, cutter.id)
    return (cutter.machine != now.machine, cutter.kind != now.kind, abs(_fineness(cutter) - _fineness(now)), cutter.id)


def _fineness(cutter: Cutter) -> float:
    return cutter.tip or cutter.kerf_x or cutter.diameter or 0.0


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def _other_settings(piece: Piece, env: Env) -> Iterator[_Candidate]:
    now = piece.task.setting if piece.task else None
    for setting in env.shop.settings.values():
        if now is not None and setting.id != now.id and setting.kind != now.kind:
            yield _Candidate("setting", setting.id, f"Set it as '{setting.title}' ({setting.id})")


def _other_typefaces(piece: Piece, env: Env) -> Iterator[_Candidate]:
    if piece.task is None or not piece.task.typefaces:
        return
    now = env.shelf.get(piece.task.typefaces[0][1])
    same_kind = [i for i in env.shelf.ids if i != now.id and env.shelf.kinds()[i] == now.kind]
    for other in sorted(same_kind, key=lambda i: (env.shelf.get(i).joined != now.joined, i))[: TRIES // 2]:
        yield _Candidate("typeface", other, f"Set it in {env.shelf.get(other).title} ({other})")


def _fewer_words(piece: Piece) -> Iterator[_Candidate]:
    filled = [f for f, _ in piece.order.words.filled()]
    for field in ("foot", "message"):
        if field in filled and len(filled) > 1:
            yield _Candidate(field, "", f"Leave out the {field}, or agree on a shorter one")


def _larger_lids(piece: Piece, env: Env) -> Iterator[_Candidate]:
    if piece.task is None:
        return
    now = piece.task.lid
    larger = sorted((lid for lid in env.shop.lids.values() if _surface(lid) > _surface(now)), key=_surface)
    for lid in larger[:4]:
        yield _Candidate("lid", lid.id, f"Offer the {_lower_first(lid.title)} ({lid.id}) instead")


def _surface(lid: Lid) -> float:
    return lid.areas[0].width * lid.areas[0].height
