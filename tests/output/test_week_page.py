"""The week's page: nothing from outside, one kind of quotation marks, notes that many lids share told once."""

from __future__ import annotations

import base64
import hashlib
import io
import re
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from engrave.batch import run_week
from engrave.output.page.week_html import LIDS_A_PAGE, TEMPLATES
from engrave.output.page.whole_week import MOST_IN_THE_WAY, MOST_STEPS
from engrave.output.pictures.fittings import BRASS
from engrave.output.quotation import quoted
from engrave.output.week_folder import FolderError

ROWS = "order,name,message,lid,typeface,cutter,wood,note\n" + "".join(
    f"K-{n},Wanda {n},for the evenings,round-caddy,vollkorn,diode-450,cherry,{'pack flat' if n == 2 else ''}\n"
    for n in range(1, 5)
)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("week")
    (folder / "orders.csv").write_text(ROWS, "utf-8")
    run_week(folder / "orders.csv", folder / "out", jobs=1)
    return (folder / "out" / "week.html").read_text("utf-8")


def test_only_its_own_script_may_run_and_nothing_is_fetched(page: str) -> None:
    script = page.split("<script>")[1].split("</script>")[0]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in page
    assert "default-src 'none'" in page
    assert not re.search(r'(?:src|href)="(?:https?:)?//', page)
    assert page.count("<script") == 1


def test_no_colour_is_said_by_itself(page: str) -> None:
    """The shadow under the sheets was `var(--veil)` of itself, and so none."""
    assert not re.search(r"(--[\w-]+):\s*var\(\1\)", page)


def test_its_letters_come_with_it(page: str) -> None:
    assert page.count("@font-face") == 3
    fonts = re.findall(r"base64,([A-Za-z0-9+/=]+)\)", page)
    assert all(base64.b64decode(font).startswith(b"wOF2") for font in fonts)


@pytest.mark.parametrize(
    "rows",
    [
        "order,name,message,note\nK-1,Ida,अनन्या,\nK-2,Tom,,שרה\n",
        "order,name,typeface\nK-1,अनन्या,noto-sans-devanagari\nK-2,שרה,noto-sans-hebrew\n",
    ],
    ids=["beside", "cut"],
)
def test_words_in_scripts_of_their_own_bring_their_letters(rows: str, tmp_path: Path) -> None:
    (tmp_path / "orders.csv").write_text(rows, "utf-8")
    run_week(tmp_path / "orders.csv", tmp_path / "out", jobs=1)
    text = (tmp_path / "out" / "week.html").read_text("utf-8")
    assert text.count("@font-face") == 3 + 2
    assert "unicode-range:U+900-97F" in text
    assert "U+600-6FF" not in text
    assert not re.search(r'(?:src|href)="(?:https?:)?//', text)


def test_greek_vietnamese_and_hearts_bring_their_letters_too(tmp_path: Path) -> None:
    """They fell to whatever letters a computer has: a Vietnamese name in two typefaces."""
    rows = "order,name,message\nK-1,Αγγελική,♥\nK-2,Նարե,Мёд\nK-3,ნინო,\n"
    (tmp_path / "orders.csv").write_text(rows, "utf-8")
    run_week(tmp_path / "orders.csv", tmp_path / "out", jobs=1)
    text = (tmp_path / "out" / "week.html").read_text("utf-8")
    for part in ("U+370-3FF", "U+400-52F", "U+530-58F", "U+10A0-10FF", "U+2600-27BF"):
        assert f"unicode-range:{part}" in text or f",{part}" in text, part
    fonts = [base64.b64decode(f) for f in re.findall(r"base64,([A-Za-z0-9+/=]+)\)", text)]
    known = [set(TTFont(io.BytesIO(font)).getBestCmap()) for font in fonts]
    for letter in "ếỹʻλж♥Նნ":
        assert any(ord(letter) in letters for letters in known), letter
    assert all(ord("ế") in letters for letters in known[:3])


def test_lids_are_counted_as_on_the_terminal_and_only_verdicts_that_occur_are_offered(tmp_path: Path) -> None:
    """The head counted pieces, and its sum was not the week's."""
    rows = "order,name,lid,quantity\nK-1,Ida,card-box,3\nK-2,Tom 20mm tall,card-box,2\n"
    (tmp_path / "orders.csv").write_text(rows, "utf-8")
    run_week(tmp_path / "orders.csv", tmp_path / "out", jobs=1)
    text = (tmp_path / "out" / "week.html").read_text("utf-8")
    head = re.sub(r"<[^>]+>", " ", text.split("<header>")[1].split("</header>")[0])
    assert re.search(r"5 lids from 2 orders:\s+3 ready\s+2 need a look", head)
    assert re.findall(r'name="verdict" value="(\w*)"', text) == ["", "ready", "look"]
    assert re.search(r'class="run">[^<]+<small>5 lids</small>', text)


def test_a_page_full_of_lettered_lids_is_under_three_megabytes(page: str) -> None:
    """Lids with two lines of letters with a body, among the heaviest pictures; with every script's letters."""
    lids = page.split("<article ")[1:]
    each = sum(map(len, lids)) / len(lids)
    letters = sum(4 * file.stat().st_size / 3 for file in TEMPLATES.glob("*.woff2"))
    steps = re.findall(r'<li><a href="#p.*?</li>', page)
    step = sum(map(len, steps)) / len(steps) + len("week_100.html") + 60  # of another page, with longer words
    told = 700  # bytes of a lid that stands in the way, as the longest of the demo's
    of_all = MOST_STEPS * step + MOST_IN_THE_WAY * told
    assert LIDS_A_PAGE * each + of_all + letters + 60_000 < 3_000_000


@pytest.mark.parametrize(
    ("lid", "lights"),
    [("round-caddy", ["dome"]), ("fly-box", ["plate", "bar"]), ("needle-box", ["hollow"]), ("reel-box", ["plate"])],
)
def test_fittings_on_the_page_are_bodies_as_on_the_proof(lid: str, lights: list[str], tmp_path: Path) -> None:
    """They were flat outlines: a knob, a hinge's leaf and a notch looked alike."""
    (tmp_path / "orders.csv").write_text(f"order,name,lid,wood\nK-1,Ida,{lid},maple\n", "utf-8")
    run_week(tmp_path / "orders.csv", tmp_path / "out", jobs=1)
    text = (tmp_path / "out" / "week.html").read_text("utf-8")
    ticket = text.split("<article ")[1]
    assert [text.count(f'id="light-{light}"') for light in lights] == [1] * len(lights)
    assert {light for light in ("dome", "plate", "bar", "hollow") if f"url(#light-{light})" in ticket} == set(lights)
    assert (BRASS in ticket) == ("plate" in lights or "bar" in lights)
    assert ('class="thrown"' in ticket) == (lid in ("round-caddy", "fly-box"))  # the others are flush
    used = set(re.findall(r'(?:href="#|url\(#)([^")]+)', ticket))
    assert used <= set(re.findall(r'id="([^"]+)"', text))


def test_what_many_lids_share_is_told_once(page: str) -> None:
    assert page.count("Rows 0.14 mm apart") == 1
    assert re.search(r"4 lids \([^)]+ in [^)]+\), of order [^.]+ for one\. Rows 0.14 mm apart", page)


def test_the_buyers_note_stands_on_its_ticket_even_if_it_alarms_nobody(page: str) -> None:
    ticket = page.split("<article ")[2].split("</article>")[0]
    assert "pack flat" in ticket


def test_lines_are_drawn_as_wide_as_they_are_cut(page: str, tmp_path: Path) -> None:
    orders = "order,name,typeface,cutter,wood,line_weight\nK-1,Ida,withy,diode-450,walnut,plain\n"
    (tmp_path / "orders.csv").write_text(orders, "utf-8")
    done = run_week(tmp_path / "orders.csv", tmp_path / "out", jobs=1)
    task = done.week.entries[0].piece.task
    assert task is not None
    text = (tmp_path / "out" / "week.html").read_text("utf-8")
    (grid,) = re.findall(r'transform="scale\(([\d.]+)\)"', text)
    widths = re.findall(r'stroke-linejoin="round" stroke="[^"]+" stroke-width="([\d.]+)"', text)
    assert widths
    assert all(float(w) * float(grid) == pytest.approx(task.tool.groove, abs=0.0005) for w in widths)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("the y of 'dry' is thin", "the y of “dry” is thin"),
        ("‘same as last time’ points", "“same as last time” points"),
        ("the lid's face and O'Neill's box", "the lid's face and O'Neill's box"),
        ("'Kaho‘okele' stays", "'Kaho‘okele' stays"),
        ("'dad's shed' is kept", "“dad's shed” is kept"),
    ],
)
def test_one_kind_of_quotation_marks(text: str, told: str) -> None:
    assert quoted(text) == told


def test_a_large_week_has_its_lids_on_several_pages_and_every_link_leads_to_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("engrave.output.page.week_html.LIDS_A_PAGE", 2)
    table, out = tmp_path / "orders.csv", tmp_path / "out"
    rows = [f"M-{i},Ida {i},card-box,withy,maple,{'set' if i < 4 else ''}" for i in range(1, 6)] + [
        "M-6,Tom,no-lid,withy,maple,"
    ]
    table.write_text("order,name,lid,typeface,wood,matching\n" + "\n".join(rows) + "\n", "utf-8")
    done = run_week(table, out, jobs=1)
    names = ["week.html", "week_2.html", "week_3.html"]
    assert sorted(p.name for p in out.glob("*.html")) == names
    assert set(names) <= set(done.written)
    pages = {name: (out / name).read_text("utf-8") for name in names}
    assert [text.count("<article ") for text in pages.values()] == [2, 2, 2]
    for name, text in pages.items():
        assert re.findall(r'<use href="#(p[0-9a-f]+)', text) != [] or name != names[0]
        for page, ident in re.findall(r'href="(week(?:_\d)?\.html)?#(p[0-9a-f]{10}(?:-lid)?)"', text):
            assert f'id="{ident}"' in pages[page or name], (name, page, ident)
    assert 'href="week_3.html#p' in pages["week.html"]  # the lid on hold, among what stands in the way
    monkeypatch.undo()
    again = run_week(table, out, jobs=1)
    assert sorted(p.name for p in out.glob("*.html")) == ["week.html"]
    assert (again.made, again.taken_away) == (0, ())


def test_a_foreign_file_under_the_name_of_a_further_page_ends_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("engrave.output.page.week_html.LIDS_A_PAGE", 1)
    table, out = tmp_path / "orders.csv", tmp_path / "out"
    table.write_text("order,name\nM-1,Ida\nM-2,Tom\n", "utf-8")
    out.mkdir()
    (out / "week_2.html").write_text("mine", "utf-8")
    with pytest.raises(FolderError, match=r"week_2\.html"):
        run_week(table, out, jobs=1)
    assert [p.name for p in out.iterdir()] == ["week_2.html"]
