"""Which files of a week's folder are ours: what an earlier run wrote there, and what it wrote into them.

A run leaves a mark, `.engrave/files.json`, that names each of its files with the digest of its contents, a line a file;
files of a run that was cut short are named in the records beside it (see `store`). Folders of earlier versions have no
mark, or one that is a single object, or are known by their week.json. Anything else in the folder is somebody else's.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from engrave.on_disk import DiskMap
from engrave.output.week_folder.store import STORE, digest_at, records
from engrave.output.writing import MADE_WITH

MARK_FILE = f"{STORE}/files.json"

PAGES = ("week.html", "week.csv", "week.json")
"""The week's own files; week.json is put in place last, because it lists what lies in the folder."""

BENCH = "bench.pdf"
"""The sheets for the bench; on paper nobody sees that they are of an earlier run, so they go before a new one begins."""

FOLDERS = ("lids", "not_yet", "outlines", "proofs")
"""Our folders within the week's."""

FURTHER_PAGES = re.compile(r"^(?:week_\d{1,6}\.html|bench_\d{1,6}\.pdf)$")
"""Further pages and bench lists of a large week."""

OUR_FILES = re.compile(r"^(lids|not_yet|outlines|proofs)/[^/\\:]+\.(svg|png|pdf)$")
"""What a list may name as ours beside the week's pages: one of our folders and endings, and no way out of the folder."""

LISTED = "writing"
"""Key in week.json, present only while a run is under way or was cut short: the files it was about to write."""

_NAMED = re.compile(r'"(?:svg|outline|proof)":\s*("(?:lids|not_yet|outlines|proofs)/[^"\n]{1,400}")')


@dataclass(frozen=True, slots=True)
class Known:
    """What is ours in a folder. files: by name, the digests that it may have (none: of an earlier version, unknown).

    token: how the temporary files of a run that was cut short begin; '' if none was.
    """

    files: DiskMap = field(default_factory=DiskMap)
    token: str = ""

    def is_changed(self, folder: Path, name: str) -> bool:
        """Tell whether a file of ours is no longer as we wrote it, or no file any more."""
        path = folder / name
        if path.is_symlink() or path.is_dir():
            return True
        digests = self.files.get(name, frozenset())
        return bool(digests) and path.is_file() and digest_at(path) not in digests


def known_files(folder: Path) -> Known:
    """Return what is ours in a folder, from its mark or, in a folder of an earlier version, from its week.json.

    Nothing that lies there is an error: a list that cannot be read lists nothing, and names outside our folders and
    endings are passed over.
    """
    head, marked = _mark_read(folder / MARK_FILE)
    if head is None:
        names = sorted(set(_of_earlier_version(folder / "week.json")))
        return Known(DiskMap((name, ()) for name in names if may_be_ours(name)))
    token = head.get("token")
    files = DiskMap(marked)
    if not token:  # the last run ended well: its mark names everything
        return Known(files)
    for _, kept in records(folder):
        for name, digest in kept.files.items():
            if may_be_ours(name):
                before = files.get(name)
                if before or before is None:
                    files[name] = {digest, *(before or ())}
    return Known(files, token if isinstance(token, str) and re.fullmatch(r"\w{1,40}", token) else "")


def _mark_read(file: Path) -> tuple[Mapping[str, Any] | None, Iterator[tuple[str, list[str]]]]:
    """Return the head of a mark and its files with their digests, one by one; None where it is none of ours."""
    lines = _lines(file)
    head = _json(next(lines, ""))
    if isinstance(head, dict) and _by_us(head):
        return head, (one for line in lines if (one := _marked_file(_json(line))) is not None)
    whole = read_json(file)  # a mark of an earlier version is one object
    if isinstance(whole, dict) and _by_us(whole) and isinstance(whole.get("files"), dict):
        pairs = ([name, *digests] for name, digests in whole["files"].items() if isinstance(digests, list))
        return whole, (one for pair in pairs if (one := _marked_file(pair)) is not None)
    return None, iter(())


def _lines(file: Path) -> Iterator[str]:
    """Yield the lines of a file that can be read, as far as it can."""
    with suppress(OSError, ValueError), file.open(encoding="utf-8") as lines:
        yield from lines


def _json(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def _marked_file(line: Any) -> tuple[str, list[str]] | None:
    """Return a file's name and digests from its line of a mark; None if it says none that may be ours."""
    if not isinstance(line, list) or not line or not may_be_ours(line[0]):
        return None
    return line[0], [digest for digest in map(str, line[1:]) if digest.split() == [digest]]


def may_be_ours(name: object) -> bool:
    """Tell whether a list may name this as ours."""
    if not isinstance(name, str):
        return False
    return (
        name in (*PAGES, BENCH)
        or bool(FURTHER_PAGES.match(name))
        or bool(OUR_FILES.match(name) and ".." not in name.split("/"))
    )


def mark_bits(files: DiskMap, token: str = "") -> Iterator[str]:
    """Yield, line by line, the mark that names these files with their digests, for `known_files` to read."""
    yield json.dumps({"made_with": MADE_WITH, **({"token": token} if token else {})}) + "\n"
    for name, digests in files.sorted_items():
        yield json.dumps([name, *sorted(digests)], ensure_ascii=True) + "\n"


def read_json(file: Path) -> Any:
    """Return what a JSON file holds; None if it is not there or is none, whatever is wrong with it."""
    try:
        return json.loads(file.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return None


def week_of(folder: Path) -> dict[str, Any]:
    """Return week.json if it is one of ours, else nothing."""
    told = read_json(folder / "week.json")
    return told if isinstance(told, dict) and _by_us(told) else {}


def _by_us(told: Mapping[str, Any]) -> bool:
    return str(told.get("made_with")).startswith("lid-lettering")


def _of_earlier_version(file: Path) -> Iterator[str]:
    """Yield the names of a folder's files by its week.json alone, as far as it can still be made out."""
    told = read_json(file)
    names: list[Any] | None
    if isinstance(told, dict) and _by_us(told):
        pieces = told.get("pieces")
        names = [p.get(key) for p in _list(pieces) if isinstance(p, dict) for key in ("svg", "outline", "proof")]
        names += _list(told.get(LISTED))
    elif told is None:
        names = _salvaged(file)
        if names is None:
            return
    else:
        return
    yield from (*PAGES, BENCH)
    for name in names:
        if isinstance(name, str):
            yield name
            if name.startswith("lids/"):
                yield "outlines/" + name.removeprefix("lids/")
            if name.startswith("proofs/") and name.endswith(".png"):
                yield name.removesuffix(".png") + ".pdf"


def _list(value: object) -> list[Any]:
    return list(value) if isinstance(value, list) else []


def _salvaged(file: Path) -> list[Any] | None:
    """Return the names in a damaged week.json of ours; None if nothing says that it was ours. An empty one is."""
    try:
        text = file.read_bytes().decode("utf-8", "replace")
    except OSError:
        return None
    if text.strip("\0 \r\n\t") and '"made_with": "lid-lettering' not in text:
        return None
    return [read for quoted in _NAMED.findall(text) if (read := _unquoted(quoted)) is not None]


def _unquoted(quoted: str) -> str | None:
    try:
        return str(json.loads(quoted))
    except ValueError:
        return None
