"""What the buyer's proof says, in the shop's own words or language."""

from __future__ import annotations

import string
from dataclasses import dataclass
from typing import Literal

from engrave.shop.keys import key, read_table
from engrave.shop.readers import FILLED, TEXT, Reader, one_of
from engrave.shop.tables import TomlEntry

ProofUnits = Literal["mm", "in"]


def sentence(*gaps: str) -> Reader[str]:
    """Return a reader of sentences whose braces hold only these names."""
    named = ", ".join(f"{{{gap}}}" for gap in gaps)

    def read(value: object) -> str:
        text = FILLED.read(value)
        if not {name for _, name, _, _ in string.Formatter().parse(text) if name is not None} <= set(gaps):
            raise ValueError
        return text

    allowed = f"Allowed: a text in quotes, in which {named} may stand." if gaps else FILLED.allowed
    return Reader(allowed, "x", read)


PLAIN = sentence()


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofWords:
    """Sentences of the proof; what stands in braces is filled in by the sheet. units: how sizes are written."""

    title: str = key(sentence("order"))
    order: str = key(sentence("order"))
    alike: str = key(sentence("count"))
    capitals: str = key(sentence("size"))
    small_letters: str = key(sentence("size"))
    several: str = key(sentence("first", "last"))
    old_style_figures: str = key(PLAIN)
    small_capitals: str = key(PLAIN)
    letter_forms: str = key(sentence("forms"))
    lines_wide: str = key(sentence("width"))
    thicker: str = key(sentence("width"))
    detail: str = key(sentence("times", "width"))
    true_size: str = key(sentence("ruler"))
    smaller: str = key(sentence("ratio", "ruler"))
    reply: str = key(sentence("code"))
    not_ordered: str = key(PLAIN)
    received: str = key(PLAIN)
    as_cut: str = key(PLAIN)
    as_laid: str = key(PLAIN)
    left_out: str = key(sentence("signs"))
    lid: str = key(PLAIN)
    inside: str = key(PLAIN)
    wood: str = key(PLAIN)
    letters: str = key(PLAIN)
    wood_differs: str = key(PLAIN)
    read_from: str = key(PLAIN)
    hinge: str = key(PLAIN)
    read_closely: str = key(PLAIN)
    not_agreed: str = key(PLAIN)
    why_not: str = key(PLAIN)
    choices: str = key(PLAIN)
    choose: str = key(PLAIN)
    same_price: str = key(PLAIN)
    price: str = key(sentence("amount"))
    dearer: str = key(sentence("amount"))
    cheaper: str = key(sentence("amount"))
    units: ProofUnits = key(one_of(ProofUnits))
    language: str = key(FILLED)
    line: str = key(TEXT)


def read_proof_words(entry: TomlEntry) -> ProofWords:
    """Return what the proof says."""
    return read_table(ProofWords, entry)
