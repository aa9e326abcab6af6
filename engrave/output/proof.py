"""The proof: the picture a buyer approves, true to what will be cut, and its back for the bench."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from engrave.output.board import frame_for, lid_pixels
from engrave.output.cautions import cautions
from engrave.output.codes import proof_code
from engrave.output.labels import Labels
from engrave.output.view import scene

if TYPE_CHECKING:
    from engrave.making import Piece
    from engrave.typefaces import Shelf

WIDE = 1200
PAPER = "#f4efe6"
DARK, SOFT, RULE = "#33261b", "#7b6a58", "#d3c7b6"
EDGE = 60
"""Pixels of paper around everything."""

TEXT, SMALL = 19.0, 14.0
"""Cap heights of the labels in pixels."""

LEAD = 1.9
"""Line pitch of labels in cap heights (ISO 3098-1, type B, b1: room for accents)."""


class _Sheet:
    """Paper that is written from the top down."""

    def __init__(self, labels: Labels) -> None:
        self.labels = labels
        self.parts: list[tuple[int, float, str, float, str]] = []
        self.y = 0.0

    def write(self, text: str, cap: float, colour: str, x: int = EDGE, most: int = WIDE - 2 * EDGE) -> None:
        """Add a paragraph below what stands there."""
        for line in self.labels.wrapped(text, cap, most):
            self.y += cap * LEAD
            self.parts.append((x, self.y, line, cap, colour))

    def onto(self, picture: Image.Image, top: float) -> None:
        """Draw everything written, its first line below `top`."""
        for x, y, text, cap, colour in self.parts:
            self.labels.draw(picture, (x, top + y), text, cap, colour)


def proof_png(piece: Piece, shelf: Shelf) -> bytes:
    """Return the proof of a made piece as PNG: the lid in its wood, the words as received beside the words as set."""
    seen = scene(piece)
    if seen is None or piece.task is None or piece.lettering is None:
        raise ValueError(f"order {piece.order.id}: there is nothing to prove")
    labels = Labels(shelf)
    frame = frame_for(seen, WIDE - 2 * EDGE, 820, EDGE)
    lid = lid_pixels(seen, frame, PAPER, piece.order.id)
    received, as_set = _words(piece, labels)
    facts = _facts(piece, labels)
    bench = _bench(piece, labels)
    tops = [70.0, 70.0 + lid.height + 50]
    words_high = max(received.y, as_set.y)
    tops.append(tops[1] + words_high + 30)
    tops.append(tops[2] + facts.y + 40)
    picture = Image.new("RGB", (WIDE, round(tops[3] + bench.y + EDGE)), PAPER)
    draw = ImageDraw.Draw(picture)
    title = f"Proof {proof_code(piece) or ''}  ·  order {piece.order.id}, piece {piece.piece}"
    labels.draw(picture, (EDGE, 52), title, TEXT, DARK)
    picture.paste(lid, ((WIDE - lid.width) // 2, round(tops[0])))
    side = f"front of the lid ({piece.task.area.front} edge on the machine)"
    labels.draw(picture, (WIDE / 2, tops[1] - 20), side, SMALL, SOFT, align=0.5)
    received.onto(picture, tops[1])
    as_set.onto(picture, tops[1])
    for top in (tops[2], tops[3]):
        draw.line([(EDGE, round(top) - 14), (WIDE - EDGE, round(top) - 14)], fill=RULE, width=1)
    facts.onto(picture, tops[2])
    bench.onto(picture, tops[3])
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=4)
    return out.getvalue()


def _words(piece: Piece, labels: Labels) -> tuple[_Sheet, _Sheet]:
    column = (WIDE - 3 * EDGE) // 2
    left, right = _Sheet(labels), _Sheet(labels)
    left.write("As received", SMALL, SOFT, EDGE, column)
    for field, words in piece.order.received.filled():
        if piece.task is not None and field in piece.task.area.fields:
            left.write(words, TEXT, DARK, EDGE, column)
    right.write("As set", SMALL, SOFT, 2 * EDGE + column, column)
    for line in piece.lettering.lines if piece.lettering else ():
        right.write(line.text, TEXT, DARK, 2 * EDGE + column, column)
    return left, right


def _facts(piece: Piece, labels: Labels) -> _Sheet:
    sheet = _Sheet(labels)
    task, set_ = piece.task, piece.lettering
    if task is None or set_ is None:
        return sheet
    faces = ", ".join(dict.fromkeys(labels._shelf.get(t).title for _, t in task.typefaces))  # type: ignore[attr-defined]
    sheet.write(
        f"{task.lid.title}, {task.area.width:.0f} x {task.area.height:.0f} mm, in {task.wood.title.lower()}. "
        f"Set in {faces}; capitals {set_.cap_mm:.1f} mm high.",
        SMALL, DARK,
    )  # fmt: skip
    sheet.write("Please check every letter: what is shown here is what will be cut.", SMALL, DARK)
    return sheet


def _bench(piece: Piece, labels: Labels) -> _Sheet:
    sheet = _Sheet(labels)
    task = piece.task
    if task is None:
        return sheet
    sheet.write(
        f"For the bench: {task.tool.cutter.title}, {task.tool.method}, {task.tool.depth:.2g} mm deep.", SMALL, SOFT
    )
    for caution in cautions([piece])[:4]:
        sheet.write(caution, SMALL, SOFT)
    return sheet
