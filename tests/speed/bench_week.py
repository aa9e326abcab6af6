"""What a week costs again when one row of it changed, as a share of the first run, and what a long table costs a piece.

python tests/speed/bench_week.py [PIECES [LONG]]     PIECES are really made; LONG are stand-ins of one, for the pages and the store
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from engrave import batch
from engrave.batch import unit_written

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


def long_table(at: Path, count: int) -> None:
    """Make one piece and take it for all: what is left is the store, the pages and what the week remembers."""
    real, known = unit_written.draw_unit, []

    def stand_in(whats: Sequence[Any], env: Any, *rest: Any) -> Any:
        if not known:
            known.extend(real(whats[:1], env, *rest))
        piece = known[0].entry.piece
        entries = [replace(known[0].entry, piece=replace(piece, order=w.order, piece=w.piece)) for w in whats]
        return [replace(known[0], entry=entry) for entry in entries]

    unit_written.draw_unit = stand_in
    for number in (count // 4, count):
        table = at / f"{number}.csv"
        table.write_text(
            HEAD + rows(1)[0] + "".join(f"L-{i},Ida,,card-box,withy,maple\n" for i in range(1, number)), "utf-8"
        )
        begun = time.process_time()
        batch.run_week(table, at / f"out{number}", jobs=1)
        spent = 1000 * (time.process_time() - begun) / number
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{number} stand-ins: {spent:.1f} ms of CPU each, at most {most:.0f} MB")
    unit_written.draw_unit = real


def main() -> None:
    """Print both."""
    asked = [int(word) for word in sys.argv[1:]]
    with tempfile.TemporaryDirectory() as folder:
        changed_row(Path(folder), asked[0] if asked else 200)
        long_table(Path(folder), asked[1] if len(asked) > 1 else 2000)


if __name__ == "__main__":
    main()
