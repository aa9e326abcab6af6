"""Two small weeks, the folders they give undisturbed, and what is wrong with a folder after a fault."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from .. import program
from ..protocol import Fault

WEEK = """order,name,message,lid,typeface,wood
A-1,Ida,,card-box,withy,walnut
A-2,Tom,,round-caddy,hershey-sans,walnut
A-3,Zoë,by the sea,card-box,withy,maple
A-4,Wren,,card-box,quicksand,walnut
"""

LATER = """order,name,message,lid,typeface,wood
A-1,Ada,,card-box,withy,walnut
A-2,Tom,,round-caddy,hershey-sans,walnut
A-5,Bo,,card-box,withy,maple
A-4,Wren,,card-box,hershey-sans,walnut
A-6,Nia,,no-such-lid,withy,walnut
"""
"""A week after: one lid with other words, one the same, one new, one in another typeface, one gone, one on hold."""

PAGES = ("week.html", "week.csv", "week.json", "bench.pdf")
OF_A_RUN = re.compile(r"(^|/)\.")
"""What a run keeps for itself: files and folders whose names begin with a dot (parts of files, the lock, the mark)."""


def table_of(week: str, place: Path) -> Path:
    """Write a week's table into a folder; return it."""
    table = place / "orders.csv"
    table.write_text(week, "utf-8")
    return table


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder by its name there."""
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and not p.is_symlink()
    }


@cache
def left_by(week: str) -> Mapping[str, bytes]:
    """Return everything that a run into an empty folder leaves there when nothing disturbs it."""
    place = Path(tempfile.mkdtemp(prefix="hostile-week-"))
    try:
        program.ask("batch", table_of(week, place), "--out", place / "week", "--jobs", "1")
        return contents(place / "week")
    finally:
        shutil.rmtree(place)


def expected(week: str) -> Mapping[str, bytes]:
    """Return what a week's folder holds for people when nothing disturbs the run."""
    return {name: data for name, data in left_by(week).items() if not OF_A_RUN.search(name)}


def folder_of(week: str, folder: Path) -> Path:
    """Put a week, as an undisturbed run leaves it, into a folder that is not there yet; return it."""
    for name, data in left_by(week).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def wrongs_midway(now: Mapping[str, bytes], old: Mapping[str, bytes], new: Mapping[str, bytes]) -> Iterator[Fault]:
    """Yield what is wrong with a folder whose run from `old` to `new` was cut short.

    Every file is whole, the old one or the new; and once anything differs from the old week, its page does not pass
    for the page of what lies there.
    """
    pieces = {n for n in {*old, *new} if "/" in n}
    for name in sorted(pieces & set(now)):
        if now[name] not in (old.get(name), new.get(name)):
            yield Fault("half-written", f"{name} is neither the old one nor the new")
    yield from _broken_pages(now)
    is_old = all(now.get(n) == old.get(n) for n in pieces)
    is_new = all(now.get(n) == new.get(n) for n in pieces)
    for page in PAGES:
        here = now.get(page)
        if here is not None and here == old.get(page) and not is_old:
            yield Fault("stale", f"{page} is the old week's, and the lids are not")
        if here is not None and here == new.get(page) and not is_new:
            yield Fault("stale", f"{page} is the new week's, and the lids are not")


def _broken_pages(now: Mapping[str, bytes]) -> Iterator[Fault]:
    if "week.html" in now and not now["week.html"].rstrip().endswith(b"</html>"):
        yield Fault("half-written", "week.html has no end")
    try:
        json.loads(now.get("week.json", b"{}"))
    except ValueError:
        yield Fault("half-written", "week.json is no JSON")


def wrongs_after(now: Mapping[str, bytes], new: Mapping[str, bytes], others: Mapping[str, bytes]) -> Iterator[Fault]:
    """Yield what is wrong with a folder after a run that says that it is done.

    It holds the new week byte for byte; `others` are files that may have been there before: they are no fault if they
    are not of a week, and left-overs of another week are.
    """
    for name, data in new.items():
        if name not in now:
            yield Fault("lost", f"{name} is not there")
        elif name == "week.json":
            if json.loads(now[name])["pieces"] != json.loads(data)["pieces"]:
                yield Fault("mixed", "week.json tells of another week")
        elif now[name] != data:
            kind = "mixed" if now[name] == others.get(name) else "half-written"
            yield Fault(kind, f"{name} is not the one of this week")
    for name in sorted(set(now) - set(new)):
        if name.startswith("kept/"):
            continue  # what was proved is kept on purpose, whatever becomes of its week
        if name in others and now[name] == others[name]:
            yield Fault("stale", f"{name} of another week is left")
        elif re.search(r"(^|/)\.part-", name) and "mine" not in name:
            yield Fault("half-written", f"{name} is left")
