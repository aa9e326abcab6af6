"""Keep-outs that overhang a lid's edge, as a finger notch does, and edges of single sides, as a sliding lid has."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from shapely import Point, box

from engrave.geometry.clipping import clipped
from engrave.geometry.paths import box as box_of
from engrave.geometry.regions import region
from engrave.making import environment
from engrave.output.svg import check_svg, lid_svg, outline_svg
from engrave.shop import ShopError, load_shop
from engrave.shop.lid_room import flat, room_of_lid
from engrave.shop.shapes import centred_at, circle, rectangle
from engrave.verbs import try_words

LID = """[keepsake]
title = "Keepsake box"
outline = { rectangle = [120, 80] }
margin = 4
thickness = 9
cost = 5
keep_out = [ { circle = 24, at = [60, AT], clearance = 2, why = "finger notch" } ]
"""


def own(folder: Path, text: str) -> Path:
    (folder / "lids.toml").write_text(text, "utf-8")
    return folder


@pytest.mark.parametrize("at", ["80", "79.5", "84", "91.9"])
def test_a_half_moon_at_the_edge_is_drawn_clipped_and_kept_clear_as_a_whole(tmp_path: Path, at: str) -> None:
    (area,) = load_shop(own(tmp_path, LID.replace("AT", at))).lids["keepsake"].areas
    (notch,) = area.keep_outs
    disc, lid = Point(60, float(at)).buffer(12, quad_segs=256), box(0, 0, 120, 80)
    assert region(notch.outline, 0.001).symmetric_difference(disc.intersection(lid)).area < 0.05
    assert any(len(s) > 1 for c in notch.outline for s in c.segments), "curves stay curves"
    x0, y0, x1, y1 = box_of(notch.outline) or (0, 0, 0, 0)
    assert x0 >= -1e-3 and y0 >= -1e-3 and x1 <= 120.001 and y1 <= 80.001
    kept_clear = room_of_lid(area).intersection(Point(60, float(at)).buffer(14 - 0.02, quad_segs=256))
    assert kept_clear.area == 0


def test_words_on_a_lid_with_a_finger_notch_are_ready_and_their_file_passes(tmp_path: Path) -> None:
    env = environment(own(tmp_path, LID.replace("AT", "80")))
    (entry,) = try_words("Wanda", lid="keepsake", typeface="withy", wood="maple", cutter="v60", env=env).entries
    assert entry.piece.is_made
    for svg in (lid_svg(entry.piece, env.shop), outline_svg(entry.piece, env.shop)):
        assert check_svg(svg) == ()


def test_a_notch_in_the_corner_and_on_a_round_lid(tmp_path: Path) -> None:
    corner = LID.replace("[60, AT]", "[0, 0]")
    (area,) = load_shop(own(tmp_path, corner)).lids["keepsake"].areas
    assert region(area.keep_outs[0].outline, 0.001).area == pytest.approx(math.pi * 144 / 4, rel=1e-3)
    (area,) = (
        load_shop(own(tmp_path, LID.replace("rectangle = [120, 80]", "circle = 92").replace("[60, AT]", "[46, 92]")))
        .lids["keepsake"]
        .areas
    )
    lens = Point(46, 92).buffer(12, quad_segs=512).intersection(Point(46, 46).buffer(46, quad_segs=512))
    assert region(area.keep_outs[0].outline, 0.001).symmetric_difference(lens).area < 0.05


@pytest.mark.parametrize("at", ["92.1", "200"])
def test_a_keep_out_wholly_off_the_lid_is_still_a_mistake(tmp_path: Path, at: str) -> None:
    with pytest.raises(ShopError, match="lies wholly off the lid"):
        load_shop(own(tmp_path, LID.replace("AT", at)))


def test_a_keep_out_on_the_lid_is_not_touched(tmp_path: Path) -> None:
    (area,) = load_shop(own(tmp_path, LID.replace("AT", "40"))).lids["keepsake"].areas
    assert area.keep_outs[0].outline == centred_at(circle(24), (60, 40))
    assert area.keep_outs[0].whole == ()


def test_clipping_keeps_what_lies_inside_and_drops_the_rest() -> None:
    whole, lid = centred_at(circle(20), (10, 0)), rectangle(30, 30)
    half = clipped(whole, lid)
    assert region(half, 0.001).area == pytest.approx(math.pi * 50, rel=1e-3)
    assert all(c.closed and c.start == c.end for c in half)
    assert clipped(centred_at(circle(5), (-10, -10)), lid) == ()


SLIDING = """[sliding]
title = "Sliding lid"
outline = { rectangle = [120, 60] }
margin = 3
edge = EDGE
thickness = 6
cost = 5
"""


def test_an_edge_of_single_sides_begins_the_flat_there(tmp_path: Path) -> None:
    (area,) = (
        load_shop(own(tmp_path, SLIDING.replace("EDGE", '{ left = 6, right = "1/4 in", bottom = 2 }')))
        .lids["sliding"]
        .areas
    )
    assert flat(area).bounds == pytest.approx((6, 0, 120 - 6.35, 58))
    assert room_of_lid(area).bounds == pytest.approx((9, 3, 120 - 9.35, 55))
    (plain,) = load_shop(own(tmp_path, SLIDING.replace("EDGE", "2"))).lids["sliding"].areas
    assert flat(plain).bounds == pytest.approx((2, 2, 118, 58))


def test_edges_of_single_sides_are_mirrored_with_the_lid(tmp_path: Path) -> None:
    text = (
        SLIDING.replace("EDGE", "{ left = 6 }")
        + 'handed = "left"\n[sliding.areas.under]\nside = "inside"\nedge = { left = 4 }\n'
    )
    top, under = load_shop(own(tmp_path, text)).lids["sliding"].areas
    assert flat(top).bounds == pytest.approx((0, 0, 114, 60))
    assert flat(under).bounds == pytest.approx((4, 0, 120, 60)), "mirrored twice"


@pytest.mark.parametrize("edge", ["{ west = 3 }", "{}", "[3, 3]", "'x'", "-1", "{ left = -1 }", "true"])
def test_what_is_no_edge_is_told(tmp_path: Path, edge: str) -> None:
    with pytest.raises(ShopError, match="edge: found"):
        load_shop(own(tmp_path, SLIDING.replace("EDGE", edge)))


def test_words_keep_off_the_grooves(tmp_path: Path) -> None:
    env = environment(own(tmp_path, SLIDING.replace("EDGE", "{ left = 30, right = 30 }")))
    (entry,) = try_words("Wilhelmina", lid="sliding", typeface="withy", wood="maple", cutter="v60", env=env).entries
    assert entry.piece.lettering is not None
    xs = [p[0] for m in entry.piece.lettering.marks for c in m.path() for s in c.segments for p in s]
    assert min(xs) > 33 and max(xs) < 87
