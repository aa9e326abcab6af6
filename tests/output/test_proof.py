"""The proof measures what it says, says what the buyer needs and nothing of the bench; read back by another reader."""

from __future__ import annotations

import ctypes
import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
from click.testing import CliRunner
from PIL import Image
from read_pdf import page_texts
from shapely import box as rectangle

from engrave.cli import SOME_HELD, main
from engrave.making import Env, Piece, environment
from engrave.output import typesetting
from engrave.output.numbers import length_told
from engrave.output.pictures import Scene, scene
from engrave.output.pictures.few_colours import INKS, WARN, in_colours_of, lid_colours
from engrave.output.pictures.frames import frame_at
from engrave.output.pictures.lid_rendering import cut_shape, lid_pixels
from engrave.output.pictures.paper import PAPER
from engrave.output.sheets import Proof, order_proof
from engrave.output.sheets import proof as proof_sheet
from engrave.output.sheets.proof import clear_band, proof_scene
from engrave.output.sheets.sheet_layout import ISO_PAPERS, sheet_for
from engrave.output.svg import proof_code
from engrave.units import MM_PER_INCH
from engrave.verbs import try_words

POINTS = 72.0 / MM_PER_INCH
"""PDF points a mm (ISO 32000-1, 8.3.2.3: a unit of user space is 1/72 in)."""

BENCH_WORDS = ("watt", "eyewear", "nm", "cancer", "asthma", "interlock", "pass", "raster", "machine", "|")


@cache
def env() -> Env:
    return environment()


def tried(name: str = "Wanda", message: str = "", **how: str) -> list[Piece]:
    return [e.piece for e in try_words(name, message, env=env(), **how).entries]


def ordered(pieces: list[Piece], order: str) -> list[Piece]:
    return [replace(p, order=replace(p.order, id=order, row=2)) for p in pieces]


def proved(pieces: list[Piece], code: str | None = "4F8G6M") -> Proof:
    return order_proof(pieces, code, env().shop, env().shelf)


def text_of(proof: Proof) -> str:
    return "\n".join(page_texts(proof.pdf))


def placed_images(proof: Proof) -> list[tuple[float, float]]:
    """Width and height in mm of the pictures on the PDF's first page, as another reader places them."""
    page = pdfium.PdfDocument(proof.pdf)[0]
    found = []
    for item in page.get_objects(filter=(pdfium_c.FPDF_PAGEOBJ_IMAGE,)):
        left, bottom, right, top = (ctypes.c_float() for _ in range(4))
        pdfium_c.FPDFPageObj_GetBounds(item.raw, left, bottom, right, top)
        found.append(((right.value - left.value) / POINTS, (top.value - bottom.value) / POINTS))
    return found


@pytest.mark.source("PDFium; ISO 32000-1, 8.3.2.3: a unit is 1/72 in; ISO 216 paper")
@pytest.mark.parametrize("lid", ["round-caddy", "needle-box", "kite-box", "paint-box", "seed-box", "heart-box"])
def test_the_pdf_is_at_true_size_on_one_sheet_of_a_known_paper(lid: str) -> None:
    pieces = tried("Wanda", "sixty summers on the river", lid=lid)[:1]
    proof = proved(pieces)
    document = pdfium.PdfDocument(proof.pdf)
    assert len(document) == 1
    width, height = document[0].get_size()
    assert (round(width / POINTS), round(height / POINTS)) in ISO_PAPERS
    area = pieces[0].task.area if pieces[0].task else None
    assert area is not None
    picture = max(placed_images(proof))
    pad = 2 * 5.0  # mm of paper on either side, to the pixel
    assert picture[0] == pytest.approx(area.width + pad, abs=0.4)
    assert picture[1] == pytest.approx(area.height + pad, abs=0.4)
    assert len(proof.pdf) < 300_000


@pytest.mark.source("Pillow, the PNG's stated dots an inch (W3C, PNG, pHYs)")
def test_the_png_says_its_dots_an_inch_and_its_ruler_measures_right() -> None:
    proof = proved(tried())
    picture = Image.open(io.BytesIO(proof.png))
    dpi = picture.info["dpi"][0]
    sheet = sheet_for([(92.0, 92.0)], "mm")
    assert dpi == pytest.approx(sheet.dpi, rel=1e-3)
    assert picture.width / dpi * MM_PER_INCH == pytest.approx(sheet.width, abs=0.5)
    ticks = columns_of_a_line(np.asarray(picture.convert("L"), dtype=float), dpi, high_mm=3.0)
    assert (ticks.max() - ticks.min()) / dpi * MM_PER_INCH == pytest.approx(50.0, abs=0.25)


@pytest.mark.source("Pillow, the PNG's stated dots an inch (W3C, PNG, pHYs)")
@pytest.mark.parametrize("lid", ["round-caddy", "reel-box", "seed-box", "needle-box"])
def test_a_lid_is_as_wide_in_the_png_as_its_dots_say(lid: str) -> None:
    """The lid's picture is put into the sheet dot for dot, between what is set in type round it."""
    (piece,) = tried("Wanda", lid=lid, wood="walnut")[:1]
    picture = Image.open(io.BytesIO(proved([piece]).png))
    assert piece.task is not None
    dark = np.asarray(picture.convert("L")) < 150
    runs = sorted(max(len(run) for run in "".join("#" if d else " " for d in row).split(" ")) for row in dark)
    wide = runs[-10] / picture.info["dpi"][0] * MM_PER_INCH  # a lid's, which has many rows; a dimension's line has few
    assert wide == pytest.approx(piece.task.area.width, abs=0.8)


@pytest.mark.parametrize(
    ("lid", "wood", "cutter"),
    [("round-caddy", "oak", "co2-tube"), ("fly-box", "cherry", "co2-tube"), ("paint-box", "walnut", "v60"),
     ("card-box", "maple", "mill-1"), ("needle-box", "basswood", "diode-450")],
)  # fmt: skip
def test_few_colours_look_like_all_of_them(lid: str, wood: str, cutter: str) -> None:
    """Shadows once came out in bands, and a burn's brown as grey: no colour may lie far from its own."""
    (piece,) = tried("Wanda", lid=lid, wood=wood, cutter=cutter)[:1]
    seen = scene(piece)
    assert seen is not None
    drawn = lid_pixels(seen, frame_at(seen, 6.0, 30), PAPER, "K-1")
    few = in_colours_of(drawn, seen, PAPER)
    far = np.abs(np.asarray(drawn, dtype=int) - np.asarray(few.convert("RGB"), dtype=int)).max(axis=2)
    assert len(few.getcolors()) <= 256
    assert far.mean() < 4.0
    assert np.percentile(far, 99) <= 14
    colours = np.abs(np.diff(lid_colours(seen, PAPER)[43:83].astype(int), axis=0))
    assert colours.max() <= 4  # the shadow's steps


def test_the_colours_of_a_proof_are_those_its_templates_write_in() -> None:
    """Another ink in a template would be drawn in the nearest wood."""
    sheet = (Path(typesetting.__file__).parent / "templates" / "sheet.typ").read_text("utf-8")
    inks = dict(re.findall(r'#let ([\w-]+) = rgb\("(#\w+)"\)', sheet))
    assert inks.pop("paper-ink") == PAPER
    assert inks.pop("warn") == WARN
    assert set(inks.values()) == {ink for ink, _ in INKS}


@pytest.mark.parametrize("wood", ["maple", "walnut"])
@pytest.mark.parametrize(
    "whys", [("hinge", "wooden handle"), ("inlay", "clasp"), ("hinge", "inlay"), ("dowel", "inlay")]
)
def test_each_fitting_has_colours_of_its_own(whys: tuple[str, str], wood: str) -> None:
    """On a lid with brass and another wood only the first had them, and the other was drawn in the lid's."""
    (piece,) = tried("Wanda", lid="fly-box", wood=wood)[:1]
    seen = scene(piece)
    assert seen is not None
    fittings = tuple(replace(keep, why=why) for keep, why in zip(seen.keep_outs, whys, strict=True))
    seen = replace(seen, keep_outs=fittings)
    drawn = lid_pixels(seen, frame_at(seen, 6.0, 30), PAPER, "K-1")
    few = in_colours_of(drawn, seen, PAPER)
    far = np.abs(np.asarray(drawn, dtype=int) - np.asarray(few.convert("RGB"), dtype=int)).max(axis=2)
    assert np.percentile(far, 99) <= 14
    assert len(lid_colours(seen, PAPER)) <= 256


def by_the_typesetter(face, detail, seen, data, sheet, shelf) -> bytes:  # type: ignore[no-untyped-def]
    """Return a proof's PNG as the template of several lids has it."""
    pictures = {
        data["lids"][0]["picture"]: proof_sheet.as_jpeg(face.picture),
        "detail.jpg": proof_sheet.as_jpeg(detail),
    }
    (png,) = proof_sheet.typesetter_for(data, shelf).pages("proof_message.typ", data, pictures, dpi=sheet.dpi)
    return png


@pytest.mark.parametrize("wood", ["maple", "walnut"])
def test_a_proof_on_hold_looks_as_the_typesetter_draws_it(wood: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its stamp is laid over the lid's picture; it was once drawn another way, in 800 kB."""
    (piece,) = tried("Rosemary", lid="card-box", wood=wood)[:1]
    drawn = proved([piece], None).png
    assert len(drawn) < 250_000
    monkeypatch.setattr(proof_sheet, "framed_png", by_the_typesetter)
    typeset = proved([piece], None).png
    pixels = (np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=int) for png in (drawn, typeset))
    red = [np.argwhere((of[:, :, 0] - of[:, :, 2] > 80) & (of[:, :, 0] < 170) & (of[:, :, 1] < 90)) for of in pixels]
    ends = [np.array([of.min(axis=0), of.max(axis=0)]) for of in red]
    assert len(red[0]) == pytest.approx(len(red[1]), rel=0.1)
    assert (
        np.abs(ends[0] - ends[1]).max() <= sheet_for([(104.0, 74.0)], "mm").dpi / MM_PER_INCH
    )  # a mm: the two round their airs


def test_what_was_kept_changes_no_proof() -> None:
    """Lights of lids, boards and tiles are kept from proof to proof."""
    pieces = [p for wood in ("oak", "walnut") for p in tried("Wanda", lid="fly-box", wood=wood)]
    assert len(pieces) == 2
    first, again = ([proved([piece]) for piece in pieces] for _ in range(2))
    assert again == first
    fresh = environment()
    assert [order_proof([piece], "4F8G6M", fresh.shop, fresh.shelf) for piece in reversed(pieces)] == again[::-1]


def columns_of_a_line(grey: np.ndarray, dpi: float, high_mm: float) -> np.ndarray:
    """Columns of the sheet's foot in which an upright line of that height stands: the ruler's two ends."""
    foot = grey[-round(16 / MM_PER_INCH * dpi) :]
    ink = (foot < foot.max() - 25).sum(axis=0) / dpi * MM_PER_INCH
    return np.flatnonzero(ink >= 0.85 * high_mm)


def test_it_tells_the_buyer_what_came_what_is_cut_and_how_to_answer() -> None:
    pieces = ordered(tried("Tatjana", "every knot you taught me|held", lid="paint-box", wood="walnut"), "K-7")
    code = proof_code(pieces[0])
    told = text_of(proved(pieces, code))
    for words in ("Tatjana", "every knot you taught me\r\nheld", "order K-7", f"Reply with {code}", "Paint box",
                  "Black walnut", "240 mm × 160 mm", "read from here", "hinge", "enlarged", env().shop.name):  # fmt: skip
        assert words in told, words
    assert not [word for word in BENCH_WORDS if word in told.casefold().replace("mm", "")]


def test_a_shop_of_inches_reads_no_millimetre_and_its_own_words() -> None:
    """The detail's finest line stood in mm, thicker strokes and heavier lines in English."""
    shop = env().shop
    say = replace(shop.proof, units="in", thicker="Striche um {width} staerker", lines_wide="Linien {width} breit")
    shop = replace(shop, proof=say)
    thick, heavy = tried("Rosemary", lid="card-box", thicken="3 %"), tried("Wanda", lid="heart-box", typeface="withy")
    for pieces, told in ((thick, r"Striche um 0\.0\d+ in staerker"), (heavy, r"Linien 0\.0\d+ in breit")):
        proof = " ".join(text_of(order_proof(pieces, None, shop, env().shelf)).split())
        assert re.search(told, proof), proof
        assert re.search(r"its finest line is 0\.0\d+ in wide", proof)
        assert " mm" not in proof


def test_words_only_tried_name_no_order() -> None:
    """It once read 'order try', on a picture that goes to a buyer."""
    told = text_of(proved(tried("Ida")))
    assert "not ordered yet" in told
    assert "order try" not in told


def test_all_areas_of_an_order_stand_on_one_proof_under_one_code() -> None:
    pieces = tried("Charlotte", "with love from all at the ferry steps", lid="letter-box")
    assert len(pieces) == 2
    told = text_of(proved(pieces))
    assert "inside of the lid" in told
    assert "from all at the" in told
    assert told.count("4F8G6M") == 2  # in the heading and in how to answer
    assert told.count("enlarged") == 1  # one detail for the whole order


def test_two_large_areas_are_as_large_as_the_paper_allows_and_the_sheet_says_how_large() -> None:
    """Two lids of 180 x 130 mm stood at 1 : 1.5 on an A3, and a seventh of it was empty."""
    proof = proved(tried("Charlotte", "with love", lid="letter-box"))
    assert "Drawn at 1 : 1.25; " in text_of(proof)
    lids = [picture for picture in placed_images(proof) if picture[0] > 100]
    assert len(lids) == 2
    for wide, high in lids:
        assert wide == pytest.approx(180 / 1.25 + 2 * 5.0, abs=0.4)  # with the paper on either side
        assert high == pytest.approx(130 / 1.25 + 2 * 5.0, abs=0.4)


@pytest.mark.parametrize("lids", [2, 3, 4, 6, 8])
def test_up_to_eight_lids_stand_on_one_sheet_with_one_enlarged_detail(lids: int) -> None:
    pieces = tried("Rosemary", "for the evenings", lid="fly-box", wood="oak") * lids
    proof = proved(pieces)
    assert len(pdfium.PdfDocument(proof.pdf)) == 1
    assert text_of(proof).count("enlarged") == 1
    assert len(proof.pdf) < 300_000


def test_nine_lids_too_large_for_one_sheet_come_on_further_ones_under_the_same_code() -> None:
    proof = proved(tried("Rosemary", "for the evenings", lid="fly-box", wood="oak") * 9)
    pages = page_texts(proof.pdf)
    assert len(pages) >= 2
    assert all("4F8G6M" in page for page in pages)
    assert text_of(proof).count("Fly box") >= 9


def test_each_further_sheet_of_many_lids_bears_the_same_code() -> None:
    """Above eight lids; a sheet in the middle once bore no code."""
    pieces = tried("Wanda") * 20
    proof = proved(pieces)
    pages = page_texts(proof.pdf)
    assert len(pages) >= 3
    assert all("4F8G6M" in page for page in pages)
    assert len(proof.pdf) < 300_000
    assert text_of(proof).count("Tea caddy") >= 20
    assert "1 : " in text_of(proof)


def test_words_that_cannot_be_cut_are_shown_as_not_agreed_and_have_no_code() -> None:
    pieces = tried("Bartholomew Featherstonehaugh", lid="needle-box", typeface="vollkorn", cutter="mill-1", wood="oak")
    assert not pieces[0].is_made
    assert pieces[0].is_laid
    told = text_of(proved(pieces, None))
    assert told.count("not agreed") == 2  # over the lid and where a code would stand
    assert "Reply" not in told
    assert "As they would lie" in told
    assert "will be cut" not in told
    assert not re.search(r"\b(?=\w*\d)[A-Z0-9]{6}\b", told)  # no code


LONG = "the quick brown fox jumps over the lazy dog and a very long message that cannot be read any more"


def test_words_that_no_cutter_leaves_are_shown_as_they_would_lie_and_the_stamp_lies_on_none() -> None:
    """The proof once showed what the bit leaves of them, which was bare wood, and stamped over the last line."""
    (piece,) = tried("Zoë & Max", f"{LONG} {LONG}", lid="card-box", typeface="vollkorn", cutter="mill-1", wood="oak")
    assert not piece.is_made
    seen, bare = proof_scene(piece), scene(piece)
    assert seen is not None
    assert bare is not None
    drawn = cut_shape(seen)
    assert drawn.area > 2.0 * bare.cut.area > 0.0
    assert piece.lettering is not None
    assert len(piece.lettering.lines) > 5
    rows = {round(m.matrix[5]) for m in piece.lettering.marks}
    assert len(rows) > 5
    high = drawn.bounds[3] - drawn.bounds[1]
    assert high > 0.5 * seen.view.height  # the last line too
    middle = clear_band(seen)
    assert not drawn.intersects(rectangle(0.0, middle - 1.0, seen.view.width, middle + 1.0))


def test_the_command_line_draws_the_proof_of_words_on_hold(tmp_path: Path) -> None:
    """It once said that nothing can be cut, and drew none; where a piece stands was said twice."""
    file = tmp_path / "held.png"
    ran = CliRunner().invoke(main, ["try", "Zoë", "--message", LONG, "--lid", "round-caddy", "--proof", str(file)])
    assert ran.exit_code == SOME_HELD
    assert Image.open(io.BytesIO(file.read_bytes())).width > 600
    assert ran.output.count("between the r and the y") == 1


def test_a_board_that_does_not_turn_has_no_hinge() -> None:
    """The front of a box once had the hinge of its lid."""
    pieces = try_words("Wanda", "sixty summers", foot="14 June 2026", lid="paint-box", env=env()).entries
    assert len(pieces) == 2
    told = text_of(proved([e.piece for e in pieces]))
    assert told.count("read from here") == 2
    assert told.count("hinge") == 1


@pytest.mark.source("the sheet's words and lines as PDFium finds them")
@pytest.mark.parametrize("lid", ["fly-box", "reel-box", "letter-box", "paint-box"])
def test_the_hinge_is_named_apart_from_dimensions_and_from_where_it_is_read(lid: str) -> None:
    """'hinge' once crossed the dimension's line, and on an inside both pointed at one edge."""
    inside = "and so say all of us" if lid == "letter-box" else ""
    pieces = tried("Wanda", inside, lid=lid)
    page = pdfium.PdfDocument(proved(pieces).pdf)[0]
    text = page.get_textpage()
    whole = text.get_text_range()
    boxes = [
        (*text.get_charbox(m.start()), *text.get_charbox(m.end() - 1))
        for m in re.finditer(r"hinge|read from here|[\d.]+ mm(?= ?\r?\n|$)", whole)
    ]
    rects = [(min(a, e), min(b, f), max(c, g), max(d, h)) for a, b, c, d, e, f, g, h in boxes]
    assert len(rects) >= 4 * len(pieces)
    lines = [item.get_bounds() for item in page.get_objects(filter=(pdfium_c.FPDF_PAGEOBJ_PATH,))]
    thin = [line for line in lines if min(line[2] - line[0], line[3] - line[1]) < 3.0]
    for n, one in enumerate(rects):
        assert not any(overlap(one, other) for other in rects[n + 1 :]), whole
        assert not any(overlap(one, line) for line in thin), (lid, one)


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether two boxes (left, bottom, right, top; points) share more than a hair."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    up = min(one[3], other[3]) - max(one[1], other[1])
    return across > 0.3 and up > 0.3


def test_scripts_without_capitals_have_letters() -> None:
    assert "capitals" not in text_of(proved(tried("שרה", lid="card-box", typeface="noto-sans-hebrew")))
    assert "capitals" in text_of(proved(tried("Sarah", lid="card-box")))


def test_a_shop_in_inches_reads_inches_on_its_own_paper() -> None:
    inches = replace(env(), shop=replace(env().shop, proof=replace(env().shop.proof, units="in")))
    proof = order_proof(tried(lid="seed-box"), "4F8G6M", inches.shop, inches.shelf)
    assert "7 1/4 in × 4 3/8 in" in text_of(proof)
    width, height = pdfium.PdfDocument(proof.pdf)[0].get_size()
    assert (width, height) in ((612.0, 792.0), (792.0, 612.0), (792.0, 1224.0))  # 8.5 x 11 and 11 x 17 in


@pytest.mark.parametrize(
    ("mm", "told"),
    [(92.0, "92 mm"), (0.184, "0.18 mm"), (25.4, "1 in"), (92.075, "3 5/8 in"), (6.35, "1/4 in"), (1.016, "0.04 in")],
)
def test_lengths_as_the_shop_writes_them(mm: float, told: str) -> None:
    assert length_told(mm, told.split()[-1]) == told


def test_the_same_order_gives_the_same_bytes() -> None:
    pieces = tried()
    assert proved(pieces) == proved(pieces)


def test_buyers_words_are_never_read_as_the_templates_language() -> None:
    told = text_of(proved(tried("#panic() $x$ *b* @a")))
    assert "#panic() $x$ *b* @a" in told


@pytest.mark.source("CLDR's decimal signs, by Babel")
def test_a_shop_with_its_own_language_reads_its_own_words_and_figures() -> None:
    shop = env().shop
    ours = {name for name in vars(type(shop.proof))["__slots__"] if name not in ("units", "language", "line")}
    own = {name: re.sub(r"[A-Za-z]+(?![^{]*})", "Wort", getattr(shop.proof, name)) for name in ours}
    say = replace(shop.proof, language="de", line="Am Anleger 3", **own)
    pieces = tried("Wanda", lid="heart-box", typeface="withy") + tried("Charlotte", "with love", lid="letter-box")
    told = text_of(order_proof(pieces, "4F8G6M", replace(shop, proof=say), env().shelf))
    assert "Am Anleger 3" in told
    assert "101,7 mm" in told
    assert not re.search(r"\d\.\d", told)
    for word in ("Reply", "read from", "capitals", "enlarged", "Wood", "true size", "hinge", "inside of", "order"):
        assert word not in told, word


def across_pixels(profile: np.ndarray, share: float) -> float:
    """Pixels between the two places where a dark stroke's profile is at a share of its depth, to a part of one."""
    edge = np.percentile(profile, 98) * share
    above = np.flatnonzero(profile > edge)
    first, last = int(above[0]), int(above[-1])
    left = (profile[first] - edge) / (profile[first] - profile[first - 1])
    right = (profile[last] - edge) / (profile[last] - profile[last + 1])
    return float(last - first + left + right)


def stem(cutter: str, wood: str, typeface: str, scale: float) -> tuple[Piece, Scene, np.ndarray]:
    """The piece and picture of an I, and across the middle of its stem how much darker each pixel is than bare wood."""
    (piece,) = tried("I", cutter=cutter, typeface=typeface, wood=wood, lid="card-box")
    seen = scene(piece)
    assert seen is not None
    frame = frame_at(seen, scale, 20)
    blank = replace(seen, strokes=(), cut=seen.cut.difference(seen.cut))
    drawn, bare = (np.asarray(lid_pixels(s, frame, PAPER, "K-1").convert("L"), dtype=float) for s in (seen, blank))
    box = frame.box(seen.cut, 0)
    rows = slice(box[1] + (box[3] - box[1]) // 3, box[1] + 2 * (box[3] - box[1]) // 3)
    return piece, seen, (bare - drawn)[rows, box[0] - 12 : box[2] + 12].mean(axis=0)


GROOVES = {
    "a V-cut line": ("v60", "maple", "withy"), "a line": ("mill-1", "maple", "withy"), "round": ("ball-1", "cherry", "withy"),
    "lines side by side": ("diode-450", "basswood", "withy"), "V-cut letters": ("v60", "maple", "noto-sans"),
    "burnt letters": ("co2-tube", "oak", "noto-sans"), "milled letters": ("mill-05", "maple", "noto-sans-bold"),
}  # fmt: skip


@pytest.mark.parametrize("scale", [4.33, 5.9, 8.66, 17.3], ids=["110 dpi", "150 dpi", "220 dpi", "a detail"])
@pytest.mark.parametrize(("cutter", "wood", "typeface"), GROOVES.values(), ids=GROOVES)
def test_a_stem_is_as_wide_in_pixels_as_the_task_says(cutter: str, wood: str, typeface: str, scale: float) -> None:
    """Within three quarters of a pixel. A groove's lower right wall is lit: it counts as groove from a third of its depth of
    shade on, where a burn, with its breath of smoke, ends at half."""
    piece, seen, profile = stem(cutter, wood, typeface, scale)
    width = across_pixels(profile, 0.5 if seen.beam else 0.3)
    left, top, right, bottom = seen.cut.bounds
    middle = seen.cut.intersection(rectangle(left, top + (bottom - top) * 0.45, right, top + (bottom - top) * 0.55))
    across = middle.bounds[2] - middle.bounds[0]
    assert width == pytest.approx(across * scale, abs=0.75)
    if typeface == "withy" and cutter != "diode-450":
        assert piece.task is not None
        assert across == pytest.approx(piece.task.tool.groove, abs=0.01)


@pytest.mark.parametrize("scale", [4.33, 5.9, 8.66])
@pytest.mark.parametrize(("cutter", "wood"), [("v60", "maple"), ("diode-450", "basswood"), ("mill-1", "maple")])
def test_a_groove_is_drawn_as_wide_as_the_tool_leaves_it(cutter: str, wood: str, scale: float) -> None:
    """The stem of an I, measured as the sum of what changed across it: where a pixel is wide, this is the closer measure."""
    _, seen, profile = stem(cutter, wood, "withy", scale)
    across = seen.cut.bounds[2] - seen.cut.bounds[0]
    full = 0.93 * (grey(seen.wood.colour) - grey(seen.wood.burn)) if seen.beam else np.percentile(profile, 99)
    width = profile.clip(0).sum() / full / scale
    assert width == pytest.approx(across, rel=0.3, abs=0.08)


def grey(colour: str) -> float:
    """The luma of a colour, as the picture's own reduction to grey has it (ITU-R BT.601)."""
    return float(np.asarray(Image.new("RGB", (1, 1), colour).convert("L"))[0, 0])
