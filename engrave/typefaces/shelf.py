"""The shelf: every typeface at hand, ours and the shop's, opened when first used."""

from __future__ import annotations

import difflib
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from pathlib import Path as File

from engrave.files import Unreadable, reason, whole_file
from engrave.limits import FONT_BYTES, TYPEFACES
from engrave.problems import Problem
from engrave.shop.places import own_folder
from engrave.typefaces.characters import JOINING, Item, has_right_to_left, itemise, language_of, visual
from engrave.typefaces.letter_form import glyph
from engrave.typefaces.optical_spacing import evened, white_between
from engrave.typefaces.read import OutlineSource, SingleSource, Way
from engrave.typefaces.run import Kind, Placed, Run
from engrave.typefaces.supply import Cluster, Composer, LinePlan, drawing_for, inked, plan_line
from engrave.typefaces.typeface_table import (
    LINE_SUFFIXES,
    OUTLINE_SUFFIXES,
    TABLE,
    Facts,
    TypefaceError,
    bare,
    id_of,
    read_table,
)

STROKES = "withy"
"""The typeface drawn in this project, whose accents and ornaments serve where another has none."""
_KEPT = 2000
"""Lines kept shaped: a week's words in one typeface, a few megabytes."""


class UnknownTypeface(KeyError):
    """No typeface of that id is on the shelf; the message names those with a name like it."""

    def __init__(self, ident: str, ids: Iterable[str]) -> None:
        near = difflib.get_close_matches(ident, list(ids), 3, 0.5)
        self.says = f"there is no typeface {ident!r} on the shelf" + (f"; near it: {', '.join(near)}" if near else "")
        super().__init__(self.says)

    def __str__(self) -> str:
        return self.says


class ShelfTypeface:
    """A typeface of the shelf (see `engrave.typefaces.Typeface`): its file is opened on first use."""

    def __init__(self, facts: Facts, shelf: Shelf) -> None:
        self.facts = facts
        self._shelf = shelf
        self._source: OutlineSource | SingleSource | None = None
        self._own: dict[str, Way | None] = {}
        self._made: dict[str, Way | None] = {}
        self._runs: OrderedDict[tuple[str, float, bool], Run] = OrderedDict()

    @property
    def id(self) -> str:
        """Name of its folder."""
        return self.facts.id

    @property
    def title(self) -> str:
        """Name for people."""
        return self.facts.title

    @property
    def kind(self) -> Kind:
        """Outline or single-line."""
        return self.facts.kind

    @property
    def joined(self) -> bool:
        """Whether letters touch by design."""
        return self.facts.joined

    @property
    def bears_capitals(self) -> bool:
        """Whether words all in capitals look right in it."""
        return self.facts.bears_capitals

    @property
    def lacks_capitals(self) -> bool:
        """Whether its script has no capitals: a height is then that of its usual letters."""
        return self.facts.reference_height is not None

    @property
    def x_height(self) -> float:
        """Height of the small letters, in cap heights."""
        return self.source.x_height

    @property
    def source(self) -> OutlineSource | SingleSource:
        """The opened file. Raises TypefaceError if it cannot be used."""
        if self._source is None:
            self._source = opened(self.facts)
        return self._source

    @property
    def opens(self) -> bool:
        """Whether its file can be used; one that lends letters may be damaged without harm to the typeface asked for."""
        try:
            return self.source is not None
        except TypefaceError:
            return False

    def own(self, cluster: str) -> Way | None:
        """Return how the files themselves set a cluster of characters, None if they lack it."""
        if cluster not in self._own:
            self._own[cluster] = self.source.own(cluster)
        return self._own[cluster]

    @cached_property
    def _composer(self) -> Composer:
        return Composer(self.source, self._shelf.strokes(self.id))

    def composed(self, cluster: str) -> Way | None:
        """Return how a cluster that the files lack is made of parts that they have, None if it cannot be."""
        if cluster not in self._made:
            self._made[cluster] = self._composer.way(cluster)
        return self._made[cluster]

    def ornament(self, cluster: str) -> Way | None:
        """Return a heart, star or flower of our own for a sign that asks for one, None for other signs."""
        drawing, strokes = drawing_for(cluster), self._shelf.strokes("")
        if not drawing or strokes is None:
            return None
        if (own := self.own(drawing)) is not None:
            return own
        pen = None if self.kind == "single-line" else self._composer.pen
        form = inked(drawing, strokes, pen)
        return Way((ord(" "),), made=form, name=f"ornament-u{ord(drawing):04X}") if form else None

    def shape(self, text: str, tracking: float = 0.0, *, even: bool = False) -> Run:
        """Shape one line of words (no line breaks); tracking in cap heights is added between letters.

        even: letters are moved a little towards even white where the typeface has no kerning of its own (optical_spacing.py).
        Letters that the typeface lacks come from elsewhere, and `Run.problems` says so. Glyphs of one cluster of
        characters (a letter and its mark) share `text` and `start`; blanks draw nothing and have no glyph; glyphs of
        joined letters, and of marks, may overlap.
        """
        key = (text, tracking, even)
        if key in self._runs:
            self._runs.move_to_end(key)
            return self._runs[key]
        plan = plan_line(text, self, Lenders(self._shelf, self))
        run = _run(text, plan, self, 0.0 if self.joined else tracking + self.facts.spacing)
        if even and not self.joined and not self.source.kerned and not has_right_to_left(text):
            run = self._evened(run)
        self._runs[key] = run
        if len(self._runs) > _KEPT:
            self._runs.popitem(last=False)
        return run

    def _evened(self, run: Run) -> Run:
        stem = next((f for c in "nH" if (f := self.source.form(c))), None)
        return evened(run, white_between(glyph(self.id, "stem", self.kind, stem))) if stem else run


class Lenders:
    """Where a typeface's missing letters are sought: its companions, then others of its kind, likest first."""

    def __init__(self, shelf: Shelf, asked: ShelfTypeface) -> None:
        self._shelf = shelf
        self._asked = asked

    def lenders(self) -> Iterator[ShelfTypeface]:
        """Yield typefaces of the same kind, best first."""
        asked = self._asked.facts
        declared = [i for i in asked.companions if i in self._shelf.ids and self._shelf.kinds()[i] == asked.kind]
        rest = [i for i in self._shelf.ids if i not in (*declared, asked.id) and self._shelf.kinds()[i] == asked.kind]
        for ident in (*declared, *sorted(rest, key=self._unlike)):
            other = self._shelf.get(ident)
            if other.opens:
                yield other

    def _unlike(self, ident: str) -> tuple[bool, float, str]:
        """Return how unlike another typeface is: joined or not, then how far its strokes are thicker or thinner."""
        asked, other = self._asked.facts, self._shelf.facts(ident)
        stems = [f.measured.stem for f in (asked, other) if f.measured and f.measured.stem]
        return (asked.joined != other.joined, abs(stems[0] - stems[1]) if len(stems) == 2 else 1.0, ident)

    def having(self, char: str) -> list[str]:
        """Return the ids of all typefaces, of any kind, that have a character."""
        every = [self._shelf.get(i) for i in self._shelf.ids]
        return [one.id for one in every if one.opens and one.own(char) is not None]


class Shelf:
    """All typefaces at hand, by id. notes: what is worth knowing; refused: why a shop's file cannot be used, by id."""

    def __init__(
        self,
        facts: Mapping[str, Facts],
        extra: File | None,
        notes: Iterable[Problem] = (),
        refused: Mapping[str, str] | None = None,
    ) -> None:
        self._typefaces = {ident: ShelfTypeface(facts[ident], self) for ident in sorted(facts)}
        self._kinds: dict[str, Kind] = {i: t.kind for i, t in self._typefaces.items()}
        self._extra = extra
        self.notes = tuple(notes)
        self.refused = dict(refused or {})

    def __reduce__(self) -> tuple[object, ...]:
        return (load_shelf, (self._extra,))

    @property
    def ids(self) -> tuple[str, ...]:
        """All ids, in alphabetical order."""
        return tuple(self._typefaces)

    def get(self, ident: str) -> ShelfTypeface:
        """Return a typeface. Raises UnknownTypeface."""
        try:
            return self._typefaces[ident]
        except KeyError:
            raise UnknownTypeface(ident, self.ids) from None

    def strokes(self, asking: str) -> SingleSource | None:
        """Return the single-line typeface of our own, which lends its marks; None to itself or where it is not here."""
        if asking == STROKES or self._kinds.get(STROKES) != "single-line":
            return None
        found = self._typefaces[STROKES].source
        return found if isinstance(found, SingleSource) else None

    def kinds(self) -> dict[str, Kind]:
        """Return the kind of each typeface by id."""
        return dict(self._kinds)

    def facts(self, ident: str) -> Facts:
        """Return the particulars of a typeface. Raises UnknownTypeface."""
        return self.get(ident).facts


def load_shelf(extra: File | None = None) -> Shelf:
    """Return the typefaces that came with this package, and those in a shop's own folder over them.

    extra: the shop's folder; its typefaces lie in `typefaces/` there (or beside each other in it), each a folder with a
    `typeface.toml` or a bare font file. A file that cannot be used is named in `Shelf.notes` with the reason, and left
    out; `Shelf.refused` holds the reason by the id it would have had.
    """
    notes: list[Problem] = []
    refused: dict[str, str] = {}
    found = {facts.id: facts for facts in _own(notes, refused)}
    for facts in _of_shop(extra, notes, refused):
        found[facts.id] = facts
    return Shelf(found, extra, notes, {i: why for i, why in refused.items() if i not in found})


def opened(facts: Facts) -> OutlineSource | SingleSource:
    """Return a typeface's file, opened. Raises TypefaceError with the reason if it cannot be used."""
    try:
        return OutlineSource(facts) if facts.kind == "outline" else SingleSource(facts)
    except TypefaceError:
        raise
    except Exception as why:  # a damaged file may make its reader fail in any way; whatever way, it cannot be used
        raise TypefaceError(f"{facts.files[0].name}: is damaged ({str(why) or type(why).__name__})") from why


def _own(notes: list[Problem], refused: dict[str, str]) -> Iterator[Facts]:
    for table in sorted(own_folder("fonts_open").glob(f"*/{TABLE}")):
        try:
            yield read_table(table.parent)
        except TypefaceError as why:
            _refuse(table.parent, str(why), notes, refused)


def _refuse(entry: File, why: str, notes: list[Problem], refused: dict[str, str]) -> None:
    says = why.rstrip(".") + "."
    notes.append(Problem("typeface-refused", "look", says, str(entry)))
    refused[entry.name if entry.suffix.lower() not in (*OUTLINE_SUFFIXES, *LINE_SUFFIXES) else id_of(entry)] = says


def _of_shop(extra: File | None, notes: list[Problem], refused: dict[str, str]) -> Iterator[Facts]:
    """Yield the shop's own typefaces, each file checked now, so that a refusal is told before any words are set."""
    if extra is None:
        return
    folder = extra / "typefaces" if (extra / "typefaces").is_dir() else extra
    count = 0
    for entry in _entries(folder, notes, refused):
        try:
            facts = _one_of_shop(entry)
        except TypefaceError as why:
            _refuse(entry, str(why), notes, refused)
            continue
        except OSError as why:
            _refuse(entry, f"{entry}: cannot be opened: {reason(why)}", notes, refused)
            continue
        if facts is None:
            continue
        count += 1
        if TYPEFACES.passed(count):
            _refuse(folder, f"{folder}: {TYPEFACES.of}: {TYPEFACES.told()}", notes, refused)
            return
        yield facts


def _entries(folder: File, notes: list[Problem], refused: dict[str, str]) -> list[File]:
    try:
        return sorted(folder.iterdir()) if folder.is_dir() else []
    except OSError as why:
        _refuse(folder, f"{folder}: cannot be opened: {reason(why)}", notes, refused)
        return []


def _one_of_shop(entry: File) -> Facts | None:
    """Return a typeface of the shop's folder, None if the entry is none. Raises TypefaceError if it cannot be used."""
    if (entry / TABLE).is_file():
        facts = read_table(entry, own=False)
    elif entry.is_dir() and (fonts := sorted(f.name for f in entry.iterdir() if _is_font(f))):
        raise TypefaceError(
            f'{entry}: a folder with a font needs a {TABLE} in it; one line is enough: file = "{fonts[0]}". '
            "Or put the font file alone, without a folder."
        )
    elif not entry.is_dir() and _is_font(entry):
        facts = bare(entry)
    else:
        return None
    opened(facts)
    return facts


def _is_font(file: File) -> bool:
    """Tell whether a file is a font, by its name; an SVG only if it holds one (lids lie about as SVG too)."""
    suffix = file.suffix.lower()
    if file.is_dir():
        return False
    return suffix in OUTLINE_SUFFIXES or (suffix in LINE_SUFFIXES and _holds_font(file))


def _holds_font(file: File) -> bool:
    try:
        return b"<font" in whole_file(file, FONT_BYTES).replace(b"\0", b"")  # UTF-16 has a nought beside each letter
    except Unreadable:
        return False


def _run(text: str, plan: LinePlan, asked: ShelfTypeface, tracking: float) -> Run:
    """Set a planned line: stretches of one owner, script and direction, side by side from left to right."""
    owners = list(dict.fromkeys((p.owner, p.scale) for p in plan.parts if not p.left_out))
    kept = [p for p in plan.parts if not p.left_out and p.way is not None]
    index = [-1] * len(text)
    for part in kept:
        number = owners.index((part.owner, part.scale))
        index[part.start : part.start + len(part.text)] = [number] * len(part.text)
    language = language_of(text)
    placed: list[Placed] = []
    x = tail = 0.0
    for item in visual(itemise(text, index)):
        if item.owner < 0:
            continue
        inside = [p for p in kept if item.start <= p.start < item.end]
        stretch, advance, tail = _stretch(inside, item, language, asked, tracking)
        placed += [_shifted(p, x) for p in stretch]
        x += advance
    return Run(text, asked.id, tuple(placed), x - tail, tuple(plan.problems))


def _stretch(
    parts: list[Cluster], item: Item, language: str | None, asked: ShelfTypeface, tracking: float
) -> tuple[list[Placed], float, float]:
    """Return a stretch's glyphs, its advance, and how much of that is tracking after the last letter."""
    if not parts:
        return [], 0.0, 0.0
    owner, scale = parts[0].owner, parts[0].scale
    assert isinstance(owner, ShelfTypeface)
    loose = 0.0 if item.script in JOINING or owner.joined else tracking / scale
    ways = [(p.start, p.way) for p in parts if p.way is not None]
    glyphs, advance = owner.source.set(ways, item.script, item.right_to_left, language, loose)
    used = sorted({s.at for s in glyphs})
    text = {p.start: p.text for p in parts}
    ends = dict(zip(used, [*used[1:], item.end], strict=False))
    placed = []
    for s in glyphs:
        words = "".join(t for at, t in text.items() if s.at <= at < ends[s.at]).rstrip() or text[s.at]
        placed.append(Placed(s.glyph, s.x * scale, s.y * scale, words, s.at, scale))
    return placed, advance * scale, loose * scale


def _shifted(p: Placed, x: float) -> Placed:
    return Placed(p.glyph, p.x + x, p.y, p.text, p.start, p.scale)
