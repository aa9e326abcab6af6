"""A key is declared once, in the class that its table becomes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from engrave.shop.keys import by_name, entry_name, key, part, read_keys, read_table, taken
from engrave.shop.readers import FILLED, TEXT, length, number
from engrave.shop.tables import Reading, TomlEntry, TomlTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """A plane's iron."""

    width: float = key(length(6.0, 70.0))
    angle: float = key(number(12.0, 60.0, unit="degrees"), 25.0, called="angle_deg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A bench with its plane."""

    id: str = entry_name()
    title: str = key(FILLED, missing="A bench must be called something.")
    wood: str = key(TEXT, "beech")
    feed: float = taken(TomlEntry.speed)
    plane: Plane = part(Plane, "a table of the iron's figures")
    drawers: Mapping[str, float] = by_name(length(10.0, 300.0))
    seen: int


PLANE = {"width": 50}
BENCH = {"title": "Bench", "feed_mm_min": 600, "plane": PLANE}


def read(**values: Any) -> tuple[Bench, list[str]]:
    reading = Reading()
    entry = TomlEntry(TomlTable("benches", files={(): Path("benches.toml")}), ("long",), values, reading.mistakes, {})
    return read_table(Bench, entry, seen=3), [str(m) for m in reading.mistakes]


def test_keys_become_the_fields_of_the_class() -> None:
    bench, mistakes = read(**BENCH, drawers={"left": "2 in"})
    assert not mistakes
    assert bench == Bench(
        id="long", title="Bench", wood="beech", feed=10.0, plane=Plane(width=50.0), drawers={"left": 50.8}, seen=3
    )
    assert bench.plane.angle == 25.0


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"title": ""}, "[long], title: found ''. Allowed: a text in quotes that is not empty."),
        ({"wod": "oak"}, "[long], wod: is not a key of this table. Did you mean 'wood'?"),
        ({"plane": {"width": 80}}, "[long.plane], width: found 80. Allowed: a length from 6 to 70 mm"),
        (
            {"plane": PLANE | {"angle": 30}},
            "[long.plane], angle: is not a key of this table. Did you mean 'angle_deg'?",
        ),
        ({"plane": PLANE | {"angle_deg": 5}}, "angle_deg: found 5. Allowed: a number from 12 to 60 degrees."),
        ({"plane": {}}, "[long.plane], width: is missing. Allowed: a length from 6 to 70 mm"),
        ({"drawers": {"left": 5}}, "[long.drawers], left: found 5. Allowed: a length from 10 to 300 mm"),
    ],
)
def test_a_mistake_names_what_the_field_declares(wrong: dict[str, Any], says: str) -> None:
    _, mistakes = read(**(BENCH | wrong))
    assert len(mistakes) == 1
    assert says in mistakes[0]


@pytest.mark.parametrize(
    ("gone", "says"),
    [
        ("title", "title: is missing. A bench must be called something."),
        ("plane", "plane: is missing. Allowed: a table of the iron's figures, as [plane]."),
        ("feed_mm_min", "is missing. Allowed: one of feed_mm_s"),
    ],
)
def test_a_needed_key_that_is_missing_is_told_once(gone: str, says: str) -> None:
    bench, mistakes = read(**{k: v for k, v in BENCH.items() if k != gone})
    assert isinstance(bench, Bench)
    assert len(mistakes) == 1
    assert says in mistakes[0]


def test_keys_read_in_part_leave_the_others_to_be_read() -> None:
    reading = Reading()
    entry = TomlEntry(TomlTable("planes"), ("jack",), PLANE | {"length": 380}, reading.mistakes, {})
    assert read_keys(Plane, entry) == Plane(width=50.0)
    assert entry.take("length", length()) == 380.0
    entry.finish()
    assert not reading.mistakes
