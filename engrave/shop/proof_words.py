"""What the buyer's proof says, in the shop's own words or language."""

from __future__ import annotations

import string

from engrave.shop.models import ProofUnits, ProofWords
from engrave.shop.readers import FILLED, TEXT, Reader, choice
from engrave.shop.tables import TomlEntry

PROOF_UNITS: Reader[ProofUnits] = choice("mm", "in")


FILLED_IN: dict[str, tuple[str, ...]] = {
    "title": ("order",),
    "order": ("order",),
    "alike": ("count",),
    "capitals": ("size",),
    "small_letters": ("size",),
    "detail": ("times", "width"),
    "true_size": ("ruler",),
    "smaller": ("ratio", "ruler"),
    "reply": ("code",),
}
"""For each sentence with gaps, what may stand in its braces."""

PLAIN_SENTENCES = (
    "not_ordered", "received", "as_cut", "lid", "inside", "wood", "letters", "wood_differs", "read_from", "hinge",
    "read_closely", "not_agreed", "why_not",
)  # fmt: skip


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


def read_proof_words(entry: TomlEntry) -> ProofWords:
    """Return what the proof says."""
    gaps = {key: entry.take(key, sentence(*names)) for key, names in FILLED_IN.items()}
    plain = {key: entry.take(key, sentence()) for key in PLAIN_SENTENCES}
    words = ProofWords(
        units=entry.take("units", PROOF_UNITS),
        language=entry.take("language", FILLED),
        line=entry.take("line", TEXT),
        **gaps,
        **plain,
    )
    entry.finish()
    return words
