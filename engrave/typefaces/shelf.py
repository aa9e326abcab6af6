"""The shelf: every typeface at hand, ours and the shop's, opened when first used."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path as File

from engrave.cache import Cache
from engrave.files import Unreadable, reason, whole_file
from engrave.limits import FONT_BYTES, TYPEFACES
from engrave.problems import Problem
from engrave.shop.places import own_folder
from engrave.typefaces.read import OutlineSource, SingleSource
from engrave.typefaces.run import TypefaceKind
from engrave.typefaces.shelf_typeface import ShelfTypeface, opened_source
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


class UnknownTypeface(KeyError):
    """No typeface of that id is on the shelf; the message names those with a name like it."""

    def __init__(self, ident: str, ids: Iterable[str]) -> None:
        from difflib import get_close_matches

        near = get_close_matches(ident, list(ids), 3, 0.5)
        self.says = f"there is no typeface {ident!r} on the shelf" + (f"; near it: {', '.join(near)}" if near else "")
        super().__init__(self.says)

    def __str__(self) -> str:
        return self.says


class Shelf:
    """All typefaces at hand, by id. notes: what is worth knowing; refused: why a shop's file cannot be used, by id.

    cache: what was worked out of them; the environment's own, where there is one.
    """

    def __init__(
        self,
        facts: Mapping[str, Facts],
        extra: File | None,
        notes: Iterable[Problem] = (),
        refused: Mapping[str, str] | None = None,
    ) -> None:
        self._typefaces = {ident: ShelfTypeface(facts[ident], self) for ident in sorted(facts)}
        self._kinds: dict[str, TypefaceKind] = {i: t.kind for i, t in self._typefaces.items()}
        self._featured: dict[tuple[str, tuple[str, ...]], ShelfTypeface] = {}
        self._extra = extra
        self.cache = Cache()
        self.notes = tuple(notes)
        self.refused = dict(refused or {})

    def __reduce__(self) -> tuple[object, ...]:
        return (load_shelf, (self._extra,))

    @property
    def ids(self) -> tuple[str, ...]:
        """All ids, in alphabetical order."""
        return tuple(self._typefaces)

    def get(self, ident: str, features: Sequence[str] = ()) -> ShelfTypeface:
        """Return a typeface, with OpenType features asked of it beyond those of its table. Raises UnknownTypeface."""
        try:
            plain = self._typefaces[ident]
        except KeyError:
            raise UnknownTypeface(ident, self.ids) from None
        if not features:
            return plain
        key = (ident, tuple(features))
        if key not in self._featured:
            self._featured[key] = ShelfTypeface(plain.facts, self, features)
        return self._featured[key]

    def strokes(self, asking: str) -> SingleSource | None:
        """Return the single-line typeface of our own, which lends its marks; None to itself or where it is not here."""
        if asking == STROKES or self._kinds.get(STROKES) != "single-line":
            return None
        found = self._typefaces[STROKES].source
        return found if isinstance(found, SingleSource) else None

    def carried(self, ours: Sequence[str] = ()) -> tuple[bytes, ...]:
        """Return the font files that a page may carry, unpacked: of some of ours, and of the shop's own whose licence lets it."""
        faces = (t for t in self._typefaces.values() if not t.facts.own or t.id in ours)
        sources = [t.source for t in faces if t.opens]
        return tuple(s.data for source in sources if isinstance(source, OutlineSource) and source.carried
                     for s in source.slices)  # fmt: skip

    def kinds(self) -> dict[str, TypefaceKind]:
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
            source = opened_source(facts) if facts is not None else None
            if facts is not None and source is not None and facts.title == facts.files[0].stem:
                # no table names it: as its maker does
                facts = replace(facts, title=source.full_name or facts.title)
        except TypefaceError as why:
            _refuse(entry, str(why), notes, refused)
            continue
        except OSError as why:
            _refuse(entry, f"{entry}: cannot be opened: {reason(why)}", notes, refused)
            continue
        if facts is None or source is None:
            continue
        if not source.embeddable:
            says = (
                f"{facts.title}: its maker lets no page carry the font file (OS/2 fsType). Its letters are cut as usual; "
                "pages show other letters in its place."
            )
            notes.append(Problem("typeface-not-embedded", "note", says, str(entry)))
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
