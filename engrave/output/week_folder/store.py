"""What is kept beside a week of each of its units: the next run makes anew only those of which something changed.

A unit is a group of pieces that have a say in one another. Its record has, in its first line, the digest of all it was
made from, its files with their digests, and what the week remembers of its pieces; then a line a piece with what the
week's own files say of it. A record is put down before its files are, so that every file of ours is known.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import file_digest, sha256
from pathlib import Path
from typing import Any

STORE = ".engrave"
"""Folder within the week's folder for what later runs need to know; nobody else's business."""

UNITS_FOLDER = f"{STORE}/units"

ADVICE = f"{STORE}/advice.json"
"""Notes on what would save the week's time, with the digest of what they come from."""

UNIT_LETTERS = 24
"""Letters of what a unit is known by: no two units of all weeks come to the same."""

_END = ".jsonl"


@dataclass(frozen=True, slots=True)
class Kept:
    """A unit's record without what is said of its pieces. key: '' for one that must be made anew.

    files: digests by name. pieces: what the week remembers of each.
    """

    key: str
    files: Mapping[str, str]
    pieces: Sequence[Mapping[str, Any]]


def digest_of(data: bytes | str) -> str:
    """Return the digest under which contents are known."""
    return sha256(data.encode("utf-8") if isinstance(data, str) else data).hexdigest()


def digest_of_bits(bits: Iterable[bytes | str]) -> str:
    """Return the digest of contents that come bit by bit."""
    digest = sha256()
    for bit in bits:
        digest.update(bit.encode("utf-8") if isinstance(bit, str) else bit)
    return digest.hexdigest()


def digest_at(path: Path) -> str | None:
    """Return the digest of a file's contents, which may be longer than memory; None if it is not there."""
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def record_of(unit: str) -> str:
    """Return the name of a unit's record within the week's folder. unit: see `unit_id`."""
    return f"{UNITS_FOLDER}/{unit}{_END}"


def unit_id(members: Sequence[tuple[str, int]]) -> str:
    """Return what a unit is known by: its orders' ids and pieces, whatever became of them."""
    return digest_of(json.dumps(sorted(members), ensure_ascii=True))[:UNIT_LETTERS]


def record(kept: Kept, told: Sequence[Mapping[str, Any]]) -> bytes:
    """Return a record's bytes. told: what the week's files say of each piece, as plain values."""
    rest = "".join(_line(one) for one in told).encode()
    first = {"key": kept.key, "files": dict(kept.files), "pieces": list(kept.pieces), "rest": digest_of(rest)}
    return _line(first).encode() + rest


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=True, separators=(",", ":")) + "\n"


def kept_of(folder: Path, unit: str) -> Kept | None:
    """Return a unit's record; None if there is none that is whole."""
    try:
        first, _, rest = (folder / record_of(unit)).read_bytes().partition(b"\n")
        told = json.loads(first)
        return _kept(told) if told["rest"] == digest_of(rest) else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def told_lines(folder: Path, unit: str) -> list[bytes]:
    """Return, for `told_of`, a line for each piece of a unit. Raises OSError if they cannot be read."""
    return (folder / record_of(unit)).read_bytes().splitlines()[1:]


def told_of(line: bytes) -> dict[str, Any]:
    """Return what the week's files say of a piece. Raises ValueError if that cannot be read."""
    return dict(json.loads(line))


def _kept(told: Mapping[str, Any]) -> Kept:
    files = {str(name): str(digest) for name, digest in told["files"].items()}
    return Kept(str(told["key"]), files, [dict(piece) for piece in told["pieces"]])


def advice_bytes(key: str, notes: Sequence[Mapping[str, Any]]) -> bytes:
    """Return what is kept of a week's notes. key: digest of what they come from."""
    return _line({"key": key, "notes": list(notes)}).encode()


def advice_kept(folder: Path, key: str) -> list[dict[str, Any]] | None:
    """Return the notes that are kept under this key; None if there are none that can be read."""
    try:
        told = json.loads((folder / ADVICE).read_bytes())
        return [dict(note) for note in told["notes"]] if told["key"] == key else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def records(folder: Path) -> Iterator[tuple[str, Kept]]:
    """Yield every whole record of a week's folder with its unit, in the order of their names."""
    try:
        names = sorted(name for name in os.listdir(folder / UNITS_FOLDER) if name.endswith(_END))
    except OSError:
        return
    for unit in (name.removesuffix(_END) for name in names):
        kept = kept_of(folder, unit)
        if kept is not None:
            yield unit, kept
