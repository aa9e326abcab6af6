"""Where lines may break."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uniseg.linebreak import line_break_units

from engrave.setting.text.break_opportunities import _PLAIN, stretches


def texts(words: str) -> list[str]:
    return [p.text for p in stretches(words)]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("Anna and Ben", ["Anna", "and", "Ben"]),
        ("Mary-Jane O’Neil", ["Mary-Jane", "O’Neil"]),  # never at a hyphen inside a name
        ("a\u00a0b c", ["a\u00a0b", "c"]),  # a no-break space holds
        ("first line\nsecond", ["first", "line", "second"]),
        ("東京タワー", ["東", "京", "タ", "ワー"]),
        ("two  blanks ", ["two", "blanks"]),
        ("well done !", ["well", "done !"]),  # annex 14, LB13: no break before an exclamation mark
        ("", []),
    ],
)
def test_stretches(words: str, expected: list[str]) -> None:
    assert texts(words) == expected


def test_stretches_say_where_they_stand() -> None:
    words = "Mr. Tom\nand  Jerry & Co"
    assert [words[p.start : p.end] for p in stretches(words)] == texts(words)


def test_buyers_breaks_close_lines() -> None:
    assert [p.closes for p in stretches("a b\nc")] == [False, True, True]


def test_what_the_buyer_typed_in_one_line_is_held() -> None:
    assert [p.asked for p in stretches("One for all\nall for one")] == [True, True, False, True, True, False]
    assert not any(p.asked for p in stretches("One for all"))


def test_an_ampersand_between_two_names_may_stand_alone() -> None:
    assert [p.lone for p in stretches("Thandeka & Marguerite")] == [False, True, False]
    assert not any(p.lone for p in stretches("K + L"))
    assert not any(p.lone for p in stretches("Mr & Mrs Featherstone"))


@pytest.mark.source("Unicode annex 14, by uniseg")
@given(st.lists(st.text("abcxyzÄéñABC", min_size=1, max_size=6), min_size=1, max_size=6), st.sampled_from([" ", "  "]))
def test_plain_words_need_no_library(words: list[str], blank: str) -> None:
    """The short way for plain words gives what the Unicode line breaking algorithm (annex 14) gives."""
    line = blank.join(words)
    assert _PLAIN.fullmatch(line)
    assert [p.strip() for p in line_break_units(line)] == words


@pytest.mark.source("Unicode annex 14, by uniseg")
@pytest.mark.parametrize("line", ["Tom & Ann", "St. Mary’s", "Mary-Jane, dear", "O'Neil and Co."])
def test_plain_lines_agree_with_the_library_at_blanks(line: str) -> None:
    assert _PLAIN.fullmatch(line)
    ends = [len(p) for p in line_break_units(line)]
    library = {sum(ends[: k + 1]) for k in range(len(ends)) if line[: sum(ends[: k + 1])].endswith(" ")}
    assert library == {k + 1 for k, c in enumerate(line) if c == " " and line[k + 1 : k + 2] != " "}
