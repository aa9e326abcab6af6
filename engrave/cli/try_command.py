"""`engrave try`: does it fit?"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from engrave import verbs
from engrave.cli.command_options import OK, SOME_HELD, common, text_options
from engrave.making import Env, environment
from engrave.output.numbers import in_shop_units
from engrave.output.terminal import answers


@click.command("try")
@click.argument("words")
@text_options
@click.option("--why", is_flag=True, help="Tell what limits the size, and the next best ways to break the lines.")
@click.option("--fix", is_flag=True, help="Apply the first remedy, and say so.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), help="Write the lid here (SVG).")
@click.option(
    "--proof", type=click.Path(dir_okay=False, path_type=Path), help="Write the proof here (PNG, or PDF by the name)."
)
@click.option(
    "--picture",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Draw what is lost or too thin, and with --why what limits the size (PNG).",
)
@click.option(
    "--choices",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Draw the words in every setting, for the buyer to choose from (PDF, or PNG by the name).",
)
@common
def command(
    words: str, why: bool, fix: bool, svg: Path | None, proof: Path | None, picture: Path | None, choices: Path | None,
    shop: Path | None, as_json: bool, **text: str,
) -> None:  # fmt: skip
    """Does it fit? Ask before promising it.

    \b
    Example:  engrave try "Wanda" --message "sixty summers" --lid round-caddy --wood oak
    """
    for asked, allowed in (
        (svg, verbs.LID_ENDINGS), (proof, verbs.PROOF_ENDINGS), (picture, verbs.PICTURE_ENDINGS),
        (choices, verbs.CHOICES_ENDINGS),
    ):  # fmt: skip
        if asked is not None:  # before any of them is made
            verbs.ending(asked, allowed)
    env = environment(shop)
    first = tried = verbs.try_words(words, env=env, quantity=1, advice=False, **text)
    at_once = not (as_json or fix)
    if at_once:  # the answer, before anything that would help is sought
        click.echo(answers.answered(first.entries, env.shop))
    tried = verbs.with_advice(tried, env)
    fixed = None
    if fix and tried.entries[0].remedies:
        fixed = tried.entries[0].remedies[0]
        tried = verbs.apply_remedy(tried, fixed, env)
    made, laid = (any(getattr(e.piece, is_so) for e in tried.entries) for is_so in ("is_made", "is_laid"))
    for file, writer, ready, why_not in (  # by name: loaded only if it is asked for
        (svg, "write_svg", made, "nothing can be cut as it stands"),
        (proof, "write_proof", laid, "no words could be laid on this lid"),  # those on hold are what buyers must see
    ):
        if file is not None and ready:
            written = getattr(verbs, writer)(tried, file, env)
            click.echo("Written: " + ", ".join(str(f) for f in written), err=True)
        elif file is not None:
            click.echo(f"Not written: {file}; {why_not}.", err=True)
    reasons = verbs.why(tried, env) if why else ()
    if picture is not None:
        drawn = verbs.write_picture(tried, picture, env, reasons)
        says = "Written: " + ", ".join(map(str, drawn)) if drawn else f"Not drawn: {picture}; nothing could be set."
        click.echo(says, err=True)
    if choices is not None:
        _choices(tried, choices, env)
    if as_json:
        click.echo(json.dumps(answers.as_json(tried.entries, fixed, reasons), ensure_ascii=False, indent=1))
    elif at_once:
        if more := answers.advice(first.entries, tried.entries, env.shop, reasons):
            click.echo(more)
    else:
        click.echo(answers.tried(tried.entries, env.shop, fixed, reasons))
    sys.exit(SOME_HELD if any(e.piece.verdict == "hold" for e in tried.entries) else OK)


def _choices(tried: verbs.Tried, file: Path, env: Env) -> None:
    """Draw the sheet of choices, and tell what is not on it."""
    found = verbs.all_choices(tried, env)
    for left in found.left_out:
        click.echo(f"Not on the sheet: {left.setting}. {in_shop_units(left.says, env.shop)}", err=True)
    click.echo(f"Written: {verbs.write_choices(found, file, env)}", err=True)
