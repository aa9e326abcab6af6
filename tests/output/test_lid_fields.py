"""A lid's SVG read field by field by other readers (Python's XML, svgpathtools), against the shop's tables read by
themselves (Python's TOML): stroke width, groups, counts, places, datum, order of the paths."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from svgpathtools import parse_path

from engrave.making import Env, Piece, environment
from engrave.output.svg import lid_svg
from engrave.verbs import try_words

TABLES = Path(__file__).resolve().parents[2] / "shared"
SVG = "{http://www.w3.org/2000/svg}"


@cache
def table(name: str) -> dict[str, Any]:
    return tomllib.loads((TABLES / f"{name}.toml").read_text("utf-8"))


@dataclass
class ReadLid:
    """What an importer sees: size, words about it, and the paths of each group with their paint, in order."""

    width: float
    height: float
    desc: str
    groups: dict[str, list[dict[str, str]]]

    def boxes(self, group: str) -> list[tuple[float, float, float, float]]:
        return [parse_path(p["d"]).bbox() for p in self.groups[group]]


def read(svg: str) -> ReadLid:
    root = ElementTree.fromstring(svg.encode())
    groups = {g.get("id", ""): [dict(p.attrib) for p in g.iter(SVG + "path")] for g in root.iter(SVG + "g")}
    sizes = [float(root.get(side, "").removesuffix("mm")) for side in ("width", "height")]
    return ReadLid(sizes[0], sizes[1], root.findtext(SVG + "desc", ""), groups)


def made(env: Env, *words: str, **chosen: str) -> Piece:
    (entry,) = try_words(*words, env=env, **chosen).entries
    assert entry.piece.toolpath, [p.says for p in entry.piece.problems]
    return entry.piece


@pytest.fixture(scope="module")
def env() -> Env:
    return _with_outline(environment())


def _with_outline(env: Env) -> Env:
    """Return the shop with the lid's outline in the lettering's file, where one reading has both."""
    return replace(env, shop=replace(env.shop, defaults=replace(env.shop.defaults, outline_in_svg="in")))


@pytest.mark.parametrize(
    ("typeface", "cutter", "wood"),
    [("hershey-sans", "v60", "walnut"), ("withy", "v90", "maple"), ("withy", "ball-1", "maple"), ("ems-tech", "mill-05", "maple")],
)  # fmt: skip
def test_a_single_line_is_as_wide_as_its_groove(env: Env, typeface: str, cutter: str, wood: str) -> None:
    """Width of a groove by plane geometry: a cone leaves tip + 2 depth tan(angle / 2); a ball the chord of its circle,
    2 sqrt(depth (diameter - depth)); a flat end its diameter."""
    piece = made(env, "Wanda", lid="card-box", typeface=typeface, cutter=cutter, wood=wood)
    bit, depth = table("cutters")[cutter], float(piece.task.tool.depth) if piece.task else 0.0
    if bit["kind"] == "v-bit":
        groove = bit["tip"] + 2.0 * depth * math.tan(math.radians(bit["angle_deg"]) / 2.0)
    elif bit["kind"] == "ball-nose" and depth < bit["diameter"] / 2.0:
        groove = 2.0 * math.sqrt(depth * (bit["diameter"] - depth))
    else:
        groove = bit["diameter"]
    lid = read(lid_svg(piece, env.shop))
    assert re.search(rf"depth {depth:g} mm", lid.desc)
    widths = {float(p["stroke-width"]) for p in lid.groups["engrave"]}
    assert widths.pop() == pytest.approx(groove, abs=6e-5)
    assert not widths
    assert all(p["fill"] == "none" and p["stroke-linecap"] == "round" for p in lid.groups["engrave"])


@pytest.mark.source("W3C, SVG 1.1, 8.3: subpaths, read by Python's ElementTree")
@pytest.mark.parametrize(
    ("words", "letters"),
    [("Wanda", 5), ("Ida", 3), ("Bobo", 4), ("LULU", 4)],
)
def test_a_letter_with_a_body_is_one_filled_path(env: Env, words: str, letters: int) -> None:
    """Counters are holes of their letter's path, not paths of their own: as many paths as bodies of ink."""
    piece = made(env, words, lid="card-box", typeface="quicksand", cutter="v60", wood="maple")
    lid = read(lid_svg(piece, env.shop))
    paths = lid.groups["engrave"]
    assert len(paths) == letters
    assert all(p["stroke"] == "none" and p["fill-rule"] == "evenodd" for p in paths)
    counters = sum(words.count(c) for c in "adob") + 2 * words.count("B")
    assert sum(p["d"].count("M") for p in paths) == letters + counters


LIDS = [
    ("round-caddy", False), ("puzzle-box", False), ("puzzle-box-left", True), ("card-box", False),
]  # fmt: skip


def _place(value: object) -> float:
    return float(value) if isinstance(value, int | float) else _inches(str(value))


def _inches(text: str) -> float:
    whole = sum(float(a) / float(b) if b else float(a) for a, _, b in (p.partition("/") for p in text.split()[:-1]))
    return whole * 25.4  # the international inch (NIST Special Publication 811, appendix B)


@pytest.mark.source("svgpathtools, boxes of the file's paths; NIST Special Publication 811: the inch")
@pytest.mark.parametrize(("lid", "turned"), LIDS)
def test_the_lid_s_group_holds_the_outline_and_every_keep_out_in_its_place(env: Env, lid: str, turned: bool) -> None:
    entry = table("lids")[lid]
    entry = {**table("lids")[entry["like"]], **entry} if "like" in entry else entry
    keep_outs = entry.get("keep_out", [])
    got = read(lid_svg(made(env, "Ida", lid=lid, typeface="withy", wood="walnut"), env.shop))
    boxes, margin = got.boxes("lid"), env.shop.defaults.svg_margin
    assert len(boxes) == 1 + len(keep_outs)
    left, right, top, bottom = boxes[0]
    assert (left, top) == pytest.approx((margin, margin), abs=1e-3)
    assert (got.width, got.height) == pytest.approx((right + margin, bottom + margin), abs=1e-3)
    for keep, (x0, x1, y0, y1) in zip(keep_outs, boxes[1:], strict=True):
        x, y = (_place(v) for v in keep["at"])
        x = right - left - x if turned else x
        assert ((x0 + x1) / 2 - left, (y0 + y1) / 2 - top) == pytest.approx((x, y), abs=0.01)
        size = [_place(keep["circle"])] * 2 if "circle" in keep else keep["ellipse"]
        assert (x1 - x0, y1 - y0) == pytest.approx(size, abs=0.01)
    assert all(p["fill"] == "none" for p in got.groups["lid"])


CORNERS = ("front-left", "front-right", "back-left", "back-right")


def _shop_with_datum(folder: Path, machine: str, corner: str) -> Env:
    runs = ("right" if "left" in corner else "left", "back" if "front" in corner else "front")
    text = f'[{machine}]\ndatum = "{corner}"\nx_runs = "{runs[0]}"\ny_runs = "{runs[1]}"\n'
    (folder / "machines.toml").write_text(text, "utf-8")
    return _with_outline(environment(folder))


@pytest.mark.source("svgpathtools, boxes of the file's paths")
@pytest.mark.parametrize("corner", CORNERS)
def test_the_datum_is_where_the_table_says(corner: str, tmp_path: Path) -> None:
    """The drawing's y runs down from the back edge: front is the bottom of the lid's box, left its left."""
    env = _shop_with_datum(tmp_path, "bench-router", corner)
    lid = read(lid_svg(made(env, "Ida", lid="card-box", typeface="withy", cutter="v60", wood="walnut"), env.shop))
    left, right, top, bottom = lid.boxes("lid")[0]
    end, side = corner.split("-")
    found = re.search(r"(\w+) (\w+) corner of the lid's box, here x = ([\d.]+), y = ([\d.]+)", lid.desc)
    assert found
    assert found.groups()[:2] == (end, side)
    assert float(found[3]) == pytest.approx(left if side == "left" else right, abs=1e-3)
    assert float(found[4]) == pytest.approx(bottom if end == "front" else top, abs=1e-3)
    says = re.search(r"counts x to the (\w+) and y to the (\w+)", lid.desc)
    assert says
    assert says.groups() == ("right" if side == "left" else "left", "back" if end == "front" else "front")


@pytest.mark.parametrize("machine", ["bench-router", "gantry-laser", "tube-laser"])
def test_our_own_machines_datum_is_told(env: Env, machine: str) -> None:
    cutter, recipes = next((c, v) for c, v in table("cutters").items() if v["machine"] == machine), table("recipes")
    wood = next(w for r in recipes.values() if r.get("cutter") == cutter[0] for w in _woods(r))
    lid = read(lid_svg(made(env, "Ida", lid="card-box", typeface="withy", cutter=cutter[0], wood=wood), env.shop))
    end, side = table("machines")[machine]["datum"].split("-")
    assert f"{end} {side} corner of the lid's box" in lid.desc


def _woods(recipe: dict[str, Any]) -> Sequence[str]:
    woods = recipe["woods"] if isinstance(recipe["woods"], list) else [recipe["woods"]]
    return ["maple"] if "all" in woods else woods


@pytest.mark.source("svgpathtools, boxes of the file's paths")
@pytest.mark.parametrize("corner", CORNERS)
def test_cutting_begins_next_to_the_datum(corner: str, tmp_path: Path) -> None:
    """Of two lines of words the one next to the datum is begun with, at its end next to the datum."""
    env = _shop_with_datum(tmp_path, "bench-router", corner)
    piece = made(env, "Ida", "by the sea", lid="round-caddy", typeface="hershey-sans", cutter="v60", wood="walnut")
    assert piece.lettering
    lid = read(lid_svg(piece, env.shop))
    first = parse_path(lid.groups["engrave"][0]["d"]).start
    boxes = lid.boxes("engrave")
    lines = sum(line.baseline for line in piece.lettering.lines) / 2 + env.shop.defaults.svg_margin
    assert (first.imag > lines) == ("front" in corner)
    assert (first.real > (min(b[0] for b in boxes) + max(b[1] for b in boxes)) / 2) == ("right" in corner)


@pytest.mark.source("svgpathtools, where the file's paths begin")
def test_the_paths_stand_in_the_order_in_which_they_are_cut(env: Env) -> None:
    piece = made(env, "Wanda & Ole", lid="card-box", typeface="hershey-sans", cutter="v60", wood="walnut")
    assert piece.toolpath
    margin = env.shop.defaults.svg_margin
    starts = [complex(*stroke.start) + complex(margin, margin) for stroke in piece.toolpath.strokes]
    drawn = [
        parse_path(p["d"]).start if "L" in p["d"] or "C" in p["d"] else None
        for p in read(lid_svg(piece, env.shop)).groups["engrave"]
    ]
    assert len(drawn) == len(starts)
    assert all(abs(d - s) < 1e-3 for d, s in zip(drawn, starts, strict=True) if d is not None)


def test_the_words_the_lid_the_wood_and_the_cutter_are_told(env: Env) -> None:
    piece = made(env, "Wanda", "sixty summers", lid="card-box", typeface="withy", cutter="v60", wood="walnut")
    lid = read(lid_svg(piece, env.shop))
    for said in ("Words: Wanda / sixty summers.", table("lids")["card-box"]["title"], table("woods")["walnut"]["title"],
                 table("cutters")["v60"]["title"], "104 x 74 mm", "for placing only"):  # fmt: skip
        assert said in lid.desc, said
