"""`engrave quote`: what does it add to the price?"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import NoReturn

import click

from engrave import verbs
from engrave.cli.command_options import OK, SOME_HELD, common, text_options
from engrave.listed_prices import price_list
from engrave.making import Env, environment
from engrave.output.numbers import in_shop_units
from engrave.output.price_lists import HEAD, list_rows, list_text
from engrave.output.terminal import answers


@click.command("quote")
@click.argument("orders", type=click.Path(path_type=Path), required=False)
@click.option("--words", default="", help="Quote one text instead of a table.")
@click.option("--list", "listing", is_flag=True, help="Price list: every lid with a name, a message, words inside.")
@click.option(
    "--write",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the list here (.csv, .html or .pdf), with --list.",
)
@click.option("--quantity", type=click.IntRange(min=1), default=1, help="How many alike, with --words.")
@click.option("--rush", is_flag=True, help="Add the shop's charge for a rush order.")
@click.option("--gift", is_flag=True, help="Add the shop's charge for a message by hand in the parcel.")
@click.option("--changes", type=click.IntRange(min=0), default=0, help="Proof changes the buyer asked for.")
@text_options
@common
def command(
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
        beside = "a table of orders" if orders else "--list"
        raise click.UsageError(f"{', '.join(idle)}: only with --words, not with {beside}")
    env = environment(shop)
    if listing:
        _price_list(write, env, as_json)
    if orders:
        week = verbs.quote_week(orders, env=env, shop_folder=shop)
        for problem in week.notes:
            if problem.level != "note":
                click.echo(f"{problem.level.capitalize()}: {in_shop_units(problem.says, env.shop)}", err=True)
        if as_json:
            click.echo(json.dumps(answers.week_quote_json(week), ensure_ascii=False, indent=1))
        else:
            click.echo(answers.week_quote(week, env.shop))
        sys.exit(SOME_HELD if week.totals.hold else OK)
    tried = verbs.try_words(words, env=env, advice=True, quantity=quantity, **text)
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
