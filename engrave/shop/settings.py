"""Settings: taste as numbers."""

from __future__ import annotations

from typing import Literal

from engrave.shop.line_weights import BY_RECIPE, line_weight
from engrave.shop.models import LetteringSize, Setting
from engrave.shop.readers import FILLED, Reader, choice, length, number
from engrave.shop.tables import TomlEntry

KIND: Reader[Literal["stack", "rim"]] = choice("stack", "rim")
ALIGN: Reader[Literal["left", "centre", "right"]] = choice("left", "centre", "right")
RIM: Reader[Literal["top", "bottom", "both", "around"]] = choice("top", "bottom", "both", "around")
SIZE: Reader[LetteringSize] = choice("quiet", "usual", "large")
RATIO = number(0.05, 2.0)
PITCH = number(1.0, 4.0)
PART = number(0.0, 1.0)
FILL = number(0.05, 1.0)
CAP = length(0.5, 200.0)
WEIGHT = line_weight(BY_RECIPE)


def read_setting(entry: TomlEntry) -> Setting:
    """Return one setting from its table; every figure must be there, so that none is hidden (start with `like`)."""
    setting = Setting(
        id=entry.id,
        title=entry.take("title", FILLED),
        kind=entry.take("kind", KIND),
        align=entry.take("align", ALIGN),
        message_ratio=entry.take("message_ratio", RATIO),
        foot_ratio=entry.take("foot_ratio", RATIO),
        field_gap=entry.take("field_gap", number(0.0, 5.0)),
        pitch_capitals=entry.take("pitch_capitals", PITCH),
        pitch_mixed=entry.take("pitch_mixed", PITCH),
        pitch_accents=entry.take("pitch_accents", PITCH),
        greatest_round=entry.take("greatest_round", FILL),
        greatest_rectangle=entry.take("greatest_rectangle", FILL),
        greatest_long=entry.take("greatest_long", FILL),
        even=entry.take("even", PART),
        fewer_lines=entry.take("fewer_lines", PART),
        last_line=entry.take("last_line", PART),
        ampersand=entry.take("ampersand", PART),
        joint_strong=entry.take("joint_strong", PART),
        joint_weak=entry.take("joint_weak", PART),
        joint_plain=entry.take("joint_plain", PART),
        short_line=entry.take("short_line", PART),
        straddle=entry.take("straddle", PART),
        air=entry.take("air", number(0.0, 3.0)),
        lettering_size=entry.take("lettering_size", SIZE),
        size_quiet=entry.take("size_quiet", FILL),
        size_large=entry.take("size_large", number(1.0, 10.0)),
        greatest_inside=entry.take("greatest_inside", FILL),
        fill=entry.take("fill", FILL),
        tracking_capitals=entry.take("tracking_capitals", number(-0.2, 1.0)),
        open_up=entry.take("open_up", number(0.0, 0.2)),
        optical=entry.take("optical", number(-0.2, 0.2)),
        least_beam_fine=entry.take("least_beam_fine", CAP),
        least_beam_coarse=entry.take("least_beam_coarse", CAP),
        least_bit_fine=entry.take("least_bit_fine", CAP),
        least_bit_coarse=entry.take("least_bit_coarse", CAP),
        least_x_height=entry.take("least_x_height", length(0.2, 100.0)),
        message_least=entry.take("message_least", FILL),
        rim_where=entry.take("rim_where", RIM),
        rim_gain=entry.take("rim_gain", number(0.0, 10.0)),
        line_weight=entry.take_or("line_weight", WEIGHT, BY_RECIPE),
    )
    entry.finish()
    return setting
