"""The proof: the picture a buyer approves, true to what will be cut; below a line to fold at, what the bench needs."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from engrave.output.bench_cautions import cautions
from engrave.output.numbers import count, plain
from engrave.output.pictures import Scene, scene
from engrave.output.pictures.labels import BOOK, PLAIN, STRONG, Labels, labels_for
from engrave.output.pictures.lid_rendering import Frame, frame_for, lid_pixels
from engrave.output.pictures.paper import DARK, EDGE, NAME, PAPER, RULE, SMALL, SOFT, TEXT, TINY, WIDE, as_png
from engrave.output.svg import proof_code
from engrave.typefaces import thicker_by
from engrave.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL.Image import Image as Picture

    from engrave.making import Piece
    from engrave.tasks import Task
    from engrave.typefaces import Shelf

LID_HIGH = 760
"""Pixels that the lid may be high, so that the words below it are still on the first screen of a desk."""

LEAD = 1.95
"""Line pitch of labels in cap heights: ISO 3098-1 type B has 22/14 with accents, 26/14 is its widest."""

CAUTIONS = 3
"""Cautions on one lid's proof; the week's page has them all."""


@dataclass(slots=True)
class _Column:
    """A column that is written from the top down; `y` is where its last line stands."""

    labels: Labels
    x: float
    wide: float
    y: float = 0.0
    parts: list[tuple[float, float, str, float, str, Sequence[str]]] = field(default_factory=list)

    def write(self, text: str, cap: float, colour: str, face: Sequence[str] = PLAIN, indent: float = 0.0) -> None:
        """Add a paragraph below what stands there."""
        for line in self.labels.wrapped(text, cap, self.wide - indent, face):
            self.y += cap * LEAD
            self.parts.append((self.x + indent, self.y, line, cap, colour, face))

    def beside(self, label: str, text: str, indent: float) -> None:
        """Add a small label with what it tells to its right."""
        self.parts.append((self.x, self.y + SMALL * LEAD, label, SMALL, SOFT, PLAIN))
        self.write(text, SMALL, DARK, indent=indent)

    def space(self, pixels: float) -> None:
        """Leave room below what stands there."""
        self.y += pixels

    def draw(self, picture: Picture, top: float) -> None:
        """Draw everything that was written, the column beginning at `top`."""
        for x, y, text, cap, colour, face in self.parts:
            self.labels.draw(picture, (x, top + y), text, cap, colour, face)


def proof_png(piece: Piece, shelf: Shelf, shop_name: str = "") -> bytes:
    """Return the proof of a made piece as PNG: the lid in its wood, the words as received beside the words as set.

    Raises ValueError for a piece that has no lettering: there is nothing to approve.
    """
    seen = scene(piece)
    if seen is None or piece.task is None or piece.lettering is None or not piece.lettering.marks:
        raise ValueError(f"order {piece.order.id}, piece {piece.piece}: there is nothing to prove")
    labels = labels_for(shelf)
    frame = frame_for(seen, WIDE - 2 * EDGE - 120, LID_HIGH, EDGE)
    words, facts, bench = (
        _words(piece, piece.task, labels),
        _facts(piece, piece.task, labels, shelf),
        _bench(piece, labels),
    )
    lid_top = 96.0
    words_top = lid_top + frame.height + 42
    facts_top = words_top + max(c.y for c in words) + 40
    fold = facts_top + facts.y + 46
    picture = Image.new("RGB", (WIDE, round(fold + bench.y + 48)), PAPER)
    _header(picture, piece, labels, shop_name)
    _lid(picture, seen, frame, round(lid_top), labels, f"{piece.order.id} {piece.piece}")
    for column in words:
        column.draw(picture, words_top)
    _rule(picture, facts_top - 14)
    facts.draw(picture, facts_top)
    _rule(picture, fold, dash=10)
    bench.draw(picture, fold + 8)
    return as_png(picture)


def _rule(picture: Picture, y: float, dash: int = 0) -> None:
    draw = ImageDraw.Draw(picture)
    step = 2 * dash or WIDE
    for x in range(EDGE, WIDE - EDGE, step):
        draw.line([(x, round(y)), (min(x + (dash or WIDE), WIDE - EDGE), round(y))], fill=RULE, width=2 if dash else 1)


def _header(picture: Picture, piece: Piece, labels: Labels, shop_name: str) -> None:
    name = shop_name or "Proof"
    labels.draw(picture, (EDGE, 66), name, NAME, DARK, BOOK)
    right: float = WIDE - EDGE
    code = proof_code(piece) or ""
    right -= labels.draw(picture, (right, 66), code, NAME, DARK, STRONG, align=1.0) + 16
    labels.draw(picture, (right, 66), heading(piece), SMALL + 2, SOFT, align=1.0)


def heading(piece: Piece) -> str:
    """Return what stands before the proof's code: the order, or that there is none yet (words that were only tried)."""
    what = f"order {piece.order.id}" if piece.order.row else "not ordered yet"
    number = f", piece {piece.piece}" if piece.piece > 1 else ""
    return f"{what}{number}  ·  proof"


def _lid(picture: Picture, seen: Scene, frame: Frame, top: int, labels: Labels, seed: str) -> None:
    left = (WIDE - frame.width) // 2
    picture.paste(lid_pixels(seen, frame, PAPER, seed), (left, top))
    box = (left + frame.pad, top + frame.pad, left + frame.width - frame.pad, top + frame.height - frame.pad)
    _across(picture, labels, (box[0], box[2]), box[1] - 34, f"{plain(seen.view.width, 1)} mm")
    _down(picture, labels, (box[1], box[3]), box[2] + 58, f"{plain(seen.view.height, 1)} mm")
    if seen.hinge is not None:
        _hinge(picture, labels, box, seen.hinge)
    _front(picture, labels, box)


def _across(picture: Picture, labels: Labels, ends: tuple[int, int], y: int, text: str) -> None:
    """Draw a dimension above the lid, its line broken for the figure as drawing standards have it (ISO 129-1)."""
    draw = ImageDraw.Draw(picture)
    middle, half = sum(ends) / 2, labels.width(text, SMALL) / 2 + 12
    for a, b, way in ((ends[0], middle - half, 1), (ends[1], middle + half, -1)):
        draw.line([(a, y), (round(b), y)], fill=SOFT)
        draw.line([(a, y - 7), (a, y + 7)], fill=SOFT)
        draw.polygon([(a, y), (a + 11 * way, y - 3), (a + 11 * way, y + 3)], fill=SOFT)
    labels.draw(picture, (middle, y + SMALL / 2), text, SMALL, SOFT, align=0.5)


def _down(picture: Picture, labels: Labels, ends: tuple[int, int], x: int, text: str) -> None:
    draw = ImageDraw.Draw(picture)
    middle = sum(ends) / 2
    for a, b, way in ((ends[0], middle - SMALL - 4, 1), (ends[1], middle + SMALL + 4, -1)):
        draw.line([(x, a), (x, round(b))], fill=SOFT)
        draw.line([(x - 7, a), (x + 7, a)], fill=SOFT)
        draw.polygon([(x, a), (x - 3, a + 11 * way), (x + 3, a + 11 * way)], fill=SOFT)
    labels.draw(picture, (x, middle + SMALL / 2), text, SMALL, SOFT, align=0.5)


def _front(picture: Picture, labels: Labels, box: tuple[int, int, int, int]) -> None:
    """Name the front, below the lid, with a wedge that points at it."""
    x, bottom = (box[0] + box[2]) // 2, box[3]
    ImageDraw.Draw(picture).polygon([(x, bottom + 24), (x - 8, bottom + 38), (x + 8, bottom + 38)], fill=SOFT)
    labels.draw(picture, (x, bottom + 60), "front", SMALL, SOFT, align=0.5)


def _hinge(picture: Picture, labels: Labels, box: tuple[int, int, int, int], side: str) -> None:
    """Name the side about which the lid turns, with a bar along the middle of that side."""
    left, top, right, bottom = box
    draw = ImageDraw.Draw(picture)
    if side in ("top", "bottom"):
        y = top - 14 if side == "top" else bottom + 14
        draw.line([(left + 0.25 * (right - left), y), (right - 0.25 * (right - left), y)], fill="#a98a5e", width=5)
        labels.draw(picture, (left + 0.25 * (right - left) - 14, y + SMALL / 2), "hinge", SMALL, SOFT, align=1.0)
        return
    x = left - 14 if side == "left" else right + 14
    draw.line([(x, top + 0.25 * (bottom - top)), (x, bottom - 0.25 * (bottom - top))], fill="#a98a5e", width=5)
    outside = (left - 8, 1.0) if side == "left" else (right + 8, 0.0)
    labels.draw(
        picture, (outside[0], bottom - 0.25 * (bottom - top) + 2.4 * SMALL), "hinge", SMALL, SOFT, align=outside[1]
    )


def _words(piece: Piece, task: Task, labels: Labels) -> tuple[_Column, _Column]:
    wide = (WIDE - 3 * EDGE) / 2
    left, right = _Column(labels, EDGE, wide), _Column(labels, 2 * EDGE + wide, wide)
    left.write("The words as they came", SMALL, SOFT)
    left.space(6)
    for where, words in piece.order.received.filled():
        if where in task.area.fields:
            left.write(words, TEXT, DARK, BOOK)
    right.write("The words as they will be cut", SMALL, SOFT)
    right.space(6)
    for line in piece.lettering.lines if piece.lettering else ():
        right.write(line.text, TEXT, DARK, BOOK)
    for change in piece.order.changes:
        right.space(4)
        right.write(change, SMALL, SOFT)
    return left, right


def _facts(piece: Piece, task: Task, labels: Labels, shelf: Shelf) -> _Column:
    column = _Column(labels, EDGE, WIDE - 2 * EDGE)
    width, height = task.area.width, task.area.height
    inches = f"{width / MM_PER_INCH:.2f} × {height / MM_PER_INCH:.2f} in"
    area = {"lid": "", "inside": ", inside of the lid"}.get(task.area.name, f", {task.area.name}")
    faces = ", ".join(dict.fromkeys(shelf.get(i).title for _, i in task.typefaces))
    many = f"  ·  {count(piece.order.quantity, 'lid')} alike" if piece.order.quantity > 1 else ""
    column.beside("Lid", f"{task.lid.title}{area}, {plain(width, 1)} × {plain(height, 1)} mm ({inches}){many}", 110)
    column.beside("Wood", f"{task.wood.title}; grain and colour differ from board to board", 110)
    column.beside("Letters", f"{faces}, {heights(piece)}", 110)
    column.space(16)
    column.write(
        "Please read every letter, accent and figure: it is cut exactly as shown here.", SMALL + 1, DARK, STRONG
    )
    return column


def heights(piece: Piece) -> str:
    """Return how high the capitals are, by field, and how much thicker than drawn the strokes, in mm."""
    caps: dict[str, float] = {}
    for line in piece.lettering.lines if piece.lettering else ():
        caps.setdefault(line.field, line.cap_mm)
    told = [f"{plain(cap, 1)} mm" + (f" ({where})" if len(caps) > 1 else "") for where, cap in caps.items()]
    return f"capitals {', '.join(told)} high{_thickened(piece)}"


def _thickened(piece: Piece) -> str:
    """Return by how many mm strokes are thicker than the typeface's, in the largest letters; '' if they are as drawn."""
    if piece.task is None or piece.lettering is None or piece.lettering.kind != "outline" or not piece.task.thicken:
        return ""
    most = thicker_by(piece.task.thicken) * max(line.cap_mm for line in piece.lettering.lines)
    return f", strokes up to {plain(most, 2)} mm thicker than the typeface's"


def _bench(piece: Piece, labels: Labels) -> _Column:
    """Return what the bench needs, below the fold: cutter and depth, what to mind with just this lid."""
    column = _Column(labels, EDGE, WIDE - 2 * EDGE)
    if piece.task is None:
        return column
    tool = piece.task.tool
    passes = f", {count(piece.toolpath.passes, 'pass', 'passes')}" if piece.toolpath else ""
    says = f"{tool.cutter.title} ({tool.method}), {plain(tool.depth, 2)} mm deep{passes}. {tool.recipe.power}".strip()
    column.write(f"For the bench: {says}", TINY, SOFT, STRONG)
    for caution in cautions([piece])[:CAUTIONS]:
        column.space(3)
        column.write(caution, TINY, SOFT)
    return column
