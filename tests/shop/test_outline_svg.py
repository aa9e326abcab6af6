"""Outlines from any drawing program, read back by svgpathtools; what is mended, and what is refused with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest
import svgpathtools

from engrave.geometry.paths import box
from engrave.geometry.regions import region
from engrave.shop.outline_svg import DrawnOutline, OutlineError, read_outline, read_path_data
from engrave.shop.places import own_folder

RECT = '<rect x="10" y="10" width="60" height="40"/>'
IN_MM = 'width="100mm" height="80mm" viewBox="0 0 100 80"'
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'


@pytest.fixture
def draw(tmp_path: Path):  # type: ignore[no-untyped-def]
    def read(body: str, attributes: str = IN_MM, **size: float) -> DrawnOutline:
        file = tmp_path / "lid.svg"
        head = f'<svg xmlns="http://www.w3.org/2000/svg" {XLINK} {attributes}>'
        file.write_text(f"{head}{body}</svg>", encoding="utf-8")
        return read_outline(file, **size)

    return read


@pytest.mark.parametrize(
    ("attributes", "width", "height"),
    [
        (IN_MM, 60, 40),
        ('width="10cm" height="8cm" viewBox="0 0 100 80"', 60, 40),
        ('width="4in" height="3in" viewBox="0 0 400 300"', 15.24, 10.16),
        ('width="400" height="300"', 60 * 25.4 / 96, 40 * 25.4 / 96),
        ('width="400px" height="300px" viewBox="0 0 800 600"', 30 * 25.4 / 96, 20 * 25.4 / 96),
        ('viewBox="0 0 400 300"', 60 * 25.4 / 96, 40 * 25.4 / 96),
    ],
)
def test_units(draw, attributes: str, width: float, height: float) -> None:  # type: ignore[no-untyped-def]
    # CSS Values and Units: 1 in = 96 px = 25.4 mm.
    found = draw(RECT, attributes)
    assert (found.width, found.height) == pytest.approx((width, height), rel=2e-6)
    assert box(found.outline) == pytest.approx((0, 0, width, height), rel=2e-6, abs=1e-6)


@pytest.mark.parametrize(
    "attributes", ['width="400" height="300"', 'viewBox="0 0 400 300"', 'width="100%" viewBox="0 0 400 300"']
)
def test_a_drawing_without_a_size_says_what_was_taken(draw, attributes: str) -> None:  # type: ignore[no-untyped-def]
    assert "states no size in mm or inches" in draw(RECT, attributes).notes[-1]
    assert not draw(RECT, attributes, width=60.0).notes
    assert not draw(RECT, IN_MM).notes


@pytest.mark.parametrize(
    ("body", "area"),
    [
        ('<ellipse cx="30" cy="30" rx="30" ry="20"/>', 1884.956),
        ('<circle cx="30" cy="30" r="30"/>', 2827.433),
        ('<polygon points="0,0 50,0 25,40"/>', 1000.0),
        ('<rect width="60" height="40" rx="8"/>', 2400 - 0.858407 * 64),
        ('<path d="M0 0h60v40h-60z"/>', 2400.0),
        ('<path d="M0 0 C 0 40 60 40 60 0 Z"/>', 1440.0),
        (f'<g transform="translate(5 5) scale(.5)"><g>{RECT}</g></g>', 600.0),
        (f'<g transform="rotate(30)">{RECT}</g>', 2400.0),
        ('<rect width="60" height="40" transform="skewX(20)"/>', 2400.0),
        ('<rect width="60" height="40" transform="matrix(1 0 0 -1 0 0)"/>', 2400.0),
        ('<defs><rect id="r" width="60" height="40"/></defs><use href="#r" x="10" y="5"/>', 2400.0),
        (
            '<defs><g id="r"><rect width="60" height="40"/></g></defs><use xlink:href="#r" transform="rotate(9)"/>',
            2400.0,
        ),
        ('<symbol id="s"><rect width="60" height="40"/></symbol><use href="#s"/>', 2400.0),
        (f'<a href="x">{RECT}</a>', 2400.0),
        (f'<clipPath id="c"><circle r="50"/></clipPath>{RECT}', 2400.0),
        (f'<mask id="m"><circle r="50"/></mask><pattern id="p"><circle r="50"/></pattern>{RECT}', 2400.0),
        (f'<g style="display:none"><circle r="50"/></g>{RECT}', 2400.0),
        (f'<circle r="50" visibility="hidden"/>{RECT}', 2400.0),
        (f'<text x="0" y="9">Wanda</text>{RECT}', 2400.0),
        ('<rect width="60" height="40" fill="none" stroke="black" stroke-width="9"/>', 2400.0),
    ],
)
def test_shapes_and_transforms(draw, body: str, area: float) -> None:  # type: ignore[no-untyped-def]
    found = draw(body)
    assert region(found.outline).area == pytest.approx(area, rel=3e-4)
    assert found.notes == ()


@pytest.mark.source("svgpathtools, lengths and areas of paths")
def test_curves_stay_curves_and_another_reader_agrees() -> None:
    file = own_folder("shared") / "heart.svg"
    found = read_outline(file, width=110)
    paths, _ = svgpathtools.svg2paths(str(file))
    assert len(found.outline) == 1
    assert all(len(s) == 3 for s in found.outline[0].segments)
    assert region(found.outline, 0.0005).area == pytest.approx(abs(paths[0].area()), rel=1e-4)
    x0, x1, y0, y1 = paths[0].bbox()
    assert (found.width, found.height) == pytest.approx((x1 - x0, y1 - y0), rel=1e-5)


@pytest.mark.parametrize("rule", ["", 'fill-rule="evenodd"', 'style="fill-rule:evenodd"'])
def test_a_compound_path_keeps_its_hole(draw, rule: str) -> None:  # type: ignore[no-untyped-def]
    hole = "M20 20V40H40V20Z" if not rule else "M20 20H40V40H20Z"
    found = draw(f'<path {rule} d="M0 0H80V60H0Z {hole}"/>')
    assert region(found.outline).area == pytest.approx(4400, rel=2e-6)
    assert len(region(found.outline).interiors) == 1


def test_a_ring_wound_the_same_way_is_no_hole_by_the_nonzero_rule(draw) -> None:  # type: ignore[no-untyped-def]
    found = draw('<path d="M0 0H80V60H0Z M20 20H40V40H20Z"/>')
    assert region(found.outline).area == pytest.approx(4800, rel=2e-6)
    assert len(found.outline) == 1


def test_what_lies_inside_is_a_hole_and_is_said(draw) -> None:  # type: ignore[no-untyped-def]
    found = draw(f'{RECT}<circle id="finger" cx="40" cy="30" r="5"/>')
    assert region(found.outline).area == pytest.approx(2400 - 78.54, abs=0.15)
    assert found.notes == ("a circle 'finger' inside the outline: taken as a hole, nothing is cut there",)
    assert all(len(s) == 3 for s in found.outline[1].segments)


@pytest.mark.parametrize(
    ("body", "area", "note"),
    [
        (f"{RECT}{RECT}", 2400, "a rect is drawn twice; one was taken"),
        (f'{RECT}<rect x="50" y="10" width="40" height="40"/>', 3200, "a rect overlaps a rect: they were united"),
        ('<path d="M0 0H80V60H0V0.03"/>', 4800, "a path was open by 0.030 mm and was closed"),
        ('<path d="M0 0H80V60H0V-1L2 1"/>', 4800, "crosses itself"),
        (
            '<path d="M0 0H80"/><path d="M0 60V0"/><path d="M80.01 0V60"/><line x1="0" y1="60" x2="80" y2="60"/>',
            4800,
            "4 pieces were joined end to end",
        ),
    ],
)
def test_what_is_mended_is_said(draw, body: str, area: float, note: str) -> None:  # type: ignore[no-untyped-def]
    if "L2 1" in body:
        body = body.replace("L2 1", "L0.02 0")  # its ends meet; the slip crosses the top side
    found = draw(body)
    assert region(found.outline).area == pytest.approx(area, abs=2)
    assert any(note in n for n in found.notes), found.notes


@pytest.mark.parametrize(
    ("body", "why"),
    [
        ("", "draws no shape"),
        ('<path d="M0 0H80V60H0V3"/>', r"open by 3\.00 mm \(it ends at 0\.0, 3\.0 mm"),
        ('<path d="M0 0H80 M80 0V60 M80 60H1"/>', "open by .* close it"),
        ('<rect width="3" height="2"/>', r"only 3\.00 x 2\.00 mm; give its width"),
        ('<line x1="0" y1="0" x2="50" y2="0"/>', r"a line open by 50\.00 mm"),
        (f'{RECT}<circle id="stray" cx="200" cy="30" r="10"/>', "draws a circle 'stray' apart from a rect"),
        ('<path d="M0 0L80 60L80 0L0 60Z"/>', "2 separate regions"),
        ('<path d="garbage"/>', "draws no shape"),
        ('<path d="M0 0 L nan 5 Z"/>', "draws no shape"),
        ('<symbol id="s" viewBox="0 0 1 1"><rect width="1" height="1"/></symbol><use href="#s"/>', "break it apart"),
    ],
)
def test_what_is_refused_says_why(draw, body: str, why: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutlineError, match=why):
        draw(body)


def test_a_width_scales_and_keeps_the_form(draw) -> None:  # type: ignore[no-untyped-def]
    assert (draw(RECT, width=120).width, draw(RECT, width=120).height) == pytest.approx((120, 80))
    assert (draw(RECT, height=20).width, draw(RECT, height=20).height) == pytest.approx((30, 20))
    assert (draw(RECT, width=90, height=90).width, draw(RECT, width=90, height=90).height) == pytest.approx((90, 90))


def test_files_that_are_no_drawing(tmp_path: Path) -> None:
    (tmp_path / "text.svg").write_text("not a drawing", encoding="utf-8")
    (tmp_path / "other.svg").write_text("<html/>", encoding="utf-8")
    for name, why in (("text.svg", "cannot be read"), ("other.svg", "is not an SVG"), ("none.svg", "cannot be opened")):
        with pytest.raises(OutlineError, match=why):
            read_outline(tmp_path / name)


def test_path_data() -> None:
    found = read_path_data("M 0 0 H 75 A 42 42 0 0 1 75 84 H 0 Z")
    assert (found.width, found.height) == pytest.approx((117, 84), abs=1e-6)
    assert region(found.outline).area == pytest.approx(75 * 84 + 3.14159265 * 42 * 42 / 2, rel=3e-4)
    for wrong in ("Wanda", "M 0 0", "M 0 0 H 80 V 50"):
        with pytest.raises(OutlineError):
            read_path_data(wrong)
