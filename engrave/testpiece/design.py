"""A test piece: what one cutter does in one wood, on a scrap of 80 x 60 mm, so that its figures need not be believed.

Bars to be cut and gaps of wood to be left, from thin to thick, along and across the grain; of a beam also gaps between
lines; letters from 8 down to 2 mm; a zigzag and small circles, which show the width of a single line and can be timed. Frame: mm, origin at the top left,
y down, the grain along x.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from shapely import union_all

from engrave.cutting.effect.closing import Closing
from engrave.cutting.effect.cupping import vee_depth
from engrave.geometry.paths import Contour, Path, Point, polygon_path, transformed
from engrave.geometry.regions import centre_lines
from engrave.shop.models import Cutter, Method, Recipe, Shop, Wood
from engrave.typefaces import Run, Shelf

PIECE_WIDTH, PIECE_HEIGHT = 80.0, 60.0
"""mm: a scrap that every shop of small boxes has."""

WIDTH_STEPS = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0)
"""mm: from half a beam's mark to more than any wood needs, each about a third more than the one before."""

WIDER_BARS = (2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0)
"""mm: bars for bits so wide that they cut none of the steps."""

FEWER_GAPS = ((0.2, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0), (0.5, 1.0, 1.5, 2.0), (0.5, 1.0, 2.0), (1.0, 2.0))
"""mm: gaps where cuts are so wide that all steps find no room: the first of these rows that does."""

LABELLED_STEPS = {0.1: ".1", 0.2: ".2", 0.5: ".5", 1.0: "1", 2.0: "2"}
"""Steps that are numbered on the wood; those between are counted from them."""

ALL_LABELLED = 8
"""Steps of a row up to which each is numbered."""

LETTER_CAPS = (8.0, 6.0, 4.0, 3.0, 2.0)
"""mm: heights of the letters, from what every cutter makes to what hardly one does."""

TEST_LETTERS = "Re"
"""Stems, a bow, a diagonal, a closed counter and a narrow opening in two letters."""

WITH_BODY = ("noto-sans", "vollkorn", "withy")
SINGLE_LINE = ("withy", "ems-readability", "hershey-sans")
"""Typefaces of the letters, for cutters that clear areas and for those that only follow lines."""

LABELS_IN = "withy"
LABEL_DEPTH = 0.1
"""mm: labels are cut just so deep that they are read, so that wide bits still write small."""
LABEL_CAP, LARGEST_LABEL = 2.2, 3.0
LABEL_WEIGHT = 1.0 / 5.0
"""mm, mm, groove over cap height: between these a label fits beside its bar and is told apart; else it is not cut but
stands on the printed sheet alone, beside its bar in the picture of the piece."""

BAR_LENGTH = 6.0
"""mm: length of bars and gaps: webs break by their length too, and letters' strokes are about so long."""

BARS_APART = (1.9, 1.5)
"""mm of wood between bars side by side, and one above the other: room for a label at every other bar."""

BARS_FAR_APART = (3.4, 2.6)
"""The same where every bar is numbered."""

ENOUGH_BARS = 5
"""Bars that a piece has, wider ones if its cutter makes few of the steps."""

GAP_CUT = 1.5
"""mm: width of the cuts between which a gap is left; as wide as a sturdy stroke, and room for the labels."""

PAIR_SPACER = 0.9
"""mm of wood between one pair of grooves and the next, where gaps are left between pairs."""

ROW_ROOM = 36.0
"""mm: a row of bars or gaps is no longer."""

BARS_AT, GAPS_AT = ((3.0, 3.0), (3.0, 16.0)), ((41.0, 3.0), (17.0, 16.0))
"""Where bars and gaps begin: those across the grain, and those along it."""

LINE_GAPS, LINE_GAPS_AT, LINE_GAPS_ROOM = (0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6), (3.0, 45.2), 13.0
"""mm: gaps between two lines of a beam, which chars less beside a line than beside an area; where they begin, and their
room."""

LETTERS_AT, LETTER_PITCH, LETTER_GAP, LETTERS_END = (31.0, 24.0), 10.4, 2.0, 78.0
ZIGZAG_AT, ZIGZAG_TOOTH, ZIGZAG_LONG = (31.0, 48.6), (1.0, 4.4), 24.0
CIRCLES_AT, CIRCLE_RADII = (58.5, 50.8), (0.5, 1.0, 1.5, 2.2)
NAME_AT = (3.0, 57.6)

OPEN_GROOVES = 1.3
"""Grooves from one to the next, and grooves across a circle at least: less is one blot."""

CLOGGED_GROOVES = 3.0
"""Grooves to a letter's height below which a single-line letter is one blot; standards ask for six at least."""


@dataclass(slots=True)
class TestPiece:
    """What is cut of a test piece, mm. shapes: filled, each with its holes. lines: centre lines of `groove` mm grooves.

    labels: centre lines of `label_groove` mm, LABEL_DEPTH deep, or only printed where the cutter is too wide to write
    small (`labels_cut`).
    bars, gaps: their widths in order (gaps as the wood that should be left standing); line_gaps: those between two lines.
    letters: typefaces, row by row. labels_cut: whether the cutter can write as small as labels are.
    """

    cutter: Cutter
    wood: Wood
    groove: float
    label_groove: float
    gaps: tuple[float, ...]
    bars: tuple[float, ...] = ()
    line_gaps: tuple[float, ...] = ()
    shapes: list[Path] = field(default_factory=list)
    lines: list[Contour] = field(default_factory=list)
    labels: list[Contour] = field(default_factory=list)
    letters: tuple[str, ...] = ()
    labels_cut: bool = True


@dataclass(frozen=True, slots=True)
class _Gaps:
    """How gaps are left between cuts `cut` mm wide. closing: what the mark takes of each. paired: cuts are grooves."""

    cut: float
    closing: Closing
    paired: bool
    widths: tuple[float, ...]


def recipes_of(shop: Shop, cutter: str, wood: str) -> tuple[Recipe, ...]:
    """Return how the shop runs this cutter in this wood, by every method."""
    return tuple(r for r in shop.recipes if (r.cutter, r.wood) == (cutter, wood))


def test_piece(shop: Shop, shelf: Shelf, cutter_id: str, wood_id: str) -> TestPiece:
    """Return the test piece of a cutter in a wood of the shop; raises ValueError if the shop has no recipe for them."""
    cutter, wood = shop.cutters[cutter_id], shop.woods[wood_id]
    recipes = recipes_of(shop, cutter_id, wood_id)
    if not recipes:
        raise ValueError(f"no recipe for {cutter_id} in {wood_id}")
    piece, label = _laid_out(shelf, cutter, wood, recipes, labels_cut=True)
    if piece.label_groove > LARGEST_LABEL * LABEL_WEIGHT or label.crowded(piece.label_groove):
        piece, _ = _laid_out(shelf, cutter, wood, recipes, labels_cut=False)
    return piece


def _laid_out(
    shelf: Shelf, cutter: Cutter, wood: Wood, recipes: Sequence[Recipe], *, labels_cut: bool
) -> tuple[TestPiece, _labeller]:
    """Return the piece with everything on it, and what wrote its labels: as the cutter can, or small, to be printed."""
    area = next((r for r in recipes if r.method != "follow"), None)
    line = next((r for r in recipes if r.method == "follow"), recipes[0])
    groove, fine = cutter.groove_at(line.depth, line), cutter.groove_at(LABEL_DEPTH, line)
    gaps = _gaps(cutter, area, groove)
    piece = TestPiece(cutter, wood, groove, fine, gaps.widths, labels_cut=labels_cut)
    label = _labeller(piece, shelf, max(LABEL_CAP, fine / LABEL_WEIGHT) if labels_cut else LABEL_CAP)
    for upright in (True, False):
        if area is not None:
            piece.bars = _bar_widths(cutter, area)
            _bars(piece, upright, label)
        _leave_gaps(piece, gaps, GAPS_AT[0 if upright else 1], upright, label)
    if cutter.is_beam and area is not None and line.method == "follow":
        between = _line_gaps(groove)
        piece.line_gaps = between.widths
        _leave_gaps(piece, between, LINE_GAPS_AT, True, label)
    _letters(piece, shelf, [t for t in (WITH_BODY if area else SINGLE_LINE) if t in shelf.ids])
    piece.lines += [_zigzag(groove), *_circles(groove)]
    label(f"{cutter.id} in {wood.id}, grain left to right", NAME_AT, 0.0)
    return piece, label


test_piece.__test__ = False  # type: ignore[attr-defined]  # test runners take the name for a test
TestPiece.__test__ = False  # type: ignore[attr-defined]


def _bar_widths(cutter: Cutter, area: Recipe) -> tuple[float, ...]:
    """Return the bars that the cutter can make at all: a bit none narrower than itself, a beam even finer than its mark."""
    if cutter.is_beam:
        return WIDTH_STEPS
    least = cutter.least_width(area.depth, area)
    steps = [least, *(w for w in WIDTH_STEPS if w > least * (1.0 + 1e-9))]
    wider = (w for w in WIDER_BARS if w > least * (1.0 + 1e-9))
    found: list[float] = []
    for width in [*steps, *islice(wider, max(0, ENOUGH_BARS - len(steps)))][: len(WIDTH_STEPS)]:
        if sum(found) + width + len(found) * max(BARS_FAR_APART) <= ROW_ROOM or len(steps) > ALL_LABELLED:
            found.append(width)
    return tuple(found)


def _gaps(cutter: Cutter, area: Recipe | None, groove: float) -> _Gaps:
    if area is None:
        return _Gaps(groove, Closing(0.0, 0.0), True, WIDTH_STEPS)
    closing = Closing(0.0, 0.0) if area.inset else Closing(*cutter.mark(area))
    cut = max(GAP_CUT, cutter.least_width(area.depth, area))
    lost = max(closing.x, closing.y)
    fitting = (w for w in (WIDTH_STEPS, *FEWER_GAPS) if (len(w) + 1) * cut + sum(w) + len(w) * lost <= ROW_ROOM)
    return _Gaps(cut, closing, False, next(fitting, FEWER_GAPS[-1][:1]))


def _line_gaps(groove: float) -> _Gaps:
    """Return the gaps between two lines, as many of the finest as there is room for."""
    found: list[float] = []
    for width in LINE_GAPS:
        if sum(found) + width + 2.0 * groove * (len(found) + 1) + PAIR_SPACER * len(found) <= LINE_GAPS_ROOM:
            found.append(width)
    return _Gaps(groove, Closing(0.0, 0.0), True, tuple(found))


def depths_of(cutter: Cutter, recipes: Iterable[Recipe]) -> dict[Method, float]:
    """Return by method how many mm deep the cuts beside the gaps are: of a V-bit as deep as they are wide."""
    found = dict[Method, float]()
    for r in recipes:
        cut = max(GAP_CUT, cutter.least_width(r.depth, r))
        found[r.method] = min(r.depth, vee_depth(cutter, cut)) if r.method == "vee" else r.depth
    return found


class _labeller:  # noqa: N801  # a function with something to remember
    """Writes labels on a piece in single lines, or nothing if the shelf has lost the typeface for it."""

    def __init__(self, piece: TestPiece, shelf: Shelf, cap: float) -> None:
        self._piece, self._cap = piece, cap
        self._texts: list[Path] = []
        self._typeface = shelf.get(LABELS_IN) if LABELS_IN in shelf.ids else None

    def __call__(self, text: str, at: Point, share: float) -> None:
        """Write text with its baseline at `at`, which lies at `share` of its width (0: it begins there)."""
        if self._typeface is None:
            return
        run = self._typeface.shape(text)
        x = at[0] - share * run.advance * self._cap
        written: list[Contour] = []
        for p in run.placed:
            size = self._cap * p.scale
            matrix = (size, 0.0, 0.0, -size, x + self._cap * p.x, at[1] - self._cap * p.y)
            written += transformed(p.glyph.path, matrix)
        self._texts.append(tuple(written))
        self._piece.labels += written

    def crowded(self, groove: float) -> bool:
        """Tell whether labels run into one another where they are cut with a groove of that width."""
        cut = [centre_lines(text).buffer(groove / 2.0) for text in self._texts]
        return bool(union_all(cut).area < sum(one.area for one in cut) - 1e-6)

    def beside(self, width: float, among: Sequence[float], at: Point, upright: bool) -> None:
        """Label a bar or gap among those of its row, whose middle is `at`, below it or to its right."""
        says = f"{width:.2g}".removeprefix("0") if len(among) <= ALL_LABELLED else LABELLED_STEPS.get(width)
        if says:
            x, y = at
            place = (x, y + BAR_LENGTH + 0.9 + self._cap) if upright else (x + BAR_LENGTH + 0.9, y + self._cap / 2.0)
            self(says, place, 0.5 if upright else 0.0)


def _block(at: float, width: float, start: Point, upright: bool) -> Contour:
    """Return a rectangle `width` wide, `at` mm on from the start of a row, upright or lying."""
    x, y = start
    w, h = (width, BAR_LENGTH) if upright else (BAR_LENGTH, width)
    left, top = (x + at, y) if upright else (x, y + at)
    return polygon_path([(left, top), (left + w, top), (left + w, top + h), (left, top + h)])


def _middle(at: float, start: Point, upright: bool) -> Point:
    x, y = start
    return (x + at, y) if upright else (x, y + at)


def _bars(piece: TestPiece, upright: bool, label: _labeller) -> None:
    start, at = BARS_AT[0 if upright else 1], 0.0
    apart = BARS_FAR_APART if len(piece.bars) <= ALL_LABELLED else BARS_APART
    for width in piece.bars:
        piece.shapes.append((_block(at, width, start, upright),))
        label.beside(width, piece.bars, _middle(at + width / 2.0, start, upright), upright)
        at += width + apart[0 if upright else 1]


def _leave_gaps(piece: TestPiece, gaps: _Gaps, start: Point, upright: bool, label: _labeller) -> None:
    """Cut what leaves the gaps standing: blocks with a gap between each two, or pairs of grooves."""
    at = 0.0
    lost = gaps.closing.x if upright else gaps.closing.y
    for i, width in enumerate(gaps.widths):
        if i == 0 or gaps.paired:
            _cut(piece, gaps, at, start, upright)
        between = at + gaps.cut
        at = between + width + lost
        _cut(piece, gaps, at, start, upright)
        label.beside(
            width, WIDTH_STEPS if gaps.paired else gaps.widths, _middle((between + at) / 2.0, start, upright), upright
        )
        if gaps.paired:
            at += gaps.cut + PAIR_SPACER


def _cut(piece: TestPiece, gaps: _Gaps, at: float, start: Point, upright: bool) -> None:
    if not gaps.paired:
        piece.shapes.append((_block(at, gaps.cut, start, upright),))
        return
    x, y = _middle(at + gaps.cut / 2.0, start, upright)
    end = (x, y + BAR_LENGTH) if upright else (x + BAR_LENGTH, y)
    piece.lines.append(polygon_path([(x, y), end], closed=False))


def _letters(piece: TestPiece, shelf: Shelf, names: Sequence[str]) -> None:
    """Set the letters, a typeface a row, and note those of which the groove leaves any."""
    for row, name in enumerate(names):
        before = len(piece.shapes) + len(piece.lines)
        run = shelf.get(name).shape(TEST_LETTERS)
        x, y = LETTERS_AT[0], LETTERS_AT[1] + row * LETTER_PITCH
        spare = LETTERS_END - x - run.advance * sum(LETTER_CAPS)
        for cap in LETTER_CAPS:
            _letters_at(piece, run, cap, (x, y))
            x += cap * run.advance + min(LETTER_GAP, spare / (len(LETTER_CAPS) - 1))
        if len(piece.shapes) + len(piece.lines) > before:
            piece.letters += (name,)


def _letters_at(piece: TestPiece, run: Run, cap: float, at: Point) -> None:
    for p in run.placed:
        size = cap * p.scale
        path = transformed(p.glyph.path, (size, 0.0, 0.0, -size, at[0] + cap * p.x, at[1] - cap * p.y))
        if p.glyph.kind == "outline":
            piece.shapes.append(path)
        elif cap >= CLOGGED_GROOVES * piece.groove:
            piece.lines += path


def _zigzag(groove: float) -> Contour:
    (x, y), (along, up) = ZIGZAG_AT, ZIGZAG_TOOTH
    along = max(along, OPEN_GROOVES * groove)
    corners = [(x + i * along, y + (up if i % 2 == 0 else 0.0)) for i in range(int(ZIGZAG_LONG / along) + 1)]
    return polygon_path(corners, closed=False)


def _circles(groove: float) -> Iterator[Contour]:
    x, y = CIRCLES_AT
    for radius in CIRCLE_RADII:
        if 2.0 * radius >= OPEN_GROOVES * groove:
            yield circle((x + radius, y), radius)
        x += 2.0 * radius + 2.0


QUARTER_CIRCLE = 0.5522847498
"""Control points of a cubic that is nearly a quarter circle: 4/3 (sqrt 2 - 1) radii from its ends, 0.03 % off at most."""


def circle(centre: Point, radius: float) -> Contour:
    """Return a circle of four cubic curves."""
    x, y = centre
    k = QUARTER_CIRCLE * radius
    ends: Sequence[Point] = [(radius, 0.0), (0.0, radius), (-radius, 0.0), (0.0, -radius), (radius, 0.0)]
    segments = []
    for (ax, ay), (bx, by) in zip(ends[:-1], ends[1:], strict=True):
        one = (x + ax - k * ay / radius, y + ay + k * ax / radius)
        two = (x + bx + k * by / radius, y + by - k * bx / radius)
        segments.append((one, two, (x + bx, y + by)))
    return Contour((x + radius, y), tuple(segments), True)
