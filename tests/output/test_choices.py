"""The sheet of choices: every setting that can be laid, once, with its name, size and price; the rest is told."""

from __future__ import annotations

import io
import re
from dataclasses import fields, replace
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image
from read_pdf import in_one_line, page_texts

from engrave.cli import main
from engrave.errors import AskedWrong
from engrave.making import Env, environment
from engrave.output.numbers import length_told
from engrave.output.sheets import Choice
from engrave.shop import ProofWords
from engrave.verbs import Choices, all_choices, try_words, write_choices
from tests.promises import promised


@cache
def env() -> Env:
    return environment()


def text_of(sheet: Path) -> str:
    """Return a PDF's words in one line, as another reader finds them."""
    return in_one_line(sheet.read_bytes())


def is_told(choice: Choice, text: str) -> bool:
    """Tell whether name, title, size and price of one choice stand together, as they were made."""
    caps = {line.field: line.cap_mm for p in choice.pieces if p.lettering for line in p.lettering.lines}
    *others, last = dict.fromkeys(length_told(cap, "mm") for cap in caps.values())
    sizes = f"{', '.join(others)} and {last}" if others else last
    price = sum((p.quote.price for p in choice.pieces if p.quote), Decimal(0))
    told = re.escape(f"{choice.setting.id} {choice.setting.title} capitals {sizes} high")
    weight = r"(, lines [\d.]+ mm wide)?"
    return price > 0 and len(re.findall(f"{told}{weight}, lettering €{price}", text)) == 1


@cache
def found(name: str, lid: str) -> Choices:
    return all_choices(try_words(name, "since 1987", lid=lid, typeface="withy", advice=False, env=env()), env())


def test_a_price_stays_on_the_line_of_its_word(tmp_path: Path) -> None:
    """'lettering' once ended a line, and its price stood on the next."""
    tried = try_words("Wanda & Tomás", "for every letter you wrote me", lid="letter-box", advice=False, env=env())
    sheet = write_choices(all_choices(tried, env()), tmp_path / "choices.pdf", env())
    told = "\n".join(page_texts(sheet.read_bytes()))
    assert len(re.findall(r"lettering[ \u00a0]€", told)) > 8
    assert not re.search(r"lettering\s*[\r\n]", told)


@promised(
    "The sheet of choices leaves out a setting that cannot be laid or cut on this lid, and the command window says why."
)
def test_every_setting_is_shown_or_told() -> None:
    choices = found("Wanda & Tomás", "heart-box")
    shown, left = {c.setting.id for c in choices.shown}, {x.setting for x in choices.left_out}
    assert shown | left == set(env().shop.settings)
    assert not shown & left
    assert all(piece.is_made for c in choices.shown for piece in c.pieces)
    assert "pair" in shown
    told = {x.setting: x.says for x in choices.left_out}
    assert told["medallion"] == "It comes out as 'stack' does."
    assert "one to three initials" in told["monogram"]


def test_no_two_look_alike() -> None:
    drawn = [
        [(m.glyph.key, m.matrix) for piece in c.pieces if piece.lettering for m in piece.lettering.marks]
        for c in found("Wanda & Tomás", "heart-box").shown
    ]
    assert all(a != b for k, a in enumerate(drawn) for b in drawn[:k])


def test_prices_are_told_against_the_setting_that_was_asked() -> None:
    by_id = {c.setting.id: c for c in found("Wanda & Tomás", "heart-box").shown}
    assert by_id["stack"].dearer == 0
    (base,) = by_id["stack"].pieces
    assert base.quote is not None
    for c in by_id.values():
        (piece,) = c.pieces
        assert piece.quote is not None
        assert c.price == piece.quote.price
        assert c.dearer == piece.quote.price - base.quote.price


@cache
def of_two_areas() -> Choices:
    return all_choices(try_words("Wanda", "with love", "2026", lid="letter-box", advice=False, env=env()), env())


def test_a_lid_with_two_areas_is_one_choice_a_setting() -> None:
    """Most settings once stood twice on the letter box's sheet, and others were both on it and told as left out."""
    choices = of_two_areas()
    shown, left = [c.setting.id for c in choices.shown], [x.setting for x in choices.left_out]
    assert sorted([*shown, *left]) == sorted(env().shop.settings)
    assert "stack" in shown
    assert {"stack-quiet", "stack-left", "message-first"} < set(shown)  # their other area differs
    assert left.count("monogram") == 1
    assert "pair" in left  # it once offered two names parted for 'Wanda'
    for c in choices.shown:
        assert [p.task.area.name for p in c.pieces if p.task] == ["lid", "inside"]
        assert c.price == sum(p.quote.price for p in c.pieces if p.quote)


def test_a_sheet_draws_both_areas_under_one_name(tmp_path: Path) -> None:
    choices = of_two_areas()
    cells = text_of(write_choices(choices, tmp_path / "a.pdf", env()))
    for choice in choices.shown:
        assert is_told(choice, cells), choice.setting.id
    assert cells.count(env().shop.proof.inside) == len(choices.shown)


def test_an_order_below_the_least_costs_the_least_once() -> None:
    """The areas' quotes alone do not know what their order lacks of the shop's least."""
    rates = replace(env().shop.rates, minimum_order=Decimal(90))
    dear = replace(env(), shop=replace(env().shop, rates=rates))
    choices = all_choices(try_words("Wanda", "with love", lid="letter-box", advice=False, env=dear), dear)
    assert {c.price for c in choices.shown} == {Decimal(90)}


@promised("draws one sheet of the words in every setting, with size and price, for the buyer to choose from")
def test_sheet_names_each_and_is_the_same_bytes_again(tmp_path: Path) -> None:
    choices = found("Wanda & Tomás", "heart-box")
    one, two = (write_choices(choices, tmp_path / name, env()) for name in ("a.pdf", "b.pdf"))
    assert one.read_bytes() == two.read_bytes()
    text = text_of(one)
    for choice in choices.shown:
        assert is_told(choice, text), choice.setting.id
    picture = write_choices(choices, tmp_path / "c.png", env()).read_bytes()
    assert Image.open(io.BytesIO(picture)).width > 1000


def test_prices_stand_where_the_setting_that_was_asked_is_on_hold(tmp_path: Path) -> None:
    """Nothing of a price stood on such a sheet: there was nothing to be dearer than."""
    asked = try_words("Wanda & Tomás", lid="heart-box", typeface="withy", setting="monogram", advice=False, env=env())
    choices = all_choices(asked, env())
    assert choices.shown
    text = text_of(write_choices(choices, tmp_path / "a.pdf", env()))
    for choice in choices.shown:
        assert choice.dearer is None
        assert is_told(choice, text), choice.setting.id


def test_a_sheet_in_another_language_and_inches_has_no_word_of_ours(tmp_path: Path) -> None:
    """It read 'Versalien 7/16 in hoch, lines 1.2 mm wide'."""
    other = in_other_words(env())
    stack = Choices(found("Wanda & Tomás", "heart-box").shown[:1], ())
    text = text_of(write_choices(stack, tmp_path / "a.pdf", other))
    assert re.search(
        r"«capitals» [\d/ ]+ in und [\d,/ ]+ in, «lines_wide» 0,0\d+ in, «price» €[\d.]+, «same_price»", text
    )
    assert " mm" not in text


def in_other_words(of: Env) -> Env:
    """Return a shop that says the name of each sentence, with its gaps, instead of the sentence."""
    say = of.shop.proof
    words = {
        field.name: " ".join((f"«{field.name}»", *re.findall(r"{\w+}", getattr(say, field.name))))
        for field in fields(say)
        if field.name not in ("units", "language", "line")
    }
    told = ProofWords(**{**words, "units": "in", "language": "de", "line": "", "several": "{first} und {last}"})
    return replace(of, shop=replace(of.shop, proof=told))


def test_words_that_go_nowhere_are_no_choice(tmp_path: Path) -> None:
    choices = found("Word " * 300, "round-caddy")
    assert not choices.shown
    with pytest.raises(AskedWrong, match="nothing to choose from"):
        write_choices(choices, tmp_path / "a.pdf", env())


@pytest.mark.slow
def test_the_command_tells_what_is_left_out(tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    ran = CliRunner().invoke(main, ["try", "Wanda", "--lid", "heart-box", "--choices", str(file)])
    assert ran.exit_code == 0
    assert file.read_bytes().startswith(b"%PDF")
    assert "Not on the sheet: monogram." in ran.stderr
