"""The price list: every lid once, with the prices that `quote` gives for the same words."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from read_pdf import in_one_line

from engrave.cli import main
from engrave.listed_prices import SAMPLE_WORDS, ListedLid, price_list
from engrave.making import Env, environment
from engrave.output.price_lists import ASK, HEAD, list_csv, list_html, list_rows
from engrave.output.sheets.price_sheet import prices_as_pdf
from engrave.verbs import quote_words, try_words


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


@pytest.fixture(scope="module")
def listed(env: Env) -> tuple[ListedLid, ...]:
    return price_list(env)


def test_every_lid_stands_on_it_once_with_what_a_quote_says(env: Env, listed: tuple[ListedLid, ...]) -> None:
    assert [one.lid.id for one in listed] == list(env.shop.lids)
    for lid in ("card-box", "letter-box"):
        (one,) = [o for o in listed if o.lid.id == lid]
        told = quote_words(try_words(SAMPLE_WORDS.name, SAMPLE_WORDS.message, lid=lid, env=env), env)
        total = sum(q.price for q in told.quotes)
        assert total == (one.inside if lid == "letter-box" else one.name_and_message)


def test_what_does_not_just_fit_is_on_asking_and_what_is_not_there_is_blank(
    env: Env, listed: tuple[ListedLid, ...]
) -> None:
    rows = {row[0]: row for row in list_rows(listed, env.shop)}
    assert rows[env.shop.lids["letter-box"].title][2] == ""  # its lid carries no message
    assert rows[env.shop.lids["round-caddy"].title][3] == ""  # it has no inside
    held = [one for one in listed if one.name_and_message is None and one.inside is None]
    assert all(rows[one.lid.title][2] == ASK for one in held)


def test_as_csv_and_as_a_page(env: Env, listed: tuple[ListedLid, ...]) -> None:
    rows = list(csv.DictReader(io.StringIO(list_csv(listed, env.shop))))
    assert [row["lid"] for row in rows] == list(env.shop.lids)
    assert all(row["currency"] == "EUR" for row in rows)
    page = list_html(listed, env.shop)
    assert all(head in page for head in HEAD)
    assert "Postage is not in it" in page


def test_on_paper_with_every_lid_and_amount(env: Env, listed: tuple[ListedLid, ...]) -> None:
    words = in_one_line(prices_as_pdf(listed, env.shop))
    assert all(one.lid.title in words for one in listed)
    assert all(cell in words for row in list_rows(listed, env.shop) for cell in row)
    assert "Postage is not in it" in words


@pytest.mark.slow
def test_from_the_command_line(tmp_path: Path) -> None:
    file = tmp_path / "prices.csv"
    done = CliRunner().invoke(main, ["quote", "--list", "--json", "--write", str(file)], catch_exceptions=False)
    assert done.exit_code == 0
    assert file.exists()
    assert len(json.loads(done.stdout)) == len(environment().shop.lids)
    wrong = CliRunner().invoke(main, ["quote", "--list", "--write", str(tmp_path / "prices.txt")])
    assert wrong.exit_code == 2
    assert CliRunner().invoke(main, ["quote", "--list", "--words", "Ida"]).exit_code == 2
