"""Which test functions are marked with a source: read from the tests as they are written."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, slots=True)
class Marked:
    """One test function, and the sources that it names."""

    path: str
    name: str
    sources: tuple[str, ...]


def marked(tests: Path = TESTS) -> tuple[Marked, ...]:
    """Return every marked function below a folder of tests, in the order of the files."""
    files = sorted(tests.rglob("test_*.py"))
    return tuple(m for file in files for m in _of_file(file, file.relative_to(tests.parent).as_posix()))


def _of_file(file: Path, path: str) -> Iterator[Marked]:
    for node in ast.parse(file.read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test"):
            sources = tuple(s for decorator in node.decorator_list if (s := _source(decorator)) is not None)
            if sources:
                yield Marked(path, node.name, sources)


def _source(decorator: ast.expr) -> str | None:
    if not isinstance(decorator, ast.Call) or ast.unparse(decorator.func) != "pytest.mark.source":
        return None
    return str(ast.literal_eval(decorator.args[0]))


def by_source(found: Iterable[Marked]) -> dict[str, Sequence[Marked]]:
    """Return the functions by source, sources in alphabetical order."""
    sources: dict[str, list[Marked]] = {}
    for one in found:
        for source in one.sources:
            sources.setdefault(source, []).append(one)
    return {source: sources[source] for source in sorted(sources, key=str.casefold)}


def stage_of(found: Marked) -> str:
    """Return which stage a function checks, by its folder or its file's name."""
    parts = Path(found.path).parts
    return parts[1] if len(parts) > 2 else parts[1].removeprefix("test_").removesuffix(".py").split("_")[0]
