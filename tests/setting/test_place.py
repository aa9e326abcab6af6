"""Words placed on the shop's lids: inside, handsome, and honest about what does not go."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import MultiPoint, Point, unary_union
from skimage.measure import points_in_poly

from engrave.cache import Cache
from engrave.geometry.flattening import flatten
from engrave.geometry.regions import region
from engrave.setting import Lettering, largest_cap, place
from engrave.setting.compose.composition import Sizes, compose_largest
from engrave.setting.compose.containment import is_inside
from engrave.setting.reading_frame import frame_of
from engrave.setting.text.fields import line_pitch, shaped_fields
from engrave.shop import Shop, room
from engrave.tasks import Task
from engrave.typefaces import Shelf, load_shelf

Make = Callable[..., Task]

LIDS = ["round-caddy", "puzzle-box", "card-box", "needle-box", "oval-box", "honey-box", "heart-box", "reel-box",
        "domino-box", "dice-cup", "fly-box", "kite-box"]  # fmt: skip
TEXTS = [("Eve", ""), ("Jørgen & Åse", "since 1987"), ("Maximiliane Featherstone", "")]


def points(laid: Lettering) -> np.ndarray:
    return np.concatenate([flatten(c, 0.002) for m in laid.marks for c in m.path()])


@pytest.mark.source("scikit-image, points in polygons")
@pytest.mark.parametrize("lid", LIDS)
@pytest.mark.parametrize("words", TEXTS, ids=[t[0] for t in TEXTS])
@pytest.mark.parametrize("typeface", ["", "withy"])
def test_inside_in_another_library(lid: str, words: tuple[str, str], typeface: str, task: Make, shelf: Shelf) -> None:
    """Every point of outlines or strokes lies in the room: outside no hole's ring, inside the outer (scikit-image)."""
    t = task(lid, *words, typeface=typeface)
    laid = place(t, shelf)
    assert laid.marks
    shape = room(t.area, t.tool.machine, t.tool.cutter)
    if laid.kind == "single-line":
        shape = shape.buffer(-laid.groove / 2 + 1e-3, quad_segs=64)
    ink = points(laid)
    parts = list(getattr(shape, "geoms", [shape]))
    inside = np.zeros(len(ink), dtype=bool)
    for part in parts:
        here = points_in_poly(ink, np.asarray(part.exterior.coords))
        for hole in part.interiors:
            here &= ~points_in_poly(ink, np.asarray(hole.coords))
        inside |= here
    assert inside.all()


def test_nothing_stands_inside_a_word(task: Make, shelf: Shelf) -> None:
    """No keep-out lies in the hull of a line: not in a letter, between letters or between words."""
    for lid in ("round-caddy", "puzzle-box", "domino-box", "fly-box"):
        t = task(lid, "Lily Tay", "for tea and for sugar")
        laid = place(t, shelf)
        shape = room(t.area, t.tool.machine, t.tool.cutter)
        for k in range(len(laid.lines)):
            ink = np.concatenate([flatten(c, 0.01) for m in laid.marks if m.line == k for c in m.path()])
            hull = MultiPoint(ink).convex_hull
            for hole in shape.interiors:
                assert not hull.contains(Point(np.asarray(hole.coords).mean(axis=0)))


def test_knob_opens_the_gap(task: Make, shelf: Shelf) -> None:
    """Name above and message below a knob stand farther apart than their pitch, with the knob between."""
    laid = place(task("round-caddy", "Charlotte", "with love from Mum and Dad"), shelf)
    name, message = laid.lines[0].baseline, laid.lines[1].baseline
    assert name < 46 < message  # the knob stands at the middle of a lid of 92 mm
    assert message - name > 1.5 * laid.cap_mm


def test_greatest_cap(task: Make, shelf: Shelf) -> None:
    t = task("oval-box", "Li")
    assert place(t, shelf).cap_mm == pytest.approx(t.setting.greatest_round * min(t.area.width, t.area.height))


def test_share_to_fill(task: Make, shelf: Shelf) -> None:
    t = task("card-box", "Maximiliane Featherstone")
    less, whole = (replace(t, setting=replace(t.setting, fill=f, air=0.0)) for f in (0.7, 1.0))
    assert place(less, shelf).cap_mm == pytest.approx(0.7 * place(whole, shelf).cap_mm, rel=0.06)


@pytest.mark.source("ISO 3098-1, lettering type B: base lines apart")
def test_pitch_by_the_words(task: Make) -> None:
    """ISO 3098-1, type B, h = 5 mm: b3 6.5 (capitals only), b2 7.5 (capitals and small letters), b1 9.5 (accents)."""
    setting = task("card-box", "x").setting
    assert [5 * line_pitch(w, setting) for w in ("ANNA", "Anna", "Åse")] == pytest.approx([6.5, 7.5, 9.5])


def test_ring_under_a_tail(task: Make, shelf: Shelf) -> None:
    """An Å under a g: the real ink keeps a gap, whatever the pitch says."""
    t = task("card-box", "gygyg\nÅÅÅÅÅ")
    tight = replace(t, setting=replace(t.setting, pitch_accents=1.3, pitch_mixed=1.3))
    laid = place(tight, shelf)
    tails = max(points(replace(laid, marks=tuple(m for m in laid.marks if m.line == 0)))[:, 1])
    rings = min(points(replace(laid, marks=tuple(m for m in laid.marks if m.line == 1)))[:, 1])
    assert rings - tails >= 0.1 * laid.cap_mm


@pytest.mark.parametrize("front", ["bottom", "top", "left", "right"])
def test_front(front: str, task: Make, shelf: Shelf) -> None:
    """Words have their feet towards the front: their first mark reads as it should, and all stay inside."""
    t = task("card-box", "Anna")
    turned = replace(t, area=replace(t.area, front=front))
    laid = place(turned, shelf)
    a, b, c, d, _, _ = laid.marks[0].matrix
    along = {"bottom": (1, 0), "top": (-1, 0), "left": (0, 1), "right": (0, -1)}[front]
    up = {"bottom": (0, -1), "top": (0, 1), "left": (1, 0), "right": (-1, 0)}[front]
    cap = laid.cap_mm
    assert (a / cap, b / cap) == pytest.approx(along, abs=1e-9)
    assert (c / cap, d / cap) == pytest.approx(up, abs=1e-9)
    assert is_inside(laid, frame_of(turned.area, t.tool.machine, t.tool.cutter, laid.groove))


def test_centred_and_a_little_high(task: Make, shelf: Shelf) -> None:
    t = task("oval-box", "Hoho")
    ink = points(place(t, shelf))
    assert (ink[:, 0].min() + ink[:, 0].max()) / 2 == pytest.approx(t.area.width / 2, abs=0.01)
    assert 0.0 < t.area.height / 2 - (ink[:, 1].min() + ink[:, 1].max()) / 2 < 0.08 * t.area.height


def test_border_centres_the_box(task: Make, shelf: Shelf) -> None:
    t = task("oval-box", "Hoho")
    ink = points(place(replace(t, area=replace(t.area, border=True)), shelf))
    assert (ink[:, 1].min() + ink[:, 1].max()) / 2 == pytest.approx(t.area.height / 2, abs=0.01)


@pytest.mark.parametrize(("align", "side"), [("left", 0), ("right", 1)])
def test_alignment(align: str, side: int, task: Make, shelf: Shelf) -> None:
    t = task("seed-box", "Wanda", "sixty summers by the river and more to come")
    laid = place(replace(t, setting=replace(t.setting, align=align)), shelf)
    assert len(laid.lines) > 2
    edges = []
    for k in range(len(laid.lines)):
        ink = points(replace(laid, marks=tuple(m for m in laid.marks if m.line == k)))
        edges.append((ink[:, 0].min(), ink[:, 0].max())[side])
    assert np.ptp(edges) < 0.02


def test_buyers_breaks_are_kept(task: Make, shelf: Shelf) -> None:
    laid = place(task("seed-box", "Tom\nand Ann"), shelf)
    assert laid.lines[0].text == "Tom"


def test_words_are_never_changed(task: Make, shelf: Shelf) -> None:
    words = ("Zoë & Søren", "to have and to hold, 12 June 2024", "No. 7")
    laid = place(task("seed-box", *words), shelf)
    for field, text in zip(("name", "message", "foot"), words, strict=True):
        assert " ".join(line.text for line in laid.lines if line.field == field) == text


def test_right_to_left(task: Make, shelf: Shelf) -> None:
    laid = place(task("card-box", "שלום לכולם Anna", typeface="noto-sans-hebrew"), shelf)
    assert laid.marks
    assert " ".join(line.text for line in laid.lines) == "שלום לכולם Anna"


# --- what does not go -----------------------------------------------------------------------------------------


def codes(laid: Lettering) -> list[str]:
    return [p.code for p in laid.problems if p.level == "hold"]


def test_too_small_says_how_small(task: Make, shelf: Shelf) -> None:
    laid = place(task("dice-cup", "", "a wind that shakes the barley and a tide that turns the mill " * 2,
                      setting="stack", cutter="v60", wood="oak"), shelf)  # fmt: skip
    assert codes(laid) == ["too-small"]
    assert laid.marks  # figures are still reported
    problem = next(p for p in laid.problems if p.code == "too-small")
    assert isinstance(problem.value, float)
    assert isinstance(problem.limit, float)
    assert problem.value < problem.limit
    assert "would help" in problem.says


def test_a_word_no_line_can_hold(task: Make, shelf: Shelf) -> None:
    laid = place(
        task("dice-cup", "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichen" * 2, setting="stack"), shelf
    )
    assert codes(laid) == ["does-not-fit"]
    assert not laid.marks
    assert "not broken" in laid.problems[-1].says


def test_a_poem_is_refused_at_once(task: Make, shelf: Shelf) -> None:
    """600 characters take no seconds, and what it says holds: a size and the least."""
    t = task("card-box", "", "the boat lies low in the reeds by the mill " * 30)
    place(task("card-box", "x"), shelf)
    start = time.process_time()
    laid = place(t, shelf)
    assert time.process_time() - start < 1.0
    assert codes(laid) == ["too-long"]


def test_six_hundred_letters_take_no_seconds(task: Make, shelf: Shelf) -> None:
    t = task("seed-box", "", "the boat lies low in the reeds by the mill " * 14)
    start = time.process_time()
    place(t, shelf)
    assert time.process_time() - start < 3.0


def test_capitals_in_script(task: Make, shelf: Shelf) -> None:
    laid = place(task("seed-box", "JOHN AND MARY", typeface="great-vibes"), shelf)
    assert "all-capitals-in-script" in [p.code for p in laid.problems if p.level == "look"]
    assert " ".join(line.text for line in laid.lines) == "JOHN AND MARY"


def test_no_words(task: Make, shelf: Shelf) -> None:
    t = task("card-box", "x")
    laid = place(replace(t, words=replace(t.words, name="")), shelf)
    assert not laid.marks
    assert not laid.problems


# --- sets -----------------------------------------------------------------------------------------------------


def test_matching_lids_look_alike(task: Make, shelf: Shelf) -> None:
    """Set at one size, one-line names have one baseline, whatever their tails and accents."""
    crew = [task("card-box", name) for name in ("Anna", "Peggy", "Åsa", "Tim")]
    cap = min(largest_cap(t, shelf) for t in crew)
    laid = [place(t, shelf, cap) for t in crew]
    assert all(one.cap_mm == cap for one in laid)
    assert len({round(one.lines[0].baseline, 6) for one in laid}) == 1


def test_a_size_that_does_not_go_is_held(task: Make, shelf: Shelf) -> None:
    laid = place(task("card-box", "Maximiliane"), shelf, 40.0)
    assert codes(laid) == ["does-not-fit"]
    assert not laid.marks


def test_same_input_same_place(task: Make, shelf: Shelf, shop: Shop) -> None:
    t = task("heart-box", "Charlotte", "with love from Mum and Dad")
    assert place(t, shelf) == place(t, shelf)


@pytest.mark.parametrize("typeface", ["vollkorn", "noto-sans", "withy"])
@pytest.mark.parametrize("name", ["Eve", "Li", "Max", "Wanda", "Ole"])
@pytest.mark.parametrize("lid", ["round-caddy", "domino-box"])
def test_a_single_name_stands_above_the_knob(
    task: Callable[..., Task], shelf: Shelf, lid: str, name: str, typeface: str
) -> None:
    """'Eve' once stood below, where it fits 5.5 % larger, and 'Wanda' on the next lid above."""
    t = task(lid, name, typeface=typeface)
    (line,) = place(t, shelf).lines
    assert line.baseline < t.area.height / 2


def test_of_a_group_a_name_stands_above_the_knob_at_the_groups_size(task: Callable[..., Task], shelf: Shelf) -> None:
    t = task("round-caddy", "Eve")
    (line,) = place(t, shelf, 13.0).lines
    assert line.cap_mm == pytest.approx(13.0)
    assert line.baseline < t.area.height / 2


@pytest.mark.parametrize("setting", ["stack", "stack-left"])
@pytest.mark.parametrize("lid", LIDS)
def test_no_line_runs_into_the_next(task: Make, shelf: Shelf, lid: str, setting: str) -> None:
    """On the puzzle box, from the left, the message once stood in the name: the notch beside them is lower than a line."""
    laid = place(task(lid, "Charlotte", "with love from Mum and Dad, Christmas 2024", setting=setting), shelf)
    lines = [unary_union([region(m.path()) for m in laid.marks if m.line == k]) for k in range(len(laid.lines))]
    for above, below in pairwise(lines):
        assert above.distance(below) > 0.1 * min(line.cap_mm for line in laid.lines)


@pytest.mark.parametrize(
    "words", [("Jørgen & Åse", "since 1987"), ("Charlotte", "with love from Mum and Dad, Christmas 2024")]
)
@pytest.mark.parametrize("cap", [None, 7.0])
def test_lines_from_the_left_never_stand_beside_a_knob(
    task: Make, shelf: Shelf, words: tuple[str, str], cap: float | None
) -> None:
    """'&' and 'with' once stood between the block's edge and the knob."""
    t = task("round-caddy", *words, setting="stack-left")
    laid = place(t, shelf, cap)
    knob = region(t.area.keep_outs[0].outline).bounds
    assert laid.marks
    for k in range(len(laid.lines)):
        _, top, _, bottom = unary_union([region(m.path()) for m in laid.marks if m.line == k]).bounds
        assert bottom < knob[1] or top > knob[3]


@pytest.mark.parametrize(
    ("typeface", "spaced"), [("quicksand", True), ("great-vibes", False), ("hershey-script", False)]
)
def test_letters_that_join_are_never_spaced(task: Make, shelf: Shelf, typeface: str, spaced: bool) -> None:
    """Whatever the table or the shop asks for: their strokes run from one into the next."""
    (field,), _ = shaped_fields(replace(task("card-box", "Ida", typeface=typeface), tracking=0.05), shelf)
    assert field.tracking == (0.05 if spaced else 0.0)


@pytest.mark.parametrize("lid", ["round-caddy", "card-box", "puzzle-box"])
def test_what_is_kept_of_a_composition_changes_nothing(lid: str, task: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    """Words set at several shares of the largest size, one after the other either way, come out as each does alone."""
    shelf = load_shelf()
    t = task(lid, "Friedrich", "thank you for everything")
    tasks = [replace(t, setting=replace(t.setting, fill=fill)) for fill in (t.setting.fill, 1.0, 0.95)]

    def fresh(one: Task) -> Lettering:
        monkeypatch.setattr(shelf, "cache", Cache())
        return place(one, shelf)

    alone = [fresh(one) for one in tasks]
    assert len({laid.cap_mm for laid in alone}) > 1
    monkeypatch.setattr(shelf, "cache", Cache())
    assert [place(one, shelf) for one in tasks] == alone
    monkeypatch.setattr(shelf, "cache", Cache())
    assert [place(one, shelf) for one in reversed(tasks)] == alone[::-1]


def test_a_kept_composition_is_asked_for_by_the_size_at_which_words_can_be_read(task: Make, shelf: Shelf) -> None:
    """Kept without it, the same words on the same lid came out 12.2 mm high where 14.9 was needed and to be had."""
    t = task("kite-box", "Anna & Bo", "Together is a beautiful place to be")
    fields, _ = shaped_fields(t, shelf)
    caps = []
    for wants_first in ((0.0, 12.5), (12.5,)):
        frame = frame_of(t.area, t.tool.machine, t.tool.cutter, t.tool.groove)
        assert frame is not None
        for readable in wants_first:
            found = compose_largest(frame, fields, t.setting, Sizes(30.0, 0.35, readable), t.area.border)
            assert found is not None
        caps.append((found.full, found.size, found.chosen))
    assert caps[0] == caps[1]
    assert caps[0][0] >= 12.5


def test_words_part_what_belongs_together_before_they_are_too_small(task: Make, shelf: Shelf) -> None:
    """'for the keys and all small' stayed on one line of 3.5 mm, and was held, where two of 4.8 mm can be read."""
    laid = place(
        task("round-caddy", "Willi Ritter", "for the keys and all small", typeface="vollkorn", cutter="mill-05"), shelf
    )
    assert [line.text for line in laid.lines] == ["Willi Ritter", "for the keys and", "all small"]
    assert [p.code for p in laid.problems if p.level == "hold"] == []


def test_lines_on_the_left_begin_at_the_left(task: Make, shelf: Shelf) -> None:
    """'2026' stood in the middle under 'Wanda': where the break had stood when it was weighed was taken for its place."""
    laid = place(task("letter-box", "Wanda", "", "2026", setting="stack-left"), shelf)
    first = [min(points(replace(laid, marks=(m,)))[:, 0]) for m in laid.marks]
    assert len(laid.lines) == 2
    assert abs(first[0] - first[5]) < 2.0
