"""What a shop has answered, as its tables would have it: in memory to go on asking, and as text to be kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from engrave.headings.asking import ASIDE, LABELS_ANSWER, OPTIONS, Question
from engrave.shop.house import ASIDE as CARRIED
from engrave.shop.models import Intake


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """A question and what the shop said: one of its `allowed`."""

    question: Question
    says: str


def intake_with(intake: Intake, answers: Iterable[KeptAnswer]) -> Intake:
    """Return how tables are read once the answers hold."""
    columns = {field: tuple(headings) for field, headings in intake.columns.items()}
    values = {field: dict(texts) for field, texts in intake.values.items()}
    labels = dict(intake.labels)
    split = {heading: dict(labels) for heading, labels in intake.split.items()}
    for answer in answers:
        asked, says = answer.question, answer.says
        if asked.kind == "labels":
            labels[asked.heading] = says == LABELS_ANSWER
        elif asked.kind == "value":
            values.setdefault(asked.field, {})[asked.text] = says
        elif asked.kind == "option":
            split.setdefault(asked.heading, {})[asked.text] = _field(says)
        elif says == OPTIONS:
            split.setdefault(asked.heading, {})
        else:
            columns[_field(says)] = (*columns.get(_field(says), ()), asked.heading)
    return replace(intake, columns=columns, values=values, split=split, labels=labels)


def _field(says: str) -> str:
    return CARRIED if says == ASIDE else says


def toml_with(text: str, answers: Iterable[KeptAnswer], intake: Intake) -> str:
    """Return the text of a shop's intake.toml with the answers in it; comments and all else stay as they are.

    intake: how tables were read before the answers. A list of headings replaces ours as a whole, so one that the
    shop's table does not have yet begins with ours. Raises ValueError if the text is no TOML.
    """
    try:
        document = tomlkit.parse(text)
    except ParseError as error:
        raise ValueError(str(error)) from error
    for answer in answers:
        asked, says = answer.question, answer.says
        if asked.kind == "labels":
            _table(document, "labels")[asked.heading] = says == LABELS_ANSWER
        elif asked.kind == "value":
            _table(document, "values", asked.field)[asked.text] = says
        elif asked.kind == "option":
            _table(document, "split", asked.heading)[asked.text] = _field(says)
        elif says == OPTIONS:
            _table(document, "split", asked.heading)
        else:
            _add(_table(document, "columns"), _field(says), asked.heading, intake.columns)
    return tomlkit.dumps(document)


def _table(document: Any, *path: str) -> Any:
    """Return a table by its path, made where there is none; one that only holds tables gets no heading of its own."""
    here = document
    for n, key in enumerate(path):
        if key not in here:
            here[key] = tomlkit.table(is_super_table=n < len(path) - 1)
        here = here[key]
    return here


def _add(columns: Any, field: str, heading: str, known: Mapping[str, Iterable[str]]) -> None:
    if field not in columns:
        columns[field] = tomlkit.array()
        columns[field].extend(list(known.get(field, ())))
    if heading not in columns[field]:
        columns[field].append(heading)
