"""How a piece is looked at: turned so that its words stand upright, with everything that a picture of it shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import Polygon, box
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from engrave.geometry.affine import IDENTITY, Matrix
from engrave.geometry.paths import Contour, Path, transformed
from engrave.geometry.regions import polygons, region
from engrave.shop.lid_room import within_sides
from engrave.shop.models import Area, Front, KeepOut, Lid, Wood

if TYPE_CHECKING:
    from engrave.making import Piece

CHORD = 0.02
"""mm: chords of outlines in pictures; a fifth of a pixel on a proof."""

SIDES: tuple[Front, ...] = ("bottom", "left", "top", "right")
"""Sides of a lid in the order in which a quarter turn clockwise carries each to the next."""


@dataclass(frozen=True, slots=True)
class View:
    """A turn by quarters that brings the words' feet to the bottom. `matrix` takes the area's frame (mm) to the
    picture's (mm, y down), whose size is width x height; quarters counts quarter turns clockwise."""

    matrix: Matrix
    width: float
    height: float
    quarters: int

    def path(self, path: Path) -> Path:
        """Return a path as the picture has it."""
        return path if self.quarters == 0 else transformed(path, self.matrix)

    def shape(self, shape: BaseGeometry) -> BaseGeometry:
        """Return a region as the picture has it."""
        if self.quarters == 0:
            return shape
        a, b, c, d, e, f = self.matrix
        return affine_transform(shape, [a, c, b, d, e, f])

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Return a point as the picture has it."""
        a, b, c, d, e, f = self.matrix
        return (a * x + c * y + e, b * x + d * y + f)

    def side(self, side: Front) -> Front:
        """Return where in the picture a side of the lid lies."""
        return SIDES[(SIDES.index(side) + self.quarters) % 4]

    def along(self, grain: str) -> str:
        """Return the run of the grain in the picture, 'x' or 'y'."""
        return grain if self.quarters % 2 == 0 else {"x": "y", "y": "x"}[grain]


def view_of(area: Area) -> View:
    """Return the view of an area in which its words read upright."""
    w, h = area.width, area.height
    quarters = (4 - SIDES.index(area.front)) % 4
    matrix: Matrix = {
        0: IDENTITY,
        1: (0.0, 1.0, -1.0, 0.0, h, 0.0),
        2: (-1.0, 0.0, 0.0, -1.0, w, h),
        3: (0.0, -1.0, 1.0, 0.0, 0.0, w),
    }[quarters]
    return View(matrix, h if quarters % 2 else w, w if quarters % 2 else h, quarters)


@dataclass(frozen=True, slots=True)
class Scene:
    """A lid and its lettering in the picture's frame (mm, y down), ready to be drawn in any way.

    flat: the lid's face within its edge treatment, which is `edge` mm wide. strokes: contours of the lettering. single: they are centre
    lines of grooves `groove` mm wide. cut: what the tool really leaves. grain: 'x' or 'y' in the picture.
    """

    view: View
    outline: Path
    body: BaseGeometry
    flat: BaseGeometry
    edge: float
    keep_outs: tuple[KeepOut, ...]
    strokes: Path
    single: bool
    groove: float
    cut: BaseGeometry
    lost: BaseGeometry
    thin: BaseGeometry
    spots: tuple[tuple[float, float], ...]
    beam: bool
    wood: Wood
    grain: str
    hinge: Front | None


NOTHING = Polygon()


def scene(piece: Piece) -> Scene | None:
    """Return what a picture of the piece shows, as far as the piece came; None if it has no lid."""
    if piece.task is None:
        return None
    task, set_, fitness = piece.task, piece.lettering, piece.fitness
    bare = bare_scene(task.lid, task.area, task.wood)
    view = bare.view
    strokes: Path = ()
    if piece.toolpath is not None and piece.toolpath.strokes:
        beside = task.tool.method == "side-by-side"  # then the strokes are lines within what is drawn
        strokes = piece.toolpath.drawn if beside else piece.toolpath.strokes
    elif set_ is not None:
        strokes = tuple(c for mark in set_.marks for c in mark.path())
    weak = fitness.weak if fitness else ()
    return Scene(
        view=view, outline=bare.outline, body=bare.body, flat=bare.flat, edge=bare.edge, keep_outs=bare.keep_outs,
        strokes=view.path(strokes),
        single=bool(set_ and set_.kind == "single-line"),
        groove=set_.groove if set_ else 0.0,
        cut=view.shape(fitness.cut) if fitness else NOTHING,
        lost=view.shape(fitness.lost) if fitness else NOTHING,
        thin=view.shape(fitness.thin) if fitness else NOTHING,
        spots=tuple(view.point(s.x, s.y) for s in weak),
        beam=task.tool.cutter.is_beam, wood=bare.wood, grain=bare.grain, hinge=bare.hinge,
    )  # fmt: skip


def bare_scene(lid: Lid, area: Area, wood: Wood) -> Scene:
    """Return the picture of a lid without words. What has an outline of its own is another board, which has no hinge."""
    view = view_of(area)
    turns = area.side == "inside" or area.outline == lid.areas[0].outline
    outline = view.path(area.outline)
    body = region(outline, CHORD)
    keep_outs = tuple(KeepOut(view.path(k.outline), k.clearance, k.height, k.why) for k in area.keep_outs)
    return Scene(
        view=view, outline=outline, body=body, flat=flat_of(body, area, view), edge=max(area.edge, *area.edge_sides), keep_outs=keep_outs, strokes=(), single=False, groove=0.0,
        cut=NOTHING, lost=NOTHING, thin=NOTHING, spots=(), beam=False, wood=wood, grain=view.along(lid.grain),
        hinge=view.side(lid.hinge) if lid.hinge and turns else None,
    )  # fmt: skip


def flat_of(body: BaseGeometry, area: Area, view: View) -> BaseGeometry:
    """Return a lid's face within its edge treatment, in the picture's frame, mm."""
    face = body.buffer(-area.edge, join_style="mitre") if area.edge > 0 else body
    if not any(area.edge_sides):
        return face
    return face.intersection(view.shape(within_sides(box(0.0, 0.0, area.width, area.height), area)))


def region_path(shape: BaseGeometry) -> Path:
    """Return a region's rings as straight-sided contours."""
    rings = []
    for polygon in polygons(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            points = [(float(x), float(y)) for x, y in ring.coords]
            rings.append(Contour(points[0], tuple((p,) for p in points[1:]), True))
    return tuple(rings)


def mixed(colour: str, other: str, share: float) -> str:
    """Return '#rrggbb' that lies `share` of the way from a colour to another."""
    a, b = rgb(colour), rgb(other)
    return "#" + "".join(f"{round(x + (y - x) * share):02x}" for x, y in zip(a, b, strict=True))


def rgb(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue of '#rrggbb', 0 to 255."""
    return (int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16))
