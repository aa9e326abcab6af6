"""The table of counts, for people."""

from __future__ import annotations

from collections.abc import Sequence

from .protocol import KINDS
from .running import Count


def table(counts: Sequence[Count]) -> str:
    """Return a line an attack and their sum: how many cases, and how many of them went wrong in which way."""
    total = Count("all", sum(c.cases for c in counts), sum(c.seconds for c in counts))
    total.faults = [(f"{c.name}/{case}", fault) for c in counts for case, fault in c.faults]
    rows = [["attack", "cases", "seconds", *KINDS]]
    rows += [[c.name, str(c.cases), f"{c.seconds:.0f}", *(str(c.of(k)) for k in KINDS)] for c in (*counts, total)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return "\n".join(
        "  ".join(_cell(c, w, i == 0) for i, (c, w) in enumerate(zip(row, widths, strict=True))).rstrip()
        for row in rows
    )


def _cell(text: str, width: int, left: bool) -> str:
    return text.ljust(width) if left else text.rjust(width)


def details(counts: Sequence[Count]) -> str:
    """Return each fault on a line of its own, alike ones of an attack once with how many cases show it."""
    lines = []
    for count in counts:
        seen: dict[tuple[str, str], list[str]] = {}
        for case, fault in count.faults:
            seen.setdefault((fault.kind, fault.says), []).append(case)
        for (kind, says), cases in seen.items():
            more = f" and {len(cases) - 1} more" if len(cases) > 1 else ""
            lines.append(f"{count.name}: {kind}: {says} [{cases[0]}{more}]")
    return "\n".join(lines)
