"""The week's folder: files of others in it, links, the table itself under a name that a run writes, folders in the way."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

from .. import program
from ..protocol import Fault
from .weeks import LATER, WEEK, contents, folder_of

FOREIGN = (
    "lids/A-1.svg", "lids/A-9.svg", "lids/mine.svg", "lids/.part-mine", ".part-mine", "proofs/A-1.png", "proofs/mine.png", "proofs/.part-x", "week.html",
    "week.csv", "week.json", "notes.txt", "outlines/A-1.svg", "not_yet/A-1.svg", "kept/x/y.svg", "lids/A-1.svg.bak", "changed_by_hand/x.svg", ".lock",
    ".engrave", ".engrave/mine", ".engrave/lock/x", "changed_by_hand", "bench.pdf", "slip.pdf", "lids", "proofs", "lids/A-1_2.svg", "LIDS/a-1.SVG", "week.html/x", "week.json/x", "lids/A-5.svg/x",
)  # fmt: skip
TABLE = (
    "orders.csv",
    "week.csv",
    "week.json",
    "week.html",
    "lids/A-1.svg",
    "proofs/A-1.png",
    ".part-orders",
    "lids/.part-x",
    ".lock",
)


class Folders:
    """Folders with things of others in them, into which a week is lettered. A case is JSON."""

    name, share, suffix, full = "folders", 1.5, ".json", 1500

    def make(self, random: Random) -> bytes:
        """Return what lies where."""
        foreign = random.sample(FOREIGN, random.choice((0, 1, 1, 2, 4)))
        told = {
            "foreign": foreign,
            "linked": [n for n in foreign if random.random() < 0.15],
            "table": random.choice(TABLE) if random.random() < 0.5 else "",
            "ours": random.random() < 0.4,
            "only": random.random() < 0.2,
            "shop": random.random() < 0.2,
        }
        return json.dumps(told).encode()

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Letter the later week there; whatever is not the program's own stays as it is."""
        told: dict[str, Any] = json.loads(case)
        out = place / "week"
        if told["ours"]:
            folder_of(WEEK, out)
        table = _put(out / told["table"] if told["table"] else place / "orders.csv", LATER)
        for name in told["foreign"]:
            _put(out / name, f"of others: {name}", place / "elsewhere" if name in told["linked"] else None)
        if table is None:
            return
        before = {n: d for n, d in _all(place).items() if d.startswith(b"of others") or d == LATER.encode()}
        words = ["batch", table, "--out", out, "--jobs", "1", "--json"]
        words += ["--only", "A-5"] if told["only"] else []
        words += ["--shop", out] if told["shop"] and out.is_dir() else []
        everything = _all(place)
        answer = program.ask(*words)
        yield from answer.faults((0, 1, 2))
        after = _all(place)
        aside = {d for n, d in after.items() if n.startswith("week/changed_by_hand/")}
        for name, data in before.items():
            if after.get(name) != data and data not in aside:
                yield Fault("lost", f"{name} is not as it was, with exit status {answer.status}")
        if answer.status == 2:
            changed = {
                n
                for n in {*after, *everything}
                if after.get(n) != everything.get(n) and not Path(n).name.startswith(".")
            }
            if changed:
                yield Fault("half-written", f"exit status 2, and yet {sorted(changed)[0]} was written")
        else:
            yield from _listed(out)


def _put(path: Path, text: str, link: Path | None = None) -> Path | None:
    """Write a file, itself or by a link; None where something is in the way."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if link is not None and not path.exists():
            link.mkdir(exist_ok=True)
            (link / path.name).write_text(text, "utf-8")
            path.symlink_to(link / path.name)
        else:
            path.write_text(text, "utf-8")
    except OSError:
        return None
    return path


def _all(place: Path) -> dict[str, bytes]:
    links = {str(p.relative_to(place)): str(p.readlink()).encode() for p in place.rglob("*") if p.is_symlink()}
    return {**contents(place), **links}


def _listed(out: Path) -> Iterator[Fault]:
    told = json.loads((out / "week.json").read_text("utf-8"))
    if "pieces" not in told:
        yield Fault("lost", "week.json tells of no piece")
    for piece in told.get("pieces", ()):
        for key in ("svg", "proof"):
            if piece[key] and not (out / piece[key]).is_file():
                yield Fault("lost", f"{piece[key]} is listed and is not there")
