"""A scrap on which a cutter shows what it does in a wood: its drawing, and what was measured on it kept."""

from engrave.testpiece.design import TestPiece, recipes_of, test_piece
from engrave.testpiece.record import FIGURE_KEYS, with_figures

__all__ = ["FIGURE_KEYS", "TestPiece", "recipes_of", "test_piece", "with_figures"]
