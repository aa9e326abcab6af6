"""The picture of times: every run where its seconds put it, what is odd named, all of it read back by another reader."""

from __future__ import annotations

import io
import math

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image

from engrave.learning.learned import Learned, Timed
from engrave.learning.logs import Log
from engrave.learning.timing_plot import AFTER, ODD, SIDE, TEMPLATE, _told, timing_png
from engrave.output.pictures.scenes import rgb
from engrave.output.typesetting import own_typesetter
from engrave.shop import load_shop

RUNS = [(60.0, 50.0, 61.0, False), (120.0, 100.0, 118.0, False), (240.0, 130.0, 150.0, True)]


def learned() -> Learned:
    points = tuple(
        Timed(Log(f"K-{n}", 1, real, n + 1), real, before, after, odd)
        for n, (real, before, after, odd) in enumerate(RUNS, 1)
    )
    return Learned(load_shop().machines["bench-router"], (), 0.17, 0.02, None, points, ())


def test_a_run_stands_as_far_along_as_it_took() -> None:
    told = _told(learned(), "The Ferry House")
    x = [run["x"] for run in told["runs"]]
    assert (x[1] - x[0]) == pytest.approx(x[2] - x[1])  # twice as long each time, on one scale
    assert all(0 < run[key] < SIDE for run in told["runs"] for key in ("x", "before", "after"))
    ticks = {tick["says"]: tick["at"] for tick in told["ticks"]}
    assert ticks["1 min"] == pytest.approx(x[0])
    assert ticks["2 min"] == pytest.approx(x[1])
    assert told["runs"][0]["after"] - x[0] == pytest.approx((x[1] - x[0]) * math.log2(61 / 60))
    assert [run["odd"] for run in told["runs"]] == ["", "", "K-3"]


def test_all_that_it_says_is_read_back() -> None:
    (pdf,) = own_typesetter().pages(TEMPLATE, _told(learned(), "The Ferry House"), {})
    (page,) = pdfium.PdfDocument(pdf)
    text = " ".join(page.get_textpage().get_text_range().split())
    for words in ("estimated and real", "The Ferry House", "3 runs; half of the estimates were more than 17.0 % off",
                  "as estimated", "as timed beside the machine", "K-3", "before", "now, but taken for interrupted", "nine of ten"):  # fmt: skip
        assert words in text, words
    for item in page.get_objects():
        left, _, right, _ = item.get_bounds()
        assert left >= -0.5
        assert right <= page.get_width() + 0.5


def test_marks_are_in_the_picture_and_it_comes_out_alike() -> None:
    png = timing_png(learned())
    assert timing_png(learned()) == png
    picture = np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)
    assert picture.shape[1] == 1200
    for colour, least in ((AFTER, 2 * 120), (ODD, 60)):
        assert (abs(picture - np.array(rgb(colour))).max(axis=2) < 24).sum() > least
