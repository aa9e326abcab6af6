"""OpenType features: what a typeface's table and a row ask for, together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from engrave.typefaces.typeface_table import Facts

_RIVALS = {"lnum": "onum", "onum": "lnum", "pnum": "tnum", "tnum": "pnum"}
"""Features of which only one can hold (OpenType specification, feature tags)."""

STANDING = 0.9
"""Cap heights: figures whose 1 is lower are old-style ones, which a row must ask for: 'I4 June' is no date."""


def asked_features(facts: Facts, asked: Sequence[str], default: Sequence[str] = ()) -> Mapping[str, bool]:
    """Return which features are on and which off, the row's before the table's before the default."""
    along = dict(facts.features_with)
    out: dict[str, bool] = {}
    for tags in (default, facts.features, asked):
        for tag in tags:
            name, is_on = tag.removeprefix("-"), not tag.startswith("-")
            out[name] = is_on
            if is_on:
                out.update({more.removeprefix("-"): not more.startswith("-") for more in along.get(name, ())})
                if name in _RIVALS:
                    out[_RIVALS[name]] = False
    return out
