"""The rules by which words stay together, each a question about one place between two words; see `joints.toml` for reasons."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping

from engrave.setting.text.joined_words import JoinedWords

CLOSERS, OPENERS = frozenset("!?;:,.…»”’)]%"), frozenset("«“„¿¡([")

DASHES = frozenset("–—-―−")

COUNTERS = frozenset("年月日時分秒歳才周回号")
"""What follows a number in Japanese and Chinese."""

SHORT_NAME = 3
"""Letters up to which a name counts as short: 'Jo & Al', 'Mum & Dad'."""

TWO_WORDS = 14
"""Characters up to which two words are one line whatever they are; 'Ninety today!' has 13."""

UNSPACED_NAME = 5
"""Letters up to which a run without blanks is a name: Japanese ones have three to five, Chinese and Korean ones fewer."""

WORD_ENDING_KANA = frozenset("へを")
"""Hiragana that stand behind a word to say whom or what, and within hardly any (common practice, no source)."""

SIGNED_WORDS = 5
"""Words a signature has at most: 'from Mum, Dad and Bo'."""

BOOK_NUMBERS = frozenset(("1", "2", "3", "i", "ii", "iii"))
"""Numbers of books of the Bible that bear the same name."""

_ORDINAL = re.compile(r"\d{1,3}(st|nd|rd|th|er|ère|re|e|º|ª|\.|-?го)", re.IGNORECASE)

_ROMAN = re.compile(r"I{2,3}|IV|VI{0,3}|IX|XI{0,3}")

_VERSE = re.compile(r"\d{1,3}[:,]\d{1,3}([-–,]\d{1,3})*")
"""Chapter and verse: '13:4-7', in German '13,4'."""

_CHAPTER = re.compile(r"\d{1,3}")

_HOUSE = re.compile(r"\d{1,4}[A-Za-z]?")

_PART = re.compile(r"\d{1,3}(?!st|nd|rd|th|er|re)[A-Za-z]{1,2}")
"""A class, an age group: '4b', 'Under 12s'."""

_KISSES = re.compile(r"[xXoO]{1,5}[.!]*")

_DEGREES = re.compile(r"[°′″º]|\d['\"]")

JointRule = Callable[[JoinedWords, int], bool]


# --- marks and pairs ---------------------------------------------------------------------------------------------


def _spaced_punctuation(of: JoinedWords, k: int) -> bool:
    return set(of.words[k + 1]) <= CLOSERS or set(of.words[k]) <= OPENERS


def _dash(of: JoinedWords, k: int) -> bool:
    if set(of.words[k + 1]) <= DASHES:
        return True
    between = set(of.words[k]) <= DASHES and of.is_number(k - 1) and of.is_number(k + 1)
    return between and not (of.is_day(k + 1) and of.is_month(k + 2))


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


def _unspaced_name(of: JoinedWords, k: int) -> bool:
    """A short run of letters without a blank in it: a name, such as four Chinese letters."""
    if k not in of.unspaced:
        return False
    first, last = k, k + 1
    while first - 1 in of.unspaced:
        first -= 1
    while last in of.unspaced:
        last += 1
    return sum(of.letters(j) for j in range(first, last + 1)) <= UNSPACED_NAME


def _unspaced_word(of: JoinedWords, k: int) -> bool:
    """Inside a word of Japanese or Chinese; hiragana end a word, and what is no hiragana begins the next.

    So do he and wo, which tell whom or what, whatever stands behind them.
    """
    if k not in of.unspaced or of.stops(k):
        return False
    before, after = of.words[k][-1], of.words[k + 1][0]
    return before not in WORD_ENDING_KANA and (not _is_hiragana(before) or _is_hiragana(after))


def _is_hiragana(char: str) -> bool:
    return unicodedata.name(char, "").startswith("HIRAGANA")


# --- names -------------------------------------------------------------------------------------------------------


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
    if of.words[k].endswith(",") and of.is_title(k + 1) and of.is_name(k + 2):
        return False  # 'Whitcombe, St. Ives': a place, no senior nor lieutenant
    if _ROMAN.fullmatch(word):
        return len(word) > 1 or ends
    return of.has(k + 1, "suffixes") and (of.is_name(k + 1) or word.islower()) and (ends or "." in of.words[k + 1])


def _initials(of: JoinedWords, k: int) -> bool:
    return of.is_initial(k) and of.is_initial(k + 1) and "," not in of.words[k]


def _initial(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or of.is_sign(k) or of.is_conjunction(k) or of.is_title(k):
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


# --- figures -----------------------------------------------------------------------------------------------------


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
    if of.is_number(k) and of.is_number(k + 2) and of.marked(k + 1, "between_numbers"):
        return not (of.is_month(k + 2) or of.is_month(k + 3))
    between = of.is_number(k - 1) and of.is_number(k + 1) and of.marked(k, "between_numbers")
    return between and not of.is_month(k + 2)


def _label(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or not of.marked(k, "labels"):
        return False
    figure = of.is_number(k + 1) or _ROMAN.fullmatch(of.words[k + 1].rstrip(".,;!?")) is not None
    born = of.bare[k] in ("née", "né", "geb", "nar", "roz", "zd") and of.is_name(k + 1)
    return (figure and not (of.is_day(k + 1) and of.is_month(k + 2))) or born


def _verse(of: JoinedWords, k: int) -> bool:
    if _chapter_and_verse(of, k):
        return True
    if of.stops(k):
        return False
    is_book = of.is_name(k) and of.has(k, "books") and of.words[k].endswith(".")
    in_book = of.is_name(k + 1) and (_is_verse(of, k + 2) or (of.has(k + 1, "books") and of.is_number(k + 2)))
    return (of.bare[k] in BOOK_NUMBERS and in_book) or (
        of.is_name(k) and (_is_verse(of, k + 1) or (is_book and of.is_number(k + 1)))
    )


def _chapter_and_verse(of: JoinedWords, k: int) -> bool:
    """A chapter and its verse with a blank between them: 'Ps. 23, 4'."""
    if not k or not of.words[k].endswith(",") or not _CHAPTER.fullmatch(of.words[k][:-1]):
        return False
    in_bible = of.bare[k - 1] in ("ps", "psalm") or of.has(k - 1, "books")
    return in_bible and of.is_number(k + 1) and not of.is_month(k + 2) and not of.is_year(k + 1)


def _is_verse(of: JoinedWords, k: int) -> bool:
    return k <= of.last and _VERSE.fullmatch(of.words[k].rstrip(".,;!)")) is not None


def _house_number(of: JoinedWords, k: int) -> bool:
    named = of.is_name(k + 1) and of.has(k + 2, "heads") and not of.stops(k) and not of.stops(k + 1)
    labelled = k > 0 and of.marked(k - 1, "labels")  # 'No. 9' may end a line
    return named and not labelled and _HOUSE.fullmatch(of.words[k]) is not None and not of.is_year(k)


def _numbered(of: JoinedWords, k: int) -> bool:
    if of.stops(k) or of.is_year(k + 1) or not of.is_name(k) or of.is_month(k):
        return False
    if _PART.fullmatch(of.words[k + 1].rstrip(".,;!?)")):
        return not _is_unit(of, k + 1)
    if not of.is_number(k + 1):
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


def _date_goes_on(of: JoinedWords, k: int) -> bool:
    """A month and its year, with more behind them than a mark of years."""
    if not (of.is_month(k) and of.is_year(k + 1)) or of.stops(k) or k + 1 == of.last:
        return False
    return not (k + 2 == of.last and of.has(k + 2, "year_marks"))


def _year(of: JoinedWords, k: int) -> bool:
    return of.is_year(k + 1) and not of.stops(k) and not set(of.words[k]) <= DASHES


# --- little words ------------------------------------------------------------------------------------------------


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


def _great_kin(of: JoinedWords, k: int) -> bool:
    return of.has(k, "kin_begins") and of.has(k + 1, "kin")


def _compound(of: JoinedWords, k: int) -> bool:
    return not of.stops(k) and f"{of.bare[k]} {of.bare[k + 1]}" in of.table.words["compounds"]


def _place_name(of: JoinedWords, k: int) -> bool:
    if not of.has(k, "place_begins") or not of.is_name(k) or of.stops(k):
        return False
    return of.is_name(k + 1) or (of.bare[k] == "isle" and of.bare[k + 1] == "of")


def _kisses(of: JoinedWords, k: int) -> bool:
    ends = k + 1 == of.last or of.stops(k + 1)
    sends = of.bare[k].isalpha() and not (_KISSES.fullmatch(of.words[k]) or of.is_initial(k))
    return ends and sends and not of.stops(k) and _KISSES.fullmatch(of.words[k + 1]) is not None


JOINT_RULES: Mapping[str, JointRule] = {
    "spaced-punctuation": _spaced_punctuation, "dash": _dash, "ornament": _ornament, "pair": _pair,
    "pair-of-letters": _pair_of_letters, "short-pair": _short_pair, "titles": _titles, "title": _title, "kin": _kin,
    "suffix": _suffix, "initials": _initials, "initial": _initial, "full-name": _full_name, "coordinate": _coordinate,
    "unit": _unit, "number": _number, "label": _label, "verse": _verse,
    "numbered": _numbered, "house-number": _house_number, "counted": _counted,
    "day-and-month": _day_and_month, "date-goes-on": _date_goes_on, "year": _year, "surname": _surname, "one-letter": _one_letter,
    "little-word": _little_word, "not": _not, "all-of": _all_of, "signed": _signed, "sign-off": _sign_off, "idiom": _idiom,
    "unspaced-name": _unspaced_name, "unspaced-word": _unspaced_word, "two-words": _two_words, "short-list": _short_list, "great-kin": _great_kin, "compound": _compound, "place-name": _place_name, "kisses": _kisses, "head": _head,
}  # fmt: skip
"""What each rule of the data asks."""
