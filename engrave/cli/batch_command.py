"""`engrave batch`: a week at once."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import click

from engrave.batch import run_week
from engrave.cli.command_options import OK, SOME_HELD, common
from engrave.intake.cells import YEARS
from engrave.output.terminal import folder_lines
from engrave.units import duration


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


@click.command("batch")
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
@click.option(
    "--engine", metavar="ADDRESS", help="Let several computers make it: dask://HOST:PORT, on a trusted network."
)
@click.option("--start", metavar="DAY", callback=_day, help="First working day, for the plan, such as 2026-11-30.")
@common
def command(
    orders: Path,
    out: Path,
    jobs: int | None,
    only: tuple[str, ...],
    piece: int | None,
    engine: str | None,
    start: date | None,
    shop: Path | None,
    as_json: bool,
) -> None:
    """Letter a week of orders: a lid and a proof each, and one page for the week.

    \b
    Example:  engrave batch orders_demo/ferry_week.csv --out week
    """
    if engine and jobs:
        raise click.UsageError("give --jobs for this computer or --engine for several, not both")
    done = run_week(
        orders,
        out,
        shop_folder=shop,
        jobs=jobs,
        only=only,
        piece=piece,
        start=start,
        progress=_progress(),
        engine=engine,
    )
    if as_json:
        for line in folder_lines(done.taken_away, done.changed_by_hand):
            click.echo(line, err=True)
    if as_json:
        with (done.folder / "week.json").open(encoding="utf-8") as told:
            for line in told:  # of a long week there is more than memory holds
                click.echo(line, nl=False)
    else:
        click.echo(done.summary)
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
