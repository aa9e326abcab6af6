"""A machine learned from times really taken."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.files import reason
from engrave.learning import Learned, LogError, read_log, with_learned
from engrave.learning.memory import NAME as LEARNED_NAME
from engrave.learning.memory import remembered
from engrave.learning.read_back import (
    NotLearned,
    as_listed,
    courses_of_pieces,
    courses_of_week,
    keys_of_week,
    learned_from,
)
from engrave.learning.timing_plot import timing_png
from engrave.making import Env, Piece
from engrave.output.writing import put, put_back, put_keeping
from engrave.shop import ShopError, load_shop
from engrave.tasks import Plain, Refused, Task
from engrave.verbs.orders_made import make_orders
from engrave.verbs.result_files import PICTURE_ENDINGS, ending, put_result
from engrave.week import make_unit, units


def clock_log(log: Path, machine: str, env: Env, *, week: Path = Path("week"), orders: Path | None = None) -> Learned:
    """Learn a machine from times that were really taken, of pieces in a week's folder.

    orders: the pieces are made anew from this table instead. Raises AskedWrong if the machine, the log or the week
    cannot be used.
    """
    if machine not in env.shop.machines:
        raise AskedWrong(f"The shop has no machine '{machine}'. Known: {', '.join(env.shop.machines)}.")
    try:
        logs, problems = read_log(log, env.shop.intake)
        if orders is None:
            logs = as_listed(logs, keys_of_week(week))
            courses, found = courses_of_week(week, machine, {(entry.order, entry.piece) for entry in logs}, env)
        else:
            whats, _ = make_orders(orders, env)
            logs = as_listed(logs, [(what.order.id, what.piece) for what in whats])
            pieces = _logged_pieces(whats, {(entry.order, entry.piece) for entry in logs}, env)
            courses, found = courses_of_pieces(pieces, machine), ()
        return learned_from(courses, logs, (*problems, *found), machine, env)
    except (LogError, NotLearned) as error:
        raise AskedWrong(str(error)) from error


def _logged_pieces(whats: Sequence[Task | Plain | Refused], wanted: set[tuple[str, int]], env: Env) -> list[Piece]:
    """Make the units of a table that hold a wanted piece."""
    asked = [unit for unit in units(whats) if any((whats[i].order.id, whats[i].piece) in wanted for i in unit)]
    return [entry.piece for unit in asked for entry in make_unit([whats[i] for i in unit], env)]


def save_learned(learned: Learned, machine: str, folder: Path) -> tuple[Path, Path | None]:
    """Write what was learned into the shop's table of machines; returns it, and the copy of what it was.

    Which runs were counted is written beside it.

    Raises AskedWrong, with the table as it was, if it cannot be written or would not be read again.
    """
    table = folder / "machines.toml"
    try:
        before = table.read_text(encoding="utf-8") if table.exists() else ""
        text = with_learned(before, machine, learned)
        kept = put_keeping(table, text)
    except (OSError, ValueError) as error:
        raise AskedWrong(f"Not saved: {table} cannot be written: {error}") from error
    try:
        load_shop(folder)
        put(folder / LEARNED_NAME, remembered(folder, machine, learned.memory))
    except ShopError as error:
        put_back(table, kept)
        raise AskedWrong(f"Not saved: the table would not be read again.\n{error}") from error
    except OSError as error:
        put_back(table, kept)
        raise AskedWrong(f"Not saved: {folder / LEARNED_NAME} cannot be written: {reason(error)}") from error
    return table, kept


def write_timing_plot(learned: Learned, file: Path, env: Env, inputs: Sequence[Path] = ()) -> Path:
    """Draw estimated against real times, before and after (PNG). inputs: what was read for it, never written over.

    Raises AskedWrong if the file cannot be written.
    """
    ending(file, PICTURE_ENDINGS)
    put_result(file, timing_png(learned, env.shop.name), env, inputs)
    return file
