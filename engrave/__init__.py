"""Lettering for box lids: a week's orders fitted, checked for the cutter, timed, priced and drawn."""

__version__ = "0.1.0"
