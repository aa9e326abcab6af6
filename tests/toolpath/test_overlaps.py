"""What is filled never overlaps: joined scripts come out as one outline, and nothing else is changed."""

from __future__ import annotations

from itertools import combinations

import pytest
from shapely import Polygon, union_all
from svgpathtools import svgstr2paths

from engrave.geometry.paths import Contour, Path
from engrave.geometry.regions import region
from engrave.making import Env, environment
from engrave.output.svg import check_svg, lid_svg
from engrave.toolpath.overlaps import united_outlines
from engrave.toolpath.strokes import as_drawn
from engrave.verbs import try_words

WORDS = [
    ("great-vibes", "Charlotte & Tatjana"),
    ("dancing-script", "Wanda & Łukasz"),
    ("noto-naskh-arabic", "محمد وفاطمة"),
    ("noto-sans-devanagari", "लक्ष्मी"),
]


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def square(x: float, y: float, side: float, turned: bool = False) -> Path:
    one = Contour((x, y), (((x + side, y),), ((x + side, y + side),), ((x, y + side),), ((x, y),)), True)
    return (one.reversed() if turned else one,)


@pytest.mark.parametrize("turned", [False, True])
def test_two_squares_that_overlap_are_one_and_a_third_stays_itself(turned: bool) -> None:
    apart = square(30, 0, 10)
    found = united_outlines((square(0, 0, 10), apart, square(5, 5, 10, turned)))
    assert len(found) == 2
    assert region(found).area == pytest.approx(100 + 100 - 25 + 100, abs=1e-3)
    assert found[1:] == apart


def test_squares_that_only_touch_stay_as_they_are() -> None:
    paths = (square(0, 0, 10), square(10, 0, 10))
    assert united_outlines(paths) == (*paths[0], *paths[1])


def test_a_square_in_the_ring_of_another_letter_stays_as_it_is() -> None:
    ring = (*square(0, 0, 30), square(5, 5, 20)[0].reversed())
    assert united_outlines((ring, square(10, 10, 5))) == (*ring, *square(10, 10, 5))


@pytest.mark.source("svgpathtools and GEOS, areas of the file's shapes")
@pytest.mark.parametrize(("typeface", "words"), WORDS, ids=[t for t, _ in WORDS])
def test_filled_shapes_of_the_file_do_not_overlap(env: Env, typeface: str, words: str) -> None:
    """Read back by another library: areas of the file's shapes sum to that of their union, and to that of the letters."""
    piece = try_words(words, lid="letter-box", typeface=typeface, lettering_size="large", env=env).entries[0].piece
    assert piece.lettering is not None
    letters = [region(m.path()) for m in piece.lettering.marks]
    whole = union_all(letters)
    assert sum(p.area for p in letters) > whole.area + 5  # in mm2: these letters do overlap
    assert region(as_drawn(piece.lettering)).symmetric_difference(whole).area < 2e-3 * whole.area
    svg = lid_svg(piece, env.shop)
    assert not check_svg(svg)
    shapes = shapes_of(svg)
    assert all(a.intersection(b).area < 0.01 for a, b in combinations(shapes, 2))
    assert sum(s.area for s in shapes) == pytest.approx(whole.area, rel=3e-3)


def shapes_of(svg: str) -> list[Polygon]:
    """Return the filled shapes of the group 'engrave' as chords, each ring by the even-odd rule."""
    head, rest = svg.split('<g id="engrave">', 1)
    shapes = []
    for path in svgstr2paths(head + "<g>" + rest.split("</g>", 1)[0] + "</g></svg>")[0]:
        shape = Polygon()
        for ring in path.continuous_subpaths():
            points = [s.point(t / 12) for s in ring for t in range(12)]
            shape = shape.symmetric_difference(Polygon([(p.real, p.imag) for p in points]).buffer(0))
        shapes.append(shape)
    return shapes


def test_curves_are_kept(env: Env) -> None:
    piece = try_words("Charlotte", lid="letter-box", typeface="great-vibes", env=env).entries[0].piece
    assert piece.toolpath is not None
    segments = [s for c in piece.toolpath.strokes for s in c.segments]
    assert sum(len(s) > 1 for s in segments) > 0.9 * len(segments)
