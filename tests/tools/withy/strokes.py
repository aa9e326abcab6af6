"""How the strokes of Withy are written down.

A stroke is one movement of the cutter with the bit down, told as one would tell it to somebody at the bench: a point,
and then, between commas, how to go on and to where.

    0 x, to 0 0                                        straight from x-height to baseline
    0 330 n20e, bend 170 x+o e, bend 330 300 s, to 330 0      the arch and right stem of n
    0 mid n, bend 310 cap e, bend 620 mid s, bend 310 0 w, bend home      a closed O

* A point is X and Y; either may be a sum or product of numbers and named heights (`x+o`, `cap/2`), without spaces.
* `to` goes straight, `bend` in a curve; `home` is the first point again, and closes the stroke.
* A compass bearing after a point is the way the stroke heads there: `n`, `e`, `s`, `w`, or between them as a surveyor
  writes it: `n28e` is north, turned 28 degrees towards east. Two bearings, `0 0 e n`, are a corner: the stroke comes in
  heading east and leaves heading north.
* A bend next to a straight line takes the line's direction unless told otherwise.
* A quarter turn between two points whose directions lie along the axes is a quarter of an ellipse, a shade squarer
  by `squareness`. Every other bend is the curve of J. D. Hobby, "Smooth, easy to compute interpolating splines",
  Discrete and Computational Geometry 1 (1986), 123-140, which needs no control points in the source.
* `touch` after a first or last point: it is moved onto the nearest point of the glyph's other strokes.
* `circle X Y RADIUS` and `oval X Y RADIUS RADIUS` are strokes of their own.
* `dot X Y` is a small circle with its diameter, in one movement: it reads as a dot in a fine groove, and in a wide one
  no reader of SVG leaves a hole in the middle, as many do where a line is wider than the circle that it follows.
"""

from __future__ import annotations

import ast
import cmath
import itertools
import math
import operator
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from engrave.geometry.paths import Contour, Segment

KAPPA = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)
"""Handle of a cubic quarter circle, in radii: it touches the circle at its middle and is 0.03 % off at most."""

_OPERATORS: Mapping[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}
_BEARING = re.compile(r"^(?:[nesw]|([ns])(\d+(?:\.\d+)?)([ew]))$")
_AXES = {"e": 0.0, "n": 90.0, "w": 180.0, "s": 270.0}
_VERBS = ("to", "bend")
_SHAPES = {"circle": 3, "oval": 4, "dot": 2}
"""Shapes that are a stroke by themselves, and how many numbers each takes."""


class StrokeError(ValueError):
    """A stroke that cannot be read: says which stroke, which word of it, and why."""


@dataclass(frozen=True, slots=True)
class Knot:
    """A point of a stroke: z = x + iy, directions of arriving and leaving (unit complex numbers) where stated."""

    z: complex
    arrives: complex | None = None
    leaves: complex | None = None
    touches: bool = False


def number(text: str, names: Mapping[str, float]) -> float:
    """Return the value of a sum or product of numbers and names, such as `x+o` or `2*cap/3`."""

    def value(node: ast.expr) -> float:
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
            return float(node.value)
        if isinstance(node, ast.Name) and node.id in names:
            return names[node.id]
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            return -value(node.operand)
        if isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
            return _OPERATORS[type(node.op)](value(node.left), value(node.right))
        raise StrokeError(f"{text!r} is not a number; known names are {', '.join(sorted(names))}")

    try:
        return value(ast.parse(text, mode="eval").body)
    except SyntaxError as error:
        raise StrokeError(f"{text!r} is not a number or a sum of numbers and names") from error


def stroke(text: str, names: Mapping[str, float]) -> tuple[Contour, bool, bool]:
    """Read one stroke. Returns the contour, and whether its first and its last point are to touch another stroke.

    names: heights and other lengths that the text may use; `squareness` among them (1 is a true ellipse).
    """
    first = text.split()[:1]
    if first and first[0] in _SHAPES:
        return _shape(text, names), False, False
    knots, straight, closed = _parse(text, names)
    segments = _segments(_with_lines(knots, straight, closed), straight, closed, names.get("squareness", 1.0))
    points = tuple(tuple((p.real, p.imag) for p in segment) for segment in segments)
    start = (knots[0].z.real, knots[0].z.imag)
    return Contour(start, points, closed), knots[0].touches, knots[-1].touches and not closed


def _shape(text: str, names: Mapping[str, float]) -> Contour:
    """Read a circle, an oval or a dot."""
    kind, *words = text.split()
    if len(words) != _SHAPES[kind]:
        raise StrokeError(f"{text!r}: circle takes x, y and a radius; oval takes x, y and two radii; dot takes x and y")
    sizes = [number(word, names) for word in words]
    if kind == "dot":
        radius = names["dot"]
        ring = ellipse(complex(*sizes), radius, radius)
        right = Contour((2 * sizes[0] - ring.start[0], ring.start[1]), (*ring.segments[2:], *ring.segments[:2]), True)
        return Contour(ring.start, ((right.start,), *right.segments), False)
    return ellipse(complex(*sizes[:2]), sizes[2], sizes[-1])


def ellipse(centre: complex, rx: float, ry: float) -> Contour:
    """Return an ellipse from its leftmost point, four cubics, clockwise with y up."""
    corners = [complex(-rx, 0), complex(0, ry), complex(rx, 0), complex(0, -ry)]
    out: list[Segment] = []
    for here, there in zip(corners, corners[1:] + corners[:1], strict=True):
        points = [centre + here + KAPPA * there, centre + there + KAPPA * here, centre + there]
        out.append(tuple((p.real, p.imag) for p in points))
    start = centre + corners[0]
    return Contour((start.real, start.imag), tuple(out), True)


def _parse(text: str, names: Mapping[str, float]) -> tuple[list[Knot], list[bool], bool]:
    """Split a stroke into knots, whether each way between them is straight, and whether it closes."""
    try:
        first, *moves = [move.split() for move in text.split(",")]
        knots, straight, closed = [_knot(first, names)], [], False
        for verb, *rest in (move or [""] for move in moves):
            if verb not in _VERBS or closed:
                raise StrokeError(
                    f"{verb!r} is no way to go on; write 'to' for a line, 'bend' for a curve, 'home' last"
                )
            straight.append(verb == "to")
            closed = rest == ["home"]
            if not closed:
                knots.append(_knot(rest, names))
        if not straight:
            raise StrokeError("a stroke is a point and where it goes from there: 0 x, to 0 0")
    except StrokeError as error:
        raise StrokeError(f"{text!r}: {error}") from error
    return knots, straight, closed


def _knot(words: Sequence[str], names: Mapping[str, float]) -> Knot:
    if len(words) < 2:
        raise StrokeError(f"{' '.join(words)!r} is not a point such as '0 x' or '170 x+o e'")
    z = complex(number(words[0], names), number(words[1], names))
    heads = [_direction(word) for word in words[2:] if word != "touch"]
    if len(heads) > 2:
        raise StrokeError(f"{' '.join(words)!r} has more than two bearings, in and out")
    return Knot(z, heads[0] if heads else None, heads[-1] if heads else None, "touch" in words[2:])


def _direction(word: str) -> complex:
    found = _BEARING.match(word)
    if not found:
        raise StrokeError(f"{word!r} is not a bearing: n, e, s, w or such as n28e")
    if not found[1]:
        return cmath.rect(1.0, math.radians(_AXES[word]))
    turn = float(found[2]) * (1.0 if (found[1] == "n") == (found[3] == "w") else -1.0)
    return cmath.rect(1.0, math.radians(_AXES[found[1]] + turn))


def _with_lines(knots: Sequence[Knot], straight: Sequence[bool], closed: bool) -> list[Knot]:
    """Give knots at a straight line the line's direction, where they state none."""
    n, out = len(knots), []
    for i, knot in enumerate(knots):
        before = straight[i - 1] if i or closed else None
        after = straight[i] if i < len(straight) else None
        if after and before is False and knot.arrives is None:
            along = knots[(i + 1) % n].z - knot.z
            knot = replace(knot, arrives=along / abs(along), leaves=along / abs(along))
        elif before and after is False and knot.leaves is None:
            along = knot.z - knots[i - 1].z
            knot = replace(knot, arrives=along / abs(along), leaves=along / abs(along))
        out.append(knot)
    return out


def _segments(
    knots: Sequence[Knot], straight: Sequence[bool], closed: bool, squareness: float
) -> list[tuple[complex, ...]]:
    """Return the segment of each way (its points after the first), bends being solved run by run between breaks."""
    around = [*knots, knots[0]] if closed else list(knots)
    if closed and not any(straight) and around[0].leaves is None:
        raise StrokeError("a closed curve needs a direction at its first point")
    out: list[tuple[complex, ...]] = []
    i = 0
    while i < len(straight):
        if straight[i]:
            out.append((around[i + 1].z,))
            i += 1
            continue
        j = i + 1
        while j < len(straight) and not straight[j] and around[j].arrives is None:
            j += 1
        out.extend(_run(around[i : j + 1], squareness))
        i = j
    return out


def _run(knots: Sequence[Knot], squareness: float) -> list[tuple[complex, ...]]:
    """Return the cubics of an unbroken curve through the knots."""
    leaves, arrives = knots[0].leaves, knots[-1].arrives
    if len(knots) == 2 and leaves and arrives and _quarter(leaves, arrives):
        return [_quarter_ellipse(knots[0].z, knots[1].z, leaves, arrives, squareness)]
    z = [knot.z for knot in knots]
    angles = _hobby_angles(z, leaves, arrives)
    out = []
    for k, (theta, phi) in enumerate(angles):
        chord = z[k + 1] - z[k]
        first = z[k] + cmath.exp(1j * theta) * chord * _handle(theta, phi)
        second = z[k + 1] - cmath.exp(-1j * phi) * chord * _handle(phi, theta)
        out.append((first, second, z[k + 1]))
    return out  # type: ignore[return-value]  # lists do not vary


def _quarter(a: complex, b: complex) -> bool:
    """Tell whether two directions are along the axes and at right angles."""
    along = all(min(abs(d.real), abs(d.imag)) < 1e-9 for d in (a, b))
    return along and abs(a.real * b.real + a.imag * b.imag) < 1e-9


def _quarter_ellipse(
    start: complex, end: complex, leaves: complex, arrives: complex, squareness: float
) -> tuple[complex, ...]:
    """Return a quarter of an ellipse; a squareness above 1 lengthens its handles."""
    reach = min(1.0, KAPPA * squareness)
    span = end - start
    along_first = span.real * leaves.real + span.imag * leaves.imag
    along_last = span.real * arrives.real + span.imag * arrives.imag
    return (start + leaves * along_first * reach, end - arrives * along_last * reach, end)


def _hobby_angles(z: Sequence[complex], leaves: complex | None, arrives: complex | None) -> list[tuple[float, float]]:
    """Return (theta, phi) of each segment: how far the curve leaves and arrives off the chord, in radians.

    One tridiagonal system (Hobby 1986); an end without a direction is as curved as its neighbour, an arc of a circle.
    """
    n = len(z) - 1
    chords = [z[k + 1] - z[k] for k in range(n)]
    psi = [0.0, *(cmath.phase(chords[k] / chords[k - 1]) for k in range(1, n)), 0.0]
    rows: list[tuple[float, float, float, float]] = []
    rows.append((0.0, 1.0, 0.0, cmath.phase(leaves / chords[0])) if leaves else (0.0, 1.0, 1.0, -psi[1]))
    for k in range(1, n):
        before, after = 1.0 / abs(chords[k - 1]), 1.0 / abs(chords[k])
        rows.append((before, 2 * (before + after), after, -2 * before * psi[k] - after * psi[k + 1]))
    rows.append((0.0, 1.0, 0.0, cmath.phase(arrives / chords[-1])) if arrives else (1.0, 1.0, 0.0, 0.0))
    if n == 1 and not leaves and not arrives:
        return [(0.0, 0.0)]
    theta = _tridiagonal(rows)
    return [(theta[k], -psi[k + 1] - theta[k + 1]) for k in range(n)]


def _tridiagonal(rows: Sequence[tuple[float, float, float, float]]) -> list[float]:
    """Solve rows (left, middle, right, known) by elimination."""
    carried: list[tuple[float, float]] = []
    right, known = 0.0, 0.0
    for left, middle, after, value in rows:
        pivot = middle - left * right
        right, known = after / pivot, (value - left * known) / pivot
        carried.append((right, known))
    out = [0.0]
    for after, value in reversed(carried):
        out.append(value - after * out[-1])
    return out[:0:-1]


def _handle(theta: float, phi: float) -> float:
    """Return Hobby's handle length, in chords; a quarter circle comes out within 0.03 % of a true one."""
    st, sp, ct, cp = math.sin(theta), math.sin(phi), math.cos(theta), math.cos(phi)
    top = 2.0 + math.sqrt(2.0) * (st - sp / 16.0) * (sp - st / 16.0) * (ct - cp)
    bottom = 3.0 * (1.0 + (math.sqrt(5.0) - 1.0) / 2.0 * ct + (3.0 - math.sqrt(5.0)) / 2.0 * cp)
    return min(top / bottom, 4.0)  # the limit keeps a near-reversal from flying off


def strokes(texts: Iterable[str], names: Mapping[str, float], standing: Sequence[Contour] = ()) -> tuple[Contour, ...]:
    """Read the strokes of a glyph and move the ends marked `touch` onto the strokes they meet, `standing` ones included."""
    read = [stroke(text, names) for text in texts]
    contours = [contour for contour, _, _ in read]
    out = []
    for i, (contour, first, last) in enumerate(read):
        others = [*standing, *(c for j, c in enumerate(contours) if j != i)]
        if first and others:
            contour = _moved_onto(contour, others)
        if last and others:
            contour = _moved_onto(contour.reversed(), others).reversed()
        out.append(contour)
    return tuple(out)


def _moved_onto(contour: Contour, others: Sequence[Contour]) -> Contour:
    """Return the contour with its start moved to the nearest point of the others; its first handle moves along."""
    to = nearest(contour.start, others)
    dx, dy = to[0] - contour.start[0], to[1] - contour.start[1]
    first = contour.segments[0]
    if len(first) == 3:
        first = ((first[0][0] + dx, first[0][1] + dy), first[1], first[2])
    return Contour(to, (first, *contour.segments[1:]), False)


def nearest(point: tuple[float, float], contours: Iterable[Contour]) -> tuple[float, float]:
    """Return the point of the contours that lies nearest, to about a thousandth of a unit."""
    at = complex(*point)
    best, found = math.inf, at
    for contour in contours:
        start = complex(*contour.start)
        for segment in contour.segments:
            points = [start, *(complex(*p) for p in segment)]
            candidate = _nearest_on(at, points)
            if abs(candidate - at) < best:
                best, found = abs(candidate - at), candidate
            start = points[-1]
    return (found.real, found.imag)


def _nearest_on(at: complex, points: Sequence[complex]) -> complex:
    """Return the nearest point of one segment: a coarse walk, then ever finer ones around the best."""
    low, high = 0.0, 1.0
    for _ in range(6):
        steps = [low + (high - low) * k / 24.0 for k in range(25)]
        best = min(steps, key=lambda t: abs(point_at(points, t) - at))
        span = (high - low) / 24.0
        low, high = max(0.0, best - span), min(1.0, best + span)
    return point_at(points, best)


def point_at(points: Sequence[complex], t: float) -> complex:
    """Return the point of a Bezier segment at t (de Casteljau)."""
    while len(points) > 1:
        points = [a + (b - a) * t for a, b in itertools.pairwise(points)]
    return points[0]
