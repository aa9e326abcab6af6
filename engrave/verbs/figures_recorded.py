"""Test pieces written, and what was measured on them kept."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.making import Env, environment
from engrave.output.sheets import test_piece_sheet, test_piece_svg
from engrave.output.writing import put_back, put_keeping
from engrave.shop import Cutter, Shop, ShopError, load_shop
from engrave.testpiece.design import depths_of, recipes_of, test_piece
from engrave.testpiece.record import FIGURE_KEYS, with_figures
from engrave.units import length_mm
from engrave.verbs.result_files import LID_ENDINGS, SHEET_ENDINGS, ending, put_result


def write_test_piece(cutter: str, wood: str, svg: Path | None, sheet: Path | None, env: Env) -> tuple[Path, ...]:
    """Write a test piece (SVG) and the sheet that lies beside it (PDF); returns the files. Raises AskedWrong."""
    for file, allowed in ((svg, LID_ENDINGS), (sheet, SHEET_ENDINGS)):
        if file is not None:
            ending(file, allowed)
    _known_pair(cutter, wood, env)
    piece = test_piece(env.shop, env.shelf, cutter, wood)
    written = []
    if svg is not None:
        put_result(svg, test_piece_svg(piece), env)
        written.append(svg)
    if sheet is not None:
        put_result(sheet, test_piece_sheet(piece, env.shop), env)
        written.append(sheet)
    return tuple(written)


def _known_pair(cutter: str, wood: str, env: Env) -> None:
    for kind, name, known in (("cutter", cutter, env.shop.cutters), ("wood", wood, env.shop.woods)):
        if name not in known:
            raise AskedWrong(f"The {kind} '{name}' is not in the shop's tables. Known: {', '.join(sorted(known))}.")
    if not recipes_of(env.shop, cutter, wood):
        woods = sorted({r.wood for r in env.shop.recipes if r.cutter == cutter})
        has = f"it has recipes for {', '.join(woods)}" if woods else "it has no recipe for any wood"
        raise AskedWrong(f"The shop has no recipe for {cutter} in {wood}: {has}. Write one in recipes.toml first.")


def read_figures(words: Sequence[str], cutter: Cutter) -> dict[str, float]:
    """Read what was measured: 'along=0.3', 'across=1/32 in'; lengths are mm when bare. Raises AskedWrong."""
    found: dict[str, float] = {}
    for word in words:
        name, _, value = word.partition("=")
        if name not in FIGURE_KEYS:
            raise AskedWrong(
                f"'{word}' is no figure of a test piece. Write for instance along=0.3; known: {', '.join(FIGURE_KEYS)}."
            )
        _check_kind(name, word, cutter)
        try:
            found[name] = length_mm(value)
        except ValueError as error:
            raise AskedWrong(f"'{word}': {error}") from error
    if not found:
        raise AskedWrong("Nothing to record: write what was measured, for instance along=0.3 across=0.5.")
    return found


def _check_kind(name: str, word: str, cutter: Cutter) -> None:
    """Raise AskedWrong for a figure that this kind of cutter does not have."""
    if name.startswith("mark") and not cutter.is_beam:
        raise AskedWrong(
            f"'{word}': only a beam has a mark to measure; the groove of {cutter.id} follows from its shape and depth."
        )
    if name.startswith("clean") and not cutter.is_beam:
        raise AskedWrong(f"'{word}': only a beam chars wood; of {cutter.id} write what stood: along=0.3 across=0.5.")
    if name.startswith("wall") and "vee" not in cutter.methods:
        raise AskedWrong(
            f"'{word}': only V-cuts leave such walls; of {cutter.id} write what stood: along=0.3 across=0.5."
        )


def record_figures(cutter: str, wood: str, words: Sequence[str], folder: Path) -> tuple[Path, Path | None, Shop]:
    """Put figures measured on a test piece into the shop's recipes, so that the check of this pair uses them.

    Returns (the table, the copy of what it was or None, the shop as it now is). If the new table does not read,
    the old one is put back. Raises AskedWrong, or ShopError with what the table would then have wrong.
    """
    env = environment(folder)
    _known_pair(cutter, wood, env)
    figures = read_figures(words, env.shop.cutters[cutter])
    table = folder / "recipes.toml"
    before = table.read_text(encoding="utf-8") if table.exists() else ""
    try:
        recipes = recipes_of(env.shop, cutter, wood)
        depths = depths_of(env.shop.cutters[cutter], recipes)
        text = with_figures(before, cutter, wood, [r.method for r in recipes], figures, depths)
    except ValueError as error:
        raise AskedWrong(f"{table} cannot be read: {error}") from error
    kept = put_keeping(table, text)
    try:
        return table, kept, load_shop(folder)
    except ShopError:
        put_back(table, kept)
        raise
