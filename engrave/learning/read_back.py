"""Times taken beside the machine, put to the lids they belong to: what is really cut is read back from its file."""

from __future__ import annotations

import json
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import svgelements as sv

from engrave.files import Unreadable, whole_file
from engrave.geometry.paths import Path as Shape
from engrave.intake.order import Order, Words
from engrave.learning.fitting import learn
from engrave.learning.learned import Learned
from engrave.learning.logs import Log
from engrave.learning.memory import recalled
from engrave.learning.nonsense import Nonsense
from engrave.limits import LID_NODES, LID_SHAPES, WEEK_BYTES
from engrave.making import Env, Piece
from engrave.output.week_folder import OUR_FILES
from engrave.problems import Problem
from engrave.shop.drawing import DAMAGED, contours_of, parsed
from engrave.shop.drawing_source import source_of
from engrave.shop.shapes import OutlineError
from engrave.tasks import Tool
from engrave.tasks.choosing import book
from engrave.tasks.tooling import tool_for
from engrave.tasks.weights import side_by_side
from engrave.toolpath import course_of_file, toolpath_of
from engrave.toolpath.moves import Course
from engrave.typefaces.run import TypefaceKind

DEEPER = 0.005
"""mm: by so much a depth may differ from the recipe's before it is said; half of what a shop sets a depth to."""

FARTHEST_MM = 3000.0
"""mm: no length in a week's list is longer."""

PieceKey = tuple[str, int]
"""Order and number of a piece."""

Courses = dict[PieceKey, Course | str]
"""By order and piece: the head's way through it, or why there is none."""


class NotLearned(ValueError):
    """Logged times that nothing can be learned from; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class LidFile:
    """A lid as its file holds it. shapes: strokes, or rings with their holes, in the file's order, mm."""

    shapes: tuple[Shape, ...]
    kind: TypefaceKind
    groove: float


def read_lid(file: Path) -> LidFile:
    """Return what the group 'engrave' of a lid's file holds. Raises `NotLearned` if it holds no lettering of ours."""
    try:
        drawing = parsed(source_of(file, LID_SHAPES, LID_NODES), ppi=25.4)  # one unit is one mm
        groups = [e for e in drawing.elements() if isinstance(e, sv.Group) and e.id == "engrave"]
        paths = [e for group in groups for e in group.select() if isinstance(e, sv.Path)]
        shapes = [(path, contours_of(path)) for path in paths]
    except OutlineError as error:
        raise NotLearned(f"{file.name} {error}") from error
    except DAMAGED as error:
        raise NotLearned(f"{file.name} is no SVG that can be read: {error}") from error
    drawn = [(path, shape) for path, shape in shapes if shape]
    if not drawn:
        raise NotLearned(f"{file.name} has no group 'engrave' with lettering in it")
    first = drawn[0][0]
    lines = first.fill is None or first.fill.value is None
    width = _figure(first.stroke_width) if lines else 0.0
    return LidFile(tuple(shape for _, shape in drawn), "single-line" if lines else "outline", width)


def courses_of_week(
    folder: Path, machine_id: str, wanted: Container[tuple[str, int]], env: Env
) -> tuple[Courses, tuple[Problem, ...]]:
    """Return the courses of the wanted pieces of one machine, as their files lie in a week's folder, and notes on them.

    Raises `NotLearned` if there is no week.
    """
    found: Courses = {}
    notes: list[Problem] = []
    for told in _pieces(folder):
        key = _key(told)
        if key is not None and key in wanted:
            try:
                found[key] = _course(folder, told, machine_id, env, notes)
            except NotLearned as error:
                found[key] = str(error)
    return found, tuple(notes)


def keys_of_week(folder: Path) -> tuple[PieceKey, ...]:
    """Return the pieces that a week's folder lists. Raises `NotLearned` if there is no week."""
    return tuple(key for told in _pieces(folder) if (key := _key(told)) is not None)


def _key(told: Mapping[str, Any]) -> PieceKey | None:
    order, piece = told.get("order"), told.get("piece")
    return (order, piece) if isinstance(order, str) and isinstance(piece, int) and not isinstance(piece, bool) else None


def _pieces(folder: Path) -> Iterator[Mapping[str, Any]]:
    file = folder / "week.json"
    try:
        told = json.loads(whole_file(file, WEEK_BYTES))
        pieces = [p for p in told["pieces"] if isinstance(p, dict)]
    except Unreadable as error:
        raise NotLearned(
            f"{file} {error}. The logged pieces are looked up in a week's folder: name the one that 'engrave batch' wrote "
            "with --week, or give the orders with --orders."
        ) from error
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise NotLearned(f"{file} is no list of a week's pieces as 'engrave batch' writes it") from error
    yield from pieces


def as_listed(logs: Sequence[Log], listed: Iterable[PieceKey]) -> tuple[Log, ...]:
    """Return the logs with orders called as the week calls them: 'a-1' beside the machine is A-1 in the table.

    A name that could be two orders stays as it is written.
    """
    known = set(listed)
    alike: dict[PieceKey, set[str]] = {}
    for order, piece in known:
        alike.setdefault((_plain(order), piece), set()).add(order)
    out = []
    for log in logs:
        orders = alike.get((_plain(log.order), log.piece), set())
        exact = (log.order, log.piece) in known
        out.append(log if exact or len(orders) != 1 else replace(log, order=next(iter(orders))))
    return tuple(out)


def _plain(order: str) -> str:
    """Return an order's name as it is compared: a sheet may have made 101.0 of 101."""
    folded = "".join(order.casefold().split()).lstrip("#")
    return folded[:-2] if folded.endswith(".0") and folded[:-2].isdecimal() else folded


def _figure(value: object, otherwise: float = 0.0) -> float:
    """Return a length of a file's as a number; what can be none is as good as not given."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= FARTHEST_MM:
        return otherwise
    return float(value)


def _named(told: Mapping[str, Any]) -> str:
    return f"{told['order']} piece {told['piece']}" if told.get("piece") != 1 else str(told["order"])


def _course(folder: Path, told: Mapping[str, Any], machine_id: str, env: Env, notes: list[Problem]) -> Course:
    if told.get("machine") != machine_id:
        raise NotLearned(f"it is cut on '{told.get('machine')}'")
    if not told.get("svg"):
        raise NotLearned("it was not made, and has no file in the week's folder")
    name = str(told["svg"])
    if not OUR_FILES.match(name) or ".." in name.split("/"):
        raise NotLearned(f"week.json names '{name}', which is no lid of the folder")
    lid = read_lid(folder / name)
    tool = _tool(told, lid, env)
    depth = _figure(told.get("depth_mm")) or tool.depth
    if abs(depth - tool.depth) > DEEPER:
        says = f"{_named(told)}: cut {depth:.2f} mm deep, and estimated so; today it would be {tool.depth:.2f} mm."
        notes.append(Problem("log-depth", "note", says, value=depth, limit=tool.depth))
        groove, least = tool.cutter.groove_at(depth, tool.recipe), tool.cutter.least_width(depth, tool.recipe)
        tool = replace(tool, depth=depth, groove=groove, diameter=least)
    return course_of_file(lid.shapes, lid.kind, lid.groove or tool.groove, tool, _caps(told, len(lid.shapes)))


def _caps(told: Mapping[str, Any], shapes: int) -> tuple[float, ...]:
    """Return how many mm a cap height is in each shape of a file: a file does not say which letters are of the message.

    A list that does not tell so many has been changed, or is of an earlier program: then the smallest capitals count.
    """
    found: list[float] = []
    runs = told.get("path_caps_mm")
    for run in runs if isinstance(runs, list) else []:
        if isinstance(run, list) and len(run) == 2 and type(run[1]) is int and 0 < run[1] <= shapes:  # and no True
            found += [_figure(run[0])] * run[1]
    if len(found) == shapes and all(cap > 0.0 for cap in found):
        return tuple(found)
    lines = told.get("lines")
    caps = [_figure(line.get("cap_mm")) for line in lines if isinstance(line, dict)] if isinstance(lines, list) else []
    return (min((cap for cap in caps if cap > 0), default=_figure(told.get("cap_height_mm"))),) * shapes


def _tool(told: Mapping[str, Any], lid: LidFile, env: Env) -> Tool:
    """Return the tool with which today's tables would cut what a file holds."""
    kind, cutter, wood = (
        _entry(name, told, entries) for name, entries in
        (("lid", env.shop.lids), ("cutter", env.shop.cutters), ("wood", env.shop.woods))
    )  # fmt: skip
    area = next((a for a in kind.areas if a.name == told.get("area")), kind.areas[0])
    refused: list[Problem] = []
    order = Order(str(told["order"]), 1, 0, Words(), Words())
    shelf = book(env.shop, env.shelf.kinds())
    tool = tool_for(order, cutter, wood, lid.kind, kind, area, shelf, refused)
    if tool is not None and tool.method == "follow" and told.get("method") == "side-by-side":
        tool = side_by_side(tool, kind, shelf)
    if tool is None or tool.method != told.get("method"):
        why = (
            refused[0].says.rstrip(".") if refused else f"the cutter now works by {tool.method if tool else 'nothing'}"
        )
        raise NotLearned(why)
    return tool


def _entry(name: str, told: Mapping[str, Any], entries: Mapping[str, Any]) -> Any:
    if not isinstance(told.get(name), str) or told[name] not in entries:
        raise NotLearned(f"the shop's tables have no {name} '{told.get(name)}' any more")
    return entries[str(told[name])]


def courses_of_pieces(pieces: Sequence[Piece], machine_id: str) -> Courses:
    """Return the courses of pieces as they are made today, those of one machine."""
    return {(p.order.id, p.piece): _as_made(p, machine_id) for p in pieces}


def _as_made(piece: Piece, machine_id: str) -> Course | str:
    if not piece.is_made or piece.task is None or piece.lettering is None:
        return "it is not made"
    of = piece.task.tool.machine.id
    return (
        (piece.toolpath or toolpath_of(piece.lettering, piece.task.tool)).course
        if of == machine_id
        else f"it is cut on '{of}'"
    )


def learned_from(
    found: Courses, logs: Sequence[Log], problems: Sequence[Problem], machine_id: str, env: Env
) -> Learned:
    """Return the machine as the logs show it, with what was found on the way among its problems.

    Raises `NotLearned` if no logged time belongs to a piece of the machine.
    """
    machine = env.shop.machines[machine_id]
    courses = {key: course for key, course in found.items() if isinstance(course, Course)}
    used = [log for log in logs if (log.order, log.piece) in courses]
    every = [*problems, *(_left_out(log, found) for log in logs if (log.order, log.piece) not in courses)]
    if not used:
        told = "\n".join(p.says for p in every)
        raise NotLearned(f"No logged time belongs to a piece of the {machine.title} ({machine_id}).\n{told}".strip())
    try:
        learned = learn(courses, used, machine, recalled(env.folder, machine))
    except Nonsense as error:
        raise NotLearned("\n".join([str(error), *(p.says for p in every)])) from error
    return replace(learned, problems=(*every, *learned.problems))


def _left_out(log: Log, found: Courses) -> Problem:
    why = found.get((log.order, log.piece), "there is no such piece in the week")
    says = f"Row {log.row}: the time of {log.name} is left out: {why}."
    return Problem("log-left-out", "look", says, where=f"row {log.row}")
