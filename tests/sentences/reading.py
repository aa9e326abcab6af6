"""The texts for people in the program's source and tables: what is said, with a mark where a figure or a word comes in."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "engrave"

FEWEST_WORDS = 4
"""Texts of fewer words are labels, keys and parts of a path; sentences have more."""

MOST_WORDS = 30
"""Words of a sentence; a longer one is read twice at a bench (common practice, no source)."""

NOT_SAID = ("intake/wording", "intake/unread.py", "intake/parts.py", "intake/phrases.py", "headings/words.py")
"""Modules whose texts are lists of words that are looked for, not said."""

NO_BENCH_WORDS = re.compile(
    r"\b(?:haste|reckon\w*|code points?|U\+[0-9A-F]{4}|exception|traceback|None|null|boolean|string|regex|parse[rd]?"
    r"|instance of|type\(|object|stack|buffer|float|integer)\b"
)
"""What a woodworker would not say: words of programming, and our own old ones."""

_WORD = re.compile(r"\{\}|[^\W_]+(?:[’'‘.,/-][^\W_]+)*")
_ENDS = re.compile(r"(?<=[.!?])[”’\"')]*\s+|\n+")


@dataclass(frozen=True, slots=True)
class Said:
    """A text that may be said: file and line where it stands; a mark {} stands where a value comes in."""

    file: str
    line: int
    text: str

    def sentences(self) -> list[str]:
        """Return its sentences."""
        return [s for s in _ENDS.split(self.text) if s.strip()]


def words_of(sentence: str) -> int:
    """Return how many words a sentence has; a value that comes in counts as one, and so does an example of a table."""
    return len(_WORD.findall(re.sub(r"\{[^{}]*\}", "{}", sentence)))


def all_said() -> list[Said]:
    """Return every text for people in the package and in the proof's own table, in the order of files and lines."""
    found = [said for path in sorted(PACKAGE.rglob("*.py")) for said in _of_module(path)]
    return sorted([*found, *_of_table(ROOT / "shared" / "proof.toml")], key=lambda s: (s.file, s.line))


def _of_module(path: Path) -> Iterator[Said]:
    name = path.relative_to(PACKAGE).as_posix()
    if name.startswith(NOT_SAID):
        return
    tree = ast.parse(path.read_text("utf-8"))
    passed = {id(n) for n in ast.walk(tree) if isinstance(n, ast.Expr) for n in [n.value]}  # docstrings
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            passed |= {id(part) for part in node.values}
        text = _text(node)
        if id(node) not in passed and text and _is_a_sentence(text):
            yield Said(name, getattr(node, "lineno", 0), text)


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in node.values)
    return ""


def _is_a_sentence(text: str) -> bool:
    """Tell whether a text is said: no markup, no pattern, and words enough."""
    return not re.search(r"<[a-z/!?]|unicode-range|\\[bwdsAZ]|\(\?|^\W*$", text) and words_of(text) >= FEWEST_WORDS


def _of_table(path: Path) -> Iterator[Said]:
    lines = path.read_text("utf-8").splitlines()
    for value in _texts(tomllib.loads("\n".join(lines))):
        if words_of(value) >= FEWEST_WORDS:
            line = next((i for i, text in enumerate(lines, 1) if value in text), 0)
            yield Said(path.relative_to(ROOT).as_posix(), line, re.sub(r"\{[^{}]*\}", "{}", value))


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _texts(inner)
