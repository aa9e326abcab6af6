"""A shop of its own entries alone, units of speed, the path of a drawing by its id, lids without a cost, words cut twice."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from engrave.cli import main
from engrave.making import environment
from engrave.shop import Shop, ShopError, load_shop
from engrave.verbs import try_words

LID = '[mine]\ntitle = "Mine"\noutline = { rectangle = [100, 60] }\nthickness = 9\n'


def own(folder: Path, **tables: str) -> Path:
    for name, text in tables.items():
        (folder / f"{name}.toml").write_text(text, "utf-8")
    return folder


def shop_of(folder: Path, **tables: str) -> Shop:
    return load_shop(own(folder, **tables))


# --- only mine ----------------------------------------------------------------------------------------------------------


def test_a_shop_s_shelf_holds_its_own_lids_alone(tmp_path: Path) -> None:
    shop = shop_of(
        tmp_path,
        lids=LID + '[other]\nlike = "card-box"\ntitle = "Other"\n',
        defaults='only_mine = ["lids"]\nlid = "mine"\n',
    )
    assert list(shop.lids) == ["mine", "other"]
    assert len(shop.cutters) > 5


def test_our_own_default_lid_is_gone_as_well_and_that_is_told(tmp_path: Path) -> None:
    with pytest.raises(ShopError, match="'round-caddy' is not in the shop's tables"):
        shop_of(tmp_path, lids=LID, defaults='only_mine = ["lids"]\n')


def test_what_hangs_on_a_cutter_a_machine_or_a_wood_goes_with_it(tmp_path: Path) -> None:
    shop = shop_of(
        tmp_path,
        lids=LID,
        cutters='[v60]\nnote = "ours"\n',
        machines="[bench-router]\nretract = 6\n",
        woods='[walnut]\ncaution = "ours"\n',
        defaults='only_mine = ["cutters", "machines", "woods", "lids"]\nlid = "mine"\ncutter = "v60"\nwood = "walnut"\n',
    )
    assert (list(shop.lids), list(shop.cutters), list(shop.machines), list(shop.woods)) == (
        ["mine"], ["v60"], ["bench-router"], ["walnut"])  # fmt: skip
    assert {(r.cutter, r.wood) for r in shop.recipes} == {("v60", "walnut")}
    assert list(shop.rates.machine_hour) == ["bench-router"]
    assert set(shop.intake.values.get("wood", {}).values()) <= {"walnut"}


@pytest.mark.parametrize("kind", ["lids", "cutters", "machines", "woods"])
def test_each_kind_alone_leaves_a_shop_that_reads_or_says_what_it_lacks(tmp_path: Path, kind: str) -> None:
    with pytest.raises(ShopError) as told:
        shop_of(tmp_path, defaults=f'only_mine = ["{kind}"]\n')
    assert re.search(r"defaults.toml, (lid|cutter|wood): '.*' is not in the shop's tables", str(told.value))
    assert all("defaults" in line or "typeface" in line for line in str(told.value).splitlines()[1:])


@pytest.mark.parametrize("odd", ["[]", "{}", "[[1]]", "{ a = [] }", "1", "true"])
@pytest.mark.parametrize(("table", "entry", "key"), [("cutters", "v60", "machine"), ("lids", "card-box", "wood"), ("recipes", "v60-lines", "woods"),
                                                     ("recipes", "v60-lines", "by_wood"), ("recipes", "v60-lines", "cutter")])  # fmt: skip
def test_odd_values_are_told_and_not_stumbled_over(tmp_path: Path, table: str, entry: str, key: str, odd: str) -> None:
    for defaults in ("", 'only_mine = ["woods", "machines", "cutters"]\n'):
        with pytest.raises(ShopError):
            shop_of(tmp_path, **{table: f"[{entry}]\n{key} = {odd}\n", "defaults": defaults or "shop = 1\n"})


@pytest.mark.parametrize("said", ["true", '["lid"]', '"lids"', "[1]", "[[]]"])
def test_what_is_no_list_of_tables_is_told(tmp_path: Path, said: str) -> None:
    with pytest.raises(ShopError, match="only_mine: found"):
        shop_of(tmp_path, defaults=f"only_mine = {said}\n")


# --- units --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "mm_s"),
    [
        ("vmax_in_min = [200, 200, 60]", 200 * 25.4 / 60), ("vmax_mm_min = [5000, 5000, 1500]", 5000 / 60), ("vmax_m_min = [5, 5, 1]", 5000 / 60),
        ("vmax_in_s = [3, 3, 1]", 76.2), ("vmax_mm_s = [83, 83, 25]", 83),
    ],
)  # fmt: skip
def test_a_machine_s_speeds_are_read_in_any_unit(tmp_path: Path, written: str, mm_s: float) -> None:
    machine = shop_of(tmp_path, machines=f"[bench-router]\n{written}\n").machines["bench-router"]
    assert machine.vmax[0] == pytest.approx(mm_s)


@pytest.mark.parametrize(
    ("written", "mm_s2"), [("amax_in_s2 = [20, 20, 8]", 508), ("amax_m_s2 = [0.4, 0.4, 0.1]", 400)]
)
def test_accelerations_are_read_in_any_unit(tmp_path: Path, written: str, mm_s2: float) -> None:
    assert shop_of(tmp_path, machines=f"[bench-router]\n{written}\n").machines["bench-router"].amax[0] == pytest.approx(
        mm_s2
    )


@pytest.mark.parametrize(
    ("key", "mm_s"), [("feed_in_s = 1", 25.4), ("feed_m_min = 1.2", 20.0), ("feed_in_min = 30", 12.7)]
)
def test_feeds_are_read_in_any_unit_and_go_before_ours(tmp_path: Path, key: str, mm_s: float) -> None:
    shop = shop_of(tmp_path, recipes=f"[v60-lines]\n{key}\n")
    assert next(
        r.feed for r in shop.recipes if (r.cutter, r.method, r.wood) == ("v60", "follow", "cherry")
    ) == pytest.approx(mm_s)


def test_one_mistake_is_told_once_and_two_units_are_one_mistake(tmp_path: Path) -> None:
    with pytest.raises(ShopError) as told:
        shop_of(tmp_path, machines="[bench-router]\nvmax_in_min = [0, 1, 2]\nvmax_mm_s = [1, 2, 3]\n")
    assert "vmax_in_min: is given twice" in str(told.value).replace("vmax_mm_s: is", "vmax_in_min: is")
    assert len(str(told.value).splitlines()) == 2


# --- the outline of a drawing by its id -----------------------------------------------------------------------------------

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<rect id="outline" x="10" y="10" width="100" height="60"/><path id="dim" d="M0 90H150"/><circle id="stamp" cx="180" cy="180" r="9"/>
<g id="alt"><rect x="0" y="0" width="50" height="40"/></g><defs><rect id="kept" width="30" height="20"/></defs><rect width="3" height="3"/></svg>"""


@pytest.mark.parametrize(("ident", "size"), [("outline", (100, 60)), ("alt", (50, 40)), ("stamp", (18, 18))])
def test_the_outline_of_a_drawing_with_several_paths_is_named_by_its_id(
    tmp_path: Path, ident: str, size: tuple[float, float]
) -> None:
    (tmp_path / "box.svg").write_text(DRAWING, "utf-8")
    lid = LID.replace("{ rectangle = [100, 60] }", f'{{ svg = "box.svg", id = "{ident}" }}').replace(
        "thickness", "margin = 1\nthickness"
    )
    area = shop_of(tmp_path, lids=lid).lids["mine"].areas[0]
    assert (area.width, area.height) == pytest.approx(size, rel=1e-4)


def test_an_id_that_the_drawing_has_not_is_told_with_those_it_has(tmp_path: Path) -> None:
    (tmp_path / "box.svg").write_text(DRAWING, "utf-8")
    with pytest.raises(ShopError, match="no shape with the id 'lid'; its shapes are called dim, outline, stamp"):
        shop_of(tmp_path, lids=LID.replace("{ rectangle = [100, 60] }", '{ svg = "box.svg", id = "lid" }'))
    with pytest.raises(ShopError):
        shop_of(tmp_path, lids=LID.replace("{ rectangle = [100, 60] }", '{ svg = "box.svg" }'))


# --- cost, words cut twice ------------------------------------------------------------------------------------------------


def test_a_lid_without_a_cost_can_be_tried_and_quoted(tmp_path: Path) -> None:
    assert shop_of(tmp_path, lids=LID).lids["mine"].cost == 0
    done = CliRunner().invoke(
        main, ["quote", "--words", "Ida", "--lid", "mine", "--shop", str(tmp_path), "--json"], catch_exceptions=False
    )
    assert done.exit_code in (0, 1)
    assert json.loads(done.stdout)


def test_words_that_two_areas_cut_are_asked_about_on_each(tmp_path: Path) -> None:
    env = environment(own(tmp_path, lids=LID + '[mine.areas.inside]\nside = "inside"\n'))
    entries = try_words("Ida", "with love", lid="mine", typeface="withy", wood="maple", cutter="v60", env=env).entries
    assert len(entries) == 2
    for entry, here, there in zip(entries, ("lid", "inside"), ("inside", "lid"), strict=True):
        twice = [p for p in entry.piece.problems if p.code == "words-cut-twice"]
        assert [p.level for p in twice] == ["look", "look"]
        assert f"The name 'Ida' is cut here ({here}) and on {there} as well." in twice[0].says


def test_areas_with_fields_of_their_own_ask_nothing() -> None:
    entries = try_words(
        "Ida", "with love", lid="letter-box", typeface="withy", wood="maple", cutter="v60", env=environment(None)
    ).entries
    assert len(entries) == 2
    assert not [p for e in entries for p in e.piece.problems if p.code == "words-cut-twice"]
