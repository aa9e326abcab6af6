"""Words on a sheet whose typefaces lack some of their letters: what is lacking is named in brackets, never drawn as a box."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from engrave.typefaces.characters import clusters, invisible, script_name, script_of

Lettered = frozenset[int]
"""Code points that a sheet's typefaces have."""


def beyond(data: Mapping[str, Any], letters: Lettered) -> bool:
    """Tell whether a sheet's data hold a letter that its typefaces lack."""
    return any(not _has(text, letters) for text in _texts(data))


def shown_data(value: Any, letters: Lettered) -> Any:
    """Return a sheet's data with each sign that its typefaces lack named in brackets: 'Zoë [dog face]'."""
    if isinstance(value, str):
        return value if _has(value, letters) else _shown(value, letters)
    if isinstance(value, Mapping):
        return {key: shown_data(one, letters) for key, one in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, bytes):
        return [shown_data(one, letters) for one in value]
    return value


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from _texts(one)
    elif isinstance(value, Sequence) and not isinstance(value, bytes):
        for one in value:
            yield from _texts(one)


def _has(text: str, letters: Lettered) -> bool:
    return text.isascii() or all(ord(c) in letters or c.isspace() or invisible(c) for c in text)


def _shown(text: str, letters: Lettered) -> str:
    """Return a text with what is lacking named; letters of one script in a row are counted."""
    out = []
    for lacks, group in groupby(clusters(text), key=lambda one: _lacking(one, letters)):
        found = list(group)
        out.append("".join(found) if not lacks else _named(lacks, len(found)))
    return "".join(out)


def _lacking(cluster: str, letters: Lettered) -> str:
    """Return what a cluster is called if a letter of it is lacking, else ''."""
    if _has(cluster, letters):
        return ""
    lacking = next(c for c in cluster if ord(c) not in letters and not invisible(c))
    if lacking.isalpha():
        return f"{script_name(script_of(lacking))} letter"
    return unicodedata.name(lacking, "sign").lower()


def _named(what: str, count: int) -> str:
    if what.endswith(" letter"):
        return f"[{count} {what}s]" if count > 1 else f"[1 {what}]"
    return f"[{what}]" * count
