"""A learned machine, put into the text of the shop's own table of machines."""

from __future__ import annotations

from typing import Any

import tomlkit

from engrave.learning.learned import Learned
from engrave.shop.readers import PUSH_UNITS


def with_learned(text: str, machine_id: str, learned: Learned) -> str:
    """Return the text of a shop's machines.toml with the learned figures under [machine_id]; all else stays as it is.

    Raises tomlkit's ParseError (a ValueError) if the text is no TOML.
    """
    document = tomlkit.parse(text) if text else _begun()
    if machine_id not in document:
        document[machine_id] = tomlkit.table()
    entry: Any = document[machine_id]
    for key, value in _figures(learned).items():
        entry[key] = value
        if key.startswith("amax_"):
            for other in [f"amax_{unit}" for unit in PUSH_UNITS if f"amax_{unit}" != key and f"amax_{unit}" in entry]:
                del entry[other]
    return tomlkit.dumps(document)


def _begun() -> tomlkit.TOMLDocument:
    document = tomlkit.document()
    document.add(tomlkit.comment("Our machines, as far as they differ from the tables that came with the program."))
    return document


def _figures(learned: Learned) -> dict[str, Any]:
    """Return what was learned by the table's keys, to four digits: more would claim what no stop-watch tells."""
    m = learned.machine
    known = {f.name for f in learned.fitted if f.determined}
    figures: dict[str, Any] = {"scale": _digits(m.scale), "scatter": _digits(m.scatter)}
    if known & {"acceleration along x", "acceleration up and down"}:
        figures["amax_mm_s2"] = [_digits(a) for a in m.amax]
    for name, key, value in (
        ("corner deviation", "corner_slack", m.corner_slack), ("time lost at each stroke", "stroke_s", m.stroke_s),
        ("time lost once a job", "fixed_s", m.fixed_s),
    ):  # fmt: skip
        if name in known:
            figures[key] = _digits(value)
    return figures


def _digits(value: float) -> float:
    return float(f"{value:.4g}")
