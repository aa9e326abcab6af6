"""The pure solver against proved fits, closed forms, and what must hold for any room and words."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from fits import Case, cases, ink_at
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, affinity
from skimage.measure import points_in_poly

from engrave.setting.fit.largest_fit import largest
from engrave.setting.fit.layout import Field, Stack
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.prepared_room import prepare_room
from engrave.setting.fit.solver import Fit, SizeSearch
from engrave.setting.text.silhouettes import silhouette

NAMES = [c.name for c in cases()]
MODES = ("centred", "free")


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("number", range(len(NAMES)), ids=NAMES)
def test_proved_fits(number: int, mode: str) -> None:
    """Branch and bound found a size and proved that nothing above a bound a thousandth larger is possible."""
    case = cases()[number]
    fit = largest(case.room, case.stack, mode)
    truth = case.truth[mode]
    assert fit is not None
    assert truth["cap_mm"] * (1 - 1e-3) <= fit.cap <= truth["bound_mm"] * (1 + 1e-6)


@pytest.mark.parametrize("number", range(len(NAMES)), ids=NAMES)
def test_proved_breaks(number: int) -> None:
    case = cases()[number]
    fit = largest(case.room, case.stack)
    assert fit is not None
    words = [u.text for f in case.stack.fields for u in f.units]
    assert [" ".join(words[i:j]) for i, j in fit.lines] == case.truth["centred"]["lines"]


@pytest.mark.source("scikit-image, points in polygons")
@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("number", range(len(NAMES)), ids=NAMES)
def test_never_outside(number: int, mode: str) -> None:
    """Every point of every letter is in the room, asked of another library, which knows nothing of the solver's."""
    case = cases()[number]
    fit = largest(case.room, case.stack, mode)
    assert fit is not None
    points = np.concatenate(ink_at(case, fit))
    hair = 1e-5  # mm: a point just on the border counts as either side; all are drawn in by less than is ever cut
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    drawn_in = middle + (points - middle) * (1 - hair / np.ptp(points))
    assert points_in_poly(drawn_in, np.asarray(case.room.exterior.coords)).all()
    for hole in case.room.interiors:
        assert not points_in_poly(drawn_in, np.asarray(hole.coords) * (1 - 1e-5) + _centre(hole) * 1e-5).any()


def _centre(ring: object) -> np.ndarray:
    return np.asarray(Polygon(ring).centroid.coords)[0]


def test_tidy_is_larger_only_where_a_gap_opens() -> None:
    for loose, tidy in zip(cases(), cases(exact=False), strict=True):
        free, kept = largest(loose.room, loose.stack), largest(tidy.room, tidy.stack, tidy=True)
        assert free is not None
        assert kept is not None
        assert kept.cap <= free.cap * (1 + 1e-3) or _opened(tidy, kept)


def _opened(case: Case, fit: Fit) -> bool:
    gaps = -np.diff(fit.baselines) / fit.cap
    return len(gaps) > 0 and float(gaps.max()) > case.stack.pitch * (1 + 1e-6)


def test_a_gap_round_a_knob_gains_half() -> None:
    """'Tea & sugar' on a round lid with a knob: beside the knob at the usual pitch 10.17 mm, around it 15.6."""
    number = NAMES.index("8-circle_knob")
    tidy = cases(exact=False)[number]
    fit = largest(tidy.room, tidy.stack, tidy=True)
    assert fit is not None
    assert fit.cap > 1.5 * tidy.truth["centred"]["cap_mm"]


# --- closed forms ---------------------------------------------------------------------------------------------


def _box(aspect: float) -> Stack:
    """Return one word that is a box, a cap high and `aspect` wide."""
    corners = np.array([(0.0, 0.0), (aspect, 0.0), (aspect, 1.0), (0.0, 1.0), (0.0, 0.0)])
    return Stack((Field(1.0, (silhouette("box", [corners]),)),), 1.5)


def _regular(sides: int, radius: float, turn: float, rx: float = 1.0) -> Polygon:
    angle = turn + 2 * np.pi * np.arange(sides) / sides
    return Polygon(np.column_stack([rx * radius * np.cos(angle), radius * np.sin(angle)]))


CLOSED = [
    ("ellipse, semi-axes 60 and 40, box 2:1", _regular(4000, 40, 0.0, 1.5), 2.0, 48.0),
    ("circle, diameter 100, box 4:1", _regular(4000, 50, 0.0), 4.0, 24.2536),
    ("triangle, base 100, height 80, box 3:1", Polygon([(-50, 0), (50, 0), (0, 80)]), 3.0, 23.5294),
    ("hexagon, radius 50, flat top, box 2:1", _regular(6, 50, 0.0), 2.0, 38.7995),
    ("octagon, radius 50, flat sides, box 4:1", _regular(8, 50, math.pi / 8), 4.0, 23.0970),
]
"""A box of aspect k in an ellipse is 2/sqrt(k2/a2 + 1/b2) high, in a triangle b h/(b + k h); the polygons' from their
sides' equations. Closed forms; 4000 sides keep the curves within 0.03 micrometres."""


@pytest.mark.parametrize(("room", "aspect", "height"), [c[1:] for c in CLOSED], ids=[c[0] for c in CLOSED])
@pytest.mark.parametrize("mode", MODES)
def test_closed_forms(room: Polygon, aspect: float, height: float, mode: str) -> None:
    fit = largest(room, _box(aspect), mode)
    assert fit is not None
    assert fit.cap == pytest.approx(height, abs=1e-3)


def test_larger_beyond_a_gap_is_found() -> None:
    """A word too tall for the space beside a pin at most sizes clears it only in a window of sizes; it is found."""
    room = Polygon(_regular(90, 50, 0.0).exterior, [np.asarray(_regular(40, 4, 0.0).exterior.coords)])
    fit = largest(room, _box(1.0))
    assert fit is not None
    assert fit.cap > 27.0  # above or below the pin: more than half of what the open circle (70.7) gives is not there


# --- what holds for any words and rooms -----------------------------------------------------------------------

heights = st.floats(0.3, 1.4)
words = st.lists(st.tuples(st.floats(0.4, 5.0), heights, st.floats(-0.4, 0.0)), min_size=1, max_size=6)


def _stack(boxes: list[tuple[float, float, float]], mirrored: bool = False) -> Stack:
    units, at = [], 0.0
    for k, (width, top, bottom) in enumerate(boxes):
        shape = np.array([(at, bottom), (at + width, 0.0), (at + width, top), (at + 0.3 * width, top), (at, bottom)])
        units.append(silhouette(str(k), [shape * (-1.0, 1.0) if mirrored else shape]))
        at += width + 0.3
    return Stack((Field(1.0, tuple(units)),), 1.6)


@st.composite
def rooms(draw: st.DrawFn) -> Polygon:
    """Draw a convex room about the origin."""
    angles = sorted(draw(st.lists(st.floats(0, 2 * math.pi), min_size=5, max_size=12, unique=True)))
    radii = draw(st.lists(st.floats(20, 60), min_size=len(angles), max_size=len(angles)))
    room = Polygon([(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, radii, strict=True)]).convex_hull
    assume(room.geom_type == "Polygon" and room.contains(Polygon([(-8, -8), (8, -8), (8, 8), (-8, 8)])))
    return room


@pytest.mark.source("scikit-image, points in polygons")
@settings(max_examples=40)
@given(rooms(), words)
def test_inside_any_convex_room(room: Polygon, boxes: list[tuple[float, float, float]]) -> None:
    stack = _stack(boxes)
    fit = largest(room, stack)
    assume(fit is not None)
    assert fit is not None
    units = stack.fields[0].units
    for (i, j), baseline in zip(fit.lines, fit.baselines, strict=True):
        hull = np.concatenate([u.hull for u in units[i:j]])
        centre = (hull[:, 0].min() + hull[:, 0].max()) / 2
        placed = (hull - (centre, 0.0)) * fit.cap * (1 - 1e-7) + (fit.x, baseline)
        inward = placed * (1 - 1e-6)
        assert points_in_poly(inward, np.asarray(room.exterior.coords)).all()


@settings(max_examples=30)
@given(rooms(), words, st.floats(0.5, 3.0))
def test_scaling(room: Polygon, boxes: list[tuple[float, float, float]], by: float) -> None:
    one, other = largest(room, _stack(boxes)), largest(affinity.scale(room, by, by, origin=(0, 0)), _stack(boxes))
    assume(one is not None and other is not None)
    assert one is not None
    assert other is not None
    assert other.cap == pytest.approx(one.cap * by, rel=3e-6)


@settings(max_examples=30)
@given(rooms(), words, st.floats(0.1, 6.0))
def test_larger_margin_never_gives_more(room: Polygon, boxes: list[tuple[float, float, float]], margin: float) -> None:
    smaller = room.buffer(-margin, join_style="mitre")
    assume(not smaller.is_empty)
    one, other = largest(room, _stack(boxes)), largest(smaller, _stack(boxes))
    assert other is None or (one is not None and other.cap <= one.cap * (1 + 1e-6))


@settings(max_examples=30)
@given(rooms(), words)
def test_mirrored(room: Polygon, boxes: list[tuple[float, float, float]]) -> None:
    """The mirror image of room and words has the mirror image of the place."""
    one = largest(room, _stack(boxes))
    other = largest(affinity.scale(room, -1.0, 1.0, origin=(0, 0)), _stack(boxes, mirrored=True))
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert other.cap == pytest.approx(one.cap, rel=3e-6)


def test_convex_is_exact() -> None:
    """In a convex room nothing a millionth larger fits, over all breaks: each is asked by its own programme."""
    case = cases()[NAMES.index("6-circle")]
    search = SizeSearch(prepare_room(case.room), case.stack, 0.0)
    found = search.best()
    assert found is not None
    numbers = {span: n for n, span in enumerate(search.layout.ends)}
    count = search.layout.count
    best = 0.0
    for many in range(count):
        for cuts in combinations(range(1, count), many):
            spans = list(zip((0, *cuts), (*cuts, count), strict=True))
            if all(s in numbers for s in spans):
                best = max(best, search.most_of(Break(tuple(numbers[s] for s in spans))))
    assert found[1] == pytest.approx(best, rel=2e-6)


@pytest.mark.filterwarnings("error")
def test_a_room_in_two_parts_holds_words_in_one_of_them_never_across() -> None:
    """Once a floor of infinity less infinity: a knob's clearance had cut the lid in two."""
    left, right = Polygon([(0, 0), (30, 0), (30, 20), (0, 20)]), Polygon([(50, 0), (90, 0), (90, 20), (50, 20)])
    both = MultiPolygon([left, right])
    assert largest(both, _box(3.0), axis=40.0) is None
    found = largest(both, _box(3.0), "free")
    assert found is not None
    assert found.cap == pytest.approx(40 / 3, rel=0.002)
    assert found.x == pytest.approx(70.0, abs=0.2)
