"""A promise of the README, beside the test that holds it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

README = " ".join((Path(__file__).resolve().parents[1] / "README.md").read_text("utf-8").split())

Test = TypeVar("Test", bound=Callable[..., object])


def promised(*sentences: str) -> Callable[[Test], Test]:
    """Mark a test with what it holds the program to, as the README says it; an assertion if it says so no more."""
    for sentence in sentences:
        assert " ".join(sentence.split()) in README, f"the README does not promise any more: {sentence}"
    return lambda test: test
