"""One word a thing: classes, modules and what a room's face offers are named once in the package."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent / "engrave"

SAME_CLASS = {
    "Floats": "numpy's arrays of floats, said briefly: the same thing wherever it is",
    "Ints": "numpy's arrays of whole numbers, likewise",
}
"""Public classes and types that share a name, and why they may."""

SAME_MODULE: dict[str, str] = {"__main__": "what Python runs of a package must have this name"}
"""Modules that share a name, and why they may."""

SAME_OFFER: dict[str, str] = {}
"""Names that several rooms offer though they are several things, and why they may."""


SAME_FUNCTION = {
    "engrave.intake.wording.lexicon": "the words that are known, read once; no room offers it",
    "engrave.intake.wording.rules": "the rules that are kept, read once; no room offers it",
    "engrave.intake.wording.tokens": "a text's tokens; no room offers it",
}
"""Modules named as a function of theirs, and why they may be."""


BY_EYE = ("engrave.output.pictures", "engrave.output.sheets", "engrave.output.page", "engrave.setting.ornament")
"""Rooms whose radii, tones and margins are a picture's own: each says on its own page what it is of."""

SAME_CONSTANT = {
    "UNUSABLE": "an exit status, named again where commands end",
    "STOPPED": "likewise",
    "ASIDE": "two answers to one question: a table's word and a person's",
    "FULL_LIST": "the cautions, and where people find them",
}
"""Constants that share a name, and why they may."""


def modules() -> Iterator[tuple[str, ast.Module]]:
    """Every module of the package by its dotted name, rooms by the name of their folder."""
    for file in sorted(PACKAGE.rglob("*.py")):
        parts = file.relative_to(PACKAGE.parent).with_suffix("").parts
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts), ast.parse(file.read_text("utf-8"))


def is_room(name: str) -> bool:
    return (PACKAGE.parent / name.replace(".", "/")).is_dir()


def twice(found: dict[str, set[str]], excused: dict[str, str]) -> dict[str, list[str]]:
    """The names that stand for several things, but for the excused; an excuse that is not needed counts too."""
    several = {name: sorted(where) for name, where in found.items() if len(where) > 1 and name not in excused}
    return several | {name: ["no longer twice"] for name in excused if len(found.get(name, ())) < 2}


def test_classes_and_types_are_named_once() -> None:
    found: dict[str, set[str]] = defaultdict(set)
    for name, tree in modules():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].add(name)
        for of_type in types(tree):
            found[of_type].add(name)
    assert not twice(found, SAME_CLASS)


def test_modules_are_named_once() -> None:
    found: dict[str, set[str]] = defaultdict(set)
    for name, _ in modules():
        found[name.rsplit(".", 1)[-1]].add(name)
    assert not twice(found, SAME_MODULE)


def test_what_a_face_offers_is_named_once() -> None:
    """A name in a room's `__all__` means one thing: the same definition, wherever it is offered again."""
    made = {f"{name}.{n}": name for name, tree in modules() for n in defined(tree)}
    found: dict[str, set[str]] = defaultdict(set)
    for name, tree in modules():
        if is_room(name):
            for offer, source in offered(tree).items():
                found[offer].add(origin(f"{source}.{offer}", made))
    assert not twice(found, SAME_OFFER)


def test_no_module_is_shadowed_by_what_its_room_offers() -> None:
    """`from room import name` would give a function where the room has a module of that name."""
    every = {name for name, _ in modules()}
    shadows = [
        f"{name}.{offer}" for name, tree in modules() if is_room(name)
        for offer in offered(tree) if f"{name}.{offer}" in every
    ]  # fmt: skip
    same = [f"{name}: {n}" for name, tree in modules() for n in functions(tree)
            if n == name.rsplit(".", 1)[-1] and name not in SAME_FUNCTION]  # fmt: skip
    assert not shadows
    assert not same


def test_constants_are_named_once() -> None:
    """A constant carries its noun: `OUTLINE_CHORD`, not `CHORD`, so that none needs its module to be understood."""
    found: dict[str, set[str]] = defaultdict(set)
    for name, tree in modules():
        if not name.startswith(BY_EYE):
            for n in defined(tree):
                if n.isupper() and len(n) > 1 and not n.startswith("_"):
                    found[n].add(name)
    assert not twice(found, SAME_CONSTANT)


def defined(tree: ast.Module) -> Iterator[str]:
    for node in tree.body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef):
            yield node.name
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            yield from (n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name))


def types(tree: ast.Module) -> Iterator[str]:
    """What a module gives a type's name to: in capitals and small letters, as a constant's is not."""
    classes = {node.name for node in tree.body if isinstance(node, ast.ClassDef)}
    yield from (n for n in defined(tree) if n[0].isupper() and any(c.islower() for c in n) and n not in classes)


def functions(tree: ast.Module) -> Iterator[str]:
    yield from (node.name for node in tree.body if isinstance(node, ast.FunctionDef))


def offered(tree: ast.Module) -> dict[str, str]:
    """What a face imports to offer: name and where from; a face that loads on use names it for type checkers."""
    checked = [
        n
        for node in tree.body
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)
        for n in node.body
    ]
    return {
        a.asname or a.name: str(node.module) for node in (*tree.body, *checked) if isinstance(node, ast.ImportFrom)
        for a in node.names if (node.module or "").startswith("engrave")
    }  # fmt: skip


def origin(dotted: str, made: dict[str, str]) -> str:
    """Where a name that is offered is made: the face that is imported from may itself only pass it on."""
    if dotted in made:
        return dotted
    module, name = dotted.rsplit(".", 1)
    for other, tree in modules():
        if other == module and name in offered(tree):
            return origin(f"{offered(tree)[name]}.{name}", made)
    return dotted
