"""File names from order ids: safe on every system, unique in every folder, the same from week to week."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Sequence

Key = tuple[str, int]
"""An order's id and the number of its piece."""

LONGEST_STEM = 80
"""Bytes (UTF-8) of a name before its ending: far below the 255 of common file systems, and leaves room in the 260
characters that older Windows allows a whole path."""

RESERVED = frozenset(
    [
        "con",
        "prn",
        "aux",
        "nul",
        "conin$",
        "conout$",
        *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³"),
    ]
)
"""Names of devices on Windows, forbidden with any ending (Microsoft, 'Naming Files, Paths, and Namespaces')."""

LidKey = tuple[str, int, str, str]
"""An order's id, the number of its piece, and the ids of its lid and wood ('' where they are not known)."""

ID_LONGEST = 40
"""Bytes of a lid's or wood's id in a name: ours have at most 16."""

UNSAFE = re.compile(r"[^\w.()+,=@ -]", re.UNICODE)
"""Everything but letters, digits, marks and a few signs that mean nothing to any shell or file system."""


def file_names(keys: Sequence[Key]) -> tuple[str, ...]:
    """Return a name without ending for each piece: its order's id, and for pieces after the first `<order>_2`.

    The names depend on the set of keys alone, not on their order. No two are alike even where case is ignored, and a
    piece's number never makes it another order's name: the 2 of `A` is `A__2` where there is an order `A_2`.
    A key that is given twice gets its name twice.
    """
    ids = sorted({order for order, _ in keys})
    bases = _bases(ids)
    taken = {fold(name) for name in bases.values()}
    named: dict[Key, str] = {}
    for order, number in sorted(set(keys)):
        named[order, number] = name = bases[order] if number == 1 else _numbered(bases[order], number, taken)
        taken.add(fold(name))
    return tuple(named[key] for key in keys)


def lid_names(keys: Sequence[LidKey]) -> tuple[str, ...]:
    """Return a name without ending for each piece's lid: `<order>_<lid>_<wood>`, and for pieces after the first `.._2`.

    As for `file_names`, the names depend on the set of keys alone, no two are alike where case is ignored, and a key that
    is given twice gets its name twice.
    """
    every = sorted(set(keys))
    bases = _bases(sorted({order for order, _, _, _ in every}))
    rivals: dict[str, set[str]] = {}
    for key in every:
        rivals.setdefault(fold(_lid_name(bases[key[0]], key)), set()).add(key[0])
    named: dict[LidKey, str] = {}
    taken: set[str] = set()
    for key in sorted(every, key=lambda key: (key[1] > 1, key)):
        name = _lid_name(bases[key[0]], key)
        if len(rivals[fold(name)]) > 1:  # another order's name, with a bar at another place
            name = _lid_name(_marked(key[0], bases[key[0]]), key)
        while fold(name) in taken:  # of the same order
            name += f"_{key[1]}"
        taken.add(fold(name))
        named[key] = name
    return tuple(named[key] for key in keys)


def _lid_name(base: str, key: LidKey) -> str:
    parts = [_cut(UNSAFE.sub("-", unicodedata.normalize("NFC", ident)), ID_LONGEST).strip(" .-") for ident in key[2:]]
    return "_".join([base, *(p for p in parts if p), *([str(key[1])] if key[1] > 1 else [])])


def _bases(ids: Sequence[str]) -> dict[str, str]:
    """Return each id's own name; ids that cannot be told apart as names get a few letters of their digest."""
    safe = {order: safe_name(order) for order in ids}
    rivals: dict[str, list[str]] = {}
    for order, name in safe.items():
        rivals.setdefault(fold(name), []).append(order)
    alone = {order for group in rivals.values() if len(group) == 1 for order in group}
    return {
        order: name if order in alone and _is_kept(order, name) else _marked(order, name)
        for order, name in safe.items()
    }


def _is_kept(order: str, name: str) -> bool:
    return unicodedata.normalize("NFC", order) == name


def _marked(order: str, name: str) -> str:
    digest = hashlib.sha256(order.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return f"{_cut(name, LONGEST_STEM - 7)}-{digest}"


def _numbered(base: str, number: int, taken: set[str]) -> str:
    bars = "_"
    while fold(f"{base}{bars}{number}") in taken:
        bars += "_"
    return f"{base}{bars}{number}"


def safe_name(order: str) -> str:
    """Return an id as a file name that every system takes; not yet unique."""
    name = UNSAFE.sub("-", unicodedata.normalize("NFC", order))
    name = _cut(name, LONGEST_STEM).strip(" .-")
    if not name:
        return "order"
    if fold(name).split(".")[0].rstrip() in RESERVED:
        return f"order-{name}"
    return name


def _cut(name: str, most: int) -> str:
    """Return as many whole characters as fit in `most` bytes of UTF-8."""
    return name.encode("utf-8", "ignore")[:most].decode("utf-8", "ignore")


def fold(name: str) -> str:
    """Return the form in which a file system that ignores case and composition compares names."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
