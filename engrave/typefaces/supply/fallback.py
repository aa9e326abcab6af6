"""Who sets which letter of a line: the typeface asked for, a letter composed, a companion, a form of our own, nobody.

A letter that is lacking is composed if its parts are at hand, else taken from a companion; a word in a script that the
typeface lacks is taken whole, so that one word does not change its hand in the middle.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from engrave.problems import Problem
from engrave.typefaces.characters import CASED_SCRIPTS, JOINING, clusters, invisible, name_of, script_name, script_of
from engrave.typefaces.read import SetGlyph, Spelling
from engrave.typefaces.supply.ornaments import drawing_for, nearest_drawing
from engrave.typefaces.typeface_table import Facts

BESIDE_CAPITALS = 0.85
"""Height of scripts without capitals beside capitals, in cap heights: common practice, no source; families drawn for
several scripts make their Hebrew 0.83, their Devanagari 0.87 of the capitals."""
X_FIT = (0.8, 1.25)
"""How far a companion's small letter may be scaled to the height of its neighbours before its strokes look foreign."""

COMMON_LETTERS = {
    "Latn": "aeinorst", "Grek": "αεικνορστ", "Cyrl": "аеинорст", "Hebr": "אבהילמר", "Arab": "ابلمنري", "Deva": "कनरमसत",
    "Armn": "աեիկնորս", "Geor": "აეინორსტ",
}  # fmt: skip
"""Letters without which a script cannot be written: a Latin font that has a lone µ or Ω has no Greek."""


OPEN_FAMILIES = {
    "Hani": "Noto Sans SC, TC, HK or JP, by the country", "Hira": "Noto Sans JP", "Kana": "Noto Sans JP",
    "Hang": "Noto Sans KR", "Bopo": "Noto Sans TC", "Tibt": "Noto Serif Tibetan", "Syrc": "Noto Sans Syriac",
}  # fmt: skip
NOTO_SANS = frozenset({"Beng", "Guru", "Gujr", "Orya", "Taml", "Telu", "Knda", "Mlym", "Sinh", "Thai", "Laoo", "Khmr", "Mymr",
                       "Ethi", "Cher", "Thaa", "Mong"})  # fmt: skip
"""Families under the SIL Open Font License that have the letters of large or rarer scripts, and scripts for which one is
named after the script (the Noto project's list of fonts, from memory)."""


class Setter(Protocol):
    """What sets a stretch of clusters: an opened font file."""

    def set(
        self, spellings: Sequence[tuple[int, Spelling]], script: str, rtl: bool, language: str | None, tracking: float,
        features: Sequence[str] = (),
    ) -> tuple[list[SetGlyph], float]:  # fmt: skip
        """Set clusters (index in the line, spelling) of one script and direction; return glyphs and the advance."""
        ...


class Letters(Protocol):
    """What is asked of a typeface here: its particulars, and how it would set a cluster."""

    @property
    def facts(self) -> Facts:
        """Its particulars."""
        ...

    @property
    def x_height(self) -> float:
        """Height of its small letters, in cap heights."""
        ...

    def own(self, cluster: str) -> Spelling | None:
        """Return how its files set a cluster, None if they lack it."""
        ...

    def composed(self, cluster: str) -> Spelling | None:
        """Return how a cluster is made of what its files have, None if it cannot be."""
        ...

    def ornament(self, cluster: str) -> Spelling | None:
        """Return a drawing of our own for a heart, star or flower, None for other signs."""
        ...

    @property
    def source(self) -> Setter:
        """Its opened file, which sets stretches of text."""
        ...


class Others(Protocol):
    """Where else letters may be found."""

    def lenders(self) -> Iterable[Letters]:
        """Yield typefaces of the same kind, best first; each is opened only when it is reached."""
        ...

    def having(self, char: str) -> list[str]:
        """Return the ids of all typefaces, of any kind, that have a character."""
        ...


@dataclass(slots=True)
class Cluster:
    """One cluster of a line: where it starts, its characters, and who sets it and how."""

    start: int
    text: str
    owner: Letters
    spelling: Spelling | None = None
    scale: float = 1.0
    left_out: bool = False

    @property
    def script(self) -> str:
        """Script of its first character."""
        return script_of(self.text[0])


@dataclass(slots=True)
class LinePlan:
    """A line's clusters and what is to be said of them. lent: figures and marks by the companion that lends them."""

    parts: list[Cluster]
    problems: list[Problem] = field(default_factory=list)
    lent: dict[str, list[Cluster]] = field(default_factory=dict)


def plan_line(text: str, asked: Letters, others: Others) -> LinePlan:
    """Decide who sets each cluster of a line. others: where letters that it lacks are sought."""
    plan = LinePlan(_parts(text, asked))
    if all(p.spelling is not None for p in plan.parts):
        _tell_composed(plan, asked)
        return plan
    _whole_scripts(plan.parts, asked, others, plan)
    missing = [p for p in plan.parts if p.spelling is None]
    for part in missing:
        _one_letter(part, asked, others, plan)
    plan.problems += [_marks_lent(parts, asked) for parts in plan.lent.values()]
    _leave_out(plan, asked, others)
    _scale(plan, asked)
    _tell_composed(plan, asked)
    plan.problems = list(dict.fromkeys(plan.problems))
    return plan


def _parts(text: str, asked: Letters) -> list[Cluster]:
    out, at = [], 0
    for cluster in clusters(text):
        if all(map(invisible, cluster)):
            spelling: Spelling | None = Spelling(())
        else:
            spelling = asked.own(cluster) or asked.composed(cluster)
        out.append(Cluster(at, cluster, asked, spelling))
        at += len(cluster)
    return out


def _words(parts: Sequence[Cluster]) -> Iterable[list[Cluster]]:
    word: list[Cluster] = []
    for part in parts:
        if part.text.isspace():
            yield word
            word = []
        else:
            word.append(part)
    yield word


def _whole_scripts(parts: Sequence[Cluster], asked: Letters, others: Others, plan: LinePlan) -> None:
    """Take the words of a script that the typeface lacks from one companion, each word whole."""
    borrowed: dict[tuple[str, str], list[str]] = {}
    lenders: dict[str, Letters] = {}
    for word in _words(parts):
        for script in dict.fromkeys(p.script for p in word if p.spelling is None):
            letters = [p for p in word if p.script == script or (script in JOINING and p.script == "Zinh")]
            if script[0] == "Z" or not (script in JOINING or script not in COMMON_LETTERS or _lacks(asked, script)):
                continue
            other = _take_all(letters, script, others)
            if other is not None:
                lenders[other.facts.id] = other
                borrowed.setdefault((script, other.facts.id), []).append("".join(p.text for p in word))
    for (script, ident), words in borrowed.items():
        plan.problems.append(_script_borrowed(" ".join(words), script, asked, lenders[ident]))


def _take_all(letters: Sequence[Cluster], script: str, others: Others) -> Letters | None:
    """Give letters to the first typeface that has them all, and return it; if none has, nobody sets any of them."""
    for other in others.lenders():
        if _lacks(other, script):
            continue
        spellings = [other.own(p.text) for p in letters]
        if all(spelling is not None for spelling in spellings):
            for part, spelling in zip(letters, spellings, strict=True):
                part.owner, part.spelling = other, spelling
            return other
    for part in letters:
        part.spelling = None
    return None


def _lacks(typeface: Letters, script: str) -> bool:
    """Tell whether a typeface lacks a script as a whole."""
    return any(typeface.own(c) is None for c in COMMON_LETTERS.get(script, ""))


def _one_letter(part: Cluster, asked: Letters, others: Others, plan: LinePlan) -> None:
    part.spelling = asked.ornament(part.text)
    if part.spelling is not None:
        if drawing_for(part.text) != part.text:
            plan.problems.append(_drawn(part, asked))
        return
    spelling = "".join(c for c in part.text if not invisible(c))
    for how in ("own", "composed"):
        for other in others.lenders():
            part.spelling = other.own(spelling) if how == "own" else other.composed(spelling)
            if part.spelling is not None:
                part.owner = other
                if other.facts.id in asked.facts.companions and _is_mark(part.text):
                    plan.lent.setdefault(other.facts.id, []).append(part)
                else:
                    plan.problems.append(_borrowed(part, asked, other))
                return


def _is_mark(text: str) -> bool:
    """Tell whether a cluster is a figure or a mark that all scripts share, such as 7 or '&': it has no hand of its own."""
    return script_of(text[0]) == "Zyyy" and unicodedata.category(text[0])[0] in "NPS" and not _is_sign(text)


def _is_sign(text: str) -> bool:
    """Tell whether a cluster is a picture or sign that words can do without."""
    return unicodedata.category(text[0]) in ("So", "Sk", "Cn") or "\U0001f000" <= text[0] <= "\U0001faff"


def _leave_out(plan: LinePlan, asked: Letters, others: Others) -> None:
    rest = any(p.spelling is not None and p.text[0].isalnum() for p in plan.parts)
    missing: dict[str, list[str]] = {}
    for i, part in enumerate(plan.parts):
        if part.spelling is not None:
            continue
        if rest and _is_sign(part.text):
            part.left_out = True
            plan.problems.append(_left_out(part))
            _close_up(plan.parts, i)
        else:
            missing.setdefault(part.script, []).append(part.text)
    for letters in missing.values():
        plan.problems.append(_missing(list(dict.fromkeys(letters)), asked, others))


def _close_up(parts: Sequence[Cluster], i: int) -> None:
    """Drop one of the two spaces between which a sign was left out, or the one beside it at the end of a line."""
    before = next((p for p in reversed(parts[:i]) if not p.left_out), None)
    after = parts[i + 1] if i + 1 < len(parts) else None
    if before is not None and before.text.isspace() and (after is None or after.text.isspace()):
        before.left_out = True
    elif before is None and after is not None and after.text.isspace():
        after.left_out = True


def _scale(plan: LinePlan, asked: Letters) -> None:
    """Fit the companions' letters to the height of those around them."""
    capitals = any(p.spelling is not None and p.script in CASED_SCRIPTS for p in plan.parts)
    for part in plan.parts:
        if part.owner is asked or part.spelling is None:
            continue
        if part.script not in CASED_SCRIPTS and part.script[0] != "Z":
            part.scale = BESIDE_CAPITALS if capitals else 1.0
        elif part.text[0].islower() and not _lacks(asked, part.script):
            part.scale = min(X_FIT[1], max(X_FIT[0], asked.x_height / part.owner.x_height))


def _tell_composed(plan: LinePlan, asked: Letters) -> None:
    """Tell which letters were made of parts; of quotes and dashes nothing is seen, so nothing is said."""
    made = {
        p.text: p.spelling.how for p in plan.parts if p.spelling is not None and p.owner is asked and p.spelling.how
    }
    for text, how in made.items():
        if unicodedata.category(text[0]) in ("Lu", "Ll", "Lt", "Lo"):  # not the letter-like apostrophes (Lm)
            says = f"{text}: {asked.facts.title} has none of its own; {how}."
            plan.problems.append(Problem("letter-composed", "note", says, text))


def _named(typeface: Letters) -> str:
    title, ident = typeface.facts.title, typeface.facts.id
    return title if title == ident else f"{title} ({ident})"


def _borrowed(part: Cluster, asked: Letters, other: Letters) -> Problem:
    says = f"{part.text} is set in {_named(other)}, because {_named(asked)} lacks {name_of(part.text[0])}."
    return Problem("letter-from-companion", "look", says, part.text, other.facts.id, asked.facts.id)


def _marks_lent(parts: Sequence[Cluster], asked: Letters) -> Problem:
    """Return the note on figures and marks that come from the companion which the typeface's table names for them."""
    signs = " ".join(dict.fromkeys(part.text for part in parts))
    other = parts[0].owner
    says = f"{_named(asked)} has no {signs} of its own: they come from {_named(other)}, which goes with it."
    return Problem("letter-from-companion", "note", says, signs, other.facts.id, asked.facts.id)


def _script_borrowed(word: str, script: str, asked: Letters, other: Letters) -> Problem:
    says = f"{word} is set in {_named(other)}, because {_named(asked)} has no {script_name(script)} letters."
    return Problem("letter-from-companion", "look", says, word, other.facts.id, asked.facts.id)


def _drawn(part: Cluster, asked: Letters) -> Problem:
    what = unicodedata.name(part.text[0], "sign").lower()
    return Problem("sign-drawn", "note", f"{part.text} ({what}) is cut as a plain drawing of it.", part.text)


def _left_out(part: Cluster) -> Problem:
    near = f"{offer}. " if (offer := _near(part.text)) else ""
    says = (
        f"{part.text} was left out: no typeface on the shelf has {name_of(part.text[0])}. {near}Ask the buyer "
        "whether the words are right without it."
    )
    return Problem("sign-left-out", "look", says, part.text)


def _near(sign: str) -> str:
    """Return the offer of a drawing of ours that comes near to a sign, without a full stop; '' where none does."""
    drawing = nearest_drawing(sign)
    return f"Of ours {name_of(drawing)} comes nearest, if it is written instead" if drawing else ""


def _elsewhere(letter: str) -> str:
    """Return what helps where no typeface on the shelf has a letter: an open family that does, if one is known."""
    script = script_of(letter)
    family = OPEN_FAMILIES.get(script, f"Noto Sans {script_name(script)}" if script in NOTO_SANS else "")
    if not family:
        return ". ".join(filter(None, ("No typeface here has it: ask for other words", _near(letter))))
    return (
        f"No typeface here has it. An open family with {script_name(script)} letters is {family}: put its font file into "
        "the shop's folder typefaces/, or ask for other words"
    )


def _missing(letters: Sequence[str], asked: Letters, others: Others) -> Problem:
    """Return what is to be said of letters of one script that nobody has."""
    lacking = next((c for c in letters[0] if asked.own(c) is None and not invisible(c)), letters[0][0])
    more = f" and {len(letters) - 1} more of its script ({' '.join(letters[1:])})" if len(letters) > 1 else ""
    having = others.having(lacking)
    help_ = f"Typefaces that have it: {', '.join(having)}" if having else _elsewhere(lacking)
    says = (
        f"{_named(asked)} lacks {name_of(lacking)}{more}, and so does every {asked.facts.kind} typeface here. {help_}."
    )
    return Problem("letter-missing", "hold", says, "".join(letters), name_of(lacking), asked.facts.id)
