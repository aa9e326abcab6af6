"""What a week comes to, added up again by others from what is written, and money as the standard of currencies has it."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path

import pytest
from priced import some_rates
from read_pdf import page_texts

from engrave.batch import run_week
from engrave.pricing import money
from engrave.pricing.quoting import minor_unit

TABLE = """order,name,lid,typeface,wood,quantity
A-1,Ida,card-box,withy,walnut,3
A-1,Tom,card-box,withy,walnut,1
A-2,Zoë,no-such-lid,withy,maple,9
A-3,Wren,round-caddy,hershey-sans,walnut,2
"""


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("totals")
    (folder / "orders.csv").write_text(TABLE, "utf-8")
    run_week(folder / "orders.csv", folder / "week", jobs=1)
    return folder / "week"


@pytest.mark.source("Python's csv and decimal modules (General Decimal Arithmetic): the columns of week.csv added up")
def test_the_totals_are_the_sums_of_the_table(week: Path) -> None:
    totals = json.loads((week / "week.json").read_text("utf-8"))["totals"]
    rows = list(csv.DictReader(io.StringIO((week / "week.csv").read_text("utf-8-sig"))))
    made = [row for row in rows if row["verdict"] != "hold"]
    assert len(made) == totals["ready"] + totals["look"] == 3
    assert sum(Decimal(row["price"]) for row in made) == Decimal(totals["price"])
    for column in ("machine_seconds", "hand_seconds"):
        added = sum(float(row[column]) for row in made)
        assert added == pytest.approx(totals[column], abs=0.05 * len(made) + 0.051)  # each is rounded to a tenth


def test_page_terminal_and_bench_list_count_the_same_lids(tmp_path: Path) -> None:
    """One week had '42 pieces from 40 orders', its page '42 lids from 40 orders', its bench list '41 lids'.

    A letter box lettered on both sides is one lid of two pieces; three alike are three lids of one piece.
    """
    table = "order,name,message,lid,typeface,wood,quantity\nB-1,Ida,with love,letter-box,withy,walnut,\n"
    (tmp_path / "orders.csv").write_text(f"{table}B-2,Tom,,card-box,withy,walnut,3\n", "utf-8")
    done = run_week(tmp_path / "orders.csv", tmp_path / "week", jobs=1)
    assert done.summary.startswith("4 lids from 2 orders: 4 ready, 0 to look at, 0 on hold.")
    assert "4 lids from 2 orders" in (tmp_path / "week" / "week.html").read_text("utf-8")
    assert "4 lids, machine" in page_texts((tmp_path / "week" / "bench.pdf").read_bytes())[0]
    assert json.loads((tmp_path / "week" / "week.json").read_text("utf-8"))["totals"]["pieces"] == 3


@pytest.mark.source("ISO 4217, minor units of currencies (by CLDR)")
@pytest.mark.parametrize(
    ("currency", "places"),
    [("EUR", 2), ("GBP", 2), ("USD", 2), ("JPY", 0), ("KRW", 0), ("KWD", 3), ("BHD", 3)],
)
def test_a_price_has_the_places_of_its_currency(currency: str, places: int) -> None:
    assert minor_unit(some_rates(currency=currency)) == Decimal(1).scaleb(-places)


@pytest.mark.source("Unicode CLDR: money as a country writes it (by Babel)")
@pytest.mark.parametrize(
    ("locale", "written"),
    [("en_IE", "€1,234.50"), ("de_DE", "1.234,50\xa0€"), ("fr_FR", "1\u202f234,50\xa0€"), ("nl_NL", "€\xa01.234,50")],
)
def test_money_is_written_as_the_country_writes_it(locale: str, written: str) -> None:
    assert money(Decimal("1234.5"), some_rates(currency="EUR", locale=locale)) == written
