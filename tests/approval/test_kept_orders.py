"""What was proved is kept whole, never altered, and found again; damage and two runs at once are answered."""

from __future__ import annotations

import json
import multiprocessing
import os
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from engrave.approval import KeptOrders, OrderFacts, facts_of, order_digest
from engrave.making import Env, Piece, environment
from engrave.output.svg import lid_svg
from engrave.verbs import try_words


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def order(env: Env, name: str = "Wanda") -> tuple[list[Piece], OrderFacts, Callable[[], list[str]]]:
    pieces = [e.piece for e in try_words(name, env=env).entries]
    facts = tuple(f for p in pieces if (f := facts_of(p)) is not None)
    return pieces, facts, lambda: [lid_svg(p, env.shop) for p in pieces]


def test_what_is_kept_is_found_exactly(env: Env, tmp_path: Path) -> None:
    pieces, facts, svgs = order(env)
    store = KeptOrders(tmp_path / "kept")
    code = store.keep(pieces, facts, svgs, "made by a test")
    found = store.find(code)
    assert found is not None
    assert (found.facts, found.digest) == (facts, order_digest(facts))
    assert found.letterings[0] == pieces[0].lettering
    assert (tmp_path / "kept" / code / "1.svg").read_text("utf-8") == svgs()[0]


def test_it_is_never_altered(env: Env, tmp_path: Path) -> None:
    pieces, facts, svgs = order(env)
    store = KeptOrders(tmp_path)
    code = store.keep(pieces, facts, svgs, "first")
    before = {f.name: f.read_bytes() for f in (tmp_path / code).iterdir()}
    assert store.keep(pieces, facts, lambda: pytest.fail("drawn again"), "second") == code
    assert {f.name: f.read_bytes() for f in (tmp_path / code).iterdir()} == before


def test_where_two_digests_meet_the_code_grows_by_two(env: Env, tmp_path: Path) -> None:
    pieces, facts, svgs = order(env)
    store = KeptOrders(tmp_path)
    code = store.code_for(order_digest(facts))
    (tmp_path / code).mkdir()
    (tmp_path / code / "facts.json").write_text(json.dumps({"digest": "0" * 64}), "utf-8")
    longer = store.keep(pieces, facts, svgs, "")
    assert longer.startswith(code)
    assert len(longer) == len(code) + 2
    assert store.find(longer) is not None


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"digest": 1}', '{"digest": "00", "pieces": [], "letterings": []}'])
def test_damage_is_as_good_as_nothing(env: Env, tmp_path: Path, damage: str) -> None:
    pieces, facts, svgs = order(env)
    store = KeptOrders(tmp_path)
    code = store.keep(pieces, facts, svgs, "")
    (tmp_path / code / "facts.json").write_text(damage, "utf-8")
    assert store.find(code) is None
    assert store.listed() == ()


def test_what_a_killed_run_left_is_passed_over(env: Env, tmp_path: Path) -> None:
    (tmp_path / ".part-abc").mkdir()
    (tmp_path / ".part-abc" / "1.svg").write_text("half", "utf-8")
    pieces, facts, svgs = order(env)
    store = KeptOrders(tmp_path)
    code = store.keep(pieces, facts, svgs, "")
    assert [kept[0] for kept in store.listed()] == [code]


def _keep(folder: Path, name: str) -> None:
    env = environment()
    KeptOrders(folder).keep(*order(env, name), "side by side")


@pytest.mark.slow
@pytest.mark.alone
def test_two_runs_that_keep_the_same_at_once_both_end_well(tmp_path: Path) -> None:
    runs = [multiprocessing.Process(target=_keep, args=(tmp_path, "Ida")) for _ in range(2)]
    for run in runs:
        run.start()
    for run in runs:
        run.join(60)
    assert [run.exitcode for run in runs] == [0, 0]
    assert len(KeptOrders(tmp_path).listed()) == 1
    assert not list(tmp_path.glob(".part-*"))


def test_pruned_by_age(env: Env, tmp_path: Path) -> None:
    store = KeptOrders(tmp_path)
    old, new = store.keep(*order(env, "Ole"), ""), store.keep(*order(env, "Una"), "")
    long_ago = (date.today() - timedelta(days=500)).toordinal() - date(1970, 1, 1).toordinal()
    os.utime(tmp_path / old / "facts.json", (long_ago * 86400.0, long_ago * 86400.0))
    assert store.prune(timedelta(days=400), date.today()) == (old,)
    assert [kept[0] for kept in store.listed()] == [new]


def test_a_changed_fact_is_another_code(env: Env, tmp_path: Path) -> None:
    pieces, facts, svgs = order(env)
    store = KeptOrders(tmp_path)
    first = store.keep(pieces, facts, svgs, "")
    second = store.keep(pieces, (replace(facts[0], wood="oak"),), svgs, "")
    assert first != second
