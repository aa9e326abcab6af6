"""What is known of a font that may be used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Accepted:
    """A font that may be used: its bytes without compression, where a variable font stands, and what to know of it.

    embeddable: whether its licence lets the file travel inside a page; in_part: or the letters used, without the others.
    """

    data: bytes
    place: Mapping[str, float]
    note: str = ""
    cap_height: float | None = None
    embeddable: bool = True
    in_part: bool = True
