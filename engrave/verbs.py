"""What the program can be asked, as functions: the command line and `import engrave` call these and nothing else."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import zip_longest
from pathlib import Path
from typing import Any

from engrave.advising import Remedy, replaced
from engrave.approval import KEPT, KeptOrders, OrderFacts, PruneError, judge_order
from engrave.files import reason, same_file
from engrave.headings import Answer, Ask, Asked, ask_all, guesses, proposal, to_be_asked, toml_with
from engrave.intake import Order, read_orders, words_typed
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
from engrave.listed_prices import ListedLid
from engrave.making import Env, Piece, environment
from engrave.output.pictures import failure_png, shelf_png, timing_png
from engrave.output.price_lists import list_csv, list_html
from engrave.output.sheets import order_proof, test_piece_sheet, test_piece_svg
from engrave.output.svg import check_svg, lid_svg, proof_code
from engrave.output.terminal import shelf_rows
from engrave.output.writing import put, put_back, put_keeping
from engrave.pricing import Ladder, Quote, ladder, quote, with_order_minimum
from engrave.problems import held
from engrave.setting import Why
from engrave.setting import why as setting_why
from engrave.shop import Cutter, Shop, ShopError, load_shop
from engrave.shop.inputs import input_files
from engrave.tasks import Plain, Refused, Task, define_all
from engrave.testpiece.design import recipes_of, test_piece
from engrave.testpiece.record import FIGURES, with_figures
from engrave.units import length_mm
from engrave.week import Entry, Week, assemble, make_unit, units, with_checks

SHELVES = ("lids", "typefaces", "cutters", "machines", "woods", "recipes", "settings")


class AskedWrong(ValueError):
    """What was asked cannot be answered; the message says why and what to ask instead."""


@dataclass(frozen=True, slots=True)
class Tried:
    """The answer to 'does it fit?': one entry for each area of the lid that carries words."""

    order: Order
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class QuoteTold:
    """A quote for one text: its parts, what other quantities would cost, and a line to send to the buyer."""

    entries: tuple[Entry, ...]
    quotes: tuple[Quote, ...]
    ladders: tuple[Ladder, ...]


def try_words(
    name: str, message: str = "", foot: str = "", *, lid: str = "", typeface: str = "", cutter: str = "",
    wood: str = "", setting: str = "", spacing: str = "", thicken: str = "", letter_features: str = "",
    lettering_size: str = "", quantity: int = 1,
    env: Env | None = None,
) -> Tried:  # fmt: skip
    """Set, check, time and price words on a lid, before promising them. Ids left empty take the shop's defaults."""
    env = env or environment()
    order = words_typed(
        name,
        message,
        foot,
        env.shop.intake,
        spacing=spacing,
        thicken=thicken,
        letter_features=letter_features,
        lettering_size=lettering_size,
    )
    order = replace(order, lid=lid, typeface=typeface, cutter=cutter, wood=wood, setting=setting, quantity=quantity)
    return _tried(order, env)


def _tried(order: Order, env: Env) -> Tried:
    whats = define_all([order], env.shop, env.shelf.kinds(), env.shelf.refused)
    entries = tuple(entry for what in whats for entry in make_unit([what], env))
    env.measures.save()
    code = judge_order(entries, env, None).code
    return Tried(order, tuple(replace(entry, code=code) for entry in entries))


def apply_remedy(tried: Tried, remedy: Remedy, env: Env) -> Tried:
    """Try again with a remedy's change made to the order; nothing else is altered."""
    order = tried.order
    for column, value in remedy.change:
        order = replaced(order, column, value)
    return _tried(order, env)


def why(tried: Tried, env: Env) -> tuple[Why, ...]:
    """Tell what limits the size of each area's words, and the next best line breaks."""
    return tuple(setting_why(e.piece.task, env.shelf) for e in tried.entries if e.piece.task is not None)


def _put(file: Path, data: bytes | str, env: Env, inputs: Sequence[Path] = ()) -> None:
    """Write a result; never over what is read. Raises AskedWrong with the reason, and then nothing is changed."""
    for read in (*inputs, *input_files(env.folder)):
        if same_file(file, read):
            raise AskedWrong(f"{file} was not written: it is read for the answer ({read}). Name another file.")
    try:
        put(file, data)
    except OSError as error:
        raise AskedWrong(f"{file} was not written: {reason(error)}. Name another file or folder.") from error
    except ValueError as error:
        raise AskedWrong(f"{file!s:.200} was not written: no file can have such a name.") from error


def _made(tried: Tried) -> list[Piece]:
    made = [e.piece for e in tried.entries if e.piece.is_made]
    if not made:
        raise AskedWrong("There is nothing to write: the words are on hold, for the reasons given without this option.")
    return made


def _numbered(file: Path, number: int) -> Path:
    """Return the file itself for the first area, and file_2, file_3 for a lid's further ones."""
    return file if number == 1 else file.with_name(f"{file.stem}_{number}{file.suffix}")


def write_svg(tried: Tried, file: Path, env: Env) -> tuple[Path, ...]:
    """Write the lid as SVG, one file an area; returns them. Raises AskedWrong if nothing is made."""
    written = []
    for number, piece in enumerate(_made(tried), 1):
        svg = lid_svg(piece, env.shop)
        wrong = check_svg(svg)
        if wrong:
            raise AskedWrong(f"The SVG did not pass its own check and was not written: {wrong[0]}")
        _put(_numbered(file, number), svg, env)
        written.append(_numbered(file, number))
    return tuple(written)


def write_proof(tried: Tried, file: Path, env: Env) -> tuple[Path, ...]:
    """Write one proof of all areas, a PDF if the file's name ends so, else a PNG; return the file.

    Words that cannot be cut as they stand are drawn all the same, marked as not agreed. Raises AskedWrong if no words
    could be laid.
    """
    laid = [entry.piece for entry in tried.entries if entry.piece.is_laid]
    if not laid:
        raise AskedWrong("There is nothing to draw: no words could be laid on this lid.")
    agreed = all(piece.is_made for piece in laid)
    proof = order_proof(laid, tried.entries[0].code if agreed else None, env.shop, env.shelf)
    _put(file, proof.pdf if file.suffix.lower() == ".pdf" else proof.png, env)
    return (file,)


def write_picture(tried: Tried, file: Path, env: Env, reasons: tuple[Why, ...] = ()) -> tuple[Path, ...]:
    """Draw what is lost and too thin over the lettering (PNG), one file an area that was set; returns them.

    reasons: what `why` told of the same words; then the picture also shows what limits their size.
    """
    written: list[Path] = []
    pieces = [e.piece for e in tried.entries if e.piece.task is not None]
    for piece, limits in zip_longest(pieces, reasons[: len(pieces)]):
        if piece.fitness is not None:
            where = _numbered(file, len(written) + 1)
            _put(where, failure_png(piece, env.shelf, limits), env)
            written.append(where)
    return tuple(written)


def write_shelf(kind: str, file: Path, env: Env) -> Path:
    """Draw what is at hand of one kind (PNG). Raises AskedWrong for kinds that have no looks."""
    try:
        drawn = shelf_png(kind, env.shop, env.shelf)
    except ValueError as error:
        raise AskedWrong(str(error)) from error
    _put(file, drawn, env)
    return file


def quote_words(tried: Tried, env: Env, *, rush: bool = False, changes: int = 0, gift: bool = False) -> QuoteTold:
    """Quote one text by part, with a ladder of quantities; `changes` counts the buyer's changes to the proof."""
    made = [e.piece for e in tried.entries if e.piece.estimate is not None and not held(e.piece.problems)]
    quotes = with_order_minimum(
        [_quote(p, env, rush, changes, opens=i == 0, gift=gift) for i, p in enumerate(made)], env.shop.rates
    )
    ladders = tuple(
        ladder(p.task, p.lettering, p.estimate, env.shop.rates, opens=i == 0)
        for i, p in enumerate(made)
        if p.task and p.lettering and p.estimate
    )
    return QuoteTold(tried.entries, quotes, ladders)


def write_price_list(listed: Sequence[ListedLid], file: Path, env: Env) -> Path:
    """Write the price list as the file's name asks: '.csv' for a shop's own page, '.html' as a page of its own.

    Raises AskedWrong for another ending, or where the file cannot be written.
    """
    makers = {".csv": list_csv, ".html": list_html}
    make = makers.get(file.suffix.lower())
    if make is None:
        raise AskedWrong(f"{file}: the list is written as .csv or .html; give the file one of these endings.")
    _put(file, make(listed, env.shop), env)
    return file


def _quote(piece: Piece, env: Env, rush: bool, changes: int, opens: bool, gift: bool) -> Quote:
    assert piece.task is not None
    assert piece.lettering is not None
    assert piece.estimate is not None
    return quote(
        piece.task,
        piece.lettering,
        piece.estimate,
        env.shop.rates,
        rush=rush,
        proof_changes=changes,
        opens=opens,
        gift=gift,
    )


def kept_orders(folder: Path) -> tuple[tuple[str, date, OrderFacts], ...]:
    """Return (code, day, what it shows) of all that is kept in a shop's or a week's folder, oldest first."""
    return _kept_in(folder).listed()


def prune_kept(folder: Path, days: int) -> tuple[str, ...]:
    """Take away what was kept more than so many days ago, and return its codes. Raises AskedWrong if that cannot be."""
    try:
        return _kept_in(folder).prune(timedelta(days=days), date.today())
    except PruneError as error:
        raise AskedWrong(str(error)) from error


def _kept_in(folder: Path) -> KeptOrders:
    place = folder if folder.name == KEPT else folder / KEPT
    if not place.is_dir():
        raise AskedWrong(f"{folder} has no folder '{KEPT}': nothing was proved for it yet, or it is another one.")
    return KeptOrders(place)


def make_orders(orders: Path, env: Env) -> tuple[tuple[Task | Plain | Refused, ...], Any]:
    """Read a table of orders and make each row definite. Raises `engrave.intake.OrdersError` if it cannot be read."""
    file = read_orders(orders, env.shop.intake)
    return define_all(file.orders, env.shop, env.shelf.kinds(), env.shelf.refused, of_table=True), file


def quote_week(orders: Path, env: Env | None = None, shop_folder: Path | None = None) -> Week:
    """Make a whole table in one process without writing anything: its totals and every piece's quote.

    shop_folder: the shop's own tables, for what is told of columns that nobody has explained yet.
    """
    env = env or environment()
    whats, file = make_orders(orders, env)
    entries: list[Entry | None] = [None] * len(whats)
    for unit in units(whats):
        for i, entry in zip(unit, make_unit([whats[i] for i in unit], env), strict=True):
            entries[i] = entry
    env.measures.save()
    made = [e for e in entries if e is not None]
    checked = with_checks(made, [proof_code(e.piece) for e in made])
    return assemble(checked, env.shop.rates, (*file.problems, *to_be_asked(file, orders, shop_folder)))


def ask_headings(orders: Path, env: Env, ask: Ask = guesses) -> Asked:
    """Show how a table would be read and put every question about its columns, options and values to `ask`.

    Raises OrdersError if the file is of no use.
    """
    return ask_all(orders, env.shop, env.shelf.kinds(), ask)


def proposed_headings(asked: Asked, folder: Path | None, env: Env) -> str:
    """Return the intake.toml that the answers would make, with all that was found as comments. Raises AskedWrong."""
    return _with_answers(folder, lambda text: proposal(asked, text, env.shop.intake))


def keep_headings(answers: Sequence[Answer], folder: Path, env: Env) -> tuple[Path, Path | None]:
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
    _put(file, timing_png(learned, env.shelf, env.shop.name), env, inputs)
    return file


def shelf(kind: str, env: Env | None = None) -> list[dict[str, Any]]:
    """Return what is at hand of one kind as rows of plain values."""
    env = env or environment()
    return shelf_rows(kind, env.shop, env.shelf)


def write_test_piece(cutter: str, wood: str, svg: Path | None, sheet: Path | None, env: Env) -> tuple[Path, ...]:
    """Write a test piece (SVG) and the sheet that lies beside it (HTML); returns the files. Raises AskedWrong."""
    _known_pair(cutter, wood, env)
    piece = test_piece(env.shop, env.shelf, cutter, wood)
    files = [(file, text) for file, text in ((svg, test_piece_svg(piece)), (sheet, test_piece_sheet(piece))) if file]
    for file, text in files:
        _put(file, text, env)
    return tuple(file for file, _ in files)


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
        if name not in FIGURES:
            raise AskedWrong(
                f"'{word}' is no figure of a test piece. Write for instance along=0.3; known: {', '.join(FIGURES)}."
            )
        if name.startswith("mark") and not cutter.is_beam:
            raise AskedWrong(
                f"'{word}': only a beam has a mark to measure; the groove of {cutter.id} follows from its shape and depth."
            )
        try:
            found[name] = length_mm(value)
        except ValueError as error:
            raise AskedWrong(f"'{word}': {error}") from error
    if not found:
        raise AskedWrong("Nothing to record: write what was measured, for instance along=0.3 across=0.5.")
    return found


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
        text = with_figures(before, cutter, wood, [r.method for r in recipes_of(env.shop, cutter, wood)], figures)
    except ValueError as error:
        raise AskedWrong(f"{table} cannot be read: {error}") from error
    kept = put_keeping(table, text)
    try:
        return table, kept, load_shop(folder)
    except ShopError:
        put_back(table, kept)
        raise
