"""The questions in front of people: a week's note with the command to paste, and the table that would be written."""

from __future__ import annotations

import shlex
from dataclasses import asdict
from pathlib import Path
from typing import Any

from engrave.headings.asking import Question, Survey
from engrave.headings.dialogue import Asked
from engrave.headings.keeping import toml_with
from engrave.intake import OrdersFile
from engrave.intake.doubts import quoted
from engrave.problems import Problem
from engrave.shop.models import Intake

SHOP = "our_shop"
"""Folder that is named where a shop has none yet."""


def headings_command(orders: Path, shop_folder: Path | None) -> str:
    """Return the command that asks what the columns of a table are, to be pasted into a terminal."""
    return shlex.join(["engrave", "headings", str(orders), "--shop", str(shop_folder or SHOP)])


def to_be_asked(file: OrdersFile, orders: Path, shop_folder: Path | None) -> tuple[Problem, ...]:
    """Return what to say of a week whose table has columns that nobody has explained; nothing if there are none."""
    asked = [one for one in file.unread if one.has_heading]
    if not asked:
        return ()
    names = ", ".join(quoted(one.title) for one in asked)
    is_, they, them = ("Column", "is", "it") if len(asked) == 1 else ("Columns", "are", "them")
    says = (
        f"{is_} {names} {they} not read and may say what is to be made; rows that are filled there are on hold. Say "
        f"once what to read {them} as: {headings_command(orders, shop_folder)}"
    )
    if shop_folder is None:
        says += f" (and then make the week with --shop {SHOP})"
    return (Problem("unread-columns", "look", says),)


_WIDEST = 28


def column_lines(found: Survey) -> list[str]:
    """Return every column with what it is read as and what stands in it, a line each."""
    width = min(_WIDEST, max((len(c.title) for c in found.columns), default=0))
    kinds = max((len(c.read_as or _NOT_READ) for c in found.columns), default=0)
    return [
        f"{_short(c.title):{width}}  {c.read_as or _NOT_READ:{kinds}}  {', '.join(map(_sample, c.samples)) or '(empty)'}"
        for c in found.columns
    ]


_NOT_READ = "not read"


def _short(text: str) -> str:
    return text if len(text) <= _WIDEST else text[: _WIDEST - 1] + "…"


def _sample(text: str) -> str:
    return quoted(text if len(text) <= _WIDEST else text[: _WIDEST - 1] + "…")


def put_in_words(question: Question) -> str:
    """Return a question as it is put to a person: what was found, how often, why it is asked."""
    samples = ", ".join(map(_sample, question.samples))
    rows = "1 row" if question.rows == 1 else f"{question.rows} rows"
    if question.kind in ("column", "labels"):
        return f"Column {quoted(question.heading)}: {question.why}. In {rows}: {samples}."
    if question.kind == "option":
        return f"Option {quoted(question.text)} in {quoted(question.heading)}: {question.why}. In {rows}: {samples}."
    return f"{question.field.capitalize()} {quoted(question.text)} in {rows}: {question.why}."


def proposal(asked: Asked, text: str, intake: Intake) -> str:
    """Return the table that guesses would make, all else as comments: what is read as what, and what is left to say.

    asked: answered by `guesses`. text: the shop's intake.toml as it is, '' for none.
    """
    lines = ["# How the table is read:", *(f"#   {line.rstrip()}" for line in column_lines(asked.before)), "#"]
    if not asked.answers and not asked.left:
        return "\n".join([*lines, "# There is nothing to ask."])
    lines += ["# Read this, mend it, and keep it as intake.toml in the shop's folder.", ""]
    lines += [toml_with(text, asked.answers, intake).strip(), ""] if asked.answers else []
    for question in asked.left:
        lines += [f"# {put_in_words(question)}", f"#   Not guessed. {_how(question)}"]
    return "\n".join(lines)


def _how(question: Question) -> str:
    if question.kind == "value":
        known = ", ".join(question.allowed[:_MANY]) + (", ..." if len(question.allowed) > _MANY else "")
        return f'[values.{question.field}] "{question.text}" = one of {known}'
    if question.kind == "labels":
        return f'[labels] "{question.heading}" = true, or false for words to cut as they stand'
    return f"Name it in [columns] under what it is, or under extra if it is not needed: {', '.join(question.allowed)}"


_MANY = 12


def as_json(asked: Asked, table: str) -> dict[str, Any]:
    """Return columns, questions with their guesses, and the table that these would make, as plain values."""
    return {
        "columns": [asdict(column) for column in asked.before.columns],
        "questions": [asdict(question) for question in asked.questions],
        "intake_toml": table,
    }
