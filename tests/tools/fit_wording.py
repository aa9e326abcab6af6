"""Fits the weights by which cells are told to be talk to the shop or words to cut; writes wording/weights.txt.

    python tests/tools/fit_wording.py

Logistic regression with a pull towards nought, on what lies in tests/intake/data: the sets of cells (but for those that
`test_wording` keeps aside) and practice: words, requests and mixtures as buyers type them, remarks that are put behind or
before words, and verses, which buyers copy. Cells are also learned without their capitals. Run it after a change of the lexicon: kinds of
words are signs. Takes a minute or two; the same data give the same weights.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from faker import Faker
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "intake"))

from test_doubts import FINE, LOCALES  # noqa: E402
from test_wording import cells, half, trained_sets, verses  # noqa: E402

from engrave.intake.wording.judging import rules_finding  # noqa: E402
from engrave.intake.wording.lexicon import tagged  # noqa: E402
from engrave.intake.wording.tokens import tokens  # noqa: E402
from engrave.intake.wording.weighing import WEIGHTS, signs  # noqa: E402

DATA = HERE.parent / "intake" / "data"
PULL = 0.05
"""How strongly weights are pulled to nought; by less, shares of cells kept aside hardly change; by more, sound words are lost."""
LEAST_SEEN = 3
"""Cells that must bear a sign for it to get a weight."""
SMALLEST = 0.15
"""Weights below are left out of the file: they change no judgement and make it longer."""
TALK = 0.3
"""Sum from which talk is asked about: where of the newest sets 97 % of talk and 2 % of words are (see test_wording)."""
TO_THE_END = {"maxiter": 3000, "maxfun": 20000, "maxcor": 30, "ftol": 1e-12, "gtol": 1e-6}
"""How far weights are fitted: until nothing is gained, lest one cell more or less change them all a little."""
NAMES = 30
"""Names of each country that are learned."""
COPIES = 5
"""Words that each practised remark is put behind or before."""


class Lesson(NamedTuple):
    """A cell to learn: whether it is talk, and how much it counts."""

    is_talk: bool
    words: str
    field: str
    counts: float


def sections(name: str) -> Iterator[tuple[str, str]]:
    """Yield the lines of a file of practice with the heading that they stand under."""
    heading = ""
    for line in (DATA / f"practice_{name}.txt").read_text(encoding="utf-8").splitlines():
        if line in ("[message]", "[name]", "[behind]", "[before]"):
            heading = line.strip("[]")
        else:
            yield heading, line


def from_verses(chance: random.Random) -> Iterator[Lesson]:
    """Yield verses, which are words however they ask and bid; and verses with a remark behind or before, which are not."""
    learned = verses("used")
    for words in learned:
        yield Lesson(False, words, "message", 0.9)
    for heading, remark in sections("remarks"):
        yield Lesson(True, mixed(chance, heading, chance.choice(learned), remark), "message", 1.0)


def without_capitals(cell: Lesson, counts: float) -> list[Lesson]:
    """Return the cell, and once more in small letters if it has capitals."""
    low = cell._replace(words=cell.words.lower(), counts=counts)
    return [cell] if low.words == cell.words else [cell, low]


def from_sets() -> Iterator[Lesson]:
    """Yield the cells of the labelled sets that are not kept aside."""
    for name in trained_sets():
        for row in cells(name):
            if any(letter.isalpha() for letter in row["words"]) and half(name, row["words"]) == "used":
                cell = Lesson(row["label"] != "words", row["words"], row["field"], 4.0)
                yield from [cell] if cell.is_talk else without_capitals(cell, 0.4)


def from_practice() -> Iterator[Lesson]:
    """Yield the cells that were written to learn from: half the words to cut look like talk, a third of the talk is terse."""
    for row in cells("practice"):
        if any(letter.isalpha() for letter in row["words"]):
            cell = Lesson(row["label"] != "words", row["words"], row["field"], 2.0)
            yield from [cell] if cell.is_talk else without_capitals(cell, 0.4)


def practised(chance: random.Random) -> Iterator[Lesson]:
    """Yield practised words, requests and mixtures, and words put together with other words and with remarks."""
    every = list(sections("words"))
    names, messages = ([w for h, w in every if h == heading] for heading in ("name", "message"))
    for heading, words in every:
        field = "name" if heading == "name" else chance.choice(("message", "message", "foot"))
        yield from without_capitals(Lesson(False, words, field, 1.0), 0.5)
    yield from joined(chance, names, messages)
    for _, words in sections("requests"):
        field = chance.choice(("name", "message", "message", "foot"))
        yield from without_capitals(Lesson(True, words, field, 1.0), 0.5)
    for _, words in sections("mixtures"):
        field = "name" if len(words.split()) < 6 else chance.choice(("name", "message", "foot"))
        yield from without_capitals(Lesson(True, words, field, 1.0), 0.3)
    for heading, remark in sections("remarks"):
        for _ in range(COPIES):
            is_name = chance.random() < 0.6
            words = chance.choice(names if is_name else messages)
            words = words.lower() if chance.random() < 0.25 else words
            field = "name" if is_name else chance.choice(("message", "foot"))
            yield Lesson(True, mixed(chance, heading, words, remark), field, 0.4)


def joined(chance: random.Random, names: list[str], messages: list[str]) -> Iterator[Lesson]:
    """Yield words beside other words, which are words still."""
    for at in range(400):
        pair = [chance.choice(messages), chance.choice(messages + names)]
        pair = [p.lower() for p in pair] if at % 2 else pair
        yield Lesson(False, chance.choice((", ", "\n", " - ", "! ", " ", "|")).join(pair), "message", 0.5)
        pair = [chance.choice(names), chance.choice(names)]
        yield Lesson(False, chance.choice((", ", " & ", " and ", " + ", "\n", " - ")).join(pair), "name", 0.5)
    before = ("Happy birthday ", "For ", "Love, ", "To ", "from ", "happy birthday ", "für ", "Pour ", "Para ", "Per ")
    for _ in range(300):
        yield Lesson(False, chance.choice(before) + chance.choice(names), "message", 0.5)


def sound_words() -> Iterator[Lesson]:
    """Yield the words that no test lets be doubted, and names of many countries from Faker's locale data.

    The test of names asks with another seed.
    """
    for words in FINE:
        yield from (Lesson(False, words, "name", 5.0), Lesson(False, words, "message", 5.0))
    for locale in LOCALES:
        fake = Faker(locale)
        fake.seed_instance(1)
        for _ in range(NAMES):
            for words in (fake.name(), fake.first_name(), fake.last_name()):
                yield Lesson(False, words, "name", 0.6)


def mixed(chance: random.Random, heading: str, words: str, remark: str) -> str:
    """Put a remark behind or before words, as buyers do."""
    if heading == "before":
        shown = remark[0].upper() + remark[1:] if chance.random() < 0.4 else remark
        return f"{shown} " + (f'"{words}"' if chance.random() < 0.2 else words)
    if remark[0] in "([*<+":
        return f"{words} {remark}"
    ways = (
        "{}, {}",
        "{} - {}",
        "{} {}",
        "{} ({})",
        "{}. {}",
        "{} {}",
        "{}, {}",
        "{} / {}",
        "{} – {}",
        "{}; {}",
        "{}\n{}",
    )
    return chance.choice(ways).format(words, remark)


def signs_of(cell: Lesson) -> list[str]:
    """Return a cell's signs, each once."""
    taken = tokens(cell.words)
    codes = rules_finding(cell.words, cell.field)
    return sorted({sign for sign, _ in signs(cell.words, cell.field, taken, tagged(taken), codes)})


def table(seen: list[list[str]], known: dict[str, int]) -> csr_matrix:
    """Return cells as rows of signs, each row of length 1."""
    rows = [[known[s] for s in one if s in known] for one in seen]
    values = np.concatenate([np.full(len(row), 1 / np.sqrt(max(1, len(row)))) for row in rows])
    ends = np.concatenate([[0], np.cumsum([len(row) for row in rows])])
    return csr_matrix((values, np.concatenate([np.array(row, int) for row in rows]), ends), (len(rows), len(known)))


def fitted(signs_in: csr_matrix, is_talk: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Return the weight of each sign and, last, the sum begun with: the least loss of logistic regression."""
    side = np.where(is_talk, 1.0, -1.0)

    def loss(at: np.ndarray) -> tuple[float, np.ndarray]:
        margin = -side * (signs_in @ at[:-1] + at[-1])
        slope = -side * counts / (1 + np.exp(-margin))
        total = float((counts * np.logaddexp(0, margin)).sum() + PULL / 2 * (at[:-1] ** 2).sum())
        return total, np.append(signs_in.T @ slope + PULL * at[:-1], slope.sum())

    begun = np.zeros(signs_in.shape[1] + 1)
    return np.asarray(minimize(loss, begun, jac=True, method="L-BFGS-B", options=TO_THE_END).x)


HEAD = """# What signs of talk to the shop weigh, a hundredfold, by their sign. Made by tests/tools/fit_wording.py: fit it
# anew instead of changing it by hand. start: the sum begun with; talk: from which a cell is asked about. w a word,
# b two neighbours, o two with one between, p a word's beginning, s its end, k a kind, kk two kinds.
"""


def main() -> None:
    """Fit and write."""
    learned = [
        *from_sets(),
        *from_practice(),
        *practised(random.Random(1)),
        *sound_words(),
        *from_verses(random.Random(9)),
    ]
    seen = [signs_of(cell) for cell in learned]
    often = Counter(sign for one in seen for sign in one)
    known = {sign: i for i, sign in enumerate(sorted(s for s, n in often.items() if n >= LEAST_SEEN))}
    at = fitted(table(seen, known), np.array([c.is_talk for c in learned]), np.array([c.counts for c in learned]))
    lines = [f"{round(100 * w)}\t{s}" for s, w in (("start", at[-1]), ("talk", TALK))]
    lines += [f"{round(100 * at[i])}\t{sign}" for sign, i in known.items() if abs(at[i]) >= SMALLEST]
    WEIGHTS.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    print(f"{len(learned)} cells, {len(known)} signs, {len(lines)} kept")


if __name__ == "__main__":
    main()
