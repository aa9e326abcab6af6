"""What limits the size, drawn: the ring is where the letter touches, and other breaks stand below."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
from PIL import Image

from engrave import verbs
from engrave.making import environment
from engrave.output.pictures import failure_png, scene
from engrave.output.pictures.frames import frame_for
from engrave.output.pictures.limit_picture import LID_HIGH, RING
from engrave.output.pictures.paper import DARK, EDGE, WIDE
from engrave.output.pictures.scenes import rgb


def _opened(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def test_the_touching_letter_is_ringed_and_other_breaks_make_the_picture_longer() -> None:
    env = environment()
    tried = verbs.try_words("Rosemary", "sixty summers on the river and a song", lid="heart-box", typeface="withy",
                            lettering_size="large", env=env)  # fmt: skip
    (reason,) = verbs.why(tried, env)
    piece = tried.entries[0].piece
    picture = _opened(failure_png(piece, env.shelf, env.shop, reason))
    alone = _opened(failure_png(piece, env.shelf, env.shop, replace(reason, runners_up=())))
    assert reason.limit == "room"
    assert len(reason.runners_up) > 0
    assert len(picture) > len(alone) + 200

    seen = scene(piece)
    assert seen is not None
    frame = frame_for(seen, WIDE - 2 * EDGE, LID_HIGH, EDGE)
    x = (WIDE - frame.width) // 2 + frame.pad + reason.touches[0].x * frame.scale
    y = 24 + frame.pad + reason.touches[0].y * frame.scale
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    found = np.zeros(len(turns), dtype=bool)
    for radius in (RING - 2, RING - 1, RING):  # its line is about two pixels wide, and its middle lies between pixels
        rows, columns = (
            (y + radius * np.sin(turns)).round().astype(int),
            (x + radius * np.cos(turns)).round().astype(int),
        )
        found |= abs(picture[rows, columns] - np.array(rgb(DARK))).max(axis=1) < 40
    assert found.mean() > 0.95


def test_without_a_reason_the_picture_is_that_of_what_fails() -> None:
    env = environment()
    tried = verbs.try_words("Charlotte", typeface="great-vibes", wood="oak", cutter="mill-1", env=env)
    (reason,) = verbs.why(tried, env)
    piece = tried.entries[0].piece
    assert piece.fitness is not None
    plain, both = (_opened(failure_png(piece, env.shelf, env.shop, r)) for r in (None, reason))
    assert piece.fitness.weak
    if piece.fitness.weak:
        assert (abs(both[: len(plain)] - plain).max(axis=2) < 40).mean() > 0.999  # pictures have few colours
    assert len(both) > len(plain)
