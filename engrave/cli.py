"""The command line: reads what was asked, calls the library, prints the answer (results to stdout, else to stderr)."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, NoReturn, TypeVar

import click

from engrave import __version__, headings, signals, verbs
from engrave.approval import shown
from engrave.batch import Stopped, run_week
from engrave.intake import OrdersError
from engrave.intake.cells import YEARS
from engrave.listed_prices import price_list
from engrave.making import Env, environment
from engrave.output.price_lists import HEAD, list_rows, list_text
from engrave.output.terminal import answers, folder_lines, learned_json, learned_lines
from engrave.output.week_folder import FolderError
from engrave.shop import ShopError
from engrave.units import duration

OK, SOME_HELD, UNUSABLE, STOPPED = 0, 1, 2, signals.STOPPED

Command = TypeVar("Command", bound=Callable[..., Any])


class Program(click.Group):
    """The group of commands; turns what is wrong with tables and files into a message and exit status 2."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; errors for people go to stderr, without a traceback."""
        try:
            return super().invoke(ctx)
        except (ShopError, OrdersError, FolderError, verbs.AskedWrong) as error:
            click.echo(str(error), err=True)
            sys.exit(UNUSABLE)
        except KeyboardInterrupt:
            click.echo(signals.SAYS, err=True)
            sys.exit(STOPPED)
        except BrokenPipeError:
            sys.exit(OK)


def common(command: Command) -> Command:
    """Add the options that every command takes."""
    command = click.option(
        "--shop",
        "shop",
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        help="Folder of the shop's own tables; its entries go before ours.",
    )(command)
    return click.option("--json", "as_json", is_flag=True, help="Print the result as JSON, for machines.")(command)


def text_options(command: Command) -> Command:
    """Add what describes one text on one lid."""
    for name, says in reversed(
        [
            ("message", "A message below the name."),
            ("foot", "A small line at the foot, such as a date."),
            ("lid", "Which lid; see 'engrave shelf lids'."),
            ("typeface", "Which typeface; see 'engrave shelf typefaces'."),
            ("cutter", "Which bit or beam; see 'engrave shelf cutters'."),
            ("wood", "Which wood; see 'engrave shelf woods'."),
            ("setting", "How the words are laid; see 'engrave shelf settings'."),
            ("spacing", "Extra space between letters, as a share of the capitals' height, such as '3 %'."),
            ("thicken", "How much thicker strokes are drawn, as a share of the capitals' height, such as '1 %'."),
            ("lettering-size", "How large: quiet, usual or large."),
            ("letter-features", "Other forms of letters and figures, such as 'old-style figures' or 'small capitals'."),
        ]
    ):
        command = click.option(f"--{name}", default="", help=says)(command)
    return command


def _day(_ctx: click.Context, _param: click.Parameter, value: str | None) -> date | None:
    """Read a day as the tables write it; '30/11/2026' could be meant in two ways, so it is not guessed at."""
    if value is None:
        return None
    try:
        day = date.fromisoformat(value)
    except ValueError as error:
        raise click.BadParameter(f"'{value}' is not a day; write year, month and day, as 2026-11-30.") from error
    if day.year not in YEARS:
        raise click.BadParameter(
            f"'{value}' lies outside the years {YEARS[0]} to {YEARS[-1]}; write a day as 2026-11-30."
        )
    return day


@click.group(cls=Program, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="engrave")
def main() -> None:
    """Letter box lids: fit the words, check the cut, time it, price it, draw it.

    \b
    A week at once:            engrave batch orders.csv --out week
    Does it fit?               engrave try "Wanda" --lid round-caddy
    What does it add?          engrave quote --words "Wanda" --lid round-caddy
    What can this cutter do?   engrave testpiece --cutter v60 --wood maple --svg piece.svg
    How fast is it really?     engrave clock log.csv --machine bench-router
    """


@main.command("batch")
@click.argument("orders", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(file_okay=False, path_type=Path), help="Folder to write; made if needed."
)
@click.option(
    "--jobs",
    type=click.IntRange(min=1),
    default=None,
    help="Processes side by side; the files are the same for any number.",
)
@click.option(
    "--only", multiple=True, metavar="ORDER", help="Write only this order's lids; may be given more than once."
)
@click.option("--piece", type=click.IntRange(min=1), default=None, help="With one --only: write only this piece of it.")
@click.option("--start", metavar="DAY", callback=_day, help="First working day, for the plan, such as 2026-11-30.")
@common
def batch_command(
    orders: Path,
    out: Path,
    jobs: int | None,
    only: tuple[str, ...],
    piece: int | None,
    start: date | None,
    shop: Path | None,
    as_json: bool,
) -> None:
    """Letter a week of orders: a lid and a proof each, and one page for the week.

    \b
    Example:  engrave batch orders_demo/ferry_week.csv --out week
    """
    try:
        done = run_week(
            orders, out, shop_folder=shop, jobs=jobs, only=only, piece=piece, start=start, progress=_progress()
        )
    except Stopped as stopped:
        click.echo(str(stopped), err=True)
        sys.exit(STOPPED)
    if as_json:
        for line in folder_lines(done.taken_away, done.changed_by_hand):
            click.echo(line, err=True)
    click.echo(json.dumps(done.report, ensure_ascii=False, indent=1) if as_json else done.summary)
    sys.exit(SOME_HELD if done.week.totals.hold else OK)


def _progress() -> Callable[[int, int], None] | None:
    """Return a counter on stderr with the time left, only if that is a terminal."""
    if not sys.stderr.isatty():
        return None
    began: list[tuple[float, int]] = []

    def show(done: int, total: int) -> None:
        if not began:  # what an earlier run has left as it is took no time
            began.append((time.monotonic(), done))
        click.echo(
            f"\r{progress_line(done, total, time.monotonic() - began[0][0], began[0][1])}\033[K", nl=False, err=True
        )
        if done == total:
            click.echo(err=True)

    return show


def progress_line(done: int, total: int, seconds: float, before: int) -> str:
    """Return how far a run is: '12 of 200 pieces, about 3 min left'. before: pieces that were there when it began."""
    left = (total - done) * seconds / (done - before) if done > before else 0.0
    return f"{done} of {total} pieces" + (f", about {duration(left)} left" if left >= 1.0 else "")


@main.command("try")
@click.argument("words")
@text_options
@click.option("--why", is_flag=True, help="Tell what limits the size, and the next best ways to break the lines.")
@click.option("--fix", is_flag=True, help="Apply the first remedy, and say so.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), help="Write the lid here.")
@click.option("--proof", type=click.Path(dir_okay=False, path_type=Path), help="Write the proof (PNG) here.")
@click.option(
    "--picture",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Draw what is lost or too thin, and with --why what limits the size (PNG).",
)
@common
def try_command(
    words: str, why: bool, fix: bool, svg: Path | None, proof: Path | None, picture: Path | None,
    shop: Path | None, as_json: bool, **text: str,
) -> None:  # fmt: skip
    """Does it fit? Ask before promising it.

    \b
    Example:  engrave try "Wanda" --message "sixty summers" --lid round-caddy --wood oak
    """
    env = environment(shop)
    tried = verbs.try_words(words, env=env, quantity=1, **text)
    fixed = None
    if fix and tried.entries[0].remedies:
        fixed = tried.entries[0].remedies[0]
        tried = verbs.apply_remedy(tried, fixed, env)
    for file, write in ((svg, verbs.write_svg), (proof, verbs.write_proof)):
        if file is not None and any(e.piece.is_made for e in tried.entries):
            click.echo("Written: " + ", ".join(str(f) for f in write(tried, file, env)), err=True)
        elif file is not None:
            click.echo(f"Not written: {file}; nothing can be cut as it stands.", err=True)
    reasons = verbs.why(tried, env) if why else ()
    if picture is not None:
        drawn = verbs.write_picture(tried, picture, env, reasons)
        says = "Written: " + ", ".join(map(str, drawn)) if drawn else f"Not drawn: {picture}; nothing could be set."
        click.echo(says, err=True)
    if as_json:
        click.echo(json.dumps(answers.as_json(tried.entries, fixed, reasons), ensure_ascii=False, indent=1))
    else:
        click.echo(answers.tried(tried.entries, env.shop, fixed, reasons))
    sys.exit(SOME_HELD if any(e.piece.verdict == "hold" for e in tried.entries) else OK)


@main.command("quote")
@click.argument("orders", type=click.Path(path_type=Path), required=False)
@click.option("--words", default="", help="Quote one text instead of a table.")
@click.option("--list", "listing", is_flag=True, help="Price list: every lid with a name, a message, words inside.")
@click.option(
    "--write", type=click.Path(dir_okay=False, path_type=Path), help="Write the list here (.csv or .html), with --list."
)
@click.option("--quantity", type=click.IntRange(min=1), default=1, help="How many alike, with --words.")
@click.option("--rush", is_flag=True, help="Add the shop's charge for haste.")
@click.option("--gift", is_flag=True, help="Add the shop's charge for a message by hand in the parcel.")
@click.option("--changes", type=click.IntRange(min=0), default=0, help="Proof changes the buyer asked for.")
@text_options
@common
def quote_command(
    orders: Path | None,
    words: str,
    listing: bool,
    write: Path | None,
    quantity: int,
    rush: bool,
    gift: bool,
    changes: int,
    shop: Path | None,
    as_json: bool,
    **text: str,
) -> None:
    """What does the engraving add to the price? Cost by part, price, ladder of quantities.

    \b
    Example:  engrave quote --words "Wanda" --lid round-caddy
              engrave quote orders_demo/ferry_week.csv
              engrave quote --list --write prices.html
    """
    if (bool(orders), bool(words), listing).count(True) != 1:
        raise click.UsageError("give a table of orders, --words or --list, and only one of them")
    if write and not listing:
        raise click.UsageError("--write goes with --list")
    idle = [
        f"--{name}"
        for name, given in {**text, "quantity": quantity > 1, "rush": rush, "gift": gift, "changes": changes}.items()
        if given
    ]
    if idle and not words:
        raise click.UsageError(f"{', '.join(idle)}: only with --words")
    env = environment(shop)
    if listing:
        _price_list(write, env, as_json)
    if orders:
        week = verbs.quote_week(orders, env=env, shop_folder=shop)
        for problem in week.notes:
            if problem.level != "note":
                click.echo(f"{problem.level.capitalize()}: {problem.says}", err=True)
        if as_json:
            click.echo(json.dumps(answers.week_quote_json(week), ensure_ascii=False, indent=1))
        else:
            click.echo(answers.week_quote(week, env.shop))
        sys.exit(SOME_HELD if week.totals.hold else OK)
    tried = verbs.try_words(words, env=env, quantity=quantity, **text)
    quoted = verbs.quote_words(tried, env, rush=rush, changes=changes, gift=gift)
    if as_json:
        told = answers.words_quote_json(tried.entries, quoted.quotes, quoted.ladders)
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        click.echo(answers.words_quote(tried.entries, quoted.quotes, quoted.ladders, env.shop))
    sys.exit(SOME_HELD if any(e.piece.verdict == "hold" for e in tried.entries) else OK)


def _price_list(write: Path | None, env: Env, as_json: bool) -> NoReturn:
    listed = price_list(env)
    if write is not None:
        click.echo(f"Written: {verbs.write_price_list(listed, write, env)}", err=True)
    if as_json:
        rows = list_rows(listed, env.shop)
        click.echo(json.dumps([dict(zip(HEAD, row, strict=True)) for row in rows], ensure_ascii=False, indent=1))
    else:
        click.echo(list_text(listed, env.shop))
    sys.exit(OK)


@main.command("headings")
@click.argument("orders", type=click.Path(path_type=Path))
@click.option(
    "--shop",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder of the shop's own tables, where the answers are kept; made if it is not there.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON, for machines; nothing is asked.")
def headings_command(orders: Path, shop: Path | None, as_json: bool) -> None:
    """What are the columns of this table? Asked once, and kept in the shop's intake.toml.

    Without a terminal nothing is asked or kept: the table that would be written is printed.

    \b
    Example:  engrave headings export.csv --shop our_shop
    """
    env = environment(shop if shop is not None and shop.exists() else None)
    at_terminal = _at_terminal() and not as_json
    if not at_terminal or shop is None:
        asked = verbs.ask_headings(orders, env)
        table = verbs.proposed_headings(asked, shop, env)
        click.echo(json.dumps(headings.as_json(asked, table), ensure_ascii=False, indent=1) if as_json else table)
        if at_terminal and (asked.answers or asked.left):
            click.echo("Nothing was asked: give --shop FOLDER, where the answers are kept.", err=True)
        sys.exit(SOME_HELD if any(q.kind == "column" for q in asked.questions) else OK)
    click.echo("\n".join(headings.column_lines(headings.survey(orders, env.shop, env.shelf.kinds()))))
    asked = verbs.ask_headings(orders, env, _put)
    if asked.answers:
        kept, before = verbs.keep_headings(asked.answers, shop, env)
        click.echo(f"Kept in {kept}." + (f" As it was: {before}" if before else ""))
    elif not asked.left:
        click.echo("There is nothing to ask.")
    sys.exit(SOME_HELD if any(q.kind == "column" for q in asked.left) else OK)


def _at_terminal() -> bool:
    return sys.stdin.isatty()


def _put(question: headings.Question) -> str:
    """Put one question at the terminal until the answer is one of those allowed."""
    click.echo(f"\n{headings.put_in_words(question)}\n  One of: {', '.join((*question.allowed, headings.LATER))}")
    while True:
        typed = click.prompt("  Read as", default=question.guess or headings.LATER)
        says = headings.understood(typed, question)
        if says is not None:
            return says
        near = headings.suggested(typed, question)
        click.echo(f"  '{typed}' is none of them." + (f" Did you mean '{near}'?" if near else ""))


@main.command("kept")
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option(
    "--prune", type=click.IntRange(min=0), metavar="DAYS", help="Take away what was kept longer ago than this."
)
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON, for machines.")
def kept_command(folder: Path, prune: int | None, as_json: bool) -> None:
    """What was proved: the geometry kept under each proof's code, in the shop's folder or a week's.

    \b
    Example:  engrave kept our_shop
              engrave kept our_shop --prune 400
    """
    gone = verbs.prune_kept(folder, prune) if prune is not None else ()
    kept = verbs.kept_orders(folder)
    if as_json:
        rows = [{"code": code, "kept": day.isoformat(), "words": shown(facts)} for code, day, facts in kept]
        click.echo(json.dumps({"kept": rows, "taken_away": list(gone)}, ensure_ascii=False, indent=1))
        return
    if gone:
        click.echo(f"Taken away: {', '.join(gone)}.", err=True)
    click.echo(
        answers.table([{"code": c, "kept": d.isoformat(), "words": shown(f)} for c, d, f in kept])
        if kept
        else "Nothing is kept."
    )


@main.command("clock")
@click.argument("log", type=click.Path(path_type=Path))
@click.option("--machine", required=True, help="Which machine was timed; see 'engrave shelf machines'.")
@click.option(
    "--week", type=click.Path(file_okay=False, path_type=Path), help="The week's folder with its lids ('week' if none)."
)
@click.option("--orders", type=click.Path(path_type=Path), help="Or the orders table, to make the pieces anew.")
@click.option("--plot", type=click.Path(dir_okay=False, path_type=Path), help="Draw estimated against real (PNG).")
@click.option("--save", is_flag=True, help="Write the figures into the shop's machines table; the old one is kept.")
@common
def clock_command(
    log: Path, machine: str, week: Path | None, orders: Path | None, plot: Path | None, save: bool,
    shop: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Learn a machine from times really taken: a table of order, piece, and seconds or minutes.

    \b
    Example:  engrave clock log.csv --machine bench-router --week week --plot times.png
    """
    if week and orders:
        raise click.UsageError("give either --week or --orders, not both")
    if save and shop is None:
        raise click.UsageError("--save needs --shop FOLDER: the figures are written into that folder's machines.toml")
    env = environment(shop)
    learned = verbs.clock_log(log, machine, env, week=week or Path("week"), orders=orders)
    if plot is not None:
        inputs = [path for path in (log, orders) if path is not None]
        click.echo(f"Written: {verbs.write_timing_plot(learned, plot, env, inputs)}", err=True)
    saved = verbs.save_learned(learned, machine, shop) if save and shop is not None and learned.changed else None
    if as_json:
        click.echo(json.dumps(learned_json(learned, saved), ensure_ascii=False, indent=1))
    else:
        click.echo(learned_lines(learned, saved))


@main.command("shelf")
@click.argument("kind", type=click.Choice(verbs.SHELVES))
@click.option(
    "--picture",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Draw them (PNG): lids, typefaces, woods or cutters.",
)
@common
def shelf_command(kind: str, picture: Path | None, shop: Path | None, as_json: bool) -> None:
    """What is at hand: lids, typefaces, cutters, machines, woods, recipes, settings.

    \b
    Example:  engrave shelf typefaces --picture typefaces.png
    """
    env = environment(shop)
    rows = verbs.shelf(kind, env)
    for problem in {"lids": env.shop.notes, "typefaces": env.shelf.notes}.get(kind, ()):
        click.echo(f"{problem.level.capitalize()}: {problem.says}", err=True)
    if picture is not None:
        click.echo(f"Written: {verbs.write_shelf(kind, picture, env)}", err=True)
    click.echo(json.dumps(rows, ensure_ascii=False, indent=1) if as_json else answers.table(rows))


@main.command("testpiece")
@click.argument("figures", nargs=-1)
@click.option("--cutter", required=True, help="Which bit or beam; see 'engrave shelf cutters'.")
@click.option("--wood", required=True, help="Which wood; see 'engrave shelf woods'.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), help="Write the piece to be cut here.")
@click.option("--sheet", type=click.Path(dir_okay=False, path_type=Path), help="Write the sheet to print here (HTML).")
@click.option("--record", is_flag=True, help="Keep FIGURES in the shop's own recipes: along=0.3 across=0.5 ... (mm).")
@common
def testpiece_command(
    figures: tuple[str, ...], cutter: str, wood: str, svg: Path | None, sheet: Path | None, record: bool,
    shop: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """What does this cutter really do in this wood? A test piece for a scrap, and its figures kept.

    \b
    Example:  engrave testpiece --cutter co2-tube --wood oak --svg piece.svg --sheet piece.html
              engrave testpiece --cutter co2-tube --wood oak --shop our_shop --record along=0.3 across=0.5 mark=0.18
    """
    if record == bool(svg or sheet) or bool(figures) != record:
        raise click.UsageError("give --svg or --sheet to write a test piece, or --record and figures to keep them")
    if record and shop is None:
        raise click.UsageError("--record needs --shop FOLDER: the figures go into the shop's own recipes.toml")
    if record and shop is not None:
        table, kept, _ = verbs.record_figures(cutter, wood, figures, shop)
        told: dict[str, Any] = {"table": str(table), "kept": str(kept) if kept else None}
        says = f"Kept in {table}: {', '.join(figures)} for {cutter} in {wood}." + (
            f" As it was: {kept}" if kept else ""
        )
    else:
        written = verbs.write_test_piece(cutter, wood, svg, sheet, environment(shop))
        told = {"written": [str(f) for f in written]}
        says = "Written: " + ", ".join(map(str, written))
    click.echo(json.dumps(told, ensure_ascii=False) if as_json else says)


if __name__ == "__main__":
    from engrave.start import main as begin

    begin()
