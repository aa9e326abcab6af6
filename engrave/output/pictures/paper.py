"""What every picture on paper shares: its width, edges, colours and sizes of labels, and how it becomes a PNG."""

from __future__ import annotations

import io

from PIL import Image

WIDE = 1200
"""Pixels: sharp on a telephone and a fair print, small enough for a letter."""

EDGE = 64
PAPER = "#fbf6ec"
DARK, SOFT = "#2f2218", "#77644f"

LOST, THIN = "#a63a24", "#e3a62f"
"""What is drawn but not cut, and wood left too thin: a dark and a light tone, told apart without colour too."""

COLOURS = 256
"""In so many colours a picture is a third as large and looks the same. They are chosen so that none is left out because
few pixels have it: the mark of an interrupted run has sixty."""


def in_few_colours(png: bytes) -> bytes:
    """Return a PNG in few colours; the same picture gives the same bytes."""
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    few = picture.quantize(COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    out = io.BytesIO()
    few.save(out, "PNG", compress_level=6)
    return out.getvalue()
