"""Reading a file that may be anything: a folder, a device, too large, out of reach. The reason is a sentence's end."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from engrave.limits import Limit


class Unreadable(ValueError):
    """A file that is not read. The message ends a sentence that begins with its name: 'is a folder, not a file'."""


def whole_file(path: Path, limit: Limit) -> bytes:
    """Return all bytes of a plain file of no more than the limit's bytes. Raises Unreadable with the reason.

    A device or a pipe is never opened: reading one may never end.
    """
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise Unreadable("is a folder, not a file")
        if not stat.S_ISREG(found.st_mode):
            raise Unreadable("is a device or a pipe, not a file")
        if limit.passed(found.st_size):
            raise Unreadable(f"holds {limit.told(found.st_size)}")
        with path.open("rb") as file:
            data = file.read(limit.most + 1)
    except OSError as error:
        raise Unreadable(f"cannot be opened: {reason(error)}") from error
    except ValueError as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable("cannot be opened: its name holds a character that no file's name can have") from error
    if limit.passed(len(data)):  # it grew while it was read
        raise Unreadable(f"holds {limit.told()}")
    return data


def reason(error: OSError) -> str:
    """Return why a file could not be opened or written, in the system's words, without its numbers."""
    return error.strerror or str(error) or type(error).__name__


def is_there(path: Path) -> bool:
    """Tell whether a name stands in its folder, be it a link that leads nowhere or in a circle."""
    try:
        return os.path.lexists(path)
    except ValueError:
        return False


def same_file(one: Path, other: Path) -> bool:
    """Tell whether two names lead to one file that is there."""
    try:
        return os.path.samefile(one, other)
    except (OSError, ValueError):
        return False
