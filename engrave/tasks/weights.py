"""How single lines get a weight: which shares of the capitals' height are tried, and with which tool.

A beam draws lines side by side at the pitch of its rows, with the speed and power of its rows where it has a recipe
for them, as only then each spot gets what it gets in rows. A bit goes beside its own groove by the step of a pocket.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.intake.order import Order
from engrave.shop.line_weights import BY_RECIPE, shares_told
from engrave.shop.models import Cutter, Lid, Method, Recipe, Setting
from engrave.tasks.choosing import Book
from engrave.tasks.task_models import Tool, Weighting
from engrave.tasks.tooling import asked_depth, tool_by

OVERLAP = 0.85
"""Greatest step over the width of a beam's mark: lines that overlap by a seventh leave no ridges between them (common
practice, no source)."""

BIT_STEP = 0.4
"""Step over a bit's groove where no recipe for pockets states one: two fifths is usual (common practice, no source)."""

RIDGE = 0.05
"""mm: height of the ridges left between two grooves of a pointed bit; a finger hardly feels them."""


def weighting_for(order: Order, setting: Setting, tool: Tool, lid: Lid, book: Book) -> Weighting:
    """Return how single lines followed by this tool get a weight: the row says it, else the setting, else the recipe."""
    told = order.line_weight or setting.line_weight
    told = tool.recipe.line_weight if told == BY_RECIPE else told
    beside = side_by_side(tool, lid, book)
    tools = {t.method: t for t in [beside, *_areas(tool, lid, book, asked_depth(order, tool.cutter))]}
    chosen = tools.get(tool.recipe.weight_method, beside)
    others = tuple(t for t in tools.values() if t is not chosen)
    return Weighting(shares_told(told), chosen, tool, others, bool(order.line_weight))


def side_by_side(tool: Tool, lid: Lid, book: Book) -> Tool:
    """Return the tool that draws single lines wider: lines beside one another, `step_over` apart at most."""
    recipe = _of_beam(tool, book) if tool.cutter.is_beam else _of_bit(tool, book)
    wanted = recipe.depth if tool.cutter.is_beam else tool.depth  # a bit goes beside its own groove, as deep as that
    return tool_by(tool.cutter, tool.machine, replace(recipe, inset=True), "side-by-side", wanted, lid)


def _of_beam(tool: Tool, book: Book) -> Recipe:
    """Return the recipe for a beam's lines side by side: its own pitch, else speed and pitch of its rows."""
    recipe, mark = tool.recipe, min(tool.cutter.mark(tool.recipe))
    rows = book.recipes.get((tool.cutter.id, recipe.wood, "raster"))
    pitch = recipe.row_pitch or (rows.row_pitch if rows else 0.0) or OVERLAP * mark
    if rows is not None and not recipe.row_pitch:
        recipe = replace(recipe, feed=rows.feed, depth=rows.depth, passes=rows.passes, power=rows.power)
    return replace(recipe, step_over=min(pitch, OVERLAP * mark))


def _of_bit(tool: Tool, book: Book) -> Recipe:
    recipe, cutter = tool.recipe, tool.cutter
    pocket = book.recipes.get((cutter.id, recipe.wood, "pocket"))
    step = recipe.step_over or (pocket.step_over if pocket else 0.0) or _usual_step(cutter, tool.groove)
    return replace(recipe, step_over=min(step, tool.groove / 2.0))


def _usual_step(cutter: Cutter, groove: float) -> float:
    """Return the step of a bit whose table says none: of a pointed one, so that ridges stay no higher than RIDGE."""
    if cutter.widening:
        return cutter.groove_at(RIDGE)
    return BIT_STEP * groove


def _areas(tool: Tool, lid: Lid, book: Book, asked: float | None) -> Sequence[Tool]:
    """Return the tools by which the same cutter makes letters with a body in this wood, as deep as was asked (mm)."""
    methods: tuple[Method, ...] = ("raster", "pocket", "vee")
    found = ((m, book.recipes.get((tool.cutter.id, tool.recipe.wood, m))) for m in methods)
    return [
        tool_by(tool.cutter, tool.machine, recipe, method, recipe.depth if asked is None else asked, lid)
        for method, recipe in found
        if recipe is not None
    ]
