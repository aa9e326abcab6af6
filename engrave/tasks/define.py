"""Make orders definite: every row becomes tasks, a plain lid, or a refusal that names all that is wrong with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from engrave.intake.cells import share_of
from engrave.intake.order import Order, Words
from engrave.on_disk import long_list
from engrave.problems import Problem, held
from engrave.shop.artwork import Artwork, ArtworkError, Drawings
from engrave.shop.house import WORD_FIELDS
from engrave.shop.models import Area, Cutter, LetteringSize, Lid, Setting, Shop, Wood
from engrave.tasks.choosing import Book, book, chosen, chosen_typeface, midway, no_lid, where
from engrave.tasks.task_models import Plain, Refused, Task
from engrave.tasks.tooling import method_for, tool_for
from engrave.tasks.weights import weighting_for

SIZES: dict[str, LetteringSize] = {"quiet": "quiet", "usual": "usual", "large": "large"}
"""Lettering sizes as an order says them."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A row whose names have all been found in the shop; setting None: the area's, the lid's or the shop's own.

    problems: what was chosen for it otherwise than its lid or the shop says.
    """

    order: Order
    lid: Lid
    wood: Wood
    typeface: str
    cutter: Cutter
    setting: Setting | None
    problems: tuple[Problem, ...] = ()


def define_all(
    orders: Sequence[Order],
    shop: Shop,
    kinds: Mapping[str, str],
    refused: Mapping[str, str] | None = None,
    drawings: Drawings | None = None,
    *,
    of_table: bool = False,
) -> Sequence[Task | Plain | Refused]:
    """Return what every row becomes, in row order; a lid with two lettered areas gives a piece for each.

    kinds: typeface id to 'outline' or 'single-line'; refused: why a typeface of the shop's own cannot be used, by id.
    drawings: the shop's own, which rows name.
    of_table: the orders are rows of a table, for which our own lid is not taken where a shop has tables of its own.
    Pieces are numbered from 1 within their order.
    """
    shelf = book(shop, kinds, refused, shop.defaults.lid_of_tables if of_table else shop.defaults.lid, drawings)
    return long_list(_numbered(what for order in orders for what in _define(order, shelf)), shop.parts())


def _numbered(whats: Iterable[Task | Plain | Refused]) -> Iterator[Task | Plain | Refused]:
    counts: dict[str, int] = {}
    for what in whats:
        counts[what.order.id] = counts.get(what.order.id, 0) + 1
        yield replace(what, piece=counts[what.order.id])


def _define(order: Order, shelf: Book) -> Iterator[Task | Plain | Refused]:
    holds: list[Problem] = []
    row = _row(order, shelf, holds)
    filled = [name for name, _ in order.words.filled()]
    art = _artwork(order, shelf.drawings, holds)
    if not filled and order.blank and not order.artwork and row is not None:
        yield Plain(order, 1, row.lid)
        return
    if not filled and not order.blank and not order.artwork and not held(order.problems):
        holds.append(_no_words(order))
    if row is None or not (filled or art):
        yield Refused(order, 1, tuple(holds))
        return
    areas = [a for a in row.lid.areas if set(a.fields) & set(filled)]
    homeless = [name for name in filled if not any(name in a.fields for a in areas)]
    holds.extend(_no_place(order, name, row.lid) for name in homeless)
    drawn_on = _drawn_on(row.lid, areas) if art is not None else None
    if not areas and drawn_on is None:
        yield Refused(order, 1, tuple(holds))
        return
    for area in [a for a in row.lid.areas if a in areas or a is drawn_on]:
        own = art if area is drawn_on else None
        yield _piece(row, area, shelf, [*holds, *_cut_twice(order, area, areas)], own)


def _artwork(order: Order, drawings: Drawings, holds: list[Problem]) -> Artwork | None:
    """Return the drawing that a row names; None, with a hold noted, if it cannot be used."""
    if not order.artwork:
        return None
    try:
        return drawings.named(order.artwork)
    except ArtworkError as error:
        holds.append(Problem("unknown-artwork", "hold", str(error), where(order, "artwork"), order.artwork))
        return None


def _drawn_on(lid: Lid, areas: Sequence[Area]) -> Area:
    """Return the area that takes a drawing: one of its own, else the first with words, else the lid's first."""
    own = [a for a in lid.areas if "artwork" in a.fields]
    return [*own, *areas, *lid.areas][0]


@dataclass(frozen=True, slots=True)
class Named:
    """What a row names, or its lid, or the shop where neither says anything; None: the shop has no such thing.

    setting: an area of the lid may have one of its own, which goes before the lid's.
    """

    lid: Lid | None
    wood: Wood | None
    cutter: Cutter | None
    typeface: str | None
    setting: Setting | None


def named_for(order: Order, shelf: Book, holds: list[Problem]) -> Named:
    """Find every name of a row in the shop, by id or title in any case, noting a hold for each that is not there."""
    shop, defaults = shelf.shop, shelf.shop.defaults
    lid = chosen(order, "lid", shelf.lid, shop.lids, holds) if order.lid or shelf.lid else None
    if not (order.lid or shelf.lid):
        holds.append(no_lid(order))
    wood = chosen(order, "wood", (lid.wood if lid else None) or defaults.wood, shop.woods, holds)
    cutter = chosen(order, "cutter", (lid.cutter if lid else None) or defaults.cutter, shop.cutters, holds)
    typeface = chosen_typeface(order, (lid.typeface if lid else None) or defaults.typeface, shelf, holds)
    setting = chosen(order, "setting", (lid.setting if lid else None) or defaults.setting, shop.settings, holds)
    return Named(lid, wood, cutter, typeface, setting)


def _row(order: Order, shelf: Book, holds: list[Problem]) -> _Row | None:
    """Return a row all of whose names are in the shop; None, with a hold noted for each that is not."""
    named = named_for(order, shelf, holds)
    lid, wood, cutter, typeface = named.lid, named.wood, named.cutter, named.typeface
    if holds or lid is None or wood is None or cutter is None or typeface is None:
        return None
    setting = named.setting if order.setting else None
    lines = None if order.typeface else _single_line(cutter, typeface, shelf)
    if lines is None:
        return _Row(order, lid, wood, typeface, cutter, setting)
    return _Row(order, lid, wood, lines, cutter, setting, (_taken_instead(order, lid, cutter, typeface, lines),))


def _single_line(cutter: Cutter, typeface: str, shelf: Book) -> str | None:
    """Return the shop's single-line typeface where a cutter cannot make the one that nobody ordered; else None."""
    lines = shelf.shop.defaults.single_line_typeface
    able = method_for(cutter, shelf.kinds[typeface]) is not None
    return None if able or lines is None or shelf.kinds.get(lines) != "single-line" else lines


def _taken_instead(order: Order, lid: Lid, cutter: Cutter, typeface: str, lines: str) -> Problem:
    """Say which typeface is taken instead: a look where the lid's own is not, as the lid is known by it."""
    whose = "lid's" if lid.typeface else "shop's"
    says = f"Set in '{lines}', not in the {whose} typeface '{typeface}': the {midway(cutter.title)} only follows single lines."
    return Problem("single-line-instead", "look" if lid.typeface else "note", says, where(order, "typeface"), lines)


def _piece(row: _Row, area: Area, shelf: Book, holds: Sequence[Problem], art: Artwork | None = None) -> Task | Refused:
    order = row.order
    words = Words(**{name: text if name in area.fields else "" for name, text in _every(order.words)})
    problems = [*holds, *row.problems]
    typefaces = _typefaces(row, words, shelf) or (("artwork", row.typeface),)
    tool = tool_for(order, row.cutter, row.wood, shelf.kinds[row.typeface], row.lid, area, shelf, problems)
    if tool is None:
        return Refused(order, 1, tuple(problems))
    setting = row.setting or shelf.shop.settings[area.setting or row.lid.setting or shelf.shop.defaults.setting]
    setting = setting.at_size(SIZES.get(order.lettering_size, setting.lettering_size))
    thicken = share_of(order.thicken)
    single = shelf.kinds[row.typeface] == "single-line"
    if thicken and single:
        problems.append(_no_body(order, row.typeface))
    if order.line_weight and not single:
        problems.append(_no_lines(order, row.typeface))
    return Task(
        order, 1, row.lid, area, words, typefaces, setting, tool, row.wood, tuple(problems),
        share_of(order.spacing), thicken, tuple(order.letter_features.split()),
        weighting_for(order, setting, tool, row.lid, shelf) if single and words.filled() else None, artwork=art,
    )  # fmt: skip  # lines have their weight by their words: a drawing alone stays as it is drawn


def _no_body(order: Order, typeface: str) -> Problem:
    says = (
        f"'{typeface}' is made of single lines, which have no body to thicken: their thickness is what the cutter "
        "leaves. The column 'thicken' changes nothing here."
    )
    return Problem("nothing-to-thicken", "note", says, where(order, "thicken"), order.thicken)


def _no_lines(order: Order, typeface: str) -> Problem:
    says = (
        f"The letters of '{typeface}' have a body: the column 'line_weight' is for single lines and changes nothing here. "
        "The column 'thicken' makes strokes thicker."
    )
    return Problem("no-lines-to-weigh", "note", says, where(order, "line_weight"), order.line_weight)


def _every(words: Words) -> tuple[tuple[str, str], ...]:
    return (("name", words.name), ("message", words.message), ("foot", words.foot))


def _typefaces(row: _Row, words: Words, shelf: Book) -> tuple[tuple[str, str], ...]:
    """Return the typeface of each field. What the row orders holds for all its words.

    Otherwise message and foot take the shop's own typeface for them, if it is of the same kind: one tool cuts a piece
    by one method.
    """
    defaults = shelf.shop.defaults
    own = {"message": defaults.message_typeface, "foot": defaults.foot_typeface}
    found = []
    for name, _ in words.filled():
        other = None if row.order.typeface else own.get(name)
        same_kind = other is not None and shelf.kinds.get(other) == shelf.kinds[row.typeface]
        found.append((name, other if other is not None and same_kind else row.typeface))
    return tuple(found)


def _no_words(order: Order) -> Problem:
    says = "There are no words to letter. If a plain lid is meant, say so in the column 'blank'; else ask the buyer."
    return Problem("no-words", "hold", says, f"row {order.row}" if order.row else "")


def _cut_twice(order: Order, area: Area, areas: Sequence[Area]) -> Iterator[Problem]:
    """Ask whether words are meant twice: a lid whose areas do not say which fields they carry cuts them on each."""
    for name, text in order.words.filled():
        others = [a.name for a in areas if a is not area and name in a.fields]
        if name in area.fields and others:
            says = (
                f"The {name} {text!r} is cut here ({area.name}) and on {' and '.join(others)} as well. If once is meant, give "
                'each area of the lid its own fields in lids.toml, as fields = ["message"].'
            )
            yield Problem("words-cut-twice", "look", says, where(order, name), name)


def _no_place(order: Order, name: str, lid: Lid) -> Problem:
    carried = {f for a in lid.areas for f in a.fields}
    fields = " and ".join(f for f in WORD_FIELDS if f in carried) or "a drawing and no words"
    says = (
        f"The {name} has no place on the {midway(lid.title)} ({lid.id}), which carries {fields}. Move "
        "the words to another column, or choose another lid."
    )
    return Problem("no-place-for-words", "hold", says, where(order, name), name)
