"""`engrave clock`: how fast is the machine really?"""

from __future__ import annotations

import json
from pathlib import Path

import click

from engrave import verbs
from engrave.cli.command_options import common
from engrave.learning.learning_report import learned_json, learned_lines
from engrave.making import environment


@click.command("clock")
@click.argument("log", type=click.Path(path_type=Path))
@click.option("--machine", required=True, help="Which machine was timed; see 'engrave shelf machines'.")
@click.option(
    "--week", type=click.Path(file_okay=False, path_type=Path), help="The week's folder with its lids ('week' if none)."
)
@click.option("--orders", type=click.Path(path_type=Path), help="Or the orders table, to make the pieces anew.")
@click.option("--plot", type=click.Path(dir_okay=False, path_type=Path), help="Draw estimated against real (PNG).")
@click.option("--save", is_flag=True, help="Write the figures into the shop's machines table; the old one is kept.")
@common
def command(
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
