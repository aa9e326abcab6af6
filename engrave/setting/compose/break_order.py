"""Breaks that fit at some sizes, by what they lose, the least first; sizes are looked at only as far as they are asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import count, islice

from engrave.setting.compose.break_judge import BreakJudge
from engrave.setting.compose.even_breaks import even_break
from engrave.setting.fit.layout import Layout
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.solver import SizeSearch

BREAKS_TRIED = 64
"""Breaks looked at a size; with more words than MANY_WORDS, one even break is added by a programme over all."""

MANY_WORDS = 8
"""Words (in all fields) up to which the first BREAKS_TRIED breaks hold all that matter."""

WEIGHED = 8
"""Breaks weighed with the place where they come to stand, best looking first."""

EQUAL_LOSS = 1e-9
"""Losses nearer than this are equal, so that rounding never decides between two breaks."""

READY_AHEAD = 3
"""Sizes held against the room together: that costs little more than one, and mostly the next ones are asked about too."""

WIDE_ENOUGH = 1e-6
"""mm: a line wider than the room by more than this fits nowhere, however limits are rounded."""

Lossy = tuple[float, Break, float]
"""What a break loses, the break, and the largest of the sizes at which it fits."""


@dataclass(slots=True)
class BreakOrder:
    """Breaks that fit at any of some sizes, each at the largest, by what they lose; the first found of equals.

    sizes: largest first, mm. top: the size that loses nothing. opened: whether a gap may open round what is in the way.
    most: what is not worth asking for, as it loses this or more.
    A size is looked at once a break of it might be the next. Proof that no other might: what fits at a size s loses
    1 - s / top and its looks, which are no less than the price of its lines, and it has as many lines as the words need at
    least where none is wider than the room at s. Rounding keeps the order of two sums of which no part is the less.
    """

    search: SizeSearch
    sizes: Sequence[float]
    by: BreakJudge
    top: float
    opened: bool
    most: float = float("inf")
    _waiting: list[Lossy] = field(default_factory=list)
    _found: set[Break] = field(default_factory=set)
    _looked: int = 0
    _least: list[float] = field(default_factory=list)

    def next(self) -> Lossy | None:
        """Return the next break; None if none is left, and at the latest where none loses less than `most`."""
        while self._looked < len(self.sizes):
            least = self._least_loss()
            if self._waiting and _rank(self._waiting[0][0]) <= _rank(least):
                break
            if least >= self.most and not (self._waiting and self._waiting[0][0] < self.most):
                return None
            self._look()
        return self._waiting.pop(0) if self._waiting else None

    def _least_loss(self) -> float:
        """Return what any break loses at least that fits at none of the sizes looked at."""
        if not self._least:
            layout, fewer = self.search.layout, self.by.setting.fewer_lines
            own = [1 - s / self.top + fewer * (fewest_lines(layout, s) - 1) for s in self.sizes]
            self._least = [min(own[k:]) for k in range(len(own))]
        return self._least[self._looked]

    def _look(self) -> None:
        """Take in the breaks that fit at the next size."""
        if self._looked % READY_AHEAD == 0:
            self.search.ready_at(self.sizes[self._looked : self._looked + READY_AHEAD])
        size = self.sizes[self._looked]
        for of in _candidates(self.search, size, self.by, self.opened):
            if of not in self._found:
                self._found.add(of)
                self._waiting.append((1 - size / self.top + self.by.loss(of), of, size))
        self._waiting.sort(key=lambda one: _rank(one[0]))
        self._looked += 1


def _rank(loss: float) -> int:
    return round(loss / EQUAL_LOSS)


def fewest_lines(layout: Layout, size: float) -> int:
    """Return how many lines the words need at least at a size at which none may be wider than the room; 1 if they cannot."""
    widest = (layout.room.width + WIDE_ENOUGH) / size
    fewest = [0] * (layout.count + 1)
    for at in range(layout.count - 1, -1, -1):
        ends = (layout.ends[n][1] for n in layout.starting[at] if layout.widths[n] <= widest)
        fewest[at] = 1 + min((fewest[end] for end in ends), default=layout.count)
    return fewest[0] if fewest[0] <= layout.count else 1


def weighed(found: BreakOrder) -> Iterator[Lossy]:
    """Yield the breaks to be weighed with their places, the best that opens round a knob among them."""
    may_open = found.opened and found.search.may_open
    for k in count():
        one = found.next() if k < WEIGHED or may_open else None
        if one is None:
            return
        if k < WEIGHED or one[1].opened:
            yield one
            may_open = may_open and not one[1].opened


def _candidates(search: SizeSearch, size: float, by: BreakJudge, opened: bool) -> Iterator[Break]:
    yield from islice(search.breaks_at(size, opened), BREAKS_TRIED)
    if search.layout.count > MANY_WORDS:
        even = even_break(search, size, by)
        if even is not None:
            yield even
