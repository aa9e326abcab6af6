"""One cell that holds several fields: a line for each, or each behind what a form calls it ('Name: ... / Date: ...')."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from engrave.intake.cells import split_options
from engrave.intake.headers import fold
from engrave.shop.house import WORD_FIELDS
from engrave.shop.models import Intake


def _labels(field: str, *lines: str) -> dict[str, str]:
    return {fold(label): field for line in lines for label in line.split("; ")}


OWN, LEFT_OUT = "own", "left out"
"""What stands behind a label belongs to the cell's own field; or is a wish about the making, and no words."""

FORM_LABELS: dict[str, str] = {
    **_labels(
        OWN,
        "text; words; wording; engraving; to engrave; personalisation; personalization; lettering; lid; on lid; inscription",
        "gravur; gravurtext; aufschrift; inschrift; texte; gravure; texte à graver; texto; grabado; tekst; opschrift; testo",
        "line 1; line 2; line 3; line 4; 1st line; 2nd line; 3rd line; first line; second line; third line; line one; line two",
        "zeile 1; zeile 2; zeile 3; ligne 1; ligne 2; ligne 3; línea 1; línea 2; línea 3; regel 1; regel 2; regel 3; riga 1; riga 2",
    ),
    **_labels(
        "name",
        "name; names; name(s); first name; child's name; name on lid; vorname; namen; nom; noms; prénom; prénoms; nombre; nombres",
        "naam; namen; voornaam; nome; nomi; namn; navn; imię",
    ),
    **_labels("message", "message; msg; saying; quote; verse; nachricht; spruch; botschaft; mensaje; bericht; messaggio; mensagem"),
    **_labels("foot", "date; dates; wedding date; year; est; datum; jahr; fecha; año; année; data; anno; rok"),
    **_labels(
        LEFT_OUT,
        "font; font style; fonts; typeface; style; script; size; font size; letter size; colour; color; position; placement; case",
        "schrift; schriftart; schriftgröße; größe; farbe; police; taille; couleur; fuente; tipo de letra; tamaño; lettertype; stijl",
    ),
}  # fmt: skip
"""What forms call their boxes, folded: common practice, no source. 'To' and 'From' stand on cards as often as in forms,
'front' and 'inside' say where and not what: these are asked about and never taken apart."""


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Parted:
    """A cell taken apart. fields: what each field gets, in order; left: parts left out; known: the shop has said so."""

    fields: tuple[tuple[str, str], ...]
    left: tuple[str, ...]
    known: bool


def parted(text: str, field: str, title: str, intake: Intake) -> Parted | None:
    """Return the words of one cell by field, None if it is to be read as it stands.

    title: the column's heading, under which the shop says `lines` or `labels` in its intake table.
    """
    lines, has_labels = _said(intake.lines, title), _said(intake.labels, title)
    by_label = None if has_labels is False else _by_label(text, field, bool(has_labels))
    if lines and (by_label is None or split_options(text, FORM_LABELS)[1]):  # some of it has no label: lines decide
        return _by_line(text, lines)
    return by_label


def _said(told: Mapping[str, T], title: str) -> T | None:
    return next((value for heading, value in told.items() if fold(heading) == fold(title)), None)


_BREAKS = re.compile("\r\n|[\n\r\v\f\x85\u2028\u2029|]")


def _by_line(text: str, fields: tuple[str, ...]) -> Parted | None:
    """Give each line to its field; what stands below them belongs to the last but one, as a message has lines of its own.

    Fewer lines fill the first fields; a single one needs nothing done if it is the cell's own field.
    """
    lines = [line.strip() for line in _BREAKS.split(text) if line.strip()]
    more = len(lines) - len(fields)
    if more > 0:
        middle = max(0, len(fields) - 2)
        lines = [*lines[:middle], "\n".join(lines[middle : middle + more + 1]), *lines[middle + more + 1 :]]
    return Parted(tuple(zip(fields, lines, strict=False)), (), True) if lines else None


def _by_label(text: str, field: str, known: bool) -> Parted | None:
    """Take labels off and give what stands behind them to their fields.

    Only where every label is one of FORM_LABELS, and where words are left: anything else is for a person.
    """
    found, other = split_options(_divided(text), FORM_LABELS)
    if not found or any(label for label, _ in other):
        return None
    parts: dict[str, list[str]] = {field: [value for _, value in other]} if other else {}
    left = []
    for place, value in found:
        if not value:
            continue
        if place == LEFT_OUT:
            left.append(value)
        else:
            parts.setdefault(field if place == OWN else place, []).append(value)
    fields = tuple((name, "\n".join(parts[name])) for name in WORD_FIELDS if parts.get(name))
    return Parted(fields, tuple(left), known) if fields else None


_COLON = re.compile(r"(?<=\w)[ \u00a0]?[:=](?!\S*//)")

_MOST_LABEL_WORDS = 3
"""Words of the longest labels: 'name on lid'."""


def _divided(text: str) -> str:
    """Put a line break before each further label of a cell that begins with one: 'Name: Ida Date: 2026', as exports join them.

    A label within begins as the first does, large or small: 'Message: the date: never' stays whole.
    """
    colons = [m.start() for m in _COLON.finditer(text)]
    begun = text.lstrip()
    if len(colons) < 2 or fold(text[: colons[0]]) not in FORM_LABELS:
        return text
    places = []
    for before, colon in zip(colons, colons[1:], strict=False):
        words = [m.start() + before for m in re.finditer(r"(?<=\s)\S+", text[before:colon])]
        starts = [at for at in words[-_MOST_LABEL_WORDS:] if fold(text[at:colon]) in FORM_LABELS]
        if starts and text[starts[0]].isupper() == begun[0].isupper() and text[: starts[0]].rstrip()[-1] not in "/;,|":
            places.append(starts[0])
    for at in reversed(places):
        text = f"{text[:at].rstrip()}\n{text[at:]}"
    return text


def labelled(text: str) -> bool:
    """Tell whether a cell would be taken apart at its labels."""
    return _by_label(text, "name", False) is not None
