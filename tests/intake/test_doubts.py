"""Every rule on words that may not be words to cut: what it must catch, and what it must leave alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from faker import Faker
from intake_tables import codes, levels, one, typed

from engrave.intake.doubts import DOUBTS, READINGS, note_doubt
from engrave.intake.wording import codes as wording_codes

HOLDS = {
    "nothing-to-cut": [
        "N/A", "n/a", "n.a.", "None", "NONE", "none", "-", "--", "—", ".", "...", "?", "???", "/", "NA", "NULL", "#N/A",
        "no engraving", "No personalisation", "blank please", "keine Gravur", "ohne", "aucun", "sin texto", "geen",
        "n.v.t.", "(none)", " N/A ", "No thanks", "'", "\"\"",
    ],
    "words-elsewhere": [
        "same as last time", "Same as above", "same as the other one", "as discussed", "As per my email", "see note",
        "See notes below", "see attached", "TBC", "tbd", "T.B.C.", "TBA", "to be confirmed", "ditto", "I'll message you",
        "will send you the names later", "siehe Nachricht", "wie besprochen", "s.o.", "comme convenu", "voir note",
        "comme la dernière fois", "igual que la última vez", "como hablamos", "ver nota", "zelfde als vorige keer",
        "zie opmerking", "zoals besproken", "same as order 1001", "not sure yet",
        "for example: home sweet home", "Year only", "nur der Name", "Same as 9011", "same as no. 12", "same like #T-2003", "sent by message", "Sent you via e-mail", "texted over the phone",
    ],
}  # fmt: skip

LOOKS = {
    "perhaps-nothing": ["Na", "na", "Null", "NaN", "nan", "Nil", "Tba", "X", "x", "No", "test", "blank", "nada"],
    "instruction": [
        "please engrave Anna", "Please write Anna on the lid", "pls put Anna", "Could you engrave Anna & Ben?", "engrave Anna",
        "Engrave: Anna", "It should say Anna", "to read Anna", "I would like it engraved with Anna", "Anna, thanks in advance",
        "bitte Anna gravieren", "Bitte den Namen Anna", "veuillez graver Anna", "Anna s'il vous plaît", "por favor grabar Anna",
        "graag Anna graveren", "Anna alstublieft", "Anna engraved on the lid", "Write: All roads lead home", "écrire : Bonne fête",
    ],
    "label": [
        "Name: Anna", "NAME: ANNA", "Text: Anna", "Line 1: Anna", "Names = Anna & Ben", "Zeile 1: Anna", "Nom : Anna",
        "Nombre: Ana", "Naam: Anna", "Top line: Anna", "Message - Happy birthday", "Anna|Line 2: Ben",
    ],
    "quoted": ['"Happy birthday"', "“Happy birthday”", "'Happy birthday'", "«Bon anniversaire»", "„Alles Gute“", "‘Anna’"],
    "style-wish": [
        "Anna (in script font)", "Anna (cursive)", "Anna in capitals please", "ANNA - in all caps", "Anna, italic",
        "Anna in Schreibschrift", "Anna (Großbuchstaben)", "Anna en majuscules", "Ana en mayúsculas", "Anna in hoofdletters",
        "Anna in nice script", "Anna in bold and italics", "Anna font: 3", "Anna (font 12)", "Anna in capital letters", "Everything in capitals",
    ],
    "size-wish": ["Anna 2 inch letters", "Anna 20mm", "Anna, 1.5 cm", 'Anna 2" letters', "Anna 3 Zoll", "Anna size 12"],
    "choice": ["Ada (you choose the rest)", "Ada, up to you"],
    "undecided": ["Zoe or Zoey", "Rosie or Rosy, not sure", "Ada??", "Jon ou Jean ?", "1st choice: Ida", "zweite Wahl: Ada", "can't decide between Amor and Love"],
    "shop-matter": ["Ada (it's a gift, no invoice)", "Ada, need it by Friday", "2 x Anna, 1 x Ben", "Anna x2, Ben x1"],
    "place-wish": ["Ada, bottom right", "2024 underneath", "Ada unten rechts", "Ada (inside)"],
    "ornament-wish": ["Ada with a little heart", "Ada + paw print", "Ada avec un petit cœur", "Ada mit Stern"],
    "spelling": ["Happy Birthday Mom (not Mum)", "Zoë with the dots", "Jon, no h", "Maé, pas Mae", "Sara ohne h", "Niamh (N-I-A-M-H)", "Siobhan S I O B H A N", "Ada A.D.A."],
    "question": ["Ada - do you engrave both sides?", "Ada. Does the price include lettering?"],
    "contact": [
        "anna@example.org", "www.example.org", "https://example.org/a", "example.com", "+44 7700 900123", "07700 900123",
    ],
    "formula": ['=HYPERLINK("x")', "=SUM(A1:A2)", "@cmd(1)"],
    "escaped-break": ["Anna\\nBen", "Anna\\r\\nBen"],
    "garbled": ["JosÃ©", "Bj√∂rn", "ZoÃ«", "FranÃ§ois", "Åukasz".replace("Å", "Å\x81"), "Siobh√°n", "Oâ€™Neill", "JOSÃ‰"],
    "markup": ["Anna &amp; Ben", "Anna<br>Ben", "O&#39;Neill", "Anna &#10084; Ben", "<b>Anna</b>"],
    "false-apostrophe": ["O`Neill", "O´Neill", "D´Angelo"],
    "mixed-alphabet": ["\u0410nna", "Bοb"],
    "lost-letters": ["Jos\ufffd"],
}  # fmt: skip

FINE = [
    "Anna", "anna", "ANNA", "Nan", "Nana", "Ann-Marie None", "Noné", "True", "Nada", "Tbc Smith", "Max Null", "Will Confirmer",
    "Same as it ever was", "As you like it", "See you on the river", "Please Please Me", "Please do not feed the bear",
    "O'Neill", "D’Angelo", "Kahoʻokele", "Kaho'okele", "Joan Font", "Anna & Ben", "Anna, Ben and Carla", "Est. 1987",
    "12.03.2024", "03/04/1998 – 05/06/2024", "51.5074 N 0.1278 W", "1st of May 1999", "Rock 'n' roll", "Class of '98",
    "In capital health", "Capitals of Europe", "Bold and brave", "Be bold", "Line of duty", "From Ben to Anna", "To Mum, from Ben",
    "Name your poison", "He said \"yes\" on the ferry", '"Yes" she said, "yes"', "Text me", "The Script", "Inside out",
    "Łukasz", "Nguyễn Thị Ánh", "Ðorđe", "ÁÉÍÓÚ", "JOSÉ’S BOX", "CAFÉ…", "L’été à Besançon", "Ünal Çağrı", "São João", "ÃO", "Åse",
    "Αγγελική", "Наталья", "שרה", "خالد", "अनन्या", "愛", "♥", "❤", "★", "Love you to the moon & back; always", "R&D; fun",
    "AT&T", "Anna + Ben = love", "5'3\"", "Nº 5", "100 %", "1000", "007", "Happy 40th", "L-O-V-E", "N-I-A-M-H", "A B C D", "3 x milk tooth", "4 x 100 Otters 2019", "My first choice, always", "Dr. No", "Mr. X", "Yes we can",
    "Will you marry me?", "Can you hear me", "Could you be loved", "I would love you always", "Thank you", "Danke", "Merci Maman",
    "Bitte ein Lied", "Por favor, vuelve", "Feliz Navidad", "n-ary", "NASA", "Nullarbor", "Ohne dich", "Sans toi", "Sin ti", "Geen zorgen",
    "Waiting for the sun", "I will send my heart with you across the sea", "Date night", "Quote me", "Top of the morning", "First Light",
    "Anna\nBen", "Anna|Ben", "12 inches of snow".replace("12 inches", "Twelve inches"), "Mm", "Siehe, ich mache alles neu",
]  # fmt: skip


def cases(table: dict[str, list[str]]) -> list[tuple[str, str]]:
    return [(code, words) for code, many in table.items() for words in many]


@pytest.mark.parametrize(("code", "words"), cases(HOLDS))
def test_nothing_to_cut_is_held_and_quoted(code: str, words: str) -> None:
    order = typed(words)
    (problem,) = [p for p in order.problems if p.level == "hold"]
    assert problem.code == code
    assert f"‘{' '.join(words.split())}’" in problem.says


@pytest.mark.parametrize(("code", "words"), cases(LOOKS))
def test_doubtful_words_ask_for_a_look_and_stay_as_they_are(code: str, words: str) -> None:
    order = typed(words)
    assert code in codes(order, "look")
    assert "hold" not in levels(order)
    assert order.received.name == words
    said = next(p.says for p in order.problems if p.code == code)
    assert "‘" in said


@pytest.mark.parametrize("words", FINE)
def test_real_words_are_left_alone(words: str) -> None:
    for order in (typed(words), typed("Anna", words)):
        assert levels(order) <= {"note"}, order.problems


@pytest.mark.parametrize(
    "words",
    [
        "26. Oktober 2019, 6:41 Uhr",
        "17. April 2016 – 9. September 2023",
        "1. Juni 2008 und 2. Juni 2012",
        "30. syyskuuta 1989 – 6. lokakuuta 2019",
        "5. maj 2012, kl. 16:05",
        "Emil, 3290 g, 51 cm, 23:14 Uhr",
        "8 lb 2 oz, 21 inches, 6:20 am",
        "3,6 kg, 53 cm, 19 h 20",
        "Sunday 4:45 pm, platform two",
        "2. Timotheus 1:7",
    ],
)
def test_days_hours_and_what_a_child_measured_are_words(words: str) -> None:
    """The hour's colon was taken for a label's, two days for a numbered list, a child's length for a size of letters."""
    assert not levels(typed(message=words)) & {"look", "hold"}


@pytest.mark.parametrize("words", ["1. Lena 2. Jonas", "1: Ruth 2: 1987", "letters 20 mm high"])
def test_lists_and_sizes_are_still_asked_about(words: str) -> None:
    assert levels(typed(message=words)) & {"look", "hold"}


def test_every_rule_has_words_that_it_must_catch() -> None:
    assert {rule.code for rule in DOUBTS} - {"several-names"} | set(READINGS) == set(HOLDS) | set(LOOKS)
    assert set(READINGS) == wording_codes()


@pytest.mark.parametrize(
    ("words", "quantity", "asked"),
    [
        ("Anna, Ben, Carla", "3", True), ("Anna, Ben and Carla", "3", True), ("Anna und Ben", "2", True), ("Anna / Ben", "2", True),
        ("Anna & Ben", "2", True), ("Anna|Ben", "2", True), ("Anna, Ben, Carla", "1", False), ("Anna, Ben, Carla", "2", False),
        ("Anna", "3", False), ("Andrea", "2", False), ("Anna & Ben", "50", False),
    ],
)  # fmt: skip
def test_as_many_names_as_lids(tmp_path, words: str, quantity: str, asked: bool) -> None:
    order = one(tmp_path, name=words, quantity=quantity)
    assert ("several-names" in codes(order, "look")) is asked
    assert order.quantity == int(quantity)


@pytest.mark.parametrize(
    ("garbled", "meant"),
    [
        ("JosÃ©", "José"), ("Bj√∂rn", "Björn"), ("Ã‰milie & Zoë", "Émilie & Zoë"), ("NguyÃªn", "Nguyên"), ("Ãsa", "Ása"),
        ("JosÃƒÂ©", "José"), ("Oâ€™Neill", "O’Neill"), ("Ð\x9dÐ°Ñ‚Ð°ÑˆÐ°", "Наташа"), ("à¤…à¤¨à¤¨à¥\x8dà¤¯à¤¾", "अनन्या"),
    ],
)  # fmt: skip
def test_the_suggestion_is_what_was_meant(garbled: str, meant: str) -> None:
    if garbled == "Ãsa":
        garbled = "Ã\x81sa"
    (problem,) = [p for p in typed(garbled).problems if p.code == "garbled"]
    assert problem.value == meant


@pytest.mark.source("Python's codecs: UTF-8 read in another code page")
@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman", "latin-1"])
@pytest.mark.parametrize(
    "name", ["José", "Zoë", "Łukasz", "Ağrı", "Siobhán", "Ðorđe", "François", "Jürgen", "Åse", "Nuñez"]
)
def test_any_name_torn_by_a_code_page_is_mended(name: str, encoding: str) -> None:
    """The tearing itself is done by Python's codecs: UTF-8 bytes read in another code page."""
    try:
        torn = name.encode().decode(encoding)
    except UnicodeDecodeError:
        pytest.skip("that code page has no such byte")
    (problem,) = [p for p in typed(torn).problems if p.code == "garbled"]
    assert problem.value == name


@pytest.mark.parametrize(
    ("words", "meant"),
    [("Anna &amp; Ben", "Anna & Ben"), ("Anna<br/>Ben", "Anna / Ben"), ("O&#39;Neill", "O'Neill"), ("&#10084;", "❤"), ("J&uuml;rgen", "Jürgen")],
)  # fmt: skip
def test_marks_of_a_page_come_with_the_plain_words(words: str, meant: str) -> None:
    assert [p.value for p in typed(words).problems if p.code == "markup"] == [meant]


@pytest.mark.parametrize(
    ("note", "message", "level"),
    [
        ("Please engrave Anna on the lid", "", "look"), ("Name: Anna", "Hello", "look"), ("It is spelled Ana", "", "look"),
        ("Happy birthday Anna, love from Ben", "", "look"), ("Happy birthday Anna, love from Ben", "For Anna", "note"),
        ("Bitte den Namen Anna schreiben", "", "look"), ("leave with the neighbour", "", None), ("gift wrap", "", None), ("", "", None),
    ],
)  # fmt: skip
def test_notes_that_read_like_words_to_cut(note: str, message: str, level: str | None) -> None:
    found = note_doubt(note, bool(message), "row 2")
    assert (found.level if found else None) == level
    assert found is None or note in found.says


def test_an_empty_answer_beside_real_words_is_left_out_and_told(tmp_path) -> None:
    order = one(tmp_path, name="Anna", message="N/A")
    assert (order.words.name, order.words.message, order.received.message) == ("Anna", "", "N/A")
    assert codes(order, "look") == ["nothing-there"]
    assert order.changes == ("message: ‘N/A’ left out",)


def test_a_reference_beside_real_words_is_still_held(tmp_path) -> None:
    assert "words-elsewhere" in codes(one(tmp_path, name="Anna", message="as discussed"), "hold")


LOCALES = [
    "en_GB", "en_US", "en_IE", "de_DE", "fr_FR", "es_ES", "it_IT", "nl_NL", "pt_BR", "pl_PL", "cs_CZ", "sv_SE", "tr_TR",
    "vi_VN", "el_GR", "ru_RU", "uk_UA", "hi_IN", "ja_JP", "ar_SA", "he_IL", "ro_RO",
]  # fmt: skip


@pytest.mark.source("Faker, names of twenty locales")
def test_names_of_twenty_countries_are_hardly_ever_doubted() -> None:
    """Names from Faker's locale data, whole and in parts: fewer than 0.5 % may ask for a look."""
    doubted, asked = [], 0
    for locale in LOCALES:
        fake = Faker(locale)
        fake.seed_instance(7)
        for _ in range(100):
            for words in (fake.name(), fake.first_name(), fake.last_name()):
                asked += 1
                if levels(typed(words)) - {"note"}:
                    doubted.append((locale, words))
    assert asked > 5000
    assert len(doubted) / asked < 0.005, doubted


def test_an_address_is_quoted_whole(tmp_path: Path) -> None:
    """It was once told as 'www.e'."""
    for words in ("www.example.org", "https://example.org/box"):
        (found,) = [p for p in one(tmp_path, name=f"{words} please").problems if p.code == "contact"]
        assert f"(‘{words}’)" in found.says
