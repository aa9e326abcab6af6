"""How words are broken, counted: joints parted of those that could be, and how often a letterer's first choice is taken.

`python tests/setting/breaking.py [-v] [--sizes] [LID ...]` prints the shares for both halves of the labelled texts and for
further ones; with --sizes, how often more than 35 % of the largest fit is given up, and how often for strong joints.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from engrave.intake.order import Order, Words
from engrave.setting import Lettering, place
from engrave.setting.text.joint_data import joint_table
from engrave.shop import Shop, load_shop
from engrave.tasks import Task, define_all
from engrave.typefaces import Shelf, load_shelf

FILE = Path(__file__).parent / "data" / "breaks.json"
FURTHER = FILE.with_name("breaks_further.json")
FIELDS = ("name", "message", "foot")
LEAST_KEPT = 0.649
"""Share of the largest fit that is kept: 35 % given up at most, and rounding."""

WEIGHED_AGAINST_SIZE = (
    "even", "fewer_lines", "joint_strong", "joint_weak", "joint_plain", "ampersand", "short_line", "straddle", "air", "optical",
)  # fmt: skip
ROUND_AND_SQUARE = ("round-caddy", "card-box", "oval-box")


@dataclass(frozen=True)
class Labelled:
    """Words with the joints that stay whole, as (place of the word after, weight), and the breakings chosen first."""

    words: Words
    whole: dict[str, list[tuple[int, str]]]
    first: dict[str, list[list[str]]]
    typed: tuple[str, ...]


@cache
def labelled(file: Path = FILE) -> tuple[Labelled, ...]:
    """Return all labelled texts of a file."""
    texts = json.loads(file.read_text(encoding="utf-8"))["texts"]
    return tuple(
        Labelled(Words(*(t.get(f, "") for f in FIELDS)), t["whole"], t["first"], tuple(t.get("typed", ())))
        for t in texts
    )


def starts(text: str, lines: Sequence[str]) -> list[int]:
    """Return at which character each line begins."""
    at, out = 0, []
    for line in lines:
        out.append(text.index(line, at))
        at = out[-1] + len(line)
    return out


def count(laid: Lettering, text: Labelled, into: Counter[str]) -> list[str]:
    """Add what one lettering did to the counts; return what was parted."""
    parted = []
    joiners = joint_table().words["signs"].union(*(x.conjunctions for x in joint_table().languages.values()))
    for field in FIELDS:
        words = getattr(text.words, field)
        lines = [line.text for line in laid.lines if line.field == field]
        if len(lines) < 2:
            continue
        alone = {k for k in range(1, len(lines) - 1) if lines[k].casefold() in joiners}  # '&' between two names
        ends = {s for k, s in enumerate(starts(words, lines)) if k and not {k, k - 1} & alone}
        for at, weight in text.whole.get(field, []):
            into[weight] += 1
            if at in ends:
                into[f"{weight} parted"] += 1
                parted.append(f"{weight} at {at}: {' / '.join(lines)}")
        if field in text.first:
            into["chosen"] += 1
            into["chosen first"] += lines in text.first[field]
    return parted


def _task(shop: Shop, shelf: Shelf, text: Labelled, lid: str) -> Task:
    order = Order("B-1", 1, 2, text.words, text.words, lid=lid)
    return next(t for t in define_all([order], shop, shelf.kinds()) if isinstance(t, Task))


def measured(
    shop: Shop, shelf: Shelf, texts: Sequence[Labelled], lids: Sequence[str], tell: bool = False
) -> Counter[str]:
    """Return the counts for texts set on lids with the lids' own typefaces."""
    into: Counter[str] = Counter()
    for text in texts:
        for lid in lids:
            for line in count(place(_task(shop, shelf, text, lid), shelf), text, into):
                if tell:
                    print(f"  {lid}: {line}")
    return into


def shares(counts: Counter[str]) -> tuple[float, float, float]:
    """Return strong joints parted, weak joints parted and first choices taken, as shares of what could have been."""
    return (
        counts["strong parted"] / counts["strong"],
        counts["weak parted"] / counts["weak"],
        counts["chosen first"] / counts["chosen"],
    )


def kept_shares(shop: Shop, shelf: Shelf, texts: Sequence[Labelled], lids: Sequence[str]) -> list[tuple[float, bool]]:
    """Return by text and lid the share that is kept of the largest fit, and, below the least, whether strong joints take it.

    The largest fit is that under the same greatest size, with no joint, line, air or middle weighed.
    """
    out = []
    for text in texts:
        for lid in lids:
            task = _task(shop, shelf, text, lid)
            free = replace(task.setting, **dict.fromkeys(WEIGHED_AGAINST_SIZE, 0.0), fill=1.0)
            loose = replace(task.setting, joint_strong=0.0, ampersand=0.0)
            laid, largest = place(task, shelf), place(replace(task, setting=free), shelf).cap_mm
            if largest:
                kept = laid.cap_mm / largest
                parted = place(replace(task, setting=loose), shelf) if kept < LEAST_KEPT else laid
                out.append((kept, [x.text for x in parted.lines] != [x.text for x in laid.lines]))
    return out


def main(arguments: Sequence[str]) -> None:
    """Print the shares for the half on which the figures were chosen, and for the half that was held aside."""
    shop, shelf = load_shop(), load_shelf()
    lids = [a for a in arguments if not a.startswith("-")] or list(shop.lids)
    sets = (("chosen on", labelled()[::2]), ("held aside", labelled()[1::2]), ("further", labelled(FURTHER)))
    for name, half in sets:
        strong, weak, first = shares(measured(shop, shelf, half, lids, "-v" in arguments))
        print(f"{name}: strong parted {strong:.1%}, weak parted {weak:.1%}, first choice {first:.1%}")
        if "--sizes" in arguments:
            kept = kept_shares(shop, shelf, half, lids)
            below = [strongly for share, strongly in kept if share < LEAST_KEPT]
            print(
                f"  below {LEAST_KEPT:.0%} of the largest fit: {len(below)} of {len(kept)}, {sum(below)} for strong joints"
            )


if __name__ == "__main__":
    main(sys.argv[1:])
