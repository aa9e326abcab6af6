"""Which problems can be helped, and by what kind of change."""

from __future__ import annotations

from engrave.cutting.letter_room import NO_ROOM_BETWEEN

TOO_SMALL = frozenset({"too-small", "does-not-fit", "too-long"})
"""Problems of room: only a wider setting, a narrower typeface, fewer words or a larger lid can help."""

TOO_FINE = frozenset({"stroke-too-thin", "short-join-narrow", "burnt-wider", "finer-than-rows", "under-test-piece"})
"""Problems of strokes finer than what the tool makes: drawn thicker they pass."""

CANNOT_CUT = TOO_FINE | NO_ROOM_BETWEEN | {"groove-heavy", "groove-light"}
"""Problems of the cutter with these letters in this wood."""

NO_TOOL = frozenset({"no-recipe", "outline-needs-area"})
"""Problems of pairing: this cutter is not used so, or not in this wood."""

HELPABLE = TOO_SMALL | CANNOT_CUT | NO_TOOL
