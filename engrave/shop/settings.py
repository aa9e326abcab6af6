"""Settings: taste as numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from engrave.shop.keys import entry_name, key, read_table
from engrave.shop.line_weights import BY_RECIPE, line_weight
from engrave.shop.readers import FILLED, length, number, one_of, whole
from engrave.shop.tables import TomlEntry

SettingKind = Literal["stack", "rim", "arch", "pair", "monogram"]
OrnamentName = Literal["none", "rule", "lozenge-rule", "sprig", "leaf", "heart", "star"]
ArtworkPlace = Literal["above", "beside", "behind"]
FrameStyle = Literal["none", "single", "double"]
Align = Literal["left", "centre", "right"]
RimWhere = Literal["top", "bottom", "both", "around"]
FootLetters = Literal["written", "capitals"]
LetteringSize = Literal["quiet", "usual", "large"]
RATIO = number(0.05, 2.0)
PITCH = number(1.0, 4.0)
PART_OF_ONE = number(0.0, 1.0)
FILL = number(0.05, 1.0)
CAP = length(0.5, 200.0)
SETTING_WEIGHT = line_weight(BY_RECIPE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Taste as numbers for one way of laying words: shares of cap heights unless said otherwise.

    kind: 'stack', 'rim', 'arch', 'pair' (two names and what stands between) or 'monogram' (initials in a ring).
    ornament: what is drawn with the words, 'none' or an ornament's name, ornament_size capitals of the name high; frame:
    'none', or a 'single' or 'double' line that follows the lid's outline.
    artwork: where an order's own drawing stands to the words; artwork_size: its share of the room's height above them,
    of its width beside them.
    message_ratio, foot_ratio: cap of the field over the name's. foot_letters: a short foot as it is 'written', or drawn in
    small 'capitals' spaced by foot_spacing, in cap heights; foot_longest: letters up to which it is short. field_gap: clear wood between fields, from ink to ink,
    in capitals of the smaller line; level_gap: below a line without tails; foot_gap: over a foot instead. pitch_capitals, pitch_mixed, pitch_accents: line pitch
    by the words. greatest_*: cap over the lid's lesser side by kind. even: size given up for even lines. fill: share of the room's size to use (1: all of it).
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
    optical: share of the free wood moved from over the block to under it. line_weight: how wide single lines are drawn: 'auto', a
    share of the capitals' height as '8 %', or 'recipe' for what the cutter's recipe says.
    """

    id: str = entry_name()
    title: str = key(FILLED)
    kind: SettingKind = key(one_of(SettingKind))
    align: Align = key(one_of(Align))
    message_ratio: float = key(RATIO)
    foot_ratio: float = key(RATIO)
    foot_letters: FootLetters = key(one_of(FootLetters))
    foot_spacing: float = key(number(-0.2, 1.0))
    foot_longest: int = key(whole(0, 200))
    field_gap: float = key(number(0.0, 5.0))
    level_gap: float = key(number(0.0, 5.0))
    foot_gap: float = key(number(0.0, 5.0))
    pitch_capitals: float = key(PITCH)
    pitch_mixed: float = key(PITCH)
    pitch_accents: float = key(PITCH)
    greatest_round: float = key(FILL)
    greatest_rectangle: float = key(FILL)
    greatest_long: float = key(FILL)
    even: float = key(PART_OF_ONE)
    fewer_lines: float = key(PART_OF_ONE)
    last_line: float = key(PART_OF_ONE)
    ampersand: float = key(PART_OF_ONE)
    joint_strong: float = key(PART_OF_ONE)
    joint_weak: float = key(PART_OF_ONE)
    joint_plain: float = key(PART_OF_ONE)
    short_line: float = key(PART_OF_ONE)
    straddle: float = key(PART_OF_ONE)
    air: float = key(number(0.0, 3.0))
    lettering_size: LetteringSize = key(one_of(LetteringSize))
    size_quiet: float = key(FILL)
    size_large: float = key(number(1.0, 10.0))
    greatest_inside: float = key(FILL)
    fill: float = key(FILL)
    tracking_capitals: float = key(number(-0.2, 1.0))
    open_up: float = key(number(0.0, 0.2))
    optical: float = key(number(-0.2, 0.2))
    least_beam_fine: float = key(CAP)
    least_beam_coarse: float = key(CAP)
    least_bit_fine: float = key(CAP)
    least_bit_coarse: float = key(CAP)
    least_x_height: float = key(length(0.2, 100.0))
    message_least: float = key(FILL)
    rim_where: RimWhere = key(one_of(RimWhere))
    rim_gain: float = key(number(0.0, 10.0))
    line_weight: str = key(SETTING_WEIGHT, BY_RECIPE)
    ornament: OrnamentName = key(one_of(OrnamentName), "none")
    ornament_size: float = key(number(0.1, 10.0), 0.7)
    frame: FrameStyle = key(one_of(FrameStyle), "none")
    artwork: ArtworkPlace = key(one_of(ArtworkPlace), "above")
    artwork_size: float = key(number(0.1, 0.9), 0.5)

    def at_size(self, size: LetteringSize) -> Setting:
        """Return the setting with its greatest capitals and its fill as an order's lettering size asks."""
        by = {"quiet": self.size_quiet, "usual": 1.0, "large": self.size_large}[size]
        return replace(
            self, lettering_size=size, fill=min(1.0, self.fill * by), greatest_round=min(1.0, self.greatest_round * by),
            greatest_rectangle=min(1.0, self.greatest_rectangle * by), greatest_long=min(1.0, self.greatest_long * by),
            greatest_inside=min(1.0, self.greatest_inside * by),
        )  # fmt: skip


def read_setting(entry: TomlEntry) -> Setting:
    """Return one setting from its table; every figure must be there, so that none is hidden (start with `like`)."""
    return read_table(Setting, entry)
