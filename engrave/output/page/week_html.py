"""The week on one page: what is ready, what needs a look, what is on hold and why; then every lid on the bench."""

from __future__ import annotations

import base64
import hashlib
import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass, replace
from functools import cache
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from engrave.advising import letters_told, nothing_helps
from engrave.output.bench_cautions import ABOVE_ALL, every_caution
from engrave.output.letter_forms import forms_asked, letters_high
from engrave.output.numbers import bench_length, between, count, cupped, due_told, in_shop_units, money
from engrave.output.page.cards import Card, Fact, Files
from engrave.output.page.drawn_fittings import fitting_lights
from engrave.output.page.inline_svg import lens_picture, lid_picture, view_box, wood_patterns
from engrave.output.page.whole_week import told_for_all, week_as_a_whole
from engrave.output.pictures import scene
from engrave.output.pictures.paper import LOST, THIN
from engrave.output.quotation import quoted
from engrave.output.words_on_lid import words_cut
from engrave.shop.models import Shop
from engrave.tasks.choosing import midway
from engrave.units import duration
from engrave.week.totals import lids_of

if TYPE_CHECKING:
    from engrave.making import Piece
    from engrave.pricing import Recut
    from engrave.setting import Lettering
    from engrave.week import Entry, Plan, Week

VERDICTS = {"ready": "ready", "waiting": "waits for the buyer", "look": "needs a look", "hold": "on hold"}

LEAST_SHARE = 0.55
"""Share of a card's width that the smallest lid's picture has. Pictures grow with the square root of the lid's width:
a large lid still looks larger than a small one, and the small one can be read."""

LIDS_A_PAGE = 250
"""Lids on a page at most: a week of any shop of one or two people, and a page of less than three megabytes."""

FIELDS = {"name": "Name", "message": "Message", "foot": "Foot"}


TEMPLATES = Path(__file__).parent / "templates"

_PAGE = "week.html"

TYPE_FACES = (("Sheet Words", 500, "page_words"), ("Sheet Text", 400, "page_text"), ("Sheet Text", 700, "page_strong"))
"""Family, weight and file of the letters that the page carries with it, so that it looks alike everywhere."""

GREEK, CYRILLIC = ((0x370, 0x3FF), (0x1F00, 0x1FFF)), ((0x400, 0x52F),)
SCRIPT_FACES = (
    ("page_greek_words", "Sheet Words", GREEK), ("page_greek", "Sheet Script", GREEK),
    ("page_cyrillic_words", "Sheet Words", CYRILLIC), ("page_cyrillic", "Sheet Script", CYRILLIC),
    ("page_hebrew", "Sheet Script", ((0x590, 0x5FF),)), ("page_arabic", "Sheet Script", ((0x600, 0x6FF),)),
    ("page_devanagari", "Sheet Script", ((0x900, 0x97F),)), ("page_armenian", "Sheet Script", ((0x530, 0x58F),)),
    ("page_georgian", "Sheet Script", ((0x10A0, 0x10FF),)),
    ("page_signs", "Sheet Script", ((0x2190, 0x2192), (0x231C, 0x231F), (0x2600, 0x27BF), (0x1F300, 0x1FAFF))),
)  # fmt: skip
"""File of a script's letters, the family that it joins, first and last characters: carried by pages whose buyers write
it. Signs are our own drawings of them."""


def ready_page() -> None:
    """Load what the pages are made with: a quarter of the time at a short week's end, if nobody did before."""
    page_templates().get_template(_PAGE)
    _script()
    for _, _, file in TYPE_FACES:
        _face_data(file)


@cache
def page_templates() -> Environment:
    """Return the templates' environment: everything is escaped, and a missing value is an error, not a blank."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["quoted"] = quoted
    return made


def _scripts_of(piece: Piece) -> tuple[str, ...]:
    """Return the files of the scripts that a piece's words, as they came and as they are cut, and its note are in."""
    order = piece.order
    texts = (*astuple(order.received), *astuple(order.words), order.note, order.matching, order.id)
    codes = {ord(c) for text in texts for c in text}
    return tuple(
        file for file, _, parts in SCRIPT_FACES if any(first <= code <= last for code in codes for first, last in parts)
    )


def _type_faces(scripts: Collection[str]) -> str:
    """Return the page's own typefaces as CSS: with those of scripts that buyers' words are written in."""
    every = [_face_rule(family, f"font-weight:{weight}", file) for family, weight, file in TYPE_FACES]
    for file, family, parts in (face for face in SCRIPT_FACES if face[0] in scripts):
        ranges = ",".join(f"U+{first:X}-{last:X}" for first, last in parts)
        weight = "font-weight:500;" if family == "Sheet Words" else ""
        every.append(_face_rule(family, f"{weight}unicode-range:{ranges},U+200C-200D,U+25CC", file))
    return "\n".join(every) + "\n"


def _face_rule(family: str, which: str, file: str) -> str:
    src = f'url(data:font/woff2;base64,{_face_data(file)}) format("woff2")'
    return f'@font-face{{font-family:"{family}";{which};src:{src}}}'


@cache
def _face_data(file: str) -> str:
    return base64.b64encode((TEMPLATES / f"{file}.woff2").read_bytes()).decode()


@cache
def _script() -> tuple[str, str]:
    """Return the page's script and the digest by which its policy lets it, and nothing else, run."""
    script = (TEMPLATES / "week.js").read_text("utf-8")
    return script, base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()


def page_names(lids: int) -> tuple[str, ...]:
    """Return the names of the pages of a week with so many lids; week.html is the first, and tells the week as a whole."""
    return ("week.html", *(f"week_{n}.html" for n in range(2, math.ceil(lids / LIDS_A_PAGE) + 1)))


def week_pages(
    week: Week,
    shop: Shop,
    outlines: Sequence[Card],
    cards: Iterable[Card],
    plan: Plan | None = None,
    bench_lists: Sequence[str] = (),
) -> Iterator[tuple[str, Iterator[str]]]:
    """Yield the name of each page with its text bit by bit, to be used up before the next page is asked for.

    A page needs nothing beside it but the others; its script only sifts the lids. outlines: of every entry's card, see
    `outlined`; cards: the same in full, taken one by one as the pages are written. bench_lists:
    files for paper.
    """
    names = page_names(len(outlines))
    seen = _Seen.of(outlines)
    week_notes, told_once = told_for_all(outlines, week)

    def fitted(card: Card) -> Card:
        return _sized(replace(card, notes=tuple(n for n in card.notes if n.code not in told_once)), seen.widest)

    def linked(i: int) -> Card:
        return _linked(fitted(outlines[i]), names[i // LIDS_A_PAGE])

    first = {"week_notes": week_notes, **week_as_a_whole(week, shop, plan, outlines, linked)}
    same = _same_on_all(week, shop, seen, names, len(outlines))
    rest = iter(cards)
    for name in names:
        some = (_linked(fitted(c), name) for c in islice(rest, LIDS_A_PAGE))
        template = page_templates().get_template(_PAGE)
        whole = first if name == names[0] else dict.fromkeys(first, ())
        yield name, template.generate(**same, **whole, bench_lists=bench_lists, here=name, cards=some)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What the pages ask of all cards: the widest lid in mm, the verdicts, woods with their grains and scripts there are."""

    widest: float
    verdicts: frozenset[str]
    woods: tuple[tuple[str, str], ...]
    scripts: frozenset[str]

    @classmethod
    def of(cls, outlines: Iterable[Card]) -> _Seen:
        widest, woods = 0.0, dict[tuple[str, str], None]()
        verdicts, scripts = set[str](), set[str]()
        for c in outlines:
            widest = max(widest, c.width or 0.0)
            verdicts.add(c.verdict)
            woods[c.wood, c.grain] = None
            scripts.update(c.scripts)
        return cls(widest or 1.0, frozenset(verdicts), tuple(woods), frozenset(scripts))


def _same_on_all(week: Week, shop: Shop, seen: _Seen, names: Sequence[str], pieces: int) -> dict[str, Any]:
    """Return what every page of a week has: its head, and what pictures and texts are made with."""
    script, digest = _script()
    ends = [min(pieces, LIDS_A_PAGE * n) for n in range(1, len(names) + 1)]
    lids = lids_of(e.piece for e in week.entries)
    return {
        "shop": shop.name,
        "headline": f"{count(lids.total(), 'lid')} from {count(week.totals.orders, 'order')}",
        "lids": lids,
        "verdicts": [(verdict, says) for verdict, says in VERDICTS.items() if verdict in seen.verdicts],
        "tallies": _tallies(week, shop, lids["hold"]),
        "shared": _shared(week),
        "above_all": ABOVE_ALL,
        "every_caution": every_caution(),
        "type_faces": Markup(_type_faces(seen.scripts)),
        "script": Markup(script),
        "script_digest": digest,
        "patterns": Markup(
            wood_patterns((shop.woods[wood], grain) for wood, grain in seen.woods if wood in shop.woods)
            + fitting_lights()
        ),
        "lost": LOST,
        "thin": THIN,
        "parts": [(n, f"lids {LIDS_A_PAGE * i + 1} to {ends[i]}") for i, n in enumerate(names)],
    }


def _linked(card: Card, page: str) -> Card:
    """Return a card with where it stands; the first page cannot draw again what stands on another."""
    if page == "week.html":
        return replace(card, href=f"#{card.ident}")
    return replace(card, href=f"{page}#{card.ident}", view_box="")


def _sized(card: Card, widest: float) -> Card:
    return replace(card, share=min(1.0, max(LEAST_SHARE, math.sqrt(card.width / widest)))) if card.width else card


def _tallies(week: Week, shop: Shop, holds: int) -> tuple[tuple[str, str, str], ...]:
    """Return (what, how much, a remark) of the week's sums; what is on hold is in none of them."""
    t = week.totals
    once = sum(s for _, s in week.shared)
    saved = f"{duration(t.air_saved_seconds)} of moving in the air saved" if t.air_saved_seconds >= 1 else ""
    return (
        ("Machines run", duration(t.machine_seconds), saved),
        ("Hands are busy", duration(t.hand_seconds + once), f"{duration(once)} of it once a week" if once else ""),
        ("Lettering comes to", money(t.price, shop.rates.currency, shop.rates.locale), _left_out(holds)),
        *((("Cut again", count(t.recut.lids, "lid"), again_told(t.recut, shop)),) if t.recut.machine_seconds else ()),
    )


def again_told(again: Recut, shop: Shop) -> str:
    """Return what lids cut again take, which is in none of the other sums."""
    cost = money(again.cost, shop.rates.currency, shop.rates.locale)
    return f"machine {duration(again.machine_seconds)}, hands {duration(again.hand_seconds)}; costs the shop {cost}"


def _left_out(holds: int) -> str:
    return f"without the {count(holds, 'lid')} on hold" if holds else ""


def _shared(week: Week) -> str:
    """Return what hands do once a week, in words; '' if nothing."""
    return ", ".join(f"{part} {duration(s)}" for part, s in week.shared)


def card(ident: str, made: Entry, files: Files, shop: Shop, siblings: int, approved: Lettering | None = None) -> Card:
    """Return the card of one piece. ident: its id on the page; siblings: pieces of its order.

    approved: what the buyer approved, where it is no longer what would be cut: both are then shown.
    """
    piece, seen = made.piece, scene(made.piece)
    found = [replace(p, says=in_shop_units(p.says, shop)) for p in piece.problems]
    return Card(
        ident=ident,
        order=piece.order.id,
        title=_title(piece, siblings),
        about=_about(piece, shop),
        verdict=piece.verdict,
        verdict_says="plain lid" if piece.plain and piece.verdict == "ready" else VERDICTS[piece.verdict],
        words=_words(piece),
        picture=Markup(lid_picture(piece, seen, f"{ident}-lid")) if seen else Markup(""),
        view_box=view_box(seen) if seen else "",
        lens=Markup(lens_picture(piece, seen, f"{ident}-lid")) if seen else Markup(""),
        shows_lost=bool(seen and piece.verdict in ("look", "hold") and not (seen.lost.is_empty and seen.thin.is_empty)),
        received=tuple((FIELDS[f], w) for f, w in piece.order.received.filled()),
        lines=words_cut(piece),
        changes=_changes(piece),
        facts=_facts(piece, shop),
        problems=tuple(sorted((p for p in found if p.level != "note"), key=lambda p: p.level != "hold")),
        notes=tuple(p for p in found if p.level == "note"),
        remedies=tuple(replace(r, says=in_shop_units(r.says, shop)) for r in made.remedies),
        nothing_helps=_nothing_helps(made, shop),
        files=files,
        code=made.code,
        note=" ".join(piece.order.note.split()),
        sign=made.sign if piece.verdict == "look" and not _names_sign(piece) else "",
        approved_picture=Markup(_approved(piece, approved, f"{ident}-was")),
        width=seen.view.width if seen else None,
        wood=seen.wood.id if seen else "",
        grain=seen.grain if seen else "",
        scripts=_scripts_of(piece),
    )


def _nothing_helps(made: Entry, shop: Shop) -> str:
    """Return why nothing helps, where nothing does, and how many letters would fit."""
    told = (nothing_helps(made.piece, made.remedies), letters_told(made.letters))
    return in_shop_units(" ".join(filter(None, told)), shop)


def _approved(piece: Piece, approved: Lettering | None, ident: str) -> str:
    """Return the picture of what was approved; '' if there is none to show."""
    if approved is None or piece.task is None:
        return ""
    was = replace(piece, lettering=approved, toolpath=None, fitness=None, estimate=None, problems=())
    seen = scene(was)
    return lid_picture(was, seen, ident) if seen else ""


def _names_sign(piece: Piece) -> bool:
    """Tell whether a finding gives the sign already: that of a row which was checked in another state, or without it."""
    return any(p.code in ("checked-before", "checked-without-sign") for p in piece.problems)


def _changes(piece: Piece) -> tuple[str, ...]:
    """Return what was altered in the words, but for what a finding says already."""
    told = {p.says.rstrip(".") for p in piece.problems}
    return tuple(c for c in piece.order.changes if f"In the {c}" not in told)


def _title(piece: Piece, siblings: int) -> str:
    title = piece.order.id
    if siblings > 1:
        title += f", piece {piece.piece} of {siblings}"
    if piece.order.quantity > 1:
        title += f" × {piece.order.quantity}"
    return title


def _about(piece: Piece, shop: Shop) -> str:
    if piece.task is None:
        known = shop.lids.get(piece.order.lid)
        return known.title if known else piece.order.lid
    task = piece.task
    area = {"lid": "", "inside": ", inside"}.get(task.area.name, f", {task.area.name}")
    return f"{task.lid.title}{area}, in {midway(task.wood.title)}"


def _words(piece: Piece) -> str:
    filled = piece.order.received.filled()
    return " ".join(filled[0][1].split()) if filled else "no words"


def _facts(piece: Piece, shop: Shop) -> tuple[Fact, ...]:
    units = shop.proof.units
    return tuple(f for f in (*_sizes(piece, units), *_making(piece, units), *_costs(piece, shop)) if f.value)


def _sizes(piece: Piece, units: str) -> list[Fact]:
    facts = []
    if piece.lettering and piece.lettering.lines:
        caps: dict[str, float] = {}
        for n, line in enumerate(piece.lettering.lines):
            caps.setdefault(line.field, letters_high(piece.lettering, n))
        told = [bench_length(cap, units, 1) + (f" ({field})" if len(caps) > 1 else "") for field, cap in caps.items()]
        facts.append(Fact(piece.lettering.size_is_of.capitalize(), ", ".join(told)))
        facts.append(Fact("Letter forms", ", ".join(forms_asked([piece]))))
    if piece.fitness:
        for label, spot in (("Thinnest stroke", piece.fitness.stroke), ("Thinnest web", piece.fitness.web)):
            if spot is not None:
                at = f", at “{spot.text}”" if spot.text.strip() else ""
                cups = cupped(piece.fitness.as_it_cups, units) if spot is piece.fitness.stroke else ""
                width = f"{spot.width:.2f} mm" if units == "mm" else bench_length(spot.width, units)
                facts.append(Fact(label, f"{width}{at}{cups}"))
    return facts


def _making(piece: Piece, units: str) -> list[Fact]:
    if piece.task is None:
        return []
    tool = piece.task.tool
    passes = f", {count(piece.toolpath.passes, 'pass', 'passes')}" if piece.toolpath else ""
    facts = [Fact("Cut with", f"{tool.cutter.title}, {bench_length(tool.depth, units)} deep{passes}")]
    if piece.estimate:
        each = " each" if piece.order.quantity > 1 else ""
        facts.append(
            Fact("Machine", f"{duration(piece.estimate.seconds)}{each} ({between(*piece.estimate.seconds_range)})")
        )
    return facts


def _costs(piece: Piece, shop: Shop) -> list[Fact]:
    if piece.quote is None:
        return []
    rates, number = shop.rates, piece.order.quantity
    price = money(piece.quote.price, rates.currency, rates.locale)
    each = f" ({number} at {money(piece.quote.each, rates.currency, rates.locale)})" if number > 1 else ""
    return [
        Fact("Hands", duration(piece.quote.hand_seconds)),
        Fact("Price", price + each),
        Fact("Due", due_told(piece.order.due, shop)),
    ]
