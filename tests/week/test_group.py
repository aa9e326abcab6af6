"""Matching pieces get one size; an order's own minutes are on a piece that is made; how far each order has come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from engrave import making
from engrave.intake.order import Order, Words
from engrave.making import Env, environment
from engrave.tasks import define_all
from engrave.verbs import make_orders
from engrave.week import Entry, assemble, make_unit, progress, units
from week.made import entry, rates


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def _group(tmp_path: Path, env: Env, names: Sequence[str], lids: Sequence[str]) -> tuple[Entry, ...]:
    table = tmp_path / "orders.csv"
    rows = [f"m{i},{n},{lid},withy,maple,crew" for i, (n, lid) in enumerate(zip(names, lids, strict=True))]
    table.write_text("order,name,lid,typeface,wood,matching\n" + "\n".join(rows) + "\n", "utf-8")
    whats, _ = make_orders(table, env)
    (unit,) = units(whats)
    return make_unit([whats[i] for i in unit], env)


def _caps(entries: Sequence[Entry]) -> list[float]:
    return [e.piece.lettering.cap_mm for e in entries if e.piece.lettering and e.piece.lettering.marks]


@pytest.mark.slow
def test_matching_pieces_get_the_largest_size_that_all_allow(tmp_path: Path, env: Env) -> None:
    made = _group(tmp_path, env, ("Ida", "Marguerite", "Tom"), ("card-box",) * 3)
    alone = [e.alone_mm or 0.0 for e in made]
    assert _caps(made) == pytest.approx([min(alone)] * 3)
    assert max(alone) > 1.3 * min(alone)  # or the group would prove nothing
    week = assemble(made, env.shop.rates)
    assert week.matchings[0].limited_by == alone.index(min(alone)) == 1
    assert all(any(p.code == "matching-size" for p in e.piece.problems) for e in week.entries)


def test_the_size_is_exactly_that_of_the_one_that_allows_least(tmp_path: Path, env: Env) -> None:
    """Not one of the sizes tried on the way down from another's: two that are nearly as large show it."""
    made = _group(tmp_path, env, ("Marguerite", "Margareta"), ("card-box",) * 2)
    alone = sorted(e.alone_mm or 0.0 for e in made)
    assert 1.02 < alone[1] / alone[0] < 1.15
    assert _caps(made) == pytest.approx([alone[0]] * 2, rel=1e-6)


@pytest.mark.slow
def test_a_member_that_fits_nowhere_shrinks_nobody(tmp_path: Path, env: Env) -> None:
    without = _group(tmp_path, env, ("Ida", "Tom"), ("card-box",) * 2)
    hopeless = "Wolfeschlegelsteinhausenbergerdorff" * 4
    made = _group(tmp_path, env, ("Ida", "Tom", hopeless), ("card-box",) * 3)
    assert made[2].piece.verdict == "hold"
    assert _caps(made[:2]) == pytest.approx(_caps(without))


def test_a_member_on_hold_for_its_size_shrinks_nobody(tmp_path: Path, env: Env) -> None:
    """It has a place, but so small that it is held; 'Ida' came out a quarter as high beside it, and ready."""
    long = "Wolfeschlegelsteinhausenbergerdorffvoralternwarengewissen"
    without = _group(tmp_path, env, ("Ida",), ("card-box",))
    made = _group(tmp_path, env, ("Ida", long), ("card-box",) * 2)
    assert made[1].piece.verdict == "hold"
    assert _caps(made[1:])  # it is laid, and looked at
    assert _caps(made[:1]) == pytest.approx(_caps(without))
    assert assemble(made, env.shop.rates).matchings[0].limited_by is None


@pytest.mark.parametrize("name", ["HAPPY BIRTHDAY DEAR GRANDAD", "Zoë & Åse", "Ida"])
def test_identical_rows_come_out_as_the_row_alone(tmp_path: Path, env: Env, name: str) -> None:
    """In capitals, with accents, and plain: the pitch of a set was another than that of a row."""
    (single,) = _group(tmp_path, env, (name,), ("seed-box",))
    for member in _group(tmp_path, env, (name, name), ("seed-box",) * 2):
        assert member.piece.lettering is not None and single.piece.lettering is not None
        assert member.piece.lettering.lines == single.piece.lettering.lines
        assert member.piece.verdict == single.piece.verdict


@pytest.mark.slow
def test_a_refused_member_leaves_the_others_their_size(tmp_path: Path, env: Env) -> None:
    table = tmp_path / "orders.csv"
    table.write_text("order,name,lid,typeface,matching\nA,Ida,card-box,withy,x\nB,Tom,no-lid,withy,x\n", "utf-8")
    whats, _ = make_orders(table, env)
    entries = [e for unit in units(whats) for e in make_unit([whats[i] for i in unit], env)]
    assert entries[0].piece.is_made
    assert entries[1].piece.verdict == "hold"
    assert define_all([], env.shop, env.shelf.kinds()) == ()


def test_the_order_s_minutes_go_to_the_first_piece_that_is_made() -> None:
    of = rates(hands=replace(rates().hands, order=6.0), fixed_fee=Decimal("0.30"))
    pieces = [entry("a", piece=1, of=of, held=True), entry("a", piece=2, of=of), entry("a", piece=3, of=of)]
    week = assemble(pieces, of)
    hands = [dict(e.piece.quote.hands).get("words and proof") for e in week.entries if e.piece.quote]
    assert hands[1:] == [360.0, None]
    assert week.totals.hand_seconds == 360.0
    both = assemble([entry("a", piece=1, of=of), entry("a", piece=2, of=of)], of)
    assert both.totals.hand_seconds == 360.0
    assert both.totals.price == assemble(pieces, of).totals.price


def test_progress_counts_what_is_not_on_hold() -> None:
    week = assemble([entry("a"), entry("a", piece=2, held=True), entry("b"), entry("a", piece=3)], rates())
    assert progress(week) == {"a": (2, 3), "b": (1, 1)}


DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 90"><path d="M10 80 H80 L45 10 Z"/></svg>'


def test_a_drawing_without_words_shrinks_nobody(tmp_path: Path) -> None:
    """It has no capitals: as a member of 0 mm it set everyone at nothing."""
    (tmp_path / "artwork").mkdir()
    (tmp_path / "artwork" / "fir.svg").write_text(DRAWING, "utf-8")
    own = environment(tmp_path)
    of = {"lid": "card-box", "typeface": "vollkorn", "cutter": "diode-450", "matching": "crew"}
    drawn = Order("D-1", 1, 2, Words(), Words(), artwork="fir", **of)
    words = [Order(f"W-{n}", 1, n, Words(name), Words(name), **of) for n, name in enumerate(("Ida", "Marguerite"))]

    def made(orders: Sequence[Order]) -> list[Entry]:
        whats = define_all(orders, own.shop, own.shelf.kinds(), drawings=own.drawings)
        return [entry for unit in units(whats) for entry in make_unit([whats[i] for i in unit], own)]

    alone, beside = made(words), made([*words, drawn])
    assert beside[2].piece.is_made
    assert _caps(beside[:2]) == _caps(alone)
    assert min(_caps(alone)) > 5.0
    (matching,) = assemble(beside, own.shop.rates).matchings
    assert (matching.members, matching.limited_by) == ((0, 1), 1)
    assert matching.cap_mm == pytest.approx(_caps(alone)[0])


def test_whether_what_was_proved_can_be_cut_is_asked_without_timing_it(
    env: Env, monkeypatch: pytest.MonkeyPatch
) -> None:
    of = {"lid": "card-box", "typeface": "vollkorn", "cutter": "diode-450", "matching": "crew"}
    orders = [Order(f"W-{n}", 1, n, Words("Ida"), Words("Ida"), **of) for n in range(2)]
    whats = define_all(orders, env.shop, env.shelf.kinds())
    (first, _) = make_unit(whats, env)
    assert first.piece.lettering is not None
    timed: list[object] = []
    real = making.estimate_time
    monkeypatch.setattr(making, "estimate_time", lambda *of: (timed.append(of), real(*of))[1])
    led, follows = make_unit(whats, env, {0: first.piece.lettering})
    assert (led.leads, follows.leads) == (True, False)
    assert len(timed) == 2  # one a piece: the proved one is cut as it is set today


def test_beside_a_proved_one_those_that_will_be_held_are_no_members(env: Env) -> None:
    """One proved and no longer in its room, one whose approval says nothing: the one set apart has its own size."""
    of = {"lid": "card-box", "typeface": "vollkorn", "cutter": "diode-450", "matching": "crew"}
    names = ("Tom", "Marguerite", "Wilhelmina-Charlotte", "Wilhelmina-Charlotta")
    orders = [Order(f"W-{n}", 1, n, Words(name), Words(name), **of) for n, name in enumerate(names)]
    whats = define_all(orders, env.shop, env.shelf.kinds())
    tom, marguerite, far, _ = [entry.piece for what in whats for entry in make_unit([what], env)]
    assert tom.lettering and marguerite.lettering and far.lettering
    moved = tuple(replace(m, matrix=(*m.matrix[:4], m.matrix[4] + 500.0, m.matrix[5])) for m in far.lettering.marks)
    made = make_unit(whats, env, {0: tom.lettering, 2: replace(far.lettering, marks=moved), 3: None})
    assert [entry.leads for entry in made] == [True, False, False, False]
    assert _caps(made[1:2]) == [marguerite.lettering.cap_mm]
    assert ["matching-apart" in entry.piece.serious for entry in made] == [False, True, False, False]


@pytest.mark.slow
def test_a_member_that_is_ready_alone_is_ready_at_its_own_size(env: Env) -> None:
    """A message was made just readable alone, but not in a set; whoever sets the size was on hold for its message."""
    of = {
        "lid": "heart-box",
        "typeface": "noto-sans-bold",
        "cutter": "mill-05",
        "wood": "birch",
        "setting": "stack-grand",
    }
    rows = (("Agnieszka", "love", "Bergen, 4 May 2031"), ("Ngaire", "FOR YOUR 40TH", "2031"))
    orders = [
        Order(f"W-{n}", 1, n, Words(*row), Words(*row), matching="crew", **of) for n, row in enumerate(rows)
    ]  # fmt: skip
    whats = define_all(orders, env.shop, env.shelf.kinds())
    alone = [entry.piece for what in whats for entry in make_unit([what], env, advice=False)]
    made = [entry.piece for entry in make_unit(whats, env, advice=False)]
    assert [p.is_made for p in (*alone, *made)] == [True] * 4
    caps = [p.lettering.cap_mm for p in (*alone, *made) if p.lettering]
    assert caps[2:] == [min(caps[:2])] * 2


@pytest.mark.slow
def test_a_set_is_larger_where_one_would_be_too_small_at_the_size_of_the_smallest(env: Env) -> None:
    """A foot on a rim was too small to be read beside a name as small as that of another lid: 10.9 mm, where 12 do."""
    of = {"typeface": "dancing-script", "cutter": "diode-450", "wood": "ash", "setting": "rim-both", "matching": "crew"}
    rows = (Words("Bo"), "reel-box"), (Words("Bo", foot="J & K"), "puzzle-box-left")
    orders = [Order(f"W-{n}", 1, n, words, words, lid=lid, **of) for n, (words, lid) in enumerate(rows)]
    whats = define_all(orders, env.shop, env.shelf.kinds())
    alone = [entry.piece for what in whats for entry in make_unit([what], env, advice=False)]
    entries = make_unit(whats, env, advice=False)
    assert [p.is_made for p in (*alone, *(e.piece for e in entries))] == [True] * 4
    first, second = _caps(entries)
    assert first == second > min(p.lettering.cap_mm for p in alone if p.lettering)
    assert assemble(entries, env.shop.rates).matchings[0].limited_by is None  # larger than the smallest alone
