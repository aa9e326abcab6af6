"""A week from the table to the folder, as a shop runs it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from markupsafe import escape
from promises import promised
from sentences.reading import MOST_WORDS, Said, words_of
from svgelements import SVG, Group
from svgelements import Path as DrawnPath

from engrave.batch import run_week, unit_drawn
from engrave.cli import main, progress_line
from engrave.output.svg import check_svg
from engrave.shop.cautions import FULL_LIST

DEMO = Path(__file__).resolve().parents[2] / "orders_demo"
FIELDS = [
    "order",
    "piece",
    "row",
    "lid",
    "area",
    "name",
    "message",
    "foot",
    "typeface",
    "cutter",
    "machine",
    "wood",
    "method",
    "setting",
    "quantity",
    "matching",
    "due",
    "verdict",
    "problems",
    "remedies",
    "changes",
    "lines",
    "cap_height_mm",
    "stroke_mm",
    "stroke_at",
    "web_mm",
    "web_at",
    "depth_mm",
    "passes",
    "machine_seconds",
    "machine_seconds_range",
    "hand_seconds",
    "each",
    "price",
    "svg",
    "proof",
    "proof_code",
]
"""Every field that a shop's script may ask of an entry."""

SMALL = """order,name,message,lid,typeface,wood
A-1,Łukasz,sixty summers,round-caddy,withy,walnut
A-2,Ida,,card-box,withy,maple
A-3,Zoë,,no-such-lid,withy,maple
"""


def _digests(folder: Path) -> dict[str, str]:
    return {str(p.relative_to(folder)): sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("week")
    table = folder / "orders.csv"
    table.write_text(SMALL, "utf-8")
    run_week(table, folder / "out", jobs=1)
    return table, folder / "out"


def test_every_row_is_answered_with_every_field(small: tuple[Path, Path]) -> None:
    told = json.loads((small[1] / "week.json").read_text("utf-8"))
    assert [p["order"] for p in told["pieces"]] == ["A-1", "A-2", "A-3"]
    assert [p["verdict"] for p in told["pieces"]] == ["ready", "ready", "hold"]
    for piece in told["pieces"]:
        assert set(FIELDS) <= set(piece)
    assert told["totals"]["hold"] == 1
    assert told["pieces"][2]["svg"] is None


def _box(file: Path, group: str) -> tuple[float, float, float, float]:
    drawing = SVG.parse(str(file), ppi=25.4)
    groups = [g for g in drawing.elements() if isinstance(g, Group) and g.id == group]
    boxes = [b for g in groups for e in g.select() if isinstance(e, DrawnPath) and (b := e.bbox()) is not None]
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


@pytest.mark.source("svgelements, boxes of the file's paths")
def test_lids_are_in_the_normal_form_and_inside_the_lid(small: tuple[Path, Path]) -> None:
    for name, size in (("A-1_round-caddy_walnut", 92.0), ("A-2_card-box_maple", None)):
        lid, outline = (small[1] / place / f"{name}.svg" for place in ("lids", "outlines"))
        assert check_svg(lid.read_text("utf-8")) == check_svg(outline.read_text("utf-8")) == ()
        ink, around = _box(lid, "engrave"), _box(outline, "lid")
        assert around[0] < ink[0] < ink[2] < around[2] and around[1] < ink[1] < ink[3] < around[3]
        if size:
            width = around[2] - around[0]
            assert width == pytest.approx(size, abs=0.01)  # the outline, read by another library, is true in mm


@promised("Every run gives exactly the same files, however many work at once (`--jobs`).")
def test_same_bytes_for_any_number_of_processes(small: tuple[Path, Path], tmp_path: Path) -> None:
    run_week(small[0], tmp_path / "two", jobs=2)
    assert _digests(tmp_path / "two") == _digests(small[1])


@promised("what is no longer made is taken away, and nothing else is touched")
def test_a_second_run_takes_away_what_is_no_longer_made_and_nothing_else(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(SMALL, "utf-8")
    out = tmp_path / "out"
    run_week(table, out, jobs=1)
    (out / "lids" / "mine.svg").write_text("the shop's own", "utf-8")
    table.write_text(SMALL.replace("card-box", "no-lid"), "utf-8")
    done = run_week(table, out, jobs=1)
    assert "lids/A-2_card-box_maple.svg" in done.taken_away
    assert not (out / "lids" / "A-2_card-box_maple.svg").exists()
    assert (out / "lids" / "mine.svg").exists()


@pytest.mark.slow
def test_matching_pieces_get_one_size(tmp_path: Path) -> None:
    done = run_week(DEMO / "crew_of_eight.csv", tmp_path / "crew", jobs=2)
    caps = {round(e.piece.lettering.cap_mm, 6) for e in done.week.entries if e.piece.lettering}
    assert len(caps) == 1
    assert done.week.matchings[0].limited_by is not None
    baselines = {
        tuple(round(line.baseline, 4) for line in e.piece.lettering.lines)
        for e in done.week.entries
        if e.piece.lettering
    }
    assert len(baselines) == 1  # Ólafur's accent moves neither his line nor the one below it


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        (["try", "Wanda", "--lid", "round-caddy", "--typeface", "withy"], 0),
        (["try", "Wanda", "--lid", "no-such-lid"], 1),
        (["quote", "--words", "Wanda", "--typeface", "withy"], 0),
        (["shelf", "lids"], 0),
        (["shelf", "recipes", "--json"], 0),
        (["batch", "no-such-file.csv", "--out", "nowhere"], 2),
    ],
)
def test_exit_status(asked: list[str], status: int) -> None:
    done = CliRunner().invoke(main, asked, catch_exceptions=False)
    assert done.exit_code == status, done.output


def test_a_terminal_tells_how_far_a_run_is_and_how_long_it_takes() -> None:
    assert progress_line(0, 200, 0.1, 0) == "0 of 200 pieces"
    assert progress_line(1, 200, 2.0, 0) == "1 of 200 pieces, about 6 min 38 s left"
    assert progress_line(190, 200, 6.0, 188) == "190 of 200 pieces, about 30 s left"  # 188 were there from before
    assert progress_line(200, 200, 60.0, 0) == "200 of 200 pieces"


def test_progress_is_told_from_the_first_piece_on(small: tuple[Path, Path], tmp_path: Path) -> None:
    for jobs in (1, 2):
        told: list[tuple[int, int]] = []
        run_week(small[0], tmp_path / f"out{jobs}", jobs=jobs, progress=lambda *at, told=told: told.append(at))
        assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]


def test_help_shows_an_example_of_every_command() -> None:
    for command in main.commands:
        assert f"engrave {command}" in CliRunner().invoke(main, [command, "--help"]).output


def test_pictures_of_what_fails_and_of_what_is_at_hand(tmp_path: Path) -> None:
    asked = ["try", "Charlotte", "--typeface", "great-vibes", "--wood", "oak", "--picture", str(tmp_path / "thin.png")]
    assert CliRunner().invoke(main, asked, catch_exceptions=False).exit_code in (0, 1)
    assert (tmp_path / "thin.png").read_bytes().startswith(b"\x89PNG")
    for kind, status in (("lids", 0), ("recipes", 2)):
        file = tmp_path / f"{kind}.png"
        done = CliRunner().invoke(main, ["shelf", kind, "--picture", str(file)], catch_exceptions=False)
        assert (done.exit_code, file.exists()) == (status, status == 0)


def test_why_names_what_limits_the_size() -> None:
    done = CliRunner().invoke(main, ["try", "Wanda & Ole", "--lid", "round-caddy", "--typeface", "withy", "--why"])
    assert "Why this size:" in done.output
    told = json.loads(CliRunner().invoke(main, ["try", "Wanda & Ole", "--why", "--json"]).output)
    assert told["why"][0]["limit"] in ("room", "greatest", "looks")


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="the stand-in below reaches a worker only where it is forked")
def test_a_piece_that_kills_its_process_is_held_and_the_week_goes_on(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(SMALL, "utf-8")
    told = subprocess.run(  # a process of its own: once a sheet is set in one, its workers are not forked
        [sys.executable, "-c", DEADLY, str(table), str(tmp_path / "out")], capture_output=True, text=True, timeout=120
    )
    assert told.stdout.split() == ["ready", "hold", "hold"], told.stderr
    assert (tmp_path / "out" / "lids" / "A-1_round-caddy_walnut.svg").exists()


DEADLY = """
import os, sys
from pathlib import Path
from engrave import batch
from engrave.batch import unit_written
real = unit_written.draw_unit
unit_written.draw_unit = lambda whats, *rest: os._exit(9) if whats[0].order.id == "A-2" else real(whats, *rest)
done = batch.run_week(Path(sys.argv[1]), Path(sys.argv[2]), jobs=2)
print(*[e.piece.verdict for e in done.week.entries])
"""


def test_rates_that_leave_nothing_are_refused_with_their_numbers(tmp_path: Path) -> None:
    for rates, says in (
        ("fee = 0.5\nmargin = 0.6\n", "fee 0.5 and margin 0.6 together leave nothing"),
        ("fee = 0.5\nmargin = 0.4\ntax = 0.23\ntax_shown = true\n", "with 0.23 tax: 0.615) and margin 0.4"),
        ("spoilage = 1.0\n", "spoilage: found 1.0"),
    ):
        (tmp_path / "rates.toml").write_text(rates, "utf-8")
        done = CliRunner().invoke(main, ["quote", "--words", "Wanda", "--shop", str(tmp_path)], catch_exceptions=False)
        assert done.exit_code == 2
        assert says in done.output


def test_a_quote_tells_time_and_money_by_part_and_what_is_given_away(tmp_path: Path) -> None:
    (tmp_path / "rates.toml").write_text("tax = 0.23\n", "utf-8")
    asked = ["quote", "--words", "Wanda", "--typeface", "withy", "--rush", "--quantity", "2", "--shop", str(tmp_path)]
    said = CliRunner().invoke(main, asked, catch_exceptions=False).output
    for part in (
        "of it rush",
        "plus tax",
        "the box's price",
        "for the rush, €",
        "plus 23% tax",
    ):
        assert part in said, part
    assert re.search(r"place and zero +4 min +€1\.87", said)


@pytest.mark.slow
def test_no_sentence_of_the_demo_week_runs_over_thirty_words(tmp_path: Path) -> None:
    """Read off what a week says, with its figures and places, where the list of sentences has marks for them."""
    done = run_week(DEMO / "ferry_week.csv", tmp_path / "out", jobs=1)
    report = done.report
    told = [*report["notes"], *(p for piece in report["pieces"] for p in (*piece["problems"], *piece["remedies"]))]
    long = [s for one in told for s in Said("week", 0, one["says"]).sentences() if words_of(s) > MOST_WORDS]
    assert len(told) > 20
    assert not long


def test_the_plan_and_orders_with_a_lid_on_hold_are_told(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(
        "order,name,lid,typeface,wood,due\nK-1,Ida,round-caddy,withy,walnut,2026-12-04\nK-1,Tom,no-lid,withy,walnut,\n",
        "utf-8",
    )
    done = run_week(table, tmp_path / "out", jobs=1)
    assert "Every promised day holds if work begins by Fri 4 Dec." in done.summary
    assert "Orders with a lid on hold: K-1 (1 of 2 pieces ready)." in done.summary
    page = (tmp_path / "out" / "week.html").read_text("utf-8")
    assert all(str(escape(caution.says)) in page for caution in FULL_LIST)  # folded below those of this week
    assert "1 of 2 pieces ready; on hold: <a href" in page
    done = run_week(table, tmp_path / "out", jobs=1, start=date(2026, 12, 7))
    assert "1 lid would be late; for every promised day, work had to begin by Fri 4 Dec." in done.summary
    done = run_week(table, tmp_path / "out", jobs=1, start=date(2026, 12, 1))
    assert "The last lid is done on Tue 1 Dec, with no cutter change." in done.summary
    assert "Every promised day holds." in done.summary


def test_an_approved_proof_that_is_no_longer_what_would_be_cut_is_held(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text("order,name,lid,typeface,wood,approved,note\nA-1,Ida,card-box,withy,maple,,by the door\n", "utf-8")
    first = run_week(table, tmp_path / "one", jobs=1).report["pieces"][0]
    text = table.read_text("utf-8")
    table.write_text(text.replace("maple,", f"maple,{first['proof_code'].lower()}"), "utf-8")
    assert run_week(table, tmp_path / "two", jobs=1).report["pieces"][0]["verdict"] == "ready"
    table.write_text(text.replace("Ida", "Ada").replace("maple,", f"maple,{first['proof_code']}"), "utf-8")
    changed = run_week(table, tmp_path / "one", jobs=1).report["pieces"][0]
    assert [p["code"] for p in changed["problems"] if p["level"] == "hold"] == ["not-as-approved"]
    assert "by the door" in (tmp_path / "one" / "week.csv").read_text("utf-8-sig")  # nothing of a row is lost


def test_what_goes_wrong_beside_a_piece_holds_that_piece_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = unit_drawn.make_unit

    def faulty(whats: Any, env: Any, *more: Any) -> Any:
        if whats[0].order.id == "A-1":
            raise RuntimeError("a remedy went wrong")
        return real(whats, env, *more)

    monkeypatch.setattr(unit_drawn, "make_unit", faulty)
    table = tmp_path / "orders.csv"
    table.write_text(SMALL, "utf-8")
    done = run_week(table, tmp_path / "out", jobs=1)
    assert [e.piece.verdict for e in done.week.entries] == ["hold", "ready", "hold"]


def test_the_terminal_says_what_would_help_first(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(
        "order,name,message,lid,typeface,cutter,wood\n"
        "K-2,Grandad,happy birthday from all of us,puzzle-box,linux-libertine,mill-05,mahogany\n", "utf-8",
    )  # fmt: skip
    done = run_week(table, tmp_path / "out", jobs=1)
    (piece,) = done.report["pieces"]
    assert piece["verdict"] == "hold"
    assert f"    would help: {piece['remedies'][0]['says']}." in done.summary.splitlines()
