"""How long a toolpath takes on its machine, and what would be faster."""

from engrave.timing.estimate import Estimate, estimate_time
from engrave.timing.suggestions import suggest

__all__ = ["Estimate", "estimate_time", "suggest"]
