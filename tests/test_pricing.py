"""Prices against published worked examples, and the shop's rule against itself."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from priced import a_job, a_task, quoted, some_rates, two_lines
from toolpath.workbench import bit_tool

from engrave.output.numbers import money as written
from engrave.pricing import PriceError, hands_cost, ladder, money, shared_hand_seconds, with_order_minimum
from engrave.pricing.quoting import minor_unit
from engrave.pricing.rule import margin_of, markup_of, price_for, rounded_up, spoiled_for_each_good
from engrave.shop.models import Channel

D = Decimal

# --- published examples ----------------------------------------------------------------------------------------------


@pytest.mark.source("mathondemand.com, selling price from cost and margin")
@pytest.mark.parametrize(
    ("cost", "margin", "price"),
    [
        (600, "0.40", "1000"),  # mathondemand.com, selling price from cost and margin
        (40, "0.60", "100"),  # the same page
        (70, "0.30", "100"),  # the same page
        (75, "0.25", "100"),  # the same page
    ],
)
def test_price_from_cost_and_margin(cost: int, margin: str, price: str) -> None:
    assert price_for(D(cost), D(margin)) == pytest.approx(D(price), abs=D("0.005"))


@pytest.mark.source("mathondemand.com, markup and margin")
def test_markup_that_belongs_to_a_margin() -> None:
    """mathondemand.com: 600 sold for 1000 is a markup of 66.67 %."""
    assert markup_of(D(1000), D(600)) == pytest.approx(D("0.6667"), abs=D("0.0001"))


@pytest.mark.source("toolio.pongvn.com, price with margin and fee")
def test_price_with_a_fee_on_it() -> None:
    """toolio.pongvn.com: cost 10, margin 30 %, fee 8 % of the price."""
    assert price_for(D(10), D("0.30"), D("0.08")) == pytest.approx(D("16.13"), abs=D("0.005"))


@pytest.mark.source("sellermathhub.com, its printed formula")
def test_price_with_fixed_and_percentage_fees() -> None:
    """Computed from the formula that sellermathhub.com prints: (25 + 0.45) / (1 - 0.095 - 0.40)."""
    assert price_for(D(25), D("0.40"), D("0.095"), D("0.45")) == pytest.approx(D("50.396"), abs=D("0.001"))


@pytest.mark.source("calcreal.com, margin of a marked-up price")
def test_margin_of_a_marked_up_price() -> None:
    """calcreal.com: cost 40, markup 50 %, sold at 60: margin 33.33 %."""
    assert margin_of(D(60), D(40)) == pytest.approx(D("0.3333"), abs=D("0.0001"))


@pytest.mark.source("calculatorlib.com, a seller's ledger")
def test_margin_of_a_seller_s_ledger() -> None:
    """calculatorlib.com: revenue 74.06; item 16.00, shipping 6.99, fee 11.46, payment 2.58."""
    cost = D("16.00") + D("6.99") + D("11.46") + D("2.58")
    assert margin_of(D("74.06"), cost) == pytest.approx(D("0.5"), abs=D("0.0001"))


@pytest.mark.source("textbooks of job order costing: jobs 50 to 52; job 205")
def test_job_costs_of_textbooks() -> None:
    """Job order costing: overhead as a share of labour (jobs 50 to 52, textbook answer 100,580), and by two
    departments' hours (job 205, inputs from wizedu, answer computed): machine and hand hours each at its own rate."""
    overhead = D(898_800) / D(749_000)
    assert overhead == D("1.2")
    assert D(41_730) + D(26_750) + overhead * D(26_750) == D(100_580)
    machine_hour = D(218_400) / D(84_000) + D("2.80")
    hands_hour = D(531_050) / D(55_900) + D("4.80")
    rates = some_rates(machine_hour={"router": machine_hour}, hands_hour=hands_hour)
    hands = hands_cost((("all", 130 * 3600.0),), rates)
    from engrave.pricing.hands import seconds_cost

    machine = seconds_cost(320 * 3600.0, machine_hour)
    direct = D(7419) - D(3587)
    assert machine + hands + direct == pytest.approx(D(7419), abs=D("0.5"))


# --- the rule --------------------------------------------------------------------------------------------------------


def test_a_quote_worked_by_hand() -> None:
    """5 min at 12 an hour 1.00; 7 min at 30 an hour 3.50; order 6 min 3.00; spoiled 1/24 of (7.50 + 4.50) 0.50:
    cost 8.00; (8.00 + 0.30) / (1 - 0.095 - 0.30) = 13.7190, up to 14.00; fee 0.095 x 14 + 0.30 = 1.63."""
    told = quoted()
    assert dict(told.parts) == {
        "machine": D("1.00"), "hands: place and zero": D("1.50"), "hands: finish, check, pack": D("2.00"),
        "hands: words and proof": D("3.00"), "spoilage": D("0.50"), "fees": D("1.63"), "margin": D("4.37"),
    }  # fmt: skip
    assert (told.cost, told.price, told.each) == (D("8.00"), D("14.00"), D("14.00"))
    assert told.given_away == D("8.00")
    assert told.share_of_box == pytest.approx(D("8.00") / 58)
    assert (told.machine_seconds, told.hand_seconds) == (300.0, 780.0)
    assert told.message == "Lettering “Wanda / sixty summers” on the tea caddy: €14.00, plus 23% tax."


def test_a_machine_s_own_rate_goes_before_that_of_its_kind() -> None:
    """At 24 an hour the same five minutes cost twice what the kind's 12 an hour would."""
    tool = bit_tool()
    own = replace(tool, machine=replace(tool.machine, id="the-new-one"))
    rates = some_rates(machine_hour={"router": D(12), "the-new-one": D(24), "laser": D(18)})
    assert dict(quoted(rates, a_task(tool=own)).parts)["machine"] == D("2.00")
    assert dict(quoted(rates).parts)["machine"] == D("1.00")


def test_spoilage_is_the_mean_of_tries_until_one_comes_out_well() -> None:
    share = 0.2
    tries = sum(k * share**k * (1 - share) for k in range(200))  # the series itself
    assert float(spoiled_for_each_good(D("0.2"))) == pytest.approx(tries)
    with pytest.raises(PriceError, match="100 %"):
        spoiled_for_each_good(D(1))


def test_quantity_spreads_what_the_order_takes_once() -> None:
    one, ten = quoted(), quoted(task=a_task(10))
    assert ten.each < one.each
    assert ten.price == ten.each * 10
    assert ten.hand_seconds == 10 * 7 * 60 + 6 * 60
    assert ten.message.endswith(": 10 at €9.00, €90.00 in all, plus 23% tax.")


def test_only_the_first_piece_carries_its_order_s_minutes_and_fee() -> None:
    first, second = quoted(), quoted(task=a_task(piece=2))
    assert "hands: words and proof" in dict(first.parts)
    assert "hands: words and proof" not in dict(second.parts)
    assert second.hand_seconds == 7 * 60


def test_a_rush_is_told_to_the_buyer() -> None:
    assert "€22.00, €8.00 of it for the rush" in quoted(rush=True).message
    assert "10 at €9.00 and €8.00 for the rush, €98.00 in all" in quoted(task=a_task(10), rush=True).message


def test_another_piece_can_open_the_order() -> None:
    first, second = quoted(), quoted(task=a_task(piece=2), opens=True)
    assert second.price == first.price
    assert second.hands == first.hands
    assert quoted(opens=False).price == quoted(task=a_task(piece=2)).price
    one = ladder(a_task(), two_lines(), a_job(), some_rates(), opens=False).rungs[0]
    assert one.same == quoted(opens=False).price


def test_nonsense_is_refused_with_its_numbers() -> None:
    with pytest.raises(PriceError, match=r"fee 30 % and margin 70 % of the price make 100 %"):
        quoted(some_rates(fee=D("0.30"), margin=D("0.70")))
    with pytest.raises(PriceError, match=r"fee 36.9 % .*23 % tax.* margin 65 %"):
        quoted(some_rates(fee=D("0.30"), margin=D("0.65"), tax_shown=True))


def test_minimum_step_and_list() -> None:
    assert quoted(some_rates(minimum=D(40))).price == D(40)
    assert quoted(some_rates(step=D(5))).price == D(15)
    assert quoted(some_rates(step=D(0))).price == D("13.72")
    assert quoted(some_rates(included_lines=1)).charges == (("extra lines", D(2)),)
    assert quoted(some_rates(included_letters=10)).charges == (("extra letters", D("1.75")),)  # 17 letters
    assert quoted(task=a_task(side="inside")).charges == (("inside of lid", D(4)),)
    assert quoted(rush=True).price == quoted().price + 8
    assert quoted(proof_changes=1).price == quoted().price  # one is included
    assert dict(quoted(proof_changes=3).parts)["hands: proof changes"] == D("5.00")


def test_shown_with_tax_the_price_is_round_with_it() -> None:
    told = quoted(some_rates(tax_shown=True))
    assert told.price % D("0.50") == 0
    assert told.tax == pytest.approx(told.price * D("0.23") / D("1.23"), abs=D("0.005"))
    assert dict(told.parts)["tax"] == told.tax
    assert "23% tax included" in told.message


def test_the_fee_is_taken_of_the_tax_too() -> None:
    rates = some_rates(tax_shown=True, step=D(0), minimum=D(0))
    told = quoted(rates)
    margin = dict(told.parts)["margin"] / (told.price / D("1.23"))
    assert margin == pytest.approx(rates.margin, abs=D("0.002"))


def test_paying_for_a_fixture_and_a_bit() -> None:
    told = quoted()
    assert told.fixture_pays_at == 44  # 2 min at 30 an hour, 1/0.96 lids each: 45 / 1.0417 = 43.2
    assert told.bit_pays_at == 7  # 28 / 4.37 = 6.4
    assert quoted(some_rates(hands=replace(some_rates().hands, nest=3))).fixture_pays_at is None


def test_hands_and_machine_are_never_mixed() -> None:
    short, long = quoted(seconds=100.0), quoted(seconds=5000.0)
    assert short.hand_seconds == long.hand_seconds
    assert dict(short.parts)["hands: place and zero"] == dict(long.parts)["hands: place and zero"]


def test_the_week_s_shared_hands() -> None:
    fine = bit_tool(diameter=0.5)
    other = replace(fine, cutter=replace(fine.cutter, id="fine"))
    shared = shared_hand_seconds([(a_task(), 3), (a_task(tool=other), 1), (a_task(), 1)], some_rates(), loads=2)
    assert shared == (("week set-up", 1200.0), ("cutter changes", 300.0), ("loads", 480.0))
    assert hands_cost(shared, some_rates()) == D("16.5")
    assert shared_hand_seconds([], some_rates()) == ()


def test_the_ladder_of_quantities() -> None:
    rungs = ladder(a_task(), two_lines(), a_job(), some_rates()).rungs
    assert [r.quantity for r in rungs] == [1, 2, 5, 10, 25]
    assert rungs[0].same == rungs[0].different == quoted().price
    assert all(a.same_each >= b.same_each for a, b in pairwise(rungs))
    assert all(r.different_each >= r.same_each and r.same == r.same_each * r.quantity for r in rungs)


def test_money_is_written_as_the_country_writes_it() -> None:
    assert money(D("1234.5"), some_rates()) == "€1,234.50"
    assert money(D("1234.5"), some_rates(locale="de_DE")) == "1.234,50\xa0€"
    assert money(D("1234.5"), some_rates(locale="en-GB", currency="GBP")) == "£1,234.50"
    assert quoted(some_rates(currency="JPY", locale="ja_JP", step=D(0))).price % 1 == 0


SHARES = st.decimals("0", "0.4", places=3)


@given(cost=st.decimals("0.01", "500", places=2), fee=SHARES, margin=SHARES)
def test_what_the_price_leaves_is_the_margin(cost: D, fee: D, margin: D) -> None:
    price = price_for(cost, margin, fee, D("0.30"))
    assert price - fee * price - D("0.30") - cost == pytest.approx(margin * price, abs=D("1e-15"))


STEPS = st.sampled_from(["0", "0.05", "0.5", "5"])


@given(seconds=st.floats(1, 20_000), quantity=st.integers(1, 50), tax=st.booleans(), step=STEPS)
def test_parts_add_up_and_the_margin_is_kept(seconds: float, quantity: int, tax: bool, step: str) -> None:
    rates = some_rates(tax_shown=tax, step=D(step))
    told = quoted(rates, a_task(quantity), seconds)
    assert sum(amount for _, amount in told.parts) == told.price == told.each * quantity
    without_tax = told.price / D("1.23") if tax else told.price
    assert dict(told.parts)["margin"] >= rates.margin * without_tax - D("0.06")
    assert told.each >= rates.minimum


@given(amount=st.decimals("0", "1000", places=3), step=st.sampled_from(["0.01", "0.05", "0.25", "1", "5"]))
def test_rounding_is_up_and_less_than_a_step(amount: D, step: str) -> None:
    rounded = rounded_up(amount, D(step))
    assert 0 <= rounded - amount < D(step)
    assert rounded % D(step) == 0


# --- what a shop may add ---------------------------------------------------------------------------------------------


def test_minutes_beside_a_machine_that_is_not_left_alone_are_paid_as_hands() -> None:
    """Half of 5 minutes at 30 an hour: 1.25; and a spoiled lid costs them too, 1/24 of it."""
    told = quoted(rates=some_rates(attended={"router": D("0.5")}))
    assert dict(told.parts)["hands: at the machine"] == D("1.25")
    assert told.hand_seconds == 780.0 + 150.0
    assert told.cost == (D("8.00") + D("1.25") * (1 + D(1) / 24)).quantize(D("0.01"))
    assert quoted(rates=some_rates(attended={"laser": D(1)})).cost == D("8.00")  # another kind of machine


def test_a_cutter_s_wear_is_a_part_by_itself() -> None:
    kind = bit_tool().cutter.kind
    told = quoted(rates=some_rates(wear_hour={kind: D("2.40")}))
    assert dict(told.parts)["wear"] == D("0.20")  # 5 minutes of an hour's 2.40


def test_the_week_s_set_up_is_spread_by_the_stated_rule() -> None:
    """20 minutes and twice 5 for changes, over 40 lids: three quarters of a minute, at 30 an hour 0.375."""
    told = quoted(rates=some_rates(lids_a_week=40, cutter_changes_a_week=2))
    assert dict(told.parts)["hands: share of the week"] == pytest.approx(D("0.375"), abs=D("0.006"))
    assert told.hand_seconds == 780.0  # hands' minutes of the week stand in the week, once


def test_a_set_is_cheaper_by_the_shop_s_share_and_never_below_the_least() -> None:
    rates = some_rates(set_discounts=((5, D("0.10")), (10, D("0.20"))), step=D("0.01"))
    full, five, ten = (quoted(some_rates(step=D("0.01")), a_task(n)) for n in (4, 5, 10))
    assert quoted(rates, a_task(4)).each == full.each
    assert quoted(rates, a_task(5)).each == pytest.approx(five.each * D("0.9"), abs=D("0.01"))
    assert quoted(rates, a_task(10)).each == pytest.approx(ten.each * D("0.8"), abs=D("0.01"))
    assert quoted(some_rates(set_discounts=((2, D("0.9")),)), a_task(2)).each == D(6)


def test_an_order_comes_to_the_shop_s_least_order() -> None:
    rates = some_rates(minimum_order=D(40))
    first, second = with_order_minimum([quoted(rates), quoted(rates, a_task(piece=2))], rates)
    assert first.price + second.price == D(40)
    assert sum(v for _, v in first.parts) == first.price
    assert with_order_minimum([quoted()], some_rates()) == (quoted(),)


def test_each_place_of_sale_has_its_own_price() -> None:
    """(8.00 + 0) / (1 - 0 - 0.30) = 11.43, up to 11.50 at a fair that takes nothing."""
    told = quoted(rates=some_rates(channels={"fair": Channel(fee=D(0), fixed_fee=D(0))}))
    assert dict(told.by_channel) == {"fair": D("11.50")}
    assert told.price == D("14.00")


def test_a_gift_message_is_charged_once() -> None:
    rates = some_rates(gift_message=D(2))
    assert quoted(rates, a_task(3), gift=True).price == quoted(rates, a_task(3)).price + 2


def test_coins_are_those_that_are_handed_over() -> None:
    """Unicode CLDR 45, currency data (from memory): HUF has two digits in books and none in cash; JPY none; EUR two."""
    for currency, coin in (("HUF", "1"), ("JPY", "1"), ("EUR", "0.01"), ("KWD", "0.001")):
        assert minor_unit(some_rates(currency=currency)) == D(coin), currency
    assert money(D(3500), some_rates(currency="HUF", locale="hu_HU")).replace("\xa0", " ") == "3 500 Ft"
    assert money(D(12500), some_rates(currency="HUF", locale="hu_HU")).replace("\xa0", " ") == "12 500 Ft"
    assert written(D(12500), "HUF", "hu-HU").replace("\xa0", " ") == "12 500 Ft"
    assert money(D("1.5"), some_rates(currency="KWD", locale="en_GB")).endswith("1.500")
