"""What is made ready of our own data: the same cold, warm and without a cache, and made anew whenever it must be."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cutting.test_kept_measures import imported_by
from hypothesis import given
from hypothesis import strategies as st

from engrave.files import Unreadable, whole_file
from engrave.geometry.arrays import distinct, distinct_and_places
from engrave.intake.wording import lexicon, rules
from engrave.kept_data import made_ready
from engrave.limits import READY_BYTES
from engrave.setting.text import joint_data
from engrave.shop import Shop, ShopError, drawn_before, load_shop, own_tables, read_before, toml_text
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


@given(st.lists(st.integers(-5, 5), max_size=12))
def test_places_among_distinct_values_are_those_of_the_reference_library(values: list[int]) -> None:
    """Reference: numpy.unique of the numpy library."""
    ours, reference = distinct_and_places(np.array(values, int)), np.unique(np.array(values, int), return_inverse=True)
    assert [part.tolist() for part in ours] == [part.tolist() for part in reference]


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


def _same_shop(one: Shop, other: Shop) -> bool:
    return repr(one) == repr(other) and one.parts() == other.parts()


def test_our_lids_and_recipes_come_back_from_the_cache_as_they_were_read(
    source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = load_shop()
    monkeypatch.setattr("engrave.shop.load.read_lid", lambda *_: never())
    monkeypatch.setattr("engrave.shop.load.read_recipes", lambda *_: never())
    assert _same_shop(load_shop(), read)
    kept = source.parent / "kept" / "ready" / "shop.json"
    kept.write_bytes(kept.read_bytes().replace(b"card-box", b"card-bax", 1))
    with pytest.raises(AssertionError, match="made again"):
        load_shop()
    monkeypatch.undo()
    monkeypatch.setenv("ENGRAVE_CACHE", str(source.parent / "kept"))
    assert _same_shop(load_shop(), read)
    assert b"card-bax" not in kept.read_bytes()


@pytest.mark.parametrize(
    "kept",
    [None, [], {"lids": [], "keys": [], "recipes": []}, {"keys": read_before._keys(), "recipes": [], "lids": [{}]}],
)
def test_a_kept_shop_that_is_none_is_as_good_as_none(source: Path, kept: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    read = load_shop()
    monkeypatch.setattr(read_before, "made_ready", lambda *_: kept)
    assert _same_shop(load_shop(), read)


def test_tables_with_a_mistake_are_told_each_time(source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of our own tables, as whoever changes them finds; the mistake is told again, and mended tables are read."""
    tables = source.parent / "shared"
    shutil.copytree(own_folder("shared"), tables)
    for module in ("load", "own_tables", "drawn_before", "read_before"):
        monkeypatch.setattr(f"engrave.shop.{module}.own_folder", lambda name: source.parent / name)
    lids = tables / "lids.toml"
    sound = lids.read_text("utf-8")
    lids.write_text(sound.replace("\nkeep_out", "\nkeep_owt", 1), "utf-8")
    for _ in range(2):
        with pytest.raises(ShopError, match="keep_owt"):
            load_shop()
    lids.write_text(sound, "utf-8")
    assert _same_shop(load_shop(), load_shop())


def test_the_same_may_be_kept_by_several_at_once(source: Path) -> None:
    """Each writes the whole file and puts it in place by renaming: whoever reads finds one of them, or none."""
    code = "from engrave.shop import load_shop; print(len(load_shop().recipes))"
    with ThreadPoolExecutor(4) as pool:
        told = list(pool.map(lambda _: subprocess.run([sys.executable, "-c", code], capture_output=True, text=True,
                                                      check=True, timeout=120).stdout, range(4)))  # fmt: skip
    assert len(set(told)) == 1
    assert sorted(file.suffix for file in (source.parent / "kept" / "ready").iterdir() if file.stem == "shop") == [
        ".json"
    ]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="whoever may do anything may write anywhere")
def test_a_folder_that_may_only_be_read_serves_what_it_has(source: Path) -> None:
    read, folder = load_shop(), source.parent / "kept"
    for place in (folder / "ready", folder):
        place.chmod(0o500)
    try:
        assert _same_shop(load_shop(), read)
        assert made_ready("words", [source], lambda: MADE) == MADE
    finally:
        for place in (folder, folder / "ready"):
            place.chmod(0o700)
