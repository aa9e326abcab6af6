"""week.json of an earlier run, damaged: what the next run and the clock rest on."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from random import Random
from typing import Any

from .. import mutations, program
from ..protocol import Fault
from .weeks import LATER, OF_A_RUN, WEEK, contents, expected, folder_of, left_by, table_of, wrongs_after

ODD: tuple[Any, ...] = (
    None, True, 0, -1, 5, 1e308, 10**400, "", "x", "\0", "\ud7ff", [], {}, [[]], {"a": 1}, [None], "../../etc/passwd", "/etc/passwd", "lids/../x.svg",
    "lids", "lids/", "x" * 300, "lid-lettering 99.9", "999999999999999999999", "week.html", "9999-12-31",
)  # fmt: skip
LOG = "order,piece,seconds\nA-1,1,300\nA-2,1,200\nA-3,1,250\n"
MARK = ".engrave/files.json"
"""Where a run puts down which files of the folder are its own."""

MINE = "the shop's own"


class Records:
    """Damaged records of a week's folder, into which a later week is then lettered. A case's first line names the file.

    'week.json alone': as a folder of an earlier version, without the mark of what is ours.
    """

    name, share, suffix, full = "records", 1.5, ".json", 1000

    def make(self, random: Random) -> bytes:
        """Return a record."""
        which = random.choice(("week.json", "week.json alone", MARK))
        told = left_by(WEEK)[which.removesuffix(" alone")]
        return which.encode() + b"\n" + _damaged(told, random)

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Learn from the folder, then letter another week into it."""
        head, _, data = case.partition(b"\n")
        which = head.decode()
        folder = folder_of(WEEK, place / "week")
        (folder / which.removesuffix(" alone")).write_bytes(data)
        if which.endswith(" alone"):
            shutil.rmtree(folder / Path(MARK).parent, ignore_errors=True)
        (folder / "lids" / "mine.svg").write_text(MINE, "utf-8")
        (place / "log.csv").write_text(LOG, "utf-8")
        asked = ("clock", place / "log.csv", "--machine", "bench-router", "--week", folder, "--json")
        yield from program.ask(*asked).faults((0, 2))
        before = contents(folder)
        answer = program.ask("batch", table_of(LATER, place), "--out", folder, "--jobs", "1", "--json")
        yield from answer.faults((0, 1, 2))
        after = contents(folder)
        if after.get("lids/mine.svg") != MINE.encode():
            yield Fault("lost", "a file of the shop's own is gone")
        if answer.status == 2 and not _only_marked(before, after):
            yield Fault("half-written", "exit status 2, and yet the folder is not as it was")
        if answer.status != 2:
            known = expected(WEEK) if which == "week.json" else {}
            yield from wrongs_after(after, expected(LATER), {**known, "lids/mine.svg": b""})


def _only_marked(before: Mapping[str, bytes], after: Mapping[str, bytes]) -> bool:
    """Tell whether nothing that lay there was changed or taken, whatever of our own marks was added."""
    changed = {n for n in {*before, *after} if before.get(n) != after.get(n)}
    return all(OF_A_RUN.search(n) for n in changed)


def _damaged(told: bytes, random: Random) -> bytes:
    if random.random() < 0.25:
        return mutations.damaged(told, random)
    if random.random() < 0.1:
        many = random.choice((500, 5000, 100_000))
        made = b'{"made_with": "lid-lettering", "pieces": ' + b"[" * many + b"]" * many + b"}"
        return random.choice((b"[" * many, b'{"a":' * many, made, b"9" * many))
    values: Any = [json.loads(line) for line in told.splitlines()] if told.startswith(b'{"') else json.loads(told)
    by_line = isinstance(values, list)
    if by_line and random.random() < 0.3:  # as an earlier version left it, one object
        values, by_line = {**values[0], "files": {name: digests for name, *digests in values[1:]}}, False
    for _ in range(random.choice((1, 1, 2, 5))):
        values = _changed(values, random)
    lines = values if by_line and isinstance(values, list) else [values]
    return "\n".join(map(json.dumps, lines)).encode("utf-8", "surrogatepass")


def _changed(value: Any, random: Random) -> Any:
    """Return the value with something in it, at any depth, replaced, renamed or taken away."""
    if not isinstance(value, dict | list) or not value or random.random() < 0.15:
        return copy.deepcopy(random.choice(ODD))
    keys = list(value) if isinstance(value, dict) else list(range(len(value)))
    key = random.choice(keys)
    if random.random() < 0.1:
        del value[key]
    else:
        value[key] = _changed(value[key], random)
    return value
