"""Which findings the package makes, read from its source: every code with its levels, where they are made.

`python tests/tools/made_findings.py` prints them. A level that hangs on the row is every level that its line may give.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from engrave import problems
from engrave.intake.doubts import READINGS
from engrave.problems import Level

PACKAGE = Path(__file__).resolve().parents[2] / "engrave"
LEVELS: tuple[Level, ...] = ("note", "look", "hold")

FIXED: dict[tuple[str, str], Level] = {
    ("unit_drawn", "_held"): "hold",
    ("suggestions", "saving_note"): "note",
    ("faster", "saving_note"): "note",
    ("faster_weight", "saving_note"): "note",
    ("decoding", "_note"): "note",
}
"""Small functions that make a finding of a code they are given, by module, with the level they give it."""

PASSED_ON = {("unit_drawn", "_held"), ("suggestions", "saving_note"), ("decoding", "_note"), ("building", "told")}
"""Functions whose own line makes a finding of a code that their callers name."""

READ_WORDS = ("doubts", "doubts_of")
"""Talk to the shop and the rules on signs: their codes stand in tables, which `_of_tables` reads."""

Function = ast.FunctionDef


def made() -> dict[str, dict[str, set[str]]]:
    """Return by code and level the modules that make such a finding."""
    found: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for module, code, level in _all():
        found[code][level].add(module)
    return {code: dict(levels) for code, levels in found.items()}


def _all() -> Iterator[tuple[str, str, str]]:
    trees = {p.stem: ast.parse(p.read_text("utf-8")) for p in sorted(PACKAGE.rglob("*.py")) if p.stem != "__init__"}
    trees["intake"] = ast.parse((PACKAGE / "intake" / "__init__.py").read_text("utf-8"))
    readers = _readers(trees["cells"], trees["letter_features"])
    for module, tree in trees.items():
        for call, function in _calls(tree):
            for code, level in _made_by(module, call, function, readers):
                yield module, code, level
    for code, level in _of_tables():
        yield "doubts", code, level


def _calls(tree: ast.Module) -> Iterator[tuple[ast.Call, Function | None]]:
    """Yield every call with the innermost function that it stands in."""
    owner: dict[ast.AST, Function] = {}
    for function in ast.walk(tree):
        if isinstance(function, Function):
            owner.update(dict.fromkeys(ast.walk(function), function))
    yield from ((n, owner.get(n)) for n in ast.walk(tree) if isinstance(n, ast.Call))


def _made_by(
    module: str, call: ast.Call, function: Function | None, readers: dict[str, set[str]]
) -> Iterator[tuple[str, str]]:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    where = (module, function.name if function else "")
    if (module, name) in FIXED:
        codes = _words(_argument(call, 0 if name == "saving_note" else 1, "code"), function)
        yield from ((code, FIXED[module, name]) for code in codes or {"encoding"})
    elif (module, name) == ("building", "told"):
        reader = _words(call.args[0], None)
        inner = call.args[1]
        asked = getattr(inner.func, "id", "") if isinstance(inner, ast.Call) else "recut"
        yield from ((code, level) for code in reader for level in readers[asked])
    elif name in ("Problem", "Cleaned", "Doubt") and where not in PASSED_ON and where != READ_WORDS:
        code_at, level_at = call.args[0], _argument(call, 2 if name == "Cleaned" else 1, "level")
        if isinstance(code_at, ast.Attribute):
            return  # a Cleaned told: where it is made, its code and level stand
        codes = _words(code_at, function)
        levels = _words(level_at, function) if level_at else {"note"}
        if not codes or not levels <= set(LEVELS):
            raise ValueError(f"{module}, line {call.lineno}: of which code and level is this finding?")
        yield from ((code, level) for code in codes for level in levels)


def _argument(call: ast.Call, at: int, name: str) -> ast.expr | None:
    named = next((k.value for k in call.keywords if k.arg == name), None)
    return named or (call.args[at] if len(call.args) > at else None)


def _words(value: ast.expr | None, function: Function | None) -> set[str]:
    """Return what a word can be: itself, either of two, a table's values, or what its name was given above."""
    if isinstance(value, ast.Constant):
        return {str(value.value)}
    if isinstance(value, ast.IfExp):
        return _words(value.body, function) | _words(value.orelse, function)
    if isinstance(value, ast.Subscript) and isinstance(value.value, ast.Name):
        return set(_table(value.value.id))
    if isinstance(value, ast.Name) and value.id.isupper():
        return {str(getattr(problems, value.id))}
    if isinstance(value, ast.Name) and function:
        given = (
            n.value
            for n in ast.walk(function)
            if isinstance(n, ast.Assign | ast.AnnAssign) and value.id in {getattr(t, "id", "") for t in _targets(n)}
        )
        return {word for one in given for word in _words(one, function)}
    return set()


def _targets(node: ast.Assign | ast.AnnAssign) -> list[ast.expr]:
    return node.targets if isinstance(node, ast.Assign) else [node.target]


def _table(name: str) -> tuple[str, ...]:
    from engrave.tasks import choosing

    return tuple(getattr(choosing, name).values())


def _readers(*trees: ast.Module) -> dict[str, set[str]]:
    """Return for each reader of a cell the levels at which it may tell something, with those of what it calls."""
    functions = {n.name: n for tree in trees for n in tree.body if isinstance(n, Function)}

    def levels(name: str, seen: frozenset[str] = frozenset()) -> set[str]:
        out: set[str] = set()
        for node in ast.walk(functions[name]):
            if isinstance(node, ast.Constant) and node.value in LEVELS:
                out.add(str(node.value))
            called = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
            if called == "Read" and isinstance(node, ast.Call) and len(node.args) == 2:
                out.add("note")
            elif called in functions and called not in seen | {name}:
                out |= levels(called, seen | {name})
        return out

    return {name: levels(name) for name in functions}


def _of_tables() -> Iterator[tuple[str, str]]:
    """Talk to the shop: a look, or a hold where no words to cut are left; what may be empty is only looked at."""
    for code in READINGS:
        yield from ((code, level) for level in ("look", "hold") if (code, level) != ("perhaps-nothing", "hold"))


if __name__ == "__main__":
    for code, levels in sorted(made().items()):
        told = (f"{level} ({', '.join(sorted(levels[level]))})" for level in LEVELS if level in levels)
        print(f"{code}: {', '.join(told)}")
