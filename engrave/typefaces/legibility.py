"""From which size a typeface reads: its small letters large enough for the eye at arm's length."""

from __future__ import annotations

import math

ARMS_LENGTH = 600.0
"""mm from the eye to a lid held in the hand or standing on a table (common practice, no source)."""

CAPITALS_ARC = 16.0
"""Minutes of arc that the height of capitals must fill to be read with ease: ISO 9241-303 asks at least 16 (from memory)."""

PLAIN_X = 0.7
"""Small letters of the plain typefaces for which that holds, in cap heights: ISO 3098-1, type B."""

ORNATE = 1.25
"""How much larger scripts and blackletter must be, whose shapes are told apart less surely. A choice."""


def reads_from(x_height: float, ornate: bool) -> float:
    """Return the least height of capitals in mm; x_height in cap heights: low small letters ask for larger capitals.

    ornate: a script or blackletter, whose letters join or whose capitals make no words.
    """
    capitals = ARMS_LENGTH * math.tan(math.radians(CAPITALS_ARC / 60.0))
    return capitals * PLAIN_X / min(x_height, 1.0) * (ORNATE if ornate else 1.0)
