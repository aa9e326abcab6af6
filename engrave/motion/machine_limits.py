"""What bounds a machine's moves: speed and acceleration of each axis, the rule at corners, what its controller knows."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.shop.machines import Corner
from engrave.shop.models import Machine


@dataclass(frozen=True, slots=True)
class Limits:
    """What the planner asks of a machine. vmax mm/s and amax mm/s2 along x, y, z; corner_slack mm; min_block_s s.

    corner: 'slow' (speed by the slack `corner_slack` at a corner), 'slow_arcs' (also by the bend of flattened arcs) or
    'stop' (every node). look_ahead: blocks that the controller knows, its present one included; None: all.
    """

    vmax: tuple[float, float, float]
    amax: tuple[float, float, float]
    corner: Corner = "slow"
    corner_slack: float = 0.01
    min_block_s: float = 0.0
    look_ahead: int | None = None


def limits_of(machine: Machine) -> Limits:
    """Return a machine's limits in the lid's frame: x and y change places where the machine's x runs front to back."""
    (vx, vy, vz), (ax, ay, az) = machine.vmax, machine.amax
    if machine.axes[0] not in ("right", "left", "+x", "-x", "x"):
        vx, vy, ax, ay = vy, vx, ay, ax
    return Limits(
        (vx, vy, vz), (ax, ay, az), machine.corner, machine.corner_slack, machine.min_block_s, machine.look_ahead
    )
