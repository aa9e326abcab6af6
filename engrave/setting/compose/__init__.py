"""From what fits to what looks composed: which break, at which size, and where on the lid."""

from engrave.setting.compose.composition import compose_at, compose_largest
from engrave.setting.compose.containment import ink_of, is_inside
from engrave.setting.compose.lay import lines_of
from engrave.setting.compose.size_rules import greatest_cap, least_cap
from engrave.setting.compose.standing import Composition, stood

__all__ = [
    "Composition", "compose_at", "compose_largest", "greatest_cap", "ink_of", "is_inside", "least_cap", "lines_of", "stood",
]  # fmt: skip
