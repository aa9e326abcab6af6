"""The first import of a shop's orders: what every column and option is read as, asked once and kept in its intake table."""

from engrave.headings.asking import ASIDE, OPTIONS, Question, Shown, Survey, survey
from engrave.headings.dialogue import LATER, Ask, Asked, ask_all, guesses, suggested, understood
from engrave.headings.keeping import KeptAnswer, intake_with, toml_with
from engrave.headings.telling import as_json, column_lines, headings_command, proposal, put_in_words, to_be_asked

__all__ = [
    "ASIDE",
    "LATER",
    "OPTIONS",
    "Ask",
    "Asked",
    "KeptAnswer",
    "Question",
    "Shown",
    "Survey",
    "as_json",
    "ask_all",
    "column_lines",
    "guesses",
    "headings_command",
    "intake_with",
    "proposal",
    "put_in_words",
    "suggested",
    "survey",
    "to_be_asked",
    "toml_with",
    "understood",
]  # fmt: skip
