"""A cutter made with `like` has the recipes of the one that it is like, and messages offer what the shop owns."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.making import environment
from engrave.shop import ShopError, load_shop
from engrave.verbs import try_words

MINE = '[my-v60]\nlike = "v60"\ntitle = "My pointed bit"\ntip = 0.15\n'


def _shop(folder: Path, **tables: str) -> Path:
    for name, text in tables.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def test_recipes_come_with_like_and_a_note_says_from_which(tmp_path: Path) -> None:
    shop = load_shop(_shop(tmp_path, cutters=MINE))
    mine = {(r.wood, r.method): r for r in shop.recipes if r.cutter == "my-v60"}
    theirs = {(r.wood, r.method): r for r in shop.recipes if r.cutter == "v60"}
    assert mine.keys() == theirs.keys() != set()
    assert all(mine[k].feed == theirs[k].feed and mine[k].depth == theirs[k].depth for k in theirs)
    (note,) = [p for p in shop.notes if p.code == "recipes-like"]
    assert "my-v60 is like v60" in note.says


def test_what_the_shop_states_itself_is_laid_over_it(tmp_path: Path) -> None:
    own = '[deeper]\ncutter = "my-v60"\nmethod = "follow"\nwoods = ["oak"]\ndepth = 0.8\nfeed_in_min = 20\n'
    shop = load_shop(_shop(tmp_path, cutters=MINE, recipes=own))
    (mine,) = [r for r in shop.recipes if (r.cutter, r.wood, r.method) == ("my-v60", "oak", "follow")]
    (theirs,) = [r for r in shop.recipes if (r.cutter, r.wood, r.method) == ("v60", "oak", "follow")]
    assert mine.depth == 0.8
    assert mine.feed == pytest.approx(20 * 25.4 / 60)  # ours, in mm a minute, is gone with it
    assert mine.plunge == theirs.plunge


def test_like_leads_on_and_survives_that_only_the_shops_own_are_kept(tmp_path: Path) -> None:
    cutters = MINE + '[spare]\nlike = "my-v60"\ntitle = "The spare one"\n'
    mine = 'only_mine = ["cutters"]\ncutter = "my-v60"\n'
    lids = '[tray]\nlike = "card-box"\ntitle = "Tray"\n'
    defaults = mine + 'lid = "tray"\n'
    shop = load_shop(_shop(tmp_path, cutters=cutters, defaults=defaults, lids=lids))
    assert set(shop.cutters) == {"my-v60", "spare"}
    assert {r.cutter for r in shop.recipes} == {"my-v60", "spare"}


def test_what_a_test_piece_showed_of_one_bit_is_not_taken_for_another(tmp_path: Path) -> None:
    measured = '[tried]\ncutter = "v60"\nmethod = "follow"\nwoods = ["oak"]\nweb_across = 0.31\n'
    shop = load_shop(_shop(tmp_path, cutters=MINE, recipes=measured))
    by_cutter = {r.cutter: r for r in shop.recipes if (r.wood, r.method) == ("oak", "follow")}
    assert by_cutter["v60"].web_across == 0.31
    assert by_cutter["my-v60"].web_across is None


def test_a_cutter_of_another_kind_takes_only_what_it_can_do(tmp_path: Path) -> None:
    ball = '[my-ball]\nlike = "v60"\nkind = "ball-nose"\ndiameter = 1\nflute = 4\n'
    shop = load_shop(_shop(tmp_path, cutters=ball))
    assert {r.method for r in shop.recipes if r.cutter == "my-ball"} == {"follow"}


def test_a_recipe_for_a_cutter_nobody_has_is_still_a_mistake(tmp_path: Path) -> None:
    own = '[lost]\ncutter = "v61"\nmethod = "follow"\nwoods = ["oak"]\ndepth = 0.8\n'
    with pytest.raises(ShopError, match="v61"):
        load_shop(_shop(tmp_path, cutters=MINE, recipes=own))


def test_messages_and_remedies_name_only_cutters_that_the_shop_owns(tmp_path: Path) -> None:
    cutters = '[my-drag]\nlike = "drag"\ntitle = "My drag bit"\n' + MINE
    env = environment(_shop(tmp_path, cutters=cutters))
    (entry,) = try_words("Ida", lid="card-box", typeface="withy", cutter="my-drag", wood="oak", env=env).entries
    (problem,) = [p for p in entry.piece.problems if p.code == "no-recipe"]
    assert "my-v60" in problem.says
    assert "mill" not in problem.says
    assert "diode" not in problem.says
    assert {value for r in entry.remedies for column, value in r.change if column == "cutter"} == {"my-v60"}
