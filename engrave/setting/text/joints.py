"""Which words stay together when lines are broken: the joints of a line, by rules whose words and reasons are data.

The data are in `joints.toml`: a weight and a reason for each rule, and the words of the languages of the orders. A rule
here is a question about one place between two words; strong answers win over weak ones, the order decides among equals.
The languages are taken from the line itself: those whose little words it holds most of.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any, Literal

from engrave.kept_data import made_ready

Weight = Literal["strong", "weak", "plain", "phrase", "stop"]

_DATA = Path(__file__).with_name("joints.toml")

STOPS = ",;:!?…。、，"
"""Marks after which a line ends well; a full stop does as well, where it closes no abbreviation."""

CLOSERS, OPENERS = frozenset("!?;:,.…»”’)]%"), frozenset("«“„¿¡([")
DASHES = frozenset("–—-―−")
DOTS = frozenset("·•∙⋅|/~")
COUNTERS = frozenset("年月日時分秒歳才周回号年")
"""What follows a number in Japanese and Chinese."""

SHORT_NAME = 3
"""Letters up to which a name counts as short: 'Jo & Al', 'Mum & Dad'."""

TWO_WORDS = 14
"""Characters up to which two words are one line whatever they are; 'Ninety today!' has 13."""

SIGNED_WORDS = 5
"""Words a signature has at most: 'from Mum, Dad and Bo'."""

ALL_CAPITALS_PAIR = 5
"""Words up to which 'A AND B' in capitals is read as two names; in longer texts 'AND' is an ordinary word."""

_NUMBER = re.compile(
    r"[€$£¥#(~±]?[\d½¼¾⅓⅔][\d.,:/’'⁄½¼¾⅓⅔–-]*(st|nd|rd|th|er|ère|re|e|º|ª|°|%|\.|-?го)?", re.IGNORECASE
)
_ORDINAL = re.compile(r"\d{1,3}(st|nd|rd|th|er|ère|re|e|º|ª|\.|-?го)", re.IGNORECASE)
_DAY = re.compile(r"[0-3]?\d(st|nd|rd|th|er|º|ª|\.|-?го)?", re.IGNORECASE)
_YEAR = re.compile(r"(1[0-9]|20|21)\d\d|[’'‘]\d\d")
_ROMAN = re.compile(r"I{2,3}|IV|VI{0,3}|IX|XI{0,3}")
_INITIAL = re.compile(r"([^\W\d_]\.-?)+|[A-ZÀ-ÖØ-ÞΑ-ΩА-ЯЄІЇ]")
_DEGREES = re.compile(r"[°′″º]|\d['\"]")


@dataclass(frozen=True, slots=True)
class Joint:
    """What ending a line between two words would do. rule: its name in the data; '' where no rule joins them."""

    weight: Weight
    rule: str = ""


@dataclass(frozen=True, slots=True)
class Language:
    """Little words of one language, or of several together."""

    leads: frozenset[str]
    conjunctions: frozenset[str]
    signed: frozenset[str]
    dates: frozenset[str]
    of: frozenset[str]
    hard: bool

    def hits(self, bare: Iterable[str]) -> int:
        """Return how many words are little words of this language."""
        return sum(w in self.leads or w in self.conjunctions for w in bare)


@dataclass(frozen=True, slots=True)
class JointTable:
    """The data: rules by name with weight and reason, words by use, languages, months."""

    rules: Mapping[str, tuple[Weight, str]]
    words: Mapping[str, frozenset[str]]
    languages: Mapping[str, Language]
    months: frozenset[str]


@cache
def joint_table() -> JointTable:
    """Return the joints known, read once from the package's own data."""
    data = made_ready("joints", [_DATA], _parsed)
    rules = {name: (r["weight"], r["why"]) for name, r in data["rules"].items()}
    words = {name: frozenset(w) for name, w in data["words"].items()}
    languages = {name: _language([entry]) for name, entry in data["languages"].items()}
    return JointTable(rules, words, languages, frozenset(m for names in data["months"].values() for m in names))


def _parsed() -> dict[str, Any]:
    return tomllib.loads(_DATA.read_text(encoding="utf-8"))


def _language(entries: Sequence[Mapping[str, Any]]) -> Language:
    def every(key: str) -> frozenset[str]:
        return frozenset(w for e in entries for w in e[key])

    hard = any(e.get("hard", False) for e in entries)
    return Language(every("leads"), every("conjunctions"), every("from"), every("dates"), every("of"), hard)


def spoken_in(bare: Sequence[str]) -> Language:
    """Return the language of words by their little words; several together where they are level, English alone if it is."""
    known = joint_table().languages
    hits = {name: of.hits(bare) for name, of in known.items()}
    most = max(hits.values())
    named = [name for name, n in hits.items() if n == most] if most else []
    chosen = [known["en"]] if "en" in named else [known[name] for name in named]
    return Language(
        frozenset().union(*(c.leads for c in chosen)),
        frozenset().union(*(c.conjunctions for c in (chosen or known.values()))),
        frozenset().union(*(c.signed for c in chosen)),
        frozenset().union(*(c.dates for c in known.values())),
        frozenset().union(*(c.of for c in known.values())),
        any(c.hard for c in chosen),
    )


def bare_word(word: str) -> str:
    """Return a word in lower case, without the marks around it."""
    return word.strip('"“”„«»()[]¿¡').rstrip(".,;:!?…").casefold()


class JoinedWords:
    """The words of one line as written, with what the rules ask of them. `k` is a word's place; a joint follows it."""

    def __init__(self, words: Sequence[str], language: Language | None = None) -> None:
        self.words = tuple(words)
        self.bare = tuple(bare_word(w) for w in words)
        self.table = joint_table()
        self.language = language or spoken_in(self.bare)
        self.last = len(self.words) - 1

    @cached_property
    def all_capitals(self) -> bool:
        """Whether no small letter is written."""
        return not any(c.islower() for w in self.words for c in w)

    def has(self, k: int, use: str) -> bool:
        """Tell whether there is a word k and the data name it for a use."""
        return 0 <= k <= self.last and self.bare[k] in self.table.words[use]

    def marked(self, k: int, use: str) -> bool:
        """Tell the same of a word as written, for signs that stripping would lose."""
        return 0 <= k <= self.last and (self.words[k].casefold() in self.table.words[use] or self.has(k, use))

    def stops(self, k: int) -> bool:
        """Tell whether a mark after the word lets a line end."""
        word = self.words[k].rstrip('"”»’)')
        if word[-1:] == "." and not _INITIAL.fullmatch(word):
            return not any(self.has(k, use) for use in ("titles", "labels", "units", "suffixes", "year_marks")) and (
                not _NUMBER.fullmatch(word)
            )
        return word[-1:] in STOPS and len(word) > 1

    def is_name(self, k: int) -> bool:
        """Tell whether the word begins with a capital, or with a letter of a script that has none."""
        if not 0 <= k <= self.last:
            return False
        first = next((c for c in self.words[k] if c.isalnum()), "")
        return first.isalpha() and not first.islower()

    def is_number(self, k: int) -> bool:
        """Tell whether the word is a number in figures."""
        return 0 <= k <= self.last and _NUMBER.fullmatch(self.words[k].rstrip(",;:!?)")) is not None

    def is_day(self, k: int) -> bool:
        """Tell whether the word can be a day of the month."""
        return 0 <= k <= self.last and _DAY.fullmatch(self.words[k].strip("(").rstrip(",;!?)")) is not None

    def is_month(self, k: int) -> bool:
        """Tell whether the word is the name of a month."""
        return 0 <= k <= self.last and self.bare[k] in self.table.months

    def is_year(self, k: int) -> bool:
        """Tell whether the word is a year."""
        return 0 <= k <= self.last and _YEAR.fullmatch(self.words[k].strip("(").rstrip(".,;:!?)")) is not None

    def is_initial(self, k: int) -> bool:
        """Tell whether the word is one letter with a full stop, several so, or one capital."""
        return 0 <= k <= self.last and _INITIAL.fullmatch(self.words[k].rstrip(",")) is not None

    def is_sign(self, k: int) -> bool:
        """Tell whether the word is '&', '+' or the like."""
        if not 0 <= k <= self.last:
            return False
        word = self.words[k]
        if word in ("x", "×", "X"):
            return self.is_name(k - 1) and self.is_name(k + 1) and word != "X"
        return word.casefold() in self.table.words["signs"]

    def is_conjunction(self, k: int) -> bool:
        """Tell whether the word is 'and' between two names."""
        between = self.language.conjunctions | self.table.words["joiners"]
        if not 0 < k < self.last or self.bare[k] not in between or self.stops(k):
            return False
        if self.all_capitals and any(c.isupper() for w in self.words for c in w):
            return len(self.words) <= ALL_CAPITALS_PAIR
        return self.is_name(k - 1) and self.is_name(k + 1) and self.bare[k + 1] not in self.language.leads

    def is_title(self, k: int) -> bool:
        """Tell whether the word is a title or an abbreviation before a name."""
        if not self.has(k, "titles"):
            return False
        word = self.words[k]
        dotted = word.endswith(".")
        return dotted or (
            word[:1].isupper() and len(word) > 1 and word not in ("Me", "No", "Pt", "Fa", "Em", "Ing", "As")
        )

    def is_ornament(self, k: int) -> bool:
        """Tell whether the word is a heart, a star or a dot, and nothing else."""
        if not 0 <= k <= self.last:
            return False
        return all(
            unicodedata.category(c) in ("So", "Sk", "Mn", "Cf") or c in DOTS or c in "†‡*" for c in self.words[k]
        )

    def is_lone(self, k: int) -> bool:
        """Tell whether the word may have a line of its own between two names, as '&' often has."""
        return 0 < k < self.last and (self.is_sign(k) or self.is_conjunction(k)) and not self.is_number(k + 1)

    def letters(self, k: int) -> int:
        """Return how many letters and figures the word has."""
        return sum(c.isalnum() for c in self.words[k]) if 0 <= k <= self.last else 0


JointRule = Callable[[JoinedWords, int], bool]


def joints_of(words: Sequence[str], language: Language | None = None) -> tuple[Joint, ...]:
    """Return the joints between the words of one line, one fewer than there are words."""
    of = JoinedWords(words, language)
    out: list[Joint] = []
    for k in range(of.last):
        found = _joint(of, k)
        ends_group = found.weight == "plain" and out and out[-1].weight == "strong"
        out.append(Joint("phrase", "after-group") if ends_group else found)
    return tuple(out)


def _joint(of: JoinedWords, k: int) -> Joint:
    weak = ""
    for name, (weight, _) in of.table.rules.items():
        if (weight == "strong" or not weak) and RULES[name](of, k):
            if weight == "strong":
                return Joint("strong", name)
            weak = name
    if weak:
        return Joint("weak", weak)
    if of.stops(k):
        return Joint("plain", "list") if _lists_names(of, k) else Joint("stop")
    begins = of.bare[k + 1] in of.language.leads or of.bare[k + 1] in of.language.conjunctions
    return Joint("phrase" if begins or of.is_sign(k + 1) else "plain")


def _lists_names(of: JoinedWords, k: int) -> bool:
    """Tell whether a comma only parts single names in a row that ends with '&' or 'and': 'Emeka, Ife & Tobe'."""
    if not (of.words[k].endswith(",") and of.is_name(k) and of.is_name(k + 1) and (k == 0 or of.stops(k - 1))):
        return False
    last = next((j for j in range(k + 1, of.last) if not of.words[j].endswith(",")), of.last)
    return of.is_sign(last + 1) or of.is_conjunction(last + 1)


# --- marks and pairs --------------------------------------------------------------------------------------------


def _spaced_punctuation(of: JoinedWords, k: int) -> bool:
    return set(of.words[k + 1]) <= CLOSERS or set(of.words[k]) <= OPENERS


def _dash(of: JoinedWords, k: int) -> bool:
    if set(of.words[k + 1]) <= DASHES:
        return True
    return set(of.words[k]) <= DASHES and of.is_number(k - 1) and of.is_number(k + 1)


def _ornament(of: JoinedWords, k: int) -> bool:
    return of.is_ornament(k) or of.is_ornament(k + 1)


def _pair(of: JoinedWords, k: int) -> bool:
    return of.is_sign(k) or of.is_conjunction(k)


def _pair_of_letters(of: JoinedWords, k: int) -> bool:
    joins = of.is_sign(k + 1) or of.is_conjunction(k + 1)
    return joins and of.letters(k) == 1 == of.letters(k + 2)


def _short_pair(of: JoinedWords, k: int) -> bool:
    joins = (of.is_sign(k + 1) or of.is_conjunction(k + 1)) and not of.stops(k)
    return joins and of.letters(k) <= SHORT_NAME and 0 < of.letters(k + 2) <= SHORT_NAME


# --- names ------------------------------------------------------------------------------------------------------


def _titles(of: JoinedWords, k: int) -> bool:
    if of.is_title(k) and of.is_title(k + 1):
        return True
    return of.is_title(k) and of.is_title(k + 2) and (of.is_sign(k + 1) or of.bare[k + 1] in of.language.conjunctions)


def _title(of: JoinedWords, k: int) -> bool:
    """A title and its name; after two titles ('Mr & Mrs', 'Prof. em. Dr.') the name may begin a line."""
    if not of.is_title(k) or not (of.is_name(k + 1) or of.is_initial(k + 1) or of.has(k + 1, "particles")):
        return False
    joined = of.is_sign(k - 1) or (k > 0 and of.bare[k - 1] in of.language.conjunctions)
    return not of.is_title(k - 1) and not (joined and of.is_title(k - 2))


def _kin(of: JoinedWords, k: int) -> bool:
    kin = of.has(k, "kin") or of.has(k, "offices")
    return kin and len(of.words) > 2 and of.is_name(k + 1) and not of.stops(k)


def _suffix(of: JoinedWords, k: int) -> bool:
    word, ends = of.words[k + 1].rstrip(".,;!?"), k + 1 == of.last or of.stops(k + 1) or of.has(k + 2, "suffixes")
    if not of.is_name(k) and not of.is_initial(k):
        return False
    if _ROMAN.fullmatch(word):
        return len(word) > 1 or ends
    return of.has(k + 1, "suffixes") and (of.is_name(k + 1) or word.islower()) and (ends or "." in of.words[k + 1])


def _initials(of: JoinedWords, k: int) -> bool:
    return of.is_initial(k) and of.is_initial(k + 1) and "," not in of.words[k]


def _initial(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or of.is_sign(k) or of.is_conjunction(k):
        return False
    if of.is_initial(k + 1) and of.is_name(k) and of.bare[k] not in of.language.leads:
        return of.bare[k + 1] not in of.language.leads or of.words[k + 1].endswith(".")
    after_name = of.is_name(k - 1) and not of.is_initial(k - 1) and not of.is_title(k - 1) and not of.stops(k - 1)
    return of.is_initial(k) and of.is_name(k + 1) and not after_name


def _full_name(of: JoinedWords, k: int) -> bool:
    return of.is_title(k - 1) and of.is_title(k - 2) and not of.is_title(k) and of.is_name(k) and of.is_name(k + 1)


def _surname(of: JoinedWords, k: int) -> bool:
    """A particle and what follows it, inside a name: after a name, or itself with a capital."""
    if of.stops(k) or not (of.is_name(k + 1) or of.has(k + 1, "after_particles") or of.has(k + 1, "particles")):
        return False
    within = (
        of.is_name(k - 1) and not of.stops(k - 1) and not of.all_capitals and of.bare[k - 1] not in of.language.leads
    )
    if of.has(k, "after_particles") and k and of.has(k - 1, "particles"):
        return True
    if of.has(k, "particles"):
        return within or of.is_title(k - 1) or (of.is_name(k) and not of.all_capitals)
    return of.has(k, "capital_particles") and of.is_name(k) and within


def _signed(of: JoinedWords, k: int) -> bool:
    ends = of.last - k <= SIGNED_WORDS
    return of.bare[k] in of.language.signed and of.is_name(k + 1) and not of.all_capitals and ends


def _sign_off(of: JoinedWords, k: int) -> bool:
    ends = of.last - k <= SIGNED_WORDS
    return of.words[k].endswith(",") and of.has(k, "signing") and of.is_name(k + 1) and ends


def _short_list(of: JoinedWords, k: int) -> bool:
    joins = of.is_sign(k + 2) or of.is_conjunction(k + 2)
    return joins and of.words[k].endswith(",") and of.letters(k) <= 4 and of.letters(k + 1) <= SHORT_NAME


def _head(of: JoinedWords, k: int) -> bool:
    names = of.is_name(k) and of.is_name(k + 1) and not of.stops(k) and of.bare[k] not in of.language.leads
    return names and of.has(k + 1, "heads") and len(of.words) > 2 and not of.is_sign(k - 1) and not of.is_sign(k)


# --- figures ----------------------------------------------------------------------------------------------------


def _coordinate(of: JoinedWords, k: int) -> bool:
    if of.stops(k):
        return False
    here, there = (_DEGREES.search(of.words[j]) is not None for j in (k, k + 1))
    if here and (of.has(k + 1, "quarters") or there):
        return True
    before = k > 0 and _DEGREES.search(of.words[k - 1]) is not None
    return of.has(k, "quarters") and there and not before


def _unit(of: JoinedWords, k: int) -> bool:
    if of.marked(k, "before_numbers") and of.is_number(k + 1):
        return True
    if of.words[k + 1][0] in COUNTERS and of.words[k][-1].isdigit():
        return True
    if of.stops(k):
        return False
    if of.is_number(k) or of.has(k, "numerals"):
        if of.has(k + 1, "times"):
            return True
        return of.is_number(k) and not of.is_year(k) and _is_unit(of, k + 1)
    return of.is_number(k - 1) and _is_unit(of, k) and of.is_number(k + 1) and not of.is_year(k + 1)


def _is_unit(of: JoinedWords, k: int) -> bool:
    """Tell whether a word after a number is its unit; 'in' is one only where no noun follows."""
    if of.has(k, "times"):
        return True
    if of.bare[k] == "in" and k < of.last and not of.is_number(k + 1) and not of.stops(k):
        return False
    return of.marked(k, "units")


def _number(of: JoinedWords, k: int) -> bool:
    if of.stops(k):
        return False
    if of.is_number(k) and of.is_number(k + 1) and not of.is_year(k + 1):
        return not _DEGREES.search(of.words[k])
    between = (of.is_number(k) and of.is_number(k + 2) and of.marked(k + 1, "between_numbers")) or (
        of.is_number(k - 1) and of.is_number(k + 1) and of.marked(k, "between_numbers")
    )
    return between and not of.is_month(k + 2)


def _label(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or not of.marked(k, "labels"):
        return False
    figure = of.is_number(k + 1) or _ROMAN.fullmatch(of.words[k + 1].rstrip(".,;!?")) is not None
    born = of.bare[k] in ("née", "né", "geb", "nar", "roz", "zd") and of.is_name(k + 1)
    return (figure and not (of.is_day(k + 1) and of.is_month(k + 2))) or born


def _numbered(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or not of.is_number(k + 1) or of.is_year(k + 1) or not of.is_name(k) or of.is_month(k):
        return False
    if _DEGREES.search(of.words[k + 1]):
        return False
    return not (_counts(of, k + 1) or of.is_month(k + 2))


def _counts(of: JoinedWords, k: int) -> bool:
    """Tell whether the number is followed by what it counts."""
    return k < of.last and not of.stops(k) and (_is_unit(of, k + 1) or of.words[k + 1][:1].islower())


def _counted(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or of.is_year(k) or not of.is_number(k):
        return False
    ordinal = _ORDINAL.fullmatch(of.words[k]) is not None
    small = of.words[k + 1][:1].islower() and of.bare[k + 1] not in of.language.leads
    return ordinal or (small and of.bare[k + 1] not in of.language.conjunctions)


def _day_and_month(of: JoinedWords, k: int) -> bool:
    if of.is_year(k) and of.has(k + 1, "year_marks") and of.words[k + 1][:1].islower():
        return True
    if of.is_day(k) and (of.is_month(k + 1) or (of.is_month(k + 2) and of.bare[k + 1] in of.language.of)):
        return True
    if of.is_month(k) and of.is_day(k + 1) and not of.stops(k):
        return not _counts(of, k + 1) or of.is_year(k + 2)
    if of.is_day(k - 1) and of.bare[k] in of.language.of and of.is_month(k + 1):
        return True
    dated = of.is_month(k + 2) or (of.is_month(k + 3) and of.bare[min(k + 2, of.last)] in of.language.of)
    return of.bare[k] in of.language.dates and of.is_day(k + 1) and dated


def _year(of: JoinedWords, k: int) -> bool:
    return of.is_year(k + 1) and not of.stops(k) and not set(of.words[k]) <= DASHES


# --- little words -----------------------------------------------------------------------------------------------


def _one_letter(of: JoinedWords, k: int) -> bool:
    word = of.words[k]
    if len(word) != 1 or not word.isalpha():
        return False
    return (of.bare[k] in "wzksvвкс" and word.islower()) or (of.language.hard and of.bare[k] in of.language.leads)


def _little_word(of: JoinedWords, k: int) -> bool:
    if of.stops(k):
        return False
    word = of.bare[k]
    alone = len(of.words[k]) == 1 and word.isalpha() and of.words[k].islower()
    return word in of.language.leads or alone or (word in of.language.conjunctions and not _lists(of, k))


def _lists(of: JoinedWords, k: int) -> bool:
    """Tell whether a one-letter or common word stands for something else: a kiss, a letter at the end."""
    return of.bare[k] == "x"


def _not(of: JoinedWords, k: int) -> bool:
    return of.bare[k + 1] == "not" and not of.stops(k)


def _all_of(of: JoinedWords, k: int) -> bool:
    return of.bare[k + 1] == "of" and of.has(k, "quantities") and not of.stops(k)


def _idiom(of: JoinedWords, k: int) -> bool:
    return f"{of.bare[k]} {of.bare[k + 1]}" in of.table.words["idioms"]


def _two_words(of: JoinedWords, k: int) -> bool:
    short = of.last == 1 and sum(map(len, of.words)) < TWO_WORDS
    return short and (of.stops(k) or of.words[k + 1][:1].islower())


RULES: Mapping[str, JointRule] = {
    "spaced-punctuation": _spaced_punctuation, "dash": _dash, "ornament": _ornament, "pair": _pair,
    "pair-of-letters": _pair_of_letters, "short-pair": _short_pair, "titles": _titles, "title": _title, "kin": _kin,
    "suffix": _suffix, "initials": _initials, "initial": _initial, "full-name": _full_name, "coordinate": _coordinate,
    "unit": _unit, "number": _number, "label": _label, "numbered": _numbered, "counted": _counted,
    "day-and-month": _day_and_month, "year": _year, "surname": _surname, "one-letter": _one_letter,
    "little-word": _little_word, "not": _not, "all-of": _all_of, "signed": _signed, "sign-off": _sign_off, "idiom": _idiom,
    "two-words": _two_words, "short-list": _short_list, "head": _head,
}  # fmt: skip
"""What each rule of the data asks."""
