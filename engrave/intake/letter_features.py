"""Which forms of letters and figures a row asks for: OpenType features, in plain words or by their registered tags."""

from __future__ import annotations

import re

from engrave.intake.cells import Read
from engrave.intake.headers import fold

FEATURE_NAMES = {
    "lnum": "lining figures", "onum": "old-style figures", "pnum": "proportional figures", "tnum": "tabular figures",
    "zero": "a slashed zero", "smcp": "small capitals", "c2sc": "small capitals for capitals", "swsh": "swashes",
    "titl": "titling capitals", "salt": "other forms", "hist": "historical forms", "dlig": "rare ligatures",
    "liga": "ligatures", "frac": "fractions", "ordn": "ordinals", "case": "signs for capitals",
}  # fmt: skip
"""Tags of the OpenType specification (registry of feature tags), and how they are spoken of."""

_ALIKE = {
    "oldstylefigures": "onum", "oldstyle": "onum", "textfigures": "onum", "hangingfigures": "onum", "lining": "lnum",
    "smallcaps": "smcp", "smallcapitals": "smcp", "allsmallcaps": "smcp c2sc", "swash": "swsh", "slashedzero": "zero",
    "noligatures": "-liga", "withoutligatures": "-liga", "discretionaryligatures": "dlig", "alternates": "salt",
    "stylisticalternates": "salt",
}  # fmt: skip
_BY_NAME = {fold(name): tag for tag, name in FEATURE_NAMES.items()} | _ALIKE
_TAG = re.compile(r"^-?[a-z]{4}$|^-?(?:ss|cv)\d\d$")
_PARTS = re.compile(r"\s*[,;+/&]\s*")


def features_of(text: str) -> Read:
    """Read what a row asks for: 'old-style figures, small capitals', 'onum ss01'. Returned as tags, 'onum smcp'."""
    tags: list[str] = []
    for part in filter(None, _PARTS.split(text.strip())):
        found = _BY_NAME.get(fold(part), "").split() or [w for w in part.lower().split() if _TAG.match(w)]
        if not found or (fold(part) not in _BY_NAME and len(found) < len(part.split())):
            says = (
                f"The letter_features {part!r} were not understood, so the letters were set as usual. Write for instance "
                "old-style figures, small capitals, or an OpenType tag such as ss01."
            )
            return Read("", says, "look")
        tags += found
    return Read(" ".join(dict.fromkeys(tags)))


def feature_name(tag: str) -> str:
    """Return how a feature is spoken of: 'old-style figures', 'the forms ss01'."""
    return FEATURE_NAMES.get(tag, f"the forms {tag}")
