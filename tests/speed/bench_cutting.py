"""How fast letters are measured and checked, and how far the figures are from a raster reference.

python tests/speed/bench_cutting.py
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from shapely import wkt

sys.path.insert(0, str(Path(__file__).parents[1]))
from cutting.workbench import lid, region_lettering, tool, wood

from engrave.cutting import KeptMeasures, check
from engrave.cutting.effect.opening import open_by
from engrave.cutting.measure.components import glyph_shape
from engrave.cutting.measure.glyphs import measure_region
from engrave.geometry.medial_axis import axis_lines
from engrave.geometry.regions import polygons
from engrave.making import environment
from engrave.verbs import try_words

FACES = ("noto-sans", "vollkorn", "gfs-didot", "great-vibes", "blankenburg")
LETTERS = "HamburgefonstivW8&"
CASES = json.loads((Path(__file__).parents[1] / "data" / "cut.json").read_text(encoding="utf-8"))


def ms(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - begun)


def told(name: str, times: list[float]) -> None:
    print(f"{name:34} {statistics.median(times):7.2f} ms median {max(times):7.2f} ms worst  ({len(times)})")


def main() -> None:
    """Time each step on real letters, then the whole check, then compare with the reference."""
    env = environment()
    shapes = [glyph_shape(p.glyph, False) for f in FACES for p in env.shelf.get(f).shape(LETTERS).placed]
    told("a new glyph measured", [ms(lambda s=s: measure_region(s)) for s in shapes])
    told("a new glyph's middle lines", [ms(lambda s=s: [axis_lines(p) for p in polygons(s)]) for s in shapes])
    told("a glyph opened", [ms(lambda s=s: open_by(s, 0.08, 0.05)) for s in shapes])
    tried = try_words("Maren", message="sixty summers on the river", lid="round-caddy", typeface="vollkorn", env=env)
    piece = tried.entries[0].piece
    assert piece.task is not None and piece.lettering is not None
    of, set_ = piece.task, piece.lettering
    measures = KeptMeasures(None)
    told("a piece checked, nothing known", [ms(lambda: check(set_, of.tool, of.wood, of.lid, measures))])
    told("a piece checked, all known", [ms(lambda: check(set_, of.tool, of.wood, of.lid, measures)) for _ in range(9)])
    errors = []
    for case in CASES["text"]:
        laid = region_lettering(
            [(g["text"], wkt.loads(g["wkt"])) for g in case["glyphs"]], case["cap_mm"], case["text"]
        )
        found = check(laid, tool(case["tool_d"]), wood(case["web_g"], case["web_g"]), lid(), KeptMeasures(None))
        assert found.stroke is not None and found.web is not None
        errors += [abs(found.stroke.width / case["min_stroke"] - 1), abs(found.web.width / case["min_web"] - 1)]
    print(
        f"off the raster reference: {100 * statistics.median(errors):.2f} % median, {100 * max(errors):.2f} % at most"
    )


if __name__ == "__main__":
    main()
