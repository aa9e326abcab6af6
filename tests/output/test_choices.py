"""The sheet of choices: every setting that can be laid, once, with its name, size and price; the rest is told."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner
from PIL import Image

from engrave.cli import main
from engrave.errors import AskedWrong
from engrave.making import Env, environment
from engrave.verbs import Choices, all_choices, try_words, write_choices
from tests.promises import promised


@cache
def env() -> Env:
    return environment()


@cache
def found(name: str, lid: str) -> Choices:
    return all_choices(try_words(name, "since 1987", lid=lid, typeface="withy", env=env()), env())


@promised("A setting that cannot be laid or cut on this lid is left out of the sheet and told on the terminal.")
def test_every_setting_is_shown_or_told() -> None:
    choices = found("Wanda & Tomás", "heart-box")
    shown, left = {c.setting.id for c in choices.shown}, {x.setting for x in choices.left_out}
    assert shown | left == set(env().shop.settings)
    assert not shown & left
    assert all(c.piece.is_made for c in choices.shown)
    told = {x.setting: x.says for x in choices.left_out}
    assert told["medallion"] == "It comes out as 'stack' does."
    assert "one to three initials" in told["monogram"]


def test_no_two_look_alike() -> None:
    drawn = [
        [(m.glyph.key, m.matrix) for m in c.piece.lettering.marks]
        for c in found("Wanda & Tomás", "heart-box").shown
        if c.piece.lettering
    ]
    assert all(a != b for k, a in enumerate(drawn) for b in drawn[:k])


def test_prices_are_told_against_the_setting_that_was_asked() -> None:
    by_id = {c.setting.id: c for c in found("Wanda & Tomás", "heart-box").shown}
    assert by_id["stack"].dearer == 0
    base = by_id["stack"].piece.quote
    assert base is not None
    for c in by_id.values():
        assert c.piece.quote is not None
        assert c.dearer == c.piece.quote.price - base.price


@promised("draws one sheet of the words in every setting, with size and price, for the buyer to choose from")
def test_sheet_names_each_and_is_the_same_bytes_again(tmp_path: Path) -> None:
    choices = found("Wanda & Tomás", "heart-box")
    one, two = (write_choices(choices, tmp_path / name, env()) for name in ("a.pdf", "b.pdf"))
    assert one.read_bytes() == two.read_bytes()
    text = "\n".join(p.get_textpage().get_text_range() for p in pdfium.PdfDocument(one.read_bytes()))
    for choice in choices.shown:
        assert choice.setting.id in text
    picture = write_choices(choices, tmp_path / "c.png", env()).read_bytes()
    assert Image.open(io.BytesIO(picture)).width > 1000


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
