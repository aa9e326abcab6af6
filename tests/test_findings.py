"""The table of findings: complete, at the right levels, none idle, and printed as it is."""

from __future__ import annotations

from typing import get_args

import finding_table
import pytest
from made_findings import LEVELS, made

from engrave.findings import FINDINGS, HELP, SAVERS, FindingCode, Help, finding_code, helped_by
from engrave.intake.wording import codes


def test_the_type_checker_and_the_table_know_the_same_codes() -> None:
    assert list(get_args(FindingCode)) == list(FINDINGS)
    assert set(get_args(Help)) == set(HELP)


def test_every_finding_is_made_at_its_levels_and_none_is_idle() -> None:
    found = {code: tuple(level for level in LEVELS if level in levels) for code, levels in made().items()}
    assert found == {code: finding.levels for code, finding in FINDINGS.items()}


def test_talk_to_the_shop_has_codes_of_the_table() -> None:
    assert codes() <= set(FINDINGS)
    with pytest.raises(ValueError, match="no-such"):
        finding_code("no-such")


def test_every_kind_of_help_is_asked_for_and_a_note_alone_needs_none() -> None:
    for kind in HELP:
        assert helped_by(kind)
    assert all(FINDINGS[finding_code(code)].levels != ("note",) for code in helped_by(*set(HELP) - {""}))


def test_a_finding_means_something_of_its_own() -> None:
    meanings = [finding.means for finding in FINDINGS.values()]
    assert len(set(meanings)) == len(meanings)
    assert all(meaning and not meaning.endswith(".") for meaning in meanings)


def test_advice_on_time_is_what_modules_of_savings_make() -> None:
    by_module = {code: {m for modules in levels.values() for m in modules} for code, levels in made().items()}
    assert set(SAVERS) == {
        c for c, modules in by_module.items() if modules & {"suggestions", "faster", "faster_weight"}
    }


def test_the_guide_prints_the_table() -> None:
    guide = finding_table.GUIDE.read_text("utf-8")
    assert finding_table.written(guide) == guide, "run python tests/tools/finding_table.py"
