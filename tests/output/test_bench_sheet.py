"""The bench list holds every lid of the order of work once, on few sheets, with just its own cautions."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from read_pdf import page_texts

from engrave.batch import Done, run_week
from engrave.output.numbers import bench_length

ROWS = """order,name,message,lid,typeface,cutter,wood,quantity,due,note
K-1,Wanda,,round-caddy,withy,v60,maple,2,2026-12-04,gift: flat parcel please
K-2,Łukasz,for the evenings,card-box,vollkorn,diode-450,cherry,,,
K-3,Emre,,seed-box,roboto-slab,diode-450,basswood,,,ALL CAPS PLEASE
K-4,Ivo,,round-caddy,withy,v60,rosewood,,,
"""


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> tuple[Done, list[str]]:
    folder = tmp_path_factory.mktemp("week")
    (folder / "orders.csv").write_text(ROWS, "utf-8")
    done = run_week(folder / "orders.csv", folder / "out", jobs=1)
    return done, pages_of(folder / "out" / "bench.pdf")


def pages_of(file: Path) -> list[str]:
    return page_texts(file.read_bytes())


def test_each_lid_of_the_order_of_work_has_one_row(week: tuple[Done, list[str]]) -> None:
    done, pages = week
    (text,) = pages
    listed, held = text.split("Not on this list")
    for step in done.plan.steps:
        piece = done.week.entries[step.entry].piece
        assert listed.count(piece.order.id) == 1
    assert "K-4" not in listed
    assert "K-4" in held
    assert "rosewood" in held


def test_a_row_tells_what_the_bench_needs(week: tuple[Done, list[str]]) -> None:
    done, (text,) = week
    for told in (
        "× 2",
        "gift: flat parcel please",
        "ALL CAPS PLEASE",
        "0.87 mm, 1 pass",
        "datum front left",
        "Wanda",
        "Łukasz",
    ):
        assert told in text, told
    codes = [p["proof_code"] for p in done.report["pieces"] if p["proof_code"]]
    assert len(codes) == 3
    assert all(code in text for code in codes)


@pytest.mark.source("international yard and pound agreement of 1959: an inch is 25.4 mm")
def test_a_shop_in_inches_reads_inches_at_the_bench_and_on_the_page(tmp_path: Path) -> None:
    """Only the proof was in the shop's units."""
    (tmp_path / "proof.toml").write_text('units = "in"\n', "utf-8")
    (tmp_path / "orders.csv").write_text(
        "order,name,lid,typeface,cutter,wood\nK-1,Ida,card-box,withy,v60,maple\n", "utf-8"
    )
    done = run_week(tmp_path / "orders.csv", tmp_path / "out", shop_folder=tmp_path, jobs=1)
    piece = done.week.entries[0].piece
    assert piece.task is not None
    assert piece.lettering is not None
    (text,) = pages_of(tmp_path / "out" / "bench.pdf")
    depth = f"{piece.task.tool.depth / 25.4:.3f}".rstrip("0")
    assert f"{depth} in, 1 pass" in text
    page = (tmp_path / "out" / "week.html").read_text("utf-8").split("<article ")[1].split("<dl>")[1].split("</dl>")[0]
    assert f"{depth} in deep" in page
    (capitals,) = re.findall(r"<dt>Capitals</dt><dd>(?:(\d+) )?(\d+)/(\d+) in</dd>", page)
    whole, part, of = (int(v or 0) for v in capitals)
    assert abs((whole + part / of) * 25.4 - piece.lettering.lines[0].cap_mm) <= 25.4 / 128
    own = piece.task.tool.cutter.title
    assert " mm" not in page.replace(own, "")


@pytest.mark.parametrize(
    ("mm", "units", "told"),
    [(0.35, "mm", "0.35 mm"), (0.35, "in", "0.014 in"), (0.1, "in", "0.0039 in"), (8.4, "in", "21/64 in"), (25.4, "in", "1 in"),
     (31.0, "in", "1 7/32 in"), (3.0, "in", "0.118 in"), (3.175, "in", "1/8 in"), (12.2, "mm", "12.2 mm")],
)  # fmt: skip
def test_lengths_at_the_bench(mm: float, units: str, told: str) -> None:
    assert bench_length(mm, units) == told


@pytest.mark.parametrize(
    ("words", "approval", "says"),
    [("Ida 20mm tall", "when_given", "needs a look"), ("Ida", "required", "waits for the buyer"), ("Ida", "when_given", "")],
)  # fmt: skip
def test_a_lid_that_may_not_be_cut_yet_says_so_on_paper(tmp_path: Path, words: str, approval: str, says: str) -> None:
    """Such lids stood in the list like those that are ready."""
    (tmp_path / "defaults.toml").write_text(f'approval = "{approval}"\n', "utf-8")
    (tmp_path / "orders.csv").write_text(f"order,name,lid,wood\nK-1,{words},card-box,maple\n", "utf-8")
    run_week(tmp_path / "orders.csv", tmp_path / "out", shop_folder=tmp_path, jobs=1)
    (text,) = pages_of(tmp_path / "out" / "bench.pdf")
    assert ("Not yet to be cut" in text, says in text) == (bool(says), True)


def test_cautions_stand_once_at_the_head_with_the_line_above_them(week: tuple[Done, list[str]]) -> None:
    _, (text,) = week
    assert text.count("local rules and licensed practice come before") == 1
    assert text.count("eyewear for 450 nm") == 1
    assert text.index("eyewear") < text.index("K-1")
    assert "1064" not in text  # no caution of a machine that stands still


def test_a_long_week_comes_in_parts_and_every_lid_stands_in_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("engrave.output.sheets.bench.LIDS_A_LIST", 2)
    table, out = tmp_path / "orders.csv", tmp_path / "out"
    rows = [f"M-{i},Ida {i},card-box,withy,maple\n" for i in range(1, 6)] + ["M-6,Tom,no-lid,withy,maple\n"]
    table.write_text("order,name,lid,typeface,wood\n" + "".join(rows), "utf-8")
    run_week(table, out, jobs=1)
    names = ["bench.pdf", "bench_2.pdf", "bench_3.pdf"]
    assert sorted(p.name for p in out.glob("bench*.pdf")) == names
    texts = ["".join(pages_of(out / name)) for name in names]
    assert [len(set(re.findall(r"\bM-[1-5]\b", text))) for text in texts] == [2, 2, 1]
    assert all(text.count("local rules and licensed practice come before") == 1 for text in texts)
    assert ["M-6" in text for text in texts] == [False, False, True]
    page = (out / "week.html").read_text("utf-8")
    assert all(f'href="{name}"' in page for name in names)
    table.write_text("order,name,lid,typeface,wood\n" + "".join(rows[:2]), "utf-8")
    run_week(table, out, jobs=1)
    assert sorted(p.name for p in out.glob("bench*.pdf")) == names[:1]


@pytest.mark.slow
def test_forty_lids_take_three_sheets_at_most(tmp_path: Path) -> None:
    demo = Path(__file__).resolve().parents[2] / "orders_demo" / "ferry_week.csv"
    done = run_week(demo, tmp_path / "out", jobs=1)
    pages = pages_of(tmp_path / "out" / "bench.pdf")
    assert len(pages) <= 3
    named = re.findall(r"\bF-1\d\d\b", "".join(pages))
    every = [e.piece.order.id for e in done.week.entries]
    assert set(named) == set(every)  # each order, on the list or below it with its reason
    planned = Counter(every[step.entry] for step in done.plan.steps)
    assert all(Counter(named)[order] >= times for order, times in planned.items())
