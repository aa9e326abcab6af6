"""How long a toolpath takes on its machine, and what would be faster."""

from engrave.timing.estimate import Estimate, estimate_time
from engrave.timing.suggestions import saving_note, suggest

__all__ = ["Estimate", "estimate_time", "saving_note", "suggest"]
