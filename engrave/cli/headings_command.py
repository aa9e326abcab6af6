"""`engrave headings`: what are the columns of this table?"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from engrave import headings, verbs
from engrave.cli.command_options import OK, SOME_HELD
from engrave.making import environment


@click.command("headings")
@click.argument("orders", type=click.Path(path_type=Path))
@click.option(
    "--shop",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder of the shop's own tables, where the answers are kept; made if it is not there.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON, for machines; nothing is asked.")
def command(orders: Path, shop: Path | None, as_json: bool) -> None:
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
