"""How a machine moves: its limits, and the seconds of a chain of moves planned within them."""

from engrave.geometry.arrays import Floats
from engrave.motion.machine_limits import Limits, limits_of
from engrave.motion.planner import Moves, PlannedChain, chain_through, chained, plan_chain, plan_chains

__all__ = [
    "Floats",
    "Limits",
    "Moves",
    "PlannedChain",
    "chain_through",
    "chained",
    "limits_of",
    "plan_chain",
    "plan_chains",
]
