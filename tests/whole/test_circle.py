"""A shop's whole circle, from a page's export to next week: asked, proved, agreed, cut, changed, spoiled, and again.

The shop is invented: a lock-keeper letters boxes beside a canal. Each step is the command a shop would
type; what lies between two steps is what a person would do by hand.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from week_contents import codes

from engrave.batch import unit_written
from engrave.cli import OK, SOME_HELD, main
from engrave.shop.places import own_folder

EXPORT = """\
Order ID,Item,Message inside or below,Ship City,Item Price,Personalisation,Ribbon note
7101,Tow-path chest,,Bath,31.00,Orla,red
7102,Tow-path chest,,York,31.00,Pim,
7103,Card box,forty locks,Leeds,28.00,Juno,blue
"""
DEFAULTS = 'approval = "required"\nlid = "card-box"\ntypeface = "lockhand"\ncutter = "diode-450"\nwood = "maple"\n'
FONTS = own_folder("fonts_open")


class Bench:
    """The shop's folder, its export as it is on the desk now, and the folder of the week."""

    def __init__(self, at: Path) -> None:
        self.shop, self.table, self.out = at / "lock_house", at / "export.csv", at / "week_1"
        hand = self.shop / "typefaces" / "lockhand"
        hand.mkdir(parents=True)
        (hand / "typeface.toml").write_text('file = "hand.ttf"\n', "utf-8")
        self.hand = hand / "hand.ttf"
        shutil.copy(FONTS / "vollkorn" / "Vollkorn-Medium.ttf", self.hand)
        (self.shop / "defaults.toml").write_text(DEFAULTS, "utf-8")
        self.table.write_text(EXPORT, "utf-8")

    def asked(self, command: str, status: int, *more: str) -> str:
        told = CliRunner().invoke(main, [command, str(self.table), "--shop", str(self.shop), *more])
        assert told.exit_code == status, told.output
        return told.stdout

    def batch(self, status: int = OK) -> dict[str, dict[str, Any]]:
        """Make the week; what week.json tells of each order's first piece."""
        self.says = self.asked("batch", status, "--out", str(self.out), "--jobs", "1")
        self.week = json.loads((self.out / "week.json").read_text("utf-8"))
        return {piece["order"]: piece for piece in self.week["pieces"]}

    def write(self, order: str, **cells: str) -> None:
        """Fill cells of an order's row, as in a spreadsheet; a column that is not there yet is put in at the end."""
        with self.table.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        for row in rows:
            row.update({name: row.get(name) or "" for name in cells})
            row.update(cells if row["Order ID"] == order else {})
        with self.table.open("w", encoding="utf-8", newline="") as file:
            out = csv.DictWriter(file, rows[0].keys())
            out.writeheader()
            out.writerows(rows)

    def lid(self, piece: dict[str, Any]) -> str:
        return (self.out / piece["svg"]).read_text("utf-8")

    def in_lids(self) -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in (self.out / "lids").glob("*")}

    def card(self, order: str) -> str:
        """The order's place on the week's page."""
        page = (self.out / "week.html").read_text("utf-8")
        (card,) = (
            a for a in re.findall(r"<article .*?</article>", page, re.DOTALL) if order in a.partition("</h3>")[0]
        )
        return str(card)


def ink(svg: str) -> list[str]:
    return re.findall(r"<path [^>]*>", svg)


def imported(bench: Bench) -> None:
    """A new export: held until its headings are answered; the answers are kept, and nothing is asked again."""
    held = bench.batch(SOME_HELD)
    assert all("unread-column" in codes(piece) for piece in held.values())
    assert f"engrave headings {bench.table} --shop {bench.shop}" in bench.says
    printed = bench.asked("headings", SOME_HELD)
    answer = '[values.lid]\n"Tow-path chest" = "honey-box"\n'
    (bench.shop / "intake.toml").write_text(f"{printed}\n{answer}", "utf-8")
    assert "There is nothing to ask." in bench.asked("headings", OK)


def proved(bench: Bench) -> dict[str, dict[str, Any]]:
    """All wait for their buyer's yes: a proof with a code each, kept in the shop's folder, and nothing to cut."""
    told = bench.batch()
    assert {order: (p["verdict"], p["lid"], p["name"], p["message"]) for order, p in told.items()} == {
        "7101": ("waiting", "honey-box", "Orla", None),
        "7102": ("waiting", "honey-box", "Pim", None),
        "7103": ("waiting", "card-box", "Juno", "forty locks"),
    }
    assert bench.in_lids() == {}
    for piece in told.values():
        assert (bench.out / piece["proof"]).is_file()
        kept = (bench.shop / "kept" / piece["proof_code"] / "1.svg").read_text("utf-8")
        assert ink(kept) == ink(bench.lid(piece))
        assert "NOT YET TO BE CUT. The buyer has not approved it yet" in bench.lid(piece)
    return told


def agreed(bench: Bench, proofs: dict[str, dict[str, Any]]) -> dict[str, bytes]:
    """The buyers' yes: what the proofs showed lies among the lids."""
    drawn = {order: ink(bench.lid(piece)) for order, piece in proofs.items()}
    for order, piece in proofs.items():
        bench.write(order, approved=piece["proof_code"])
    told = bench.batch()
    assert {order: ink(bench.lid(piece)) for order, piece in told.items()} == drawn
    assert {piece["verdict"] for piece in told.values()} == {"ready"}
    assert len(bench.in_lids()) == 3
    return bench.in_lids()


def typeface_changed(bench: Bench, lids: dict[str, bytes], proofs: dict[str, dict[str, Any]]) -> None:
    """Another file under the typeface's name: what was agreed is cut byte for byte, what was not is set anew."""
    shutil.copy(FONTS / "quicksand" / "Quicksand-Medium.ttf", bench.hand)
    told = bench.batch()
    assert bench.in_lids() == lids
    assert all("cut-as-approved" in codes(piece) for piece in told.values())
    bench.write("7103", approved="")
    anew = bench.batch()["7103"]
    assert (anew["verdict"], anew["proof_code"] != proofs["7103"]["proof_code"]) == ("waiting", True)
    bench.write("7103", approved=proofs["7103"]["proof_code"])
    bench.batch()
    assert bench.in_lids() == lids


def word_changed(bench: Bench, lids: dict[str, bytes]) -> None:
    """Another name after the yes: on hold with what was agreed and what it would be now, side by side."""
    bench.write("7102", Personalisation="Pip")
    told = bench.batch(SOME_HELD)
    assert (told["7102"]["verdict"], told["7102"]["svg"]) == ("hold", None)
    (says,) = [p["says"] for p in told["7102"]["problems"] if p["code"] == "not-as-approved"]
    assert "the words" in says
    assert bench.in_lids() == {name: lid for name, lid in lids.items() if not name.startswith("7102")}
    now, then = bench.card("7102").split("As it was approved:")
    assert ("<svg" in now, "<svg" in then) == (True, True)
    assert "As it was approved:" not in bench.card("7101")
    bench.write("7102", Personalisation="Pim")
    bench.batch()
    assert bench.in_lids() == lids


def spoiled(bench: Bench, lids: dict[str, bytes]) -> None:
    """A lid to cut again: the same bytes, at no price more, until the cell is emptied."""
    before = bench.batch()["7103"]
    bench.write("7103", recut="1: knot")
    told = bench.batch()["7103"]
    assert bench.in_lids() == lids
    assert bench.week["totals"]["recut"]["lids"] == told["recut"]["lids"] == 1
    assert (told["price"], told["recut"]["why"]) == (before["price"], "knot")
    bench.write("7103", recut="")
    bench.batch()
    assert bench.week["totals"]["recut"]["lids"] == 0


def run_again(bench: Bench) -> None:
    """The same command again makes nothing and touches no lid or proof."""

    def times() -> dict[Path, int]:
        folders = ("lids", "outlines", "proofs", "not_yet")
        return {file: file.stat().st_mtime_ns for name in folders for file in (bench.out / name).glob("*")}

    before = times()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(unit_written, "draw_unit", lambda *_: pytest.fail("something was made"))
        bench.batch()
    assert times() == before


def next_week(bench: Bench, proofs: dict[str, dict[str, Any]], lids: dict[str, bytes]) -> None:
    """A new export into a new folder: nothing is asked, an old code still counts, a new order waits for its own."""
    last, bench.out = bench.out, bench.out.with_name("week_2")
    bench.table.write_text(
        EXPORT.splitlines()[0] + ",approved\n7101,Tow-path chest,,Bath,31.00,Orla,red,"
        f"{proofs['7101']['proof_code']}\n7204,Tow-path chest,,Hull,31.00,Nell,,\n",
        "utf-8",
    )
    assert "There is nothing to ask." in bench.asked("headings", OK)
    told = bench.batch()
    assert {order: piece["verdict"] for order, piece in told.items()} == {"7101": "ready", "7204": "waiting"}
    assert bench.in_lids() == {name: lid for name, lid in lids.items() if name.startswith("7101")}
    assert {path.name: path.read_bytes() for path in (last / "lids").glob("*")} == lids


@pytest.mark.slow
def test_what_was_agreed_is_cut_and_nothing_else_from_a_first_export_to_next_week(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    imported(bench)
    proofs = proved(bench)
    lids = agreed(bench, proofs)
    typeface_changed(bench, lids, proofs)
    word_changed(bench, lids)
    spoiled(bench, lids)
    run_again(bench)
    next_week(bench, proofs, lids)
