"""A short name of everything the shop's tables say, to tell whether a piece must be made anew."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any

from engrave.shop.models import Shop

NOT_SAID = frozenset({"sources", "lid_of_tables", "folder"})
"""Where tables lie on this computer, which changes nothing that is made; and whose lid is taken for rows that name none,
which changes what the row is and not how it is made."""


def fingerprint(shop: Shop) -> str:
    """Return a digest of the shop's tables: equal tables give equal digests, on every system and in every run."""
    plain = json.dumps(_plain(shop), ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(plain.encode("ascii")).hexdigest()


def _plain(value: Any) -> Any:
    """Return a value as plain lists, dicts, texts and numbers; floats by their shortest exact form."""
    if is_dataclass(value) and not isinstance(value, type):
        names = [f.name for f in fields(value) if f.name not in NOT_SAID]
        return {"": type(value).__name__} | {name: _plain(getattr(value, name)) for name in names}
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    if isinstance(value, frozenset):
        return sorted(_plain(v) for v in value)
    if isinstance(value, Decimal):
        return str(value)
    return value
