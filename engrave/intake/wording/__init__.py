"""Reads a cell of words as a suspicious person would: is this to be cut, or is somebody speaking to the shop?

`remarks` is the one question. Words are put into kinds (`lexicon`, data in classes.toml and phrases.toml), and rules
over the order of kinds (`rules`, data in rules.toml) say what reads like what. Nothing is ever changed here.
"""

from __future__ import annotations

from engrave.intake.wording.judging import Remark, remarks
from engrave.intake.wording.rules import codes

__all__ = ["Remark", "codes", "remarks"]
