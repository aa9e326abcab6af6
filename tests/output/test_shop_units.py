"""A shop that measures in inches is answered in inches, whatever a sentence is about."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from engrave.batch import run_week
from engrave.cli import main
from engrave.making import environment
from engrave.output.numbers import in_shop_units
from engrave.output.pictures.failure_picture import failure_told
from engrave.shop import Shop, load_shop
from engrave.verbs import try_words, why

LENGTH = re.compile(r"\d mm\b")


@pytest.fixture(scope="module")
def inches() -> Shop:
    shop = load_shop()
    return replace(shop, proof=replace(shop.proof, units="in"))


@pytest.mark.source("international yard and pound agreement of 1959: an inch is 25.4 mm")
@pytest.mark.parametrize(
    ("says", "told"),
    [
        ("Lines 0.50 mm wide are light for letters 17.5 mm high.", "Lines 0.02 in wide are light for letters 0.689 in high."),
        ("it needs 0.20 mm or it is charred", "it needs 0.0079 in or it is charred"),
        ("The lid is 254 x 127 mm; the router reaches 1,270 x 508 mm.", "The lid is 10 x 5 in; the router reaches 50 x 20 in."),
        ("(0.35 to 0.40 mm as the lid cups)", "(0.014 to 0.016 in as the lid cups)"),
        ("would be faster, 127 mm/s with 2.54 mm of run-out", "would be faster, 300 in/min with 0.1 in of run-out"),
        # what others wrote, what the tables call it, and what goes into a column
        ("‘cut 3 mm deep’ in the message reads like", "‘cut 3 mm deep’ in the message reads like"),
        ("'3 mm' and the shop's 25.4 mm; the lid's", "'3 mm' and the shop's 1 in; the lid's"),
        ("The end mill 1 mm cuts nothing narrower than 1.27 mm", "The end mill 1 mm cuts nothing narrower than 0.05 in"),
        ("Cut it 0.51 mm deep instead of 0.25 mm (depth 0.51 mm)", "Cut it 0.02 in deep instead of 0.0098 in (depth 0.51 mm)"),
        ("450 nm, 12 mmol, 3 mm2", "450 nm, 12 mmol, 3 mm2"),
    ],
)  # fmt: skip
def test_lengths_in_a_sentence(says: str, told: str, inches: Shop) -> None:
    assert in_shop_units(says, inches) == told
    assert in_shop_units(says, load_shop()) == says


@pytest.mark.parametrize(
    "asked",
    [
        ["Ada", "--lid", "needle-box", "--wood", "walnut", "--typeface", "withy", "--why"],
        ["Bartholomew Featherstonehaugh", "--lid", "needle-box", "--cutter", "mill-1", "--wood", "oak", "--why"],
        ["Wolfeschlegelsteinhausenbergerdorff", "--lid", "seed-box", "--why"],
    ],
)
def test_an_answer_holds_no_other_lengths_than_inches(asked: list[str], tmp_path: Path) -> None:
    (tmp_path / "proof.toml").write_text('units = "in"\n', "utf-8")
    answer = CliRunner().invoke(main, ["try", *asked, "--shop", str(tmp_path)])
    told = answer.output
    for one in load_shop().cutters.values():
        told = re.sub(re.escape(one.title), "", told, flags=re.IGNORECASE)
    assert " in high" in told
    assert not LENGTH.search(re.sub(r"\([a-z_]+ [\d.]+ mm\)", "", told)), told


def test_what_is_wrong_is_told_in_inches_on_the_page(tmp_path: Path) -> None:
    (tmp_path / "proof.toml").write_text('units = "in"\n', "utf-8")
    (tmp_path / "orders.csv").write_text(
        "order,name,lid,typeface,cutter,wood\nK-1,CLEMENTINE,card-box,vollkorn,mill-1,maple\n", "utf-8"
    )
    done = run_week(tmp_path / "orders.csv", tmp_path / "out", shop_folder=tmp_path, jobs=1)
    (said, *_) = [p.says for p in done.week.entries[0].piece.problems if p.level == "hold"]
    assert LENGTH.search(said)
    page = (tmp_path / "out" / "week.html").read_text("utf-8")
    assert said not in page
    assert in_shop_units(said, load_shop(tmp_path)) in page


def test_the_picture_of_what_is_lost_tells_inches(inches: Shop) -> None:
    asked = {"lid": "card-box", "typeface": "vollkorn", "cutter": "mill-1", "wood": "maple", "advice": False}
    tried = try_words("CLEMENTINE", env=replace(environment(), shop=inches), **asked)
    (reason,) = why(tried, environment())
    told, _ = failure_told(tried.entries[0].piece, inches, reason)
    assert told["trouble"]["lenses"][0]["needs"] == "the bit cuts 0.039 in"
    assert " in high" in told["limits"]["says"]
    words = json.dumps(told).replace("The end mill 1 mm", "")
    assert not LENGTH.search(words), words
