"""The harness counts what it is there to count: each kind of fault, planted, is found, and nothing where there is none."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from .attacks import ATTACKS
from .processes import Process, engrave, members
from .protocol import KINDS, Attack, Kind
from .running import Running, Worker, spend
from .tally import details, table
from .worker import attack_of

HERE = "tests.hostile.planted:"
PLANTED: list[tuple[str, Kind]] = [
    ("Raises", "traceback"),
    ("Dies", "traceback"),
    ("EatsMemory", "traceback"),
    ("Fails", "failed"),
    ("Spins", "hang"),
    ("SpinsInCompiledCode", "hang"),
    ("LosesARow", "lost"),
    ("LosesALid", "lost"),
    ("HalfALid", "half-written"),
    ("HalfAPage", "half-written"),
    ("LeavesAPart", "half-written"),
    ("StalePage", "stale"),
    ("StaleLid", "stale"),
    ("Mixes", "mixed"),
    ("LeavesRunning", "left running"),
]


@pytest.fixture(scope="module")
def worker() -> Iterator[Worker]:
    with Worker(cpu_s=0.5) as found:
        yield found


@pytest.mark.parametrize(("planted", "kind"), PLANTED)
def test_a_planted_fault_is_counted(planted: str, kind: Kind, worker: Worker, tmp_path: Path) -> None:
    attack = Running(HERE + planted, worker, seed=1)
    attack.step(tmp_path)
    assert [k for k in KINDS if attack.count.of(k)] == [kind]
    assert attack.count.cases == 1
    assert kind in details([attack.count])


def test_every_kind_is_planted() -> None:
    assert {kind for _, kind in PLANTED} == set(KINDS)


def test_nothing_is_counted_where_nothing_is_wrong(worker: Worker, tmp_path: Path) -> None:
    attack = Running(HERE + "HoldsThrough", worker, seed=1)
    attack.step(tmp_path)
    assert attack.count.faults == []


def test_the_table_adds_up_and_names_every_kind(worker: Worker) -> None:
    attacks = [Running(HERE + name, worker, seed=1) for name in ("Raises", "HoldsThrough")]
    spend(attacks, 0.2, lambda _: None)
    told = table([a.count for a in attacks])
    assert all(kind in told.splitlines()[0] for kind in KINDS)
    assert int(told.splitlines()[-1].split()[1]) == sum(a.count.cases for a in attacks)
    assert int(told.splitlines()[-1].split()[3]) == attacks[0].count.cases > 0


@pytest.mark.parametrize(
    "name", ["rows", "sheets", "drawings", "fonts", "tables", "logs", "folders", "places", "kills", "together"]
)
def test_a_case_follows_from_its_seed(name: str) -> None:
    attack: Attack = attack_of(ATTACKS[name])
    for number in range(3):
        assert attack.make(Random(f"7 {number}")) == attack.make(Random(f"7 {number}"))
    assert attack.make(Random("7 0")) != attack.make(Random("8 0")) or name == "kills"


def test_a_run_really_dies_before_the_change_it_is_told(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text("order,name,lid,typeface,wood\nA-1,Ida,card-box,withy,walnut\n", "utf-8")
    out = tmp_path / "week"
    process = Process(engrave("batch", table, "--out", out, "--jobs", "1", below=out, at=3), tmp_path)
    assert process.end()[0] == -9
    assert not members(process.pid)
    assert not (out / "week.html").exists() or b"A-1" not in (out / "week.html").read_bytes()
