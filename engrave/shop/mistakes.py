"""What is wrong with a shop's tables, all of it at once: file, entry, key, what was found, what is allowed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from engrave.errors import ForPeople

CLOSE_LIKENESS = 0.6
"""Likeness above which a name is suggested for a misspelt one: difflib's own default, which finds one or two slips."""

LONGEST_MEANT = 60
"""Letters: a longer name is no slip of the pen of any name in a table, and takes long to compare."""

MOST_TOLD = 100
"""Mistakes told at most; the rest is counted. Whoever mends a hundred runs the command again."""

MOST_LISTED = 40
"""Allowed names listed at most; the rest is counted. Longer lists hide what they are meant to show."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing wrong in a table. entry, key may be empty when the whole file is meant; hint is a likely spelling."""

    file: str
    entry: str
    key: str
    found: str
    allowed: str
    hint: str = ""

    def __str__(self) -> str:
        place = ", ".join(p for p in (self.file, f"[{self.entry}]" if self.entry else "", self.key) if p)
        meant = f" Did you mean '{self.hint}'?" if self.hint else ""
        return f"{place}: {self.found}.{meant} {self.allowed}".rstrip()


class ShopError(ForPeople, ValueError):
    """The tables cannot be used. `mistakes` holds everything that was found, in the order of the files."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(mistakes)
        count = len(self.mistakes)
        head = f"The shop's tables have {count:,} mistake{'' if count == 1 else 's'}:"
        lines = [f"  {m}" for m in self.mistakes[:MOST_TOLD]]
        if count > MOST_TOLD:
            lines.append(f"  and {count - MOST_TOLD:,} more; mend these first")
        super().__init__("\n".join([head, *lines]))


def close(name: str, names: Iterable[str]) -> str:
    """Return the name that was most likely meant, or ''. Case, spaces and underscores do not count."""
    plain = {plainly(n): n for n in names}
    if plainly(name) in plain:
        return plain[plainly(name)]
    if len(name) > LONGEST_MEANT:
        return ""
    from difflib import get_close_matches  # sound tables need none

    found = get_close_matches(plainly(name), plain, n=1, cutoff=CLOSE_LIKENESS)
    return plain[found[0]] if found else ""


def plainly(name: str) -> str:
    """Return a name as it is compared: lower case, without spaces, underscores and dashes."""
    return "".join(name.casefold().replace("_", " ").replace("-", " ").split())


def listed(names: Iterable[str]) -> str:
    """Return names as a list for people, cut short where it would grow too long."""
    every = list(names)
    shown = ", ".join(every[:MOST_LISTED])
    return f"{shown} and {len(every) - MOST_LISTED} more" if len(every) > MOST_LISTED else shown
