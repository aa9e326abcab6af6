"""The picture of what fails: the right places magnified, the right tones where they are, words that read left to right."""

from __future__ import annotations

import io

import numpy as np
import pypdfium2 as pdfium
import pytest
from numpy.typing import NDArray
from PIL import Image

from engrave.cutting import Spot
from engrave.making import Env, environment
from engrave.output.pictures import failure_png
from engrave.output.pictures.failure_picture import FLOOR, LENS, TEMPLATE, chosen, failure_told
from engrave.output.pictures.paper import DARK, EDGE, LOST, THIN
from engrave.output.pictures.scenes import rgb
from engrave.output.typesetting import own_typesetter
from engrave.verbs import try_words


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def stroke(text: str, x: float, width: float = 0.1) -> Spot:
    return Spot(x, 0.0, text, width, "stroke", "the bit cuts 1.00 mm")


def web(text: str, x: float) -> Spot:
    return Spot(x, 0.0, text, 0.2, "web", "it needs 0.40 mm")


@pytest.mark.parametrize(
    ("spots", "shown"),
    [
        ([], []),
        ([stroke("n", 0), stroke("n", 50), stroke("n", 90)], [0]),  # the same again
        ([stroke("n", 0), stroke("m", 1), stroke("u", 50)], [0, 2]),  # m is in the first square already
        ([stroke("n", 0), stroke("m", 20), stroke("u", 50), stroke("h", 80)], [0, 1, 2]),
        ([stroke("n", 0), stroke("m", 20), stroke("u", 50), web("a", 80)], [0, 3, 1]),  # the worst of each kind
        ([stroke("n", 0), web("n", 0), web("ab", 30)], [0, 1, 2]),
        ([web("ab", 0), web("ab", 30), stroke("n", 60)], [0, 2]),
    ],
)
def test_which_places_are_magnified(spots: list[Spot], shown: list[int]) -> None:
    assert chosen(spots) == shown


def picture(env: Env, words: str, **columns: str) -> NDArray[np.uint8]:
    piece = try_words(words, env=env, **columns).entries[0].piece
    return np.asarray(Image.open(io.BytesIO(failure_png(piece, env.shelf, env.shop))).convert("RGB"))


def of_tone(image: NDArray[np.uint8], colour: str) -> NDArray[np.bool_]:
    """Pixels of a colour; pictures have a palette of few colours, so that one may be a little off."""
    return np.asarray(abs(image.astype(int) - np.array(rgb(colour))).max(axis=2) < 12)


KEY = 16 * 16
"""Pixels of a tone's square in the key, at least."""


CASES = {
    "lost strokes": ("♥ Ann ♥ Bob ♥", "heart-box", "linux-libertine", "mill-1", "cherry", (LOST,), (THIN,)),
    "a beam's webs": ("Willi", "round-caddy", "noto-sans-bold", "co2-tube", "pine", (THIN,), (LOST,)),
    "loops that fill": ("Bee", "card-box", "hershey-sans", "ball-2", "maple", (THIN,), (LOST,)),
    "a flat floor": ("Zoë", "heart-box", "noto-sans", "v60", "maple", (FLOOR,), (LOST, THIN)),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_tones_show_what_there_is_and_no_more(
    env: Env, case: tuple[str, str, str, str, str, tuple[str, ...], tuple[str, ...]]
) -> None:
    words, lid, typeface, cutter, wood, there, absent = case
    message = "with all our love and a little more" if THIN in there else ""
    found = picture(env, words, message=message, lid=lid, typeface=typeface, cutter=cutter, wood=wood)
    for colour in there:
        assert of_tone(found, colour).sum() > KEY + 40, colour  # in the key and in the picture
    for colour in absent:
        assert of_tone(found, colour).sum() < KEY / 2, colour


def test_the_middle_of_the_first_square_is_the_place_itself(env: Env) -> None:
    """The arch of the n is lost, and runs through it."""
    found = picture(env, "♥ Ann ♥ Bob ♥", lid="heart-box", typeface="linux-libertine", cutter="mill-1", wood="cherry")
    x = EDGE + LENS // 2
    badge = of_tone(found[:, x - 10 : x - 6], DARK).all(axis=1)  # beside the number on its disc below the square
    centre = int(np.flatnonzero(badge).mean()) - LENS // 2 - 2
    middle = of_tone(found[centre - 12 : centre + 13, x - 12 : x + 13], LOST)
    assert middle.mean() > 0.3
    assert not of_tone(found[centre - 12 : centre + 13, x - 120 : x - 95], LOST).any()


def test_a_sentence_that_begins_with_a_hebrew_word_still_reads_from_the_left(env: Env) -> None:
    """The picture's sentences are English, whatever script the first name in one has."""
    piece = try_words("Ann", env=env, lid="heart-box").entries[0].piece
    told, pictures = failure_told(piece, env.shop)
    told["trouble"]["says"] = ["מזל would not be cut"]
    (pdf,) = own_typesetter().pages(TEMPLATE, told, pictures)
    text = pdfium.PdfDocument(pdf)[0].get_textpage()
    whole = text.get_text_range()
    hebrew, last = (text.get_charbox(whole.index(word)) for word in ("מ", "cut"))
    assert EDGE - 2 < hebrew[0] < last[0]


def test_the_findings_and_what_is_magnified_are_said_in_one_kind_of_quotation_marks(env: Env) -> None:
    how = {"lid": "heart-box", "typeface": "linux-libertine", "cutter": "mill-1", "wood": "cherry"}
    piece = try_words("♥ Ann ♥ Bob ♥", env=env, **how).entries[0].piece
    told, pictures = failure_told(piece, env.shop)
    (pdf,) = own_typesetter().pages(TEMPLATE, told, pictures)
    text = " ".join(pdfium.PdfDocument(pdf)[0].get_textpage().get_text_range().split())
    for words in ("stroke 0.40 mm at n", "the bit cuts 1.00 mm", "drawn, not cut", "hold: The end mill 1 mm"):
        assert words in text, words
    assert not set("'‘") & set(text)
