"""What is made ready of our own data: the same cold, warm and without a cache, and made anew whenever it must be."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cutting.test_kept_measures import imported_by
from hypothesis import given
from hypothesis import strategies as st

from engrave.files import Unreadable, whole_file
from engrave.geometry.arrays import distinct
from engrave.intake.wording import lexicon, rules
from engrave.kept_data import made_ready
from engrave.limits import READY_BYTES
from engrave.setting.text import joint_data
from engrave.shop import drawn_before, own_tables, toml_text
from engrave.shop.outline_svg import read_outline, read_path_data
from engrave.shop.places import own_folder
from engrave.shop.toml_text import parsed, read_toml

MADE = {"née": [0.1, 1 / 3, 7, "\ue100"], "empty": {}}


def never() -> Any:
    raise AssertionError("made again")


@pytest.fixture
def source(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ENGRAVE_CACHE", str(tmp_path / "kept"))
    file = tmp_path / "words.toml"
    file.write_text("a = 1\n", "utf-8")
    return file


def kept_file(source: Path) -> Path:
    return source.parent / "kept" / "ready" / "words.json"


def test_what_was_made_once_is_read_back_as_it_was(source: Path) -> None:
    assert made_ready("words", [source], lambda: MADE) == MADE
    assert made_ready("words", [source], never) == MADE


def test_another_source_makes_it_anew(source: Path) -> None:
    made_ready("words", [source], lambda: MADE)
    source.write_text("a = 2\n", "utf-8")
    assert made_ready("words", [source], lambda: [2]) == [2]
    other = source.with_name("more.toml")
    other.write_text("", "utf-8")
    assert made_ready("words", [source, other], lambda: [3]) == [3]


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: "",
        lambda text: text[: len(text) // 2],
        lambda text: text.replace("7", "8"),
        lambda text: text.split("\n", 1)[1],
        lambda text: "\x00" * 40,
    ],
)
def test_a_damaged_file_is_made_anew_and_mended(source: Path, damage: Callable[[str], str]) -> None:
    made_ready("words", [source], lambda: MADE)
    file = kept_file(source)
    whole = file.read_bytes()
    file.write_text(damage(whole.decode()), "utf-8")
    assert made_ready("words", [source], lambda: MADE) == MADE
    assert file.read_bytes() == whole


def test_where_nothing_may_be_kept_it_is_made_each_time(source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ENGRAVE_CACHE", "off")
    assert made_ready("words", [source], lambda: MADE) == MADE
    with pytest.raises(AssertionError, match="made again"):
        made_ready("words", [source], never)
    assert not (source.parent / "kept").exists()


def test_a_folder_that_cannot_be_written_is_no_failure(source: Path) -> None:
    (source.parent / "kept").write_text("a file stands in the way", "utf-8")
    assert made_ready("words", [source], lambda: MADE) == MADE


def test_a_source_that_is_not_at_hand_is_no_failure_and_nothing_is_kept(source: Path) -> None:
    assert made_ready("words", [source.with_name("gone.toml")], lambda: MADE) == MADE
    assert not kept_file(source).exists()


def test_a_kept_file_beyond_the_limit_is_not_read(source: Path) -> None:
    with pytest.raises(Unreadable, match="at most"):
        whole_file(_large(source.with_name("large.json")), READY_BYTES)


def _large(file: Path) -> Path:
    with file.open("wb") as out:
        out.truncate(READY_BYTES.most + 1)
    return file


def test_words_rules_and_joints_are_the_same_made_now_and_read_back(source: Path) -> None:
    """Everything that is made ready goes through JSON unchanged, so a warm run judges words as a cold one does."""
    for made in (lexicon._data(), rules._data(), joint_data._parsed()):
        assert json.loads(json.dumps(made, ensure_ascii=False)) == made
    fresh = lexicon.Lexicon(lexicon._data())
    assert (fresh.signs, fresh.known, fresh.long) == (
        lexicon.lexicon().signs, lexicon.lexicon().known, lexicon.lexicon().long
    )  # fmt: skip


def test_every_table_of_ours_is_read_back_as_it_is_parsed(source: Path) -> None:
    own_tables._before.cache_clear()
    try:
        for _ in range(2):  # made, then read back
            tables = [*own_folder("shared").glob("*.toml"), *own_folder("fonts_open").glob("*/*.toml")]
            assert len(tables) > 30
            for table in tables:
                assert own_tables.parsed_before(table, table.read_bytes(), parsed) is not None
                assert repr(read_toml(table)) == repr(parsed(table.read_text("utf-8")))
            own_tables._before.cache_clear()
    finally:
        own_tables._before.cache_clear()


def test_a_table_read_twice_may_be_changed_without_changing_the_next(source: Path) -> None:
    table = own_folder("shared") / "woods.toml"
    once = read_toml(table)
    once.clear()
    assert read_toml(table) == parsed(table.read_text("utf-8"))


def test_a_changed_table_of_ours_is_parsed_as_it_stands(source: Path) -> None:
    table = source.with_name("woods.toml")
    text = (own_folder("shared") / "woods.toml").read_text("utf-8")
    table.write_text(text + "[heartwood]\n", "utf-8")
    assert read_toml(table) == parsed(text) | {"heartwood": {}}


@given(st.lists(st.floats(allow_nan=False) | st.sampled_from([0.0, -0.0, 1.0, 1.5]), max_size=12))
def test_distinct_values_are_those_of_the_reference_library(values: list[float]) -> None:
    """Reference: numpy.unique of the numpy library."""
    assert repr(distinct(np.array(values))) == repr(np.unique(np.array(values)))


def test_every_module_that_reads_a_drawing_is_named(source: Path) -> None:
    ours = {
        name for name in imported_by("engrave.shop.outline_svg") if not name.endswith((".files", ".limits", ".units"))
    }
    ours |= {"engrave.shop.drawn_before", "engrave.stored"}  # they make its plain form
    assert ours <= set(drawn_before.READ_BY)
    assert all(path.is_file() for path in drawn_before._modules())


def test_our_drawing_comes_back_from_the_cache_as_it_was_read(source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    heart = own_folder("shared") / "heart.svg"
    read = read_outline(heart, 110.0, None, "")
    assert drawn_before.outline_of(heart, 110.0, None, "") == read
    monkeypatch.setattr("engrave.shop.outline_svg.read_outline", lambda *a: never())
    assert repr(drawn_before.outline_of(heart, 110.0, None, "")) == repr(read)
    with pytest.raises(AssertionError, match="made again"):
        drawn_before.outline_of(heart, 90.0, None, "")


@pytest.mark.parametrize("kept", [{"what": 1}, [], None, {"outline": [7], "width": "x"}])
def test_a_kept_drawing_that_is_none_is_as_good_as_none(
    source: Path, kept: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    heart = own_folder("shared") / "heart.svg"
    monkeypatch.setattr(drawn_before, "made_ready", lambda *_: kept)
    assert drawn_before.outline_of(heart, 110.0, None, "") == read_outline(heart, 110.0, None, "")


def test_tables_kept_by_another_program_are_parsed_anew(source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Path] = []

    def noted(_: str, sources: list[Path], make: Callable[[], Any], under: str) -> Any:
        asked.extend(sources)
        return make()

    monkeypatch.setattr(own_tables, "made_ready", noted)
    own_tables._before.cache_clear()
    try:
        read_toml(own_folder("shared") / "woods.toml")
    finally:
        own_tables._before.cache_clear()
    named = {Path(own_tables.__file__), Path(toml_text.__file__)}
    assert named <= set(asked)
    assert all(path.is_file() for path in named)


def test_a_drawing_of_the_shop_is_read_as_it_stands(source: Path) -> None:
    own = source.with_name("heart.svg")
    own.write_bytes((own_folder("shared") / "heart.svg").read_bytes())
    assert drawn_before.outline_of(own, 110.0, None, "") == read_outline(own, 110.0, None, "")
    assert not (source.parent / "kept").exists()


def test_path_data_of_our_own_lid_comes_back_as_it_was_read(source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data, ours = "M 0 0 H 80 A 40 40 0 0 1 80 80 H 0 Z", own_folder("shared") / "lids.toml"
    read = read_path_data(data)
    assert drawn_before.outline_of_path(data, source, "a.outline") == read
    assert not (source.parent / "kept").exists()
    assert drawn_before.outline_of_path(data, ours, "a.outline") == read
    monkeypatch.setattr("engrave.shop.outline_svg.read_path_data", lambda *a: never())
    assert repr(drawn_before.outline_of_path(data, ours, "a.outline")) == repr(read)
    with pytest.raises(AssertionError, match="made again"):
        drawn_before.outline_of_path(data.replace("40", "41"), ours, "a.outline")
