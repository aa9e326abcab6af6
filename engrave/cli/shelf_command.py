"""`engrave shelf`: what is at hand."""

from __future__ import annotations

import json
from pathlib import Path

import click

from engrave import verbs
from engrave.cli.command_options import common
from engrave.making import environment
from engrave.output.terminal import answers


@click.command("shelf")
@click.argument("kind", type=click.Choice(verbs.SHELVES))
@click.option(
    "--picture",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Draw them (PNG): lids, typefaces, woods or cutters.",
)
@common
def command(kind: str, picture: Path | None, shop: Path | None, as_json: bool) -> None:
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
