"""What a typeface lacks: composed, lent by a companion, drawn by us, left out, or a hold that says what would help."""

from __future__ import annotations

import math

import pytest

from engrave.geometry.flattening import bounds
from engrave.geometry.regions import region
from engrave.problems import Problem, verdict
from engrave.typefaces import Run, Shelf
from engrave.typefaces.shelf_typeface import Lenders
from engrave.typefaces.supply.fallback import BESIDE_CAPITALS
from engrave.typefaces.supply.ornaments import PICTURES, drawing_for


def _codes(run: Run) -> list[tuple[str, str]]:
    return [(p.code, p.level) for p in run.problems]


def _only(run: Run) -> Problem:
    assert len(run.problems) == 1, run.problems
    return run.problems[0]


def _owners(run: Run) -> list[str]:
    return [p.glyph.key.split("/")[0] for p in run.placed]


def test_what_the_typeface_has_is_set_without_a_word(shelf: Shelf) -> None:
    for words in (
        "Hannah",
        "Łukasz",
        "Nguyễn",
        "Ağrı",
        "Łódź",
        "Ελένη Παπαδοπούλου",
        "Наталья",
        "O'Neill",
        "Kaʻiulani",
    ):
        assert not shelf.get("noto-sans").shape(words).problems


def test_a_composed_letter_is_a_note_that_names_its_parts(shelf: Shelf) -> None:
    problem = _only(shelf.get("dancing-script").shape("Ağa"))
    assert (problem.code, problem.level, problem.where) == ("letter-composed", "note", "ğ")
    assert "a breve" in problem.says and "Dancing Script" in problem.says


def test_a_word_in_a_script_that_the_typeface_lacks_comes_whole_from_one_companion(shelf: Shelf) -> None:
    run = shelf.get("dancing-script").shape("Ελένη & Tom")
    problem = _only(run)
    assert (problem.code, problem.level) == ("letter-from-companion", "look")
    assert "Ελένη is set in" in problem.says and "no Greek letters" in problem.says
    assert len(set(_owners(run)[:5])) == 1
    assert set(_owners(run)[-3:]) == {"dancing-script"}
    assert problem.value == _owners(run)[0]


def test_a_lone_greek_sign_in_a_latin_font_does_not_split_a_greek_word(shelf: Shelf) -> None:
    """Many Latin fonts carry µ, Ω or π for arithmetic: 'Ωραία' must not begin in one hand and end in another."""
    for ident in ("dancing-script", "saira-stencil", "quicksand"):
        owners = _owners(shelf.get(ident).shape("Ωραία"))
        assert len(set(owners)) == 1 and owners[0] != ident


def test_two_words_of_one_script_are_one_finding(shelf: Shelf) -> None:
    assert "שרה לוי is set in" in _only(shelf.get("vollkorn").shape("שרה לוי")).says


def test_arabic_words_are_never_taken_in_parts(shelf: Shelf) -> None:
    run = shelf.get("noto-sans").shape("خالد")
    assert set(_owners(run)) == {"noto-naskh-arabic"}
    alone = shelf.get("noto-naskh-arabic").shape("خالد")
    assert [p.glyph for p in run.placed] == [p.glyph for p in alone.placed]


def test_a_single_letter_from_a_companion_is_a_look_that_names_it(shelf: Shelf) -> None:
    run = shelf.get("hershey-sans").shape("Guðrún Þóra")
    said = {p.where: p for p in run.problems if p.code == "letter-from-companion"}
    assert set(said) == {"ð", "Þ"}
    assert "‘ð’ (Latin small letter eth)" in said["ð"].says
    assert "Withy (withy)" in said["ð"].says
    assert verdict(run.problems) == "look"


def test_single_lines_are_lent_by_single_lines_only(shelf: Shelf) -> None:
    kinds = shelf.kinds()
    for ident in shelf.ids:
        for words in ("Наталья Þóra", "Ελένη ð"):
            for p in shelf.get(ident).shape(words).placed:
                assert p.glyph.kind == kinds[ident]


def test_a_small_letter_lent_is_fitted_to_its_neighbours(shelf: Shelf) -> None:
    run = shelf.get("hershey-script").shape("Guðrún")
    lent = next(p for p in run.placed if p.text == "ð")
    assert lent.scale == pytest.approx(0.8)
    assert all(p.scale == 1.0 for p in run.placed if p.text != "ð")


def test_scripts_without_capitals_fill_the_height_alone_and_stand_back_beside_capitals(shelf: Shelf) -> None:
    alone = shelf.get("noto-sans").shape("שרה")
    beside = shelf.get("noto-sans").shape("Max שרה")
    assert {p.scale for p in alone.placed} == {1.0}
    assert {p.scale for p in beside.placed if p.text in "שרה"} == {BESIDE_CAPITALS}
    heights = [bounds(p.glyph.path) for p in alone.placed if p.text == "ה"]
    assert heights[0] is not None and heights[0][3] == pytest.approx(1.0, abs=0.01)


def test_what_nobody_has_is_a_hold_that_names_it_and_who_has_it(shelf: Shelf) -> None:
    problem = _only(shelf.get("noto-sans").shape("字 Li"))
    assert (problem.code, problem.level) == ("letter-missing", "hold")
    assert "lacks ‘字’" in problem.says and "No typeface here has it" in problem.says
    problem = _only(shelf.get("withy").shape("שרה"))
    assert problem.level == "hold"
    assert "‘ש’ (Hebrew letter shin) and 2 more" in problem.says
    assert "linux-libertine, noto-sans-hebrew" in problem.says


def test_the_rest_of_a_held_line_is_still_measured(shelf: Shelf) -> None:
    run = shelf.get("noto-sans").shape("Li 字")
    assert [p.text for p in run.placed] == ["L", "i"]
    assert run.advance > 0


@pytest.mark.parametrize("sign", ["❤️", "❤", "💕", "⭐", "🌸", "✨", "♥"])
def test_hearts_stars_and_flowers_become_forms_of_ours(shelf: Shelf, sign: str) -> None:
    for ident in ("noto-sans", "withy", "dancing-script", "hershey-sans"):
        run = shelf.get(ident).shape(f"Mum {sign} Dad")
        assert verdict(run.problems) == "ready"
        assert any(p.text == sign for p in run.placed)
        own = sign == "♥" or (ident == "withy" and sign[0] == "❤")
        assert [c for c, _ in _codes(run)] == ([] if own else ["sign-drawn"])


def test_skin_tones_and_variation_selectors_go_with_their_sign(shelf: Shelf) -> None:
    assert drawing_for("🫶🏽") == "♥" == drawing_for("❤\ufe0f")
    run = shelf.get("noto-sans").shape("Ann 🫶🏽")
    assert [p.text for p in run.placed] == ["A", "n", "n", "🫶🏽"]


def test_our_solid_drawings_are_solid_and_flowers_have_an_eye(shelf: Shelf) -> None:
    for ident in ("noto-sans", "great-vibes"):
        heart = shelf.get(ident).shape("♥").placed[-1].glyph
        assert region(heart.path).area > 0.3
        flower = region(shelf.get(ident).shape("✿").placed[-1].glyph.path)
        assert len(flower.interiors) == 1


def test_every_drawing_of_the_table_exists(shelf: Shelf) -> None:
    for drawing in PICTURES:
        for ident in ("withy", "quicksand"):
            assert not [p for p in shelf.get(ident).shape(f"a {drawing}").problems if p.level != "note"], drawing


def test_other_emoji_are_left_out_with_a_look_and_one_space_closes_up(shelf: Shelf) -> None:
    typeface = shelf.get("noto-sans")
    run = typeface.shape("Tom 😀 & Ann")
    assert _codes(run) == [("sign-left-out", "look")]
    assert "‘😀’ (grinning face)" in _only(run).says
    assert run.advance == pytest.approx(typeface.shape("Tom & Ann").advance)
    assert typeface.shape("Bob 👍🏽").advance == pytest.approx(typeface.shape("Bob").advance)
    assert typeface.shape("👨‍👩‍👧 Lee").advance == pytest.approx(typeface.shape("Lee").advance)
    assert run.text == "Tom 😀 & Ann", "the words are kept as they were given"


def test_emoji_alone_are_a_hold(shelf: Shelf) -> None:
    assert _codes(shelf.get("noto-sans").shape("😀")) == [("letter-missing", "hold")]


def test_decomposed_words_are_set_as_composed_ones(shelf: Shelf) -> None:
    for ident in ("noto-sans", "withy", "ems-nixish", "dancing-script"):
        one, two = (shelf.get(ident).shape(w) for w in ("José Nguyễn", "Jose\u0301 Nguye\u0302\u0303n"))
        assert one.advance == pytest.approx(two.advance, abs=1e-6)


def test_findings_are_not_said_twice(shelf: Shelf) -> None:
    run = shelf.get("dancing-script").shape("ğğğ ğ Ğ")
    assert len(run.problems) == len(set(run.problems)) == 2


def test_empty_lines_and_blanks(shelf: Shelf) -> None:
    for ident in ("noto-sans", "withy"):
        assert shelf.get(ident).shape("").advance == 0.0
        blank = shelf.get(ident).shape("   ")
        assert not blank.placed and not blank.problems and blank.advance > 0
        assert not shelf.get(ident).shape("\u200d\u200b").problems


def test_spacing_by_rule_is_off_by_default_capped_and_never_in_scripts(shelf: Shelf) -> None:
    for ident in ("hershey-sans", "ems-readability", "blankenburg"):
        typeface = shelf.get(ident)
        plain, even = typeface.shape("AVATAR Tony"), typeface.shape("AVATAR Tony", even=True)
        shifts = [b.x - a.x for a, b in zip(plain.placed, even.placed, strict=True)]
        steps = [b - a for a, b in zip(shifts, shifts[1:], strict=False)]
        assert all(-0.1 - 1e-9 <= s <= 0.03 + 1e-9 for s in steps)
        assert any(abs(s) > 0.01 for s in steps)
        assert even.advance - plain.advance == pytest.approx(shifts[-1])
    for ident in ("ems-allure", "hershey-script", "noto-sans", "withy", "great-vibes"):
        typeface = shelf.get(ident)
        assert typeface.shape("AVATAR", even=True).placed == typeface.shape("AVATAR").placed


def test_spacing_by_rule_brings_open_pairs_nearer_than_stems(shelf: Shelf) -> None:
    typeface = shelf.get("hershey-sans")

    def change(pair: str) -> float:
        return typeface.shape(pair, even=True).advance - typeface.shape(pair).advance

    assert max(change("LT"), change("To")) < -0.03 < change("nn") == pytest.approx(0.0, abs=1e-9)
    assert math.isclose(change("T o"), 0.0, abs_tol=1e-9), "words are not moved"


@pytest.mark.parametrize(
    ("name", "family"),
    [
        ("김민준", "Noto Sans KR"),
        ("さくら", "Noto Sans JP"),
        ("王芳", "Noto Sans SC"),
        ("অনন্যা", "Noto Sans Bengali"),
        ("ᚠ", ""),
    ],
)
def test_the_hold_for_a_script_that_nobody_has_names_an_open_family(shelf: Shelf, name: str, family: str) -> None:
    (problem,) = shelf.get("noto-sans").shape(name).problems
    assert (problem.code, problem.level) == ("letter-missing", "hold")
    assert family in problem.says
    assert ("typefaces/" in problem.says) == bool(family)


@pytest.mark.parametrize("sign", "⸺🌿🙘🙙🙚🙛")
def test_leaves_and_tapered_rules_are_solid_in_a_typeface_with_a_body(shelf: Shelf, sign: str) -> None:
    """A pen around a leaf would leave a sliver of wood in it that breaks out."""
    (placed,) = shelf.get("quicksand").shape(f"A{sign}").placed[1:]
    assert placed.glyph.key.split("/")[1].startswith("ornament")
    shape = region(placed.glyph.path, 0.001)
    assert [hole for part in getattr(shape, "geoms", [shape]) for hole in part.interiors] == []


@pytest.mark.parametrize("asked", ["great-vibes", "quicksand", "hershey-script", "withy"])
def test_letters_are_borrowed_from_the_likest_first(shelf: Shelf, asked: str) -> None:
    """After the companions that its table names: those that join where it joins, those that do not where it does not."""
    lenders = list(Lenders(shelf, shelf.get(asked)).lenders())
    declared = [i for i in shelf.facts(asked).companions if i in shelf.ids and shelf.kinds()[i] == shelf.kinds()[asked]]
    rest = [t.joined == shelf.get(asked).joined for t in lenders[len(declared) :]]
    assert [t.id for t in lenders[: len(declared)]] == declared
    assert rest == sorted(rest, reverse=True)
    assert len(rest) > 1


@pytest.mark.parametrize("sign", ["🐾", "👑", "🏡", "🎂", "🎁", "🔔", "🎄", "🏔"])
def test_small_pictures_that_buyers_send_are_drawn(sign: str, shelf: Shelf) -> None:
    for face in ("withy", "vollkorn"):
        run = shelf.get(face).shape(f"Rex {sign}")
        assert {p.code for p in run.problems} <= {"sign-drawn"}
        assert bool(run.problems) == (drawing_for(sign) != sign)  # what is drawn just so needs no word
        assert run.placed[-1].text == sign and run.placed[-1].glyph.path


@pytest.mark.parametrize("ident", ["noto-sans-hebrew", "noto-sans-armenian", "noto-sans-georgian"])
def test_figures_and_marks_of_the_companion_that_goes_with_a_typeface_are_one_note(shelf: Shelf, ident: str) -> None:
    """'14 June & 2026' beside Hebrew was a look for every figure of it."""
    words = {"noto-sans-hebrew": "נועה", "noto-sans-armenian": "Անի", "noto-sans-georgian": "ნინო"}[ident]
    problem = _only(shelf.get(ident).shape(f"{words} & 14. 6. 2026"))
    assert (problem.code, problem.level, problem.value) == ("letter-from-companion", "note", "noto-sans")
    assert {"&", "1", "4", "6", "2", "0", "."} <= set(problem.where.split())
