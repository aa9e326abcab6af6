"""What the README shows is what the program does."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from engrave.cli import main
from engrave.shop.cautions import as_markdown

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
