"""One task priced: a tea caddy's lid, two lines, five minutes of machine, at rates that are easy to reckon with."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from toolpath.workbench import bit_tool

from engrave.geometry.paths import polygon_path
from engrave.intake.order import Order, Words
from engrave.pricing import Quote, quote
from engrave.setting.lettering import Lettering, Line
from engrave.shop.models import Area, Hands, Lid, Rates, Wood
from engrave.tasks import Task, Tool
from engrave.timing import Estimate


def some_rates(**changes: Any) -> Rates:
    hands = Hands(week=20, load=4, cutter_change=5, nest=1, loose=3, finish=4, order=6, proof_change=5)
    values: dict[str, Any] = {
        "currency": "EUR", "locale": "en_IE", "machine_hour": {"router": Decimal(12), "laser": Decimal(18)}, "hands_hour": Decimal(30),
        "hands": hands, "spoilage": Decimal("0.04"), "fee": Decimal("0.095"), "fixed_fee": Decimal("0.30"), "margin": Decimal("0.30"),
        "minimum": Decimal(6), "step": Decimal("0.50"), "included_lines": None, "extra_line": Decimal(2), "included_letters": None,
        "extra_letter": Decimal("0.25"), "inside": Decimal(4), "rush": Decimal(8), "proof_changes_included": 1, "tax": Decimal("0.23"),
        "tax_shown": False, "machine_hours": (6.0,) * 5 + (0.0, 0.0), "hand_hours": (6.0,) * 5 + (0.0, 0.0),
        "fixture_cost": Decimal(45), "bit_cost": Decimal(28),
    }  # fmt: skip
    return Rates(**(values | changes))


def an_area(side: str = "top") -> Area:
    outline = (polygon_path([(0, 0), (90, 0), (90, 60), (0, 60)]),)
    return Area(name="lid", outline=outline, width=90, height=60, edge=3, keep_outs=(), side=side)  # type: ignore[arg-type]


def a_task(quantity: int = 1, piece: int = 1, side: str = "top", tool: Tool | None = None, **lid: Any) -> Task:
    words = Words(name="Wanda", message="sixty summers")
    order = Order("101", piece, 2, words, words, quantity=quantity)
    area = an_area(side)
    values: dict[str, Any] = {
        "id": "caddy", "title": "Tea caddy", "areas": (area,), "thickness": 12, "flatness": 0.2, "grain": "x",
        "handed": "right", "hinge": None, "wood": None, "typeface": None, "cutter": None, "setting": None,
        "cost": Decimal("7.50"), "price": Decimal(58),
    }  # fmt: skip
    wood = Wood(
        id="oak", title="Oak", latin="Quercus", pores="ring", web_along=0.8, web_across=1.2, gravity=0.68, janka_n=6000,
        colour="#c8a165", figure="fleck", burn="#553311",
    )  # fmt: skip
    made = Lid(**(values | lid))
    return Task(order, piece, made, area, words, (("name", "withy"),), None, tool or bit_tool(), wood)  # type: ignore[arg-type]


def two_lines() -> Lettering:
    lines = (Line("Wanda", "name", 9.0, 45.0, 25.0), Line("sixty summers", "message", 5.0, 45.0, 40.0))
    return Lettering("single-line", "stack", (), lines, 0.6)


def a_job(seconds: float = 300.0) -> Estimate:
    return Estimate(seconds, (seconds, seconds), (("cut", seconds),), 0.0, 0.0)


def quoted(rates: Rates | None = None, task: Task | None = None, seconds: float = 300.0, **how: Any) -> Quote:
    return quote(task or a_task(), two_lines(), a_job(seconds), rates or some_rates(), **how)
