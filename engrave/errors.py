"""What stops a command with a sentence for people, in one tree; light, since the command line knows nothing else at first.

    ForPeople                    message as it is printed; status: exit status of the command
    |- ShopError                 2  the shop's tables cannot be used (engrave.shop)
    |- OrdersError               2  the table of orders cannot be used (engrave.intake)
    |- FolderError               2  the week's folder cannot be used (engrave.output.week_folder)
    |- AskedWrong                2  what was asked cannot be answered (here)
    `- Stopped                   3  the run ended midway (engrave.batch)

Other exceptions of the package are caught within it: each names in its docstring who raises it.
"""

from __future__ import annotations

from typing import ClassVar

from engrave import signals

UNUSABLE, STOPPED = 2, signals.STOPPED


class ForPeople(Exception):
    """The command cannot go on; the message says what, where, why, and what to do. status: the program's exit status."""

    status: ClassVar[int] = UNUSABLE


class AskedWrong(ForPeople, ValueError):
    """What was asked cannot be answered; the message says why and what to ask instead."""
