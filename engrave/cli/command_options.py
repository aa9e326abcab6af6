"""What every command has: exit statuses, and the options that several take."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from engrave import errors

OK, SOME_HELD, UNUSABLE, STOPPED = 0, 1, errors.UNUSABLE, errors.STOPPED


Command = TypeVar("Command", bound=Callable[..., Any])


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
            ("artwork", "A drawing of the shop's own to cut too: a file in its folder 'artwork'."),
            ("depth", "How deep it is cut, such as '0.5 mm', instead of as the recipe says."),
            ("lettering-size", "How large: quiet, usual or large."),
            (
                "line-weight",
                "How wide single lines are: auto, plain, or a share of the capitals' height, such as '8 %'.",
            ),
            ("letter-features", "Other forms of letters and figures, such as 'old-style figures' or 'small capitals'."),
        ]
    ):
        command = click.option(f"--{name}", default="", help=says)(command)
    return command
