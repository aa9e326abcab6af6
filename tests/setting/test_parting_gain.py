"""What is not composed, as parting more joints cannot win, would not have won."""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_break_order import ROOMS, _search

from engrave.setting import place
from engrave.setting.compose import composition
from engrave.setting.compose.parting_gain import HullBound, ToBeat, _widest_size, knob_on
from engrave.setting.fit.layout import Layout
from engrave.setting.lettering import Lettering
from engrave.tasks import Task
from engrave.typefaces import Shelf

TEXTS = [
    ("heart-box", "Willi Ritter", "happy birthday from all of us", "ems-nixish"),
    ("heart-box", "MAX", "for the keys and all small things", "hershey-sans"),
    ("round-caddy", "Zoë & Tom", "Merry Christmas", "linux-libertine"),
    ("round-caddy", "Friedrich", "happy birthday from all of us", "quicksand"),
    ("domino-box", "Wanda", "thank you for everything you did for us this year", "ems-tech"),
    ("card-box", "Jo", "for the keys and all small things", "great-vibes"),
    ("puzzle-box", "Hannah", "for the keys and all small things", "blankenburg"),
]


@pytest.mark.parametrize(("lid", "name", "message", "typeface"), TEXTS)
def test_words_stand_as_if_all_had_been_composed(
    lid: str,
    name: str,
    message: str,
    typeface: str,
    task: Callable[..., Task],
    shelf: Shelf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    what = task(lid, name, message, typeface=typeface, cutter="co2-tube", wood="maple")
    kept = place(what, shelf)
    monkeypatch.setattr(composition, "_never_outdone", lambda *_: False)
    monkeypatch.setattr(composition, "COMPOSED", composition.CacheKind("composed again", 0))
    again = place(what, shelf)
    assert (kept.lines, _stand(kept)) == (again.lines, _stand(again))


def _stand(lettering: Lettering) -> list[tuple[str, Any]]:
    return [(m.glyph.key, m.matrix) for m in lettering.marks]


def test_compositions_with_fewer_joints_held_are_left_out(
    task: Callable[..., Task], shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[bool] = []
    asked = composition._never_outdone

    def counted(*given: Any) -> bool:
        told.append(asked(*given))
        return told[-1]

    monkeypatch.setattr(composition, "_never_outdone", counted)
    for lid, name, message, typeface in TEXTS:
        place(task(lid, name, message, typeface=typeface, cutter="co2-tube", wood="maple"), shelf)
    assert sum(told) >= 4


@settings(max_examples=25, deadline=None)
@given(shape=st.sampled_from(sorted(ROOMS)), seed=st.integers(0, 2**16))
def test_no_break_fits_above_its_bound(shape: str, seed: int) -> None:
    search = _search(ROOMS[shape], seed)
    best = search.best()
    if best is None:
        return
    hull = Layout(search.room.hull, search.stack, 0.0, search.least)
    number = {ends: n for n, ends in enumerate(hull.ends)}
    for of in islice(search.breaks_at(best[1] * 0.8), 12):
        lines = tuple(number[search.layout.ends[n]] for n in of.lines)
        size = search.raised(of, best[1] * 0.8, best[1])
        for knob in (None, knob_on(search.room, 0.0)):
            assert HullBound(hull, search.may_open, knob).reaches(lines, lambda most, size=size: most >= size)
        assert _widest_size(hull, lines) >= size


@given(
    full=st.floats(0.86, 1.0), looks=st.floats(0.0, 0.6), size=st.floats(0.05, 1.0), more=st.floats(0.0, 0.5),
    price=st.floats(0.0, 0.6),
)  # fmt: skip
def test_what_wins_at_a_size_wins_at_a_larger_one(
    full: float, looks: float, size: float, more: float, price: float
) -> None:
    old = ToBeat(full, looks, 3, 1.0, 0.85, composition.SMALLEST_SHARE, composition.BEYOND_PRICE)
    assert not old.may_win(price, size) or old.may_win(price, size + more)
    assert not old.may_win(price, size) or size >= old.least_size()
