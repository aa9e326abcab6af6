"""Forms of letters that a row or a typeface's table asks for are named where a person reads of the lid."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from shutil import copytree

from read_pdf import in_one_line

from engrave.making import Env, Piece, environment
from engrave.output.page import Files
from engrave.output.page.week_html import card
from engrave.output.sheets import order_proof
from engrave.output.terminal.answers import tried as answer
from engrave.verbs import try_words
from engrave.week import Entry


@cache
def env() -> Env:
    return environment()


def tried(features: str, typeface: str = "vollkorn", within: Env | None = None) -> Entry:
    return try_words(
        "14 June 2011", env=within or env(), lid="card-box", typeface=typeface, letter_features=features
    ).entries[0]


def proof_text(piece: Piece, within: Env | None = None) -> str:
    of = within or env()
    pdf = order_proof([piece], "4F8G6M", of.shop, of.shelf).pdf
    return in_one_line(pdf)


def test_what_a_row_asks_for_stands_on_proof_page_and_terminal_in_plain_words() -> None:
    entry = tried("old-style figures, ss01")
    shown = proof_text(entry.piece)
    assert "old-style figures" in shown and "letter forms: ss01" in shown
    assert "old-style figures" in answer([entry], env().shop)
    facts = {f.label: f.value for f in card("c1", entry, Files(), env().shop, 1).facts}
    assert facts["Letter forms"].startswith("old-style figures")


def test_what_is_not_asked_for_or_not_there_is_not_named() -> None:
    assert "figures" not in proof_text(tried("").piece).replace("accent and figure", "")
    lacking = tried("small capitals", "quicksand")
    assert any(p.code == "feature-missing" for p in lacking.piece.problems)
    assert "small capitals" not in proof_text(lacking.piece)
    assert "Letter forms" not in {f.label for f in card("c1", lacking, Files(), env().shop, 1).facts}


def test_what_a_typefaces_table_asks_for_stands_on_the_proof(tmp_path: Path) -> None:
    own = tmp_path / "typefaces" / "book"
    copytree(env().shelf.facts("vollkorn").files[0].parent, own)
    table = own / "typeface.toml"
    table.write_text(table.read_text("utf-8").replace('id = "vollkorn"', 'id = "book"\nfeatures = ["onum"]'), "utf-8")
    within = environment(tmp_path)
    assert "old-style figures" in proof_text(tried("", "book", within).piece, within)


def test_a_shop_says_it_in_its_own_words() -> None:
    shop = replace(env().shop, proof=replace(env().shop.proof, old_style_figures="Mediävalziffern"))
    assert "Mediävalziffern" in proof_text(tried("onum").piece, replace(env(), shop=shop))
