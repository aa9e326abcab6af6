"""The group of commands: each loaded when it is used, and what is wrong told without a traceback."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, MutableMapping
from importlib import import_module
from typing import Any

import click

from engrave import signals
from engrave.cli.command_options import OK, STOPPED
from engrave.errors import ForPeople


class Commands(MutableMapping[str, click.Command]):
    """Commands by name, each imported from its module when it is asked for. says: what the list says of each."""

    def __init__(self, says: Mapping[str, str]) -> None:
        self.says = says
        self._loaded: dict[str, click.Command] = {}

    def __getitem__(self, name: str) -> click.Command:
        if name not in self._loaded:
            if name not in self.says:
                raise KeyError(name)
            self._loaded[name] = import_module(f"engrave.cli.{name}_command").command
        return self._loaded[name]

    def __setitem__(self, name: str, command: click.Command) -> None:
        self._loaded[name] = command

    def __delitem__(self, name: str) -> None:
        del self._loaded[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.says)

    def __len__(self) -> int:
        return len(self.says)


class Program(click.Group):
    """The group of commands; turns what is wrong with tables and files into a message and its exit status."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from what is said of each, without loading any."""
        if not isinstance(self.commands, Commands):
            super().format_commands(ctx, formatter)
            return
        says = self.commands.says
        room = formatter.width - 6 - max(map(len, says))
        with formatter.section("Commands"):
            formatter.write_dl([(name, _short(says[name], room)) for name in sorted(says)])

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; errors for people go to stderr, without a traceback."""
        try:
            return super().invoke(ctx)
        except ForPeople as error:
            click.echo(str(error), err=True)
            sys.exit(error.status)
        except KeyboardInterrupt:
            click.echo(signals.STOPPED_SAYS, err=True)
            sys.exit(STOPPED)
        except BrokenPipeError:
            sys.exit(OK)


def _short(says: str, room: int) -> str:
    """Return what is said of a command as its own short help would be."""
    return click.Command(None, help=says).get_short_help_str(room)
