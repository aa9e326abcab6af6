"""One piece through all stages. This page is the whole job.

The order is the order of a shop: nothing is checked before it is set, nothing ordered to be cut before it is
known to be cuttable, nothing priced before its minutes are known. A hold stops what would follow from it, and keeps every figure
that was found before it.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from engrave.cache import Cache, CacheKind
from engrave.cutting import Fitness, KeptMeasures, check
from engrave.cutting.growth import growth_needed
from engrave.cutting.letter_room import SPACINGS_TRIED, lacks_room, wider_spacing
from engrave.intake.order import Order
from engrave.pricing import Quote, quote
from engrave.problems import Problem, Verdict, held, verdict
from engrave.setting import Lettering, frame_of, is_inside, least_cap, place, placing_key
from engrave.shop import Shop, load_shop
from engrave.shop.artwork import Drawings
from engrave.tasks import Plain, Refused, Task, check_typefaces, define_all
from engrave.timing import Estimate, estimate_time
from engrave.toolpath import Toolpath, toolpath_of
from engrave.typefaces import Shelf, TypefaceError, load_shelf


@dataclass(frozen=True, slots=True)
class Env:
    """What every piece is made with: the shop's tables, typefaces and drawings, measures of glyphs, and what else was worked out.

    folder: where the shop's own tables and typefaces were read, if it has any.
    """

    shop: Shop
    shelf: Shelf
    measures: KeptMeasures
    cache: Cache
    folder: Path | None = None
    drawings: Drawings = field(default_factory=Drawings)


@dataclass(frozen=True, slots=True)
class Piece:
    """One lid to be lettered, as far as it came. `plain`: ordered without words. None: the stage was not reached.

    laid: that the words had a place, of a piece that is only remembered: its geometry is no longer at hand.
    """

    order: Order
    piece: int
    task: Task | None = None
    lettering: Lettering | None = None
    fitness: Fitness | None = None
    toolpath: Toolpath | None = None
    estimate: Estimate | None = None
    quote: Quote | None = None
    problems: tuple[Problem, ...] = ()
    plain: bool = False
    laid: bool = False

    @property
    def verdict(self) -> Verdict:
        """Ready, look or hold: the highest level among the problems."""
        return verdict(self.problems)

    @property
    def is_made(self) -> bool:
        """Whether there is lettering to be cut and nothing holds it back."""
        return self.is_laid and not held(self.problems)

    @property
    def may_be_cut(self) -> bool:
        """Whether it may be cut as it stands: made, and nothing left that a person or the buyer has yet to answer."""
        return self.is_made and self.verdict == "ready"

    @property
    def is_laid(self) -> bool:
        """Whether the words have a place."""
        return self.laid or (self.lettering is not None and bool(self.lettering.marks))

    @property
    def serious(self) -> frozenset[str]:
        """Codes of what a person must look at, or what holds the piece."""
        return frozenset(p.code for p in self.problems if p.level != "note")


def environment(shop_folder: Path | None = None) -> Env:
    """Read tables and typefaces, the shop's own over ours. Raises `engrave.shop.ShopError` with every mistake found."""
    shop, shelf = load_shop(shop_folder), load_shelf(shop_folder)
    check_typefaces(shop, shelf.kinds(), shelf.refused)
    drawings = Drawings(shop_folder, shelf.cache)
    return Env(shop, shelf, KeptMeasures(cache=shelf.cache), shelf.cache, shop_folder, drawings)


def tasks_of(orders: Sequence[Order], env: Env, *, of_table: bool = False) -> Sequence[Task | Plain | Refused]:
    """Return what every row becomes, in row order, by what the environment holds; of_table: see `tasks.define_all`."""
    return define_all(orders, env.shop, env.shelf.kinds(), env.shelf.refused, env.drawings, of_table=of_table)


PLACED: CacheKind[Lettering] = CacheKind("letterings", 256)
"""Words as placed: another cutter that needs no other room, or a lid ordered again, has them where they stood."""

CALM_STEPS = 3
"""Steps from the setting's calm size to the largest that fits: 5 % each, as much as an eye tells apart."""


def make(task: Task, env: Env, cap: float | None = None) -> Piece:
    """Take one task through setting, cutting check, toolpath, clock and price; `cap` (mm) sets it at a group's size."""
    return finished(set_and_checked(task, env, cap), env)


def finished(piece: Piece, env: Env) -> Piece:
    """Find the toolpath, time and price of a piece that is set and checked; one without lettering stays as it is."""
    return quoted(timed(with_toolpath(piece, env)), env)


def with_toolpath(piece: Piece, env: Env) -> Piece:
    """Find what is cut and in which order: all that is written to the file, drawn in the proof and named by its code."""
    if piece.task is None or piece.lettering is None or piece.fitness is None:
        return piece
    return replace(piece, toolpath=toolpath_of(piece.lettering, piece.task.tool, env.cache))


def timed(piece: Piece) -> Piece:
    """Say how long the toolpath takes. Nothing that is cut depends on it."""
    if piece.task is None or piece.lettering is None or piece.toolpath is None:
        return piece
    return replace(piece, estimate=estimate_time(piece.toolpath, piece.task.tool))


def quoted(piece: Piece, env: Env) -> Piece:
    """Price a piece whose minutes are known."""
    if piece.task is None or piece.lettering is None or piece.estimate is None:
        return piece
    return replace(piece, quote=quote(piece.task, piece.lettering, piece.estimate, env.shop.rates))


def set_and_checked(task: Task, env: Env, cap: float | None = None) -> Piece:
    """Take one task as far as its problems are known: set and checked, not yet timed or priced.

    Single lines get their weight, as far as room and wood bear it.
    """
    return with_weight(task, env, lambda one: _opened(one, env, cap), cap)


def _opened(task: Task, env: Env, cap: float | None) -> Piece:
    """Set and check a task; letters are opened up by a little where that is all that the wood between them lacks."""
    piece = _as_large_as_it_must(task, env, cap)
    if task.order.spacing or not may_space(task, env):
        return piece
    found = with_room(
        piece, task.tracking, task.setting.open_up, lambda share: _as_spaced(replace(task, tracking=share), env, cap)
    )
    better = found is not None and found[1].serious <= piece.serious
    return _told_opening(found[1] if found is not None and better else piece)


def _as_large_as_it_must(task: Task, env: Env, cap: float | None) -> Piece:
    """Set and check a task; what is held at the setting's calm size is tried step by step up to the largest that fits.

    The largest comes first: where that is held as well, no step between would help.
    """
    piece = _as_spaced(task, env, cap)
    if cap is not None or task.setting.fill >= 1 or not piece.is_laid or not held(piece.problems):
        return piece
    if held(task.order.problems + task.problems) or not _may_grow_enough(piece):
        return piece
    if held(only_set(_filled(task, 1.0), env).problems):  # known before anything is checked
        return piece
    largest = _as_filled(task, 1.0, env)
    if not largest.is_made:
        return piece
    made = (again for step in range(1, CALM_STEPS) if (again := _as_filled(task, step / CALM_STEPS, env)).is_made)
    return next(made, largest)


MOST_GROWTH = 1.4
"""Times that words may be larger without air and middle; and as much more as the setting leaves unfilled."""


def _may_grow_enough(piece: Piece) -> bool:
    """Tell whether what is held may pass at the largest size that fits: not where a stroke or web is far too thin for it."""
    if piece.task is None or piece.lettering is None:
        return False
    holds = [p for p in piece.problems if p.level == "hold"]
    return growth_needed(holds, piece.lettering, piece.task.tool) <= MOST_GROWTH / piece.task.setting.fill


def _as_filled(task: Task, share: float, env: Env) -> Piece:
    """Set and check a task with a share of the setting's calm given up: 0 as the setting has it, 1 as large as fits."""
    return _as_spaced(_filled(task, share), env, None)


def _filled(task: Task, share: float) -> Task:
    fill = task.setting.fill
    return replace(task, setting=replace(task.setting, fill=fill + (1 - fill) * share))


def only_set(task: Task, env: Env, cap: float | None = None) -> Piece:
    """Take one task as far as its words have a place: calm, and nothing checked."""
    lettering = _placed(task, env, cap)
    problems = task.order.problems + task.problems + lettering.problems
    return Piece(task.order, task.piece, task, lettering, problems=problems)


def _as_spaced(task: Task, env: Env, cap: float | None) -> Piece:
    piece = only_set(task, env, cap)
    if piece.lettering is None or not piece.lettering.marks:
        return piece

    fitness = checked(piece.lettering, task, env)
    return replace(piece, fitness=fitness, problems=piece.problems + fitness.problems)


CHECKED: CacheKind[tuple[Any, Fitness]] = CacheKind("letterings checked", 16)
"""What was found of letterings with a tool: a cutter tried on letters as they stand is mostly offered on just these."""


def checked(lettering: Lettering, task: Task, env: Env) -> Fitness:
    """Check a lettering with a task's tool in its wood, on its lid; not again where it was just checked so."""
    how = (task.tool, task.wood, task.lid)
    return env.cache.of(CHECKED, lettering, how, lambda: check(lettering, *how, env.measures))


def _placed(task: Task, env: Env, cap: float | None) -> Lettering:
    """Return a task's words as placed, kept by all that their place depends on."""
    return env.cache.get(PLACED, placing_key(task, env.shelf, cap), lambda: place(task, env.shelf, cap))


def with_weight(task: Task, env: Env, make_as: Callable[[Task], Piece], cap: float | None = None) -> Piece:
    """Make a piece with its single lines drawn as wide as is asked; plain where none is, or where that cannot be.

    Of several shares the heaviest that room and wood bear as they bear plain lines. One that the row itself asks for is
    not given up: what is wrong with it is said.
    """
    if task.weighting is None or not task.weighting.shares:
        return make_as(task)
    plain: Piece | None = None
    narrowed: Piece | None = None
    for share in task.weighting.shares:
        weights = weights_for(task, env, share, cap)
        if not weights:
            return narrowed or _told_there(make_as(task))
        piece = make_as(task.weighed(weights))
        if piece.is_laid and task.weighting.asked and len(task.weighting.shares) == 1:
            return piece
        if piece.is_laid and _unharmed(piece):
            if not any(p.code == "weight-gives-way" for p in piece.problems):
                return piece
            narrowed = piece  # a lighter one may leave its loops as they are
            continue
        plain = plain or make_as(task)
        if piece.is_laid and piece.serious <= plain.serious:
            return piece
    plain = plain or make_as(task)
    return narrowed or (_told_given_up(plain, piece) if plain.is_laid else plain)


def _unharmed(piece: Piece) -> bool:
    """Tell whether nothing that has to do with its lines is wrong with a piece."""
    found = piece.fitness.problems if piece.fitness else ()
    laid = piece.lettering.problems if piece.lettering else ()
    return not any(p.level != "note" for p in (*found, *laid))


def weights_for(task: Task, env: Env, share: float, cap: float | None = None) -> tuple[tuple[str, float], ...]:
    """Return the weight of each field's lines in cap heights; () where the groove is as wide as that already.

    Where small lines would come out thinner than the cutter's groove they are as heavy as it makes them.
    """
    if task.weighting is None:
        return ()
    groove = task.weighting.tool.groove * OVER_GROOVE
    faces = {field: env.shelf.get(typeface) for field, typeface in task.typefaces}
    caps = {field: least_cap(task, field, face) for field, face in faces.items()}
    if any(share * height < groove for height in caps.values()):
        set_plainly = _placed(task.plainly(), env, cap)
        caps |= {line.field: line.cap_mm * SMALLER_WITH_WEIGHT for line in set_plainly.lines if line.cap_mm > 0.0}
    if share * max(caps.values()) < groove:
        return ()
    found = tuple((field, max(share, groove / height)) for field, height in caps.items())
    return found if all(weight <= max(HEAVIEST, share) for _, weight in found) else ()


OVER_GROOVE = 1.15
"""Least width of a weighted line over the groove: below it, two lines side by side are one line cut twice."""

SMALLER_WITH_WEIGHT = 0.9
"""Share of their plain size that letters have at least once their lines are wider."""

HEAVIEST = 1.0 / 6.0
"""Cap heights: heavier lines clog (DOD-HDBK-791 has a sixth for dark on light); a row may ask for a little more."""


def _told_there(piece: Piece) -> Piece:
    """Return a piece whose groove is as wide as its row asks; noted, as the row asked."""
    if piece.task is None or piece.lettering is None or not piece.task.weighting or not piece.task.weighting.asked:
        return piece
    says = (
        f"The groove of {piece.lettering.groove:.2f} mm is as wide as the lines were asked to be, or small lines would "
        "clog: they were left as the cutter makes them."
    )
    return replace(piece, problems=(*piece.problems, Problem("weight-there", "note", says)))


def _told_given_up(piece: Piece, tried: Piece) -> Piece:
    """Return a piece whose lines stay plain, with the reason why its lightest weight was given up."""
    wrong = next((p.says for p in tried.problems if p.level != "note" and p not in piece.problems), "")
    why = f"{wrong.partition('. ')[0].removesuffix('.')}." if wrong else ""
    says = f"The lines stay plain, {piece.task.tool.groove if piece.task else 0.0:.2f} mm wide: wider ones have no room. {why}"
    return replace(piece, problems=(*piece.problems, Problem("weight-given-up", "note", says.strip())))


def _with_the_weight_of(lettering: Lettering, task: Task) -> Task:
    """Return the task with the tool by which a lettering that was set before is cut: its lines plain, or with a weight."""
    weights = {
        line.field: line.weight / line.cap_mm for line in lettering.lines if line.weight > 0.0 and line.cap_mm > 0.0
    }
    return task.weighed(tuple(weights.items())) if weights else task.plainly()


def remade(task: Task, lettering: Lettering, env: Env) -> Piece:
    """Make a piece of lettering that was set before: room, cut and wood are checked anew, nothing is set otherwise."""
    return finished(rechecked(task, lettering, env), env)


def rechecked(task: Task, lettering: Lettering, env: Env) -> Piece:
    """Take lettering that was set before as far as its problems are known, not yet timed or priced."""
    task = _with_the_weight_of(lettering, task)
    start = Piece(task.order, task.piece, task, lettering, problems=task.order.problems + task.problems)
    frame = frame_of(task.area, task.tool.machine, task.tool.cutter, lettering.groove, env.cache)
    if frame is None or not is_inside(lettering, frame):
        says = (
            "The proved lettering no longer lies within the lid's room, clear of edge and fittings. Send a new proof, or "
            "bring the lid's table back to what it was."
        )
        return replace(start, problems=(*start.problems, Problem("approved-outside", "hold", says)))
    fitness = check(lettering, task.tool, task.wood, task.lid, env.measures)
    return replace(start, fitness=fitness, problems=_once(start.problems + fitness.problems))


How = Callable[[Task, Env, float | None], Piece]
"""`make`, or `set_and_checked` where only the problems are asked for."""


def make_any(what: Task | Plain | Refused, env: Env, cap: float | None = None, how: How = make) -> Piece:
    """Make whatever an order's row became; a failure inside is a hold on this piece, never the end of the week."""
    if isinstance(what, Refused):
        return Piece(what.order, what.piece, problems=_once(what.order.problems + what.problems))
    if isinstance(what, Plain):
        return Piece(what.order, what.piece, problems=what.order.problems, plain=True)
    try:
        piece = how(what, env, cap)
    except Exception as error:  # the week must go on: whatever went wrong is this piece's problem, with its place
        return Piece(what.order, what.piece, what, problems=(*what.order.problems, *what.problems, _failure(error)))
    return replace(piece, problems=_once(piece.problems))


def _failure(error: Exception) -> Problem:
    if isinstance(error, TypefaceError):
        says = f"The typeface cannot be used: {str(error).rstrip('.')}. Get its file anew, or take another typeface."
        return Problem("typeface-damaged", "hold", says)
    frame = traceback.extract_tb(error.__traceback__)[-1]
    place_in_code = f"{Path(frame.filename).stem}:{frame.lineno}"
    return Problem(
        "failed",
        "hold",
        "This piece could not be worked out. The fault is ours; please report it with this row of the orders.",
        where=place_in_code,
        value=f"{type(error).__name__}: {error}",
    )


def _once(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """Drop findings that are said twice, keeping the order in which the stages found them."""
    return tuple(dict.fromkeys(problems))


def may_space(task: Task, env: Env) -> bool:
    """Tell whether a task's letters may be spaced: never where they must touch."""
    return not any(env.shelf.get(typeface).joined for _, typeface in task.typefaces)


def with_room(
    piece: Piece, share: float, most: float, make_at: Callable[[float], Piece | None]
) -> tuple[float, Piece] | None:
    """Return the least space between letters, in cap heights, that leaves enough wood between them, and the piece so made.

    share: the space that the piece has now; make_at makes it with another, None if it cannot. None if nothing up to
    `most` helps, or if nothing lacks: wood that lacks inside a letter is not helped by space.
    """
    for _ in range(SPACINGS_TRIED):
        wider = wider_spacing(share, piece.problems, piece.lettering)
        again = make_at(wider) if wider is not None and wider <= most + 1e-9 else None
        if wider is None or again is None or not again.is_laid:
            return None
        if not lacks_room(again.problems):
            return wider, again
        share, piece = wider, again
    return None


def _told_opening(piece: Piece) -> Piece:
    """Return the piece with a note if its letters were opened up."""
    if piece.task is None or piece.lettering is None or not piece.task.tracking:
        return piece
    share = piece.task.tracking
    most = share * max((line.cap_mm for line in piece.lettering.lines), default=0.0)
    says = (
        f"The letters stand up to {most:.2f} mm further apart than the typeface has them ({100 * share:g} % of the "
        "capitals' height), for the wood between them."
    )
    return replace(piece, problems=(*piece.problems, Problem("opened-up", "note", says, value=round(share, 4))))
