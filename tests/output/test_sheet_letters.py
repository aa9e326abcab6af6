"""No empty box stands where a buyer's letter or sign should: on the proof, hearts once were boxes."""

from __future__ import annotations

import ctypes
import sys
from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest

from engrave.making import environment
from engrave.output.sheets import order_proof
from engrave.output.typesetting import typesetter_for
from engrave.output.typesetting.shown_words import shown_data
from engrave.output.words_on_lid import words_cut
from engrave.problems import Problem
from engrave.typefaces.characters import clusters
from engrave.typefaces.supply.ornaments import PICTURES
from engrave.verbs import try_words

NAMES = {
    "Latin": "Łukasz Nguyễn Þórður", "Greek": "Ελένη", "Cyrillic": "Їжак", "Hebrew": "נועה", "Arabic": "مريم",
    "Devanagari": "लक्ष्मी", "Armenian": "Անի", "Georgian": "ნინო",
}  # fmt: skip
"""A name in each script that our typefaces set."""

CUT = [*NAMES.values(), *PICTURES]


def shown(text: str) -> str:
    """What a sheet shows of a text."""
    data = {"text": text}
    told = shown_data(data, typesetter_for(data, environment().shelf).letters)
    return str(told["text"])


@pytest.mark.parametrize("text", CUT, ids=[*NAMES, *(f"sign-{n}" for n in range(len(PICTURES)))])
def test_sheets_show_every_script_and_sign_that_we_can_cut(text: str) -> None:
    assert shown(text) == text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Zoë 🎈", "Zoë [balloon]"),
        ("👍🏽 Ann", "[thumbs up sign] Ann"),
        ("❤️", "[heavy black heart]"),
        ("A\u200dB", "A\u200dB"),
    ],
)
def test_a_sign_that_no_typeface_has_is_written_as_its_name(text: str, told: str) -> None:
    assert shown(text) == told


def test_words_as_cut_leave_out_what_is_left_out_and_show_what_is_drawn() -> None:
    (piece,) = (e.piece for e in try_words("Ann 🧡 Bob 🎈 Kit", env=environment(), lid="heart-box").entries)
    assert " ".join(words_cut(piece)) == "Ann ♥ Bob Kit"
    assert words_cut(replace(piece, lettering=None)) == ()
    other = replace(piece, problems=(Problem("sign-left-out", "note", "", "🎈"),))  # as once it is accepted
    assert "🎈" not in clusters(" ".join(words_cut(other)))


def test_the_proof_sets_signs_and_scripts_in_typefaces_that_have_them() -> None:
    env = environment()
    pieces = [e.piece for e in try_words("♥ Ann ★", "Անի ნინო", env=env, lid="heart-box", typeface="vollkorn").entries]
    found = fonts_of(order_proof(pieces, "4F8G6M", env.shop, env.shelf).pdf)
    for family in ("Sheet-Signs", "NotoSansArmenian", "NotoSansGeorgian", "Vollkorn"):
        assert any(family in name for name in found), (family, found)


def test_the_proof_says_which_signs_are_left_out() -> None:
    """The buyer agrees to words without them: a name in brackets among the words as they came is easily passed over."""
    env = environment()
    pieces = [e.piece for e in try_words("Happy 40th 🎂🎉", env=env, lid="heart-box").entries]
    page = pdfium.PdfDocument(order_proof(pieces, "4F8G6M", env.shop, env.shelf).pdf)[0]
    told = " ".join(page.get_textpage().get_text_range().split())
    assert "left out, as it cannot be cut: [party popper]" in told
    plain = [e.piece for e in try_words("Happy 40th", env=env, lid="heart-box").entries]
    page = pdfium.PdfDocument(order_proof(plain, "4F8G6M", env.shop, env.shelf).pdf)[0]
    assert "left out" not in page.get_textpage().get_text_range()


def fonts_of(pdf: bytes) -> set[str]:
    """Names of the typefaces of a PDF's texts, as another reader finds them."""
    names: set[str] = set()
    for page in pdfium.PdfDocument(pdf):
        for item in page.get_objects(filter=(pdfium_c.FPDF_PAGEOBJ_TEXT,)):
            font = pdfium_c.FPDFTextObj_GetFont(item.raw)
            buffer = ctypes.create_string_buffer(200)
            pdfium_c.FPDFFont_GetBaseFontName(font, buffer, 200)
            names.add(buffer.value.decode())
    return names


def test_the_typeface_of_signs_is_what_its_tool_makes() -> None:
    sys.path.insert(0, str(Path(__file__).parents[1] / "tools"))
    import sheet_type

    assert sheet_type.INTO.read_bytes() == sheet_type.signs()
