"""The checker of the SVG's normal form: a good file passes, and for each rule a file that breaks it alone is refused."""

from __future__ import annotations

import re

import pytest

from engrave.output.svg import check_svg
from engrave.output.svg.svg_check import _below

GOOD = """<?xml version="1.0" encoding="utf-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" baseProfile="full" width="100mm" height="60.5mm" viewBox="0 0 100 60.5">
<title>Order A-1, piece 1: Ida</title>
<desc>Order A-1. All in millimetres.</desc>
<g id="engrave">
<path d="M 10 10 L 20 10 Q 25 15 20 20" fill="none" stroke="#4a2c17" stroke-width="0.6" stroke-linecap="round" stroke-linejoin="round"/>
<path d="M 30 10 L 40 10 C 40 15 35 20 30 20 Z M 32 12 L 34 12 L 34 14 Z" fill="#4a2c17" fill-rule="evenodd" stroke="none"/>
</g>
<g id="lid">
<path d="M 0 0 L 100 0 L 100 60.5 L 0 60.5 Z" fill="none" stroke="#c9c4bc" stroke-width="0.2"/>
</g>
</svg>
"""

LINE = 'd="M 10 10 L 20 10 Q 25 15 20 20"'
PAINT = 'fill="none" stroke="#4a2c17"'
FILLED = 'fill="#4a2c17" fill-rule="evenodd" stroke="none"'
LID = 'fill="none" stroke="#c9c4bc"'

BAD: list[tuple[str, str, str, str]] = [
    ("not XML", "</svg>", "", "not well-formed"),
    ("another root", "http://www.w3.org/2000/svg", "http://example.org/other", "not an SVG"),
    ("a rectangle", "<title>", '<rect width="3" height="3"/><title>', "<rect> is not allowed"),
    ("text", '</g>\n<g id="lid">', '<text>Ida</text></g>\n<g id="lid">', "<text> is not allowed"),
    ("a style sheet", "<title>", "<style>path {}</style><title>", "<style> is not allowed"),
    ("an image", '<g id="lid">', '<image href="a.png"/><g id="lid">', "<image> is not allowed"),
    ("a clip", '<g id="lid">', '<clipPath id="c"/><g id="lid">', "<clipPath> is not allowed"),
    ("a script", '<g id="lid">', "<script>alert(1)</script><g id=\"lid\">", "<script> is not allowed"),
    ("a link to a shape", '<g id="lid">', '<use href="#engrave"/><g id="lid">', "<use> is not allowed"),
    ("a transform on a group", '<g id="engrave">', '<g id="engrave" transform="scale(2)">', "attribute 'transform'"),
    ("a transform on a path", f"<path {LINE}", f'<path transform="scale(2)" {LINE}', "attribute 'transform'"),
    ("a style on a path", PAINT, f'{PAINT} style="opacity: 0"', "attribute 'style'"),
    ("a class", f"<path {LINE}", f'<path class="a" {LINE}', "attribute 'class'"),
    ("a handler", "<svg ", '<svg onload="x()" ', "attribute 'onload'"),
    ("a size in px", 'width="100mm"', 'width="100px"', "must be in mm"),
    ("a size without unit", 'height="60.5mm"', 'height="60.5"', "must be in mm"),
    ("a viewBox of other numbers", 'viewBox="0 0 100 60.5"', 'viewBox="0 0 1000 605"', "must be in mm"),
    ("a viewBox that begins elsewhere", 'viewBox="0 0 100 60.5"', 'viewBox="5 0 100 60.5"', "must be in mm"),
    ("no size at all", 'width="100mm" height="60.5mm" viewBox="0 0 100 60.5"', 'width="0mm" height="0mm" viewBox="0 0 0 0"', "must be in mm"),
    ("no title", "<title>Order A-1, piece 1: Ida</title>\n", "", "title and desc must come first"),
    ("an empty title", "Order A-1, piece 1: Ida", " ", "title and desc must come first"),
    ("no description", "<desc>Order A-1. All in millimetres.</desc>\n", "", "title and desc must come first"),
    ("a group of another name", 'id="lid"', 'id="outline"', "groups must be"),
    ("two groups of one name", 'id="lid"', 'id="engrave"', "groups must be"),
    ("a group without a name", ' id="lid"', "", "groups must be"),
    ("a path outside the groups", "</svg>", f"<path {LINE} {PAINT} stroke-width=\"0.6\"/></svg>", "outside the groups"),
    ("an empty group", '</g>\n<g id="lid">', '</g>\n<g id="lid"/><g id="x">', "group 'lid' is empty"),
    ("a group in a group", '<g id="engrave">', '<g id="engrave"><g id="inner"/>', "only paths may stand in a group"),
    ("no fill stated", PAINT, 'stroke="#4a2c17"', "must state fill and stroke"),
    ("no stroke stated", FILLED, 'fill="#4a2c17" fill-rule="evenodd"', "must state fill and stroke"),
    ("filled and stroked", FILLED, FILLED.replace('"none"', '"#4a2c17"') + ' stroke-width="0.1" stroke-linecap="round"', "use one of them"),
    ("neither filled nor stroked", PAINT, 'fill="none" stroke="none"', "use one of them"),
    ("pure red", PAINT, 'fill="none" stroke="#ff0000"', "pure primary"),
    ("black", FILLED, FILLED.replace("#4a2c17", "#000000"), "pure primary"),
    ("a colour by name", PAINT, 'fill="none" stroke="brown"', "not written as #rrggbb"),
    ("a colour of three digits", PAINT, 'fill="none" stroke="#421"', "not written as #rrggbb"),
    ("filled without evenodd", ' fill-rule="evenodd"', "", "without fill-rule evenodd"),
    ("the lid filled", f"{LID} stroke-width=\"0.2\"", 'fill="#c9c4bc" fill-rule="evenodd" stroke="none"', "the lid is filled"),
    ("no stroke width", ' stroke-width="0.6"', "", "is no width in mm"),
    ("a stroke width of 0", 'stroke-width="0.6"', 'stroke-width="0"', "is no width in mm"),
    ("a stroke width in px", 'stroke-width="0.6"', 'stroke-width="0.6px"', "is no width in mm"),
    ("square ends", 'stroke-linecap="round"', 'stroke-linecap="square"', "a groove ends round"),
    ("no M at the start", "M 10 10 L 20 10 Q", "L 10 10 L 20 10 Q", "must begin with M"),
    ("no data", "M 10 10 L 20 10 Q 25 15 20 20", "", "must begin with M"),
    ("a relative command", "L 20 10 Q", "l 10 0 Q", "is not one of M, L, Q, C, Z"),
    ("an arc", "Q 25 15 20 20", "A 5 5 0 0 1 20 20", "is not one of M, L, Q, C, Z"),
    ("a horizontal", "L 20 10 Q", "H 20 Q", "is not one of M, L, Q, C, Z"),
    ("five decimals", "M 10 10 L", "M 10.00001 10 L", "at most four decimals"),
    ("an exponent", "M 10 10 L", "M 1e1 10 L", "is not one of M, L, Q, C, Z"),
    ("a number too many", "L 20 10 Q", "L 20 10 5 Q", "'L' has 3 numbers"),
    ("a number too few", "Q 25 15 20 20", "Q 25 15 20", "'Q' has 3 numbers"),
    ("several points after one letter", "L 20 10 Q", "L 20 10 22 10 Q", "'L' has 4 numbers"),
    ("a Z with a number", "Z M 32", "Z 1 M 32", "'Z' has 1 numbers"),
    ("off the sheet to the right", "L 20 10 Q", "L 100.1 10 Q", "lies off the sheet"),
    ("off the sheet below", "Q 25 15 20 20", "Q 25 15 20 60.6", "lies off the sheet"),
    ("off the sheet to the left", "M 10 10 L", "M -0.1 10 L", "lies off the sheet"),
    ("off the sheet by a hair over a millimetre's end", "Q 25 15 20 20", "Q 25 15 20 60.502", "lies off the sheet"),
    ("off the sheet by less than a millimetre to the left", "M 10 10 L", "M -0.0011 10 L", "lies off the sheet"),
    ("figures of another script", "M 10 10 L", "M 1٣ 10 L", "is not one of"),
    ("filled, its outer ring open", "30 20 Z M", "30 20 M", "filled, but not closed"),
    ("filled, its hole open", "L 34 14 Z", "L 34 14", "filled, but not closed"),
]  # fmt: skip


def test_a_good_file_passes() -> None:
    assert check_svg(GOOD) == ()
    alone = GOOD[: GOOD.index('<g id="lid">')] + "</svg>\n"
    assert check_svg(alone) == ()  # the outline may be kept out of the file


@pytest.mark.parametrize(("what", "whole", "broken", "says"), BAD, ids=[what for what, *_ in BAD])
def test_each_rule_refuses_what_breaks_it(what: str, whole: str, broken: str, says: str) -> None:
    assert GOOD.count(whole) >= 1
    wrong = check_svg(GOOD.replace(whole, broken, 1))
    assert any(says in one for one in wrong), wrong


@pytest.mark.parametrize(
    ("whole", "changed"),
    [
        ("L 20 10 Q", "L 100.0005 10 Q"),  # a rounded point on the very edge
        ("M 10 10 L", "M 0 60.5 L"),
        ("Q 25 15 20", "Q 25 -3 20"),  # a control point need not lie on the sheet, only the curve
        ('stroke="#4a2c17"', 'stroke="#123456"'),
        ("</title>", " &amp; Ole</title>"),
    ],
)
def test_what_is_in_form_is_not_refused(whole: str, changed: str) -> None:
    assert check_svg(GOOD.replace(whole, changed, 1)) == ()


@pytest.mark.parametrize("size", [1, 9, 10, 60, 99, 100, 129, 200, 305, 1000])
def test_whole_numbers_below_the_sheets_size_are_told_from_others(size: int) -> None:
    below = re.compile(_below(size))
    assert [k for k in range(12 * size) if below.fullmatch(str(k))] == list(range(size))
    assert not re.fullmatch(_below(0), "0")


def test_where_it_is_wrong_is_told() -> None:
    (wrong,) = check_svg(GOOD.replace("L 20 10 Q", "L 20 99 Q", 1))
    assert wrong.startswith("engrave, path 1:")
    (wrong,) = check_svg(GOOD.replace("30 20 Z M", "30 20 M", 1))
    assert wrong.startswith("engrave, path 2:")
