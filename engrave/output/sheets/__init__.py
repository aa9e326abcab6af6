"""Sheets that are handed on: the proof for the buyer, the sheet that goes with a test piece."""

from __future__ import annotations

from engrave.output.sheets.proof import proof_png
from engrave.output.sheets.testpiece_sheet import test_piece_sheet, test_piece_svg

__all__ = ["proof_png", "test_piece_sheet", "test_piece_svg"]
