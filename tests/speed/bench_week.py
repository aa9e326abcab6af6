"""What a week costs again when one row of it changed, as a share of the first run.

python tests/speed/bench_week.py [PIECES]     (what a long table costs a piece: bench_long.py)
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from engrave import batch

HEAD = "order,name,message,lid,typeface,wood\n"
NAMES = [
    "Ida",
    "Tom",
    "Una",
    "Ole",
    "Wanda",
    "Anna",
    "Bruno",
    "Clara",
    "Emil",
    "Freya",
    "Greta",
    "Hugo",
    "Iris",
    "Jonas",
    "Karin",
    "Lars",
    "Mira",
    "Nora",
    "Otto",
    "Paula",
]
LIDS, FACES, WOODS = ("round-caddy", "card-box"), ("withy", "vollkorn", "quicksand"), ("maple", "walnut", "cherry")


def rows(count: int) -> list[str]:
    return [
        f"P-{i},{NAMES[i % 20]} {NAMES[(7 * i) % 20]},with all our love,{LIDS[i % 2]},{FACES[i % 3]},{WOODS[(i // 3) % 3]}\n"
        for i in range(count)
    ]


def seconds(work: Callable[[], Any]) -> tuple[float, Any]:
    begun = time.perf_counter()
    done = work()
    return time.perf_counter() - begun, done


def changed_row(at: Path, count: int) -> None:
    table, some = at / "orders.csv", rows(count)
    table.write_text(HEAD + "".join(some), "utf-8")
    first, _ = seconds(lambda: batch.run_week(table, at / "out"))
    some[count // 2] = some[count // 2].replace("with all our love", "for the keys")
    table.write_text(HEAD + "".join(some), "utf-8")
    again, done = seconds(lambda: batch.run_week(table, at / "out"))
    print(f"{count} pieces {first:.1f} s; one row changed {again:.1f} s, {done.made} made: {again / first:.3f} of it")


def main() -> None:
    """Print it."""
    with tempfile.TemporaryDirectory() as folder:
        changed_row(Path(folder), int(sys.argv[1]) if len(sys.argv) > 1 else 200)


if __name__ == "__main__":
    main()
