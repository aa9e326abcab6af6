"""A week made by an engine's workers on their own: the same bytes, whatever becomes of one of them."""

from __future__ import annotations

import os
import signal
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from engrave.batch import Stopped, run_week
from engrave.cli import main
from engrave.engine import Engine, EngineError
from engrave.fingerprint import surroundings
from tests.promises import promised

distributed = pytest.importorskip("distributed")
pytestmark = [pytest.mark.slow, pytest.mark.alone, pytest.mark.filterwarnings("ignore")]

NAMES = ("Wanda", "Ida", "Tom", "Ada", "Nell", "Otto", "Vera", "Kit")
ROWS = "order,name,lid,typeface,cutter,wood\n" + "".join(
    f"G-{n},{name},card-box,{face},diode-450,cherry\n"
    for n, (name, face) in enumerate(zip(NAMES, ("withy", "vollkorn") * 4, strict=True))
)


@pytest.fixture
def cluster() -> Iterator[Any]:
    """Two workers, each a process of its own with one thread, as the README asks."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, memory_limit=0
    ) as made:
        yield made


@pytest.fixture
def table(tmp_path: Path) -> Path:
    file = tmp_path / "orders.csv"
    file.write_text(ROWS, "utf-8")
    return file


def address(cluster: Any) -> str:
    return str(cluster.scheduler_address).replace("tcp://", "dask://")


def bytes_of(folder: Path) -> dict[str, bytes]:
    """Return every file that is handed on, by name."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and ".engrave" not in file.parts
    }


@promised(
    "The files are the same byte for byte. A worker that dies costs a second try; an engine that is lost ends the run with 3."
)
def test_an_engine_makes_the_same_bytes_though_a_worker_is_killed(tmp_path: Path, table: Path, cluster: Any) -> None:
    killed: list[int] = []

    def kill_one(done: int, _: int) -> None:
        if done >= 2 and not killed:
            killed.append(next(iter(cluster.workers.values())).pid)
            os.kill(killed[0], signal.SIGKILL)

    done = run_week(table, tmp_path / "far", progress=kill_one, engine=address(cluster))
    near = run_week(table, tmp_path / "near", jobs=1)
    assert killed
    assert done.made == len(NAMES) == near.made
    assert bytes_of(tmp_path / "far") == bytes_of(tmp_path / "near")
    assert not list((tmp_path / "far" / ".engrave").glob("engine-*"))


def test_a_worker_that_does_not_see_the_folder_is_told_before_anything_is_made(tmp_path: Path, cluster: Any) -> None:
    class Elsewhere(type(tmp_path)):  # type: ignore[misc]
        """A folder that is another one to whoever unpickles it: as on a machine where the share is not there."""

        def __reduce__(self) -> Any:
            return Path, (f"{self}-elsewhere",)

    engine: Engine[int, int] = Engine(address(cluster), int, float, tmp_path, None)
    engine._folder = Elsewhere(tmp_path)
    with pytest.raises(EngineError, match=r"worker at tcp://.*does not see the week's folder"):
        engine.ask()


def test_other_tables_of_the_shop_are_told(tmp_path: Path, cluster: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A table that is changed between this computer's look at it and the worker's, as where a share lags behind."""
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "rates.toml").write_text("tax = 0.2\n", "utf-8")

    def then_changed(folder: Path | None) -> str:
        digest = surroundings(folder)
        (shop / "rates.toml").write_text("tax = 0.25\n", "utf-8")
        return digest

    monkeypatch.setattr("engrave.engine.surroundings", then_changed)
    with pytest.raises(EngineError, match=r"worker at tcp://.*other libraries or other tables"):
        Engine[int, int](address(cluster), int, float, tmp_path, shop).ask()


def test_an_engine_that_is_not_there_costs_nothing(tmp_path: Path, table: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    run_week(table, tmp_path / "out", jobs=1)
    before = bytes_of(tmp_path / "out")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("engrave.engine.ANSWERS_WITHIN", 1.0)
        with pytest.raises(EngineError, match="No engine answers"):
            run_week(table, tmp_path / "out", engine=f"dask://127.0.0.1:{port}")
    assert bytes_of(tmp_path / "out") == before


@pytest.mark.parametrize(
    "asked", ["bench-2:8786", "dask://bench-2", "tcp://bench-2:8786", "dask://:8786", "dask://a:b"]
)
def test_an_address_is_written_in_one_way(tmp_path: Path, table: Path, asked: str) -> None:
    told = CliRunner().invoke(main, ["batch", str(table), "--out", str(tmp_path / "out"), "--engine", asked])
    assert told.exit_code == 2
    assert "dask://HOST:PORT" in told.output


def test_this_machines_processes_and_an_engine_are_not_asked_for_together(tmp_path: Path, table: Path) -> None:
    asked = ["batch", str(table), "--out", str(tmp_path / "out"), "--engine", "dask://a:1", "--jobs", "2"]
    assert CliRunner().invoke(main, asked).exit_code == 2


def test_an_engine_lost_midway_keeps_what_is_finished(tmp_path: Path, table: Path, cluster: Any) -> None:
    def lose(done: int, _: int) -> None:
        if done == 2:
            threading.Thread(target=cluster.close, daemon=True).start()
            time.sleep(3.0)

    with pytest.raises(Stopped) as told:
        run_week(table, tmp_path / "out", progress=lose, engine=address(cluster))
    assert told.value.written
    assert told.value.status == 3
    done = run_week(table, tmp_path / "out", jobs=1)
    assert 0 < done.made <= len(NAMES) - 2


def test_two_weeks_at_once_on_one_engine_get_each_its_own(tmp_path: Path, cluster: Any) -> None:
    """Each worker keeps what it loaded for each week: the second week's must not take the first one's place."""
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    found: dict[str, list[Any]] = {"a": [], "b": []}

    def begun(name: str) -> Any:
        def work(thing: int) -> str:
            time.sleep(0.05)
            return f"{name}{thing}"

        return lambda: work

    def run(name: str) -> None:
        engine: Engine[int, str] = Engine(address(cluster), begun(name), lambda thing: 60.0, tmp_path / name, None)
        found[name] = sorted(engine.answers(range(20)))

    weeks = [threading.Thread(target=run, args=(name,)) for name in found]
    for week in weeks:
        week.start()
    for week in weeks:
        week.join(120.0)
    assert found == {name: [(n, f"{name}{n}") for n in range(20)] for name in found}


def test_a_worker_with_other_tables_ends_the_run_with_what_stands(
    tmp_path: Path, table: Path, cluster: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that joins after the others were asked says so over its first unit: that is no failure inside the program."""
    monkeypatch.setattr("engrave.engine.surroundings", lambda folder: "as it is here alone")
    monkeypatch.setattr(Engine, "ask", lambda self: None)
    with pytest.raises(Stopped, match="other libraries or other tables"):
        run_week(table, tmp_path / "out", engine=address(cluster))
    assert run_week(table, tmp_path / "out", jobs=1).made == len(NAMES)


def test_what_is_past_its_time_is_told_as_that(tmp_path: Path, cluster: Any) -> None:
    """Its worker's process ends itself; the next to get it says why, and is not ended over it too."""
    (tmp_path / ".engrave").mkdir()

    def work(thing: int) -> int:
        (tmp_path / f"begun-{thing}-{os.getpid()}").touch()
        time.sleep(600.0 if thing == 1 else 0.0)
        return thing

    engine: Engine[int, int] = Engine(
        address(cluster), lambda: work, lambda thing: 15.0 if thing == 1 else 300.0, tmp_path, None
    )
    assert sorted(engine.answers(range(3))) == [(0, 0), (1, "took-too-long"), (2, 2)]
    assert len(list(tmp_path.glob("begun-1-*"))) <= 1
    assert not list((tmp_path / ".engrave").glob("engine-*"))
