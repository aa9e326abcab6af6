"""What a proof shows of a piece, as values that can be compared and put into a code."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from engrave.geometry.paths import Contour, Path, Point, Polyline, StraightLine
from engrave.making import Piece
from engrave.output.point_texts import points_told
from engrave.stored import as_plain
from engrave.tasks import Task

STEP_DECIMALS = 3
"""Decimals of mm that count in a code: a micrometre, below what any machine does and above arithmetic's last digits."""


ZEROS = (f"{0.0:.{STEP_DECIMALS}f}", f"{-0.0:.{STEP_DECIMALS}f}")

A_POINT, A_ZERO = f"%.{STEP_DECIMALS}f,%.{STEP_DECIMALS}f ", re.compile(rf"(?<!\d)-?{re.escape(ZEROS[0])}")
"""How a point is written, and what in many of them is a zero."""


@dataclass(frozen=True, slots=True)
class PieceFacts:
    """One lettered piece as the buyer sees it, and what it is cut with.

    words: by field; lines: as set. outline: digest of the area's outline, keep-outs and side. geometry: digest of every
    point of the strokes, whatever their order and direction. Depth and groove as text, in mm.
    """

    lid: str
    area: str
    outline: str
    words: tuple[tuple[str, str], ...]
    lines: tuple[tuple[str, str], ...]
    wood: str
    cutter: str
    method: str
    depth: str
    groove: str
    geometry: str


OrderFacts = tuple[PieceFacts, ...]
"""The pieces of one order, in the order's own order."""

AGREED: dict[str, str] = {
    "words": "the words", "lid": "the lid", "area": "the lid", "outline": "the lid's shape", "wood": "the wood",
    "cutter": "the cutter", "method": "the way it is cut", "depth": "the depth",
}  # fmt: skip
"""What an approval is of, beside the geometry: a change of any of these asks for a new proof."""


def facts_of(piece: Piece) -> PieceFacts | None:
    """Return what is shown of a piece; None if it has nothing that would be cut."""
    if piece.task is None or piece.lettering is None or piece.toolpath is None or not piece.is_made:
        return None
    return replace(
        asked_of(piece.task),
        lines=tuple((line.field, line.text) for line in piece.lettering.lines),
        groove=_told(piece.lettering.groove),
        geometry=_digest(_canonical(piece.toolpath.strokes)),
    )


def asked_of(task: Task) -> PieceFacts:
    """Return what is known of a piece before anything is made of it: all that `AGREED` names, and no geometry."""
    tool = task.plainly().tool  # one line or several side by side: the geometry says which
    shape = [_canonical(task.area.outline), task.area.side, *(_canonical(k.outline) for k in task.area.keep_outs)]
    return PieceFacts(
        lid=task.lid.id,
        area=task.area.name,
        outline=_digest(shape),
        words=task.words.filled(),
        lines=(),
        wood=task.wood.id,
        cutter=tool.cutter.id,
        method=tool.method,
        depth=_told(tool.depth),
        groove="",
        geometry="",
    )


def order_digest(facts: OrderFacts) -> str:
    """Return the full digest of an order, as hex; its id and its quantities are no part of it."""
    return _digest(as_plain(list(facts)))


def _digest(value: object) -> str:
    return hashlib.sha256(json.dumps(value, ensure_ascii=True, separators=(",", ":")).encode()).hexdigest()


def _canonical(path: Path) -> list[str]:
    """Return a path's contours as text, the same however they are ordered, turned or begun."""
    straight = [contour for contour in path if isinstance(contour, StraightLine)]
    others = [_contour(contour) for contour in path if not isinstance(contour, StraightLine)]
    return sorted([*others, *_straight_lines(straight)])


def _contour(contour: Contour) -> str:
    told = _told_points(contour.points)
    degrees = "".join([str(len(segment)) for segment in contour.segments])
    if not contour.closed:  # blanks come before all that stands between them: as lists they are ordered as texts are
        return " ".join(min([degrees, *told], [degrees[::-1], *reversed(told)]))
    return "z " + " ".join(sorted(set(told)))


def _straight_lines(contours: Sequence[StraightLine]) -> list[str]:
    """Return open contours of straight sides as `_contour` does, all of them at once."""
    if not contours:
        return []
    lines = [_turned(contour.line) for contour in contours]
    sizes = np.array([len(line) for line in lines])
    before = np.full(sizes.sum(), b" ", dtype="S4")
    before[np.cumsum(sizes) - sizes] = b"\n"
    told = points_told(np.concatenate(lines), STEP_DECIMALS, before, b",", trimmed=False).split("\n")[1:]
    return [f"{'1' * (len(line) - 1)} {text}" for line, text in zip(lines, told, strict=True)]


def _turned(line: Polyline) -> Polyline:
    """Return a line from the end whose text comes first; of the same text from both, as it is."""
    for k in range(len(line) // 2):
        one, other = _told_points(line[[k, -1 - k]].tolist())
        if one != other:
            return line if one < other else line[::-1]
    return line


def _told_points(points: Sequence[Point]) -> list[str]:
    """Return each point as `_told` tells its two numbers, a comma between them; all written at once, as they are many."""
    told = (A_POINT * len(points)) % tuple([value for point in points for value in point])
    return (A_ZERO.sub("0", told) if ZEROS[0] in told else told).split()


def _told(value: float) -> str:
    text = f"{value:.{STEP_DECIMALS}f}"
    return "0" if text in ZEROS else text


def differing(kept: Iterable[PieceFacts], now: Iterable[PieceFacts]) -> tuple[str, ...]:
    """Return in words what of the agreed things is no longer as it was kept; 'the number of lids' if pieces came or went."""
    before, after = list(kept), list(now)
    if len(before) != len(after):
        return ("the number of pieces",)
    found = [
        says for one, other in zip(before, after, strict=True)
        for name, says in AGREED.items() if getattr(one, name) != getattr(other, name)
    ]  # fmt: skip
    return tuple(dict.fromkeys(found))


def shown(facts: OrderFacts) -> str:
    """Return an order's words in a line, for lists."""
    return " | ".join(" / ".join(text for _, text in one.lines) for one in facts)
