"""From what fits to what looks composed: which break, at which size, and where on the lid."""

from engrave.setting.compose.composition import Composition, compose_at, compose_largest, stood
from engrave.setting.compose.containment import ink_of, is_inside
from engrave.setting.compose.lay import lines_of
from engrave.setting.compose.size_rules import greatest_cap, least_cap

__all__ = [
    "Composition", "compose_at", "compose_largest", "greatest_cap", "ink_of", "is_inside", "least_cap", "lines_of", "stood",
]  # fmt: skip
