"""From drawing commands to paths: one pen for every source of curves."""

from __future__ import annotations

from engrave.geometry.paths import Contour, Path, Point, Segment


class PathPen:
    """Collects lines, quadratic and cubic curves as they are drawn; scale and shift are applied on the way.

    It has the methods of the font world's segment pens, so HarfBuzz, fontTools and pathops can all draw on it.
    """

    def __init__(self, scale: float = 1.0, drop: float = 0.0) -> None:
        self._scale = scale
        self._drop = drop
        self._done: list[Contour] = []
        self._start: Point | None = None
        self._at: Point = (0.0, 0.0)
        self._segments: list[Segment] = []

    @property
    def path(self) -> Path:
        """What has been drawn so far."""
        self.endPath()
        return tuple(self._done)

    def _to(self, p: Point) -> Point:
        return (p[0] * self._scale, (p[1] - self._drop) * self._scale)

    def moveTo(self, p: Point) -> None:  # noqa: N802
        """Begin a contour."""
        self.endPath()
        self._start = self._at = self._to(p)

    def lineTo(self, p: Point) -> None:  # noqa: N802
        """Draw a straight line; one of no length is left out."""
        end = self._to(p)
        if end != self._at:
            self._add((end,))

    def curveTo(self, *points: Point) -> None:  # noqa: N802
        """Draw a cubic curve, or what it becomes with fewer controls."""
        if len(points) == 3:
            self._add(tuple(map(self._to, points)))
        elif len(points) == 2:
            self.qCurveTo(*points)
        else:
            self.lineTo(points[-1])

    def qCurveTo(self, *points: Point | None) -> None:  # noqa: N802
        """Draw quadratic curves, with points implied between controls as TrueType does."""
        if points[-1] is None:  # a contour of controls alone: start halfway between the last and the first
            given = [p for p in points if p is not None]
            start = ((given[-1][0] + given[0][0]) / 2, (given[-1][1] + given[0][1]) / 2)
            self.moveTo(start)
            points = (*given, start)
        if len(points) == 1:
            self.lineTo(points[0])  # type: ignore[arg-type]
            return
        if len(points) == 2:  # one control, as HarfBuzz draws: nothing is implied
            self._add((self._to(points[0]), self._to(points[1])))  # type: ignore[arg-type]
            return
        from fontTools.pens.basePen import decomposeQuadraticSegment

        for control, end in decomposeQuadraticSegment(points):
            self._add((self._to(control), self._to(end)))

    def closePath(self) -> None:  # noqa: N802
        """Close the contour with a straight line if it is not at its start."""
        if self._start is not None and self._segments:
            if self._at != self._start:
                self._add((self._start,))
            self._done.append(Contour(self._start, tuple(self._segments), True))
        self._start, self._segments = None, []

    def endPath(self) -> None:  # noqa: N802
        """End an open contour."""
        if self._start is not None and self._segments:
            self._done.append(Contour(self._start, tuple(self._segments), False))
        self._start, self._segments = None, []

    def addComponent(self, name: str, transformation: object) -> None:  # noqa: N802
        """Refuse: whoever draws here must draw components themselves."""
        raise TypeError(f"component {name} was not decomposed: draw its outlines instead")

    def _add(self, segment: Segment) -> None:
        self._segments.append(segment)
        self._at = segment[-1]


def draw(path: Path, pen: object) -> None:
    """Draw a path on a segment pen."""
    for contour in path:
        pen.moveTo(contour.start)  # type: ignore[attr-defined]
        for segment in contour.segments:
            if len(segment) == 1:
                pen.lineTo(segment[0])  # type: ignore[attr-defined]
            elif len(segment) == 2:
                pen.qCurveTo(*segment)  # type: ignore[attr-defined]
            else:
                pen.curveTo(*segment)  # type: ignore[attr-defined]
        if contour.closed:
            pen.closePath()  # type: ignore[attr-defined]
        else:
            pen.endPath()  # type: ignore[attr-defined]
