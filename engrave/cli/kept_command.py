"""`engrave kept`: orders kept as they were agreed."""

from __future__ import annotations

import json
from pathlib import Path

import click

from engrave import verbs
from engrave.approval import shown
from engrave.output.terminal import answers


@click.command("kept")
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option(
    "--prune", type=click.IntRange(min=0), metavar="DAYS", help="Take away what was kept longer ago than this."
)
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON, for machines.")
def command(folder: Path, prune: int | None, as_json: bool) -> None:
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
