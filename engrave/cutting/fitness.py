"""What the cutting check finds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapely.geometry.base import BaseGeometry

from engrave.problems import Problem

SpotKind = Literal["stroke", "web"]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the lid (area's frame, mm) and the characters that stand there; width in mm measured there.

    kind: what is so wide, a stroke that is cut or the wood left beside it (0 or less: it fills up). needs: what it is
    held against, in a few words.
    """

    x: float
    y: float
    text: str
    width: float
    kind: SpotKind = "stroke"
    needs: str = ""


@dataclass(frozen=True, slots=True)
class Fitness:
    """Thinnest stroke and web with their places, and the pictures of what is cut, lost and left too thin.

    stroke, web: None where there is none (a single-line groove has its groove width as stroke).
    cut: region that the tool really leaves (area's frame, mm). lost: drawn but not cut. thin: wood below its least
    web. weak: every place below a limit, also those that are so only where the lid cups. stroke_range: the thinnest
    stroke's widths where the lid's face lies low and where it stands high; the same where the cutter does not care.
    """

    stroke: Spot | None
    web: Spot | None
    stroke_range: tuple[float, float] | None
    cut: BaseGeometry
    lost: BaseGeometry
    thin: BaseGeometry
    weak: tuple[Spot, ...]
    problems: tuple[Problem, ...] = ()

    @property
    def as_it_cups(self) -> tuple[float, float] | None:
        """The thinnest stroke's widths on a lid that cups, mm; None where it comes out as wide everywhere."""
        low, high = self.stroke_range or (0.0, 0.0)
        return (low, high) if high > low else None
