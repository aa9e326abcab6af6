"""How many times larger letters would have to be for what is too thin to pass: strokes, and the wood between cuts.

A stroke grows with its letter. Of the wood only what is drawn grows, not what the cut takes of it: where w is left of a
gap drawn w + c wide, letters (need + c) / (w + c) times as large leave what is needed.
"""

from __future__ import annotations

from collections.abc import Collection

from engrave.cutting.effect import closing_of
from engrave.findings import helped_by
from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool

STROKE_FINDINGS, WEB_FINDINGS = helped_by("stroke"), helped_by("wood")


def growth_needed(
    problems: Collection[Problem], lettering: Lettering, tool: Tool, codes: Collection[str] | None = None
) -> float:
    """Return the least factor with which the findings that are no notes may pass; 1 if none depends on it.

    codes: the findings that count, all if None. Of a loop that is cut away altogether at least its opening is asked for.
    """
    lines = lettering.kind == "single-line" or tool.method == "follow"
    closing = closing_of(tool, lines, lettering.groove or tool.groove)
    most = 1.0
    for p in problems:
        if p.level == "note" or (codes is not None and p.code not in codes):
            continue
        if not isinstance(p.value, float) or not isinstance(p.limit, float) or p.value < 0.0:
            continue
        taken = max(closing.x, closing.y) if p.code in WEB_FINDINGS and p.code != "loop-fills" else 0.0
        if p.code in STROKE_FINDINGS | WEB_FINDINGS and p.value + taken > 0.0:
            most = max(most, (p.limit + taken) / (p.value + taken))
    return most
