"""A table's headings, asked about and kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.headings import Ask, Asked, KeptAnswer, ask_all, guesses, proposal, toml_with
from engrave.making import Env
from engrave.output.writing import put_back, put_keeping
from engrave.shop import ShopError, load_shop


def ask_headings(orders: Path, env: Env, ask: Ask = guesses) -> Asked:
    """Show how a table would be read and put every question about its columns, options and values to `ask`.

    Raises OrdersError if the file is of no use.
    """
    return ask_all(orders, env.shop, env.shelf.kinds(), ask)


def proposed_headings(asked: Asked, folder: Path | None, env: Env) -> str:
    """Return the intake.toml that the answers would make, with all that was found as comments. Raises AskedWrong."""
    return _with_answers(folder, lambda text: proposal(asked, text, env.shop.intake))


def keep_headings(answers: Sequence[KeptAnswer], folder: Path, env: Env) -> tuple[Path, Path | None]:
    """Write answers into the shop's intake.toml, its folder made if need be; returns it and the copy of what it was.

    Raises AskedWrong, with the table as it was, if it cannot be written or would not be read again.
    """
    table = folder / "intake.toml"
    text = _with_answers(folder, lambda before: toml_with(before, answers, env.shop.intake))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        kept = put_keeping(table, text)
    except OSError as error:
        raise AskedWrong(f"Not kept: {table} cannot be written: {error.strerror or error}") from error
    try:
        load_shop(folder)
    except ShopError as error:
        put_back(table, kept)
        raise AskedWrong(f"Not kept: the table would not be read again.\n{error}") from error
    return table, kept


def _with_answers(folder: Path | None, write: Callable[[str], str]) -> str:
    table = folder / "intake.toml" if folder is not None else None
    try:
        return write(table.read_text(encoding="utf-8") if table is not None and table.exists() else "")
    except (OSError, ValueError) as error:
        raise AskedWrong(f"{table} cannot be read: {error}") from error
