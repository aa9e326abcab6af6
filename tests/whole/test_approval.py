"""The whole circle: proof, yes, a change in the tables, and the approved geometry is cut; a changed word is not."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from engrave.batch import Done, run_week
from engrave.cli import main

HEAD = "order,name,message,lid,typeface,cutter,wood,setting,approved,quantity\n"


class Shop:
    """A shop's folder, its orders, and the week it makes of them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "shop"
        self.folder.mkdir()
        self.out = folder / "week"
        self.table = folder / "orders.csv"

    def tables(self, name: str, text: str) -> None:
        (self.folder / f"{name}.toml").write_text(text, "utf-8")

    def run(self, *rows: str) -> Done:
        self.table.write_text(HEAD + "".join(f"{row}\n" for row in rows), "utf-8")
        return run_week(self.table, self.out, shop_folder=self.folder, jobs=1)

    def entries(self, *rows: str) -> list[dict[str, Any]]:
        told: list[dict[str, Any]] = self.run(*rows).report["pieces"]
        return told

    def lid(self, entry: dict[str, Any]) -> str:
        return (self.out / entry["svg"]).read_text("utf-8")


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def row(order: str = "K-1", name: str = "Wanda", approved: str = "", wood: str = "maple", quantity: str = "") -> str:
    return f"{order},{name},,card-box,withy,v60,{wood},,{approved},{quantity}"


def paths(svg: str) -> list[str]:
    return [line.strip() for line in svg.replace("<path", "\n<path").splitlines() if line.startswith("<path")]


def test_an_empty_cell_stays_ready_and_its_geometry_is_kept(shop: Shop) -> None:
    (told,) = shop.entries(row())
    assert told["verdict"] != "waiting"
    assert (shop.folder / "kept" / told["proof_code"] / "1.svg").is_file()
    assert told["svg"].startswith(("lids/", "not_yet/"))


def test_where_approval_is_required_an_order_waits_and_is_not_among_the_lids(shop: Shop) -> None:
    shop.tables("defaults", 'approval = "required"\nlid = "card-box"\n')
    (told,) = shop.entries("K-1,Wanda,,card-box,vollkorn,diode-450,maple,,,")
    assert told["verdict"] == "waiting"
    assert told["svg"].startswith("not_yet/")
    done = shop.run(f"K-1,Wanda,,card-box,vollkorn,diode-450,maple,,{told['proof_code']},")
    (again,) = done.report["pieces"]
    assert (again["verdict"], done.report["totals"]["waiting"]) == ("ready", 0)
    assert again["svg"].startswith("lids/")


def test_the_approved_geometry_is_cut_though_a_table_changed(shop: Shop) -> None:
    (first,) = shop.entries("K-1,Wanda,,card-box,vollkorn,diode-450,maple,,,")
    before = paths(shop.lid(first))
    shop.tables("settings", "[stack]\ngreatest_rectangle = 0.2\n")  # would now be set smaller
    (other,) = shop.entries("K-1,Wanda,,card-box,vollkorn,diode-450,maple,,,")
    assert paths(shop.lid(other)) != before
    (told,) = shop.entries(f"K-1,Wanda,,card-box,vollkorn,diode-450,maple,,{first['proof_code']},")
    assert paths(shop.lid(told)) == before
    assert told["proof_code"] == first["proof_code"]
    assert "cut-as-approved" in {p["code"] for p in told["problems"]}


@pytest.mark.parametrize(
    ("row", "says"),
    [("K-1,Wands,,card-box,vollkorn,diode-450,maple,,{},", "the words"), ("K-1,Wanda,,card-box,vollkorn,diode-450,oak,,{},", "the wood"),
     ("K-1,Wanda,,honey-box,vollkorn,diode-450,maple,,{},", "the lid"), ("K-1,Wanda,,card-box,vollkorn,co2-tube,maple,,{},", "the cutter")],
)  # fmt: skip
def test_what_changed_since_the_yes_is_said_and_held_with_both_pictures(shop: Shop, row: str, says: str) -> None:
    (first,) = shop.entries("K-1,Wanda,,card-box,vollkorn,diode-450,maple,,,")
    (told,) = shop.entries(row.format(first["proof_code"]))
    assert told["verdict"] == "hold"
    (found,) = [p for p in told["problems"] if p["code"] == "not-as-approved"]
    assert says in found["says"]
    assert told["svg"] is None
    assert "As it was approved" in (shop.out / "week.html").read_text("utf-8")


@pytest.mark.parametrize(("cell", "code"), [("yes", "approved-no-code"), ("2026-11-30", "approved-no-code"),
                                            ("Anna", "approved-no-code"), ("222222", "approved-unknown")])  # fmt: skip
def test_what_does_not_say_which_proof_is_asked_back(shop: Shop, cell: str, code: str) -> None:
    (told,) = shop.entries(row(approved=cell))
    assert told["verdict"] == "hold"
    assert code in {p["code"] for p in told["problems"]}


def test_a_code_is_taken_as_people_type_it(shop: Shop) -> None:
    (first,) = shop.entries(row())
    code = first["proof_code"].lower()
    (told,) = shop.entries(row(approved=f" {code[:3]}-{code[3:]} "))
    assert told["verdict"] == first["verdict"]


def test_one_code_covers_all_pieces_of_an_order_and_a_held_one_leaves_it_without(shop: Shop) -> None:
    both = shop.entries("K-1,Charlotte,with love from all,letter-box,vollkorn,diode-450,cherry,,,")
    assert len(both) == 2
    assert both[0]["proof_code"] == both[1]["proof_code"] is not None
    assert both[0]["proof"] == both[1]["proof"]
    code = both[0]["proof_code"]
    again = shop.entries(f"K-1,Charlotte,with love from all,letter-box,vollkorn,diode-450,cherry,,{code},")
    assert {e["proof_code"] for e in again} == {code}
    half = shop.entries(
        "K-1,Ida,,card-box,vollkorn,diode-450,maple,,,", "K-1,Ole,,card-box,vollkorn,diode-450,rosewood,,,"
    )
    assert {e["proof_code"] for e in half} == {None}


def test_rows_of_one_order_that_name_different_proofs_are_held(shop: Shop) -> None:
    told = shop.entries(row(approved="4F8G6M"), row(name="Ole", approved="5F8G6M"))
    assert all("approved-differs" in {p["code"] for p in e["problems"]} for e in told)


def test_approval_never_lifts_a_cutting_problem(shop: Shop) -> None:
    (first,) = shop.entries("K-1,Wanda,,card-box,vollkorn,diode-450,maple,,,")
    shop.tables("lids", "[card-box]\nmargin = 20\n")  # the approved letters would now stand too near the edge
    (told,) = shop.entries(f"K-1,Wanda,,card-box,vollkorn,diode-450,maple,,{first['proof_code']},")
    assert told["verdict"] == "hold"
    assert "approved-outside" in {p["code"] for p in told["problems"]}


def test_next_week_in_a_new_folder_the_shop_still_knows_the_code(shop: Shop) -> None:
    (first,) = shop.entries(row())
    shutil.rmtree(shop.out)
    shop.out = shop.out.with_name("week-2")
    (told,) = shop.entries(row(order="L-7", approved=first["proof_code"]))
    assert told["verdict"] == first["verdict"]
    assert told["proof_code"] == first["proof_code"]


def test_quantity_is_no_part_of_what_was_approved(shop: Shop) -> None:
    (first,) = shop.entries(row())
    (told,) = shop.entries(row(approved=first["proof_code"], quantity="3"))
    assert told["verdict"] == first["verdict"]


def test_the_kept_folder_is_listed_and_pruned_from_the_command_line(shop: Shop) -> None:
    (first,) = shop.entries(row())
    told = CliRunner().invoke(main, ["kept", str(shop.folder), "--json"], catch_exceptions=False)
    assert [k["code"] for k in json.loads(told.stdout)["kept"]] == [first["proof_code"]]
    gone = CliRunner().invoke(main, ["kept", str(shop.folder), "--prune", "0", "--json"], catch_exceptions=False)
    assert json.loads(gone.stdout)["taken_away"] == []  # kept today
    assert CliRunner().invoke(main, ["kept", str(shop.out)]).exit_code == 2
