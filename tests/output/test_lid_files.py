"""Which file a lid's drawing goes into, what else stands in it, and what it says."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from shapely import LineString, box

from engrave import verbs
from engrave.batch import run_week
from engrave.making import environment
from engrave.output.svg import check_svg, lid_svg, outline_svg

SVG = "{http://www.w3.org/2000/svg}"

LOOKS = """order,name,lid,typeface,wood,approved
L-1,Ida,card-box,withy,maple,
L-2,Tom 20mm,card-box,withy,maple,
L-3,Una,card-box,no-such-typeface-at-all,maple,
"""


def _lines(text: str, group: str) -> list[LineString]:
    root = ElementTree.fromstring(text.encode())
    found = []
    for path in root.findall(f"{SVG}g[@id='{group}']/{SVG}path"):
        numbers = [float(t) for t in path.get("d", "").split() if t not in "MLZ"]
        found.append(LineString(zip(numbers[::2], numbers[1::2], strict=True)))
    return found


def test_lids_holds_only_what_may_be_cut_and_not_yet_says_why(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(LOOKS, "utf-8")
    done = run_week(table, tmp_path / "out", jobs=1)
    verdicts = [p["verdict"] for p in done.report["pieces"]]
    assert verdicts == ["ready", "look", "hold"]
    assert [p["svg"] for p in done.report["pieces"]] == [
        "lids/L-1_card-box_maple.svg", "not_yet/L-2_card-box_maple.svg", None]  # fmt: skip
    assert [p.name for p in (tmp_path / "out" / "lids").iterdir()] == ["L-1_card-box_maple.svg"]
    not_yet = ElementTree.parse(tmp_path / "out" / "not_yet" / "L-2_card-box_maple.svg").findtext(f"{SVG}desc") or ""
    look = next(p["says"] for p in done.report["pieces"][1]["problems"] if p["level"] == "look")
    assert not_yet.startswith("NOT YET TO BE CUT.") and " ".join(look.split()) in " ".join(not_yet.split())
    assert "NOT YET" not in (tmp_path / "out" / "lids" / "L-1_card-box_maple.svg").read_text("utf-8")
    table.write_text(LOOKS.replace(" 20mm", ""), "utf-8")
    again = run_week(table, tmp_path / "out", jobs=1)
    assert "not_yet/L-2_card-box_maple.svg" in again.taken_away
    assert (tmp_path / "out" / "lids" / "L-2_card-box_maple.svg").is_file()


def test_the_outline_lies_apart_by_default(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(LOOKS, "utf-8")
    run_week(table, tmp_path / "out", jobs=1)
    told = json.loads((tmp_path / "out" / "week.json").read_text("utf-8"))["pieces"][0]
    assert told["outline"] == "outlines/L-1_card-box_maple.svg"
    lid, outline = ((tmp_path / "out" / told[key]).read_text("utf-8") for key in ("svg", "outline"))
    assert ('id="lid"' in lid, 'id="engrave"' in outline, 'id="lid"' in outline) == (False, False, True)
    sizes = [ElementTree.fromstring(text.encode()).get("viewBox") for text in (lid, outline)]
    assert sizes[0] == sizes[1]  # laid over each other, they are in place


CORNERS = ["front-left", "front-right", "back-left", "back-right"]


@pytest.fixture
def shop(tmp_path: Path) -> Callable[[str, str], Path]:
    def made(datum: str, defaults: str) -> Path:
        folder = tmp_path / "shop"
        folder.mkdir(exist_ok=True)
        (folder / "machines.toml").write_text(f'[gantry-diode]\ndatum = "{datum}"\n', "utf-8")
        (folder / "defaults.toml").write_text(defaults, "utf-8")
        return folder

    return made


@pytest.mark.parametrize("datum", CORNERS)
def test_a_cross_marks_the_datum_and_stays_off_the_wood_in_a_lids_file(
    shop: Callable[[str, str], Path], datum: str
) -> None:
    machine = environment().shop.cutters["diode-450"].machine
    folder = shop(datum, "datum_cross = true\nsvg_margin = 3\n")
    (folder / "machines.toml").write_text(f'[{machine}]\ndatum = "{datum}"\n', "utf-8")
    env = environment(folder)
    (entry,) = verbs.try_words("Ida", lid="card-box", cutter="diode-450", wood="maple", env=env).entries
    lid, outline = lid_svg(entry.piece, env.shop), outline_svg(entry.piece, env.shop)
    assert check_svg(lid) == check_svg(outline) == ()
    assert entry.piece.task is not None
    area = entry.piece.task.area
    wood = box(3, 3, 3 + area.width, 3 + area.height)
    end, side = datum.split("-")
    x = 3 + (area.width if side == "right" else 0)
    y = 3 + (area.height if end == "front" else 0)
    assert f"here x = {x:g}, y = {y:g}" in lid
    cross = _lines(outline, "datum")
    assert len(cross) == 4
    assert all(line.distance(box(x, y, x, y).centroid) < 1e-6 for line in cross)
    ticks = _lines(lid, "datum")
    assert len(ticks) == 2
    for tick in ticks:
        assert tick.distance(wood) >= 0.5 - 1e-6 or not tick.intersects(wood.buffer(0.49))
        assert tick.length >= 1.0
    assert {tick.coords[0][0] == tick.coords[1][0] for tick in ticks} == {True, False}  # one upright, one level


def test_there_is_no_cross_in_a_lids_file_unless_the_shop_wants_it() -> None:
    env = environment()
    (entry,) = verbs.try_words("Ida", lid="card-box", wood="maple", env=env).entries
    assert 'id="datum"' not in lid_svg(entry.piece, env.shop)


def test_a_cross_without_room_is_a_mistake_in_the_table(shop: Callable[[str, str], Path]) -> None:
    folder = shop("front-left", "datum_cross = true\nsvg_margin = 0\n")
    (folder / "machines.toml").unlink()
    with pytest.raises(ValueError, match="datum_cross"):
        environment(folder)


@pytest.mark.source("WCAG 2.2, 1.4.11: what is needed to understand a drawing stands out by 3 to 1")
def test_the_outline_is_a_grey_that_is_seen_on_white() -> None:
    """It stood out by 1.7 to 1, and was hard to place by."""
    env = environment()
    piece = verbs.try_words("Ida", lid="puzzle-box", env=env).entries[0].piece
    root = ElementTree.fromstring(outline_svg(piece, env.shop).encode())
    strokes = {path.get("stroke") for path in root.findall(f"{SVG}g[@id='lid']/{SVG}path")} - {None, "none"}
    assert strokes
    for colour in strokes:
        red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (red / 255, green / 255, blue / 255)
        ]
        assert 1.05 / (np.dot((0.2126, 0.7152, 0.0722), linear) + 0.05) >= 3.0
        assert max(red, green, blue) - min(red, green, blue) < 20  # a grey
