"""Sets of numbers as sorted, disjoint closed intervals: where a baseline may stand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Span = tuple[float, float]
Spans = tuple[Span, ...]

INFINITY = float("inf")

EVERYWHERE: Spans = ((-INFINITY, INFINITY),)


def meet(a: Sequence[Span], b: Sequence[Span]) -> Spans:
    """Return what both sets have in common."""
    if len(a) == 1 == len(b):  # as most
        (low, high), (left, right) = a[0], b[0]
        low, high = left if left > low else low, right if right < high else high
        return ((low, high),) if low <= high else ()
    out: list[Span] = []
    i = j = 0
    while i < len(a) and j < len(b):
        low, high = max(a[i][0], b[j][0]), min(a[i][1], b[j][1])
        if low <= high:
            out.append((low, high))
        if a[i][1] < b[j][1]:
            i += 1
        else:
            j += 1
    return tuple(out)


def join(spans: Iterable[Span]) -> Spans:
    """Return the union of intervals given in any order."""
    out: list[Span] = []
    for low, high in sorted(spans):
        if out and low <= out[-1][1]:
            if high > out[-1][1]:
                out[-1] = (out[-1][0], high)
        else:
            out.append((low, high))
    return tuple(out)


def without(a: Sequence[Span], low: float, high: float) -> Spans:
    """Return the set less the open interval (low, high); its ends stay, as touching is allowed."""
    if high <= low:
        return tuple(a)
    out: list[Span] = []
    for lo, hi in a:
        if hi <= low or lo >= high:
            out.append((lo, hi))
            continue
        if lo <= low:
            out.append((lo, low))
        if hi >= high:
            out.append((high, hi))
    return tuple(out)


def shifted(a: Sequence[Span], by: float) -> Spans:
    """Return the set moved by a distance."""
    if len(a) == 1:
        return ((a[0][0] + by, a[0][1] + by),)
    return tuple((lo + by, hi + by) for lo, hi in a)


def meet_moved(a: Sequence[Span], b: Sequence[Span], by: float) -> Spans:
    """Return what one set has in common with the other moved by a distance, as `meet` with `shifted` does."""
    if len(a) == 1 == len(b):  # as most
        (low, high), (left, right) = a[0], b[0]
        if left + by > low:
            low = left + by
        if right + by < high:
            high = right + by
        return ((low, high),) if low <= high else ()
    return meet(a, shifted(b, by))


def nearest(a: Sequence[Span], to: float) -> float:
    """Return the number of a set that is not empty nearest to a wish; of two equally near, the lower."""
    return min((min(max(to, lo), hi) for lo, hi in a), key=lambda y: (abs(y - to), y))
