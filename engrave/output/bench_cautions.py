"""What to mind this week: only what its methods, woods and finishes call for, in at most six lines.

The full list, with the bodies whose rules apply, stands folded below them, and in the README under 'Cautions'.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from engrave.shop.cautions import FULL_LIST as CAUTIONS
from engrave.shop.cautions import TITLES, Caution
from engrave.shop.models import Beam
from engrave.tasks import Task

if TYPE_CHECKING:
    from engrave.making import Piece

MOST_LINES = 6
"""Lines at most: what is longer is not read beside a running machine."""

MOST_WOODS = 3
"""Woods named at most in the line on dust."""

ABOVE_ALL = "The machine's manual, local rules and licensed practice come before every line here."

FULL_LIST = "README, under “Cautions”"


def cautions(pieces: Iterable[Piece]) -> tuple[str, ...]:
    """Return what the pieces that are made call for, gravest first; empty when nothing is to be cut."""
    tasks = list({_asking(p.task): p.task for p in pieces if p.task is not None and p.is_made}.values())
    beams = [t for t in tasks if t.tool.cutter.is_beam]
    bits = [t for t in tasks if not t.tool.cutter.is_beam]
    lines = [*_of_beams(beams), *_of_bits(bits), *_of_woods(tasks), *_of_finishes(tasks)]
    return tuple(lines[:MOST_LINES])


def _asking(task: Task) -> tuple[str, ...]:
    """Return what of a task cautions depend on."""
    return (task.tool.cutter.id, task.tool.method, task.tool.machine.id, task.wood.id, task.lid.id, task.area.name)


def every_caution() -> tuple[tuple[str, tuple[Caution, ...]], ...]:
    """Return the full list: each topic's title with its cautions."""
    return tuple((title, tuple(c for c in CAUTIONS if c.topic == topic)) for topic, title in TITLES.items())


def _of_beams(tasks: list[Task]) -> Iterable[str]:
    if not tasks:
        return
    lengths = sorted({t.tool.cutter.wavelength for t in tasks if isinstance(t.tool.cutter, Beam)})
    named = " and ".join(f"{w:g} nm" for w in lengths)
    yield (
        f"Beam: enclosure and interlocks whole; eyewear for {named} on everyone in sight. Never leave it running alone, "
        "watch the lid a while after the last mark, extinguisher within reach."
    )
    wet = {t.lid.finish for t in tasks} - {"none"}
    finished = f" (some lids come with {', '.join(sorted(wet))}: let it cure)" if wet else ""
    yield (
        "Beam: smoke goes outdoors, never through the wood-dust collector. No plastic you cannot name and never PVC; "
        f"brass near the beam reflects; nothing wet with oil or solvent{finished}."
    )


def _of_bits(tasks: list[Task]) -> Iterable[str]:
    if not tasks:
        return
    yield (
        "Bits: work held down, eyes and ears covered, no gloves or loose cloth at a turning bit, spindle isolated for "
        "bit changes, stop within reach."
    )
    proud = sorted({k.why for t in tasks for k in t.area.keep_outs if k.height > 0})
    if proud:
        yield f"The holder can foul what stands proud on these lids ({', '.join(proud)}): take it off, or watch the first run."


def _of_woods(tasks: list[Task]) -> Iterable[str]:
    woods = {t.wood.id: t.wood for t in tasks}
    if not woods:
        return
    named = [f"{w.title}: {w.caution.rstrip('.')}" for w in woods.values() if w.caution][:MOST_WOODS]
    species = f" {'. '.join(named)}." if named else ""
    yield f"Dust of any wood harms lungs and nose: draw it off where it is made, and wear a mask to clean up.{species}"


def _of_finishes(tasks: list[Task]) -> Iterable[str]:
    if any(t.lid.finish in ("oil", "wax", "varnish") for t in tasks):
        yield "Rags with drying oil heat up by themselves: spread them flat outdoors, or keep them in a lidded metal can."
