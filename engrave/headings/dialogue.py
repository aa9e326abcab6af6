"""Asking round by round: what a column is said to be brings up new options and values, which are asked about next."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from engrave.headings.asking import Question, Survey, open_questions, survey
from engrave.headings.keeping import KeptAnswer, intake_with
from engrave.shop.mistakes import close, plainly
from engrave.shop.models import Shop

LATER = "later"
"""Said instead of an answer: the question stays open, and the rows that it concerns stay on hold."""

Ask = Callable[[Question], str]
"""Puts one question and returns one of its `allowed`, or '' for later."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A table that was asked about: as it was read before any answer, the answers, and what was left open."""

    before: Survey
    answers: tuple[KeptAnswer, ...]
    left: tuple[Question, ...]

    @property
    def questions(self) -> tuple[Question, ...]:
        """All that were put."""
        return (*(answer.question for answer in self.answers), *self.left)


def ask_all(orders: Path, shop: Shop, typefaces: Iterable[str], ask: Ask) -> Asked:
    """Put every question about a table, in rounds. Raises OrdersError if the file is of no use."""
    ids = tuple(typefaces)
    answers: list[KeptAnswer] = []
    left: list[Question] = []
    before: Survey | None = None
    while True:
        found = survey(orders, replace(shop, intake=intake_with(shop.intake, answers)), ids)
        before = before or found
        now = open_questions(found, [*(a.question.key for a in answers), *(q.key for q in left)])
        if not now:
            return Asked(before, tuple(answers), tuple(left))
        for question in now:
            says = ask(question)
            if says:
                answers.append(KeptAnswer(question, says))
            else:
                left.append(question)


def guesses(question: Question) -> str:
    """Answer with what is most likely, where nobody can be asked."""
    return question.guess


def understood(text: str, question: Question) -> str | None:
    """Return the answer that a person meant: one of those allowed in any spelling of case and spaces, '' for later.

    None if it is none of them; `suggested` then has the nearest.
    """
    plain = plainly(text)
    if plain in ("", plainly(LATER)):
        return ""
    return next((answer for answer in question.allowed if plainly(answer) == plain), None)


def suggested(text: str, question: Question) -> str:
    """Return the answer nearest to what a person typed, '' if none is near."""
    return close(text, question.allowed)
