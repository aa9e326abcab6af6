"""What a tool leaves of the lettering, held against what it can make and what the wood bears."""

from engrave.cutting.judge.checking import check

__all__ = ["check"]
