"""The lids of a demo week, read back by other people's programs: true size, ink inside the room, nothing but paths."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image, ImageDraw
from svgpathtools import svgstr2paths

from engrave.making import Env, Piece, environment, make_any
from engrave.output.svg import check_svg, lid_svg
from engrave.shop import room
from engrave.shop.models import Area
from engrave.verbs import make_orders

DEMO = Path(__file__).resolve().parents[2] / "orders_demo"
DOTS = 8
"""Pixels a mm in the rendered picture; a pixel of 0.125 mm is the accuracy of the check below."""


@pytest.fixture(scope="module")
def made() -> tuple[Env, list[Piece]]:
    env = environment()
    with_outline = replace(
        env.shop.defaults, outline_in_svg="in"
    )  # so that the outline is read back with its lettering
    env = replace(env, shop=replace(env.shop, defaults=with_outline))
    whats, _ = make_orders(DEMO / "ferry_week.csv", env)
    pieces = [make_any(w, env) for w in whats[::3]]
    return env, [p for p in pieces if p.is_made]


def _ink(svg: str) -> np.ndarray:
    """Render with resvg and return where the group `engrave` is dark (the pale lid group is taken out first)."""
    head, rest = svg.split('<g id="lid"', 1)
    only = head + rest[rest.index("</g>") + 4 :]
    png = bytes(resvg_py.svg_to_bytes(svg_string=only, dpi=96, zoom=DOTS * 25.4 / 96, background="#ffffff"))
    return np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 128


def _room_mask(area: Area, piece: Piece, margin: float, shape: tuple[int, ...]) -> np.ndarray:
    assert piece.task is not None
    body = room(area, piece.task.tool.machine, piece.task.tool.cutter).buffer(1.5 / DOTS)
    picture = Image.new("L", (shape[1], shape[0]), 0)
    draw = ImageDraw.Draw(picture)
    for part in getattr(body, "geoms", [body]):
        draw.polygon([((x + margin) * DOTS, (y + margin) * DOTS) for x, y in part.exterior.coords], fill=255)
        for hole in part.interiors:
            draw.polygon([((x + margin) * DOTS, (y + margin) * DOTS) for x, y in hole.coords], fill=0)
    return np.asarray(picture) > 0


@pytest.mark.source("resvg, an independent renderer of SVG")
@pytest.mark.slow
def test_rendered_ink_lies_inside_the_room(made: tuple[Env, list[Piece]]) -> None:
    env, pieces = made
    assert len(pieces) > 6
    for piece in pieces:
        assert piece.task is not None
        ink = _ink(lid_svg(piece, env.shop))
        inside = _room_mask(piece.task.area, piece, env.shop.defaults.svg_margin, ink.shape)
        assert ink.any()
        assert not (ink & ~inside).any(), piece.order.id


@pytest.mark.source("svgpathtools, the file's paths and size")
@pytest.mark.slow
def test_another_reader_finds_the_same_strokes_at_true_size(made: tuple[Env, list[Piece]]) -> None:
    env, pieces = made
    for piece in pieces:
        svg = lid_svg(piece, env.shop)
        assert check_svg(svg) == ()
        paths, attributes, root = svgstr2paths(svg, return_svg_attributes=True)
        assert piece.task is not None
        width = piece.task.area.width + 2 * env.shop.defaults.svg_margin
        assert float(root["width"].removesuffix("mm")) == pytest.approx(width, abs=1e-3)
        assert float(root["viewBox"].split()[2]) == pytest.approx(width, abs=1e-3)
        boxes = [p.bbox() for p in paths if len(p)]
        assert max(b[1] for b in boxes) - min(b[0] for b in boxes) == pytest.approx(piece.task.area.width, abs=0.01)
        assert attributes
