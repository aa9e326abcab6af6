"""Names from many locales, counted: set as asked, composed, from a companion, on hold.

The names are made by the Faker library, whose word lists are gathered apart from any typeface.
"""

from __future__ import annotations

import unicodedata
import warnings
from collections import Counter
from functools import lru_cache

import locale_names
import pytest
from faker import Faker
from faker.config import AVAILABLE_LOCALES

from engrave.typefaces import Run, Shelf
from engrave.typefaces.characters import script_of

LOCALES = {
    "Latin": ("en_US", "de_DE", "fr_FR", "es_ES", "pt_BR", "it_IT", "nl_NL", "pl_PL", "cs_CZ", "sk_SK", "hu_HU",
              "ro_RO", "tr_TR", "vi_VN", "da_DK", "sv_SE", "no_NO", "fi_FI", "lt_LT", "lv_LV", "et_EE", "hr_HR",
              "sl_SI", "ga_IE", "az_AZ", "is_IS", "mt_MT", "yo_NG"),
    "Greek": ("el_GR",),
    "Cyrillic": ("ru_RU", "uk_UA", "bg_BG", "mk_MK"),
    "Hebrew": ("he_IL",),
    "Arabic": ("ar_AA", "ar_SA", "fa_IR"),
    "Devanagari": ("hi_IN", "ne_NP", "mr_IN"),
    "Armenian": ("hy_AM",),
    "Georgian": ("ka_GE",),
}  # fmt: skip
NAMES = 40
HOW = ("as asked", "composed", "companion", "hold")
SINGLE_LINE_SCRIPTS = ("Latin", "Greek", "Cyrillic")


def _how(run: Run) -> str:
    codes = {p.code for p in run.problems}
    if {"letter-missing", "sign-left-out"} & codes:
        return "hold"
    if "letter-from-companion" in codes:
        return "companion"
    return "composed" if "letter-composed" in codes else "as asked"


@lru_cache
def _names(locale: str) -> tuple[str, ...]:
    names = Faker(locale)
    names.seed_instance(11)
    return tuple(names.name() for _ in range(NAMES))


def _shares(shelf: Shelf, ident: str, script: str) -> Counter[str]:
    found: Counter[str] = Counter()
    for locale in LOCALES[script]:
        found.update(_how(shelf.get(ident).shape(name)) for name in _names(locale))
    return found


@pytest.mark.source("Faker, names of many locales")
@pytest.mark.slow
@pytest.mark.parametrize("ident", ["noto-sans", "vollkorn", "linux-libertine", "dancing-script", "great-vibes",
                                   "blankenburg", "withy", "ems-readability", "hershey-sans"])  # fmt: skip
def test_names_of_many_locales_are_set(shelf: Shelf, ident: str, capsys: pytest.CaptureFixture[str]) -> None:
    scripts = list(LOCALES) if shelf.get(ident).kind == "outline" else SINGLE_LINE_SCRIPTS
    lines, total = [], Counter[str]()
    for script in scripts:
        shares = _shares(shelf, ident, script)
        total.update(shares)
        count = sum(shares.values())
        lines.append(f"{ident:16} {script:10} " + "  ".join(f"{h} {100 * shares[h] / count:5.1f} %" for h in HOW))
        assert shares["hold"] <= 0.01 * count, lines[-1]
    with capsys.disabled():
        print("\n" + "\n".join(lines))
    assert total["hold"] <= 0.01 * sum(total.values())


@pytest.mark.source("Faker, names of Latin, Greek and Cyrillic locales")
def test_our_own_typeface_sets_all_latin_greek_and_cyrillic_names_as_asked(shelf: Shelf) -> None:
    for script in SINGLE_LINE_SCRIPTS:
        shares = _shares(shelf, "withy", script)
        assert shares["as asked"] >= 0.99 * sum(shares.values()), (script, shares)


@pytest.mark.slow
def test_every_letter_of_the_names_of_sixty_locales_is_at_hand(shelf: Shelf) -> None:
    """Faker's lists, gathered apart: Latin, Greek and Cyrillic in Withy, five more scripts in any typeface."""
    ours, others = set[str](), set[str]()
    count = 0
    for locale in sorted(AVAILABLE_LOCALES):
        with warnings.catch_warnings():  # of locales that go by another name now
            warnings.simplefilter("ignore")
            names = Faker(locale)
        names.seed_instance(5)
        scripts = {script_of(c) for _ in range(60) for c in names.name()} - {"Zyyy", "Zinh"}
        letters = {c for _ in range(200) for c in names.name() if unicodedata.category(c)[0] in "LM"}
        if scripts <= {"Latn", "Grek", "Cyrl"}:
            ours |= letters
            count += 1
        elif scripts <= {"Latn", "Hebr", "Arab", "Deva", "Armn", "Geor"}:
            others |= letters
    assert count >= 60
    assert {c for c in ours if shelf.get("withy").own(c) is None} == set()
    assert {c for c in others if not any(shelf.get(i).own(c) for i in shelf.ids)} == set()
    assert any(script_of(c) == "Geor" for c in others) and any(script_of(c) == "Armn" for c in others)


@pytest.mark.source("Faker, names of many locales")
def test_of_two_thousand_names_of_sixty_locales_none_is_on_hold(shelf: Shelf) -> None:
    """1,000 of 35 locales and 1,000 of 25 more; the guide's table says which typeface set them."""
    for locales in (locale_names.FIRST, locale_names.MORE):
        found = locale_names.found_in(shelf, locales)
        assert sum(f.names for f in found) >= locale_names.NAMES
        assert [f for f in found if f.hold or f.lent or f.unset] == []
        assert sum(f.as_asked for f in found) >= 0.99 * sum(f.names for f in found)
    assert (len(locale_names.FIRST), len({*locale_names.FIRST, *locale_names.MORE})) == (35, 60)
    guide = locale_names.GUIDE.read_text("utf-8")
    assert all(row in guide for row in locale_names.table(shelf)), "run python tests/tools/locale_names.py DATE"
