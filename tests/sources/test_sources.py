"""Enough is checked against something outside, in every stage that has an outside, and each check says what."""

from __future__ import annotations

from pathlib import Path

import pytest

from .reading import by_source, marked, stage_of

LEAST = 100
STAGES = {
    "geometry",
    "shop",
    "intake",
    "typefaces",
    "setting",
    "cutting",
    "motion",
    "toolpath",
    "pricing",
    "advising",
    "week",
    "output",
}


def test_a_hundred_functions_check_against_something_outside() -> None:
    assert len(marked()) >= LEAST


def test_no_stage_with_an_outside_is_left_out() -> None:
    assert {stage_of(f) for f in marked()} >= STAGES


@pytest.mark.parametrize("source", by_source(marked()))
def test_a_source_can_be_looked_up(source: str) -> None:
    """A name and what of it; nothing of our own."""
    assert len(source) > 10
    assert source == " ".join(source.split())
    assert "engrave" not in source


def test_marks_are_found_and_only_marks(tmp_path: Path) -> None:
    (tmp_path / "tests" / "week").mkdir(parents=True)
    (tmp_path / "tests" / "week" / "test_x.py").write_text(
        'import pytest\n\n\n@pytest.mark.source("A, B")\n@pytest.mark.slow\ndef test_a() -> None: ...\n\n\n'
        'def test_b() -> None:\n    """@pytest.mark.source("C, D")"""\n', "utf-8"
    )  # fmt: skip
    (found,) = marked(tmp_path / "tests")
    assert (found.path, found.name, found.sources, stage_of(found)) == (
        "tests/week/test_x.py",
        "test_a",
        ("A, B",),
        "week",
    )
