"""Workers share what their parent has loaded: libraries that nearly every lid asks for, and the typefaces of the work."""

from __future__ import annotations

import sys
from dataclasses import replace

from engrave.batch.loaded_before import LARGE_LIBRARIES, load_for_all
from engrave.batch.work_units import Unit
from engrave.intake import words_typed
from engrave.making import environment, tasks_of


def test_libraries_and_the_typefaces_of_the_work_are_loaded_before_workers_are_forked() -> None:
    env = environment()
    ida = words_typed("Ida", "", "", env.shop.intake)
    whats = tuple(tasks_of([replace(ida, typeface="vollkorn"), replace(ida, typeface="no-such-letters")], env))
    load_for_all([Unit((0, 1), whats, (), "", "", (), {})], env)
    opened = [i for i in env.shelf.ids if env.shelf.get(i)._source is not None]
    assert opened == ["vollkorn"]
    assert set(LARGE_LIBRARIES) <= set(sys.modules)
