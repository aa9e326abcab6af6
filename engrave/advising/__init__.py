"""What would help a piece that cannot be made as ordered: each change tried before it is offered."""

from engrave.advising.codes import HELPABLE
from engrave.advising.faster import LEAST_SAVED, faster_typeface
from engrave.advising.faster_weight import sooner_weight
from engrave.advising.remedy_search import Remedy, nothing_helps, remedies
from engrave.advising.trying import changed, clears, leaves, replaced

__all__ = [
    "HELPABLE", "LEAST_SAVED", "Remedy", "changed", "clears", "faster_typeface", "leaves", "nothing_helps",
    "remedies", "replaced", "sooner_weight",
]  # fmt: skip
