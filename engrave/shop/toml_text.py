"""The text of a table (TOML), read within limits: depth, digits and parts of keys are counted before it is parsed.

The parser of the standard library calls itself for each level of brackets, turns every figure into a number however
long it is, and copies all parts of a key for each of them; a look at the brackets, digits and dots keeps that bounded.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from engrave.files import Unreadable, whole_file
from engrave.limits import TABLE_BYTES, TABLE_DEPTH, TABLE_DIGITS, TABLE_PARTS, Limit
from engrave.shop.own_tables import parsed_before

_TOKEN = re.compile(
    r'"""(?:[^"\\]|\\[\s\S]|"(?!""))*+"{3,5}'
    r"|'''(?:[^']|'(?!''))*+'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*+"'
    r"|'[^'\n]*+'"
    r"|#[^\n]*+"
    r"|(?P<open>[\[{])|(?P<close>[\]}])|(?P<next>[=,\n])|(?P<dot>\.)|(?P<digits>[0-9][0-9A-Za-z_]*+)"
    r"|[A-Za-z_-][0-9A-Za-z_-]*+"
)
"""What is looked at: texts and comments are passed over whole."""

WRITTEN = "The file is TOML: texts in quotes, lists in [ ], an entry's name in [brackets] on a line of its own."


class TableUnread(ValueError):
    """A table that cannot be read. found ends a sentence that begins with the file's name; allowed: what to do."""

    def __init__(self, found: str, allowed: str) -> None:
        super().__init__(f"{found}. {allowed}")
        self.found = found
        self.allowed = allowed


def read_toml(path: Path) -> dict[str, Any]:
    """Return a file's tables. Raises TableUnread when it cannot be opened, is no TOML, or goes beyond a limit."""
    try:
        data = whole_file(path, TABLE_BYTES)
    except Unreadable as why:
        raise TableUnread(str(why), "Check its name and rights.") from why
    known = parsed_before(path, data, parsed)
    if known is not None:
        return known
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TableUnread(f"is not in UTF-8 (byte {error.start + 1})", "Save it as UTF-8 in your editor.") from error
    return parsed(text)


def parsed(text: str) -> dict[str, Any]:
    """Return the tables of a text. Raises TableUnread when it is no TOML, or goes beyond a limit."""
    import tomllib  # our own tables are parsed once and kept

    _count(text)
    try:
        values = tomllib.loads(text)
    except ValueError as error:
        raise TableUnread(f"cannot be read: {error}", WRITTEN) from error
    if TABLE_DEPTH.passed(depth := _depth(values)):
        raise _beyond(TABLE_DEPTH, depth, len(text), text)
    return values


def _count(text: str) -> None:
    """Refuse what lies too deep, is too long a figure, or has too many parts in its key, with its line."""
    depth = parts = 0
    for token in _TOKEN.finditer(text):
        kind = token.lastgroup
        if kind == "open":
            depth += 1
            parts = 0
        elif kind == "close":
            depth -= 1
        elif kind == "next":
            parts = 0
        elif kind == "dot":
            parts += 1
        elif kind == "digits" and TABLE_DIGITS.passed(len(token[0])):
            raise _beyond(TABLE_DIGITS, len(token[0]), token.start(), text)
        for limit, count in ((TABLE_DEPTH, depth), (TABLE_PARTS, parts + 1)):
            if limit.passed(count):
                raise _beyond(limit, count, token.start(), text)


def _beyond(limit: Limit, count: int, at: int, text: str) -> TableUnread:
    line = text.count("\n", 0, at) + 1
    return TableUnread(f"cannot be read: {limit.of} (line {line}): {limit.told(count)}", WRITTEN)


def _depth(values: object) -> int:
    """Return how many levels of lists and tables a value has, without calling itself."""
    deepest = 0
    waiting: list[tuple[object, int]] = [(values, 0)]
    while waiting:
        value, level = waiting.pop()
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else None
        if inner is not None:
            deepest = max(deepest, level)
            waiting.extend((v, level + 1) for v in inner)
    return deepest
