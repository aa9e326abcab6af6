"""Machines: how fast each axis goes, how corners are taken, where the datum lies."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from engrave.shop.keys import entry_name, key, read_table, taken
from engrave.shop.readers import (
    FILLED,
    PUSH_UNITS,
    SIZE,
    SPEED_UNITS,
    YES,
    Reader,
    length,
    number,
    one_of,
    pair,
    triple,
    whole,
)
from engrave.shop.tables import TomlEntry, Triple

MachineKind = Literal["router", "laser"]
Corner = Literal["slow", "slow_arcs", "stop"]
Datum = Literal["front-left", "front-right", "back-left", "back-right"]
Direction = Literal["right", "left", "back", "front"]
BeamSync = Literal["flow", "stop"]
PER_AXIS = triple(number(0.0, 100_000.0, above=True))
SECONDS = number(0.0, 600.0, unit="s")
HEIGHT = length(0.0, 300.0)
DIRECTION: Reader[Direction] = one_of(Direction)


def _axes(entry: TomlEntry, _: str) -> tuple[Direction, Direction]:
    axes: tuple[Direction, Direction] = (
        entry.take_or("x_runs", DIRECTION, "right"),
        entry.take_or("y_runs", DIRECTION, "back"),
    )
    if {a in ("right", "left") for a in axes} != {True, False}:
        entry.wrong(
            "y_runs", f"x runs to the {axes[0]} and y to the {axes[1]}", "Allowed: one sideways, one to back or front."
        )
    return axes


def _in_units(units: Mapping[str, float]) -> Callable[[TomlEntry, str], Triple]:
    return lambda entry, name: entry.per_axis(name, units, PER_AXIS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A router or laser: limits per axis (x, y, z), how it takes corners, and where its datum is.

    vmax mm/s, amax mm/s2, corner_slack (how far a corner may be rounded) mm, min_block_s s, look_ahead blocks (None: unlimited).
    retract, approach: heights in mm above the lid. holder_radius: what turns above the bit, or a beam's head.
    head_gap: how far a beam's head stands above the lid. scatter: share of an estimate by which nine of ten runs
    stay within it, either way.
    datum: corner of the bed where x = y = 0. axes: directions of +x and +y seen from the front.
    spin_up_s once a job; beam_delay_s at each beam-on where `beam_sync` is 'stop'; fixed_s once a job.
    stroke_s: seconds that the controller loses at each stroke's start; scale: real seconds over planned ones. Both are
    learned from logged times, and say nothing (0 and 1) until then.
    """

    id: str = entry_name()
    axes: tuple[Direction, Direction] = taken(_axes)
    title: str = key(FILLED)
    kind: MachineKind = key(one_of(MachineKind))
    vmax: Triple = taken(_in_units(SPEED_UNITS))
    amax: Triple = taken(_in_units(PUSH_UNITS))
    corner: Corner = key(one_of(Corner), "slow")
    corner_slack: float = key(length(0.0, 1.0), 0.01)
    min_block_s: float = key(number(0.0, 0.1, unit="s"), 0.0)
    look_ahead: int | None = key(whole(1, 100_000), None, called="look_ahead_blocks")
    bed: tuple[float, float] = key(pair(SIZE))
    holder_radius: float = key(length(0.0, 100.0))
    datum: Datum = key(one_of(Datum), "front-left")
    retract: float = key(HEIGHT, 0.0)
    approach: float | None = key(HEIGHT, None)
    spin_up_s: float = key(SECONDS, 0.0)
    fixed_s: float = key(SECONDS, 0.0)
    beam_sync: BeamSync = key(one_of(BeamSync), "flow")
    beam_delay_s: float = key(SECONDS, 0.0)
    scatter: float = key(number(0.0, 2.0), 0.3)
    return_home: bool = key(YES, True)
    head_gap: float = key(HEIGHT, 0.0)
    stroke_s: float = key(number(-10.0, 60.0, unit="s"), 0.0)
    scale: float = key(number(0.05, 20.0), 1.0)


def read_machine(entry: TomlEntry) -> Machine:
    """Return one machine from its table."""
    return read_table(Machine, entry)
