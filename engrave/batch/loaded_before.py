"""What every worker of a week would load for itself, loaded once before any is forked: they share it with their parent."""

from __future__ import annotations

from collections.abc import Iterable
from importlib import import_module
from itertools import islice

from engrave.batch.work_units import Unit
from engrave.making import Env
from engrave.tasks import Task

LARGE_LIBRARIES = ("PIL.PngImagePlugin", "babel.dates", "scipy.spatial", "svgwrite")
"""Large libraries that nearly every lid asks for, and that wait elsewhere until they are asked for."""

UNITS_LOOKED_AT = 200
"""Units whose typefaces are opened: a long week's others are much the same, and looking at all of them takes its time."""


def load_for_all(work: Iterable[Unit], env: Env) -> None:
    """Load the libraries and open the typefaces that work is made with; one that cannot be opened is told of its words."""
    for name in LARGE_LIBRARIES:
        import_module(name)
    tasks = [what for unit in islice(work, UNITS_LOOKED_AT) for what in unit.whats if isinstance(what, Task)]
    for ident in sorted({typeface for task in tasks for _, typeface in task.typefaces}):
        if ident in env.shelf.ids:
            _ = env.shelf.get(ident).opens
