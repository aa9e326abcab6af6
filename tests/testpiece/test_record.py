"""Figures of a test piece go into the recipe that a shop's own table has for the pair, however that is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.shop import load_shop
from engrave.testpiece.record import with_figures

CUTTER = """
[v45]
title = "V-bit 45"
kind = "v-bit"
machine = "bench-router"
diameter = 3.175
angle_deg = 45
tip = 0.1
deepest = 2
"""


@pytest.mark.parametrize(
    ("cutter", "wood", "recipes"),
    [
        ("v45", "cherry", '[v45-letters]\nlike = "v60-letters"\ncutter = "v45"\n'),  # woods and method by `like`
        ("v45", "oak", '[v45-letters]\nlike = "v60-letters"\ncutter = "v45"\n'),  # one that differs by wood already
        ("v45", "cherry", '[a]\nlike = "v60-letters"\ncutter = "v45"\n[b]\nlike = "a"\nwoods = ["cherry"]\n'),
        ("v60", "cherry", "[v60-letters]\ndepth = 2\n"),  # only what differs from ours
    ],
)
def test_a_recipe_written_by_like_takes_the_figures(tmp_path: Path, cutter: str, wood: str, recipes: str) -> None:
    (tmp_path / "cutters.toml").write_text(CUTTER, encoding="utf-8")
    if '"a"' in recipes:  # each cutter, wood and method once a file: the second is for the one wood
        recipes = recipes.replace('cutter = "v45"\n[b]', 'cutter = "v45"\nwoods = ["maple"]\n[b]')
    text = with_figures(recipes, cutter, wood, ["vee"], {"along": 0.31, "across": 0.52})
    (tmp_path / "recipes.toml").write_text(text, encoding="utf-8")
    shop = load_shop(tmp_path)
    told = {(r.cutter, r.wood): r for r in shop.recipes if r.method == "vee"}
    assert (told[cutter, wood].web_along, told[cutter, wood].web_across) == (0.31, 0.52)
    ours = {(r.cutter, r.wood): r for r in load_shop().recipes if r.method == "vee"}
    assert told[cutter, wood].feed == ours["v60", wood].feed
    others = [r for (c, w), r in told.items() if c == cutter and w != wood]
    assert all(r.web_along is None for r in others)


def test_a_recipe_like_another_for_fewer_woods_leaves_the_other_woods_alone(tmp_path: Path) -> None:
    """`v60-letters` says something of oak; an entry like it, for cherry and maple only, need not know of that."""
    (tmp_path / "cutters.toml").write_text(CUTTER, encoding="utf-8")
    text = '[mine]\nlike = "v60-letters"\ncutter = "v45"\nwoods = ["cherry", "maple"]\n'
    (tmp_path / "recipes.toml").write_text(text, encoding="utf-8")
    found = {r.wood: r.feed for r in load_shop(tmp_path).recipes if r.cutter == "v45"}
    ours = {r.wood: r.feed for r in load_shop().recipes if (r.cutter, r.method) == ("v60", "vee")}
    assert found == {"cherry": ours["cherry"], "maple": ours["maple"]}
    assert ours["cherry"] != ours["maple"]  # by_wood.maple is carried along
    one = '[mine]\nlike = "v60-letters"\ncutter = "v45"\nwoods = "white-oak"\n'  # whose name holds 'oak'
    (tmp_path / "recipes.toml").write_text(one, encoding="utf-8")
    assert {r.wood for r in load_shop(tmp_path).recipes if r.cutter == "v45"} == {"white-oak"}
