"""What settings of the same words have in common is worked out once: the room on the lid, and words in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from engrave.setting import place
from engrave.setting.compose import composition
from engrave.setting.compose.standing import Composition
from engrave.setting.reading_frame import ReadingFrame, frame_of
from engrave.shop import Shop
from engrave.tasks import Task
from engrave.typefaces import Shelf

LONG = "thank you for everything you did for us this year and all that"


def frames_of(shop: Shop, shelf: Shelf, lid: str, groove: float = 0.0) -> list[ReadingFrame]:
    """Return what each cutter leaves of a lid's first area."""
    area = shop.lids[lid].areas[0]
    found = [frame_of(area, shop.machines[c.machine], c, groove, shelf.cache) for c in shop.cutters.values()]
    assert all(found)
    return [frame for frame in found if frame is not None]


def test_cutters_that_leave_the_same_room_have_one_frame(shop: Shop, shelf: Shelf) -> None:
    frames = frames_of(shop, shelf, "heart-box")
    assert len(frames) == len(shop.cutters)
    assert len({id(frame) for frame in frames}) == 1


def test_cutters_that_leave_other_rooms_have_frames_of_their_own(shop: Shop, shelf: Shelf) -> None:
    """Round a knob a beam's head keeps clear of other wood than a holder does, and grooves have less room than outlines."""
    frames = frames_of(shop, shelf, "round-caddy")
    rooms = {(frame.room.wkb, frame.solving.shape.wkb) for frame in frames}
    assert len(rooms) > 1
    assert len({id(frame) for frame in frames}) == len(rooms)
    assert not {id(f) for f in frames} & {id(f) for f in frames_of(shop, shelf, "round-caddy", groove=1.0)}


def test_a_long_text_at_its_largest_is_not_searched_again(
    task: Callable[..., Task], shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Words too many for their calm size are searched at many ratios of message to name, all of which are kept."""
    what = task(
        "round-caddy",
        "Willi Ritter",
        LONG,
        typeface="linux-libertine",
        cutter="co2-tube",
        wood="maple",
        spacing="12.5 %",
    )
    searched: list[int] = []
    compose = composition._composed

    def counted(*given: Any) -> Composition | None:
        searched.append(1)
        return compose(*given)

    monkeypatch.setattr(composition, "_composed", counted)
    place(what, shelf)
    before = len(searched)
    assert before > 12
    assert place(replace(what, setting=replace(what.setting, fill=1.0)), shelf).marks
    assert len(searched) == before
