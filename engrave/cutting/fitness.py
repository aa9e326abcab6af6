"""What the cutting check finds."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from engrave.problems import Problem


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the lid (area's frame, mm) and the characters that stand there; width in mm measured there."""

    x: float
    y: float
    text: str
    width: float


@dataclass(frozen=True, slots=True)
class Fitness:
    """Thinnest stroke and web with their places, and the pictures of what is cut, lost and left too thin.

    stroke, web: None where there is none (a single-line groove has its groove width as stroke).
    cut: region that the tool really leaves (area's frame, mm). lost: drawn but not cut. thin: wood below its least
    web. weak: every place below a limit. stroke_range: widths at both extremes of the lid's flatness.
    """

    stroke: Spot | None
    web: Spot | None
    stroke_range: tuple[float, float] | None
    cut: BaseGeometry
    lost: BaseGeometry
    thin: BaseGeometry
    weak: tuple[Spot, ...]
    problems: tuple[Problem, ...] = ()
