"""One ordered piece as the table gives it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from engrave.problems import Problem


@dataclass(frozen=True, slots=True)
class Words:
    """What is to be lettered, by field. A line feed is a break the buyer asked for."""

    name: str = ""
    message: str = ""
    foot: str = ""

    def filled(self) -> tuple[tuple[str, str], ...]:
        """Return (field, words) of every field that is not empty, in reading order."""
        every = (("name", self.name), ("message", self.message), ("foot", self.foot))
        return tuple((f, w) for f, w in every if w.strip())


@dataclass(frozen=True, slots=True)
class Order:
    """One row of the orders table: one piece, `piece` counting from 1 within its order in row order.

    row: line number of the table's row as a spreadsheet shows it (the header is row 1); 0 for words typed by hand.
    received: the cells' words exactly as they came; words: the same made safe, every change listed in `changes`.
    checked: the signs of looks that the shop has accepted. recut, recut_why: how many of its lids are cut again, and why;
    recut_was: the proof code of what was spoiled, '' if nobody knows.
    due: ISO date or ''. blank: a plain lid on purpose. extra: unknown columns, carried untouched to week.csv.
    lid, typeface, cutter, wood, setting: ids as mapped, '' where the table says nothing.
    artwork: the file name of a drawing of the shop's own that is cut too.
    spacing: extra space between letters as '3 %' of the capitals' height; '' if not said. thicken: by how much every stroke
    is drawn thicker, in the same way. letter_features: OpenType tags of the forms asked for, as 'onum smcp'.
    lettering_size: 'quiet', 'usual', 'large', or '' where the setting says it. line_weight: how wide single lines are drawn,
    as 'auto' or '8 %'; '' where setting and recipe say it. depth: how deep it is cut, as '0.5 mm'; '' where the recipe says it.
    """

    id: str
    piece: int
    row: int
    words: Words
    received: Words
    lid: str = ""
    typeface: str = ""
    cutter: str = ""
    wood: str = ""
    setting: str = ""
    spacing: str = ""
    thicken: str = ""
    letter_features: str = ""
    lettering_size: str = ""
    line_weight: str = ""
    artwork: str = ""
    depth: str = ""
    quantity: int = 1
    matching: str = ""
    due: str = ""
    approved: str = ""
    checked: str = ""
    recut: int = 0
    recut_why: str = ""
    recut_was: str = ""
    blank: bool = False
    note: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    changes: tuple[str, ...] = ()
