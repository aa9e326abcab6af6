"""A quicker typeface is named only where it saves a tenth and a minute."""

from __future__ import annotations

import pytest
from priced import a_job

from engrave.advising.faster import _single_line


@pytest.mark.parametrize(
    ("now", "then", "told"),
    [
        (200.0, 120.0, True),
        (200.0, 139.0, True),
        (200.0, 141.0, False),  # three tenths, but less than a minute
        (100.0, 60.0, False),
        (1000.0, 890.0, True),
        (1000.0, 910.0, False),  # a minute and a half, but less than a tenth
        (200.0, 260.0, False),
    ],
)
def test_what_is_worth_a_word(now: float, then: float, told: bool) -> None:
    found = _single_line("Withy", "withy", a_job(now), a_job(then))
    assert (found is not None) is told
    if found is not None:
        assert (found.code, found.level, found.value, found.limit) == ("single-line", "note", then, now)
