"""What the system says to a program that is to end, made into one exception."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from types import FrameType

SIGNAL_NAMES = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
"""Ctrl-C, a shutdown, a closed terminal, Ctrl-Break."""

_asked: list[int] = []


class Interrupted(BaseException):
    """Somebody, or the system, asked the program to end. No Exception, so that no piece's own trouble hides it."""


STOPPED_SAYS = "Stopped: interrupted. Run the same command again."

STOPPED = 3
"""Exit status of a run that was stopped midway."""

Handler = Callable[[int, FrameType | None], None]


def heed(at_once: bool = False) -> None:
    """Let every signal that asks the program to end raise `Interrupted`; one that is ignored (nohup) stays ignored.

    at_once: end the program there and then, with a sentence. For as long as libraries are imported: some of them print
    or change what is raised in them, and there is nothing to put away yet.
    """
    for number in _numbers():
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _leave if at_once else _raise)


def ignore() -> None:
    """Let nothing more interrupt what is said last."""
    for number in _numbers():
        if signal.getsignal(number) in (_raise, _leave):
            signal.signal(number, signal.SIG_IGN)


def asked() -> bool:
    """Tell whether a signal asked the program to end: a library may have made another error of `Interrupted`."""
    return bool(_asked)


def _numbers() -> list[signal.Signals]:
    return [getattr(signal, name) for name in SIGNAL_NAMES if hasattr(signal, name)]


def _raise(number: int, _frame: FrameType | None) -> None:
    _asked.append(number)
    raise Interrupted


def _leave(_number: int, _frame: FrameType | None) -> None:
    os.write(2, f"{STOPPED_SAYS}\n".encode())
    os._exit(STOPPED)
