"""Curves where a file has only chords: polylines refitted to smooth cubics through the points that it gives.

A polyline's points lie on the curve that its maker drew; the chords between them cut the corner by up to 0.2 mm on a
letter 10 mm high. Corners are kept; between them cubic curves are fitted by least squares (Schneider, An algorithm for
automatically fitting digitized curves, Graphics Gems, 1990), split until no given point is farther off than FIT.

Points are complex numbers here: x + iy, in cap heights.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from engrave.geometry.paths import Contour, Point, Segment

FIT = 0.002
"""Cap heights that a given point may stand off the fitted curve: 0.02 mm at 10 mm, a tenth of a fine beam's mark."""
HELD = 0.8 * FIT
"""What the points are held to, so that the curve between them keeps to FIT: a cubic waves most there (seen: 0.0023)."""
SHARP_TURN = math.radians(55)
"""Turns sharper than this are corners. The coarsest rounds seen turn 45 degrees at a point (circles of eight)."""
RUNS_ON = math.radians(36)
"""A straight stroke runs on into a round if it turns less than this there: half way into the first of coarse chords."""
STRAIGHT = 0.28
"""Chords longer than this are straight strokes: no letter's round is given by so few points."""
SAG = 0.03
"""A chord from which a smooth curve would stand off more than this was meant straight; true ones seen reach 0.022."""
ONE_POINT = 0.004
"""Points nearer than this are one: shorter pieces carry rounding, not direction."""

_STEPS = 4
"""Newton steps for the parameters: more change the fit by less than the figures of the file."""

Cubic = tuple[complex, complex, complex, complex]


def refitted(contour: Contour) -> Contour:
    """Return a stroke of straight lines with its rounds as cubic curves; other strokes as they are."""
    if any(len(s) > 1 for s in contour.segments) or len(contour.segments) < 2:
        return contour
    given = _apart([complex(*contour.start), *(complex(*s[-1]) for s in contour.segments)], contour.closed)
    if len(given) < 3:
        return contour
    if contour.closed:
        given = _from_corner(given)
    turns = _Turns.of(given, contour.closed)
    segments: list[Segment] = []
    for start, end in itertools.pairwise(turns.breaks()):
        segments += _stretch(given[start : end + 1], turns.leaving(start), turns.arriving(end))
    return Contour(_point(given[0]), tuple(segments), contour.closed)


def _point(z: complex) -> Point:
    return (z.real, z.imag)


def _apart(points: Sequence[complex], closed: bool) -> list[complex]:
    """Return points without those that lie nearer than ONE_POINT to the one before; the ends stay."""
    out = [points[0]]
    for z in points[1:-1]:
        if abs(z - out[-1]) >= ONE_POINT:
            out.append(z)
    while len(out) > 1 and abs(points[-1] - out[-1]) < ONE_POINT:
        out.pop()
    out.append(points[0] if closed else points[-1])
    return out


def _from_corner(points: list[complex]) -> list[complex]:
    """Return a closed run of points that begins at its sharpest turn."""
    ring = points[:-1]
    n = len(ring)
    sharpest = max(range(n), key=lambda i: (round(abs(_turn(ring[i - 1], ring[i], ring[(i + 1) % n])), 9), -i))
    return [*ring[sharpest:], *ring[:sharpest], ring[sharpest]]


def _turn(a: complex, b: complex, c: complex) -> float:
    """Return the turn at b on the way from a to c, in radians, left positive."""
    return cmath.phase((c - b) / (b - a)) if a != b != c else 0.0


@dataclass(frozen=True, slots=True)
class _Turns:
    """What the points of a stroke tell: the turn at each, and which chords are straight strokes."""

    points: Sequence[complex]
    turn: Sequence[float]
    straight: Sequence[bool]
    closed: bool

    @classmethod
    def of(cls, points: Sequence[complex], closed: bool) -> _Turns:
        turn = [0.0] * len(points)
        for i in range(1, len(points) - 1):
            turn[i] = _turn(points[i - 1], points[i], points[i + 1])
        if closed:
            turn[0] = turn[-1] = _turn(points[-2], points[0], points[1])
        straight = [_is_straight(points, turn, i, closed) for i in range(len(points) - 1)]
        return cls(points, turn, straight, closed)

    def breaks(self) -> list[int]:
        """Return the indices between which one smooth stretch runs: ends, corners, ends of straight strokes."""
        inner = [
            i for i in range(1, len(self.points) - 1) if self._corner(i) or self.straight[i - 1] or self.straight[i]
        ]
        return [0, *inner, len(self.points) - 1]

    def _corner(self, i: int) -> bool:
        before, after = self._around(i)
        limit = RUNS_ON if self.straight[before] != self.straight[after] else SHARP_TURN
        both = self.straight[before] and self.straight[after]
        return abs(self.turn[i]) > (0.0 if both else limit)

    def _around(self, i: int) -> tuple[int, int]:
        """Return the indices of the chords before and after a point, round the seam of a closed stroke."""
        last = len(self.points) - 2
        return (i - 1 if i > 0 else last), (i if i <= last else 0)

    def _smooth(self, i: int) -> bool:
        return (self.closed or 0 < i < len(self.points) - 1) and not self._corner(i)

    def leaving(self, i: int) -> complex | None:
        """Return the direction in which the curve leaves a point, None where only its own points can tell."""
        return self._along(i) if self._smooth(i) else None

    def arriving(self, i: int) -> complex | None:
        """Return the direction in which the curve arrives at a point, None where only its own points can tell."""
        return self._along(i) if self._smooth(i) else None

    def _along(self, i: int) -> complex:
        before, after = self._around(i)
        a, b, c = self.points[before], self.points[before + 1], self.points[after + 1]
        if self.straight[before]:
            return _unit(b - a)
        if self.straight[after]:
            return _unit(c - b)
        return _middle(a, b, c)


def _is_straight(points: Sequence[complex], turn: Sequence[float], i: int, closed: bool) -> bool:
    """Tell whether a chord was meant as a straight stroke: long, or too long for a curve that turns so at its ends."""
    length = abs(points[i + 1] - points[i])
    if length > STRAIGHT:
        return True
    last = len(points) - 2
    before = abs(points[i] - points[i - 1]) if i > 0 else abs(points[-1] - points[-2]) if closed else length
    after = abs(points[i + 2] - points[i + 1]) if i < last else abs(points[1] - points[0]) if closed else length
    shares = [
        angle * length / (length + other)
        for angle, other in ((turn[i], before), (turn[i + 1], after))
        if abs(angle) <= SHARP_TURN
    ]
    return bool(shares) and length * math.tan(abs(sum(shares)) / 4) / 2 > SAG


def _unit(z: complex) -> complex:
    return z / abs(z) if z else 1 + 0j


def _middle(a: complex, b: complex, c: complex) -> complex:
    """Return the direction at b of the circle through three points: nearer chords count more."""
    one, two = _unit(b - a), _unit(c - b)
    return _unit(one * abs(c - b) + two * abs(b - a))


def _first(a: complex, b: complex, c: complex) -> complex:
    """Return the direction at a of the circle through three points: the chord turned back by what it turns later."""
    later = cmath.phase((_middle(a, b, c)) / (b - a))
    return _unit((b - a) * cmath.exp(-1j * later))


def _stretch(points: Sequence[complex], leave: complex | None, arrive: complex | None) -> list[Segment]:
    """Return one smooth stretch as curves; two points that nothing bends are a straight line."""
    if len(points) == 2 and leave is None and arrive is None:
        return [(_point(points[1]),)]
    if len(points) == 2:
        chord = _unit(points[1] - points[0])
        bend = [abs(cmath.phase(t / chord)) for t in (leave, arrive) if t is not None]
        if max(bend) < 1e-6:
            return [(_point(points[1]),)]
        # one end is free: let it mirror the other, as on a circle
        leave = leave if leave is not None else chord * chord / arrive  # type: ignore[operator]
        arrive = arrive if arrive is not None else chord * chord / leave
    else:
        leave = leave if leave is not None else _first(points[0], points[1], points[2])
        arrive = arrive if arrive is not None else -_first(points[-1], points[-2], points[-3])
    return [_segment(c) for c in _fit(points, _unit(leave), _unit(arrive))]


def _segment(cubic: Cubic) -> Segment:
    a, b, c, d = cubic
    chord = _unit(d - a)
    off = max(abs(((z - a) / chord).imag) for z in (b, c))
    return (_point(d),) if off < FIT / 8 else (_point(b), _point(c), _point(d))


def _fit(points: Sequence[complex], leave: complex, arrive: complex) -> list[Cubic]:
    """Return cubics through the ends of a run of points that keep every point within FIT and bulge by SAG at most."""
    chord = abs(points[-1] - points[0])
    if len(points) == 2:
        return [_arc_like(points[0], points[1], leave, arrive)]
    at = _chord_parameters(points)
    cubic = _least_squares(points, at, leave, arrive)
    for _ in range(_STEPS):
        if cubic is None or not chord:
            break
        at = [_nearer(cubic, z, t) for z, t in zip(points, at, strict=True)]
        cubic = _least_squares(points, at, leave, arrive)
    if cubic is not None and chord and _keeps(cubic, points, at):
        return [cubic]
    worst = len(points) // 2
    if cubic is not None:
        off = [abs(_on(cubic, t) - z) for z, t in zip(points, at, strict=True)]
        worst = min(max(range(1, len(points) - 1), key=lambda i: (round(off[i], 9), -i)), len(points) - 2)
    middle = _middle(points[worst - 1], points[worst], points[worst + 1])
    return [*_fit(points[: worst + 1], leave, middle), *_fit(points[worst:], middle, arrive)]


def _keeps(cubic: Cubic, points: Sequence[complex], at: Sequence[float]) -> bool:
    """Tell whether all points lie within HELD, and the curve between them stands off their chords no more than SAG."""
    if any(abs(_on(cubic, t) - z) > HELD for z, t in zip(points, at, strict=True)):
        return False
    if any(b <= a for a, b in itertools.pairwise(at)):
        return False
    for (z, t), (w, u) in itertools.pairwise(zip(points, at, strict=True)):
        chord = _unit(w - z)
        if any(abs(((_on(cubic, t + (u - t) * k / 4) - z) / chord).imag) > SAG for k in (1, 2, 3)):
            return False
    return True


def _arc_like(a: complex, d: complex, leave: complex, arrive: complex) -> Cubic:
    """Return the cubic that is nearly a circle's arc when both ends turn alike (handles 2 chord / (3 (1 + cos)))."""
    chord = d - a
    bends = [abs(cmath.phase(t / chord)) for t in (leave, arrive)]
    handle = 2 * abs(chord) / (3 * (1 + math.cos(min(sum(bends) / 2, math.pi / 2))))
    return (a, a + leave * handle, d - arrive * handle, d)


def _chord_parameters(points: Sequence[complex]) -> list[float]:
    along = list(itertools.accumulate((abs(b - a) for a, b in itertools.pairwise(points)), initial=0.0))
    return [s / along[-1] for s in along]


def _dot(a: complex, b: complex) -> float:
    return a.real * b.real + a.imag * b.imag


def _least_squares(points: Sequence[complex], at: Sequence[float], leave: complex, arrive: complex) -> Cubic | None:
    """Return the cubic with given ends and directions nearest to the points; None if its handles make no sense."""
    a, d = points[0], points[-1]
    c00 = c01 = c11 = x0 = x1 = 0.0
    for z, t in zip(points, at, strict=True):
        u = 1 - t
        one, two = leave * (3 * t * u * u), -arrive * (3 * t * t * u)
        rest = z - a * (u * u * (1 + 2 * t)) - d * (t * t * (3 - 2 * t))
        c00, c01, c11 = c00 + _dot(one, one), c01 + _dot(one, two), c11 + _dot(two, two)
        x0, x1 = x0 + _dot(one, rest), x1 + _dot(two, rest)
    det = c00 * c11 - c01 * c01
    if abs(det) < 1e-12 * max(c00 * c11, 1e-30):
        return None
    first, second = (x0 * c11 - x1 * c01) / det, (c00 * x1 - c01 * x0) / det
    run = sum(abs(q - p) for p, q in itertools.pairwise(points))
    if not (0.05 * run < first < run and 0.05 * run < second < run):
        return None
    return (a, a + leave * first, d - arrive * second, d)


def _on(cubic: Cubic, t: float) -> complex:
    a, b, c, d = cubic
    u = 1 - t
    return a * u**3 + 3 * b * u * u * t + 3 * c * u * t * t + d * t**3


def _nearer(cubic: Cubic, z: complex, t: float) -> float:
    """Return a parameter nearer to the foot of z on the curve: one Newton step."""
    a, b, c, d = cubic
    u = 1 - t
    first = 3 * ((b - a) * u * u + 2 * (c - b) * u * t + (d - c) * t * t)
    second = 6 * ((c - 2 * b + a) * u + (d - 2 * c + b) * t)
    off = _on(cubic, t) - z
    slope = _dot(first, first) + _dot(off, second)
    return min(1.0, max(0.0, t - _dot(off, first) / slope)) if slope > 1e-15 else t
