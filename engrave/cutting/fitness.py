"""What the cutting check finds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from shapely.geometry.base import BaseGeometry

from engrave.cutting.effect.as_cut import AsCut
from engrave.cutting.effect.thin_wood import Web, thin_regions
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


@dataclass(frozen=True)
class Fitness:
    """Thinnest stroke and web with their places, and the pictures of what is cut, lost and left too thin.

    stroke, web: None where there is none (a single-line groove has its groove width as stroke).
    left: what the tool really leaves, with its pictures (area's frame, mm). thin_places: where wood lacks,
    of which `thin` is the picture. weak: every place below a limit, also those that are so only where the lid cups. stroke_range: the thinnest
    stroke's widths where the lid's face lies low and where it stands high; the same where the cutter does not care.
    """

    stroke: Spot | None
    web: Spot | None
    stroke_range: tuple[float, float] | None
    left: AsCut
    thin_places: tuple[Web, ...]
    weak: tuple[Spot, ...]
    problems: tuple[Problem, ...] = ()

    @property
    def cut(self) -> BaseGeometry:
        """The region that is really cut."""
        return self.left.cut

    @property
    def lost(self) -> BaseGeometry:
        """The region that is drawn but not cut."""
        return self.left.lost

    @cached_property
    def thin(self) -> BaseGeometry:
        """Wood below its least web, as a region: drawn when somebody looks, as most pieces that are tried are not seen."""
        return thin_regions(self.cut, self.thin_places)

    @property
    def as_it_cups(self) -> tuple[float, float] | None:
        """The thinnest stroke's widths on a lid that cups, mm; None where it comes out as wide everywhere."""
        low, high = self.stroke_range or (0.0, 0.0)
        return (low, high) if high > low else None
