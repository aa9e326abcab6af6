"""An owner's week: an own shop folder, an export of a month's orders, and thirteen things that once went wrong in one.

The shop is invented: a workshop behind the dunes. Each point is held here as a shop would meet it, through the files
of a whole week; every part of it is held more closely elsewhere:

1. columns that were not read: tests/headings, tests/intake/test_unread.py
2. requests cut as words: tests/intake/test_wording.py, test_doubts.py
3. a keep-out that overhangs the edge: tests/shop/test_overhang.py
4. changed after the yes, or never agreed: tests/whole/test_approval.py, test_circle.py
5. an order of several pieces, and what belongs into `approved`: tests/whole/test_approval.py
6. spoiled lids: tests/whole/test_recut.py
7. what may be cut lies apart: tests/output/test_lid_files.py, tests/week/test_checked.py
8. words that two areas cut: tests/shop/test_only_mine.py
9. the shop's own column against an option cell: tests/intake/test_unread.py
10. lines and labels in one cell: tests/intake/test_parts.py
11. grooves, units, drawings, cost, own lids alone, old tables: tests/shop/test_overhang.py, test_only_mine.py,
    test_keys_told.py, tests/headings
12. a first import: tests/headings, tests/whole/test_circle.py
13. plain lids true to size, outline and datum apart: tests/output/test_lid_fields.py, test_lid_files.py
"""

from __future__ import annotations

import csv
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result
from read_pdf import in_one_line
from week_contents import codes

from engrave.cli import OK, SOME_HELD, main

LIDS = """\
[pantry]
title = "Pantry box"
outline = { rectangle = ["6 in", "4 in"], corner = "1/4 in" }
thickness = "3/8 in"
keep_out = [ { circle = "1 in", at = ["3 in", "4 in"], clearance = 2, why = "finger notch" } ]

[pencil]
title = "Pencil slide"
outline = { rectangle = ["8 in", "2 1/2 in"] }
edge = { top = "1/4 in", bottom = "1/4 in" }
thickness = "1/4 in"

[tally]
title = "Tally box"
outline = { svg = "tally.svg", id = "lid" }
thickness = "3/8 in"

[keepsake]
title = "Keepsake box"
outline = { rectangle = ["6 in", "4 in"] }
thickness = "3/8 in"
[keepsake.areas.inside]
side = "inside"

[letters]
title = "Letters box"
outline = { rectangle = ["7 in", "5 in"] }
thickness = "3/8 in"
fields = ["name"]
[letters.areas.inside]
side = "inside"
fields = ["message"]
"""
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="150mm" viewBox="0 0 200 150">
<rect id="lid" x="20" y="20" width="130" height="90"/><path id="width" d="M20 130H150M20 125V135M150 125V135"/></svg>"""
TABLES = {
    "lids": LIDS,
    "machines": "[bench-router]\nvmax_in_min = [120, 120, 60]\n",
    "defaults": 'only_mine = ["lids"]\nlid = "pantry"\nwood = "maple"\ncutter = "diode-450"\ntypeface = "vollkorn"\n',
}
INTAKE = """\
[values.lid]
"Box for the pantry" = "pantry"
"Slide for pencils" = "pencil"
[columns]
lid = ["Item"]
[lines]
"Personalisation" = ["name", "message", "foot"]
[split.Options]
Timber = "wood"
Lettering = "typeface"
"""
HEAD = ("Order ID", "Item", "Personalisation", "Options", "typeface", "approved", "checked", "recut")

NO_WORDS = [
    "Please do a monogram for us? TKV with the K the biggest", "I'd love my cat's name on it: Biscuit", "Initials: TKV",
    "Choice C", "NOOR??", "Happy Birthday Dad (not Papa)", "in silver if you can", "you choose!",
]  # fmt: skip
"""What talks to the shop, or mixes words with such talk."""
WORDS = ["Will you dance with me?", "No surrender"]
"""Words to be cut that look like talk."""


@dataclass
class Shop:
    """The shop's folder, and a week made in it."""

    folder: Path
    out: Path

    def run(self, command: str, *more: str) -> Result:
        return CliRunner().invoke(main, [command, *more, "--shop", str(self.folder)], catch_exceptions=False)

    def batch(self, *rows: dict[str, str]) -> Result:
        table = self.folder.parent / "export.csv"
        with table.open("w", encoding="utf-8", newline="") as file:
            out = csv.DictWriter(file, HEAD, restval="")
            out.writeheader()
            out.writerows(rows)
        return self.run("batch", str(table), "--out", str(self.out), "--jobs", "1")

    def pieces(self, order: str) -> list[dict[str, Any]]:
        told = json.loads((self.out / "week.json").read_text("utf-8"))["pieces"]
        return [piece for piece in told if piece["order"] == order]

    def in_lids(self) -> set[str]:
        return {path.name for path in (self.out / "lids").glob("*")}


def shop_in(folder: Path) -> Shop:
    (folder / "dune_works").mkdir()
    for name, text in {**TABLES, "intake": INTAKE}.items():
        (folder / "dune_works" / f"{name}.toml").write_text(text, "utf-8")
    (folder / "dune_works" / "tally.svg").write_text(DRAWING, "utf-8")
    return Shop(folder / "dune_works", folder / "week")


def row(order: str, words: str, lid: str = "pantry", **more: str) -> dict[str, str]:
    return {"Order ID": order, "Item": lid, "Personalisation": words, **more}


ROWS = [
    row("D-1", "Hanneke", "Box for the pantry"),
    row("D-2", "Noor\nsixty tides\n2026", "Slide for pencils"),
    row("D-3", "Joost", "tally"),
    row("D-4", "Ida", "keepsake"),
    row("D-5", "Wim\nfor rainy days", "letters"),
    row("D-6", "Bram", Options="Timber: Cherry / Lettering: Quicksand", typeface="roboto-slab"),
    row("D-7", "Name: Fiep / Font: curly please"),
    *(row(f"T-{k}", words) for k, words in enumerate(NO_WORDS)),
    *(row(f"W-{k}", words) for k, words in enumerate(WORDS)),
]


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    shop = shop_in(tmp_path_factory.mktemp("dunes"))
    assert shop.batch(*ROWS).exit_code in (OK, SOME_HELD)
    return shop


def says(piece: dict[str, Any], code: str) -> str:
    return " ".join(problem["says"] for problem in piece["problems"] if problem["code"] == code)


# --- 1 and 12: columns ----------------------------------------------------------------------------------------------------


def test_1_a_column_that_says_what_is_ordered_never_falls_to_the_default_lid(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    (shop.folder / "intake.toml").unlink()
    told = shop.batch(row("D-1", "Hanneke", "Slide for pencils"), row("D-2", "Joost", ""))
    assert told.exit_code == SOME_HELD
    (held,), (ready,) = shop.pieces("D-1"), shop.pieces("D-2")
    assert (held["verdict"], "‘Slide for pencils’" in says(held, "unread-column")) == ("hold", True)
    assert (ready["verdict"], ready["lid"]) == ("ready", "pantry")
    assert shop.in_lids() == {"D-2_pantry_maple.svg"}


def test_1_a_shop_that_names_no_default_lid_is_given_none_of_ours(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    (shop.folder / "defaults.toml").write_text('wood = "maple"\n', "utf-8")
    assert shop.batch(row("D-1", "Hanneke", "")).exit_code == SOME_HELD
    assert (codes(shop.pieces("D-1")[0]), shop.in_lids()) == ({"no-lid"}, set())


def test_12_every_column_and_option_value_is_asked_about_once(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    (shop.folder / "intake.toml").unlink()
    shop.batch(row("D-1", "Hanneke", "Slide for pencils", Options="Timber: Sea oak"))
    table = str(tmp_path / "export.csv")
    first = shop.run("headings", table)
    assert first.exit_code == SOME_HELD
    assert all(title in first.stdout for title in ("Order ID", "Item", "Personalisation", "Options"))
    (shop.folder / "intake.toml").write_text(
        INTAKE.replace("[columns]", '[values.wood]\n"Sea oak" = "oak"\n[columns]'), "utf-8"
    )
    again = shop.run("headings", table)
    assert (again.exit_code, "There is nothing to ask." in again.stdout) == (OK, True)


# --- 2 and 7: words -------------------------------------------------------------------------------------------------------


def test_2_what_talks_to_the_shop_is_never_ready(week: Shop) -> None:
    for k, words in enumerate(NO_WORDS):
        (piece,) = week.pieces(f"T-{k}")
        assert piece["verdict"] in ("look", "hold"), words
    assert not {name for name in week.in_lids() if name.startswith("T-")}


def test_2_words_that_only_look_like_talk_are_cut(week: Shop) -> None:
    for k, words in enumerate(WORDS):
        (piece,) = week.pieces(f"W-{k}")
        assert (piece["verdict"], piece["name"]) == ("ready", words)


def test_7_whoever_drags_the_folder_to_the_machine_cuts_nothing_that_is_asked_about(week: Shop) -> None:
    told = json.loads((week.out / "week.json").read_text("utf-8"))["pieces"]
    assert week.in_lids() == {Path(piece["svg"]).name for piece in told if piece["verdict"] == "ready"}
    (labelled,) = week.pieces("D-7")
    assert (labelled["verdict"], labelled["svg"], [line["text"] for line in labelled["lines"]]) == (
        "look",
        "not_yet/D-7_pantry_maple.svg",
        ["Fiep"],
    )
    assert "NOT YET TO BE CUT" in (week.out / labelled["svg"]).read_text("utf-8")


def test_7_a_look_that_was_answered_goes_to_the_lids(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    shop.batch(row("T-1", NO_WORDS[1]))
    shop.batch(row("T-1", NO_WORDS[1], checked=shop.pieces("T-1")[0]["sign"]))
    assert shop.in_lids() == {"T-1_pantry_maple.svg"}


# --- 3, 8 and 11: lids ----------------------------------------------------------------------------------------------------


def test_3_a_lid_with_a_finger_notch_at_its_edge_is_ready(week: Shop) -> None:
    (piece,) = week.pieces("D-1")
    assert (piece["verdict"], piece["lid"], piece["problems"]) == ("ready", "pantry", [])
    outline = (week.out / piece["outline"]).read_text("utf-8")
    lowest = max(y for _, y in points(outline, "lid"))
    assert lowest == pytest.approx(2 + 4 * 25.4, abs=0.01), "the notch is drawn clipped to the lid"


def test_8_a_name_that_two_areas_would_cut_is_asked_about_on_each(week: Shop) -> None:
    top, inside = week.pieces("D-4")
    assert [piece["verdict"] for piece in (top, inside)] == ["look", "look"]
    assert all("words-cut-twice" in codes(piece) for piece in (top, inside))
    assert not {name for name in week.in_lids() if name.startswith("D-4")}


def test_11_grooves_inches_a_drawing_with_dimension_lines_and_no_cost(week: Shop) -> None:
    (slide,), (drawn,) = week.pieces("D-2"), week.pieces("D-3")
    assert (slide["verdict"], slide["lid"], drawn["verdict"], drawn["lid"]) == ("ready", "pencil", "ready", "tally")
    ys = [y - 2 for _, y in points((week.out / slide["svg"]).read_text("utf-8"), "engrave")]
    assert min(ys) > 6.35 and max(ys) < 63.5 - 6.35, "words keep off the grooves"
    assert box_of(week.out / drawn["outline"], "lid") == pytest.approx((130, 90), abs=0.01)
    assert week.run("quote", "--words", "Joost", "--lid", "tally").exit_code == OK


def test_11_the_shelf_holds_the_shop_s_own_lids_alone(week: Shop) -> None:
    told = json.loads(week.run("shelf", "lids", "--json").stdout)
    assert [lid["id"] for lid in told] == ["pantry", "pencil", "tally", "keepsake", "letters"]


def test_11_an_old_table_goes_into_one_folder_by_day(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    figures = ["along=0.3", "across=0.5", "mark=0.18", "stroke=0.2"]
    for _ in range(2):
        told = shop.run("testpiece", "--cutter", "co2-tube", "--wood", "oak", "--record", *figures)
        assert told.exit_code == OK, told.output
        figures[0] = "along=0.35"
    kept = [path.relative_to(shop.folder) for path in shop.folder.rglob("*") if "recipes" in path.name]
    assert Path("recipes.toml") in kept
    assert len(kept) == 2 and all(
        re.fullmatch(r"recipes\.toml|earlier/\d{4}-\d\d-\d\d/recipes\.toml", str(k)) for k in kept
    )


# --- 4, 5 and 6: the buyer's yes and spoiled lids -------------------------------------------------------------------------


def test_4_what_changed_after_the_yes_is_held_and_what_was_never_agreed_waits(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    with (shop.folder / "defaults.toml").open("a", encoding="utf-8") as file:
        file.write('approval = "required"\n')
    assert shop.batch(row("D-1", "Hanneke")).exit_code == OK
    (piece,) = shop.pieces("D-1")
    assert (piece["verdict"], shop.in_lids()) == ("waiting", set())
    shop.batch(row("D-1", "Hanneke", approved=piece["proof_code"]))
    assert shop.in_lids() == {"D-1_pantry_maple.svg"}
    assert shop.batch(row("D-1", "Hannike", approved=piece["proof_code"])).exit_code == SOME_HELD
    assert (codes(shop.pieces("D-1")[0]), shop.in_lids()) == ({"not-as-approved"}, set())


def test_5_an_order_of_two_pieces_has_one_code_that_covers_both(week: Shop, tmp_path: Path) -> None:
    top, inside = week.pieces("D-5")
    assert top["proof_code"] == inside["proof_code"]
    shop = shop_in(tmp_path)
    shop.batch({**ROWS[4], "approved": top["proof_code"]})
    assert [piece["verdict"] for piece in shop.pieces("D-5")] == ["ready", "ready"]
    assert shop.in_lids() == {"D-5_letters_maple.svg", "D-5_letters_maple_2.svg"}
    shop.batch({**ROWS[4], "approved": "yes"})
    for piece in shop.pieces("D-5"):
        assert (piece["verdict"], top["proof_code"] in says(piece, "approved-no-code")) == ("hold", True)


def test_6_two_spoiled_lids_are_cut_again_first_and_counted(tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    shop.batch(row("D-1", "Hanneke"), row("D-3", "Joost", "tally"))
    lid = (shop.out / "lids" / "D-3_tally_maple.svg").read_bytes()
    price = shop.pieces("D-3")[0]["price"]
    told = shop.batch(row("D-1", "Hanneke"), row("D-3", "Joost", "tally", recut="2"))
    assert (told.exit_code, "Cut again: 2 lids" in told.output) == (OK, True)
    (piece,) = shop.pieces("D-3")
    assert (piece["recut"]["lids"], piece["plan"]["place"], piece["price"]) == (2, 1, price)
    assert (shop.out / "lids" / "D-3_tally_maple.svg").read_bytes() == lid


# --- 9 and 10: cells ------------------------------------------------------------------------------------------------------


def test_9_the_shop_s_own_typeface_column_goes_before_the_option_cell(week: Shop) -> None:
    (piece,) = week.pieces("D-6")
    assert (piece["typeface"], piece["wood"], piece["verdict"]) == ("roboto-slab", "cherry", "look")
    assert "‘roboto-slab’ is used" in says(piece, "two-cells")


def test_10_the_lines_of_one_cell_are_name_message_and_foot_in_sizes_of_their_own(week: Shop) -> None:
    (piece,) = week.pieces("D-2")
    assert [(line["field"], line["text"]) for line in piece["lines"]] == [
        ("name", "Noor"), ("message", "sixty tides"), ("foot", "2026")]  # fmt: skip
    caps = [line["cap_mm"] for line in piece["lines"]]
    assert caps[0] > caps[1] > caps[2]


# --- 13: the SVG ----------------------------------------------------------------------------------------------------------

SVG = "{http://www.w3.org/2000/svg}"


def points(svg: str, group: str) -> list[tuple[float, float]]:
    """All points of a group's paths, handles too; each path command is followed by x and y pairs."""
    found = []
    for path in ElementTree.fromstring(svg.encode()).findall(f"{SVG}g[@id='{group}']/{SVG}path"):
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", path.get("d", ""))]
        found += list(zip(numbers[::2], numbers[1::2], strict=True))
    assert found, f"nothing in {group}"
    return found


def box_of(file: Path, group: str) -> tuple[float, float]:
    xs, ys = zip(*points(file.read_text("utf-8"), group), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def test_13_a_lid_s_file_holds_plain_paths_true_to_size_and_its_name_says_lid_and_wood(week: Shop) -> None:
    root = ElementTree.fromstring((week.out / "lids" / "D-3_tally_maple.svg").read_bytes())
    assert [group.get("id") for group in root.findall(f"{SVG}g")] == ["engrave"]
    assert {child.tag for group in root.findall(f"{SVG}g") for child in group} == {f"{SVG}path"}
    assert not [e for e in root.iter() if e.get("transform")]
    box = str(root.get("viewBox")).split()
    assert [root.get("width"), root.get("height")] == [f"{box[2]}mm", f"{box[3]}mm"]
    assert [float(n) for n in box] == pytest.approx([0, 0, 130 + 2 * 2, 90 + 2 * 2], abs=0.001)


def test_13_outline_and_datum_lie_in_a_file_of_their_own_and_the_slip_says_where_the_datum_is(week: Shop) -> None:
    outline = ElementTree.fromstring((week.out / "outlines" / "D-3_tally_maple.svg").read_bytes())
    assert {group.get("id") for group in outline.findall(f"{SVG}g")} == {"lid", "datum"}
    assert "datum front left" in in_one_line((week.out / "bench.pdf").read_bytes())
