"""The command line: reads what was asked, calls the library, prints the answer (results to stdout, else to stderr).

Each command stands in a module of its own, loaded when it is used: help and one command wait for nothing else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from engrave.cli.command_options import OK, SOME_HELD, STOPPED, UNUSABLE
from engrave.cli.program import Commands, Program
from engrave.on_use import loads_on_use
from engrave.version import VERSION

if TYPE_CHECKING:
    from engrave.cli.batch_command import progress_line

__all__ = ["COMMANDS", "OK", "SOME_HELD", "STOPPED", "UNUSABLE", "main", "progress_line"]

COMMANDS = {
    "batch": "Letter a week of orders: a lid and a proof each, and one page for the week.",
    "clock": "Learn a machine from times really taken: a table of order, piece, and seconds or minutes.",
    "headings": "What are the columns of this table? Asked once, and kept in the shop's intake.toml.",
    "kept": "What was proved: the geometry kept under each proof's code, in the shop's folder or a week's.",
    "quote": "What does the engraving add to the price? Cost by part, price, ladder of quantities.",
    "shelf": "What is at hand: lids, typefaces, cutters, machines, woods, recipes, settings.",
    "testpiece": "What does this cutter really do in this wood? A test piece for a scrap, and its figures kept.",
    "try": "Does it fit? Ask before promising it.",
}
"""What the list of commands says of each, as each command's own help begins."""

__getattr__ = loads_on_use(__name__, {"batch_command": ("progress_line",)})


@click.group(
    cls=Program,
    commands=Commands(COMMANDS),
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(VERSION, prog_name="engrave")
def main() -> None:
    """Letter box lids: fit the words, check the cut, time it, price it, draw it.

    \b
    A week at once:            engrave batch orders.csv --out week
    Does it fit?               engrave try "Wanda" --lid round-caddy
    What does it add?          engrave quote --words "Wanda" --lid round-caddy
    What can this cutter do?   engrave testpiece --cutter v60 --wood maple --svg piece.svg
    How fast is it really?     engrave clock log.csv --machine bench-router
    """
