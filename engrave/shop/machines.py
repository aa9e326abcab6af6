"""Machines: how fast each axis goes, how corners are taken, where the datum lies."""

from __future__ import annotations

from typing import Literal

from engrave.shop.models import Machine, MachineKind
from engrave.shop.readers import (
    FILLED,
    PUSH_UNITS,
    SIZE,
    SPEED_UNITS,
    YES,
    Reader,
    choice,
    length,
    number,
    pair,
    triple,
    whole,
)
from engrave.shop.tables import TomlEntry

KIND: Reader[MachineKind] = choice("router", "laser")
CORNER: Reader[Literal["slow", "slow_arcs", "stop"]] = choice("slow", "slow_arcs", "stop")
DATUM: Reader[Literal["front-left", "front-right", "back-left", "back-right"]] = choice(
    "front-left", "front-right", "back-left", "back-right"
)
DIRECTION = choice("right", "left", "back", "front")
SYNC: Reader[Literal["flow", "stop"]] = choice("flow", "stop")
PER_AXIS = triple(number(0.0, 100_000.0, above=True))
SECONDS = number(0.0, 600.0, unit="s")
HEIGHT = length(0.0, 300.0)


def read_machine(entry: TomlEntry) -> Machine:
    """Return one machine from its table."""
    axes = (entry.take_or("x_runs", DIRECTION, "right"), entry.take_or("y_runs", DIRECTION, "back"))
    if {a in ("right", "left") for a in axes} != {True, False}:
        entry.wrong(
            "y_runs", f"x runs to the {axes[0]} and y to the {axes[1]}", "Allowed: one sideways, one to back or front."
        )
    machine = Machine(
        id=entry.id,
        title=entry.take("title", FILLED),
        kind=entry.take("kind", KIND),
        vmax=entry.per_axis("vmax", SPEED_UNITS, PER_AXIS),
        amax=entry.per_axis("amax", PUSH_UNITS, PER_AXIS),
        corner=entry.take_or("corner", CORNER, "slow"),
        corner_slack=entry.take_or("corner_slack", length(0.0, 1.0), 0.01),
        min_block_s=entry.take_or("min_block_s", number(0.0, 0.1, unit="s"), 0.0),
        look_ahead=entry.take_or("look_ahead_blocks", whole(1, 100_000), None),
        bed=entry.take("bed", pair(SIZE)),
        holder_radius=entry.take("holder_radius", length(0.0, 100.0)),
        datum=entry.take_or("datum", DATUM, "front-left"),
        axes=axes,
        retract=entry.take_or("retract", HEIGHT, 0.0),
        approach=entry.take_or("approach", HEIGHT, None),
        spin_up_s=entry.take_or("spin_up_s", SECONDS, 0.0),
        fixed_s=entry.take_or("fixed_s", SECONDS, 0.0),
        beam_sync=entry.take_or("beam_sync", SYNC, "flow"),
        beam_delay_s=entry.take_or("beam_delay_s", SECONDS, 0.0),
        scatter=entry.take_or("scatter", number(0.0, 2.0), 0.3),
        return_home=entry.take_or("return_home", YES, True),
        head_gap=entry.take_or("head_gap", HEIGHT, 0.0),
        stroke_s=entry.take_or("stroke_s", number(-10.0, 60.0, unit="s"), 0.0),
        scale=entry.take_or("scale", number(0.05, 20.0), 1.0),
    )
    entry.finish()
    return machine
