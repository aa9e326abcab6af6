"""Names that tables once had: a shop's own file goes on working, and is told the new ones once a week."""

from __future__ import annotations

from typing import Any

from engrave.problems import Problem

OLD_KEYS = {"machines": {"delta": "corner_slack"}}
"""For each table, a key's old name and its new one."""

OLD_VALUES = {"machines": {"corner": {"jd": "slow", "jd_guard": "slow_arcs"}}}
"""For each table and key, a value's old name and its new one."""


def renew(table: str, values: dict[str, Any], shown_as: str) -> tuple[Problem, ...]:
    """Give a file's entries the names of today, and return a note that says which were old; nothing if none was."""
    found: dict[str, str] = {}
    for entry in values.values():
        if isinstance(entry, dict):
            found |= _renewed(entry, OLD_KEYS.get(table, {}), OLD_VALUES.get(table, {}))
    if not found:
        return ()
    told = ", ".join(f"{new} (was {old})" for old, new in found.items())
    return (Problem("old-names", "note", f"{shown_as} has names of an earlier version, which still work: {told}."),)


def _renewed(entry: dict[str, Any], keys: dict[str, str], values: dict[str, dict[str, str]]) -> dict[str, str]:
    found = {}
    for old, new in keys.items():
        if old in entry:
            kept = entry.pop(old)
            entry.setdefault(new, kept)
            found[old] = new
    for key, names in values.items():
        value = entry.get(key)
        if isinstance(value, str) and value in names:
            entry[key] = names[value]
            found[f'{key} = "{value}"'] = f'"{names[value]}"'
    return found
