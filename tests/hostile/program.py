"""The program under attack, by its outermost doors: the only module here that imports it.

Everything but the reading of orders goes through the command line, in this process: its names are promised and stay.
"""

from __future__ import annotations

import json
import os
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from .protocol import Fault

ROOT = Path(__file__).resolve().parents[2]
FONTS, TABLES, DEMO = ROOT / "fonts_open", ROOT / "shared", ROOT / "orders_demo"
OURS_FAILED = {"failed", "svg-not-in-form", "took-too-long"}
"""Codes of findings that are the program's own fault."""


def command() -> Callable[[], Any]:
    """Return the command as the installed script calls it, by the project file."""
    scripts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["scripts"]
    module, _, function = scripts["engrave"].partition(":")
    return getattr(import_module(module), function)  # type: ignore[no-any-return]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command answered: its exit status, what it printed, and as JSON if it is that."""

    status: int
    out: str
    err: str

    def json(self) -> Any:
        """Return what was printed as JSON, None if it is none."""
        try:
            return json.loads(self.out)
        except ValueError:
            return None

    def faults(self, allowed: Sequence[int] = (0, 1, 2)) -> list[Fault]:
        """Return what is wrong with any answer: a status that the contract does not know here, a piece that failed."""
        found = []
        if self.status not in allowed or "Traceback (most recent" in self.err:
            found.append(Fault("traceback", f"exit status {self.status}: {self.err.strip()[-600:]}"))
        if self.status == 2 and not self.err.strip():
            found.append(Fault("traceback", "exit status 2 without a word on stderr"))
        return found + failed(self.json())


def ask(*words: str | Path) -> Answer:
    """Run one command in this process. Whatever it raises beyond an exit status is raised here."""
    from engrave.cli import main

    done = CliRunner().invoke(main, [str(w) for w in words], catch_exceptions=False)
    return Answer(done.exit_code, done.stdout, done.stderr)


def failed(told: Any) -> list[Fault]:
    """Return the pieces of a JSON answer that are held as the program's own fault."""
    found: list[Fault] = []
    if isinstance(told, dict):
        if told.get("code") in OURS_FAILED and "says" in told:
            found.append(Fault("failed", f"{told.get('says')} ({told.get('where')})"))
        found += [f for value in told.values() for f in failed(value)]
    elif isinstance(told, list):
        found += [f for value in told for f in failed(value)]
    return found


def read_table(path: Path, shop: Path | None = None) -> tuple[set[int], str]:
    """Return the numbers of the rows that were answered, and all that was said of the file; empty and why if refused."""
    from engrave.intake import OrdersError, read_orders
    from engrave.shop import load_shop

    try:
        file = read_orders(path, load_shop(shop).intake)
    except OrdersError as refused:
        return set(), f"refused: {refused}"
    return {order.row for order in file.orders}, "\n".join(f"{p.where} {p.says}" for p in file.problems)


def measures_folder() -> Path:
    """Return where the program keeps its measures now."""
    return Path(os.environ.get("ENGRAVE_CACHE", "off"))


def keep_measures_in(folder: Path) -> None:
    """Let the program keep its measures in a folder of ours."""
    os.environ["ENGRAVE_CACHE"] = str(folder)
