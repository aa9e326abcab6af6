"""Every file that a shop's folder is read from is known, so that none is written over and none changes unnoticed."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.shop.inputs import input_files

DRAWN = [
    '[a]\noutline = { svg = "in/heart.svg", width = 90 }\n',
    "[a.outline]\n'svg' = 'in/heart.svg'\n",
    '[a]\noutline = { "svg" = "in\\u002fheart.svg" }\n',
    '[a]\noutline.svg = "in/heart.svg"\n',
    '[a]\nkeep_out = [{ svg = "in/heart.svg" }]\n',
    '[a]\noutline = { svg = "in/heart.svg"\n',  # broken, and still no licence to write over it
]


@pytest.mark.parametrize("table", DRAWN)
def test_a_drawing_is_an_input_however_the_table_names_it(tmp_path: Path, table: str) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "heart.svg").write_text("<svg/>", "utf-8")
    (tmp_path / "lids.toml").write_text(table, "utf-8")
    assert set(input_files(tmp_path)) == {tmp_path / "lids.toml", tmp_path / "in" / "heart.svg"}


def test_fonts_are_inputs_in_their_folder_and_beside_the_tables(tmp_path: Path) -> None:
    (tmp_path / "bare.ttf").write_bytes(b"x")
    (tmp_path / "mine").mkdir()
    for name in ("typeface.toml", "Mine.otf"):
        (tmp_path / "mine" / name).write_bytes(b"x")
    (tmp_path / "week").mkdir()
    (tmp_path / "week" / "week.json").write_bytes(b"x")
    assert {p.name for p in input_files(tmp_path)} == {"bare.ttf", "typeface.toml", "Mine.otf"}
    (tmp_path / "typefaces" / "deep").mkdir(parents=True)
    (tmp_path / "typefaces" / "deep" / "a.woff").write_bytes(b"x")
    assert {p.name for p in input_files(tmp_path)} == {"a.woff"}


def test_no_folder_has_no_inputs(tmp_path: Path) -> None:
    assert input_files(None) == input_files(tmp_path / "none") == ()
