"""Which problems can be helped, and by what kind of change: the table of findings, as remedies ask for it."""

from __future__ import annotations

from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.findings import helped_by

TOO_SMALL = helped_by("size")
"""Problems of room: only a wider setting, a narrower typeface, fewer words or a larger lid can help."""

TOO_FINE = helped_by("stroke")
"""Problems of strokes finer than what the tool makes: drawn thicker they pass."""

GROOVE = helped_by("groove")
"""Problems of a groove's width: cut deeper or shallower, or with another cutter, they pass."""

CANNOT_CUT = TOO_FINE | NO_ROOM_BETWEEN | GROOVE
"""Problems of the cutter with these letters in this wood."""

NO_TOOL = helped_by("tool")
"""Problems of pairing: this cutter is not used so, or not in this wood."""

HELPABLE = TOO_SMALL | CANNOT_CUT | NO_TOOL
"""All problems for which changes are tried."""

MILDER = TOO_FINE | GROOVE | {"flatness-misses", "flatness-web", "wide-for-vee", "depth-limited"}
"""What may be left to be looked at where a piece was on hold: how it is cut, never what the buyer asked for."""
