"""How long it takes to judge whether words are talk to the shop, in parts of the time that reading the rules takes.

python tests/speed/bench_wording.py
"""

from __future__ import annotations

import csv
import time
from pathlib import Path

from engrave.intake.wording.judging import remarks

DATA = Path(__file__).parents[1] / "intake" / "data"
judged = remarks.__wrapped__  # without the memory of cells that were judged before


def seconds(words: list[tuple[str, str]]) -> float:
    begun = time.process_time()
    for text, field in words:
        judged(text, field)
    return time.process_time() - begun


def main() -> None:
    cells = []
    for path in sorted(DATA.glob("cells_*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            cells += [(row["words"], row["field"]) for row in csv.DictReader(file) if row["words"].strip()]
    first = seconds([("Please engrave Anna", "name")])
    seconds(cells)  # every sequence is made ready once
    each = seconds(cells) / len(cells)
    print(
        f"rules read: {1000 * first:.0f} ms of the processor; a cell: {1000 * each:.3f} ms, 1/{first / each:.0f} of that"
    )
    line = "The tide comes in, the tide goes out, the ferry waits for none, and yet it waited once for me. "
    short, long = seconds([(line * 20, "message")]), seconds([(line * 160, "message")])
    print(
        f"a cell of {len(line) * 160} letters takes {long / short:.1f} times one of {len(line) * 20}: 8 times would be linear"
    )


if __name__ == "__main__":
    main()
