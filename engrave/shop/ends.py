"""Outlines whose ends do not meet: hairs are closed, pieces drawn one by one are joined, real gaps are refused.

Programs for technical drawing write an outline as one path for each side; their ends then agree only to rounding.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from engrave.geometry.paths import Contour
from engrave.shop.drawing import Shape
from engrave.shop.shapes import OutlineError

END_GAP = 0.05
"""mm: ends that lie no farther apart belong together; drawing programs leave such hairs. Wider is refused."""


def met(shapes: Iterable[Shape], notes: list[str]) -> list[Shape]:
    """Return the shapes with closed contours only; what was closed or joined is noted.

    Raises OutlineError for what stays open, with the size and place of the gap.
    """
    out: list[Shape] = []
    pieces: list[tuple[str, Contour]] = []
    for shape in shapes:
        kept = []
        for contour in shape.contours:
            if contour.closed or math.dist(contour.start, contour.end) <= END_GAP:
                kept.append(_closed(shape.label, contour, notes))
            else:
                pieces.append((shape.label, contour))
        if kept:
            out.append(replace(shape, contours=tuple(kept)))
    joined = [_chain(pieces, notes) for _ in range(len(pieces)) if pieces]
    out.extend(Shape("the joined pieces", (c,), False) for c in joined)
    return out


def _closed(label: str, contour: Contour, notes: list[str]) -> Contour:
    gap = math.dist(contour.start, contour.end)
    if contour.closed or gap == 0:
        return replace(contour, closed=True)
    notes.append(f"{label} was open by {gap:.3f} mm and was closed")
    return Contour(contour.start, (*contour.segments, (contour.start,)), True)


def _chain(pieces: list[tuple[str, Contour]], notes: list[str]) -> Contour:
    """Take pieces off the list that join end to end into one closed contour."""
    label, chain = pieces.pop(0)
    count = 1
    while math.dist(chain.start, chain.end) > END_GAP:
        found = _next(chain, pieces)
        if found is None:
            raise _open(label, chain, count)
        i, turned = found
        pieces.pop(i)
        chain = _joined(chain, turned)
        count += 1
    notes.append(f"{count} pieces were joined end to end")
    return _closed("the joined pieces", chain, [])


def _next(chain: Contour, pieces: list[tuple[str, Contour]]) -> tuple[int, Contour] | None:
    """Return the piece that begins or ends nearest to the chain's end, within END_GAP, the right way round."""
    best: tuple[float, int, bool] | None = None
    for i, (_, piece) in enumerate(pieces):
        for end, turned in ((piece.start, False), (piece.end, True)):
            gap = math.dist(chain.end, end)
            if gap <= END_GAP and (best is None or gap < best[0]):
                best = (gap, i, turned)
    if best is None:
        return None
    _, i, turned = best
    return i, pieces[i][1].reversed() if turned else pieces[i][1]


def _joined(chain: Contour, piece: Contour) -> Contour:
    bridge = ((piece.start,),) if piece.start != chain.end else ()
    return Contour(chain.start, (*chain.segments, *bridge, *piece.segments), False)


def _open(label: str, chain: Contour, count: int) -> OutlineError:
    gap = math.dist(chain.start, chain.end)
    x, y = chain.end
    what = label if count == 1 else f"what begins with {label}"
    return OutlineError(
        f"leaves {what} open by {gap:.2f} mm (it ends at {x:.1f}, {y:.1f} mm on the drawing); close it, or delete it "
        "if it is no outline"
    )
