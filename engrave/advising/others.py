"""Changes from one thing at hand to another: cutter, setting, typeface, lid, or fewer words; likely ones first.

What cannot help is left out before anything is made again: a cutter by checking the letters as they stand, a typeface
by what was measured on its letters.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, product

from engrave.advising.codes import TOO_FINE, TOO_SMALL
from engrave.advising.trying import MOST_POINTS, Candidate, most_points, retasks, times_larger
from engrave.cutting import check
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.making import Env, Piece
from engrave.setting import Lettering, least_cap
from engrave.shop.models import Cutter, Lid
from engrave.tasks import Task
from engrave.tasks.choosing import midway
from engrave.typefaces import Measured

EACH = 3
"""Cutters, and typefaces, that are put together where no one change helps."""

NEAR = 1.1
"""Times the surface that words cover as they stand which a cutter's least letters may cover: lines can trade some."""

ENOUGH = 0.8
"""Share of the size that is missing which a larger lid must promise by its surface: its shape may suit the words better."""

GROWS = 1.25
"""What a typeface's measured figures may lack: its words may come out so much larger than those they replace."""


def other_cutters(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield cutters that pass on the letters as they stand, most like the present one first.

    Where there are no letters yet, one of each kind comes before a second of any.
    """
    now = piece.task.tool.cutter if piece.task else env.shop.cutters.get(piece.order.cutter)
    others = sorted(_usable(piece, env), key=lambda c: _unlike(c, now))
    if piece.lettering is None:
        first = {(c.machine, c.kind): c for c in reversed(others)}
        others.sort(key=lambda c: first[c.machine, c.kind] is not c)
    for cutter in others:
        found = Candidate((("cutter", cutter.id),), f"Cut it with the {midway(cutter.title)} ({cutter.id})")
        if _passes_as_set(found, piece, env, targets):
            yield found


def _usable(piece: Piece, env: Env) -> list[Cutter]:
    """Return the cutters with a recipe for the piece's wood, but for the one that it has."""
    wood = piece.task.wood.id if piece.task else piece.order.wood or env.shop.defaults.wood
    now = piece.task.tool.cutter.id if piece.task else piece.order.cutter
    with_recipe = {r.cutter for r in env.shop.recipes if r.wood == wood}
    return [c for c in env.shop.cutters.values() if c.id in with_recipe and c.id != now]


def _passes_as_set(found: Candidate, piece: Piece, env: Env, targets: set[str]) -> bool:
    """Tell whether the letters as they stand may pass with the change; wood between them can still be made room for."""
    task, *_ = retasks(found.change, piece, env) or (None,)
    if task is None or piece.lettering is None:
        return task is not None
    if not _large_enough(piece.lettering, task, env):
        return False
    if task.tool.method == "follow" and most_points(piece.lettering, env) > MOST_POINTS:
        return False
    if piece.task is not None and piece.task.weights:  # lines with a weight are drawn anew for another cutter
        return True
    if targets & TOO_SMALL:  # its lines will be shared out anew: what is thin in the smallest may not stay so
        return True
    lettering = replace(piece.lettering, groove=task.tool.groove if piece.lettering.kind == "single-line" else 0.0)
    problems = check(lettering, task.tool, task.wood, task.lid, env.measures).problems
    left = {p.code for p in problems if p.level != "note" and not p.where.startswith("between")}
    return not left & targets


def _large_enough(lettering: Lettering, task: Task, env: Env) -> bool:
    """Tell whether words as large as the tool's least letters would cover no more than they do as they stand."""
    faces = {field: env.shelf.get(typeface) for field, typeface in task.typefaces}
    lines = [line for line in lettering.lines if line.field in faces]
    covers = sum(len(line.text) * line.cap_mm**2 for line in lines)
    least = sum(len(line.text) * least_cap(task, line.field, faces[line.field]) ** 2 for line in lines)
    return least <= NEAR * covers


def _unlike(c: Cutter, now: Cutter | None) -> tuple[bool, bool, float, str]:
    """Rank cutters: same machine, same kind, then the next finer one before the much finer."""
    if now is None:
        return (False, False, 0.0, c.id)
    return (c.machine != now.machine, c.kind != now.kind, abs(c.fineness - now.fineness), c.id)


def other_settings(piece: Piece, env: Env) -> Iterator[Candidate]:
    """Yield settings of another kind than the present."""
    now = piece.task.setting if piece.task else None
    for setting in env.shop.settings.values():
        if now is not None and setting.id != now.id and setting.kind != now.kind:
            yield Candidate((("setting", setting.id),), f"Set it as '{setting.title}' ({setting.id})")


def other_typefaces(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield typefaces whose measured strokes and webs may pass, the likest first, then those of the other kind."""
    ordered = piece.task.typefaces[0][1] if piece.task and piece.task.typefaces else piece.order.typeface
    if ordered not in env.shelf.ids:
        ordered = env.shop.defaults.typeface
    now, lines = env.shelf.get(ordered), env.shop.defaults.single_line_typeface
    stem = now.facts.measured.stem if now.facts.measured else None

    def unlike(ident: str) -> tuple[bool, bool, bool, float, str]:
        other = env.shelf.facts(ident)
        body = other.measured.stem if other.measured else None
        thicker = abs(body - stem) if body is not None and stem is not None else math.inf
        return (env.shelf.kinds()[ident] != now.kind, ident != lines, other.joined != now.joined, thicker, ident)

    for ident in sorted((i for i in env.shelf.ids if i != now.id and _has_letters(i, piece, env)), key=unlike):
        if _may_pass(env.shelf.facts(ident).measured, piece, targets) and retasks((("typeface", ident),), piece, env):
            yield Candidate((("typeface", ident),), f"Set it in {env.shelf.get(ident).title} ({ident})")


def other_cutter_and_typeface(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield cutters together with typefaces for what no one change helps: what the shop takes where nothing is said,
    then the finest cutters and the likest typefaces.
    """
    usual = env.shop.defaults
    cutters = sorted(_usable(piece, env), key=lambda c: (c.id != usual.cutter, c.fineness, c.id))
    typefaces = [
        Candidate((("typeface", ident),), f"Set it in {env.shelf.get(ident).title} ({ident})")
        for ident in (usual.typeface, usual.single_line_typeface)
        if ident in env.shelf.ids and ident != piece.order.typeface
    ]
    # how fine strokes may be is the other cutter's matter
    typefaces += islice((t for t in other_typefaces(piece, env, targets - TOO_FINE) if t not in typefaces), EACH)
    for cutter, typeface in product(cutters[:EACH], typefaces[:EACH]):
        says = f"{typeface.says}, cut with the {midway(cutter.title)} ({cutter.id})"
        yield Candidate((("cutter", cutter.id), *typeface.change), says)


def _has_letters(ident: str, piece: Piece, env: Env) -> bool:
    """Tell whether a typeface has the words' letters itself: another script's is no remedy."""
    letters = {c for _, words in piece.order.words.filled() for c in words if c.isalpha()}
    return all(env.shelf.get(ident).own(c) is not None for c in letters)


def _may_pass(facts: Measured | None, piece: Piece, targets: set[str]) -> bool:
    """Tell whether a typeface's measured strokes and webs come near what each problem found lacking."""
    if facts is None or piece.lettering is None:
        return True
    caps = [line.cap_mm for line in piece.lettering.lines if line.cap_mm > 0.0]
    most = GROWS * min(caps, default=0.0)
    for p in piece.problems:
        if p.level == "note" or p.code not in targets or not isinstance(p.limit, float):
            continue
        if p.code in TOO_FINE and facts.stroke is not None and facts.stroke * most < p.limit:
            return False
        if p.code in NO_ROOM_BETWEEN and not p.where.startswith("between"):
            inside = min((v for v in (facts.web, facts.counter) if v is not None), default=math.inf)
            if inside * most < p.limit:
                return False
    return True


def fewer_words(piece: Piece) -> Iterator[Candidate]:
    """Yield the order without its foot, then without its message."""
    filled = [f for f, _ in piece.order.words.filled()]
    for field in ("foot", "message"):
        if field in filled and len(filled) > 1:
            yield Candidate(((field, ""),), f"Leave out the {field}, or agree on a shorter one")


def larger_lids(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield lids on which the words may come out as much larger as they must be, smallest first."""
    if piece.task is None:
        return
    now = piece.task.lid
    least = _surface(now) * (ENOUGH * times_larger(piece, targets)) ** 2
    larger = [lid for lid in env.shop.lids.values() if _surface(lid) > max(_surface(now), least)]
    for lid in sorted(larger, key=lambda lid: (_surface(lid), lid.id)):
        yield Candidate((("lid", lid.id),), f"Offer the {midway(lid.title)} ({lid.id}) instead")


def _surface(lid: Lid) -> float:
    return lid.areas[0].width * lid.areas[0].height
