"""What places are called, so that a person finds them in the lettering."""

from __future__ import annotations

import pytest

from engrave.cutting.messages.place_names import PlaceNames
from engrave.intake.order import Order, Words
from engrave.setting import Lettering, place
from engrave.setting.lettering import Line, Mark
from engrave.shop import load_shop
from engrave.tasks import Task, define_all
from engrave.typefaces import load_shelf
from engrave.typefaces.run import Glyph


def set_lines(*lines: tuple[str, str | list[str]]) -> Lettering:
    """Lines as (text, marks as they are seen from left to right)."""
    marks = [
        Mark(Glyph(f"t/{text}", "outline", (), 1.0), (1.0, 0.0, 0.0, -1.0, 0.0, 0.0), text, number)
        for number, (_, seen) in enumerate(lines)
        for text in seen
    ]
    return Lettering("outline", "stack", tuple(marks), tuple(Line(t, "name", 1.0, 0.0, 0.0) for t, _ in lines), 0.0)


@pytest.mark.parametrize(
    ("text", "seen", "mark", "name"),
    [
        ("Hannah", "Hannah", 0, "the H of Hannah"),
        ("Hannah", "Hannah", 3, "the second n of Hannah"),
        ("Ann and Bob", "AnnandBob", 4, "the n of 'and'"),
        ("O’Neill!", "O’Neill!", 1, "the ’ of O’Neill!"),
        ("O’Neill!", "O’Neill!", 6, "the second l of O’Neill!"),
        ("Mississippi-ssssssssss", "Mississippi-ssssssssss", 21, "the 14th s of Mississippi-ssssssssss"),
        # letters cut as one
        ("Griffin", ["G", "r", "i", "ffi", "n"], 3, "the ffi of Griffin"),
        ("office effi", ["o", "ffi", "c", "e", "e", "ffi"], 1, "the ffi of 'office'"),
        ("tattffi", ["t", "a", "t", "t", "ffi"], 3, "the third t of 'tattffi'"),
        # a word of one letter; two of them
        ("A Bo", "ABo", 0, "'A'"),
        ("♥ Ann ♥", "♥Ann♥", 4, "the second '♥'"),
        ("♥♥", "♥♥", 1, "the second ♥ of '♥♥'"),
        ("Anna & Anna", "Anna&Anna", 7, "the second n of the second Anna"),
        # an accent that the typeface has no letter for is a mark of its own
        ("Zoë", ["Z", "o", "ë"], 2, "the ë of Zoë"),
        ("x̲y̲x̲", ["x̲", "x̲", "y̲", "y̲", "x̲", "x̲"], 1, "the first x̲ of 'x̲y̲x̲'"),
        ("x̲y̲x̲", ["x̲", "x̲", "y̲", "y̲", "x̲", "x̲"], 4, "the second x̲ of 'x̲y̲x̲'"),
        ("x̲x̲", ["x̲", "x̲", "x̲", "x̲"], 1, "the first x̲ of 'x̲x̲'"),
        ("अनिता", ["अ", "नि", "नि", "ता", "ता"], 4, "the ता of 'अनिता'"),
        # right to left: the first is the one to the right
        ("שלום", "םולש", 3, "the ש of 'שלום'"),
        ("אבא", "אבא", 2, "the first א of 'אבא'"),
        ("אבא דבא", "אבדאבא", 5, "the first א of 'אבא'"),
        ("אבא דבא", "אבדאבא", 0, "the א of 'דבא'"),
        # both ways in one line, as bidi sets them
        ("לאה Lea", "Leaהאל", 1, "the e of Lea"),
        ("לאה Lea", "Leaהאל", 5, "the ל of 'לאה'"),
        ("Lea לאה Lea", "LeaהאלLea", 7, "the e of the second Lea"),
        # marks that do not spell the words are named by the line
        ("two words", ["tw", "?", "words"], 1, "the ? of 'two words'"),
    ],
)
def test_a_letters_name(text: str, seen: str | list[str], mark: int, name: str) -> None:
    assert PlaceNames(set_lines((text, seen))).letter(mark) == name


@pytest.mark.parametrize(
    ("seen", "one", "two", "name"),
    [
        ("Hannah", 1, 2, "between the first a and the first n of Hannah"),
        ("Hannah", 2, 3, "between the first n of Hannah and the second n of Hannah"),
        ("Hannah", 5, 6, "between the h of Hannah and the K of Kay"),
        (["x̲", "x̲", "y̲"], 0, 1, "the x̲ of 'Hannah'"),
    ],
)
def test_a_place_between_two(seen: str | list[str], one: int, two: int, name: str) -> None:
    word = "Hannah" if isinstance(seen, str) else "".join(dict.fromkeys(seen))
    names = PlaceNames(set_lines((word, seen), ("Kay", "Kay")))
    assert names.between(one, two) == name.replace("'Hannah'", f"'{word}'")


def test_a_word_that_stands_in_two_lines_is_counted_over_both() -> None:
    names = PlaceNames(set_lines(("Ann", "Ann"), ("for Ann", "forAnn")))
    assert names.letter(0) == "the A of the first Ann"
    assert names.letter(6) == "the A of the second Ann"


@pytest.mark.parametrize(
    ("words", "typeface", "all_of"),
    [
        ("Griffin", "linux-libertine", ["the G", "the r", "the i", "the ffi", "the n"]),
        ("אבא", "noto-sans-hebrew", ["the second א", "the ב", "the first א"]),
        ("x̲y", "noto-sans", ["the x̲", "the x̲", "the y"]),
    ],
)
def test_what_is_really_set_is_named(words: str, typeface: str, all_of: list[str]) -> None:
    shop, shelf = load_shop(), load_shelf(None)
    text = Words(words, "", "")
    order = Order("O-1", 1, 2, text, text, lid="round-caddy", typeface=typeface)
    (task,) = define_all([order], shop, shelf.kinds())
    assert isinstance(task, Task)
    laid = place(task, shelf)
    word = words if words[0].isupper() else f"'{words}'"
    assert [PlaceNames(laid).letter(k) for k in range(len(laid.marks))] == [f"{letter} of {word}" for letter in all_of]
