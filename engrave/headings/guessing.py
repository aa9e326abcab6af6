"""What an unread column or an unknown option most likely is: offered, never taken."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping, Sequence

from engrave.headings.words import NOT_NEEDED, OF_FIELDS
from engrave.intake.cells import WORDS_OF_YES_AND_NO, option
from engrave.intake.headers import fold, heading_names
from engrave.shop.mistakes import LONGEST_MEANT, plainly
from engrave.shop.models import Intake
from engrave.tasks.choosing import matched

_SEVERAL = re.compile(r"(?:\A|[/;,|\n])\s*[^\W\d][^/;,|\n:=]{0,39}[:=]\s*\S")
_MOST = 0.5
"""Share of cells that must speak for a guess."""


def guess_field(heading: str, cells: Sequence[str], names: Mapping[str, Mapping[str, str]], intake: Intake) -> str:
    """Return what a column most likely holds: by its cells where the tables know them, else by its heading; '' if unsure.

    names: for each column of options, the ids that the shop has and their titles; {} for an option's label.
    """
    known = heading_names(intake).get(fold(heading), "")
    if known:
        return known
    if names and _share(cells, lambda cell: len(_SEVERAL.findall(cell)) >= 1) > _MOST:
        return "options"
    for field, entries in names.items():
        ids = intake.values.get(field, {})
        known_ones = [cell for cell in cells if matched(option(cell, ids), entries) is not None]
        if len(known_ones) > _MOST * len(cells):
            return field
    plain = fold(heading)
    if (
        any(stem in plain for stem in NOT_NEEDED)
        or _share(cells, lambda cell: fold(cell) in WORDS_OF_YES_AND_NO) > _MOST
    ):
        return "not needed"
    return next((field for field, stems in OF_FIELDS if any(stem in plain for stem in stems)), "")


def _share(cells: Sequence[str], is_one: Callable[[str], bool]) -> float:
    return sum(1 for cell in cells if is_one(cell)) / len(cells) if cells else 0.0


def guess_value(text: str, entries: Mapping[str, str], ids: Mapping[str, str]) -> str:
    """Return the entry whose id, title or other name is likest to a text, '' if none is near.

    entries: ids with their titles; ids: other names, with what they mean. Nearer than the tables ask of a slip of the
    pen: rosewood is not basswood.
    """
    names = {**{title: i for i, title in entries.items()}, **{i: i for i in entries}, **ids}
    plain = plainly(text)
    near = [name for name in names if names[name] in entries and _alike(plain, plainly(name)) >= _NEAR]
    if near:
        return names[max(near, key=lambda name: _alike(plain, plainly(name)))]
    words = {fold(word) for word in re.split(r"[\W_]+", text) if len(word) > _SHORT}
    best = {i for name, i in names.items() if i in entries and words & {fold(w) for w in re.split(r"[\W_]+", name)}}
    return best.pop() if len(best) == 1 else ""


def _alike(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, one, other).ratio() if len(one) <= LONGEST_MEANT else 0.0


_NEAR = 0.8
_SHORT = 2
"""Letters of a word that says nothing by itself."""
