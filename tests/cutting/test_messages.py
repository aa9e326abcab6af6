"""How figures are said beside their limit."""

from __future__ import annotations

import pytest
from shapely import box

from cutting.workbench import lid, region_lettering, tool, wood
from engrave.cutting import KeptMeasures, check
from engrave.cutting.messages.phrasing import said, under


@pytest.mark.parametrize(
    ("mm", "limit", "says"),
    [
        (0.696, 0.7, "just under 0.70 mm"),
        (0.694, 0.7, "0.69 mm"),
        (11.98, 12.0, "just under 12.0 mm"),
        (0.1, 0.7, "0.10 mm"),
    ],
)
def test_a_figure_never_reads_like_the_limit_that_it_misses(mm: float, limit: float, says: str) -> None:
    assert under(mm, limit) == says
    assert said(limit) in (f"{limit:.2f} mm", f"{limit:.1f} mm")


def test_a_web_that_lacks_a_hair_is_said_to() -> None:
    bars = box(0, 0, 1, 10).union(box(1.697, 0, 2.697, 10))
    laid = region_lettering([("x", bars)], 10.0)
    (problem,) = check(laid, tool(0.5), wood(0.7, 0.7), lid(), KeptMeasures(None)).problems
    assert "is just under 0.70 mm thick. Across the grain it needs 0.70 mm" in problem.says
