"""What is at hand, as rows of plain values: one row an entry, the columns a shop asks about."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from engrave.shop.models import Beam, Bit, Cutter, EndMill, Lid, Machine, Recipe, Setting, Shop, Wood

if TYPE_CHECKING:
    from engrave.typefaces import Shelf

ShelfRow = dict[str, Any]


def shelf_rows(kind: str, shop: Shop, shelf: Shelf) -> list[ShelfRow]:
    """Return the rows of one kind of table. Lengths mm, feeds mm/s. Raises KeyError for a kind that there is not."""
    if kind == "typefaces":
        return [_typeface(shelf, i, shop) for i in shelf.ids]
    tables: dict[str, Callable[[], list[ShelfRow]]] = {
        "lids": lambda: [_lid(x) for x in shop.lids.values()],
        "cutters": lambda: [_cutter(x, shop) for x in shop.cutters.values()],
        "machines": lambda: [_machine(x) for x in shop.machines.values()],
        "woods": lambda: [_wood(x) for x in shop.woods.values()],
        "recipes": lambda: [_recipe(x) for x in shop.recipes],
        "settings": lambda: [_setting(x) for x in shop.settings.values()],
    }
    return tables[kind]()


def _lid(lid: Lid) -> ShelfRow:
    first = lid.areas[0]
    return {
        "id": lid.id,
        "title": lid.title,
        "width_mm": round(first.width, 2),
        "height_mm": round(first.height, 2),
        "thickness_mm": lid.thickness,
        "areas": [a.name for a in lid.areas],
        "keep_outs": [k.why for a in lid.areas for k in a.keep_outs],
        "handed": lid.handed,
        "setting": first.setting or lid.setting,
        "wood": lid.wood,
        "typeface": lid.typeface,
        "cutter": lid.cutter,
    }


def _typeface(shelf: Shelf, ident: str, shop: Shop) -> ShelfRow:
    facts = shelf.facts(ident)
    measured = facts.measured
    return {
        "id": ident,
        "title": facts.title,
        "kind": facts.kind,
        "good_for": facts.good_for,
        "reads_from_mm": round(shelf.get(ident).reads_from_mm, 1),
        "licence": facts.licence,
        "thinnest_stroke_at_1mm": measured.stroke if measured else None,
        "thinnest_web_at_1mm": measured.web if measured else None,
        "least_cap_mm_finest_bit": _least_cap(measured.stroke if measured else None, shop),
    }


def _least_cap(stroke: float | None, shop: Shop) -> float | None:
    """Return the cap height at which the thinnest stroke is as wide as the shop's finest end mill."""
    finest = min((c.diameter for c in shop.cutters.values() if isinstance(c, EndMill)), default=None)
    return round(finest / stroke, 1) if stroke and finest else None


def _cutter(cutter: Cutter, shop: Shop) -> ShelfRow:
    woods = sorted({r.wood for r in shop.recipes if r.cutter == cutter.id})
    bit, beam = (cutter if isinstance(cutter, Bit) else None), (cutter if isinstance(cutter, Beam) else None)
    return {
        "id": cutter.id,
        "title": cutter.title,
        "kind": cutter.kind,
        "machine": cutter.machine,
        "diameter_mm": bit and bit.diameter,
        "angle_deg": bit and bit.angle,
        "tip_mm": bit and bit.tip,
        "mark_mm": [beam.kerf_x, beam.kerf_y] if beam else None,
        "deepest_mm": bit and bit.deepest,
        "methods": sorted({r.method for r in shop.recipes if r.cutter == cutter.id}),
        "woods": "all" if len(woods) == len(shop.woods) else woods,
    }


def _machine(machine: Machine) -> ShelfRow:
    return {
        "id": machine.id,
        "title": machine.title,
        "kind": machine.kind,
        "bed_mm": list(machine.bed),
        "fastest_mm_s": list(machine.vmax),
        "acceleration_mm_s2": list(machine.amax),
        "corner": machine.corner,
        "datum": machine.datum,
    }


def _wood(wood: Wood) -> ShelfRow:
    return {
        "id": wood.id,
        "title": wood.title,
        "latin": wood.latin,
        "pores": wood.pores,
        "least_web_along_mm": wood.web_along,
        "least_web_across_mm": wood.web_across,
        "specific_gravity": wood.gravity or None,
        "hardness_N": round(wood.janka_n) or None,
        "caution": wood.caution or None,
    }


def _recipe(recipe: Recipe) -> ShelfRow:
    return {
        "cutter": recipe.cutter,
        "wood": recipe.wood,
        "method": recipe.method,
        "feed_mm_s": round(recipe.feed, 3),
        "depth_mm": recipe.depth,
        "passes": recipe.passes,
        "row_pitch_mm": recipe.row_pitch or None,
        "least_web_mm": recipe.web_along,
        "power": recipe.power or None,
    }


def _setting(setting: Setting) -> ShelfRow:
    return {
        "id": setting.id,
        "title": setting.title,
        "kind": setting.kind,
        "align": setting.align,
        "message_ratio": setting.message_ratio,
        "foot_ratio": setting.foot_ratio,
        "rim_where": setting.rim_where if setting.kind == "rim" else None,
    }
