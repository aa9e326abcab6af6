"""The week's folder under attack: what is somebody else's stays, what is ours is known, and nothing stale looks fresh."""

from __future__ import annotations

import errno
import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from promises import promised
from week_contents import contents

from engrave.batch import Stopped, run_week, unit_written
from engrave.cli import main
from engrave.output.week_folder import BY_HAND, FolderError, WeekFolder, opened

ONE = "order,name,lid,typeface,wood\nA-1,Ida,card-box,withy,maple\n"
TWO = ONE + "A-2,Tom,card-box,withy,maple\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "orders.csv"
    path.write_text(ONE, "utf-8")
    return path


def _batch(table: Path, out: Path, *more: str) -> Result:
    return CliRunner().invoke(main, ["batch", str(table), "--out", str(out), "--jobs", "1", *more])


# --- what is read is never written over ------------------------------------------------------------------------


@promised("What is read (orders, tables, drawings, typefaces, a log) is never written over.")
@pytest.mark.parametrize("name", ["week.csv", "week.json", "week.html"])
def test_the_orders_table_is_never_written_over(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(ONE, "utf-8")
    done = _batch(tmp_path / name, tmp_path)
    assert done.exit_code == 2
    assert name in done.output
    assert contents(tmp_path) == {name: ONE.encode()}


def test_a_table_that_lies_where_an_earlier_week_lies_is_not_written_over(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "week"
    assert _batch(table, out).exit_code == 0
    (out / "week.csv").write_text(TWO, "utf-8")
    before = contents(out)
    assert _batch(out / "week.csv", tmp_path / "week" / ".." / "week").exit_code == 2
    assert contents(out) == before


def test_the_shops_own_drawings_and_typefaces_are_never_written_over(tmp_path: Path, table: Path) -> None:
    shop = tmp_path / "shop"
    (shop / "lids").mkdir(parents=True)
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 60"><path d="M0 0H90V60H0Z"/></svg>'
    (shop / "lids" / "A-1_card-box_maple.svg").write_text(drawing, "utf-8")
    (shop / "lids.toml").write_text('[tray]\ntitle = "Tray"\noutline = { svg = "lids/A-1_card-box_maple.svg", width = 90 }\n'
                                    'thickness = 10\nlike = "card-box"\n', "utf-8")  # fmt: skip
    (shop / "week.json").write_text(
        json.dumps({"made_with": "lid-lettering 0", "writing": ["lids/A-1_card-box_maple.svg"]}), "utf-8"
    )
    done = _batch(table, shop, "--shop", str(shop))
    assert done.exit_code == 2
    assert "A-1_card-box_maple.svg is read by this run" in done.output
    assert (shop / "lids" / "A-1_card-box_maple.svg").read_text("utf-8") == drawing


@promised("What is read (orders, tables, drawings, typefaces, a log) is never written over.")
@pytest.mark.parametrize(
    "asked",
    [["try", "Ida", "--svg"], ["try", "Ida", "--proof"], ["try", "Ida", "--picture"], ["shelf", "lids", "--picture"],
     ["testpiece", "--cutter", "co2-tube", "--wood", "oak", "--svg"]],
)  # fmt: skip
def test_no_command_writes_over_what_it_reads_or_where_it_cannot(tmp_path: Path, asked: list[str]) -> None:
    shop = tmp_path / "shop"
    (shop / "typefaces").mkdir(parents=True)
    (shop / "rates.toml").write_text("tax = 0.23\n", "utf-8")
    linked = [tmp_path / f"linked.{ending}" for ending in ("toml", "svg", "png")]
    for link in linked:
        link.symlink_to(shop / "rates.toml")
    long = [tmp_path / ("x" * 300 + ending) for ending in ("", ".svg", ".png")]
    for file in (shop / "rates.toml", *linked, *long, shop / "rates.toml" / "x.svg", shop / "rates.toml" / "x.png"):
        done = CliRunner().invoke(main, [*asked, str(file), "--shop", str(shop)])
        assert (done.exit_code, done.exception.__class__) == (2, SystemExit), done.output
        assert "was not written" in done.output
    assert (shop / "rates.toml").read_text("utf-8") == "tax = 0.23\n"
    assert all(link.is_symlink() for link in linked)


@promised("its own endings only: another is refused, and says which")
@pytest.mark.parametrize(
    ("asked", "name", "allowed"),
    [
        (["try", "Ida", "--choices"], "two.svg", ".pdf or .png"),
        (["try", "Ida", "--proof"], "p.jpg", ".png or .pdf"),
        (["try", "Ida", "--proof"], "p", ".png or .pdf"),
        (["try", "Ida", "--picture"], "pic.pdf", ".png"),
        (["try", "Ida", "--svg"], "x.pdf", ".svg"),
        (["shelf", "lids", "--picture"], "lids.jpg", ".png"),
        (["quote", "--list", "--write"], "prices.txt", ".csv, .html or .pdf"),
        (["testpiece", "--cutter", "co2-tube", "--wood", "oak", "--svg"], "piece.png", ".svg"),
        (["testpiece", "--cutter", "co2-tube", "--wood", "oak", "--sheet"], "piece.html", ".pdf"),
    ],
)
def test_a_file_whose_ending_says_something_else_is_refused(
    tmp_path: Path, asked: list[str], name: str, allowed: str
) -> None:
    """A PDF once lay in two.svg, a PNG in p.jpg and pic.pdf, an SVG in x.pdf."""
    done = CliRunner().invoke(main, [*asked, str(tmp_path / name)])
    assert done.exit_code == 2
    assert f"{name} was not written: give the file the ending {allowed}." in done.output
    assert not list(tmp_path.iterdir())


# --- what is somebody else's -----------------------------------------------------------------------------------


@promised(
    "No file that the program did not write is ever written over, moved or deleted.",
    "If one lies under a name that a run needs, the run ends with 2 and says which, before anything is made",
)
@pytest.mark.parametrize(
    "name", ["lids/A-1_card-box_maple.svg", "proofs/A-1.png", "week.html", "week.csv", "week.json", "lids"]
)
def test_a_foreign_file_under_a_name_of_ours_ends_the_run_before_anything_is_made(
    tmp_path: Path, table: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unit_written, "draw_unit", lambda *_: pytest.fail("something was made"))
    out = tmp_path / "out"
    (out / name).parent.mkdir(parents=True)
    (out / name).write_text('{"mine": true}', "utf-8")
    done = _batch(table, out)
    assert done.exit_code == 2
    assert name in done.output
    assert contents(out) == {name: b'{"mine": true}'}


@promised("others in the folder are left alone.")
def test_foreign_files_under_other_names_are_left_alone_in_silence(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "out"
    theirs = [".part-mine", "lids/.part-1234-x", "lids/B.svg", "proofs/notes.txt", "photo.png", ".engrave-notes"]
    for name in theirs:
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        (out / name).write_text("mine", "utf-8")
    for _ in range(2):
        done = _batch(table, out)
        assert done.exit_code == 0, done.output
        assert not [name for name in theirs if Path(name).name in done.output]
    assert all((out / name).read_text("utf-8") == "mine" for name in theirs)


def test_a_link_under_a_name_of_ours_is_not_followed(tmp_path: Path, table: Path) -> None:
    out, elsewhere = tmp_path / "out", tmp_path / "precious.svg"
    elsewhere.write_text("mine", "utf-8")
    (out / "lids").mkdir(parents=True)
    try:
        (out / "lids" / "A-1_card-box_maple.svg").symlink_to(elsewhere)
    except OSError:
        pytest.skip("no links here")
    assert _batch(table, out).exit_code == 2
    assert elsewhere.read_text("utf-8") == "mine"


# --- what is ours ----------------------------------------------------------------------------------------------


@promised(
    "The folder `.engrave` beside the pages is how a later run knows what is its own; without it, it goes by `week.json`."
)
def test_a_folder_of_an_earlier_version_is_known_by_its_week_json_and_marked(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "out"
    run_week(table, out, jobs=1)
    marked = contents(out)
    shutil.rmtree(out / ".engrave")
    assert _batch(table, out).exit_code == 0
    assert contents(out) == marked


@promised("Another table may go into the same folder: what the last one made is taken away, and the answer says what.")
def test_another_table_into_the_folder_tells_what_it_took_away(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "out"
    run_week(table, out, jobs=1)
    table.write_text(ONE.replace("A-1", "B-1"), "utf-8")
    done = _batch(table, out)
    assert done.exit_code == 0
    assert (
        "Taken away, because no longer made: lids/A-1_card-box_maple.svg, outlines/A-1_card-box_maple.svg, proofs/A-1.pdf, proofs/A-1.png."
        in done.output
    )
    assert sorted(p.name for p in (out / "lids").iterdir()) == ["B-1_card-box_maple.svg"]


@promised("A file of the program's own that you changed by hand is moved into `changed_by_hand/` and named, not lost.")
def test_a_file_changed_by_hand_is_moved_and_named(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "out"
    run_week(table, out, jobs=1)
    (out / "lids" / "A-1_card-box_maple.svg").write_text("my own version", "utf-8")
    (out / "week.csv").write_text("my own notes", "utf-8")
    table.write_text(ONE.replace("A-1", "B-1"), "utf-8")
    done = _batch(table, out)
    assert f"moved into {BY_HAND}/: lids/A-1_card-box_maple.svg, week.csv." in done.output
    assert (out / BY_HAND / "lids" / "A-1_card-box_maple.svg").read_text("utf-8") == "my own version"
    (out / "week.csv").write_text("my notes again", "utf-8")
    assert f"moved into {BY_HAND}/: week.csv." in _batch(table, out).output
    assert (out / BY_HAND / "week.csv").read_text("utf-8") == "my own notes"
    assert (out / BY_HAND / "week.2.csv").read_text("utf-8") == "my notes again"
    assert "by hand" not in _batch(table, out).output


WRONG_WEEKS = ["{}", '{"writing": 5}', "[", "[" * 100_000, "", "\0\0", "null", '{"made_with": "lid-lettering 0.1.0", "writing": 5}',
               '{"made_with": "lid-lettering 0.1.0", "pieces": {"a": 1}, "writing": [5, {"x": 1}, "../../orders.csv"]}',
               '{"made_with": "lid-lettering 0.1.0", "pieces": [' + "9" * 5000 + "]}"]  # fmt: skip


TOLD_AS_OURS = [text for text in WRONG_WEEKS if "lid-lettering" in text or not text.strip("\0")]
"""What is known for ours even in a folder without our mark."""


@pytest.mark.parametrize(
    ("wrong", "marked"),
    [*((text, True) for text in WRONG_WEEKS), *((text, False) for text in TOLD_AS_OURS)],
    ids=lambda of: of[:30] if isinstance(of, str) else None,
)
def test_a_damaged_week_json_never_stops_a_week(tmp_path: Path, table: Path, wrong: str, marked: bool) -> None:
    out = tmp_path / "out"
    if marked:
        run_week(table, out, jobs=1)
    out.mkdir(exist_ok=True)
    (out / "week.json").write_text(wrong, "utf-8")
    for only in ((), ("--only", "A-1")):
        done = _batch(table, out, *only)
        assert done.exit_code == 0, done.output
    assert json.loads((out / "week.json").read_text("utf-8"))["totals"]["pieces"] == 1
    assert table.exists()


def test_a_week_json_that_was_cut_off_still_tells_what_is_ours(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "out"
    run_week(table, out, jobs=1)
    shutil.rmtree(out / ".engrave")
    text = (out / "week.json").read_text("utf-8")
    (out / "week.json").write_text(text[: text.index('"proof_code"')], "utf-8")
    assert _batch(table, out).exit_code == 0


# --- who is writing --------------------------------------------------------------------------------------------


@promised("A second one waits a moment, then ends with 2 and says who holds it")
def test_a_second_run_into_the_folder_ends_with_who_holds_it(
    tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("engrave.output.week_folder.holding.WAIT", 0.2)
    out = tmp_path / "out"
    with opened(out, [], []):
        done = _batch(table, out)
    assert done.exit_code == 2
    assert f"process {os.getpid()} on" in done.output
    assert _batch(table, out).exit_code == 0


HOLDS = """
import sys, time
from pathlib import Path
from engrave.output.week_folder import opened
with opened(Path(sys.argv[1]), [], []):
    print("held", flush=True)
    time.sleep(60)
"""


@promised("a run that was killed holds nothing.")
def test_the_folder_is_free_again_when_the_run_that_held_it_was_killed(tmp_path: Path, table: Path) -> None:
    out = tmp_path / "out"
    holder = subprocess.Popen([sys.executable, "-c", HOLDS, str(out)], stdout=subprocess.PIPE, text=True)
    assert holder.stdout is not None
    with holder, holder.stdout:
        assert holder.stdout.readline() == "held\n"
        holder.kill()
    assert _batch(table, out).exit_code == 0


# --- stopped midway --------------------------------------------------------------------------------------------


@promised(
    "Every file is there whole or not at all.",
    "While a week is being made, and after a run that was stopped, its page, table and list say that they are of an earlier run",
    "what is finished stands and is listed, and the same command makes the rest.",
)
def test_after_a_stop_the_pages_say_that_the_week_is_being_made_anew(
    tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    run_week(table, out, jobs=1)
    fresh = contents(out)
    real = unit_written.put_inside

    def stopped(path: Path, data: Any, part: str) -> None:
        real(path, data, part)
        if path.parent.name == "lids":
            raise KeyboardInterrupt

    table.write_text(ONE.replace("Ida", "Ada"), "utf-8")
    monkeypatch.setattr(unit_written, "put_inside", stopped)
    with pytest.raises(Stopped) as stop:
        run_week(table, out, jobs=1)
    monkeypatch.undo()
    assert stop.value.written[0] == "lids/A-1_card-box_maple.svg" and "proofs/A-1.png" not in stop.value.written
    for name in ("week.html", "week.csv"):
        assert "being made anew" in (out / name).read_text("utf-8")
    writing = json.loads((out / "week.json").read_text("utf-8"))["writing"]
    lid = "A-1_card-box_maple.svg"
    assert writing == [f"lids/{lid}", f"not_yet/{lid}", f"outlines/{lid}", "proofs/A-1.pdf", "proofs/A-1.png"]
    table.write_text(ONE, "utf-8")
    assert _batch(table, out).exit_code == 0
    assert contents(out) == fresh


@promised("Ctrl-C, a full disk and a folder that vanishes end a run with 3 and a sentence")
def test_a_folder_that_vanishes_midway_is_a_stop(tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "out"
    real = unit_written.draw_unit

    def vanishing(whats: Any, env: Any, *rest: Any) -> Any:
        shutil.rmtree(out)
        return real(whats, env, *rest)

    monkeypatch.setattr(unit_written, "draw_unit", vanishing)
    assert _batch(table, out).exit_code == 3
    assert not out.exists()


def test_what_is_listed_lies_there_or_the_run_says_that_it_does_not(
    tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    real = WeekFolder.take_away

    def vanishing(self: WeekFolder, *keep: Any) -> Any:
        shutil.rmtree(out / "lids")
        return real(self, *keep)

    monkeypatch.setattr(WeekFolder, "take_away", vanishing)
    done = _batch(table, out)
    assert done.exit_code == 3
    assert "lids/A-1_card-box_maple.svg" in done.stderr.splitlines()[0]
    assert "proofs/A-1.png" in done.stderr
    assert "lids/A-1_card-box_maple.svg" not in done.stderr.split("\n", 1)[1]


def test_a_piece_left_out_is_listed_only_with_files_that_lie_there(tmp_path: Path, table: Path) -> None:
    table.write_text(TWO, "utf-8")
    done = run_week(table, tmp_path / "out", jobs=1, only=["A-2"])
    assert [p["svg"] for p in done.report["pieces"]] == [None, "lids/A-2_card-box_maple.svg"]


def test_a_folder_that_cannot_be_written_is_refused_before_anything_is_made(
    tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unit_written, "draw_unit", lambda *_: pytest.fail("something was made"))
    done = _batch(table, Path("/proc/none") if sys.platform == "linux" else table / "below")
    assert done.exit_code == 2
    with pytest.raises(FolderError):
        run_week(table, table / "below", jobs=1)


@promised("3 stopped midway: what is finished stands and is listed, and the same command makes the rest.")
def test_a_full_disk_ends_a_run_with_three_and_a_list(
    tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = unit_written.put_inside

    def full(path: Path, data: Any, part: str) -> None:
        if path.parent.name == "proofs":
            raise OSError(errno.ENOSPC, "No space left on device")
        real(path, data, part)

    monkeypatch.setattr(unit_written, "put_inside", full)
    done = _batch(table, tmp_path / "out")
    assert done.exit_code == 3
    assert done.stderr.splitlines()[:3] == [
        "Stopped: No space left on device.",
        "2 files are finished and stand:",
        "lids/A-1_card-box_maple.svg",
    ]


@promised(
    "0 nothing on hold, 1 something on hold, 2 the command, a table or a folder could not be used and nothing was written"
)
@pytest.mark.parametrize(
    ("rows", "status"), [(ONE, 0), (ONE.replace("card-box", "no-box"), 1), ("\n\n", 2), ("a,b\n1,2\n", 2)]
)
def test_exit_status_tells_what_became_of_the_week(tmp_path: Path, table: Path, rows: str, status: int) -> None:
    table.write_text(rows, "utf-8")
    assert _batch(table, tmp_path / "out").exit_code == status
    assert (tmp_path / "out").exists() == (status < 2)


# --- processes -------------------------------------------------------------------------------------------------

MANY = "order,name,lid,typeface,wood\n" + "".join(f"A-{i},Name {i},round-caddy,quicksand,maple\n" for i in range(60))

linux = pytest.mark.skipif(sys.platform != "linux", reason="looks at processes in /proc")


def _children(pid: int) -> list[int]:
    found = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(child) for child in found.read_text().split()] if found.exists() else []


def _lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    except OSError:
        return False


def _wait(until: Any, seconds: float) -> bool:
    for _ in range(int(seconds / 0.05)):
        if until():
            return True
        signal.sigtimedwait([], 0.05)
    return False


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such names")
def test_a_folder_whose_name_is_no_text_is_told_all_the_same(tmp_path: Path, table: Path) -> None:
    """The week was made, and then the program ended with a programmer's message."""
    asked = [sys.executable, "-m", "engrave", "batch", str(table), "--out", str(tmp_path / "we\udcffek"), "--jobs", "1"]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1)
    assert "Traceback" not in done.stderr
    assert "we\\udcffek/week.html" in done.stdout


@promised("no process of it lives on.")
@linux
@pytest.mark.slow
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_no_worker_outlives_its_run(tmp_path: Path, how: signal.Signals) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(MANY, "utf-8")
    asked = [sys.executable, "-m", "engrave", "batch", str(table), "--out", str(tmp_path / "out"), "--jobs", "2"]
    run = subprocess.Popen(asked, stderr=subprocess.PIPE, text=True)
    assert _wait(lambda: len(_children(run.pid)) == 2, 30), run.poll()
    workers = _children(run.pid)
    run.send_signal(how)
    _, said = run.communicate(timeout=30)
    assert _wait(lambda: not any(_lives(pid) for pid in workers), 5)
    if how != signal.SIGKILL:
        assert run.returncode == 3
        assert said.startswith("Stopped: interrupted.")
        assert "Traceback" not in said
        assert not list((tmp_path / "out").rglob(".part-*"))


BEGUN = """
import engrave.start as start
heed = start.signals.heed
def told(**how):
    heed(**how)
    if how:
        print("begun", flush=True)
start.signals.heed = told
start.main()
"""


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
@pytest.mark.parametrize("after", [0.0, 0.05, 0.15, 0.3])
def test_ctrl_c_from_the_first_line_on_ends_with_a_sentence(tmp_path: Path, table: Path, after: float) -> None:
    asked = [sys.executable, "-c", BEGUN, "batch", str(table), "--out", str(tmp_path / "out"), "--jobs", "1"]
    run = subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert run.stdout is not None
    assert run.stdout.readline() == "begun\n"
    _wait(lambda: False, after)
    run.send_signal(signal.SIGINT)
    _, said = run.communicate(timeout=30)
    assert run.returncode == 3
    assert said.startswith("Stopped: interrupted")
    assert "Traceback" not in said
