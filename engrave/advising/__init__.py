"""What would help a piece that cannot be made as ordered: each change tried before it is offered."""

from engrave.advising.codes import HELPABLE
from engrave.advising.faster import LEAST_SAVED, look_savers, recipe_savers, time_savers
from engrave.advising.remedy_search import Remedy, nothing_helps, remedies
from engrave.advising.trying import changed, clears, leaves, replaced
from engrave.advising.word_lengths import letters_that_fit, letters_told

__all__ = [
    "HELPABLE", "LEAST_SAVED", "Remedy", "changed", "clears", "leaves", "letters_that_fit", "letters_told",
    "look_savers", "nothing_helps", "recipe_savers", "remedies", "replaced", "time_savers",
]  # fmt: skip
