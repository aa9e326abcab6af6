"""Changes from one thing at hand to another: cutter, setting, typeface, lid, or fewer words; likely ones first.

What cannot help is left out before anything is made again: a cutter by checking the letters as they stand, a typeface
by what was measured on its letters.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, product
from typing import Literal

from engrave.advising.codes import TOO_FINE, TOO_SMALL
from engrave.advising.nearness import character_of, cutter_of, machine_of, named_of, typeface_of
from engrave.advising.trying import MOST_POINTS, Candidate, most_points, retasks, times_larger
from engrave.cutting.growth import growth_needed
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.making import Env, Piece, checked
from engrave.setting import Lettering, frame_of, greatest_cap, least_cap
from engrave.shop.models import Cutter, Lid, Setting
from engrave.tasks import Task
from engrave.tasks.choosing import midway
from engrave.typefaces import Measured, Typeface

PAIRED_TYPEFACES = 3
"""Typefaces that are put together with another cutter where no one change helps."""

PAIRED_HERE, PAIRED_ELSEWHERE = 3, 2
"""Cutters that are put together with another setting where no one change helps: of the machine, and of the others."""

NEAR_FIT = 1.1
"""Times the surface that words cover as they stand which a cutter's least letters may cover: lines can trade some."""

ENOUGH = 0.8
"""Share of the size that is missing which a larger lid must promise by its surface: its shape may suit the words better."""

MAY_GROW = 1.1
"""Times that letters must be larger at most for a cutter that fails on them as they stand to be tried all the same: what is
held gives up the setting's calm."""

AT_GREATEST = 0.9
"""Share of the greatest capitals that taste allows from which on it is taste that limits them, and not room."""

GROWS = 1.25
"""What a typeface's measured figures may lack: its words may come out so much larger than those they replace."""


def other_cutters(piece: Piece, env: Env, targets: set[str], here: bool) -> Iterator[Candidate]:
    """Yield cutters that may pass, surest first as the letters stand, and of those the one most like the present.

    here: those of the machine that the piece is for, else those of the others. Where there are no letters yet, one of
    each kind comes before a second of any. Each is looked at when it is asked for: mostly the first few are enough.
    """
    now, machine = env.shop.cutters.get(cutter_of(piece, env)), machine_of(piece, env)
    others = sorted((c for c in usable(piece, env) if (c.machine == machine) is here), key=lambda c: _unlike(c, now))
    if piece.lettering is None:
        first = {(c.machine, c.kind): c for c in reversed(others)}
        others.sort(key=lambda c: first[c.machine, c.kind] is not c)
    later: dict[AsSet, list[Candidate]] = {"leaves a look": [], "may pass": [], "fails": []}
    for found in map(with_cutter, others):
        told = _as_set(found, piece, env, targets)
        if told == "passes":
            yield found
        else:
            later[told].append(found)
    yield from (*later["leaves a look"], *later["may pass"])


def with_cutter(cutter: Cutter) -> Candidate:
    """Return the change to another cutter."""
    return Candidate((("cutter", cutter.id),), f"Cut it with the {midway(cutter.title)} ({cutter.id})")


def usable(piece: Piece, env: Env) -> list[Cutter]:
    """Return the cutters with a recipe for the piece's wood, but for the one that it has."""
    wood, now = piece.task.wood if piece.task else named_of(piece, env).wood, cutter_of(piece, env)
    with_recipe = {r.cutter for r in env.shop.recipes if wood is not None and r.wood == wood.id}
    return [c for c in env.shop.cutters_at_hand() if c.id in with_recipe and c.id != now]


AsSet = Literal["passes", "leaves a look", "may pass", "fails"]


def _as_set(found: Candidate, piece: Piece, env: Env, targets: set[str]) -> AsSet:
    """Tell what becomes of the letters as they stand with the change; wood between them can still be made room for."""
    task, *_ = retasks(found.change, piece, env) or (None,)
    if task is None or piece.lettering is None:
        return "fails" if task is None else "passes"
    if not _large_enough(piece.lettering, task, env):
        return "fails"
    if task.tool.method == "follow" and most_points(piece.lettering, env) > MOST_POINTS:
        return "fails"
    if piece.task is not None and piece.task.weights:  # lines with a weight are drawn anew for another cutter
        return "may pass"
    if targets & TOO_SMALL:  # its lines will be shared out anew: what is thin in the smallest may not stay so
        return "may pass"
    groove = task.tool.groove if piece.lettering.kind == "single-line" else 0.0
    lettering = piece.lettering if groove == piece.lettering.groove else replace(piece.lettering, groove=groove)
    problems = checked(lettering, task, env).problems
    told = [p for p in problems if p.level != "note" and not p.where.startswith("between")]
    if piece.verdict != "hold":
        return "fails" if any(p.code in targets for p in told) else "passes"
    holds = [p for p in told if p.level == "hold"]
    if not holds:
        return "leaves a look" if told else "passes"
    return "may pass" if growth_needed(holds, lettering, task.tool) <= MAY_GROW else "fails"


def _large_enough(lettering: Lettering, task: Task, env: Env) -> bool:
    """Tell whether words as large as the tool's least letters would cover no more than they do as they stand."""
    faces = {field: env.shelf.get(typeface) for field, typeface in task.typefaces}
    lines = [line for line in lettering.lines if line.field in faces]
    covers = sum(len(line.text) * line.cap_mm**2 for line in lines)
    least = sum(len(line.text) * least_cap(task, line.field, faces[line.field]) ** 2 for line in lines)
    return least <= NEAR_FIT * covers


def _unlike(c: Cutter, now: Cutter | None) -> tuple[bool, bool, float, str]:
    """Rank cutters: same machine, same kind, then the next finer one before the much finer."""
    if now is None:
        return (False, False, 0.0, c.id)
    return (c.machine != now.machine, c.kind != now.kind, abs(c.fineness - now.fineness), c.id)


def other_settings(piece: Piece, env: Env) -> Iterator[Candidate]:
    """Yield settings of another kind than the present."""
    now = piece.task.setting if piece.task else named_of(piece, env).setting
    for setting in env.shop.settings.values():
        if now is not None and setting.id != now.id and setting.kind != now.kind:
            yield _with_setting(setting)


def larger_settings(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield ways to set words larger on their own lid, as large as they must be, where taste limits them and not room."""
    task, laid = piece.task, piece.lettering
    times = times_larger(piece, targets)
    if task is None or laid is None or not laid.marks or times <= 1.0:
        return
    frame = frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove, env.cache)
    if frame is None or laid.cap_mm < AT_GREATEST * greatest_cap(frame, task.setting):
        return
    if not task.order.lettering_size and greatest_cap(frame, task.setting.at_size("large")) >= times * laid.cap_mm:
        yield Candidate((("lettering_size", "large"),), "Set it large (lettering_size large)")
    alike = [s for s in env.shop.settings.values() if (s.kind, s.align) == (task.setting.kind, task.setting.align)]
    for setting in sorted(alike, key=lambda s: (greatest_cap(frame, s), s.id)):
        if setting.id != task.setting.id and greatest_cap(frame, setting) >= times * laid.cap_mm:
            yield _with_setting(setting)


def _with_setting(setting: Setting) -> Candidate:
    return Candidate((("setting", setting.id),), f"Set it as '{setting.title}' ({setting.id})")


def other_typefaces(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield typefaces whose measured strokes and webs may pass: of the same character of letter first, then the likest."""
    now, lines = env.shelf.get(typeface_of(piece, env)), env.shop.defaults.single_line_typeface
    stem = now.facts.measured.stem if now.facts.measured else None
    kinds, character = env.shelf.kinds(), character_of(now.id, env)

    def unlike(ident: str) -> tuple[bool, bool, bool, bool, float, str]:
        other = env.shelf.facts(ident)
        body = other.measured.stem if other.measured else None
        thicker = abs(body - stem) if body is not None and stem is not None else math.inf
        alike = character_of(ident, env) == character
        return (not alike, kinds[ident] != now.kind, ident != lines, other.joined != now.joined, thicker, ident)

    for ident in sorted((i for i in env.shelf.ids if i != now.id), key=unlike):
        # what is known without opening the typeface's file comes first
        if not _may_pass(env.shelf.facts(ident).measured, piece, targets) or not _has_letters(ident, piece, env):
            continue
        if not _narrow_enough(ident, piece, env, targets):
            continue
        if retasks((("typeface", ident),), piece, env):
            yield Candidate((("typeface", ident),), f"Set it in {env.shelf.get(ident).title} ({ident})")


def _narrow_enough(ident: str, piece: Piece, env: Env, targets: set[str]) -> bool:
    """Tell whether words that lack room would, as small as the typeface may be, cover less than they do as they stand."""
    task, laid = piece.task, piece.lettering
    if task is None or laid is None or not laid.marks or not targets & TOO_SMALL:
        return True
    face, now = env.shelf.get(ident), {field: env.shelf.get(typeface) for field, typeface in task.typefaces}
    fields = [field for field, _ in task.words.filled() if field in now]
    heights = {line.field: line.cap_mm for line in laid.lines}
    covers = sum(_width(now[f], f, task) * heights.get(f, laid.cap_mm) ** 2 for f in fields)
    least = sum(_width(face, f, task) * least_cap(task, f, face) ** 2 for f in fields)
    return least <= NEAR_FIT * covers


def _width(typeface: Typeface, field: str, task: Task) -> float:
    """Return how wide a field's words are in one line, in cap heights."""
    return sum(typeface.shape(line).advance for line in dict(task.words.filled())[field].split("\n"))


def other_cutter_and_setting(piece: Piece, env: Env) -> Iterator[Candidate]:
    """Yield the first setting of another kind together with the finest cutters: of the machine, and of the others."""
    settings = list(islice(other_settings(piece, env), 1))
    machine, cutters = machine_of(piece, env), sorted(usable(piece, env), key=lambda c: (c.fineness, c.id))
    here, others = ([c for c in cutters if (c.machine == machine) is is_here] for is_here in (True, False))
    for setting, cutter in product(settings, [*here[:PAIRED_HERE], *others[:PAIRED_ELSEWHERE]]):
        says = f"{setting.says}, cut with the {midway(cutter.title)} ({cutter.id})"
        yield Candidate((*with_cutter(cutter).change, *setting.change), says)


def other_cutter_and_typeface(piece: Piece, env: Env, targets: set[str]) -> Iterator[Candidate]:
    """Yield cutters together with typefaces for what no one change helps: what the shop takes where nothing is said,
    then the likest typefaces; with the finest cutter of the machine, and then of the others.
    """
    usual, machine = env.shop.defaults, machine_of(piece, env)
    cutters = sorted(usable(piece, env), key=lambda c: (c.id != usual.cutter, c.fineness, c.id))
    typefaces = [
        Candidate((("typeface", ident),), f"Set it in {env.shelf.get(ident).title} ({ident})")
        for ident in (usual.typeface, usual.single_line_typeface)
        if ident in env.shelf.ids and ident != piece.order.typeface
    ]
    # how fine strokes may be is the other cutter's matter
    typefaces += islice(
        (t for t in other_typefaces(piece, env, targets - TOO_FINE) if t not in typefaces), PAIRED_TYPEFACES
    )
    here, others = ([c for c in cutters if (c.machine == machine) is is_here] for is_here in (True, False))
    for typeface, cutter in product(typefaces[:PAIRED_TYPEFACES], [*here[:1], *others[:1]]):
        says = f"{typeface.says}, cut with the {midway(cutter.title)} ({cutter.id})"
        yield Candidate((*with_cutter(cutter).change, *typeface.change), says)


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
