"""The short form of the attacks (`python -m tests.hostile` is the long one), and every input that once failed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from .attacks import ATTACKS
from .running import CASES, Running, Worker, kept_cases

SHORT = {
    "rows": 12, "sheets": 6, "drawings": 6, "fonts": 4, "tables": 8, "logs": 4, "records": 2, "measures": 4, "folders": 3, "places": 6,
}  # fmt: skip
"""Cases of each attack: some seconds in all."""

PROCESSES = {"kills": 2, "disk": 1, "together": 1}
"""Those that need real processes."""


@pytest.fixture(scope="module")
def worker() -> Iterator[Worker]:
    with Worker() as found:
        yield found


@pytest.mark.parametrize("name", SHORT)
def test_the_program_holds(name: str, worker: Worker, tmp_path: Path) -> None:
    attack = Running(ATTACKS[name], worker, seed=1)
    for _ in range(SHORT[name]):
        attack.step(tmp_path)
    assert attack.count.faults == []


@pytest.mark.slow
@pytest.mark.parametrize("name", PROCESSES)
def test_the_program_holds_as_a_process(name: str, worker: Worker, tmp_path: Path) -> None:
    attack = Running(ATTACKS[name], worker, seed=1)
    for _ in range(PROCESSES[name]):
        attack.step(tmp_path)
    assert attack.count.faults == []


def _kept() -> list[object]:
    slow = {name: [pytest.mark.slow] if name in PROCESSES else [] for name in ATTACKS}
    return [
        pytest.param(case, id=f"{name}/{case.name}", marks=slow[name]) for name in ATTACKS for case in kept_cases(name)
    ]


@pytest.mark.parametrize("case", _kept())
def test_what_once_failed_holds(case: Path, worker: Worker) -> None:
    assert worker.answer(ATTACKS[case.parent.name], case) == []


def test_every_kept_case_belongs_to_an_attack() -> None:
    assert {p.name for p in CASES.iterdir() if p.is_dir()} <= set(ATTACKS)
