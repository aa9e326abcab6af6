"""Which words stay together when lines are broken, and why."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from babel import Locale
from breaking import FURTHER, LEAST_KEPT, ROUND_AND_SQUARE, kept_shares, labelled, measured, shares

from engrave.setting import place
from engrave.setting.text.break_opportunities import stretches
from engrave.setting.text.joint_data import joint_table
from engrave.setting.text.joint_rules import JOINT_RULES
from engrave.setting.text.joints import joints_of
from engrave.shop import Shop
from engrave.tasks import Task
from engrave.typefaces import Shelf

Make = Callable[..., Task]


def kept(words: str) -> str:
    """Return words with '=' at strong joints, '-' at weak ones and '/' where a line may end."""
    parts = words.split()
    sign = {"strong": "=", "weak": "-"}
    found = [sign.get(j.weight, "/") for j in joints_of(parts)]
    return "".join(w + j for w, j in zip(parts, [*found, ""], strict=True))


@pytest.mark.parametrize(
    "shown",
    [
        # initials, titles, suffixes
        "Ingrid-T./Solheim", "R.=J.-Oyelaran", "S=M", "Dr.=Amara/Okafor", "Mr=&=Mrs/Featherstone", "Prof.=em.=Dr./Ottilie-Brandt",
        "Tomasz-J./Wieczorek=Jr.", "William/Henderson=III", "Asha/Verma,=PhD", "Sir=Percy/&=Lady=Gwen", "Auntie-Bea/&=Uncle-Rafe",
        # pairs
        "Thandeka/&=Marguerite", "Jo-&=Al", "K=+=L", "A=♥=L", "Frieda/und=Emil", "Colette/et=Barnabé", "Ania/i=Tomek", "♥=Mum=♥",
        "Emeka,/Ife/&=Tobe",
        "Dr.=and=Mrs./J.=R.-Whitcombe,/St.=Ives,/3=September-1976", "Lt.=Col./Rhys-Bowen,=Sr.", "Capt.=R.=B.-Haversham=MC",
        "Rt.=Hon.=Sir/William", "Señor=y=Señora/García/López",
        # figures
        "12=kg/of-tea", "3=lb=6=oz", "25=years", "World's/No.=1/Grandad", "fifty=years/of-singing/flat", "20=ans/de-fous/rires",
        "Psalm=23", "1=Corinthians=13:4", "1.=Korinther=13,4", "John=3:16", "221B-Baker-Street,/London", "No.=9/Quay-Street", "7=pm/sharp", "10=000=miles", "1974=–=2024", "51.5°=N,/0.12°=W", "54°=12′=N/3°=5′=W", "€=5", "5=%/off",
        # dates
        "12=June-2024", "June=12,/2024", "3.=März", "1=de=agosto/de-2020", "le=8=mai-2021", "21=maja-2022=r.", "Class/of-2024",
        "the=5th=of=May", "Christmas-2024",
        # names with particles
        "Anneliese/von=der=Heide", "María/José/de=la=Cruz", "fam.=Van='t=Hof", "Yusuf/bin=Tariq",
        # little words
        "The-best/is/yet/to-come", "w=domu", "Dom/jest/tam,/gdzie/kot/w=pudełku", "в=саду", "Te-quiero/mucho",
        "with=love", "What=if?", "Sto=lat,/Dziadku!", "Do-not/open/until-2050", "To-Elif,/from=Oma", "Love,-Mum-&=Dad",
        # marks
        "Veux-tu/être/ma-marraine=?", "«=Bonjour=»", "est.=–/1987",
    ],
)  # fmt: skip
def test_joints(shown: str) -> None:
    spaced = re.sub(r"(?<=\S)[=/](?=\S)|(?<=[\w.’',!?%])-(?=[A-ZÀ-Þ&\w])", " ", shown)
    joined = kept(spaced.replace("Veux tu", "Veux-tu"))
    assert joined == shown


OCCASIONS = Path(__file__).parent / "data" / "joints_occasions.txt"


@pytest.mark.parametrize(("side", "least"), [(0, 0.97), (1, 0.95)], ids=["tuned", "aside"])
def test_words_of_births_weddings_and_prizes_keep_together(side: int, least: float) -> None:
    """Joints that a letterer keeps, of words for occasions; before there were rules for them, 60 % and 53 % were kept."""
    weights = {"strong": 2, "weak": 1}
    kept_of, held_of = Counter[bool](), Counter[bool]()
    lines = [line for line in OCCASIONS.read_text(encoding="utf-8").splitlines() if line and line[0] != "#"]
    for line in lines[side::2]:
        parts = re.split("([ =_])", line)
        for sign, joint in zip(parts[1::2], joints_of(parts[::2]), strict=True):
            if sign == " ":
                held_of[joint.weight == "strong"] += 1
            else:
                kept_of[weights.get(joint.weight, 0) >= " _=".index(sign)] += 1
    kept_share, held_share = (of[True] / of.total() for of in (kept_of, held_of))
    print(f"\njoints kept {kept_share:.1%}, held for nothing {held_share:.1%}")
    assert kept_share >= least
    assert held_share <= 0.06


def test_every_rule_has_a_question_a_weight_and_a_reason() -> None:
    rules = joint_table().rules
    assert set(rules) == set(JOINT_RULES)
    assert all(weight in ("strong", "weak") and len(why) > 20 for weight, why in rules.values())


def test_days_of_the_week_are_not_titles() -> None:
    assert kept("fr so") == "fr=so"  # two short words, not a title and its name
    assert joints_of(["Fr", "Weber", "kommt"])[0].rule == "title"
    assert joints_of(["mo", "fr", "so"])[1].rule == ""


@pytest.mark.parametrize(
    "language", ["en", "de", "fr", "es", "it", "nl", "pt", "sv", "da", "nb", "fi", "pl", "cs", "sk", "uk", "ru"]
)
def test_months_are_those_of_the_unicode_locale_data(language: str) -> None:
    """Names of months against Unicode CLDR, as the babel library has it."""
    for context in ("format", "stand-alone"):
        names = Locale.parse(language).months[context]["wide"].values()
        assert {n.rstrip(".").casefold() for n in names} <= joint_table().months


def test_words_break_where_a_letterer_would(shop: Shop, shelf: Shelf) -> None:
    """The labelled texts on three lids; `python tests/setting/breaking.py` counts all lids, each half by itself."""
    strong, weak, first = shares(measured(shop, shelf, labelled(), ROUND_AND_SQUARE))
    assert strong <= 0.01
    assert weak <= 0.08
    assert first >= 0.7


@pytest.mark.slow
def test_words_break_where_a_letterer_would_on_every_lid(shop: Shop, shelf: Shelf) -> None:
    for half in (labelled()[::2], labelled()[1::2]):
        strong, weak, first = shares(measured(shop, shelf, half, list(shop.lids)))
        assert strong <= 0.01
        assert weak <= 0.08
        assert first >= 0.7


def test_further_words_break_where_a_letterer_would(shop: Shop, shelf: Shelf) -> None:
    strong, weak, first = shares(measured(shop, shelf, labelled(FURTHER), ROUND_AND_SQUARE))
    assert strong <= 0.01
    assert weak <= 0.08
    assert first >= 0.7


@pytest.mark.parametrize(
    ("lid", "words", "lines"),
    [
        ("card-box", "João dos Santos", ["João", "dos Santos"]),  # 22 % below the largest fit, and parted all the same
        ("card-box", "Joris van den Berg", ["Joris", "van den Berg"]),
        ("card-box", "Lucie et Gaspard", ["Lucie", "et Gaspard"]),
        ("heart-box", "St. Brendan's Harbour Choir", ["St. Brendan's", "Harbour Choir"]),  # one line took half the size
        ("domino-box", "Noor, Sam & the cat", ["Noor, Sam", "& the cat"]),
    ],
)
def test_strong_joints_hold_within_a_quarter_and_others_give_way_below_it(
    lid: str, words: str, lines: list[str], task: Make, shelf: Shelf
) -> None:
    laid = place(task(lid, words, setting="stack"), shelf)
    assert [line.text for line in laid.lines] == lines


@pytest.mark.slow
def test_no_more_than_a_third_is_given_up_but_for_the_strongest_joints(shop: Shop, shelf: Shelf) -> None:
    """Sense, calm, air and middle together take 35 % of the largest fit at most; DEVELOPERS says where they take more."""
    kept = kept_shares(shop, shelf, labelled(), ROUND_AND_SQUARE)
    below = [strongly for share, strongly in kept if share < LEAST_KEPT]
    assert len(below) <= 0.03 * len(kept)
    assert below.count(False) <= 0.01 * len(kept)


def test_a_buyers_line_is_kept_whole(shop: Shop, shelf: Shelf) -> None:
    for text in (t for t in labelled() if t.typed):
        for lid in ROUND_AND_SQUARE:
            counts = measured(shop, shelf, [text], [lid])
            assert counts["strong parted"] == 0


def test_lines_that_fit_no_other_way_are_broken_further_and_it_is_said(task: Make, shelf: Shelf) -> None:
    words = "One for the road and for the long way home again\nTwo for the sea and all who sail on her"
    laid = place(task("heart-box", "", words), shelf)
    assert len(laid.lines) > 2
    assert [p.level for p in laid.problems if p.code == "broken-further"] == ["look"]
    assert any(line.text.endswith("again") for line in laid.lines)  # the buyer's own break stands


def test_a_set_keeps_words_together_too(task: Make, shelf: Shelf) -> None:
    laid = place(task("card-box", "Tomasz J. Wieczorek Jr."), shelf, cap=8.0)
    assert [line.text for line in laid.lines] == ["Tomasz J.", "Wieczorek Jr."]


@pytest.mark.parametrize(
    "shown",
    [
        "山=田=花=子",
        "김민준/이서연",
        "山=田/花=子",
        "花-子-ちゃ-ん-へ/お/誕-生-日-お-め-で-と-う",
        "お-め-で-と-う-ご-ざ-い-ま-す/2026年6月14日",
    ],
)
def test_words_without_blanks_are_parted_where_one_ends_and_a_short_name_is_not(shown: str) -> None:
    """A run of up to five letters is one name; hiragana end a word (common practice, no source)."""
    words = re.sub("[=-]", "", shown).replace("/", " ") if "へ/お" not in shown else re.sub("[=/-]", "", shown)
    sign = {"strong": "=", "weak": "-"}
    found = stretches(words)
    assert "".join(s.text + sign.get(s.joint.weight, "/") for s in found[:-1]) + found[-1].text == shown
