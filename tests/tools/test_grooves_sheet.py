"""Single lines as grooves cut them: the sheet shows true widths with round ends; the table of raised strokes is today's."""

from __future__ import annotations

import io

import numpy as np
import pytest
import raised_strokes
from grooves_sheet import EDGE, GROOVES, SCALE, WORDS, grooves_sheet, samples
from PIL import Image
from typefaces.test_weighting import holes

from engrave.making import Env, environment


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


@pytest.mark.parametrize("ident", ["withy", "hershey-sans", "ems-nixish"])
def test_every_letter_is_there_in_every_groove_and_counters_stay_open(env: Env, ident: str) -> None:
    """The bowls of a and g, and the loops of B, o and 8, are holes at every width that a shop would cut."""
    for cap, least in ((25.0, 2), (12.0, 5)):
        found = list(samples(env.shelf, ident, cap))
        assert len(found) == sum(g / cap < 0.17 for g in GROOVES) + 2
        for shape, _ in found:
            assert holes(shape) >= least, (ident, cap)


def test_the_sheet_is_at_one_scale(env: Env) -> None:
    sheet = np.asarray(Image.open(io.BytesIO(grooves_sheet(env.shelf, ["withy"]))).convert("L"))
    assert sheet.shape[0] == round(sum(1.75 * cap for cap in (4.0, *WORDS)) * SCALE + EDGE)
    assert (sheet < 110).sum() > 5000


def test_what_raised_strokes_cost_is_what_the_guide_says(env: Env) -> None:
    guide = raised_strokes.GUIDE.read_text("utf-8")
    assert all(row in guide for row in raised_strokes.table(env)), "run python tests/tools/raised_strokes.py"
    by_bit, by_beam = (raised_strokes.cost(env, cutter) for cutter in raised_strokes.CUTTERS)
    assert 0.8 < by_bit < 2.0 and by_beam < 0.3
