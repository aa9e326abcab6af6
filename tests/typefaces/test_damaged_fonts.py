"""Damaged fonts in a shop's folder: named with the reason, the rest of the shelf goes on, nothing hangs."""

from __future__ import annotations

import os
import random
import struct
import time
import zlib
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from engrave.limits import FONT_UNPACKED, GLYPH_NODES, LINE_NODES
from engrave.making import environment, make_any
from engrave.shop.places import own_folder
from engrave.typefaces import Shelf, TypefaceError, load_shelf
from engrave.typefaces.read.acceptance import accept
from engrave.typefaces.read.web_font import holds_too_much
from engrave.verbs import try_words

OPEN = own_folder("fonts_open")
FILES = {
    "a.ttf": OPEN / "quicksand" / "Quicksand-Medium.ttf",
    "b.svg": OPEN / "withy" / "withy.svg",
}
WORDS = "Anna & Zoë, fi 2026"


def damaged(data: bytes, rand: random.Random) -> bytes:
    """Return a file's bytes with a few of them changed, cut off, doubled or blanked."""
    out = bytearray(data)
    for _ in range(rand.randint(1, 12)):
        at = rand.randrange(len(out))
        how = rand.random()
        if how < 0.6:
            at = rand.randrange(min(len(out), 1500)) if rand.random() < 0.5 else at  # heads and lists of tables
            out[at] = rand.randrange(256)
        elif how < 0.75:
            out[at : at + rand.randint(1, 400)] = b"\xff" * rand.randint(0, 400)
        elif how < 0.9:
            out[at : at + 4] = rand.choice([b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\x80\0\0\0"])
        else:
            del out[max(at, 16) :]
    return bytes(out)


def set_words(shelf: Shelf) -> None:
    """Set words in every typeface of the shop; the only error there may be is the one for people."""
    for ident in shelf.ids:
        if not shelf.facts(ident).own:
            try:
                run = shelf.get(ident).shape(WORDS)
                assert all(abs(v) < 1e6 for p in run.placed for v in (p.x, p.y))
            except TypefaceError as why:
                assert "damaged" in str(why)  # noqa: PT017 : both ways out are right


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("seed", range(4))
def test_a_font_with_bytes_changed_never_stops_the_shelf(tmp_path: Path, name: str, seed: int) -> None:
    rand = random.Random(seed * 7 + len(name))
    (tmp_path / "typefaces").mkdir()
    for n in range(6):
        file = tmp_path / "typefaces" / f"m{n}{Path(name).suffix}"
        file.write_bytes(damaged(FILES[name].read_bytes(), rand))
    began = time.process_time()
    shelf = load_shelf(tmp_path)
    set_words(shelf)
    assert time.process_time() - began < 20
    assert "noto-sans" in shelf.ids
    for n in range(6):
        ident = f"m{n}"
        assert ident in shelf.ids or f"{ident}." in shelf.refused[ident]


@pytest.mark.parametrize("flavor", ["woff", "woff2"])
def test_a_web_font_with_bytes_changed_never_stops_the_shelf(tmp_path: Path, flavor: str) -> None:
    font = TTFont(FILES["a.ttf"])
    font.flavor = flavor
    font.save(tmp_path / f"whole.{flavor}")
    data = (tmp_path / f"whole.{flavor}").read_bytes()
    rand = random.Random(3)
    for n in range(8):
        (tmp_path / f"m{n}.{flavor}").write_bytes(damaged(data, rand))
    shelf = load_shelf(tmp_path)
    assert "whole" in shelf.ids
    set_words(shelf)


def test_a_folder_named_like_a_font_a_pipe_and_a_link_in_a_circle_do_not_stop_the_shelf(tmp_path: Path) -> None:
    own = tmp_path / "typefaces"
    (own / "x" / "y.svg").mkdir(parents=True)
    (own / "z.ttf").mkdir()
    os.mkfifo(own / "pipe.ttf")
    os.mkfifo(own / "pipe.svg")
    (own / "round.otf").symlink_to(own / "round.otf")
    (own / "w").mkdir()
    (own / "w" / "typeface.toml").write_text('file = "pipe.ttf"')
    os.mkfifo(own / "w" / "pipe.ttf")
    (own / "good.ttf").write_bytes(FILES["a.ttf"].read_bytes())
    shelf = load_shelf(tmp_path)
    assert "good" in shelf.ids
    assert "a device or a pipe" in shelf.refused["pipe"]
    assert "cannot be opened" in shelf.refused["round"]
    assert "pipe.ttf" in shelf.refused["w"]


@pytest.mark.parametrize(
    "table",
    [
        "\0", "[" * 9000, 'file = "a.ttf"\nid = ""', 'file = "a.ttf"\nid = "../up"', 'file = "a.ttf"\ncompanions = [1]', "files = 3",
        'file = "a.ttf"\nmeasured = { stem = "x" }', 'file = "a.ttf"\nreference_height = nan', 'file = "a.ttf"\nreference_height = 1e300',
        'file = "a.ttf"\nkind = "single-line"', 'file = "a\\u0000.ttf"', 'file = "a.ttf"\nmeasured = { stem = -inf }',
        'file = "."', "x = " + "9" * 5000,
    ],
)  # fmt: skip
def test_a_damaged_table_of_a_typeface_is_named(tmp_path: Path, table: str) -> None:
    own = tmp_path / "typefaces" / "ours"
    own.mkdir(parents=True)
    (own / "a.ttf").write_bytes(FILES["a.ttf"].read_bytes())
    (own / "typeface.toml").write_text(table)
    shelf = load_shelf(tmp_path)
    assert "ours" in shelf.refused and "ours" not in shelf.ids
    assert "quicksand" in shelf.ids


def _with_cmap(groups: bytes) -> bytes:
    """Return a font whose cmap is one table of format 12 (OpenType, cmap, segmented coverage) with these groups."""
    sub = struct.pack(">HHIII", 12, 0, 16 + len(groups), 0, len(groups) // 12) + groups
    cmap = struct.pack(">HHHHI", 0, 1, 3, 10, 12) + sub
    font = TTFont(FILES["a.ttf"])
    from fontTools.ttLib.tables.DefaultTable import DefaultTable

    font["cmap"] = DefaultTable("cmap")
    font["cmap"].data = cmap
    import io

    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def test_a_font_that_claims_four_thousand_million_characters_is_answered(tmp_path: Path) -> None:
    groups = b"".join(struct.pack(">III", 0, 0xFFFFFFFF, 1) for _ in range(50))
    (tmp_path / "many.ttf").write_bytes(_with_cmap(groups))
    began = time.process_time()
    shelf = load_shelf(tmp_path)
    set_words(shelf)
    assert time.process_time() - began < 10


def test_a_web_font_that_unpacks_to_fill_the_memory_is_refused(tmp_path: Path) -> None:
    brotli = pytest.importorskip("brotli")
    zeros = bytes(FONT_UNPACKED.most + 1)
    packed = brotli.compress(zeros, quality=1)
    head = b"wOF2" + b"\0\1\0\0" + struct.pack(">IHHII", 0, 1, 0, len(zeros), len(packed)) + bytes(24)
    assert holds_too_much(head + bytes([1, 10]) + packed)
    (tmp_path / "bomb.woff2").write_bytes(head + bytes([1, 10]) + packed)
    deflated = zlib.compress(zeros[: FONT_UNPACKED.most // 2])
    entries = b"".join(
        tag + struct.pack(">IIII", 44 + 40, len(deflated), stated, 0) for tag, stated in ((b"glyf", 100), (b"head", 54))
    )
    (tmp_path / "bomb.woff").write_bytes(
        b"wOFF" + b"\0\1\0\0" + struct.pack(">IHH", 0, 2, 0) + bytes(28) + entries + deflated
    )
    for name in ("bomb.woff2", "bomb.woff"):
        with pytest.raises(TypefaceError, match="unpacked"):
            accept(tmp_path / name)


def _line_font(path: Path, **glyphs: str) -> Path:
    usual = {"H": "M0 0V700M0 350H400M400 0V700", "x": "M0 0L300 400M0 400L300 0", "n": "M0 0V400L200 400V0"}
    drawn = "".join(f'<glyph unicode="{c}" horiz-adv-x="500" d="{d}"/>' for c, d in {**usual, **glyphs}.items())
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg"><defs><font horiz-adv-x="500">{drawn}</font></defs></svg>'
    )
    return path


@pytest.mark.parametrize(
    "data",
    [
        "M", "M0 0L1e308 1e308", "M0 0Lnan 5", "M0 0" + "L1 1L2 2" * LINE_NODES.most, "M0 0A1 1 0 0 1 nan 5", "M0 0C1 1", "garbage",
        "M0 0L" + "9" * 200_000, "M0 0L9e99 1",
    ],
)  # fmt: skip
def test_one_damaged_letter_is_a_letter_that_the_typeface_lacks(tmp_path: Path, data: str) -> None:
    _line_font(tmp_path / "lines.svg", A=data)
    shelf = load_shelf(tmp_path)
    run = shelf.get("lines").shape("HAH")
    assert shelf.get("lines").own("H") is not None
    assert shelf.get("lines").own("A") is None or all(len(c.segments) < 9 for p in run.placed for c in p.glyph.path)


@pytest.mark.parametrize(
    ("glyphs", "why"),
    [
        ({"H": "M0 0H400"}, "no capitals"),
        ({"H": "M0 0L0 1e300", "x": "M0 0"}, "damaged"),
        ({"x": "M0 0V9000"}, "capitals high"),
    ],
)
def test_single_lines_whose_capitals_cannot_be_are_refused(tmp_path: Path, glyphs: dict[str, str], why: str) -> None:
    _line_font(tmp_path / "lines.svg", **glyphs)
    assert why in load_shelf(tmp_path).refused["lines"]


def test_a_font_file_with_entities_that_make_much_of_little_is_refused(tmp_path: Path) -> None:
    entities = '<!ENTITY e0 "0 0 ">' + "".join(f'<!ENTITY e{i + 1} "{f"&e{i};" * 10}">' for i in range(8))
    text = f'<!DOCTYPE svg [{entities}]><svg><font><glyph unicode="H" d="M0 0L&e8;"/></font></svg>'
    (tmp_path / "much.svg").write_text(text)
    (tmp_path / "deep.svg").write_text("<svg><font>" + "<g>" * 5000)
    shelf = load_shelf(tmp_path)
    assert {"much", "deep"} <= set(shelf.refused)


def test_a_piece_in_a_typeface_whose_file_is_gone_is_a_hold_that_says_so(tmp_path: Path) -> None:
    font = tmp_path / "typefaces" / "mine.ttf"
    font.parent.mkdir()
    font.write_bytes(FILES["a.ttf"].read_bytes())
    env = environment(tmp_path)
    font.unlink()
    (entry,) = try_words("Anna", typeface="mine", env=env).entries
    (problem,) = [p for p in entry.piece.problems if p.level == "hold"]
    assert problem.code == "typeface-damaged"
    assert "mine.ttf" in problem.says
    assert make_any is not None and GLYPH_NODES.most > 1000
