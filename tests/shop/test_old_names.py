"""Old names in a shop's tables still work, and the new ones are told once."""

from __future__ import annotations

from pathlib import Path

from engrave.shop import load_shop


def test_old_names_of_a_machine_are_read_and_told_once(tmp_path: Path) -> None:
    (tmp_path / "machines.toml").write_text(
        '[bench-router]\ncorner = "jd_guard"\ndelta = 0.03\n[gantry-laser]\ndelta = 0.02\n', encoding="utf-8"
    )
    shop = load_shop(tmp_path)
    router = shop.machines["bench-router"]
    assert (router.corner, router.corner_slack) == ("slow_arcs", 0.03)
    assert shop.machines["gantry-laser"].corner_slack == 0.02
    (told,) = [p for p in shop.notes if p.code == "old-names"]
    assert told.says == (
        "machines.toml has names of an earlier version, which still work: corner_slack (was delta), "
        '"slow_arcs" (was corner = "jd_guard").'
    )


def test_a_new_name_goes_before_an_old_one(tmp_path: Path) -> None:
    (tmp_path / "machines.toml").write_text("[bench-router]\ndelta = 0.03\ncorner_slack = 0.04\n", encoding="utf-8")
    assert load_shop(tmp_path).machines["bench-router"].corner_slack == 0.04


def test_without_old_names_nothing_is_told() -> None:
    assert not [p for p in load_shop().notes if p.code == "old-names"]
