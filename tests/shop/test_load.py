"""The shop's tables: laid over ours key by key, and every mistake told at once with file, key, found and allowed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from engrave.shop import Shop, ShopError, load_shop
from engrave.stored import as_plain


@pytest.fixture
def own(tmp_path: Path):  # type: ignore[no-untyped-def]
    def write(**tables: str) -> Path:
        for name, text in tables.items():
            (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
        return tmp_path

    return write


def told(folder: Path) -> str:
    with pytest.raises(ShopError) as error:
        load_shop(folder)
    return str(error.value)


@pytest.fixture(scope="module")
def ours() -> Shop:
    return load_shop()


# --- laid over ours ---------------------------------------------------------------------------------------------------


def test_an_entry_replaces_only_the_keys_it_gives(own, ours: Shop) -> None:  # type: ignore[no-untyped-def]
    folder = own(lids='[card-box]\nthickness = "3/8 in"\n', rates="hands_hour = 40\n[hands]\nfinish_min = 9\n")
    shop = load_shop(folder)
    assert shop.lids["card-box"].thickness == pytest.approx(9.525)
    assert shop.lids["card-box"] == replace(ours.lids["card-box"], thickness=shop.lids["card-box"].thickness)
    assert shop.rates.hands_hour == Decimal(40)
    assert shop.rates.hands == replace(ours.rates.hands, finish=9.0)
    assert shop.sources["lids/card-box"] == str(folder / "lids.toml")
    assert shop.sources["lids/oval-box"] == "shared/lids.toml"


def test_an_outline_is_replaced_as_a_whole(own) -> None:  # type: ignore[no-untyped-def]
    lid = load_shop(own(lids="[card-box]\noutline = { circle = 80 }\n")).lids["card-box"]
    assert (lid.areas[0].width, lid.areas[0].height) == pytest.approx((80, 80))


def test_a_speed_in_another_unit_replaces_ours(own) -> None:  # type: ignore[no-untyped-def]
    shop = load_shop(own(recipes="[v60-lines]\nfeed_in_min = 30\n"))
    found = {r.wood: r.feed for r in shop.recipes if r.cutter == "v60" and r.method == "follow"}
    assert found["cherry"] == pytest.approx(30 * 25.4 / 60)
    assert found["oak"] == pytest.approx(800 / 60), "what we state for oak alone still holds"


def test_measured_figures_need_no_copy_of_the_recipe(own, ours: Shop) -> None:  # type: ignore[no-untyped-def]
    text = '[measured]\ncutter = "diode-450"\nmethod = "raster"\nwoods = "oak"\nmark_x = 0.21\nweb_across = 1.4\n'
    shop = load_shop(own(recipes=text))
    before = next(r for r in ours.recipes if (r.cutter, r.wood, r.method) == ("diode-450", "oak", "raster"))
    after = next(r for r in shop.recipes if (r.cutter, r.wood, r.method) == ("diode-450", "oak", "raster"))
    assert after == replace(before, mark_x=0.21, web_across=1.4)


def test_like_starts_from_another_entry(own, ours: Shop) -> None:  # type: ignore[no-untyped-def]
    text = '[my-caddy]\nlike = "round-caddy"\noutline = { circle = 110 }\nkeep_out = []\n[twin]\nlike = "my-caddy"\ncost = 1\n'
    shop = load_shop(own(lids=text))
    assert shop.lids["my-caddy"].areas[0].width == pytest.approx(110)
    assert shop.lids["my-caddy"].title == ours.lids["round-caddy"].title
    assert shop.lids["twin"].areas == shop.lids["my-caddy"].areas
    assert shop.lids["twin"].cost == 1


def test_an_svg_lies_beside_the_shop_s_own_table(own) -> None:  # type: ignore[no-untyped-def]
    drawn = '[leaf]\nlike = "card-box"\noutline = { svg = "leaf.svg", width = 120 }\n'
    folder = own(lids=drawn)
    picture = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">{}</svg>'
    (folder / "leaf.svg").write_text(picture.format('<path d="M0 20Q30 -20 60 20Q30 60 0 20.02"/>'), encoding="utf-8")
    shop = load_shop(folder)
    assert shop.lids["leaf"].areas[0].width == pytest.approx(120)
    assert [n.says for n in shop.notes] == [f"The drawing of lid 'leaf': {shop.lids['leaf'].problems[0].says[27:]}"]
    assert "closed" in shop.notes[0].says


def test_the_same_tables_say_the_same(own, ours: Shop) -> None:  # type: ignore[no-untyped-def]
    """As they are kept in plain values: where they lie on this computer apart, and whose lid rows without one take."""

    def told(shop: Shop) -> object:
        return as_plain(replace(shop, sources={}, defaults=replace(shop.defaults, lid_of_tables="")))

    assert told(ours) == told(load_shop()) == told(load_shop(own(lids="")))
    assert told(ours) != told(load_shop(own(rates="fixed_fee = 0.31\n")))
    assert told(ours) != told(load_shop(own(lids="[card-box]\nthickness = 9.001\n")))


# --- mistakes ---------------------------------------------------------------------------------------------------------

LID = '[my-lid]\ntitle = "Mine"\noutline = { circle = 90 }\nthickness = 10\ncost = 5\n'


@pytest.mark.parametrize(
    ("table", "text", "says"),
    [
        ("lids", "[card-box]\nthicknes = 9\n", "[card-box], thicknes: is not a key of this table. Did you mean 'thickness'?"),
        ("lids", "[card-box]\nthickness = 'thick'\n", "thickness: found 'thick'. Allowed: a length from 1 to 100 mm"),
        ("lids", "[card-box]\nthickness = 0.5\n", "thickness: found 0.5. Allowed: a length from 1 to 100 mm"),
        ("lids", "[card-box]\nthickness = nan\n", "thickness: found nan."),
        ("lids", "[card-box]\nthickness = true\n", "thickness: found true."),
        ("lids", "[card-box]\nedge = -1\n", "edge: found -1."),
        ("lids", "[card-box]\nfront = 'botom'\n", "front: found 'botom'. Did you mean 'bottom'? Allowed: bottom, top, left, right."),
        ("lids", "[card-box]\nfields = ['name', 'verse']\n", "fields: found ['name', 'verse']."),
        ("lids", "[card-box]\nfields = []\n", "fields: found []."),
        ("lids", "[card-box]\nwood = 'maplee'\n", "wood: 'maplee' is not in the shop's tables. Did you mean 'maple'?"),
        ("lids", "[card-box]\ncutter = 'v61'\n", "cutter: 'v61' is not in the shop's tables."),
        ("lids", "[card-box]\nsetting = 'stak'\n", "Did you mean 'stack'?"),
        ("lids", "[letter-box.areas.inside]\nsetting = 'stak'\n", "[letter-box.areas.inside], setting: 'stak'"),
        ("lids", "[letter-box.areas.inside]\nfron = 'top'\n", "[letter-box.areas.inside], fron: is not a key"),
        ("lids", LID.replace("thickness = 10\n", ""), "[my-lid], thickness: is missing. Allowed: a length from 1 to 100 mm"),
        ("lids", LID.replace("outline = { circle = 90 }\n", ""), "[my-lid], outline: is missing. Allowed: one of { circle"),
        ("lids", LID.replace("{ circle = 90 }", "{ }"), "[my-lid.outline]: gives no shape."),
        ("lids", LID.replace("{ circle = 90 }", "{ circle = 9, svg = 'a.svg' }"), "gives circle and svg."),
        ("lids", LID.replace("{ circle = 90 }", "{ circle = 0 }"), "circle: found 0. Allowed: a length above 0"),
        ("lids", LID.replace("{ circle = 90 }", "{ circle = 90, cornr = 2 }"), "cornr: is not a key"),
        ("lids", LID.replace("{ circle = 90 }", "'round'"), "[my-lid], outline: found 'round'. Allowed: a table"),
        ("lids", LID.replace("{ circle = 90 }", "{ rectangle = [60, 40], corner = 30 }"), "corner: found 30."),
        ("lids", LID.replace("{ circle = 90 }", "{ rectangle = [60] }"), "rectangle: found [60]. Allowed: two values"),
        ("lids", LID.replace("{ circle = 90 }", "{ sides = 2, across = 90 }"), "sides: found 2. Allowed: a whole number"),
        ("lids", LID.replace("{ circle = 90 }", "{ polygon = [[0,0],[90,60],[90,0],[0,60]] }"), "its sides cross each other"),
        ("lids", LID.replace("{ circle = 90 }", "{ svg = 'none.svg' }"), "'none.svg' cannot be opened"),
        ("lids", LID.replace("{ circle = 90 }", "{ path = 'M 0 0 H 9' }"), "path: leaves the path open by 9.00 mm"),
        ("lids", LID + "margin = 45\n", "margin: edge 0, margin 45 mm and the keep-outs leave no room for words"),
        ("lids", LID + "keep_out = 'knob'\n", "keep_out: found 'knob'. Allowed: a list of tables"),
        ("lids", LID + "keep_out = [{ circle = 9 }]\n", "[my-lid.keep_out 1], at: is missing."),
        ("lids", LID + "keep_out = [{ circle = 9, at = [45, 45], hight = 3 }]\n", "hight: is not a key of this table. Did you"),
        ("lids", LID + "keep_out = [{ circle = 9, at = [450, 45], why = 'knob' }]\n", "the knob at [450, 45] lies wholly off"),
        ("lids", "[a]\nlike = 'b'\n[b]\nlike = 'a'\n", "leads back to itself"),
        ("lids", "[a]\nlike = 'card-bx'\n", "like: 'card-bx' is not an entry of this table. Did you mean 'card-box'?"),
        ("lids", "title = 'loose'\n", "title: stands outside any entry. Allowed: keys below an entry's name"),
        ("lids", "[card-box\n", "cannot be read: "),
        ("cutters", "[v60]\nmachine = 'bench-ruter'\n", "machine: 'bench-ruter' is not in the shop's tables. Did you mean 'bench-router'?"),
        ("cutters", "[v60]\nangle = 60\n", "[v60], angle: is not a key of this table. Did you mean 'angle_deg'?"),
        ("cutters", "[v60]\nangle_deg = 200\n", "angle_deg: found 200."),
        ("cutters", "[v60]\ntip = 9\n", "tip: found 9 mm, wider than the bit's diameter of 6 mm."),
        ("cutters", "[x]\ntitle='X'\nkind='v-bit'\nmachine='bench-router'\n", "angle_deg: is missing. A cutter of kind v-bit"),
        ("cutters", "[x]\ntitle='X'\nkind='beam'\nmachine='gantry-laser'\nkerf_x=0.1\nkerf_y=0.1\n", "wavelength_nm: is missing. A cutter of kind beam"),
        ("cutters", "[v60]\nkerf_x = 9\n", "[v60], kerf_x: found 9. Allowed: a length from 0.01 to 2 mm"),
        ("cutters", "[diode-450]\ndiameter = 0\n", "[diode-450], diameter: found 0. Allowed: a length above 0"),
        ("cutters", "[x]\ntitle='X'\nkind='vbit'\nmachine='bench-router'\n", "kind: found 'vbit'. Did you mean 'v-bit'?"),
        ("cutters", "[v60]\nflutes = 2.5\n", "flutes: found 2.5. Allowed: a whole number from 1 to 8."),
        ("machines", "[bench-router]\nvmax_mm_s = [80, 80]\n", "vmax_mm_s: found [80, 80]. Allowed: three values in brackets"),
        ("machines", "[bench-router]\namax_mm_s2 = [0, 80, 80]\n", "amax_mm_s2: found [0, 80, 80]."),
        ("machines", "[bench-router]\ny_runs = 'left'\n", "x runs to the right and y to the left. Allowed: one sideways"),
        ("machines", "[other]\nlike = 'bench-router'\n", "[machine_hour], other: is missing. Every machine needs its rate"),
        ("woods", "[cherry]\ncolour = 'brown'\n", "colour: found 'brown'. Allowed: a colour as '#6b4a33'."),
        ("woods", "[cherry]\npores = 'rings'\n", "pores: found 'rings'. Did you mean 'ring'?"),
        ("woods", "[cherry]\njanka_n = 4200\n", "janka_n: is given as well as janka_lbf."),
        ("recipes", "[v60-lines]\nfeed = 9\n", "feed: is not a key of this table."),
        ("recipes", "[v60-lines]\nfeed_mm_min = 0\n", "[v60-lines], feed_mm_min: found 0. Allowed: a number above 0."),
        ("recipes", "[v60-lines]\nmethod = 'raster'\n", "a cutter of kind v-bit is not used by raster. Allowed: follow, vee."),
        ("recipes", "[v60-lines]\nwoods = ['cherri']\n", "woods: 'cherri' is no wood. Did you mean 'cherry'?"),
        ("recipes", "[v60-lines]\ncutter = 'v6'\n", "cutter: 'v6' is no cutter. Did you mean 'v60'?"),
        ("recipes", "[v30-lines.by_wood]\noak = { depth = 1 }\n", "[v30-lines.by_wood], oak: is not among this entry's woods."),
        (
            "recipes",
            "[a]\ncutter='v60'\nmethod='follow'\nwoods='oak'\ndepth=1\n[b]\ncutter='v60'\nmethod='follow'\nwoods='oak'\n",
            "[b], woods: v60 in oak by follow is already given by [a] in this file.",
        ),
        ("recipes", "[a]\ncutter='drag'\nmethod='follow'\nwoods='oak'\n", "feed_mm_min: is missing. Allowed: one of feed_mm_s"),
        ("recipes", "[v60-lines]\nfeed_mm_s = 9\nfeed_mm_min = 540\n", "feed_mm_min: is given twice"),
        ("rates", "currency = 'euro'\n", "currency: found 'euro'. Allowed: three capital letters (ISO 4217)"),
        ("rates", "fee = 0.5\nmargin = 0.5\n", "fee 0.5 and margin 0.5 together leave nothing for the cost."),
        ("rates", "fee = 0.5\nmargin = 0.4\ntax = 0.23\ntax_shown = true\n", "price with 0.23 tax: 0.615) and margin 0.4"),
        ("rates", "margin = 20\n", "margin: found 20. Allowed: a share from 0 to below 1, as 0.05 for 5 %."),
        ("rates", "machine_hours = [8, 8]\n", "machine_hours: found [8, 8]. Allowed: a list of 7 items"),
        ("rates", "[machine_hour]\nlathe = 5\n", "lathe: 'lathe' is not in the shop's tables."),
        ("rates", "[hands]\nload = 5\n", "[hands], load: is not a key of this table. Did you mean 'load_min'?"),
        ("settings", "[stack]\nfill = 1.5\n", "fill: found 1.5. Allowed: a number from 0.05 to 1."),
        ("settings", "[mine]\ntitle = 'M'\nkind = 'stack'\n", "[mine], align: is missing."),
        ("intake", "code_page = 'cp9999'\n", "code_page: found 'cp9999'. Allowed: the name of a code page"),
        ("intake", "[columns]\nnames = ['Who']\n", "[columns], names: is not a key of this table. Did you mean 'name'?"),
        ("intake", "[values.woods]\nX = 'oak'\n", "[values], woods: is not a key of this table. Did you mean 'wood'?"),
        ("intake", "[split.Choices]\nTimber = 'timber'\n", "[split.Choices], Timber: found 'timber'. Allowed: order, name"),
        ("defaults", "lid = 'round-cady'\n", "lid: 'round-cady' is not in the shop's tables. Did you mean 'round-caddy'?"),
        ("defaults", "outline_in_svg = 'no'\n", "outline_in_svg: found 'no'. Allowed: in, out, apart."),
    ],
)  # fmt: skip
def test_each_mistake_names_file_key_found_and_allowed(own, table: str, text: str, says: str) -> None:  # type: ignore[no-untyped-def]
    folder = own(**{table: text})
    message = told(folder)
    assert says in message
    assert str(folder / f"{table}.toml") in message or "machine_hour" in says


def test_all_mistakes_are_told_at_once_and_none_twice(own) -> None:  # type: ignore[no-untyped-def]
    folder = own(
        lids="[card-box]\nthicknes = 9\nedge = -1\n",
        woods="[cherry]\ncolour = 'red'\n",
        recipes="[v60-lines]\nfeed_mm_min = 'fast'\n",
    )
    with pytest.raises(ShopError) as error:
        load_shop(folder)
    assert str(error.value).startswith("The shop's tables have 4 mistakes:")
    assert len(error.value.mistakes) == len(set(error.value.mistakes)) == 4


def test_a_file_whose_name_is_all_but_one_of_ours(own) -> None:  # type: ignore[no-untyped-def]
    message = told(own(lid=LID))
    assert "lid.toml: is not one of the tables. Did you mean 'lids.toml'?" in message


def test_a_file_in_another_encoding(tmp_path: Path) -> None:
    (tmp_path / "lids.toml").write_bytes("[café]\n".encode("cp1252"))
    assert "is not in UTF-8 (byte 5). Save it as UTF-8" in told(tmp_path)


def test_a_byte_order_mark_does_no_harm(own) -> None:  # type: ignore[no-untyped-def]
    assert "my-lid" in load_shop(own(lids="\ufeff" + LID)).lids
