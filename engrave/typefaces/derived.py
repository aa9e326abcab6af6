"""A typeface made of another one, letter by letter: what stays as it was."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.typefaces.run import Typeface


@dataclass(frozen=True, slots=True)
class Derived:
    """What a typeface has of the one that it is drawn from."""

    drawn: Typeface

    @property
    def id(self) -> str:
        """Name of its folder: it is the same typeface."""
        return self.drawn.id

    @property
    def title(self) -> str:
        """Name for people."""
        return self.drawn.title

    @property
    def joined(self) -> bool:
        """Whether letters touch by design."""
        return self.drawn.joined

    @property
    def bears_capitals(self) -> bool:
        """Whether words all in capitals look right in it."""
        return self.drawn.bears_capitals
