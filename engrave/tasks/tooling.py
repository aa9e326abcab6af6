"""The tool for a piece: method from cutter and typeface, recipe, the depth that lid and bit allow, the groove."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from engrave.intake.order import Order
from engrave.problems import Problem
from engrave.shop.lid_room import HOLDER_GAP
from engrave.shop.mistakes import listed
from engrave.shop.models import Area, Cutter, Lid, Machine, Method, Recipe, Wood
from engrave.tasks.choosing import Book, midway, where
from engrave.tasks.task_models import Tool
from engrave.units import length_mm

SHARE_OF_THICKNESS = 3.0
"""A cut goes no deeper than a third of the lid's thickness (common practice, no source): deeper, lids warp."""

SOLID_WOOD = 3.0
"""mm of wood left under the deepest cut (common practice, no source): less shows through or splits."""

SHALLOWEST = 0.05
"""mm: below this nothing that one would call a cut is left of the depth."""


@dataclass(frozen=True, slots=True)
class DepthBound:
    """A bound on the depth in mm, and what sets it."""

    depth: float
    says: str


def method_for(cutter: Cutter, kind: str) -> Method | None:
    """Return how a cutter makes letters of such a typeface, as single lines or with a body; None: it cannot."""
    possible = cutter.methods
    if kind == "single-line":
        return possible[0]
    return possible[1] if len(possible) > 1 else None


def tool_for(
    order: Order, cutter: Cutter, wood: Wood, kind: str, lid: Lid, area: Area, book: Book, problems: list[Problem]
) -> Tool | None:
    """Return the tool for one piece; None, with the reason noted, if there is none."""
    method = method_for(cutter, kind)
    if method is None:
        problems.append(_only_lines(order, cutter, book))
        return None
    recipe = book.recipes.get((cutter.id, wood.id, method))
    if recipe is None:
        problems.append(_no_recipe(order, cutter, wood, method, kind, book))
        return None
    limit = deepest(cutter, lid)
    if limit.depth < SHALLOWEST:
        problems.append(_too_thin(order, lid, limit))
        return None
    asked = asked_depth(order, cutter)
    wanted = recipe.depth if asked is None else asked
    if order.depth and cutter.is_beam:
        problems.append(_nothing_to_deepen(order, cutter))
    if limit.depth < wanted - 1e-9:
        problems.append(_limited(recipe, wanted, limit))
    machine = _lifted(book.shop.machines[cutter.machine], area, problems)
    if not _on_bed(area, machine):
        problems.append(_off_bed(order, area, machine))
    return tool_by(cutter, machine, recipe, method, wanted, lid)


def tool_by(cutter: Cutter, machine: Machine, recipe: Recipe, method: Method, wanted: float, lid: Lid) -> Tool:
    """Return the tool of a recipe and method, as deep as is wanted (mm) and as bit and lid allow."""
    depth = min(wanted, deepest(cutter, lid).depth)
    groove, least = cutter.groove_at(depth, recipe), cutter.least_width(depth, recipe)
    if method == "side-by-side":
        least = groove  # it goes along its own groove, whatever its point could do
    return Tool(cutter, machine, recipe, method, depth, groove, least)


def deepest(cutter: Cutter, lid: Lid) -> DepthBound:
    """Return the greatest depth allowed: by the bit, by its flute, by its cone, by the lid."""
    limits = [
        DepthBound(lid.thickness / SHARE_OF_THICKNESS, f"a third of the lid's thickness of {lid.thickness:g} mm"),
        DepthBound(lid.thickness - SOLID_WOOD, f"the {SOLID_WOOD:g} mm of solid wood to be left under it"),
    ]
    limits += [DepthBound(depth, f"the {what} of the {midway(cutter.title)}") for depth, what in cutter.depth_limits()]
    return min(limits, key=lambda limit: limit.depth)


def asked_depth(order: Order, cutter: Cutter) -> float | None:
    """Return the depth in mm that the order asks for; None where it asks for none. A beam's follows from power and speed."""
    return length_mm(order.depth) if order.depth and not cutter.is_beam else None


def _nothing_to_deepen(order: Order, cutter: Cutter) -> Problem:
    says = f"The depth of the {midway(cutter.title)} is set by its power and speed. The column 'depth' changes nothing here."
    return Problem("nothing-to-deepen", "note", says, where(order, "depth"), order.depth)


def _limited(recipe: Recipe, wanted: float, limit: DepthBound) -> Problem:
    """A groove that comes out shallower is seen; of `vee` the depth is only the most it may take."""
    whose = f"the recipe's {wanted:.2f} mm" if wanted == recipe.depth else f"the {wanted:.2f} mm asked for"
    says = f"Cut {limit.depth:.2f} mm deep instead of {whose}: the limit is {limit.says}."
    level = "note" if recipe.method == "vee" else "look"
    return Problem("depth-limited", level, says, value=wanted, limit=round(limit.depth, 4))  # type: ignore[arg-type]


def _too_thin(order: Order, lid: Lid, limit: DepthBound) -> Problem:
    says = f"The lid is too thin to be cut: {limit.says} leaves {max(0.0, limit.depth):.2f} mm."
    return Problem("lid-too-thin", "hold", says, where(order, "lid"), lid.thickness, SOLID_WOOD)


def _only_lines(order: Order, cutter: Cutter, book: Book) -> Problem:
    lines = [i for i, kind in book.kinds.items() if kind == "single-line"]
    others = [c.id for c in book.shop.cutters_at_hand() if len(c.methods) > 1]
    says = (
        f"The {midway(cutter.title)} only follows single lines, and this typeface has letters with a body. Take a "
        f"single-line typeface ({listed(lines)}), or a cutter that makes letters with a body ({listed(others)})."
    )
    return Problem("outline-needs-area", "hold", says, where(order, "typeface"), cutter.id)


def _no_recipe(order: Order, cutter: Cutter, wood: Wood, method: Method, kind: str, book: Book) -> Problem:
    cutters = [
        c.id for c in book.shop.cutters_at_hand()
        if (c.id, wood.id, method_for(c, kind)) in book.recipes
    ]  # fmt: skip
    woods = [w for w in book.shop.woods if (cutter.id, w, method) in book.recipes]
    note = f" Of this cutter: {cutter.note}." if cutter.note else ""
    says = (
        f"There is no recipe for the {midway(cutter.title)} in {midway(wood.title)} by {method}.{note} "
        f"Cutters that have one for such letters in {midway(wood.title)}: {listed(cutters) or 'none'}. "
        f"Woods that have one for this cutter: {listed(woods) or 'none'}."
    )
    return Problem("no-recipe", "hold", says, where(order, "cutter"), f"{cutter.id} {wood.id} {method}")


def _lifted(machine: Machine, area: Area, problems: list[Problem]) -> Machine:
    """Return the machine with its bit lifted clear of what stands proud when it travels; that is also said."""
    tallest = max(area.keep_outs, key=lambda k: k.height, default=None)
    if machine.kind != "router" or tallest is None or tallest.height + HOLDER_GAP <= machine.retract:
        return machine
    height = tallest.height + HOLDER_GAP
    says = (
        f"The {tallest.why or 'keep-out'} stands {_up(tallest.height)} mm proud: have the machine travel at least "
        f"{_up(height)} mm above the lid's face."
    )
    problems.append(Problem("travel-height", "note", says, value=tallest.height, limit=height))
    return replace(machine, retract=height)


def _up(height: float) -> str:
    """Return a height in mm rounded up to a tenth: too high is safe, too low is not."""
    return f"{math.ceil(round(height * 10, 6)) / 10:g}"


def _on_bed(area: Area, machine: Machine) -> bool:
    small, large = sorted((area.width, area.height))
    return small <= min(machine.bed) and large <= max(machine.bed)


def _off_bed(order: Order, area: Area, machine: Machine) -> Problem:
    says = (
        f"The lid is {area.width:.0f} x {area.height:.0f} mm; the {midway(machine.title)} reaches "
        f"{machine.bed[0]:.0f} x {machine.bed[1]:.0f} mm, whichever way it is laid."
    )
    return Problem("off-bed", "hold", says, where(order, "lid"), max(area.width, area.height), max(machine.bed))
