"""Sheets that are handed on: the proof for the buyer, the sheet that goes with a test piece."""

from __future__ import annotations

from engrave.output.sheets.bench import LIDS_A_LIST, BenchSheet, bench_names, bench_pdf, bench_row, bench_sheets
from engrave.output.sheets.choices import Choice, choices_sheet
from engrave.output.sheets.proof import Proof, order_proof
from engrave.output.sheets.testpiece_sheet import test_piece_sheet, test_piece_svg

__all__ = [
    "LIDS_A_LIST", "BenchSheet", "Choice", "Proof", "bench_names", "bench_pdf", "bench_row", "bench_sheets",
    "choices_sheet", "order_proof", "test_piece_sheet", "test_piece_svg",
]  # fmt: skip
