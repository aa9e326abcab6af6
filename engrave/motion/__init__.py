"""How a machine moves: its limits, and the seconds of a chain of moves planned within them."""

from engrave.motion.planner import Floats, Limits, Moves, Planned, limits_of, moves, plan, plan_all

__all__ = ["Floats", "Limits", "Moves", "Planned", "limits_of", "moves", "plan", "plan_all"]
