"""What is told of three hundred held pieces, kept beside the tests: seeking remedies faster must not make them others.

python tests/tools/held_remedies.py     writes anew what is told of the orders in `tests/data/held_remedies.jsonl`

The orders were drawn evenly from all tables, as `tests/speed/bench_remedies.py` draws them (seeds 5 and 77), and told by the
program of 26 November 2026. To be run where remedies are meant to change; the lines that differ are then to be read.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from engrave.advising import letters_told, nothing_helps
from engrave.making import Env, environment
from engrave.verbs import try_words
from engrave.verbs.words_tried import with_advice
from engrave.week import Entry

KEPT = Path(__file__).parent.parent / "data" / "held_remedies.jsonl"


def kept() -> list[dict[str, Any]]:
    """Return the orders that are kept, each with what was told of it."""
    return [json.loads(line) for line in KEPT.read_text("utf-8").splitlines()]


def told(ordered: dict[str, str], env: Env) -> list[dict[str, Any]]:
    """Return what is told of each area of an order."""
    tried = try_words(env=env, advice=False, **ordered)  # type: ignore[arg-type]
    return [_told(entry) for entry in with_advice(tried, env).entries]


def _told(entry: Entry) -> dict[str, Any]:
    return {
        "holds": sorted({p.code for p in entry.piece.problems if p.level == "hold"}),
        "remedies": [
            {"change": [list(pair) for pair in r.change], "says": r.says, "leaves": list(r.leaves)}
            for r in entry.remedies
        ],
        "else": nothing_helps(entry.piece, entry.remedies),
        "letters": letters_told(entry.letters),
    }


def keep(held: Iterable[dict[str, Any]]) -> None:
    """Write orders with what is told of them, one a line."""
    KEPT.write_text("".join(json.dumps(one, ensure_ascii=False) + "\n" for one in held), "utf-8")


def main() -> None:
    env = environment()
    keep([{"ordered": one["ordered"], "told": told(one["ordered"], env)} for one in kept()])


if __name__ == "__main__":
    main()
