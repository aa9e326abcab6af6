"""What a shop's tables say, as values; a table's class stands beside its reader, and is offered here.

Lengths mm, speeds mm/s, accelerations mm/s2, angles degrees, money Decimal. Tables may
state feeds per minute and lengths in inches; `engrave.shop.tables` turns them into these units once.
Frames: a lid's area has its origin at the top left of its bounding box, x right, y down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Literal

from engrave.geometry.paths import Path
from engrave.problems import Problem
from engrave.shop.cutters import Beam, Bit, Cutter, CutterKind, EndMill, Method
from engrave.shop.house import Defaults, Intake
from engrave.shop.machines import Machine, MachineKind
from engrave.shop.proof_words import ProofUnits, ProofWords
from engrave.shop.rates import Channel, Hands, Rates
from engrave.shop.woods import Wood

__all__ = [
    "Area",
    "Beam",
    "Bit",
    "Channel",
    "Cutter",
    "CutterKind",
    "Defaults",
    "EndMill",
    "Finish",
    "Front",
    "Hands",
    "Intake",
    "KeepOut",
    "LetteringSize",
    "Lid",
    "Machine",
    "MachineKind",
    "Method",
    "ProofUnits",
    "ProofWords",
    "Rates",
    "Recipe",
    "Setting",
    "Shop",
    "Side",
    "Wood",
]

Side = Literal["top", "inside"]
LetteringSize = Literal["quiet", "usual", "large"]
Front = Literal["bottom", "top", "left", "right"]
Finish = Literal["none", "oil", "wax", "varnish", "lacquer"]


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A place where nothing may be cut. `outline` is closed, in the area's frame; `clearance` is added around it.

    `height` is how far it stands proud of the lid (0: flush): then the holder's radius also stays away from it.
    `outline` is what lies on the lid and is drawn; `whole`, where the keep-out overhangs the lid's edge as a finger notch
    does, is all of it, from which the clearance is measured; () where the outline is all of it.
    """

    outline: Path
    clearance: float
    height: float
    why: str
    whole: Path = ()

    @property
    def taken(self) -> Path:
        """The whole shape, with what overhangs the lid's edge."""
        return self.whole or self.outline


@dataclass(frozen=True, slots=True)
class Area:
    """One place on a lid that is lettered, mirrored already where `handed` or `side` ask for it.

    outline: closed contours (holes included). edge: width of round-over or chamfer; the flat begins there.
    edge_sides: how far from the box's top, right, bottom and left the flat begins where a side has an edge of its own, as
    a sliding lid has where it runs in its grooves.
    margin: from the flat's edge inwards; tables are read with the shop's rule filled in, None means that same rule
    with our figures (the larger of 5 mm and 8 % of the lesser side).
    front: the side on which the words have their feet. fields: which of name, message, foot it carries.
    border: something round or framed would show an optical shift, so words are centred on the box of the ink.
    """

    name: str
    outline: Path
    width: float
    height: float
    edge: float
    margin: float | None
    keep_outs: tuple[KeepOut, ...]
    front: Front
    side: Side
    fields: tuple[str, ...]
    setting: str | None
    border: bool = False
    edge_sides: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Lid:
    """A kind of lid the shop makes. thickness, flatness in mm; grain 'x' or 'y' is the run of the fibres.

    areas: the first is the lid's face ('lid'), others as the shop names them ('inside', 'front').
    finish: what the wood is treated with before it is lettered, for the cautions.
    problems: what was mended in a drawn outline, as notes.
    """

    id: str
    title: str
    areas: tuple[Area, ...]
    thickness: float
    flatness: float
    grain: Literal["x", "y"]
    handed: Literal["right", "left"]
    hinge: Front | None
    wood: str | None
    typeface: str | None
    cutter: str | None
    setting: str | None
    cost: Decimal
    price: Decimal | None
    finish: Finish = "none"
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Recipe:
    """How one cutter runs in one wood by one method. feed, plunge mm/s; depth, step_over, row_pitch, run_out mm.

    pass_depth: depth of one pass; passes: how often a beam goes over (a bit's passes follow from the depths).
    inset: the drawing is offset inwards by half the kerf. by: 'stroke' or 'pass'.
    both_ways, trimmed, skip_blank: how raster rows are run; blank_rapid: gap in mm wider than which a blank is
    crossed at rapid (None: never). power: the shop's own note. web_along, web_across: measured on a test piece.
    mark_x, mark_y: width of mark measured on a test piece; least_stroke: thinnest bar that came out well.
    line_weight: how wide single lines are drawn ('auto', or a share of the capitals' height as '8 %'; '0 %': as the groove
    leaves them), where neither row nor setting says. weight_method: how lines get that width.
    """

    cutter: str
    wood: str
    method: Method
    feed: float
    plunge: float
    depth: float
    pass_depth: float
    step_over: float
    row_pitch: float
    run_out: float
    both_ways: bool
    trimmed: bool
    skip_blank: bool
    blank_rapid: float | None
    inset: bool
    by: Literal["stroke", "pass"]
    dwell_s: float
    passes: int
    power: str
    web_along: float | None = None
    web_across: float | None = None
    mark_x: float | None = None
    mark_y: float | None = None
    least_stroke: float | None = None
    line_weight: str = "0 %"
    weight_method: Method = "side-by-side"


@dataclass(frozen=True, slots=True)
class Setting:
    """Taste as numbers for one way of laying words: shares of cap heights unless said otherwise.

    kind: 'stack' or 'rim'. message_ratio, foot_ratio: cap of the field over the name's. field_gap: clear wood
    between fields, from ink to ink, in capitals of the smaller line. pitch_capitals, pitch_mixed, pitch_accents: line pitch by the words. greatest_*: cap over the lid's
    lesser side by kind. even: size given up for even lines. fill: share of the room's size to use (1: all of it).
    tracking_capitals: extra between capitals, in cap heights. open_up: what letters may stand further apart than that,
    in cap heights, where the wood between them would break out. least caps in mm by tool and wood.
    message_least: share of those least caps that message and foot may come down to (the name may not).
    ampersand: share of the size that is given up rather than leave '&' at a line's end. joint_strong, joint_weak,
    joint_plain: likewise for words that belong together, strongly, weakly, or only as neighbours. short_line: likewise
    rather than leave one short word alone on a line; straddle: rather than have a comma in the middle of a line that
    neither begins nor ends with a phrase. air: clear wood for the eye round fittings and edges, in the smallest capitals.
    lettering_size: 'quiet', 'usual' or 'large'; size_quiet, size_large: what the first and the last make of `fill` and of
    the greatest capitals. greatest_inside: greatest capitals inside a lid over its lesser side.
    rim_where: 'top', 'bottom', 'both', 'around'. rim_gain: a rim is offered when it gains more than this.
    optical: ink centroid raised above the middle by this share. line_weight: how wide single lines are drawn: 'auto', a
    share of the capitals' height as '8 %', or 'recipe' for what the cutter's recipe says.
    """

    id: str
    title: str
    kind: Literal["stack", "rim"]
    align: Literal["left", "centre", "right"]
    message_ratio: float
    foot_ratio: float
    field_gap: float
    pitch_capitals: float
    pitch_mixed: float
    pitch_accents: float
    greatest_round: float
    greatest_rectangle: float
    greatest_long: float
    even: float
    fewer_lines: float
    last_line: float
    ampersand: float
    joint_strong: float
    joint_weak: float
    joint_plain: float
    short_line: float
    straddle: float
    air: float
    lettering_size: LetteringSize
    size_quiet: float
    size_large: float
    greatest_inside: float
    fill: float
    tracking_capitals: float
    open_up: float
    optical: float
    least_beam_fine: float
    least_beam_coarse: float
    least_bit_fine: float
    least_bit_coarse: float
    least_x_height: float
    message_least: float
    rim_where: Literal["top", "bottom", "both", "around"]
    rim_gain: float
    line_weight: str = "recipe"

    def at_size(self, size: LetteringSize) -> Setting:
        """Return the setting with its greatest capitals and its fill as an order's lettering size asks."""
        by = {"quiet": self.size_quiet, "usual": 1.0, "large": self.size_large}[size]
        return replace(
            self, lettering_size=size, fill=min(1.0, self.fill * by), greatest_round=min(1.0, self.greatest_round * by),
            greatest_rectangle=min(1.0, self.greatest_rectangle * by), greatest_long=min(1.0, self.greatest_long * by),
            greatest_inside=min(1.0, self.greatest_inside * by),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything all orders share. `sources` tells for each entry ('lids/round-caddy') the file it came from.

    notes: what was mended on the way in, such as an outline that crossed itself.
    """

    name: str
    lids: Mapping[str, Lid]
    cutters: Mapping[str, Cutter]
    machines: Mapping[str, Machine]
    woods: Mapping[str, Wood]
    recipes: tuple[Recipe, ...]
    rates: Rates
    settings: Mapping[str, Setting]
    intake: Intake
    defaults: Defaults
    proof: ProofWords
    sources: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[Problem, ...] = ()
