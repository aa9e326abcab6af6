"""What is checked: a piece's lettering taken apart, with what the tool does to it and what the wood bears."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from engrave.cache import Cache, CacheKind
from engrave.cutting.effect import AsCut, Closing, as_grown, as_opened, closing_of
from engrave.cutting.effect.cupping import vee_depth, width_changes
from engrave.cutting.effect.thin_wood import Web
from engrave.cutting.fitness import Spot, SpotKind
from engrave.cutting.judge.walls import StrokesBeside, Walls
from engrave.cutting.judge.wood_limits import WebLimits, web_limits
from engrave.cutting.measure import Component, KeptMeasures, NarrowPlace, NarrowPlaces, PlacesMeasured, components_of
from engrave.cutting.messages import PlaceNames
from engrave.cutting.messages.phrasing import place_of
from engrave.setting.lettering import Lettering
from engrave.shop.models import Lid, Wood
from engrave.tasks import Tool

Apart = tuple[tuple[Component, ...], StrokesBeside, PlacesMeasured, PlaceNames]
"""A lettering's components, the strokes that are asked about beside its webs, its narrow places, and how places are called."""

TAKEN_APART: CacheKind[tuple[Any, Apart]] = CacheKind("letterings apart", 16)
"""The same letters are often checked for one bit after the other."""


@dataclass(frozen=True, slots=True)
class Case:
    """What is checked: the lettering's components and narrow places, with the tool's effect and the wood's limits.

    as_lines: the tool follows lines, else it clears or burns an area. groove: mm that it leaves along a line. to_spare:
    mm of wood over what it needs by which the lid's cupping changes nothing.
    """

    lettering: Lettering
    tool: Tool
    as_lines: bool
    groove: float
    parts: tuple[Component, ...]
    places: NarrowPlaces
    names: PlaceNames
    closing: Closing
    limit: WebLimits
    walls: Walls
    to_spare: float

    @property
    def burns(self) -> bool:
        """Whether a beam burns the outline as drawn, spot-wide, instead of clearing it from within."""
        return self.tool.cutter.is_beam and not self.as_lines and not self.tool.recipe.inset

    @property
    def first_stroke(self) -> NarrowPlace | None:
        """The thinnest stroke of letters with a body."""
        return self.places.strokes[0] if self.places.strokes else None

    def webs(self) -> list[Web]:
        """Return for each narrow place of the wood: the place, what is left of it, and the least that its wood needs."""
        return [(p, left := p.width - self.closing.at(p.axis), self._least(p, left)) for p in self.places.webs]

    def _least(self, place: NarrowPlace, left: float) -> float:
        """Return the least web at a place, or more where even that much is left on a lid that stands high.

        How deep it is cut beside it need only be known where it decides: it makes the least no greater.
        """
        least = self.limit.least(place)
        if not self.limit.slope or left > least + self.to_spare:
            return least
        return self.limit.least(place, self.walls.depths_beside(place)[0])

    def spot(self, place: NarrowPlace, width: float, kind: SpotKind = "stroke", needs: str = "") -> Spot:
        """Return a narrow place with the characters that stand there."""
        text = "".join(self.lettering.marks[m].text for m in dict.fromkeys(place.marks))
        return Spot(place.x, place.y, text, width, kind, needs)

    def where(self, place: NarrowPlace) -> str:
        """Return the name of a narrow place."""
        return place_of(place, self.names)


def follows_lines(lettering: Lettering, tool: Tool) -> bool:
    """Tell whether the tool follows the lettering's lines."""
    return lettering.kind == "single-line" or tool.method == "follow"


def case_of(lettering: Lettering, tool: Tool, wood: Wood, lid: Lid, measures: KeptMeasures) -> Case | None:
    """Return what is to be checked; None if the lettering draws nothing."""
    as_lines = follows_lines(lettering, tool)
    parts, strokes, measured, names = _taken_apart(lettering, as_lines, measures)
    if not parts:
        return None
    groove = lettering.groove or tool.groove
    closing = closing_of(tool, as_lines, groove)
    limit = web_limits(tool, wood, lid.grain, tool.depth)
    reach = max(limit.along, limit.across, limit.by_height) + max(closing.x, closing.y)
    places = measured.of_tool(reach, max(closing.x, closing.y) if as_lines else 0.0)
    if tool.method == "vee":
        # a wall is as high as the stroke beside it is deep, not as the tool's deepest
        limit = web_limits(tool, wood, lid.grain, min(tool.depth, vee_depth(tool.cutter, places.widest)))
    walls = Walls(strokes, tool)
    to_spare = width_changes(tool, groove, lid.flatness)[1]
    return Case(lettering, tool, as_lines, groove, parts, places, names, closing, limit, walls, to_spare)


def _taken_apart(lettering: Lettering, as_lines: bool, measures: KeptMeasures) -> Apart:
    """Return a lettering taken apart; not again where it was just checked with another tool.

    It depends on its marks and lines alone: with a groove of another width they are the same, and are kept for it.
    """

    def made() -> Apart:
        parts = components_of(lettering, as_lines, measures.cache)
        places = PlacesMeasured(lettering, parts, as_lines, measures)
        return parts, StrokesBeside(parts), places, PlaceNames(lettering)

    return measures.cache.of(TAKEN_APART, lettering.marks, (as_lines, lettering.lines), made)


def as_cut(case: Case, cache: Cache) -> AsCut:
    """Return what the tool leaves of the case's lettering."""
    if case.as_lines or case.burns:
        return as_grown(case.parts, case.closing, cache)
    return as_opened(case.parts, case.tool.diameter, cache)
