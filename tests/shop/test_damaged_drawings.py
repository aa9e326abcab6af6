"""Drawings that are damaged or made to hang: each is refused with its reason, or answered, in bounded work."""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest

from engrave.geometry.regions import region
from engrave.limits import (
    DRAWING_CLOSINGS,
    DRAWING_CROSSINGS,
    DRAWING_DEPTH,
    DRAWING_NODES,
    DRAWING_RINGS,
    DRAWING_SHAPES,
)
from engrave.shop.outline_svg import DrawnOutline, OutlineError, read_outline, read_path_data

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="80mm" '
RECT = '<rect x="10" y="10" width="60" height="40"/>'
CPU = 10.0
"""Seconds of this process's own time within which anything is answered."""


@pytest.fixture
def draw(tmp_path: Path):  # type: ignore[no-untyped-def]
    def read(body: str | bytes, **size: float) -> DrawnOutline:
        file = tmp_path / "lid.svg"
        text = body if isinstance(body, bytes) else f'{HEAD} viewBox="0 0 100 80">{body}</svg>'.encode()
        file.write_bytes(text)
        began = time.process_time()
        try:
            return read_outline(file, **size)
        finally:
            assert time.process_time() - began < CPU

    return read


def answer(draw, body: str) -> tuple[str, ...]:  # type: ignore[no-untyped-def]
    """Return what was mended, or why the drawing was refused."""
    try:
        return draw(body).notes
    except OutlineError as why:
        return (str(why),)


@pytest.mark.parametrize(
    ("body", "way"),
    [
        ('<g id="a"><use href="#a"/></g>', "g 'a' -> g 'a'"),
        ('<g id="a"><use id="u" xlink:href="#b"/></g><g id="b"><use href="#a"/></g>', "g 'a' -> use 'u' -> g 'b' -> g 'a'"),
        ('<use id="u" href="#u"/>', "use 'u' -> use 'u'"),
        ('<symbol id="s"><use href="#s"/></symbol><use href="#s"/>', "g 's' -> g 's'"),
        ('<defs><g id="x"><g id="y"><use href="#x"/></g></g></defs>', "g 'x' -> g 'y' -> g 'x'"),
    ],
)  # fmt: skip
def test_a_use_that_leads_in_a_circle_is_refused_with_the_way_round(draw, body: str, way: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutlineError, match="draws itself with `use`, in a circle") as told:
        draw(body + RECT)
    assert way in str(told.value)


def test_symbols_in_symbols_are_read(draw) -> None:  # type: ignore[no-untyped-def]
    found = draw(f'<symbol id="s"><symbol id="t">{RECT}</symbol><use href="#t"/></symbol><use href="#s"/>')
    assert region(found.outline).area == pytest.approx(2400, rel=1e-5)
    nested = '<symbol id="s">' * 40 + RECT + "</symbol>" * 40
    with pytest.raises(OutlineError, match="draws no"):
        draw(nested)


@pytest.mark.parametrize("depth", [DRAWING_DEPTH.most + 1, 2_000, 100_000])
@pytest.mark.parametrize("kind", ["g", "symbol", "text", "a"])
def test_groups_too_deep_are_refused(draw, depth: int, kind: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutlineError, match=f"levels; at most {DRAWING_DEPTH.most} are read"):
        draw(f"<{kind}>" * depth + RECT + f"</{kind}>" * depth)


def test_a_chain_of_uses_too_deep_is_refused_and_a_short_one_read(draw) -> None:  # type: ignore[no-untyped-def]
    def chain(n: int) -> str:
        links = "".join(f'<g id="g{i}"><use href="#g{i + 1}"/></g>' for i in range(n))
        return f'<defs>{links}<g id="g{n}">{RECT}</g></defs><use href="#g0"/>'

    assert region(draw(chain(40)).outline).area == pytest.approx(2400, rel=1e-5)
    with pytest.raises(OutlineError, match="groups in one another"):
        draw(chain(3_000))


@pytest.mark.parametrize("inner", [RECT, "<g/>", '<path d="M0 0"/>'])
def test_ten_uses_seven_deep_are_refused(draw, inner: str) -> None:  # type: ignore[no-untyped-def]
    links = "".join(f'<g id="g{i}">' + f'<use href="#g{i + 1}"/>' * 10 + "</g>" for i in range(7))
    with pytest.raises(OutlineError, match="has more than is read"):
        draw(f'<defs>{links}<g id="g7">{inner}</g></defs><use href="#g0"/>')


def test_entities_that_make_much_of_little_are_refused(draw) -> None:  # type: ignore[no-untyped-def]
    entities = '<!ENTITY e0 "0 0 ">' + "".join(f'<!ENTITY e{i + 1} "{f"&e{i};" * 10}">' for i in range(8))
    with pytest.raises(OutlineError, match=r"cannot be read as SVG|more than is read"):
        draw(f'<!DOCTYPE svg [{entities}]>{HEAD}><path d="M 0 0 &e8;"/></svg>'.encode())


def test_entities_of_a_drawing_program_are_read(draw) -> None:  # type: ignore[no-untyped-def]
    text = (
        f'<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg">]><svg xmlns="&ns_svg;" width="80mm">{RECT}</svg>'
    )
    assert draw(text.encode(), width=60.0).height == pytest.approx(40)


@pytest.mark.parametrize("nodes", [300, 2_000, 20_000, DRAWING_NODES.most + 10])
def test_a_random_path_is_refused(draw, nodes: int) -> None:  # type: ignore[no-untyped-def]
    rand = random.Random(nodes)
    data = "M" + " L".join(f"{rand.uniform(0, 90):.2f} {rand.uniform(0, 70):.2f}" for _ in range(nodes)) + "Z"
    with pytest.raises(OutlineError, match="has more than is read"):
        draw(f'<path d="{data}"/>')


def test_a_few_crossings_are_mended(draw) -> None:  # type: ignore[no-untyped-def]
    rand = random.Random(4)
    data = "M" + " L".join(f"{rand.uniform(0, 90):.2f} {rand.uniform(0, 70):.2f}" for _ in range(30)) + "Z"
    assert any(says in answer(draw, f'<path d="{data}"/>')[0] for says in ("crosses itself", "separate regions"))


@pytest.mark.parametrize("count", [50, 300, 3_000])
@pytest.mark.parametrize("form", ["rings", "grid", "apart"])
def test_thousands_of_subpaths_are_refused_and_dozens_answered(draw, count: int, form: str) -> None:  # type: ignore[no-untyped-def]
    side = 60 / count**0.5

    def square(i: int) -> str:
        if form == "rings":
            half = 35 * (i + 1) / (count + 2)
            return f"M{50 - half} {40 - half}h{2 * half}v{2 * half}h{-2 * half}z"
        x, y = 2 + side * (i % int(count**0.5)), 2 + side * (i // int(count**0.5))
        return f"M{x} {y}h{side / 2}v{side / 2}h{-side / 2}z"

    squares = [square(i) for i in range(count)]
    body = (
        "".join(f'<path d="{s}"/>' for s in squares)
        if form == "apart"
        else f'<path fill-rule="evenodd" d="{"".join(squares)}"/>'
    )
    frame = '<path d="M0 0h95v75h-95z"/>'
    if count > DRAWING_SHAPES.most:
        with pytest.raises(OutlineError, match=r"3,00. contours; at most 1,000 are read"):
            draw(frame + body)
    elif count > DRAWING_RINGS.most:
        assert "has more than is read" in answer(draw, frame + body)[-1]
    else:
        assert 0 < len(answer(draw, frame + body)) <= 13


@pytest.mark.parametrize(
    ("data", "why"),
    [
        ("M0 0" + "z" * (DRAWING_CLOSINGS.most + 1), "closings; at most"),
        ("M0 0" + "h9v9h-9z" * 5_000, "closings; at most"),
        ("M0 0H80V" + "6" * 400 + "H0Z", "digits of a figure"),
        ("M" + "1" * 200_000, "digits of a figure"),
        ("M0 0 " + "1-" * 200_000, r"\w"),
        ("M0 0C 1e300 0 0 1e300 50 50Z", "farther"),
        ("M0 0C 1e15 0 0 1e15 50 50Z", "farther"),
        ("M0 0" + "C 90000 0 0 90000 50 50" * 99 + "Z", "chords"),
        ("M0 0L1e308 0L1e308 1e308L-1e308 5Z", r"\w"),
        ("M0 0L1e400 0L1e400 1e400Z", "no shape"),
        ("M0 0h9000v9000h-9000z", "no lid is longer than 3,000 mm"),
        ("M0 0A nan 5 0 0 1 20 20Z", r"\w"),
        ("M0 0A 1e200 1e-200 0 0 1 20 20 L 50 80Z", r"\w"),
    ],
)
def test_path_data_made_to_hang_is_refused(draw, data: str, why: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutlineError, match=why):
        draw(f'<path d="{data}"/>')
    with pytest.raises(OutlineError):
        read_path_data(data)


@pytest.mark.parametrize(
    "body",
    [
        "<style>" + "a" * 300_000 + "</style>",
        "<style>" + " " * 300_000 + "</style>",
        "<style>" + "a{" * 100_000 + "</style>",
        "<style>" + "".join(f".c{i}{{fill-rule:evenodd}}" for i in range(9_000)) + "</style>",
        "<style>/*" + "*" * 300_000 + "</style>",
        '<g style="' + "a:b;" * 100_000 + '"/>',
        '<image href="data:image/png;base64,' + "1" * 300_000 + '"/>',
        "<text>" + "Wanda " * 100_000 + "</text>",
        '<polyline points="' + "1 " * 30_000 + '" display="none"/>',
    ],
)  # fmt: skip
def test_what_surrounds_an_outline_does_not_hinder_it(draw, body: str) -> None:  # type: ignore[no-untyped-def]
    assert region(draw(body + RECT).outline).area == pytest.approx(2400, rel=1e-5)


@pytest.mark.parametrize(
    "body",
    [
        '<g transform="' + "rotate(1)" * 2_000 + f'">{RECT}</g>',
        '<g transform="rotate(1) rotate(1) rotate(1)">' * 90 + RECT * 900 + "</g>" * 90,
        f"<style>.a{{transform:{'translate(0,0)' * 60}}}</style>" + f'<g class="{"a " * 5_000}">{RECT}</g>',
    ],
)
def test_transforms_without_end_are_refused(draw, body: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutlineError, match=r"at most [\d,]+ are read"):
        draw(body)


@pytest.mark.parametrize(
    "data",
    [
        b"", b"\0", b"<svg", b"<svg/>", b"\xff\xfe<\0s\0v\0g\0", b'<?xml version="1.0" encoding="idna"?><svg/>',
        b'<?xml version="1.0" encoding="utf-7"?><svg/>', b'<?xml version="1.0" encoding="x"?><svg/>',
        b'<svg xmlns="http://www.w3.org/2000/svg" width="0" viewBox="0 0 0 0"><rect width="9" height="9"/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="a b c d"><rect width="9e999" height="9"/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg" width="1e308mm" viewBox="0 0 1e-308 1"><rect width="9" height="9"/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg"><circle r="nan"/><path d="M"/><polygon points="1"/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg"><g transform="matrix(1)"><rect width="9" height="x"/></g></svg>',
    ],
)  # fmt: skip
def test_damaged_files_are_told(draw, data: bytes) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutlineError):
        draw(data)


def test_an_outline_in_hundreds_of_loose_lines_is_joined_in_a_moment(draw) -> None:  # type: ignore[no-untyped-def]
    import math

    n = 900
    at = [(50 + 30 * math.cos(2 * math.pi * i / n), 40 + 30 * math.sin(2 * math.pi * i / n)) for i in range(n + 1)]
    lines = [f'<line x1="{a}" y1="{b}" x2="{c}" y2="{d}"/>' for (a, b), (c, d) in zip(at[:-1], at[1:], strict=True)]
    random.Random(1).shuffle(lines)
    assert region(draw("".join(lines)).outline).area == pytest.approx(math.pi * 900, rel=1e-3)
    assert DRAWING_CROSSINGS.most < 10_000
