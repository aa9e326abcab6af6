"""Pieces built by hand, so that output is tested without the stages before it: two typefaces of real files, three lids."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from xml.etree import ElementTree

from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from shapely.geometry import Point as Dot
from shapely.ops import unary_union

from engrave.cutting.fitness import Fitness, Spot
from engrave.geometry.paths import Contour, Path, polygon_path
from engrave.geometry.regions import centre_lines, region
from engrave.intake.order import Order, Words
from engrave.problems import Problem, Verdict, verdict
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.shop.models import Area, Cutter, Defaults, KeepOut, Lid, Machine, Recipe, Setting, Shop, Wood
from engrave.shop.places import own_folder
from engrave.tasks import Task, Tool
from engrave.timing.job import Job
from engrave.typefaces.run import Glyph, Placed, Run

KAPPA = 4.0 / 3.0 * math.tan(math.pi / 8.0)  # a quarter circle as a cubic, off by 2.7e-4 of the radius (well known)


@dataclass(frozen=True, slots=True)
class Quoted:
    """What the page reads of a quote."""

    machine_seconds: float
    hand_seconds: float
    price: Decimal
    each: Decimal
    each_hand_seconds: float = 320.0
    parts: tuple[tuple[str, Decimal], ...] = ()


@dataclass(frozen=True, slots=True)
class FakePiece:
    """The fields of a piece, until one is made by all stages."""

    order: Order
    piece: int
    task: Task | None = None
    lettering: Lettering | None = None
    fitness: Fitness | None = None
    job: Job | None = None
    quote: Quoted | None = None
    problems: tuple[Problem, ...] = ()
    plain: bool = False

    @property
    def verdict(self) -> Verdict:
        return verdict(self.problems)

    @property
    def is_made(self) -> bool:
        return self.lettering is not None and self.verdict != "hold"


def circle(diameter: float, at: tuple[float, float]) -> Contour:
    r, (x, y) = diameter / 2.0, at
    k = KAPPA * r
    quarters = (
        ((x + r, y + k), (x + k, y + r), (x, y + r)),
        ((x - k, y + r), (x - r, y + k), (x - r, y)),
        ((x - r, y - k), (x - k, y - r), (x, y - r)),
        ((x + k, y - r), (x + r, y - k), (x + r, y)),
    )
    return Contour((x + r, y), quarters, True)


def rectangle(width: float, height: float, at: tuple[float, float] = (0.0, 0.0)) -> Contour:
    x, y = at
    return polygon_path([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def _area(outline: Path, width: float, height: float, keep_outs: tuple[KeepOut, ...]) -> Area:
    return Area("lid", outline, width, height, 3.0, 5.0, keep_outs, "bottom", "top", ("name", "message", "foot"), None)


def _lid(id_: str, title: str, area: Area, **more: object) -> Lid:
    base = Lid(
        id=id_, title=title, areas=(area,), thickness=12.0, flatness=0.2, grain="x", handed="right", hinge=None,
        wood=None, typeface=None, cutter=None, setting=None, cost=Decimal("9.50"), price=None,
    )  # fmt: skip
    return replace(base, **more)  # type: ignore[arg-type]


@cache
def lids() -> dict[str, Lid]:
    knob = KeepOut((circle(14, (46, 46)),), 2.0, 18.0, "knob")
    dowel = KeepOut((circle(8, (14, 14)),), 2.0, 0.0, "dowel")
    round_ = _area((circle(92, (46, 46)),), 92, 92, (knob,))
    card = _area((rectangle(150, 84),), 150, 84, (dowel,))
    seed = _area((rectangle(120, 60),), 120, 60, ())
    return {
        "round": _lid("round", "Tea caddy, round", round_),
        "card": _lid("card", "Playing cards, pivoting", card, hinge="left"),
        "seed": _lid("seed", "Seed box", seed, hinge="top"),
    }


CUTTERS = {
    "bit": Cutter("bit", "60 degree V-bit", "v-bit", "router", diameter=6.0, angle=60.0, tip=0.1, deepest=3.0),
    "beam": Cutter("beam", "Blue beam 10 W", "beam", "laser", kerf_x=0.12, kerf_y=0.1, wavelength=455.0),
}


def _machine(id_: str, title: str, kind: str) -> Machine:
    return Machine(
        id=id_, title=title, kind=kind, vmax=(60, 60, 20), amax=(300, 300, 100), corner="jd", delta=0.01,  # type: ignore[arg-type]
        min_block_s=0.0, look_ahead=None, bed=(400, 400), holder_radius=20, datum="front-left", axes=("right", "back"),
        retract=4, approach=1, spin_up_s=3, fixed_s=2, beam_sync="flow", beam_delay_s=0, scatter=0.1,
    )  # fmt: skip


MACHINES = {
    "router": _machine("router", "Small router", "router"),
    "laser": _machine("laser", "Gantry laser", "laser"),
}


def _wood(id_: str, title: str, colour: str, figure: str, pores: str, burn: str = "#3b2413") -> Wood:
    return Wood(
        id_,
        title,
        "Lignum",
        pores,
        False,
        0.4,
        0.6,
        0.6,
        5000,
        colour,
        figure,
        burn,
        "The dust can irritate.",  # type: ignore[arg-type]
    )


WOODS = {
    "walnut": _wood("walnut", "Walnut", "#6b4a32", "straight", "semi-ring", "#20120a"),
    "cherry": _wood("cherry", "Cherry", "#b07a52", "plain", "diffuse"),
    "oak": _wood("oak", "White oak", "#c9a66f", "cathedral", "ring"),
    "maple": _wood("maple", "Hard maple", "#e3cda4", "fleck", "diffuse"),
}

RECIPE = Recipe(
    "bit", "walnut", "follow", 10, 3, 0.8, 0.4, 0.1, 0.1, 3, True, True, True, None, False, "stroke", 0.0, 1, ""
)

SETTING = Setting(
    "stack", "One under the other", "stack", "centre", 0.6, 0.5, 0.3, 1.5, 1.6, 1.8, 0.2, 0.2, 0.2, 0.1, 0.1, 0.5, 0.1,
    1.0, 0.05, 0.02, 2.0, 3.0, 2.5, 4.0, 1.5, 0.8, "top", 0.1,
)  # fmt: skip


def shop(**defaults: object) -> Shop:
    base = Defaults("round", "walnut", "noto-sans", "bit", "stack", None, None, "in", 0.0)
    return Shop(
        name="The Ferry House", lids=lids(), cutters=CUTTERS, machines=MACHINES, woods=WOODS, recipes=(RECIPE,),
        rates=Rated(), settings={"stack": SETTING}, intake=None, defaults=replace(base, **defaults),  # type: ignore[arg-type]
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rated:
    currency: str = "EUR"
    locale: str = "en_IE"


@cache
def _outline_font() -> TTFont:
    return TTFont(own_folder("fonts_open") / "noto-sans" / "NotoSans-Regular.ttf")


@cache
def _outline(char: str) -> Glyph:
    font = _outline_font()
    cap = font["OS/2"].sCapHeight
    name = font.getBestCmap().get(ord(char), ".notdef")
    pen = DecomposingRecordingPen(font.getGlyphSet())
    font.getGlyphSet()[name].draw(pen)
    contours, start, segments = [], (0.0, 0.0), []

    def at(p: tuple[float, float]) -> tuple[float, float]:
        return (p[0] / cap, p[1] / cap)

    for verb, points in pen.value:
        if verb == "moveTo":
            start, segments = at(points[0]), []
        elif verb == "lineTo":
            segments.append((at(points[0]),))
        elif verb == "qCurveTo":
            offs = [at(p) for p in points[:-1]]
            for i, off in enumerate(offs):
                last = i == len(offs) - 1
                end = at(points[-1]) if last else ((off[0] + offs[i + 1][0]) / 2, (off[1] + offs[i + 1][1]) / 2)
                segments.append((off, end))
        elif verb == "closePath":
            if segments and segments[-1][-1] != start:
                segments.append((start,))
            contours.append(Contour(start, tuple(segments), True))
    return Glyph(f"noto-sans/{name}/0", "outline", tuple(contours), font["hmtx"][name][0] / cap)


@cache
def _withy() -> dict[str, tuple[str, float]]:
    root = ElementTree.parse(own_folder("fonts_open") / "withy" / "withy.svg").getroot()
    glyphs = root.iter("{http://www.w3.org/2000/svg}glyph")
    return {g.get("unicode", ""): (g.get("d", ""), float(g.get("horiz-adv-x", "300"))) for g in glyphs}


@cache
def _single(char: str) -> Glyph:
    d, advance = _withy().get(char, ("", 400.0))
    contours: list[Contour] = []
    for verb, numbers in re.findall(r"([MLC])([^MLC]*)", d):
        n = [float(v) / 700.0 for v in re.split(r"[ ,]+", numbers.strip())]
        points = list(zip(n[::2], n[1::2], strict=True))
        if verb == "M":
            contours.append(Contour(points[0], (), False))
            continue
        step = 1 if verb == "L" else 3
        more = tuple(tuple(points[i : i + step]) for i in range(0, len(points), step))
        contours[-1] = replace(contours[-1], segments=(*contours[-1].segments, *more))
    return Glyph(f"withy/{char}/0", "single-line", tuple(contours), advance / 700.0)


class FakeFace:
    """A typeface without shaping: one glyph a character, side by side."""

    x_height, joined, bears_capitals = 0.7, False, True

    def __init__(self, id_: str, title: str) -> None:
        self.id, self.title = id_, title
        self.kind = "single-line" if id_ == "withy" else "outline"

    def shape(self, text: str, tracking: float = 0.0) -> Run:
        x, placed = 0.0, []
        for i, char in enumerate(text):
            glyph = (_single if self.kind == "single-line" else _outline)(char)
            placed.append(Placed(glyph, x, 0.0, char, i))
            x += glyph.advance + tracking
        return Run(text, self.id, tuple(placed), x)


class FakeShelf:
    ids = ("noto-sans", "withy")

    def get(self, id_: str) -> FakeFace:
        return FakeFace(id_, {"withy": "Withy", "noto-sans": "Noto Sans"}[id_])


def lettering(lid: Lid, words: Words, kind: str, groove: float, caps: tuple[float, ...] = (10, 6, 5)) -> Lettering:
    face = FakeShelf().get("withy" if kind == "single-line" else "noto-sans")
    area = lid.areas[0]
    lines, marks = [], []
    filled = words.filled()
    total = sum(1.7 * c for c, _ in zip(caps, filled, strict=False))
    y = (area.height - total) / 2 + (14 if lid.id == "round" else 0)
    for index, ((field, text), cap) in enumerate(zip(filled, caps, strict=False)):
        run = face.shape(text)
        y += 1.35 * cap
        x = (area.width - run.advance * cap) / 2
        lines.append(Line(text, field, cap, x, y))
        for p in run.placed:
            if p.glyph.path:
                marks.append(Mark(p.glyph, (cap, 0, 0, -cap, x + p.x * cap, y), p.text, index))
        y += 0.35 * cap
    return Lettering(kind, "stack", tuple(marks), tuple(lines), groove)  # type: ignore[arg-type]


def order(id_: str = "F-101", name: str = "Wanda", message: str = "", foot: str = "", **more: object) -> Order:
    words = Words(name, message, foot)
    base = Order(id_, 1, 2, words, words)
    return replace(base, **more)  # type: ignore[arg-type]


def piece(
    order_: Order | None = None, lid: str = "round", cutter: str = "bit", wood: str = "walnut",
    kind: str = "single-line", problems: tuple[Problem, ...] = (), number: int = 1,
) -> FakePiece:  # fmt: skip
    order_ = order_ or order()
    the_lid, the_cutter = lids()[lid], CUTTERS[cutter]
    groove = 0.9 if cutter == "bit" else 0.12
    method = "follow" if kind == "single-line" else ("raster" if cutter == "beam" else "pocket")
    tool = Tool(
        the_cutter, MACHINES[the_cutter.machine], replace(RECIPE, cutter=cutter, wood=wood), method, 0.8, groove, 0.1
    )  # type: ignore[arg-type]
    face = "withy" if kind == "single-line" else "noto-sans"
    faces = tuple((f, face) for f, _ in order_.words.filled())
    task = Task(order_, number, the_lid, the_lid.areas[0], order_.words, faces, SETTING, tool, WOODS[wood])
    set_ = lettering(the_lid, order_.words, kind, groove)
    strokes = tuple(c for m in set_.marks for c in m.path())
    if kind == "single-line":
        cut = centre_lines(strokes).buffer(groove / 2)
    else:
        cut = unary_union([region(m.path()) for m in set_.marks])
    spot = Spot(46.0, 70.0, "a", groove)
    lost, thin = Dot(50, 71).buffer(0.7).intersection(cut), Dot(44, 70).buffer(1.2).difference(cut)
    fitness = Fitness(spot, replace(spot, width=0.62), (groove - 0.05, groove + 0.05), cut, lost, thin, (spot,))
    job = Job(strokes, 74.3, (66.0, 84.5), (("cut", 60.0), ("travel", 14.3)), 2, 300.0, 120.0, 8, 51.0, 6.5)
    quote = Quoted(
        74.3 * order_.quantity, 320.0 * order_.quantity, Decimal("12.50") * order_.quantity, Decimal("12.50")
    )
    return FakePiece(order_, number, task, set_, fitness, job, quote, (*order_.problems, *problems))
