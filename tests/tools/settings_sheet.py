"""A specimen sheet: every setting on lids of different shapes with short, usual and long words, to be looked at.

`python tests/tools/settings_sheet.py OUT.svg|OUT.png [--typeface ID] [--cutter ID] [--script NAME] [--lids ID ...] [--settings ID ...]`.
A PNG needs the tests' extra. Below each lid: the capitals' height, and what the cutting check says against it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path as File

from lids_sheet import INK, KEEP, ROOM, WOOD, _d, _letters, _room

from engrave.intake.order import Order, Words
from engrave.making import Env, environment, set_and_checked
from engrave.shop.models import Area
from engrave.tasks import Task, define_all

LIDS = ("dice-cup", "seed-box", "heart-box", "domino-box", "round-caddy", "fly-box")
"""Round, rectangle, heart, octagon with an inlay, round with a knob, rectangle with hinge and clasp."""

SETTINGS = ("stack", "rim", "rim-both", "arch", "name-rule", "name-sprig", "frame", "frame-double", "monogram", "pair")

SCRIPTS = {
    "latin": (Words("Eve"), Words("Jørgen & Åse", "since 1987"), Words("Maximiliane Featherstone", "with love from Mum and Dad", "Christmas 2024")),
    "greek": (Words("Ζωή"), Words("Ελένη & Νίκος", "από το 1987"), Words("Κωνσταντίνος Παπαδόπουλος", "με αγάπη από όλους μας", "2024")),
    "hebrew": (Words("נועה"), Words("מרים & יוסף", "מאז 1987"), Words("אלכסנדרה בן דוד", "באהבה מאמא ומאבא", "2024")),
    "devanagari": (Words("मीरा"), Words("आरती & राहुल", "शुभ विवाह"), Words("आरती शर्मा और राहुल वर्मा", "माता पिता की ओर से प्यार सहित", "2024")),
}  # fmt: skip
"""Short, usual and long words in four scripts."""

INITIALS = {
    "latin": ("A", "J & Å", "M.K.F."),
    "greek": ("Ζ", "Ε & Ν", "Κ.Μ.Π."),
    "hebrew": ("נ", "מ & י", "א ב ד"),
    "devanagari": ("म", "आ & र", "आ र व"),
}
"""What a monogram is made of instead of the name."""

TYPEFACES = {
    "latin": "vollkorn",
    "greek": "gfs-didot",
    "hebrew": "noto-sans-hebrew",
    "devanagari": "noto-sans-devanagari",
}

CELL = 132.0
"""mm on the sheet for each lid, which is scaled into it."""


def sheet(env: Env, lids: Sequence[str], settings: Sequence[str], script: str, **columns: str) -> str:
    """Return the sheet as SVG: for each lid a row a text, for each setting a column."""
    parts = [
        _cell(env, lid, settings[c], script, w, columns, 6 + c * CELL, 10 + (r * len(SCRIPTS[script]) + w) * (CELL + 8))
        for r, lid in enumerate(lids) for w in range(len(SCRIPTS[script])) for c in range(len(settings))
    ]  # fmt: skip
    wide, high = 12 + CELL * len(settings), 12 + (CELL + 8) * len(lids) * len(SCRIPTS[script])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.0f}" height="{high:.0f}" viewBox="0 0 {wide:.0f} {high:.0f}">'
        f'<rect width="100%" height="100%" fill="#fff"/>{"".join(parts)}</svg>'
    )


def _cell(env: Env, lid: str, setting: str, script: str, w: int, columns: dict[str, str], x: float, y: float) -> str:
    words = SCRIPTS[script][w]
    if setting == "monogram":
        words = Words(INITIALS[script][w], words.message, words.foot)
    columns = {"typeface": TYPEFACES[script], **columns}
    order = Order("specimen", 1, 0, words, words, lid=lid, setting=setting, **columns)
    tasks = [t for t in define_all([order], env.shop, env.shelf.kinds()) if isinstance(t, Task)]
    area = env.shop.lids[lid].areas[0]
    drawn = [_lid(area)]
    says = "no task"
    if tasks:
        piece = set_and_checked(tasks[0], env)
        laid = piece.lettering
        assert laid is not None
        drawn += [_room(tasks[0]), _letters(laid)]
        wrong = [p.code for p in piece.problems if p.level != "note"]
        says = f"{laid.cap_mm:.1f} " + "; ".join(dict.fromkeys(wrong))
    scale = min((CELL - 8) / area.width, (CELL - 8) / area.height, 1.4)
    label = f'<text x="0" y="-1.5" font-size="5" font-family="sans-serif" fill="#555">{setting} {says}</text>'
    return (
        f'<g transform="translate({x:.1f} {y:.1f})">{label}<g transform="scale({scale:.3f})">{"".join(drawn)}</g></g>'
    )


def _lid(area: Area) -> str:
    keep = [f'<path d="{_d(k.outline)}" fill="{KEEP}" stroke="{ROOM}" stroke-width=".4"/>' for k in area.keep_outs]
    return (
        f'<path d="{_d(area.outline)}" fill="{WOOD}" stroke="{INK}" stroke-width=".2" fill-rule="evenodd"/>'
        + "".join(keep)
    )


def main(arguments: Sequence[str]) -> None:
    """Draw the sheet into the file named."""
    parser = argparse.ArgumentParser()
    parser.add_argument("file", type=File)
    parser.add_argument("--typeface")
    parser.add_argument("--cutter")
    parser.add_argument("--script", default="latin")
    parser.add_argument("--lids", nargs="*", default=LIDS)
    parser.add_argument("--settings", nargs="*", default=SETTINGS)
    parser.add_argument("--width", type=int, default=2400)
    asked = parser.parse_args(arguments)
    columns = {k: v for k, v in (("typeface", asked.typeface), ("cutter", asked.cutter)) if v}
    svg = sheet(environment(), asked.lids, asked.settings, asked.script, **columns)
    if asked.file.suffix == ".svg":
        asked.file.write_text(svg, encoding="utf-8")
        return
    import resvg_py

    asked.file.write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=svg, width=asked.width)))


if __name__ == "__main__":
    main(sys.argv[1:])
