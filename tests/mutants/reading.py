"""The mutants as they stand in their tables: which line of which file becomes what, and which tests must notice.

[groove-of-a-cone]
file = "engrave/shop/cutters.py"
line = "self.tip + depth * self.widening"    a text that stands in this line of the file and in no other
becomes = "depth * self.widening"            what it is changed to
tests = ["tests/shop/test_grooves.py"]       files or single tests, of which at least one must fail
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TABLES = Path(__file__).parent


class Amiss(ValueError):
    """A mutant that does not fit the program as it stands; the message says what to mend in its table."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change to the program. stage: the table it stands in; says: what is wrong then, where the line does not tell."""

    name: str
    stage: str
    file: str
    line: str
    becomes: str
    tests: tuple[str, ...]
    says: str = ""

    def changed(self, text: str) -> str:
        """Return the file's text with the mutant in it. Raises Amiss unless exactly one line holds the pattern once."""
        count = text.count(self.line)
        if count != 1:
            raise Amiss(
                f"{self.name}: {self.line!r} stands {count} times in {self.file}, not once{_elsewhere(self.line)}"
            )
        return text.replace(self.line, self.becomes)

    def put_into(self, root: Path) -> None:
        """Put the mutant into a copy of the project."""
        path = root / self.file
        path.write_text(self.changed(path.read_text("utf-8")), "utf-8")


def _elsewhere(line: str) -> str:
    found = places_of(line)
    return f"; it stands in {', '.join(found)}" if found else ""


def places_of(line: str) -> list[str]:
    """Return the files in which a pattern stands now, once for each time: modules move."""
    texts = {str(p.relative_to(ROOT)): p.read_text("utf-8") for p in sorted((ROOT / "engrave").rglob("*.py"))}
    return [path for path, text in texts.items() for _ in range(text.count(line))]


def refit(tables: Path = TABLES) -> list[str]:
    """Follow patterns into the one file where they now stand; return the names of the mutants that were moved."""
    moved = []
    for path in sorted(tables.glob("*.toml")):
        text = path.read_text("utf-8")
        for mutant in _of_table(path):
            found = places_of(mutant.line)
            if len(found) == 1 and found[0] != mutant.file:
                head = f'[{mutant.name}]\nfile = "'
                text = text.replace(f'{head}{mutant.file}"', f'{head}{found[0]}"')
                moved.append(mutant.name)
        path.write_text(text, "utf-8")
    return moved


def load(tables: Path = TABLES) -> tuple[Mutant, ...]:
    """Return every mutant, in the order of the tables and within them."""
    return tuple(m for path in sorted(tables.glob("*.toml")) for m in _of_table(path))


def _of_table(path: Path) -> Iterable[Mutant]:
    for name, entry in tomllib.loads(path.read_text("utf-8")).items():
        values = {key: entry[key] for key in ("file", "line", "becomes")}
        yield Mutant(name, path.stem, **values, tests=tuple(entry["tests"]), says=entry.get("says", ""))
