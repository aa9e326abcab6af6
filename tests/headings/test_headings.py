"""The first import: a shop that lets out skiffs sells boxes beside, and its page's export has columns of its own."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import tomlkit
from click.testing import CliRunner

from engrave import verbs
from engrave.cli import OK, SOME_HELD, UNUSABLE, main
from engrave.headings import (
    KeptAnswer,
    Question,
    guesses,
    headings_command,
    intake_with,
    suggested,
    survey,
    toml_with,
    understood,
)
from engrave.headings.guessing import guess_field, guess_value
from engrave.intake import read_orders
from engrave.making import environment
from engrave.shop import load_shop

EXPORT = """\
Order ID,Item,Message inside or below,Ship Name,Ship City,Item Price,Personalisation,Options,Ribbon note
5001,Skiff box,With love,Anna Field,Bath,24.50,Rosa,Timber: Black walnut / Sleeve: yes,red please
5002,Round tea caddy,,Tom Hill,York,24.50,Ben,Timber: Oak / Sleeve: no,
5003,Card box,sixty summers,Mia Vale,Leeds,24.50,Ada,,blue for Mum
"""


@pytest.fixture
def export(tmp_path: Path) -> Path:
    path = tmp_path / "export.csv"
    path.write_text(EXPORT, "utf-8")
    return path


def _asked(found, kind: str) -> dict[str, str]:
    return {q.heading + q.text: q.guess for q in found.questions if q.kind == kind}


def test_every_column_is_shown_with_samples_and_what_it_is_read_as(export: Path) -> None:
    env = environment()
    found = survey(export, env.shop, env.shelf.kinds())
    shown = {c.title: (c.read_as, c.samples, c.rows) for c in found.columns}
    assert list(shown) == EXPORT.splitlines()[0].split(",")
    assert shown["Order ID"] == ("order", ("5001", "5002", "5003"), 3)
    assert shown["Item"] == ("", ("Skiff box", "Round tea caddy", "Card box"), 3)
    assert shown["Options"][0] == "options"
    assert shown["Ribbon note"] == ("", ("red please", "blue for Mum"), 2)


def test_what_is_asked_is_what_nobody_could_know(export: Path) -> None:
    env = environment()
    found = survey(export, env.shop, env.shelf.kinds())
    assert _asked(found, "column") == {"Item": "lid", "Message inside or below": "message", "Ribbon note": "note"}
    assert _asked(found, "option") == {"OptionsSleeve": "not needed"}


def test_the_circle_of_a_first_import(export: Path, tmp_path: Path) -> None:
    """Held, asked once, kept, and then made; what was asked is not asked again."""
    folder = tmp_path / "our_shop"
    env = environment()
    file = read_orders(export, env.shop.intake)
    assert all("unread-column" in [p.code for p in o.problems] for o in file.orders if o.id != "5002")
    says = {"Item": "lid", "Message inside or below": "message", "Ribbon note": "not needed", "Sleeve": "not needed",
            "Skiff box": "heart-box", "Round tea caddy": "round-caddy"}  # fmt: skip
    asked = verbs.ask_headings(export, env, lambda q: says.get(q.text or q.heading, q.guess))
    assert asked.left == ()
    table, before = verbs.keep_headings(asked.answers, folder, env)
    assert (table, before) == (folder / "intake.toml", None)

    shop = load_shop(folder)
    mended = read_orders(export, shop.intake)
    assert [(o.lid, o.words.message, o.wood) for o in mended.orders] == [
        ("heart-box", "With love", "Black walnut"),
        ("round-caddy", "", "Oak"),
        ("Card box", "sixty summers", ""),
    ]
    assert not any(p.level == "hold" for o in mended.orders for p in o.problems)
    assert survey(export, shop, env.shelf.kinds()).questions == ()


def test_without_a_terminal_the_table_is_printed_and_nothing_kept(export: Path, tmp_path: Path) -> None:
    folder = tmp_path / "our_shop"
    ran = CliRunner().invoke(main, ["headings", str(export), "--shop", str(folder)])
    assert ran.exit_code == SOME_HELD, ran.output
    assert not folder.exists()
    table = tomlkit.parse(ran.stdout).unwrap()
    assert table["columns"]["lid"] == [*load_shop(None).intake.columns["lid"], "Item"]
    assert table["values"]["lid"]["Round tea caddy"] == "round-caddy"
    assert "# Lid ‘Skiff box’ in 1 row" in ran.stdout
    folder.mkdir()
    (folder / "intake.toml").write_text(ran.stdout, "utf-8")
    assert read_orders(export, load_shop(folder).intake).orders[0].lid == "Skiff box"


def test_comments_and_all_else_of_the_shop_s_table_stay(export: Path, tmp_path: Path) -> None:
    folder = tmp_path / "our_shop"
    folder.mkdir()
    ours = '# our own\ndate_order = "mdy"  # as we write it\n\n[columns]\nlid = ["Kind"]   # the page\'s word\n\n[values.wood]\n"Bog oak" = "oak"\n'
    (folder / "intake.toml").write_text(ours, "utf-8")
    env = environment(folder)
    asked = verbs.ask_headings(export, env)
    _, before = verbs.keep_headings(asked.answers, folder, env)
    text = (folder / "intake.toml").read_text("utf-8")
    for line in ours.splitlines():
        assert line.replace('["Kind"]', "") in text.replace('["Kind", "Item"]', "")
    assert tomlkit.parse(text)["columns"]["lid"] == ["Kind", "Item"]
    assert before is not None and before.read_text("utf-8") == ours


@pytest.mark.parametrize("name", ["ferry_week.csv", "crew_of_eight.csv", "messy_export.csv"])
def test_the_demo_weeks_are_asked_nothing(name: str) -> None:
    demo = Path(__file__).resolve().parents[2] / "orders_demo" / name
    ran = CliRunner().invoke(main, ["headings", str(demo)])
    assert (ran.exit_code, "There is nothing to ask." in ran.output) == (OK, True)


def test_json_has_columns_questions_and_the_table(export: Path) -> None:
    ran = CliRunner().invoke(main, ["headings", str(export), "--json"])
    told = json.loads(ran.stdout)
    assert {c["title"] for c in told["columns"]} >= {"Item", "Ship City"}
    assert {q["heading"] for q in told["questions"] if q["kind"] == "column"} == {
        "Item", "Message inside or below", "Ribbon note",
    }  # fmt: skip
    assert tomlkit.parse(told["intake_toml"])["columns"]["message"][-1] == "Message inside or below"


def test_a_week_prints_the_command_that_asks(export: Path, tmp_path: Path) -> None:
    ran = CliRunner().invoke(main, ["batch", str(export), "--out", str(tmp_path / "week"), "--jobs", "1"])
    assert ran.exit_code == SOME_HELD
    assert headings_command(export, None) in ran.output
    assert not list((tmp_path / "week" / "lids").glob("5001*")) and not list((tmp_path / "week" / "lids").glob("5003*"))
    page = (tmp_path / "week" / "week.html").read_text("utf-8")
    assert "engrave headings" in page
    quoted = CliRunner().invoke(main, ["quote", str(export)])
    assert (quoted.exit_code, headings_command(export, None) in quoted.stderr) == (SOME_HELD, True)


def test_the_command_can_be_pasted_whatever_the_names() -> None:
    command = headings_command(Path("our week's orders.csv"), Path("shop & yard"))
    assert shlex.split(command) == ["engrave", "headings", "our week's orders.csv", "--shop", "shop & yard"]


def test_a_file_of_no_use_is_said_so(tmp_path: Path) -> None:
    ran = CliRunner().invoke(main, ["headings", str(tmp_path / "none.csv")])
    assert (ran.exit_code, "There is no orders file" in ran.output) == (UNUSABLE, True)


# --- at a terminal ----------------------------------------------------------------------------------------------------


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are of Unix")
def test_at_a_terminal_each_question_is_put_and_the_answers_kept(export: Path, tmp_path: Path) -> None:
    """A real process at a pseudo-terminal: Enter takes the guess, a slip of the pen is asked again, 'later' is left."""
    import pty

    leader, follower = pty.openpty()
    typed = ["", "", "note", "not needd", "not needed", "later", ""]
    os.write(leader, ("\n".join(typed) + "\n").encode())
    folder = tmp_path / "our shop"
    done = subprocess.run(
        [sys.executable, "-m", "engrave", "headings", str(export), "--shop", str(folder)],
        stdin=follower, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    os.close(leader)
    os.close(follower)
    assert done.returncode == OK, done.stderr + done.stdout
    assert "Did you mean 'not needed'?" in done.stdout
    table = tomlkit.parse((folder / "intake.toml").read_text("utf-8")).unwrap()
    assert table["columns"]["lid"][-1] == "Item"
    assert table["columns"]["note"][-1] == "Ribbon note"
    assert table["split"]["Options"]["Sleeve"] == "extra"
    assert table["values"]["lid"] == {"Round tea caddy": "round-caddy"}


def test_a_shop_s_folder_that_cannot_be_made_is_said_so(
    export: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setattr("engrave.cli.headings_command._at_terminal", lambda: True)
    ran = CliRunner().invoke(main, ["headings", str(export), "--shop", str(tmp_path / "file" / "shop")], input="\n" * 9)
    assert (ran.exit_code, "Not kept" in ran.output) == (UNUSABLE, True)


# --- guesses and answers ----------------------------------------------------------------------------------------------

SHOP = load_shop(None)
LIDS = {i: lid.title for i, lid in SHOP.lids.items()}
WOODS = {i: wood.title for i, wood in SHOP.woods.items()}


@pytest.mark.parametrize(
    ("text", "field", "guess"),
    [
        ("Round caddy", "lid", "round-caddy"), ("heart", "lid", "heart-box"), ("roundcaddy", "lid", "round-caddy"), ("a boat", "lid", ""),
        ("rosewood", "wood", ""), ("Wallnut", "wood", "walnut"), ("box", "lid", ""), ("maple, hard", "wood", "maple"),
    ],
)  # fmt: skip
def test_a_value_is_guessed_only_where_one_entry_is_near(text: str, field: str, guess: str) -> None:
    assert guess_value(text, LIDS if field == "lid" else WOODS, SHOP.intake.values[field]) == guess


@pytest.mark.parametrize(
    ("heading", "cells", "guess"),
    [
        ("Variation 1", ["Walnut", "Oak"], "wood"), ("Choice", ["Wood: Oak / Shape: Round", "Wood: Ash"], "options"), ("Item", ["aa", "bb"], "lid"),
        ("Gift box", ["yes", "no"], "not needed"), ("Schriftart", ["A"], "typeface"), ("Wunschtext", ["Oma"], "note"), ("Qqq", ["abc"], ""),
    ],
)  # fmt: skip
def test_a_column_is_guessed_by_its_cells_before_its_heading(heading: str, cells: list[str], guess: str) -> None:
    assert guess_field(heading, cells, {"lid": LIDS, "wood": WOODS}, SHOP.intake) == guess


def _question(kind: str, heading: str = "", text: str = "", field: str = "", allowed: tuple[str, ...] = ()) -> Question:
    return Question(kind, heading, text, field, "", (), 1, allowed, "")  # type: ignore[arg-type]


def test_answers_hold_in_memory_as_they_do_when_kept(tmp_path: Path) -> None:
    answers = [
        KeptAnswer(_question("column", "Item"), "lid"), KeptAnswer(_question("column", "Extras"), "options"),
        KeptAnswer(_question("option", "Extras", "Sleeve"), "not needed"), KeptAnswer(_question("option", "Extras", "Kind of box"), "lid"),
        KeptAnswer(_question("value", text="Skiff \"box\"", field="lid"), "heart-box"), KeptAnswer(_question("column", "Shelf = 1"), "not needed"),
    ]  # fmt: skip
    (tmp_path / "intake.toml").write_text(toml_with("", answers, SHOP.intake), "utf-8")
    kept, told = load_shop(tmp_path).intake, intake_with(SHOP.intake, answers)
    for text in (
        'order,name,Item,Extras,Shelf = 1\n1,Anna,"Skiff ""box""",,a\n2,Ben,,Sleeve: no / Kind of box: Round,b\n',
    ):
        path = tmp_path / "orders.csv"
        path.write_text(text, "utf-8")
        assert read_orders(path, kept) == read_orders(path, told)
        assert [o.lid for o in read_orders(path, kept).orders] == ["heart-box", "round-caddy"]


def test_what_is_typed_is_understood_in_any_spelling() -> None:
    asked = _question("column", "Item", allowed=("lid", "wood", "not needed"))
    assert [understood(t, asked) for t in ("LID", " not_needed ", "", "later", "Later", "lidd")] == [
        "lid",
        "not needed",
        "",
        "",
        "",
        None,
    ]
    assert suggested("lidd", asked) == "lid"
    assert guesses(asked) == ""


# --- rows without a lid -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("defaults", "held"), [(None, True), ('shop = "Yard"\n', True), ('lid = "card-box"\n', False)])
def test_a_shop_s_own_tables_must_name_the_lid_of_rows_without_one(
    tmp_path: Path, defaults: str | None, held: bool
) -> None:
    folder = tmp_path / "shop"
    folder.mkdir()
    if defaults is not None:
        (folder / "defaults.toml").write_text(defaults, "utf-8")
    table = tmp_path / "orders.csv"
    table.write_text("order,name\n1,Anna\n", "utf-8")
    week = verbs.quote_week(table, environment(folder), folder)
    assert ("no-lid" in [p.code for p in week.entries[0].piece.problems]) == held
    assert verbs.try_words("Anna", env=environment(folder)).entries[0].piece.verdict != "hold"
    assert verbs.quote_week(table).entries[0].piece.verdict != "hold"


def test_labels_in_a_column_of_words_are_asked_about_once(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_text('Order ID,Personalisation,lid\n1,"Name: Anna / Date: 2026",card-box\n2,Ben,card-box\n', "utf-8")
    env = environment()
    (question,) = survey(path, env.shop, env.shelf.kinds()).questions
    assert (question.kind, question.heading, question.allowed, question.rows) == (
        "labels",
        "Personalisation",
        ("labels", "words"),
        1,
    )
    for says, name in (("labels", "Anna"), ("words", "Name: Anna / Date: 2026")):
        folder = tmp_path / says
        verbs.keep_headings([KeptAnswer(question, says)], folder, env)
        shop = load_shop(folder)
        order = read_orders(path, shop.intake).orders[0]
        assert (order.words.name, "labels" in [p.code for p in order.problems]) == (name, False)
        assert survey(path, shop, env.shelf.kinds()).questions == ()
        assert intake_with(env.shop.intake, [KeptAnswer(question, says)]).labels == shop.intake.labels
