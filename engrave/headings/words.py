"""Stems by which a heading's meaning is guessed, in the order in which they are tried: common practice, no source."""

from __future__ import annotations

from engrave.intake.headers import fold


def _stems(line: str) -> tuple[str, ...]:
    return tuple(fold(word) for word in line.split())


OF_FIELDS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("note", _stems("note remark comment bemerkung kommentar anmerkung opmerking instruction anweisung request wish wunsch")),
    ("message", _stems("message nachricht mensaje bericht messaggio mensagem meddelande spruch verse motto inscri inschrift")),
    ("foot", _stems("date datum fecha data")),
    ("name", _stems("personali personnali engrav gravur grab graver monogram initial name nom nombre naam text wording word")),
    ("wood", _stems("wood holz bois madera hout legno madeira timber material")),
    ("typeface", _stems("font typeface schrift police fuente lettertype carattere lettering script style")),
    ("lid", _stems("lid deckel couvercle item article artikel produ listing vari model shape form box kiste")),
)  # fmt: skip

NOT_NEEDED = _stems("gift geschenk cadeau regalo wrap verpackung emballage")
"""What is done around the box: a heading with one of these is most likely not needed."""
