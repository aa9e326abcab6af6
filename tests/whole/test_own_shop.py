"""A shop's own folder with an ordinary mistake in it: what is told, and that no week is spoiled by it in silence."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from engrave.cli import main
from engrave.shop.places import own_folder

FONT = own_folder("fonts_open") / "roboto-slab" / "RobotoSlab-Regular.otf"


def asked(*words: str) -> Result:
    return CliRunner().invoke(main, list(words), catch_exceptions=False)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop whose own typeface is a folder with a font and no table."""
    (tmp_path / "typefaces" / "tarnslab").mkdir(parents=True)
    shutil.copy(FONT, tmp_path / "typefaces" / "tarnslab")
    return tmp_path


@pytest.mark.parametrize(
    ("table", "text", "key"),
    [
        ("defaults", 'typeface = "tarnslab"\n', "defaults.toml, typeface"),
        ("defaults", 'message_typeface = "tarnslab"\n', "defaults.toml, message_typeface"),
        ("lids", '[card-box]\ntypeface = "tarnslab"\n', "lids.toml, [card-box], typeface"),
    ],
)
def test_a_table_that_names_a_refused_typeface_is_a_mistake_told_once(
    shop: Path, table: str, text: str, key: str
) -> None:
    (shop / f"{table}.toml").write_text(text, encoding="utf-8")
    told = asked("try", "Wanda", "--shop", str(shop))
    assert told.exit_code == 2
    assert f"{shop}/{key}: 'tarnslab' cannot be used." in told.stderr
    assert 'one line is enough: file = "RobotoSlab-Regular.otf"' in told.stderr


def test_the_one_line_that_is_told_is_enough(shop: Path) -> None:
    (shop / "defaults.toml").write_text('typeface = "tarnslab"\n', encoding="utf-8")
    (shop / "typefaces/tarnslab/typeface.toml").write_text('file = "RobotoSlab-Regular.otf"\n', encoding="utf-8")
    assert asked("try", "Wanda", "--shop", str(shop)).exit_code == 0


def test_a_misspelt_typeface_in_a_table_is_a_mistake_with_the_likely_name(tmp_path: Path) -> None:
    (tmp_path / "defaults.toml").write_text('typeface = "volkorn"\n', encoding="utf-8")
    told = asked("shelf", "lids", "--shop", str(tmp_path))
    assert told.exit_code == 2
    assert "defaults.toml, typeface: there is no typeface 'volkorn'. Did you mean 'vollkorn'?" in told.stderr


def test_a_row_that_names_a_refused_typeface_hears_why(shop: Path) -> None:
    (shop / "typefaces" / "My Hand.ttf").write_bytes(b"no font")
    told = asked("try", "Wanda", "--typeface", "my-hand", "--shop", str(shop))
    assert told.exit_code == 1
    assert "The typeface 'my-hand' cannot be used. My Hand.ttf: not a font that can be read" in told.stdout
    shelf = asked("shelf", "typefaces", "--shop", str(shop))
    assert "My Hand.ttf: not a font" in shelf.stderr
    assert "tarnslab: a folder with a font needs a typeface.toml" in shelf.stderr


def test_a_fraction_without_its_unit_is_no_margin(tmp_path: Path) -> None:
    (tmp_path / "lids.toml").write_text('[card-box]\nmargin = "1/4"\n', encoding="utf-8")
    told = asked("shelf", "lids", "--shop", str(tmp_path))
    assert told.exit_code == 2
    assert "[card-box], margin: found '1/4'" in told.stderr
    assert "a fraction needs its unit" in told.stderr


SWEDEN = 'locale = "sv_SE"\ncurrency = "SEK"\n'


def test_a_week_told_in_a_shop_of_another_country(tmp_path: Path) -> None:
    """Names of places keep their capital, days have no full stop of their own, a look of one row is told once."""
    (tmp_path / "rates.toml").write_text(SWEDEN, encoding="utf-8")
    (tmp_path / "woods.toml").write_text('[swedish-birch]\nlike = "birch"\ntitle = "Swedish birch"\n', encoding="utf-8")
    (tmp_path / "orders.csv").write_text(
        "order,name,message,lid,wood,due\nK-1,  Ida ,please engrave nicely,letter-box,swedish-birch,2026-12-07\n",
        encoding="utf-8",
    )
    out = tmp_path / "out"
    told = asked("batch", str(tmp_path / "orders.csv"), "--out", str(out), "--jobs", "1", "--shop", str(tmp_path))
    assert told.exit_code == 0
    assert "if work begins by fre 4 dec.\n" in told.stdout or "if work begins by mån 7 dec.\n" in told.stdout
    assert "with no cutter change." in told.stdout
    assert told.stdout.count("reads like a message to the shop") == 1  # the order has two pieces
    assert "Take out what is not to be cut." in told.stdout
    assert "into the column checked. (2 pieces)" in told.stdout
    page = (out / "week.html").read_text("utf-8")
    assert "in Swedish birch" in page
    assert "No cutter change." in page
    assert page.count("spaces at the ends left out") == 2  # once a piece, not as a change and as a note


def test_a_locale_that_no_country_has_is_a_mistake(tmp_path: Path) -> None:
    (tmp_path / "rates.toml").write_text('locale = "swedish"\n', encoding="utf-8")
    told = asked("shelf", "lids", "--shop", str(tmp_path))
    assert told.exit_code == 2
    assert "rates.toml, locale: found 'swedish'. Allowed: a language and a country" in told.stderr


def test_what_is_not_known_of_a_wood_is_a_dash(tmp_path: Path) -> None:
    (tmp_path / "woods.toml").write_text(
        '[plum]\ntitle = "Plum"\nlatin = "Prunus domestica"\npores = "diffuse"\nweb_along = 0.4\nweb_across = 0.6\n'
        'colour = "#b08060"\nburn = "#402010"\nfigure = "plain"\ncaution = "its dust can irritate airways"\n',
        encoding="utf-8",
    )
    rows = {r["id"]: r for r in json.loads(asked("shelf", "woods", "--json", "--shop", str(tmp_path)).stdout)}
    assert rows["plum"]["hardness_N"] is rows["plum"]["specific_gravity"] is None
    # 1450 lbf (Wood Handbook, table 5-3) times 4.4482216 N a pound of force (NIST SP 811)
    assert rows["maple"]["hardness_N"] == 6450


def test_a_beam_s_mark_is_told_both_ways() -> None:
    rows = {r["id"]: r for r in json.loads(asked("shelf", "cutters", "--json").stdout)}
    assert rows["diode-450"]["mark_mm"] == [0.12, 0.18]


def test_there_is_no_picture_of_figures(tmp_path: Path) -> None:
    told = asked("shelf", "machines", "--picture", str(tmp_path / "m.png"))
    assert told.exit_code == 2
    assert told.stderr.lower().count("there is no picture") == 1


def test_heights_are_told_to_a_tenth_and_never_too_low(tmp_path: Path) -> None:
    (tmp_path / "lids.toml").write_text(
        '[fly-box]\nkeep_out = [ { rectangle = [40, 8], at = [63, 4], clearance = 2, height = "1/8 in", why = "hinge" } ]\n',
        encoding="utf-8",
    )
    told = asked("try", "Ida", "--lid", "fly-box", "--cutter", "v60", "--shop", str(tmp_path))
    assert "stands 3.2 mm proud: have the machine travel at least 6.2 mm above" in told.stdout


def test_a_first_day_that_could_be_meant_in_two_ways_is_asked_for_again(tmp_path: Path) -> None:
    (tmp_path / "o.csv").write_text("name\nIda\n", encoding="utf-8")
    told = asked("batch", str(tmp_path / "o.csv"), "--out", str(tmp_path / "out"), "--start", "03/12/2026")
    assert told.exit_code == 2
    assert "'03/12/2026' is not a day; write year, month and day, as 2026-11-30." in told.stderr
    assert not (tmp_path / "out").exists()


def test_a_quote_of_two_areas_is_told_apart_and_summed() -> None:
    told = asked("quote", "--words", "Ida", "--message", "for ever", "--lid", "letter-box")
    assert told.exit_code == 0
    top, inside, total = told.stdout.rstrip().split("\n\n")
    assert "Lettering “Ida” on the letter box" in top
    assert "Lettering “for ever” on the letter box" in inside
    prices = [float(p.rsplit("€", 1)[1].rstrip(".")) for p in (top, inside)]
    assert total == f"In all, 2 areas: €{sum(prices):.2f}"


def test_a_quote_that_cannot_be_made_says_why_to_a_script_too() -> None:
    told = asked("quote", "--words", "Ida", "--wood", "moonwood", "--json")
    assert told.exit_code == 1
    (held,) = json.loads(told.stdout)
    assert held["verdict"] == "hold"
    assert held["problems"][0]["code"] == "unknown-wood"


def test_what_is_asked_of_one_text_is_refused_beside_a_table(tmp_path: Path) -> None:
    (tmp_path / "o.csv").write_text("name\nIda\n", encoding="utf-8")
    told = asked("quote", str(tmp_path / "o.csv"), "--rush", "--lid", "oval-box")
    assert told.exit_code == 2
    assert "--lid, --rush: only with --words, not with a table of orders" in told.stderr


def test_a_plain_lid_is_called_by_its_title(tmp_path: Path) -> None:
    (tmp_path / "o.csv").write_text("order,name,lid,blank\nK-1,,card-box,yes\nK-2,,nolid,yes\n", encoding="utf-8")
    asked("batch", str(tmp_path / "o.csv"), "--out", str(tmp_path / "out"), "--jobs", "1")
    page = (tmp_path / "out" / "week.html").read_text("utf-8")
    assert '<p class="about">Playing-card box</p>' in page
    assert '<p class="about">nolid</p>' in page


@pytest.mark.parametrize(
    ("table", "text", "says"),
    [
        ("intake", '[values.wood]\n"Ek" = "oke"\n', "[values.wood], Ek: 'oke' is not in the shop's tables. Did you mean 'oak'?"),
        ("intake", '[values.typeface]\n"Bok" = "volkorn"\n', "[values.typeface], Bok: there is no typeface 'volkorn'. Did you mean 'vollkorn'?"),
        ("intake", '[columns]\nname = ["Ord"]\nmessage = ["ord"]\n', "[columns], message: 'ord' is also a heading of name."),
        ("defaults", 'single_line_typeface = "vollkorn"\n', "single_line_typeface: 'vollkorn' has letters with a body"),
        ("recipes", "[mill-1-letters]\nstep_over = 3\n", "step_over: 3 mm is wider than the bit, 1 mm"),
    ],
)  # fmt: skip
def test_mistakes_that_would_be_passed_over_in_silence(tmp_path: Path, table: str, text: str, says: str) -> None:
    (tmp_path / f"{table}.toml").write_text(text, encoding="utf-8")
    told = asked("shelf", "machines", "--shop", str(tmp_path))
    assert told.exit_code == 2
    assert f"{tmp_path}/{table}.toml" in told.stderr
    assert says in told.stderr


def test_what_a_shop_says_of_a_heading_goes_before_our_list(tmp_path: Path) -> None:
    """Our own list takes 'Inscription' for the message; this shop's page asks for the name by it, and for the spacing."""
    (tmp_path / "intake.toml").write_text(
        '[columns]\nname = ["Inscription"]\nspacing = ["Letter gap"]\n', encoding="utf-8"
    )
    (tmp_path / "o.csv").write_text("order,Inscription,Letter gap\nK-1,Ida,3 %\n", encoding="utf-8")
    told = asked("batch", str(tmp_path / "o.csv"), "--out", str(tmp_path / "out"), "--jobs", "1", "--json",
                 "--shop", str(tmp_path))  # fmt: skip
    (piece,) = json.loads(told.stdout)["pieces"]
    assert (piece["name"], piece["message"], piece["spacing"]) == ("Ida", None, "3 %")
