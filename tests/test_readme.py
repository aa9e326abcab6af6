"""What the README shows is what the program does."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from engrave.cli import main
from engrave.output.week_folder import BENCH
from engrave.output.week_folder.ours import FOLDERS
from engrave.shop.cautions import as_markdown
from engrave.shop.house import MAPPED

README = (Path(__file__).resolve().parents[1] / "README.md").read_text("utf-8")


def test_the_full_list_of_cautions_is_the_shops() -> None:
    assert as_markdown().strip() in README


def test_every_command_shown_is_known_with_its_options() -> None:
    shown = re.findall(r"^\.venv/bin/engrave (.+)$|`engrave ([^`]+)`", README, re.MULTILINE)
    assert len(shown) > 4
    for line in (a or b for a, b in shown):
        name, *rest = shlex.split(line)
        command = main.commands[name]
        known = {opt for p in command.params for opt in p.opts}
        assert {word for word in rest if word.startswith("--")} <= known, line


def test_the_one_line_answers_of_the_tour_run() -> None:
    asked = ["try", "Wanda", "--message", "sixty summers on the river", "--lid", "round-caddy", "--wood", "walnut"]
    done = CliRunner().invoke(main, [*asked, "--typeface", "withy"], catch_exceptions=False)
    assert done.exit_code == 0
    assert done.output.splitlines()[0].startswith("Fits:")
    assert f"```text\n{done.output.strip()}\n```" in README


def prose() -> list[str]:
    """Paragraphs and list entries, without the commands, tables, headings and the cautions (which the shop's list words)."""
    text = re.sub(r"```.*?```|<!--.*?-->|!\[.*?\)", "", README.replace(as_markdown().strip(), ""), flags=re.DOTALL)
    kept = "\n".join("" if line.startswith(("|", "#")) else line for line in text.splitlines())
    return [" ".join(p.split()) for p in re.split(r"\n\s*\n|\n(?=- )", kept) if p.strip()]


def test_a_person_reads_it_once() -> None:
    """Our own measure: under 18 words a sentence on average, no paragraph over 80."""
    paragraphs = prose()
    assert max(len(p.split()) for p in paragraphs) <= 80
    sentences = [s for p in paragraphs for s in re.split(r"(?<=[.?!])\s+", p)]
    assert len(sentences) > 80
    assert sum(len(s.split()) for s in sentences) / len(sentences) < 18


def test_every_column_of_the_orders_table_is_explained() -> None:
    """What `shared/intake.toml` may name and the shop need not: a row for each column that a buyer's order can fill."""
    missing = [name for name in MAPPED if name not in ("extra", "options") and f"`{name}`" not in README]
    assert not missing


def test_the_folders_of_a_week_are_the_programs() -> None:
    shown = README.split("## A week at once")[1].split("\n## ")[0]
    assert {f"{name}/" for name in FOLDERS} | {BENCH} <= set(re.findall(r"`(\w+/|\w+\.\w+)`", shown))


def test_every_file_that_developers_are_sent_to_is_there() -> None:
    root = Path(__file__).resolve().parents[1]
    text = (root / "DEVELOPERS.md").read_text("utf-8")
    table = text.split("## Where is it decided")[1].split("\n## ")[0]
    wrong = text.split("## What can go wrong")[1].split("## Words")[0] + text.split("## Findings")[1]
    named = [
        *re.findall(r"`([\w/]+\.py)`", table),
        *re.findall(r"`([a-z_]+/[a-z_/]+)`", wrong.replace("tests/tools/", "")),
    ]
    assert len(named) > 100
    for name in named:
        file = root / "engrave" / name
        assert file.exists() or file.with_suffix(".py").exists(), name
