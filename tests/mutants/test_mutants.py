"""The mutants' tables fit the program as it stands; that the command tells killed from survived."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from pathlib import Path

import pytest

from . import trying
from .__main__ import chosen
from .reading import ROOT, Amiss, Mutant, load, refit

MUTANTS = load()
STAGES = ("geometry", "shop", "intake", "tasks", "typefaces", "setting", "cutting", "motion", "toolpath", "timing", "pricing",
          "making", "advising", "week", "output", "batch", "learning", "testpiece")  # fmt: skip
LEAST = 80


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda m: m.name)
def test_a_mutant_fits_the_program(mutant: Mutant) -> None:
    """Its pattern stands in the file exactly once, it changes something, what comes out is Python, and its tests exist."""
    whole = (ROOT / mutant.file).read_text("utf-8")
    changed = mutant.changed(whole)
    assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(whole))
    for test in mutant.tests:
        path, _, name = test.partition("::")
        assert (ROOT / path).exists(), f"{mutant.name}: there is no {path}"
        assert re.search(rf"^def {name.partition('[')[0]}\b", (ROOT / path).read_text("utf-8"), re.M) if name else True


def test_there_are_enough_of_every_stage() -> None:
    assert len(MUTANTS) >= LEAST
    assert len({m.name for m in MUTANTS}) == len(MUTANTS)
    assert len({(m.file, m.line, m.becomes) for m in MUTANTS}) == len(MUTANTS)
    for stage in STAGES:
        assert sum(m.file.startswith((f"engrave/{stage}/", f"engrave/{stage}.py")) for m in MUTANTS) >= 2, stage


def test_a_pattern_that_stands_nowhere_or_twice_is_told() -> None:
    one = replace(MUTANTS[0], line="return")
    with pytest.raises(Amiss, match="not once"):
        one.changed("return 1\nreturn 2\n")
    with pytest.raises(Amiss, match=re.escape(MUTANTS[0].file)):
        MUTANTS[0].changed("nothing\n")


def test_the_command_tells_killed_from_survived(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "engrave").mkdir()
    (tmp_path / "tests").mkdir()
    (tmp_path / "engrave" / "__init__.py").write_text(
        "def two():\n    return 1 + 1\n\n\ndef idle():\n    return 5 + 1\n", "utf-8"
    )
    (tmp_path / "tests" / "test_two.py").write_text(
        "import engrave\n\n\ndef test_two():\n    assert engrave.two() == 2\n", "utf-8"
    )
    (tmp_path / "tests" / "test_bad.py").write_text("def test_bad():\n    assert False\n", "utf-8")
    monkeypatch.setattr(trying, "ROOT", tmp_path)
    monkeypatch.setattr(trying, "COPIED", ("engrave", "tests"))
    file, good, bad = "engrave/__init__.py", ("tests/test_two.py",), ("tests/test_bad.py",)
    mutants = [
        Mutant("noticed", "x", file, "return 1 + 1", "return 1 - 1", good),
        Mutant("unnoticed", "x", file, "return 5 + 1", "return 5 - 1", good),
        Mutant("nothing-proved", "x", file, "return 1 + 1", "return 1 - 1", bad),
        Mutant("no-python", "x", file, "return 1 + 1", "return 1 +", good),
    ]
    found = {t.mutant.name: t.fate for t in trying.tried(mutants)}
    assert found == {"noticed": "killed", "unnoticed": "survived", "nothing-proved": "amiss", "no-python": "amiss"}
    assert (tmp_path / file).read_text("utf-8").count("1 + 1") == 1


def test_filters_choose_by_name_and_by_word() -> None:
    assert [m.name for m in chosen(MUTANTS, MUTANTS[0].name, None)] == [MUTANTS[0].name]
    assert all("pricing" in m.stage + m.file for m in chosen(MUTANTS, None, "pricing"))
    with pytest.raises(SystemExit, match="no mutant is called"):
        chosen(MUTANTS, "there-is-none", None)


def test_a_line_that_was_moved_is_followed(tmp_path: Path) -> None:
    one = MUTANTS[0]
    table = f'[moved]\nfile = "engrave/elsewhere.py"\nline = {one.line!r}\nbecomes = "x"\ntests = []\n'
    (tmp_path / "x.toml").write_text(table, "utf-8")
    assert refit(tmp_path) == ["moved"]
    (moved,) = load(tmp_path)
    assert moved.file == one.file
    assert refit(tmp_path) == []
