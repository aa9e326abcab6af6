"""The week's page: nothing from outside, one kind of quotation marks, notes that many lids share told once."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

import pytest

from engrave.batch import run_week
from engrave.output.page.week_html import quoted

ROWS = "order,name,message,lid,typeface,cutter,wood,note\n" + "".join(
    f"K-{n},Wanda {n},for the evenings,round-caddy,vollkorn,diode-450,cherry,{'pack flat' if n == 2 else ''}\n"
    for n in range(1, 5)
)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("week")
    (folder / "orders.csv").write_text(ROWS, "utf-8")
    run_week(folder / "orders.csv", folder / "out", jobs=1)
    return (folder / "out" / "week.html").read_text("utf-8")


def test_only_its_own_script_may_run_and_nothing_is_fetched(page: str) -> None:
    script = page.split("<script>")[1].split("</script>")[0]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in page
    assert "default-src 'none'" in page
    assert not re.search(r'(?:src|href)="(?:https?:)?//', page)
    assert page.count("<script") == 1


def test_its_letters_come_with_it(page: str) -> None:
    assert page.count("@font-face") == 3
    fonts = re.findall(r"base64,([A-Za-z0-9+/=]+)\)", page)
    assert all(base64.b64decode(font).startswith(b"wOF2") for font in fonts)


def test_what_many_lids_share_is_told_once(page: str) -> None:
    assert page.count("with rows further apart") == 1
    assert "4 lids would be cut sooner" in page
    assert page.count("Rows 0.14 mm apart") == 1


def test_the_buyers_note_stands_on_its_ticket_even_if_it_alarms_nobody(page: str) -> None:
    ticket = page.split("<article ")[2].split("</article>")[0]
    assert "pack flat" in ticket


def test_lines_are_drawn_as_wide_as_they_are_cut(page: str, tmp_path: Path) -> None:
    (tmp_path / "orders.csv").write_text("order,name,typeface,cutter,wood\nK-1,Ida,withy,diode-450,walnut\n", "utf-8")
    done = run_week(tmp_path / "orders.csv", tmp_path / "out", jobs=1)
    task = done.week.entries[0].piece.task
    assert task is not None
    widths = re.findall(
        r'stroke-linejoin="round" stroke="[^"]+" stroke-width="([\d.]+)"',
        (tmp_path / "out" / "week.html").read_text("utf-8"),
    )
    assert {float(w) for w in widths} == {round(task.tool.groove, 3)}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("the y of 'dry' is thin", "the y of “dry” is thin"),
        ("‘same as last time’ points", "“same as last time” points"),
        ("the lid's face and O'Neill's box", "the lid's face and O'Neill's box"),
        ("'Kaho‘okele' stays", "'Kaho‘okele' stays"),
        ("'dad's shed' is kept", "“dad's shed” is kept"),
    ],
)
def test_one_kind_of_quotation_marks(text: str, told: str) -> None:
    assert quoted(text) == told
