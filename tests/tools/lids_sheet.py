"""A specimen sheet: every lid with short, usual and long words, to be looked at.

`python tests/tools/lids_sheet.py OUT.svg|OUT.png [SETTING [TYPEFACE ...]]`; a PNG needs the tests' extra.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path as File

import numpy as np

from engrave.geometry.paths import Path
from engrave.intake.order import Order, Words
from engrave.setting.lettering import Lettering
from engrave.setting.placing import place
from engrave.shop import Shop, load_shop, room
from engrave.shop.models import Area, Lid
from engrave.tasks import Task, define_all
from engrave.typefaces import Shelf, load_shelf

WORDS = (
    Words("Eve"),
    Words("Jørgen & Åse", "since 1987"),
    Words("Maximiliane Featherstone"),
    Words("Charlotte", "with love from Mum and Dad, Christmas 2024"),
    Words("", "Happy birthday dear Grandad from all of us at the Ferry House"),
    Words("HARBOUR WATCH", "four bells and all is well", "No. 12"),
)
"""Short, usual and long: a name, a couple, a long name, a name with a message, a message alone, capitals and a foot."""

CELL = 190.0
"""mm on the sheet for each lid: the longest lid of the shop and some air."""

INK, WOOD, ROOM, KEEP = "#4b2f1a", "#d9d5cc", "#c7c2b6", "#f4f1ea"


def sheet(
    shop: Shop, shelf: Shelf, setting: str = "", typefaces: Sequence[str] = ("",), words: Sequence[Words] = WORDS
) -> str:
    """Return the sheet as SVG: a row for each lid's area, a column for each text."""
    rows = [(lid, area) for lid in shop.lids.values() for area in lid.areas]
    heights = [area.height + 16.0 for _, area in rows]
    parts: list[str] = []
    y = 10.0
    for (lid, area), height in zip(rows, heights, strict=True):
        for k, text in enumerate(words):
            parts.append(_cell(shop, shelf, lid, area, text, setting, typefaces[k % len(typefaces)], 10 + k * CELL, y))
        y += height
    wide = 20 + CELL * len(words)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.0f}" height="{y:.0f}" viewBox="0 0 {wide:.0f} {y:.0f}">'
        f'<rect width="100%" height="100%" fill="#fff"/>{"".join(parts)}</svg>'
    )


def _cell(
    shop: Shop, shelf: Shelf, lid: Lid, area: Area, words: Words, setting: str, typeface: str, x: float, y: float
) -> str:
    order = Order("specimen", 1, 0, words, words, lid=lid.id, typeface=typeface, setting=setting)
    tasks = [t for t in define_all([order], shop, shelf.kinds()) if isinstance(t, Task) and t.area.name == area.name]
    drawn = [f'<path d="{_d(area.outline)}" fill="{WOOD}" fill-rule="evenodd"/>']
    drawn += [f'<path d="{_d(k.outline)}" fill="{KEEP}" stroke="{ROOM}" stroke-width=".4"/>' for k in area.keep_outs]
    says = "no task"
    if tasks:
        task = tasks[0]
        drawn.append(_room(task))
        laid = place(task, shelf)
        drawn.append(_letters(laid))
        says = f"{laid.cap_mm:.1f} mm " + "; ".join(p.code for p in laid.problems)
    label = (
        f'<text x="0" y="-2" font-size="4.5" font-family="sans-serif" fill="#555">{lid.id} {area.name} {says}</text>'
    )
    return f'<g transform="translate({x:.1f} {y:.1f})">{label}{"".join(drawn)}</g>'


def _room(task: Task) -> str:
    shape = room(task.area, task.tool.machine, task.tool.cutter)
    rings = [r for p in getattr(shape, "geoms", [shape]) for r in (p.exterior, *p.interiors)]
    d = "".join("M" + "L".join(f"{a:.2f} {b:.2f}" for a, b in np.asarray(r.coords)) + "Z" for r in rings)
    return f'<path d="{d}" fill="none" stroke="{ROOM}" stroke-width=".3" stroke-dasharray="1.5 1.5"/>'


def _letters(laid: Lettering) -> str:
    d = "".join(_d(m.path()) for m in laid.marks)
    if laid.kind == "single-line":
        return f'<path d="{d}" fill="none" stroke="{INK}" stroke-width="{laid.groove:.3f}" stroke-linecap="round" stroke-linejoin="round"/>'
    return f'<path d="{d}" fill="{INK}"/>'


def _d(path: Path) -> str:
    letter = {1: "L", 2: "Q", 3: "C"}
    out = []
    for contour in path:
        out.append(f"M{contour.start[0]:.3f} {contour.start[1]:.3f}")
        for segment in contour.segments:
            out.append(letter[len(segment)] + " ".join(f"{px:.3f} {py:.3f}" for px, py in segment))
        out.append("Z" if contour.closed else "")
    return "".join(out)


def main(arguments: Sequence[str]) -> None:
    """Draw the sheet into the file named."""
    file = File(arguments[0])
    shelf = load_shelf()
    svg = sheet(load_shop(), shelf, arguments[1] if len(arguments) > 1 else "", arguments[2:] or ("",))
    if file.suffix == ".svg":
        file.write_text(svg, encoding="utf-8")
        return
    import resvg_py

    file.write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=svg, width=2400)))


if __name__ == "__main__":
    main(sys.argv[1:])
