"""A shop's own folder with an ordinary mistake in it: what is told, and that no week is spoiled by it in silence."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from engrave.cli import main
from engrave.shop.places import own_folder

FONT = own_folder("fonts_open") / "roboto-slab" / "RobotoSlab-Regular.otf"


def asked(*words: str) -> Result:
    return CliRunner().invoke(main, list(words), catch_exceptions=False)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop whose own typeface is a folder with a font and no table."""
    (tmp_path / "typefaces" / "tarnslab").mkdir(parents=True)
    shutil.copy(FONT, tmp_path / "typefaces" / "tarnslab")
    return tmp_path


@pytest.mark.parametrize(
    ("table", "text", "key"),
    [
        ("defaults", 'typeface = "tarnslab"\n', "defaults.toml, typeface"),
        ("defaults", 'message_typeface = "tarnslab"\n', "defaults.toml, message_typeface"),
        ("lids", '[card-box]\ntypeface = "tarnslab"\n', "lids.toml, [card-box], typeface"),
    ],
)
def test_a_table_that_names_a_refused_typeface_is_a_mistake_told_once(
    shop: Path, table: str, text: str, key: str
) -> None:
    (shop / f"{table}.toml").write_text(text, encoding="utf-8")
    told = asked("try", "Wanda", "--shop", str(shop))
    assert told.exit_code == 2
    assert f"{shop}/{key}: 'tarnslab' cannot be used." in told.stderr
    assert 'one line is enough: file = "RobotoSlab-Regular.otf"' in told.stderr


def test_the_one_line_that_is_told_is_enough(shop: Path) -> None:
    (shop / "defaults.toml").write_text('typeface = "tarnslab"\n', encoding="utf-8")
    (shop / "typefaces/tarnslab/typeface.toml").write_text('file = "RobotoSlab-Regular.otf"\n', encoding="utf-8")
    assert asked("try", "Wanda", "--shop", str(shop)).exit_code == 0


def test_a_misspelt_typeface_in_a_table_is_a_mistake_with_the_likely_name(tmp_path: Path) -> None:
    (tmp_path / "defaults.toml").write_text('typeface = "volkorn"\n', encoding="utf-8")
    told = asked("shelf", "lids", "--shop", str(tmp_path))
    assert told.exit_code == 2
    assert "defaults.toml, typeface: there is no typeface 'volkorn'. Did you mean 'vollkorn'?" in told.stderr


def test_a_row_that_names_a_refused_typeface_hears_why(shop: Path) -> None:
    (shop / "typefaces" / "My Hand.ttf").write_bytes(b"no font")
    told = asked("try", "Wanda", "--typeface", "my-hand", "--shop", str(shop))
    assert told.exit_code == 1
    assert "The typeface 'my-hand' cannot be used. My Hand.ttf: not a font that can be read" in told.stdout
    shelf = asked("shelf", "typefaces", "--shop", str(shop))
    assert "My Hand.ttf: not a font" in shelf.stderr
    assert "tarnslab: a folder with a font needs a typeface.toml" in shelf.stderr


def test_a_fraction_without_its_unit_is_no_margin(tmp_path: Path) -> None:
    (tmp_path / "lids.toml").write_text('[card-box]\nmargin = "1/4"\n', encoding="utf-8")
    told = asked("shelf", "lids", "--shop", str(tmp_path))
    assert told.exit_code == 2
    assert "[card-box], margin: found '1/4'" in told.stderr
    assert "a fraction needs its unit" in told.stderr
