"""The single-line typeface drawn in this project: its file, its proportions, its strokes, its fit with itself."""

from __future__ import annotations

import io
import math
import re
import unicodedata
import xml.etree.ElementTree as ElementTree
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import svgpathtools
from PIL import Image
from scipy import ndimage
from shapely import LineString, MultiLineString, Point, unary_union
from shapely.affinity import translate
from shapely.ops import substring
from withy.building import HOME, DrawnTypeface, build, tables
from withy.letters import TableError, decomposed, letters
from withy.specimen import SpecimenLine, draw
from withy.strokes import StrokeError, stroke, strokes

from engrave.geometry import paths
from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Contour

FILE = HOME / "withy.svg"
LATIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
PEN = 70.0  # a groove of 1/10 of the cap height of 700
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


class Font:
    """What a reader of the SVG file sees, read with the standard library alone."""

    def __init__(self, file: Path) -> None:
        root = ElementTree.parse(file).getroot()
        tag = "{http://www.w3.org/2000/svg}"
        self.face = next(root.iter(f"{tag}font-face")).attrib
        glyphs = [g for g in root.iter(f"{tag}glyph") if "unicode" in g.attrib]
        self.forms = {
            g.attrib["glyph-name"]: g.attrib["d"] for g in root.iter(f"{tag}glyph") if "." in g.attrib["glyph-name"]
        }
        self.path = {g.attrib["unicode"]: g.attrib.get("d", "") for g in glyphs}
        self.advance = {g.attrib["unicode"]: float(g.attrib["horiz-adv-x"]) for g in glyphs}
        names = {g.attrib["glyph-name"]: g.attrib["unicode"] for g in glyphs}
        assert len(names) == len(glyphs)
        assert not set(names) & set(self.forms)
        self.rules = [
            (
                [names[n] for n in k.attrib["g1"].split(",")],
                [names[n] for n in k.attrib["g2"].split(",")],
                float(k.attrib["k"]),
            )
            for k in root.iter(f"{tag}hkern")
        ]
        self.kern = {(a, b): k for first, second, k in self.rules for a in first for b in second}

    def box(self, char: str) -> tuple[float, float, float, float]:
        """Least x, greatest x, least y, greatest y, by another reader of paths."""
        return svgpathtools.parse_path(self.path[char]).bbox()


@pytest.fixture(scope="module")
def font() -> Font:
    return Font(FILE)


@pytest.fixture(scope="module")
def built() -> DrawnTypeface:
    return build()


def lines_of(built: DrawnTypeface, char: str) -> MultiLineString:
    return MultiLineString([flatten(c, 0.5) for c in built.glyphs[char].path])


def shown(built: DrawnTypeface) -> list[str]:
    return [c for c, letter in built.glyphs.items() if len(c) == 1 and letter.path]


def test_the_file_is_what_its_tables_build(built: DrawnTypeface) -> None:
    old, new = FILE.read_text(encoding="utf-8"), built.svg()
    assert NUMBER.sub("0", old) == NUMBER.sub("0", new), "run: python tests/tools/draw_withy.py"
    gap = max(abs(float(a) - float(b)) for a, b in zip(NUMBER.findall(old), NUMBER.findall(new), strict=True))
    assert gap < 0.11  # another computer may round the last tenth of a unit the other way


def test_every_letter_promised_is_there(font: Font) -> None:
    latin = [chr(c) for c in [*range(0x20, 0x7F), *range(0xA1, 0x180)] if unicodedata.category(chr(c)) != "Cf"]
    vietnamese = [chr(c) for c in range(0x1EA0, 0x1EFA)] + list("ƠơƯư")
    greek = list("ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρσςτυφχψωΆΈΉΊΌΎΏΪΫάέήίόύώϊϋΐΰ")
    cyrillic = [chr(c) for c in range(0x400, 0x460)] + list("ҐґӘәҒғҚқҢңӨөҰұҮүҺһ")
    signs = list("’‘“”„‚«»‹›–—…•·№€£$¥¢₹₺₽₴ʼʻ†−™♥♡★☆✿❀⚓☘♪☀☾✝∞✦→←ȘșȚțẞǍǎ\u00a0\u202f")
    african = list("ƁɓƊɗƘƙƐɛƆɔƉɖƎǝŊŋẸẹỌọṢṣ")
    marks = [chr(c) for c in (*range(0x300, 0x305), *range(0x306, 0x30D), 0x31B, 0x323, 0x326, 0x327, 0x328, 0x331)]
    for named in (latin, vietnamese, african, greek, cyrillic, signs, marks):
        assert [c for c in named if c not in font.path] == []


@pytest.mark.source("ISO 3098-1, lettering type B")
def test_proportions_are_those_of_the_lettering_standard(font: Font) -> None:
    """ISO 3098-1 type B: small letters 7/10, below 3/10, above 3/10, gap 2/10, between words 6/10, stroke 1/10 of h."""
    h = font.box("H")[3] - font.box("H")[2]
    assert float(font.face["cap-height"]) == h
    for char in "vwxzı":
        assert (font.box(char)[3] - font.box(char)[2]) / h == pytest.approx(0.7, rel=0.02)
    for char in "pqyg":
        assert -font.box(char)[2] / h == pytest.approx(0.3, rel=0.05 if char == "g" else 0.02)  # g is round: overshoot
    for char in "bdhkl":
        assert (font.box(char)[3] - font.box("x")[3]) / h == pytest.approx(0.3, rel=0.02)
    for left, right in product("Hnhimu", "Hnhmip"):
        gap = font.advance[left] - font.box(left)[1] + font.box(right)[0] - 0.1 * h
        assert gap / h == pytest.approx(0.2, rel=0.02) or (left, right) in font.kern
    word = font.advance["n"] - font.box("n")[1] + font.advance[" "] + font.box("n")[0] - 0.1 * h
    assert word / h == pytest.approx(0.6, rel=0.02)


@pytest.mark.source("Bringhurst, The Elements of Typographic Style, 3.2 (from memory)")
def test_old_style_figures_stand_and_hang_as_printers_have_them(font: Font) -> None:
    """0 1 2 at the height of x, 3 4 5 7 9 below the line, 6 and 8 up (Bringhurst, The Elements of Typographic Style, 3.2; from memory)."""
    names = dict(
        zip("0123456789", ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"], strict=True)
    )
    for char, name in names.items():
        _, _, low, high = svgpathtools.parse_path(font.forms[f"{name}.onum"]).bbox()
        assert high == pytest.approx(700 if char in "68" else 490, abs=14), char
        assert low == pytest.approx(-210 if char in "34579" else 0, abs=14), char


def test_ornaments_that_part_and_frame_words_are_there(font: Font) -> None:
    for char in "❦❧☙⸺⸻🌿🙘🙙🙚🙛⌜⌝⌞⌟":
        assert char in font.path, char
    high = [font.box(c)[3] - font.box(c)[2] for c in "⸺⸻"]
    assert high == pytest.approx([60, 160], abs=1)  # a rule that tapers, and one with a lozenge
    tips = [min(abs(p[1] - 245) for p in np.array(re.findall(r"([\d.]+),([\d.]+)", font.path["⸺"]), float)[[0, 3, 6]])]
    assert max(tips) < 0.2  # it tapers to its ends on one line


def test_nothing_stands_above_or_below_what_the_font_declares(font: Font) -> None:
    boxes = [font.box(c) for c, d in font.path.items() if d]
    assert max(b[3] for b in boxes) <= float(font.face["ascent"])
    assert min(b[2] for b in boxes) >= float(font.face["descent"])


@pytest.mark.source("Euler, 1736: trails through a graph")
def test_no_stroke_is_begun_that_the_shape_does_not_need(built: DrawnTypeface) -> None:
    """Euler (1736): a connected drawing takes half as many strokes as it has points where an odd number of lines meet.

    A rise and a plunge cost about a second by bit. Since the bowls of b d g p q branch, those five take two strokes.
    """
    assert {c: needed(built.glyphs[c].path) for c in LATIN} == {c: len(built.glyphs[c].path) for c in LATIN}
    downs = [len(built.glyphs[c].path) for c in LATIN]
    assert sum(downs) / len(downs) <= 1.5 + 5 / 52
    assert max(downs) == 3


def needed(path: paths.Path) -> int:
    """The least strokes in which a path can be drawn without going over a line twice."""
    lines = [LineString(flatten(c, 0.02)) for c in path]
    parts = unary_union([line.buffer(0.5) for line in lines])
    odd: dict[int, int] = {k: 0 for k, _ in enumerate(getattr(parts, "geoms", [parts]))}
    met: list[Point] = []
    for end in (Point(p) for c in path for p in ends(c)):
        if any(end.distance(other) < 1.0 for other in met):
            continue
        met.append(end)
        here = sum(end.distance(Point(p)) < 1.0 for c in path for p in ends(c))
        through = sum(end.distance(rest) < 1.0 for c in path for rest in inner(c, end))
        where = next(k for k, g in enumerate(getattr(parts, "geoms", [parts])) if g.distance(end) == 0.0)
        odd[where] += (here + 2 * through) % 2
    return sum(max(1, count // 2) for count in odd.values())


def inner(contour: Contour, end: Point) -> list[LineString]:
    """A stroke as lines that may pass through a point, less the ends of it that lie there."""
    line = LineString(flatten(contour, 0.02))
    low = 5.0 if Point(contour.start).distance(end) < 1.0 and ends(contour) else 0.0
    high = 5.0 if Point(contour.end).distance(end) < 1.0 and ends(contour) else 0.0
    return [substring(line, low, line.length - high)]


def test_rounds_are_curves_and_nothing_is_a_crumb(font: Font, built: DrawnTypeface) -> None:
    assert all("C" in font.path[c] and "L" not in font.path[c] for c in "OoCcSs8")
    for char in shown(built):
        for contour in built.glyphs[char].path:
            at = contour.start
            for segment in contour.segments:
                assert math.dist(at, segment[-1]) > 9, char  # nothing shorter than 0.13 mm at a cap of 10 mm
                at = segment[-1]


def ends(contour: Contour) -> list[tuple[float, float]]:
    return [] if contour.closed or math.dist(contour.start, contour.end) < 0.2 else [contour.start, contour.end]


def test_stroke_ends_that_should_meet_do(built: DrawnTypeface) -> None:
    """An end within 0.03 em of a stroke (its own, farther on, included) lies on it within 0.001 em."""
    missed = []
    for char in shown(built):
        path = built.glyphs[char].path
        for i, contour in enumerate(path):
            own = flatten(contour, 0.02)
            for end in ends(contour):
                others = [flatten(c, 0.02) for j, c in enumerate(path) if j != i]
                others += farther_on(own, end)
                gap = min((LineString(o).distance(Point(end)) for o in others), default=math.inf)
                if 1.0 < gap < 30.0:
                    missed.append((char, end, round(gap, 1)))
    assert missed == []


def farther_on(points: np.ndarray, end: tuple[float, float], skip: float = 60.0) -> list[np.ndarray]:
    """The stroke's own points, less its first `skip` units along it from that end."""
    if tuple(points[0]) != end:
        points = points[::-1]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    rest = points[along > skip]
    return [rest] if len(rest) > 1 else []


@pytest.mark.slow
def test_no_stretch_is_cut_twice(built: DrawnTypeface) -> None:
    """No two stretches of a letter run within 0.001 em of each other for more than 0.045 em."""
    doubled = []
    for char in shown(built):
        samples = [resampled(flatten(c, 0.05), 5.0) for c in built.glyphs[char].path]
        doubled += [char] * any(
            twice(a, b, i == j) > 9 for i, a in enumerate(samples) for j, b in enumerate(samples) if j >= i
        )
    assert doubled == []


def resampled(points: np.ndarray, step: float) -> np.ndarray:
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.arange(0.0, along[-1], step)
    return np.column_stack([np.interp(at, along, points[:, k]) for k in (0, 1)])


def twice(a: np.ndarray, b: np.ndarray, same: bool) -> int:
    """The longest run of samples of a that lie on the line through neighbouring samples of b."""
    line = b[:, None, :]
    near = np.hypot(*(line - a[None, :, :]).transpose(2, 0, 1))
    if same:
        index = np.arange(len(a))
        apart = np.abs(index[:, None] - index[None, :])
        near[(apart < 12) | (apart > len(a) - 12)] = np.inf
    hit = near.min(axis=0) < 3.4  # half the sampling step is 2.5; across by 1 to 2.3 at most
    best = run = 0
    for k, close in enumerate(hit):
        run = run + 1 if close and across(a, b, near, k) < 1.0 else 0
        best = max(best, run)
    return best


def across(a: np.ndarray, b: np.ndarray, near: np.ndarray, k: int) -> float:
    """Distance from a[k] to the chords of b around the sample nearest to it."""
    m = int(near[:, k].argmin())
    chord = b[max(0, m - 1) : m + 2]
    return LineString(chord).distance(Point(a[k])) if len(chord) > 1 else math.inf


def test_joins_are_smooth_or_corners(built: DrawnTypeface) -> None:
    """Where segments meet they turn by less than 1.5 degrees, or by more than 9; what lies between is a kink."""
    kinks = []
    for char in shown(built):
        for contour in built.glyphs[char].path:
            nodes = [contour.start, *(s[-1] for s in contour.segments)]
            for k, (one, two) in enumerate(pairwise(contour.segments)):
                before, after = ([nodes[k], *one][-2], one[-1]), (one[-1], two[0])
                turn = abs(angle(*before) - angle(*after)) % 360.0
                turn = min(turn, 360.0 - turn)
                if 1.5 < turn < 9.0:
                    kinks.append((char, one[-1], round(turn, 1)))
    assert kinks == []


def angle(a: tuple[float, float], b: tuple[float, float]) -> float:
    return math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))


def test_marks_keep_clear_of_letters_and_of_each_other(built: DrawnTypeface) -> None:
    source = tables(HOME)
    clear = {m for m, e in source["letters"].items() if e.get("place") in ("above", "below", "beside", "before")}
    close = []
    for char in " ".join(source["composed"].values()).split():
        base, *marks = decomposed(char, source["parts"])
        parts, path = [], built.glyphs[char].path
        for key in (base, *marks):
            n = len(built.glyphs[key].path)
            parts.append((key, MultiLineString([flatten(c, 0.5) for c in path[:n]])))
            path = path[n:]
        for i, (mark, lines) in enumerate(parts[1:], 1):
            gap = min(lines.distance(other) for k, (_, other) in enumerate(parts) if k < i)
            if mark in clear and gap < PEN + 20.0:
                close.append((char, round(gap)))
    assert close == []


def test_neighbours_do_not_touch(built: DrawnTypeface, font: Font) -> None:
    """Any two letters, kerned, keep a groove's width and a fifth between their lines."""
    rows = (
        LATIN + "ÄÅÉÍÎÏĽŘŤŸáäåéíîïďęįľřťýĩỀễắợỹßæŁłØøĐđÞ0123456789.,’”-",
        "ΑΒΓΔΘΛΞΠΡΣΤΥΦΨΩΆΌαβγδεζηθικλμνξοπρσςτυφχψωίϊΐ.,’-",
        "АБГДЖЗЛРТУЎФЦЧЩЪЮЯЁЇЃҐабгдежзийклртуўфцчщъюяёїіј.,’-",
    )
    touching = []
    for row in rows:
        lines = {c: lines_of(built, c) for c in row}
        for a, b in product(row, repeat=2):
            gap = lines[a].distance(translate(lines[b], built.glyphs[a].advance - font.kern.get((a, b), 0.0)))
            if gap < 1.2 * PEN:
                touching.append((a + b, round(gap)))
    assert touching == []


def test_kerning_names_each_pair_once_and_spares_accents(font: Font) -> None:
    named = sum(len(first) * len(second) for first, second, _ in font.rules)
    assert named == len(font.kern)
    for pair in ("AV", "VA", "To", "Ty", "LT", "LY", "r.", "P.", "Lý", "Wa", "Y.", "ΤΑ", "Та"):
        assert font.kern[pair[0], pair[1]] > 10, pair
    assert font.kern["T", "ä"] <= font.kern["T", "a"]
    assert font.kern["Ť", "a"] == font.kern["T", "a"]


def test_marks_stand_where_a_composer_expects(font: Font) -> None:
    """A combining mark alone is centred on x = 0, takes no width, and clears a small letter."""
    for mark in "\u0300\u0301\u0302\u0303\u0308\u030c":
        low, high, bottom, _ = font.box(mark)
        assert font.advance[mark] == 0
        assert abs(low + high) < 10
        assert bottom >= float(font.face["x-height"]) + PEN


GROOVES = (14.0, 35.0, 70.0, 105.0, 160.0)
"""Grooves in units, from 1/50 of the capitals to more than a fifth: wider than any dot is drawn."""


@pytest.mark.source("resvg, an independent renderer of SVG")
@pytest.mark.parametrize("groove", GROOVES)
def test_dots_are_dots_in_every_groove(font: Font, groove: float) -> None:
    """An independent renderer of SVG shows each dot as one round spot without a hole."""
    shown = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400" viewBox="-100 -100 200 200">'
        f'<rect x="-100" y="-100" width="200" height="200" fill="#fff"/>'
        f'<path d="{font.path["."]}" transform="translate({-font.advance["."] / 2} 0)" fill="none" stroke="#000" '
        f'stroke-width="{groove}" stroke-linecap="round" stroke-linejoin="round"/></svg>'
    )
    picture = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=shown)))).convert("L")
    ink = np.asarray(picture) < 128
    spot = ndimage.binary_fill_holes(ink)
    assert ink.sum() == spot.sum()
    across = groove + 2 * 13.0  # its diameter: the ring's and the groove's
    assert ink.sum() == pytest.approx(math.pi * across**2, rel=0.02)  # two pixels a unit: four times pi r squared


def test_every_breve_is_the_same(font: Font) -> None:
    """The last stroke of every letter with a breve has one shape, in Latin and in Cyrillic."""
    shapes = set()
    for char in "ăĕğĭŏŭĂĔĞĬŎŬйўЙЎӂ":
        points = np.array(re.findall(r"(-?[\d.]+),(-?[\d.]+)", font.path[char].split("M")[-1]), float)
        shapes.add(tuple((points - points[0]).round().flatten()))
    assert len(shapes) == 1


def test_bowls_branch_from_their_stems_as_arches_do(built: DrawnTypeface) -> None:
    """Where the bowl of b d g p q and the arch of n h m r leave the stem, they do so at one angle and height."""
    for char in "bdgpq":
        stem, bowl = built.glyphs[char].path
        assert math.dist(bowl.start, (stem.start[0], 346.0)) < 0.1
        turn = abs(90.0 - abs(angle(bowl.start, bowl.segments[0][0])))
        assert turn == pytest.approx(28.0)
        back = abs(90.0 - abs(angle(bowl.segments[-1][-2], bowl.end)))
        assert back == pytest.approx(28.0)
    for char in "nh":
        _, arch = built.glyphs[char].path
        assert arch.start[1] == 346.0
        assert abs(90.0 - abs(angle(arch.start, arch.segments[0][0]))) == pytest.approx(28.0)


# --- the stroke language


@pytest.mark.source("Hobby, 1986: smooth curves through points")
def test_a_curve_without_handles_is_a_circle_where_a_circle_fits() -> None:
    """Hobby (1986): points and directions of a circle give one, within 0.1 % of the radius."""
    contour, _, _ = stroke("100 0 n, bend 70.710678 70.710678 n45w, bend 0 100 w, bend -100 0 s", {})
    radii = np.hypot(*flatten(contour, 0.001).T)
    assert np.abs(radii - 100.0).max() < 0.1


def test_a_quarter_is_an_ellipse() -> None:
    contour, _, _ = stroke("-200 0 n, bend 0 50 e", {"squareness": 1.0})
    x, y = flatten(contour, 0.001).T
    assert np.abs(np.hypot(x / 200.0, y / 50.0) - 1.0).max() < 0.0003  # 0.03 %: the known error of four cubics


def test_a_curve_takes_the_direction_of_its_line() -> None:
    contour, _, _ = stroke("0 0, to 0 100, bend 80 160 e", {})
    assert contour.segments[1][0][0] == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("bearing", "degrees"),
    [("e", 0), ("n", 90), ("w", 180), ("s", 270), ("n28e", 62), ("n28w", 118), ("s28w", 242), ("s28.5e", 298.5)],
)
def test_a_bearing_is_read_as_a_surveyor_reads_it(bearing: str, degrees: float) -> None:
    """Quadrant bearings: from north or south, turned towards east or west (common practice, no source)."""
    contour, _, _ = stroke(f"0 0 {bearing}, bend 100 100", {})
    x, y = contour.segments[0][0]
    assert math.degrees(math.atan2(y, x)) % 360.0 == pytest.approx(degrees)


def test_two_bearings_make_a_corner_and_home_closes() -> None:
    contour, _, _ = stroke("0 0, bend 100 0 e n, to 100 100, to home", {})
    assert contour.segments[0][1][1] == pytest.approx(0.0)
    assert contour.closed
    assert contour.end == contour.start


def test_an_end_is_moved_onto_the_stroke_it_meets() -> None:
    _, bowl = strokes(["0 0, to 0 700", "4 300 touch n30e, bend 200 500 e"], {})
    assert bowl.start == (pytest.approx(0.0), pytest.approx(300.0))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0 0, on 1 1", "'on' is no way to go on"),
        ("0 0, to here", "is not a point"),
        ("0 0, to 0 cup", "'cup' is not a number"),
        ("0 0 north, bend 1 1", "is not a bearing"),
        ("0 0 n s e, bend 1 1", "more than two bearings"),
        ("0 0,", "is no way to go on"),
        ("0 0", "a stroke is a point"),
        ("0 0, to home, to 1 1", "is no way to go on"),
        ("circle 1 2", "circle takes"),
        ("0 0, bend 1 1, bend 2 0, bend home", "needs a direction"),
    ],
)
def test_what_cannot_be_read_says_so(text: str, says: str) -> None:
    with pytest.raises(StrokeError, match=re.escape(says)):
        stroke(text, {"cap": 700.0})


def test_a_letter_that_uses_one_not_drawn_is_named() -> None:
    with pytest.raises(TableError, match="Đ uses D"):
        letters({"Đ": {"use": ["D"]}}, {"cap": 700.0, "x": 490.0})
    with pytest.raises(TableError, match="wings unknown"):
        letters({"Đ": {"wings": 2}}, {"cap": 700.0, "x": 490.0})
    with pytest.raises(TableError, match="'beside it' is no place"):
        letters({"D": {}, "Đ": {"use": ["D beside it"]}}, {"cap": 700.0, "x": 490.0})


def test_the_specimen_is_true_to_size(built: DrawnTypeface) -> None:
    """An H of 8 mm cap at 12 px a millimetre stands 96 px high, and a groove of a tenth of that more."""
    ink = np.asarray(draw(built, [SpecimenLine("H", 8.0)], 20.0).convert("L")) < 128
    rows = np.flatnonzero(ink.any(axis=1))
    assert abs(rows[-1] - rows[0] + 1 - 96 * 1.1) <= 1.5
