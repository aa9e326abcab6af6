"""The toolpath of a piece by the tool's method: follow, raster, pocket, vee, or lines side by side."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.cache import Cache
from engrave.geometry.affine import Matrix
from engrave.geometry.arrays import Floats
from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Path, transformed
from engrave.motion.machine_limits import limits_of
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.tasks import Tool
from engrave.toolpath.follow import course_as_drawn, follow_toolpath
from engrave.toolpath.join import joined_strokes
from engrave.toolpath.moves import Course, Toolpath
from engrave.toolpath.raster import raster_toolpath
from engrave.toolpath.side_by_side import side_by_side_toolpath
from engrave.toolpath.strokes import HeadRoute, as_drawn, corner_of
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.run import TypefaceKind


def toolpath_of(
    lettering: Lettering, tool: Tool, cache: Cache | None = None, vee_paths: Sequence[Floats] | None = None
) -> Toolpath:
    """Return what the tool cuts of a lettering and in which order.

    vee_paths: the paths of a V-bit's tip as (n, 3), z below the face; worked out here if None.
    """
    cache = cache or Cache()
    drawn = as_drawn(lettering)
    lines = flatten_all(drawn)
    start = corner_of(lines, tool.machine.datum)
    route = HeadRoute(start, tool.machine.return_home, limits_of(tool.machine))
    if tool.method == "follow":
        return follow_toolpath(drawn, lettering.kind, tool, route)
    if tool.method == "side-by-side":
        return side_by_side_toolpath(drawn, lettering, tool, route, cache)
    strokes = joined_strokes(drawn) if lettering.kind == "single-line" else drawn
    if tool.method == "raster":
        return raster_toolpath(drawn, strokes, lettering, tool, start, lines)
    if tool.method == "pocket":
        from engrave.toolpath.pocket import pocket_toolpath  # each method is loaded where it is used

        return pocket_toolpath(drawn, strokes, lettering, tool, route)
    from engrave.toolpath.vee import vee_toolpath

    return vee_toolpath(drawn, strokes, lettering, tool, route, cache, vee_paths)


def course_of_file(
    shapes: Sequence[Path], kind: TypefaceKind, groove: float, tool: Tool, caps: Sequence[float] = ()
) -> Course:
    """Return the course of a piece read back from its file: shapes (a stroke, or a ring with its holes) as they stand.

    For learning from logged times: what was cut is what the file says, not what would be set today. caps: how many mm a cap
    height is in each shape, by which a vee-cut's middle lines are sampled; () where it is not known.
    """
    if tool.method in ("follow", "side-by-side"):
        strokes = tuple(contour for shape in shapes for contour in shape)
        return course_as_drawn(strokes, tool)
    known = tuple(caps) if len(caps) == len(shapes) and all(cap > 0.0 for cap in caps) else (1.0,) * len(shapes)
    marks = tuple(_as_mark(i, shape, kind, cap) for i, (shape, cap) in enumerate(zip(shapes, known, strict=True)))
    lines = (Line("", "name", min(known, default=0.0), 0.0, 0.0),)
    return toolpath_of(Lettering(kind, "", marks, lines, groove), tool).course


def _as_mark(number: int, shape: Path, kind: TypefaceKind, cap: float) -> Mark:
    """Return a shape of a file as a letter of its own: in cap heights, y up, as letters are drawn."""
    to_caps: Matrix = (1.0 / cap, 0.0, 0.0, -1.0 / cap, 0.0, 0.0)
    form = LetterForm(transformed(shape, to_caps), 0.0)
    return Mark(glyph("file", str(number), kind, form), (cap, 0.0, 0.0, -cap, 0.0, 0.0), "", 0)
