"""Words along the edge."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

from engrave.geometry.flattening import flatten
from engrave.geometry.regions import region
from engrave.setting import Lettering, least_cap, place
from engrave.setting.compose.containment import is_inside
from engrave.setting.reading_frame import frame_of
from engrave.setting.rim import rim_layout
from engrave.setting.rim.bent_bands import _most_beyond
from engrave.setting.rim.rim_bands import RimBand, rim_band, word_white
from engrave.setting.text.fields import shaped_fields
from engrave.tasks import Task
from engrave.typefaces import Shelf, load_shelf

Make = Callable[..., Task]


def turn(laid: Lettering, k: int) -> float:
    """Return the angle of a mark's reading direction on the lid, in degrees (y down)."""
    a, b = laid.marks[k].matrix[:2]
    return math.degrees(math.atan2(b, a))


def name_band(t: Task, shelf: Shelf) -> RimBand:
    """Return the band of a task's first words, as it is before it is bent."""
    fields, _ = shaped_fields(t, shelf)
    band = rim_band(fields[0])
    assert band is not None
    return band


@pytest.mark.parametrize("lid", ["round-caddy", "dice-cup", "oval-box", "seed-box", "honey-box"])
@pytest.mark.parametrize("setting", ["rim", "rim-both", "medallion"])
def test_inside(lid: str, setting: str, task: Make, shelf: Shelf) -> None:
    t = task(lid, "Charlotte", "with love from Mum", setting=setting)
    laid = place(t, shelf)
    assert laid.marks, [p.says for p in laid.problems]
    assert is_inside(laid, frame_of(t.area, t.tool.machine, t.tool.cutter, laid.groove))
    assert laid.lines[0].field == "name"


def test_at_the_top_it_reads_clockwise(task: Make, shelf: Shelf) -> None:
    """First letters lean to the left, last ones to the right, and heads point outwards."""
    laid = place(task("dice-cup", "Maximiliane", setting="rim"), shelf)
    angles = [turn(laid, k) for k in range(len(laid.marks))]
    assert angles == sorted(angles)
    assert angles[0] < -20 < 20 < angles[-1]
    assert (
        abs(angles[0] + angles[-1]) < 15
    )  # as far to the left as to the right, but for the letters' widths: an M is wide
    assert laid.lines[0].baseline == 0.0


def test_at_the_bottom_it_reads_upright(task: Make, shelf: Shelf) -> None:
    t = task("dice-cup", "Annelie", setting="rim")
    laid = place(replace(t, setting=replace(t.setting, rim_where="bottom")), shelf)
    angles = [turn(laid, k) for k in range(len(laid.marks))]
    assert angles == sorted(angles, reverse=True)
    ys = [m.matrix[5] for m in laid.marks]
    assert min(ys) > t.area.height / 2


def test_both_at_once(task: Make, shelf: Shelf) -> None:
    laid = place(task("dice-cup", "Charlotte", "since 1987", setting="rim-both"), shelf)
    middle = (
        np.mean([m.matrix[5] for m in laid.marks if m.line == 0]),
        np.mean([m.matrix[5] for m in laid.marks if m.line == 1]),
    )
    assert middle[0] < middle[1]


def test_letters_on_a_circle_stand_square(task: Make, shelf: Shelf) -> None:
    """On a round lid each letter's own axis goes through the lid's middle."""
    t = task("dice-cup", "noonnoon", setting="rim")
    laid = place(t, shelf)
    centre = np.array([t.area.width / 2, t.area.height / 2])
    for m in laid.marks:
        ink = np.concatenate([flatten(c, 0.01) for c in m.glyph.path])
        x = (ink[:, 0].min() + ink[:, 0].max()) / 2
        a, b, c, d, e, f = m.matrix
        foot = np.array([a * x + e, b * x + f])
        up = np.array([c, d]) / math.hypot(c, d)
        outward = (foot - centre) / np.hypot(*(foot - centre))
        assert up @ outward == pytest.approx(1.0, abs=2e-3)


@pytest.mark.parametrize("where", ["top", "bottom"])
def test_letters_do_not_collide(where: str, task: Make, shelf: Shelf) -> None:
    """Neighbours keep most of the gap they have in a straight line, heads outwards or inwards."""
    t = task("dice-cup", "Hawthorn Mill", setting="rim")
    laid = place(replace(t, setting=replace(t.setting, rim_where=where)), shelf)
    letters = [region(m.path()) for m in laid.marks]
    gaps = [float(shapely.distance(a, b)) for a, b in zip(letters[:-1], letters[1:], strict=True)]
    assert min(gaps) > 0.02 * laid.cap_mm


def test_single_lines_keep_their_shape(task: Make, shelf: Shelf) -> None:
    """A bent letter is turned, never stretched: its map is a rotation times its size."""
    laid = place(task("dice-cup", "Maximiliane", setting="rim", typeface="withy"), shelf)
    for m in laid.marks:
        a, b, c, d, _, _ = m.matrix
        assert math.hypot(a, b) == pytest.approx(laid.cap_mm)
        assert math.hypot(c, d) == pytest.approx(laid.cap_mm)
        assert a * c + b * d == pytest.approx(0.0, abs=1e-9)


def test_a_rim_is_offered_where_it_gains(task: Make, shelf: Shelf) -> None:
    """One long name on a small round lid: the arc is longer than the chord; common geometry, and the note says it."""
    t = task("round-caddy", "Maximiliane", setting="stack")
    notes = [p for p in place(t, shelf).problems if p.code == "rim-would-be-larger"]
    assert [p.level for p in notes] == ["note"]


def test_a_rim_is_not_offered_for_a_sentence(task: Make, shelf: Shelf) -> None:
    laid = place(task("dice-cup", "", "a wind that shakes the barley", setting="stack"), shelf)
    assert "rim-would-be-larger" not in [p.code for p in laid.problems]


def test_the_offer_is_kept(task: Make, shelf: Shelf) -> None:
    """What is offered can be had, near enough, under the stack's own limits."""
    for lid, name in [
        ("dice-cup", "Wilhelmina-Josephine"),
        ("round-caddy", "Maximiliane"),
        ("oval-box", "Featherstonehaugh"),
    ]:
        t = task(lid, name, setting="stack")
        for p in place(t, shelf).problems:
            if p.code == "rim-would-be-larger":
                bent = place(replace(t, setting=replace(t.setting, kind="rim", rim_where="top")), shelf)
                assert bent.cap_mm == pytest.approx(float(p.value or 0), rel=0.02)


def test_at_a_given_size(task: Make, shelf: Shelf) -> None:
    laid = place(task("dice-cup", "Anna", setting="rim"), shelf, 7.0)
    assert laid.cap_mm == pytest.approx(7.0)


@pytest.mark.parametrize("typeface", ["dancing-script", "great-vibes", "ems-allure"])
def test_joined_letters_meet_on_the_rim_as_on_a_straight_line(typeface: str, task: Make, shelf: Shelf) -> None:
    """A word falls into as many parts, whichever way its line runs."""
    parts = []
    for setting in ("stack", "rim"):
        laid = place(task("round-caddy", "minimum", setting=setting, typeface=typeface), shelf)
        chords = [shapely.linestrings(flatten(c, 0.01)) for m in laid.marks for c in m.path()]
        inked = shapely.union_all(shapely.buffer(chords, 0.02))  # a hair, for lines that end on one another
        parts.append(int(shapely.get_num_geometries(inked)))
    assert parts[0] == parts[1]


def test_a_joined_word_keeps_its_height_along_a_round_lid(task: Make, shelf: Shelf) -> None:
    """Bent along a circle of radius r, what stands y above the line lies at r + y: nothing is stretched outwards."""
    t = task("round-caddy", "mmmmm", setting="rim", typeface="dancing-script")
    laid = place(t, shelf)
    points = np.concatenate([flatten(c, 0.005) for m in laid.marks for c in m.path()])
    away = np.hypot(points[:, 0] - t.area.width / 2, points[:, 1] - t.area.height / 2)
    run = shelf.get("dancing-script").shape("mmmmm")
    ys = np.concatenate([flatten(c, 0.001)[:, 1] * p.scale + p.y for p in run.placed for c in p.glyph.path])
    assert np.ptp(away) == pytest.approx(np.ptp(ys) * laid.cap_mm, abs=0.02)


@pytest.mark.parametrize(("name", "least"), [("WANDA", 85.0), ("Wanda B", 75.0), ("Charlotte", 85.0), ("Jo Lee", 60.0)])
def test_short_words_are_spaced_out_along_the_rim(name: str, least: float, task: Make, shelf: Shelf) -> None:
    """Out to a quarter of the way round, as far as that many letters still read as words; capitals stay small."""
    t = task("dice-cup", name, setting="rim")
    laid = place(t, shelf)
    angles = [turn(laid, k) for k in range(len(laid.marks))]
    assert max(angles) - min(angles) > least * (1 - 1.0 / len(laid.marks))
    assert laid.cap_mm <= 0.11 * min(t.area.width, t.area.height) + 1e-6


def test_joined_letters_are_not_spaced_out(task: Make, shelf: Shelf) -> None:
    t = task("dice-cup", "Wanda", setting="rim", typeface="dancing-script")
    laid = place(t, shelf)
    angles = [turn(laid, k) for k in range(len(laid.marks))]
    assert max(angles) - min(angles) < 60


def test_spaces_between_words_are_even_to_the_eye(task: Make, shelf: Shelf) -> None:
    """As typed, the space after 'To' and before 'THE' took 19.5 and 23.8 degrees, though the white is what the eye sees."""
    t = task("dice-cup", "To Ava HE VAT", setting="rim")
    band = name_band(t, shelf)
    white = [
        word_white(a, b) for a, b, ends in zip(band.letters[:-1], band.letters[1:], band.words, strict=True) if ends
    ]
    assert len(white) == 3
    assert max(white) - min(white) < 0.02
    run = band.shaped.typeface.shape(band.shaped.text, band.shaped.tracking)
    typed = [p.x for p in run.placed if p.text.strip()]
    assert [b.placed[0].x - band.letters[0].placed[0].x for b in band.letters] != [x - typed[0] for x in typed]


def test_a_foot_in_a_ring_of_words_can_be_read(task: Make, shelf: Shelf) -> None:
    """By its ratio to a long name alone it came out 1.8 mm high, with bare wood all round it."""
    for lid in ("dice-cup", "round-caddy", "seed-box"):
        t = task(lid, "Maximiliane Featherstone", "with love from Mum and Dad", "Christmas 2024", setting="rim-both")
        laid = place(t, shelf)
        cap = {line.field: line.cap_mm for line in laid.lines}
        assert cap["foot"] >= least_cap(t, "foot", shelf.get(t.typeface("foot")))
        assert cap["foot"] <= cap["name"]


def test_a_message_below_a_rim_is_not_cut_in_two_by_a_knob(task: Make, shelf: Shelf) -> None:
    """The half of the lid that the rim leaves free is its place; in the narrow ring it was 1.2 mm high, or in two parts."""
    for lid in ("round-caddy", "domino-box"):
        t = task(lid, "Jørgen & Åse", "since 1987", setting="rim")
        laid = place(t, shelf)
        assert [line.text for line in laid.lines] == ["Jørgen & Åse", "since 1987"]
        assert laid.lines[1].cap_mm == pytest.approx(t.setting.message_ratio * laid.lines[0].cap_mm, rel=0.01)


def test_words_go_along_the_edge_behind_a_hinge(task: Make, shelf: Shelf) -> None:
    """The fly box has a hinge and a clasp at its edge, which kept every short name off its rim."""
    for words in (("Eve",), ("Eve", "for you")):
        t = task("fly-box", *words, setting="rim-both")
        laid = place(t, shelf)
        assert laid.marks
        assert [line.baseline for line in laid.lines] == [0.0] * len(
            words
        )  # along the edge: set in lines, they have their own
        assert all(line.baseline > 0.0 for line in place(task("fly-box", *words), shelf).lines)
        assert is_inside(laid, frame_of(t.area, t.tool.machine, t.tool.cutter, laid.groove))


def test_a_short_name_in_an_arch_does_not_fan_out(task: Make, shelf: Shelf) -> None:
    """A letter adds 17 degrees at most; three letters stood 38 degrees off each other's way."""
    for lid in ("dice-cup", "seed-box", "heart-box"):
        laid = place(task(lid, "Eve", setting="arch"), shelf)
        angles = [turn(laid, k) for k, m in enumerate(laid.marks) if not m.is_ornament]
        assert len(angles) == 3
        assert max(angles) - min(angles) < 40


def test_words_on_a_straight_side_are_not_spaced_out(task: Make, shelf: Shelf) -> None:
    t = task("seed-box", "Eve", setting="rim")
    laid = place(t, shelf)
    band = name_band(t, shelf)
    at = [m.matrix[4] / laid.cap_mm for m in laid.marks]
    assert at[1] - at[0] == pytest.approx(band.letters[1].placed[0].x - band.letters[0].placed[0].x, abs=0.02)


@pytest.mark.parametrize("lid", ["card-box", "seed-box", "fly-box", "domino-box", "kite-box"])
@pytest.mark.parametrize("setting", ["rim", "rim-both"])
def test_words_on_a_lid_with_sides_turn_round_no_corner(lid: str, setting: str, task: Make, shelf: Shelf) -> None:
    """The first and last letters of 'Jørgen & Åse' fell over at a rectangle's corners, the others stood straight."""
    for name in ("Eve", "Jørgen & Åse", "Maximiliane Featherstone"):
        laid = place(task(lid, name, "since 1987", setting=setting), shelf)
        turns = np.array([turn(laid, k) for k, m in enumerate(laid.marks) if m.line == 0])
        steps = abs(np.diff(turns))
        assert steps.max() < 1.2 or 0.5 < steps.min() <= steps.max() < 31  # all straight, or one bend throughout


def test_long_names_on_a_rim_do_not_hang_head_down(task: Make, shelf: Shelf) -> None:
    """Half the way round where they can be read so; on a small lid, or by a coarse bit, a little more."""
    laid = place(task("round-caddy", "Maximiliane Featherstone", setting="rim"), shelf)
    assert max(abs(turn(laid, k)) for k in range(len(laid.marks))) < 92


def test_small_letters_stand_nearer_than_words(task: Make, shelf: Shelf) -> None:
    """'E v e' read as three initials; half the space between words keeps a word together."""
    t = task("dice-cup", "Eve", setting="rim")
    laid = place(t, shelf)
    band = name_band(t, shelf)
    letters = [region(m.path()) for m in laid.marks]
    wider = [float(shapely.distance(a, b)) / laid.cap_mm for a, b in zip(letters[:-1], letters[1:], strict=True)]
    assert all(w - gap < 0.35 for w, gap in zip(wider, band.gaps, strict=True)), (wider, band.gaps)


def test_an_ornament_stands_inside_the_ring_of_words(task: Make, shelf: Shelf) -> None:
    laid = place(task("kite-box", "Jørgen & Åse", "since 1987", setting="rim-both"), shelf)
    words = [m.matrix[5] for m in laid.marks if not m.is_ornament]
    assert all(min(words) < m.matrix[5] < max(words) for m in laid.marks if m.is_ornament)


def test_a_name_in_a_medallion_is_the_largest(task: Make, shelf: Shelf) -> None:
    """The message round it was twice as high; and a name without one stands in the middle, not on the rim."""
    for lid in ("dice-cup", "round-caddy"):
        laid = place(task(lid, "Maximiliane Featherstone", "with love from Mum and Dad", setting="medallion"), shelf)
        cap = {line.field: line.cap_mm for line in laid.lines}
        assert cap["name"] >= cap["message"]
    t = task("dice-cup", "Eve", setting="medallion")
    alone = place(t, shelf)
    assert {round(turn(alone, k), 6) for k in range(3)} == {0.0}
    (line,) = alone.lines
    assert line.baseline - line.cap_mm / 2 == pytest.approx(t.area.height / 2, abs=0.05 * t.area.height)


def test_what_lies_beyond_the_sides_is_what_all_points_tell() -> None:
    rng = np.random.default_rng(5)
    turns = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    normals = np.column_stack([np.cos(turns), np.sin(turns)])
    offsets = 20.0 + rng.random(90)
    for _ in range(20):
        middles = 18.0 * normals[rng.integers(0, 90, 6)]
        letters = [middle + rng.normal(size=(int(rng.integers(3, 200)), 2)) for middle in middles]
        every = float((np.concatenate(letters) @ normals.T - offsets).max())
        assert _most_beyond(letters, normals, offsets) == pytest.approx(every, abs=1e-9)


@pytest.mark.parametrize("lid", ["dice-cup", "round-caddy"])
def test_what_a_rim_leaves_is_one_room_at_any_share_of_the_size(
    lid: str, task: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Words tried calm and then as large as they fit are not composed in it anew, and come out as if they were."""
    t = task(lid, "Philip", "with all our love", setting="rim", typeface="ems-tech")
    filled = replace(t, setting=replace(t.setting, fill=1.0))
    made = []
    of = rim_layout.part_of

    def counted(*given: object) -> object:
        made.append(given)
        return of(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(rim_layout, "part_of", counted)
    shelf = load_shelf()
    calm, large = place(t, shelf), place(filled, shelf)
    assert calm.marks
    assert len(made) == len({part.wkb for _, part in made})  # type: ignore[misc]
    assert place(filled, load_shelf()) == large
