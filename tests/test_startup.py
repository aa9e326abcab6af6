"""A command starts at once: in a fresh process it loads what it uses, and nothing of what the others use."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from engrave import errors
from engrave.cli import COMMANDS, main

HEAVY = ("numpy", "shapely", "scipy", "svgwrite", "jinja2", "PIL", "typst", "tomlkit", "openpyxl", "babel", "svgelements",
         "fontTools", "uharfbuzz", "filelock", "engrave.shop", "engrave.verbs", "engrave.intake")  # fmt: skip
"""What help has no use for."""

NOT_FOR_WORDS = ("scipy", "fontTools.ttLib", "uniseg", "bidi", "fontTools.unicodedata", "importlib.metadata", "email", "html", "difflib",
                 "tomllib", "sqlite3", "tempfile", "svgwrite", "jinja2", "PIL", "typst", "tomlkit", "openpyxl", "filelock",
                 "svgelements", "numpy.ma", "engrave.batch", "engrave.learning", "engrave.headings", "engrave.testpiece", "engrave.output.pictures",
                 "engrave.output.sheets", "engrave.output.page", "engrave.output.svg.lid_file", "engrave.intake.workbook", "engrave.week.work_plan",
                 "engrave.setting.explanation", "engrave.toolpath.vee", "engrave.shop.outline_svg")  # fmt: skip
"""What one text, tried with its letters measured before, has no use for."""


def loaded(after: list[str], watched: tuple[str, ...], cache: Path) -> set[str]:
    """Run a command in a fresh process and return which of the watched modules it has loaded."""
    code = (
        f"import sys; sys.argv = ['engrave', *{after!r}]\n"
        "from engrave.cli import main\n"
        "try: main()\n"
        f"except SystemExit: print('LOADED', *(m for m in {watched!r} if m in sys.modules))\n"
    )
    env = {**os.environ, "ENGRAVE_CACHE": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True, timeout=120
    )
    return set(done.stdout.rsplit("LOADED", 1)[1].split())


@pytest.mark.parametrize("asked", [["--help"], ["--version"], ["nothing-of-the-kind"]])
def test_help_loads_no_stage_and_no_large_library(asked: list[str], tmp_path: Path) -> None:
    assert loaded(asked, HEAVY, tmp_path) == set()


def test_words_tried_with_known_letters_load_only_what_setting_and_checking_use(tmp_path: Path) -> None:
    loaded(["try", "Wanda"], NOT_FOR_WORDS, tmp_path)  # measures the letters
    assert loaded(["try", "Wanda"], NOT_FOR_WORDS, tmp_path) == set()


def test_a_command_runs_in_one_thread(tmp_path: Path) -> None:
    """As many as the machine has cores would be started by numpy's library, and cost more than a text's whole check."""
    threads = Path("/proc/self/task")
    if not threads.is_dir():
        pytest.skip("this system does not show a process its threads")
    code = (
        "import os, sys; sys.argv = ['engrave', 'shelf', 'woods']\n"
        "from engrave.start import main\n"
        "try: main()\n"
        f"except SystemExit: print('THREADS', len(os.listdir({str(threads)!r})), 'numpy' in sys.modules)\n"
    )
    env = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**env, "ENGRAVE_CACHE": str(tmp_path)},
        check=True, timeout=120,
    )  # fmt: skip
    assert told.stdout.rsplit("THREADS", 1)[1].split() == ["1", "True"]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_says_of_each_command_what_its_own_help_says(name: str) -> None:
    command = main.commands[name]
    assert command.name == name
    assert click.Command(None, help=COMMANDS[name]).get_short_help_str(80) == command.get_short_help_str(80)
    shown = CliRunner().invoke(main, [name, "--help"])
    assert (shown.exit_code, f"engrave {name}" in shown.output) == (0, True)


def test_the_tree_of_errors_for_people_is_drawn_whole() -> None:
    for name in COMMANDS:
        assert main.commands[name]  # loads every module that can raise one
    below = errors.ForPeople.__subclasses__()
    assert {e.__name__: str(e.status) for e in below} == {
        words[1]: words[2]
        for line in (errors.__doc__ or "").splitlines()
        if (words := line.split())[:1] in (["|-"], ["`-"])
    }
