"""What was worked out of a shop's tables and typefaces is held by the environment; a module keeps only what is the same
for everybody: our own data files, what Unicode says of characters, and what belongs to the process itself."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import engrave
from engrave.making import Env, environment
from engrave.verbs import try_words

PACKAGE = Path(engrave.__file__).parent

OWN_DATA = {
    "intake.cells._months",
    "intake.phrases.to_cut",
    "intake.phrases.wish",
    "intake.unread._stems",
    "intake.wording.lexicon._LITERALS",
    "intake.wording.lexicon._misspelled",
    "intake.wording.lexicon.lexicon",
    "intake.wording.lexicon.literal_sign",
    "intake.wording.rules._book",
    "intake.wording.rules._compiled",
    "intake.wording.rules.rules",
    "intake.wording.rules.whole_cells",
    "intake.wording.weighing._names",
    "intake.wording.weighing.weights",
    "output.page.week_html._script",
    "output.page.week_html._face_data",
    "output.page.week_html.page_templates",
    "setting.text.joint_data.joint_table",
    "shop.own_tables._before",
    "stored._hints",
    "stored._names",
}
"""Our own data files and classes, read once: no shop changes them."""

OF_CHARACTERS = {
    "intake.headers.fold",
    "intake.wording.judging.remarks",
    "setting.text.break_opportunities.stretches",
    "typefaces.characters._stands_alone",
    "typefaces.characters.name_of",
    "typefaces.characters.script_of",
}
"""What Unicode and our own words say of a text, whatever the shop: bounded, and the same for equal texts."""

OF_LETTERS = {
    "output.point_texts._decimals",
    "output.point_texts._whole_numbers",
    "output.svg.lid_file._each_data",
    "output.svg.lid_file._shape_data",
    "output.svg.svg_check._in_form",
    "setting.text.glyph_shapes._measures",
    "toolpath.stroke_order._runs",
}
"""What follows from a form or a number alone, under a key that is it or holds its digest: bounded, the same for equals."""

OF_THE_PROCESS = {"output.typesetting.typesetter.own_typesetter", "signals._asked", "workers._threaded"}
"""What there is one of in a process: its signals, its typesetter, whether it may fork."""


def kept_by_modules() -> Iterator[str]:
    """Every cached function and every container that a module may fill, by its dotted name in the package."""
    for file in sorted(PACKAGE.rglob("*.py")):
        module = ".".join(file.relative_to(PACKAGE).with_suffix("").parts)
        tree = ast.parse(file.read_text("utf-8"))
        yield from (f"{module}.{name}" for name in cached(tree))
        yield from (f"{module}.{name}" for name in filled(tree))


def cached(tree: ast.AST) -> Iterator[str]:
    """Yield the functions that are kept, wherever they stand but within a function: that one goes with its call."""
    for node in ast.iter_child_nodes(tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield from cached(node)
        else:
            words = {n.id if isinstance(n, ast.Name) else n.attr for d in node.decorator_list for n in ast.walk(d)
                     if isinstance(n, ast.Name | ast.Attribute)}  # fmt: skip
            if words & {"cache", "lru_cache"}:
                yield node.name


def filled(tree: ast.Module) -> Iterator[str]:
    for node in tree.body:
        if not isinstance(node, ast.Assign | ast.AnnAssign):
            continue
        value = node.value
        empty = (isinstance(value, ast.Dict) and not value.keys) or (isinstance(value, ast.List) and not value.elts)
        made = isinstance(value, ast.Call) and isinstance(value.func, ast.Name) and value.func.id in (
            "Cache", "OrderedDict", "defaultdict", "dict", "list", "set") and not value.args  # fmt: skip
        if empty or made:
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            yield from (n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name) and n.id != "__all__")
    for inner in ast.walk(tree):
        if isinstance(inner, ast.Global):
            yield from inner.names


def test_a_module_keeps_nothing_of_a_shop() -> None:
    assert set(kept_by_modules()) == OWN_DATA | OF_CHARACTERS | OF_LETTERS | OF_THE_PROCESS


def test_one_cache_is_held_by_the_environment_and_lent_to_its_typefaces_and_measures() -> None:
    env = environment()
    assert env.cache is env.shelf.cache is env.measures.cache


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def test_no_stage_that_makes_a_piece_writes_a_file(env: Env, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Heard by the interpreter itself: no file is opened for writing, made, renamed or removed until measures are saved."""
    monkeypatch.setattr(type(env.measures), "save", lambda self: None)
    try_words("Ida", lid="round-caddy", env=env)  # data files of ours are read, and kept ready, before
    heard: list[str] = []
    listening = True

    def hear(event: str, args: tuple[object, ...]) -> None:
        if not listening:
            return
        if event == "open" and any(c in str(args[1]) for c in "wax+"):
            heard.append(str(args[0]))
        elif event in ("os.mkdir", "os.rename", "os.remove", "tempfile.mkstemp"):
            heard.append(f"{event} {args[0]}")

    sys.addaudithook(hear)
    try_words("Maximiliane", message="from all of us", lid="oval-box", cutter="v60", wood="oak", env=env)
    try_words("Theodora", lid="round-caddy", typeface="vollkorn", env=env)
    assert heard == []
    (tmp_path / "told").write_text("x", "utf-8")
    assert heard == [str(tmp_path / "told")]  # the ear is awake
    listening = False
