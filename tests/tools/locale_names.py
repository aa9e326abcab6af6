"""Names of sixty locales and which typeface sets them: `python tests/tools/locale_names.py 26 November 2026` writes the table.

The names are made by the Faker library, whose word lists are gathered apart from any typeface. The table stands in
DEVELOPERS.md; a test holds it against what is found today.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from faker import Faker

from engrave.typefaces import Run, Shelf, load_shelf
from engrave.typefaces.characters import script_of

GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- locales: written by tests/tools/locale_names.py -->", "<!-- end of locales -->"

FIRST = (
    "en_US", "de_DE", "fr_FR", "es_ES", "pt_BR", "it_IT", "nl_NL", "pl_PL", "cs_CZ", "sk_SK", "hu_HU", "ro_RO", "tr_TR",
    "vi_VN", "da_DK", "sv_SE", "no_NO", "fi_FI", "lt_LT", "lv_LV", "et_EE", "hr_HR", "sl_SI", "ga_IE", "el_GR", "ru_RU",
    "uk_UA", "bg_BG", "he_IL", "ar_SA", "fa_IR", "hi_IN", "mr_IN", "hy_AM", "ka_GE",
)  # fmt: skip
MORE = (
    "az_AZ", "is_IS", "mt_MT", "yo_NG", "mk_MK", "ar_AA", "ne_NP", "bs_BA", "sq_AL", "uz_UZ", "ig_NG", "ha_NG", "tw_GH",
    "zu_ZA", "fil_PH", "id_ID", "lb_LU", "pt_PT", "fr_CA", "es_MX", "de_CH", "ar_DZ", "ar_PS", "la", "sw",
)  # fmt: skip
"""Thirty-five locales and twenty-five more, in eight scripts."""

NAMES = 1000
"""Names of the first, and as many of the others."""

TYPEFACES = {
    "Latn": "withy", "Grek": "withy", "Cyrl": "withy", "Hebr": "noto-sans-hebrew", "Arab": "noto-naskh-arabic",
    "Deva": "noto-sans-devanagari", "Armn": "noto-sans-armenian", "Geor": "noto-sans-georgian",
}  # fmt: skip
"""The typeface that is asked for names of each script."""

DEFAULT = "vollkorn"
"""What is asked for where a row names none, in the shop that came with the program: letters that it lacks are lent."""


@dataclass(frozen=True, slots=True)
class Found:
    """One locale: how many names, the typeface that was asked, and how many were set by it, in parts, lent, or on hold.

    unset: how many are on hold where no typeface is named.
    """

    locale: str
    names: int
    typeface: str
    as_asked: int
    composed: int
    lent: int
    hold: int
    unset: int


def found_in(shelf: Shelf, locales: Sequence[str]) -> list[Found]:
    """Return what is found of `NAMES` names, dealt out evenly to the locales."""
    each = -(-NAMES // len(locales))
    return [_found(shelf, locale, names_of(locale, each)) for locale in locales]


def names_of(locale: str, count: int) -> list[str]:
    """Return names of a locale, always the same ones of one edition of the library."""
    with warnings.catch_warnings():  # of locales that go by another name now
        warnings.simplefilter("ignore")
        names = Faker(locale)
    names.seed_instance(14)
    return [names.name() for _ in range(count)]


def _found(shelf: Shelf, locale: str, names: Sequence[str]) -> Found:
    script = next(s for s in map(script_of, "".join(names)) if s in TYPEFACES)
    ident = TYPEFACES[script]
    how = [_how(shelf.get(ident).shape(name)) for name in names]
    unset = sum(_how(shelf.get(DEFAULT).shape(name)) == "hold" for name in names)
    counts = [how.count(what) for what in ("as asked", "composed", "lent", "hold")]
    return Found(locale, len(names), ident, *counts, unset)


def _how(run: Run) -> str:
    codes = {p.code for p in run.problems if p.level != "note" or p.code == "letter-composed"}
    if {"letter-missing", "sign-left-out"} & codes:
        return "hold"
    return "lent" if "letter-from-companion" in codes else "composed" if "letter-composed" in codes else "as asked"


def table(shelf: Shelf) -> list[str]:
    """Return the table's rows: a typeface each, with its locales."""
    every = [*found_in(shelf, FIRST), *found_in(shelf, MORE)]
    rows = [
        "| typeface | names | as asked | of parts | lent | on hold | locales |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for ident in dict.fromkeys(f.typeface for f in every):
        of = [f for f in every if f.typeface == ident]
        sums = [sum(getattr(f, what) for f in of) for what in ("names", "as_asked", "composed", "lent", "hold")]
        rows.append(f"| {ident} | {' | '.join(map(str, sums))} | {' '.join(sorted(f.locale for f in of))} |")
    return rows


def main(date: str) -> None:
    """Write the table into the guide, with its date."""
    guide = GUIDE.read_text("utf-8")
    head, _, rest = guide.partition(BEGIN)
    _, _, tail = rest.partition(END)
    block = "\n".join([BEGIN, f"Found on {date}:", "", *table(load_shelf()), "", END])
    GUIDE.write_text(head + block + tail, "utf-8")


if __name__ == "__main__":
    main(" ".join(sys.argv[1:]))
