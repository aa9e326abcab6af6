"""Tables that are damaged or made to hang: each is told with its file and reason, in bounded work."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from engrave.limits import LIKE_CHAIN, TABLE_BYTES, TABLE_DEPTH, TABLE_DIGITS, TABLE_ENTRIES, TABLE_PARTS
from engrave.shop import ShopError, load_shop
from engrave.shop.toml_text import TableUnread, parsed


def told(folder: Path, **tables: str | bytes) -> str:
    for name, text in tables.items():
        (folder / f"{name}.toml").write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ShopError) as error:
        load_shop(folder)
    return str(error.value)


LID = '{ title = "A", outline = { circle = 90 }, thickness = 9, cost = 1 }'


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("[a]\nmargin = " + "9" * 5000, f"digits of a figure in a table (line 2): 5,000 digits; at most {TABLE_DIGITS.most}"),
        ("[a]\nmargin = 0x" + "f" * 5000, "digits of a figure"),
        ("[a]\nx = " + "[" * 20_000 + "]" * 20_000, f"(line 2): {TABLE_DEPTH.most + 1} levels; at most {TABLE_DEPTH.most}"),
        ("[a]\nx = " + "{ b = " * 20_000, "lists and tables in one another"),
        ("[" + "a." * 20_000 + "a]", f"{TABLE_PARTS.most + 1} parts; at most {TABLE_PARTS.most}"),
        ("[a]\n" + "b." * 300_000 + "b = 1", "parts of a key with dots (line 2)"),
        ("[a]\nx = [" + "{ b.b.b.b.b.b = [" * 9 + "1", "cannot be read"),
        ("#" * (TABLE_BYTES.most + 1), "bytes; at most 1,000,000 are read"),
        ("\0", "cannot be read"),
        ('[a]\nx = """' + '"' * 50_000, "cannot be read"),
    ],
)  # fmt: skip
def test_depth_digits_parts_and_size_have_limits_that_are_told(tmp_path: Path, text: str, why: str) -> None:
    found = told(tmp_path, lids=text)
    assert "lids.toml" in found
    assert why in found


def test_what_is_in_texts_and_comments_does_not_count() -> None:
    assert parsed(f'# {"[" * 99}\nx = "{"[" * 99}"\ny = \'{"9" * 99}\'\nz = """{"{ . " * 99}"""') == {
        "x": "[" * 99, "y": "9" * 99, "z": "{ . " * 99}  # fmt: skip
    assert parsed("x = [1.5, 2.5, " + "3.5, " * 99 + "]")["x"][:2] == [1.5, 2.5]
    assert parsed('x = """a""""\ny = 1') == {"x": 'a"', "y": 1}


def test_depth_made_of_dots_and_brackets_together_is_counted_too() -> None:
    text = "x = " + "{ a.a.a.a.a = " * 10 + "1" + "}" * 10
    with pytest.raises(TableUnread, match="lists and tables in one another"):
        parsed(text)


@pytest.mark.parametrize("turned", [False, True])
def test_a_chain_of_likes_has_a_limit_whatever_its_order(tmp_path: Path, turned: bool) -> None:
    lines = [f"[lid-{n}]\nlike = 'lid-{n - 1}'\n" for n in range(1, 3001)]
    found = told(tmp_path, lids=f"lid-0 = {LID}\n" + "".join(reversed(lines) if turned else lines))
    assert "3,0" in found
    lids = f"lid-0 = {LID}\n" + "".join(lines[: LIKE_CHAIN.most + 1])
    found = told(tmp_path, lids=lids)
    assert f"[lid-{LIKE_CHAIN.most + 1}], like: " in found
    assert f"a chain of more than {LIKE_CHAIN.most} entries" in found
    (tmp_path / "lids.toml").write_text(f"lid-0 = {LID}\n" + "".join(lines[: LIKE_CHAIN.most]))
    assert load_shop(tmp_path).lids[f"lid-{LIKE_CHAIN.most}"].areas[0].width == pytest.approx(90)


def test_likes_in_a_circle_are_told_with_the_way_round(tmp_path: Path) -> None:
    found = told(tmp_path, lids="[a]\nlike = 'b'\n[b]\nlike = 'c'\n[c]\nlike = 'a'\n[d]\nlike = 'a'\n")
    assert "leads back to itself: a -> b -> c -> a" in found


def test_more_entries_than_are_read_are_told(tmp_path: Path) -> None:
    found = told(tmp_path, lids="".join(f"l{n} = {LID}\n" for n in range(TABLE_ENTRIES.most + 1)))
    assert "entries; at most 2,000 are read" in found
    assert found.count("\n") == 1


def test_thousands_of_mistakes_are_counted_and_a_few_told(tmp_path: Path) -> None:
    found = told(tmp_path, defaults="".join(f"shup{n} = 1\n" for n in range(20_000)))
    assert "19,980 more keys" in found
    assert len(found.splitlines()) < 40


def test_many_lids_are_read_in_a_moment(tmp_path: Path) -> None:
    (tmp_path / "lids.toml").write_text("".join(f"l{n} = {LID}\n" for n in range(500)))
    assert len(load_shop(tmp_path).lids) > 500


@pytest.mark.parametrize(
    "name", ["idna", "undefined", "utf-7", "unicode_escape", "rot13", "punycode", "hex", "a\\u0000b"]
)
def test_what_is_no_code_page_is_told(tmp_path: Path, name: str) -> None:
    assert "Allowed: the name of a code page" in told(tmp_path, intake=f'code_page = "{name}"')


@pytest.mark.parametrize("name", ["cp1252", "latin-1", "mac-roman", "cp1250", "shift_jis", "gb18030", "cp437"])
def test_code_pages_of_exports_are_taken(tmp_path: Path, name: str) -> None:
    (tmp_path / "intake.toml").write_text(f'code_page = "{name}"')
    assert load_shop(tmp_path).intake.code_page


@pytest.mark.parametrize("amount", ["1e999999999", "'1e-999999999'", "'" + "9" * 31 + "'", "inf", "nan", "1e30"])
def test_amounts_that_would_fill_the_memory_are_told(tmp_path: Path, amount: str) -> None:
    assert "hands_hour: found" in told(tmp_path, rates=f"hands_hour = {amount}")


def test_a_table_that_is_a_link_in_a_circle_a_folder_or_a_pipe_is_told(tmp_path: Path) -> None:
    (tmp_path / "lids.toml").symlink_to(tmp_path / "lids.toml")
    (tmp_path / "woods.toml").mkdir()
    (tmp_path / "cutters.toml").symlink_to(tmp_path / "nowhere.toml")
    os.mkfifo(tmp_path / "rates.toml")
    found = told(tmp_path)
    for name, why in (
        ("lids", "cannot be opened: "), ("woods", "is a folder"), ("cutters", "cannot be opened: No such file"),
        ("rates", "is a device or a pipe"),
    ):  # fmt: skip
        assert f"{tmp_path / name}.toml: {why}" in found


@pytest.mark.parametrize(
    ("name", "why"), [("a\\u0000b.svg", "no file's name can have"), ("/dev/zero", "a device"), (".", "a folder")]
)
def test_a_drawing_that_is_no_file_is_told(tmp_path: Path, name: str, why: str) -> None:
    found = told(tmp_path, lids=f'[a]\ntitle = "A"\noutline = {{ svg = "{name}" }}\nthickness = 9\ncost = 1\n')
    assert "[a.outline], svg:" in found
    assert why in found
