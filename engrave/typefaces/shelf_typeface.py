"""One typeface of the shelf: its file is opened on first use, its lines are kept shaped, its lacks are supplied."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

from engrave.cache import Cache
from engrave.intake.letter_features import feature_name
from engrave.problems import Problem
from engrave.typefaces.characters import has_right_to_left
from engrave.typefaces.legibility import reads_from
from engrave.typefaces.letter_form import glyph
from engrave.typefaces.line_setting import set_line
from engrave.typefaces.optical_spacing import evened, white_between
from engrave.typefaces.read import OutlineSource, SingleSource, Spelling
from engrave.typefaces.run import Run, TypefaceKind
from engrave.typefaces.supply import drawing_for, inked, plan_line
from engrave.typefaces.typeface_table import Facts, TypefaceError

if TYPE_CHECKING:
    from engrave.typefaces.supply import Composer

_KEPT = 2000
"""Lines kept shaped: a week's words in one typeface, a few megabytes."""


def opened_source(facts: Facts) -> OutlineSource | SingleSource:
    """Return a typeface's file, opened. Raises TypefaceError with the reason if it cannot be used."""
    try:
        return OutlineSource(facts) if facts.kind == "outline" else SingleSource(facts)
    except TypefaceError:
        raise
    except Exception as why:  # a damaged file may make its reader fail in any way; whatever way, it cannot be used
        raise TypefaceError(f"{facts.files[0].name}: is damaged ({str(why) or type(why).__name__})") from why


class TypefacesAtHand(Protocol):
    """A shelf as one of its typefaces sees it: the others, by id."""

    @property
    def cache(self) -> Cache:
        """What was worked out of them."""
        ...

    @property
    def ids(self) -> tuple[str, ...]:
        """All ids, in alphabetical order."""
        ...

    def get(self, ident: str) -> ShelfTypeface:
        """Return one of them."""
        ...

    def strokes(self, asking: str) -> SingleSource | None:
        """Return the single-line typeface that lends its marks."""
        ...

    def kinds(self) -> Mapping[str, TypefaceKind]:
        """Return the kind of each by id."""
        ...

    def facts(self, ident: str) -> Facts:
        """Return the particulars of one."""
        ...


class ShelfTypeface:
    """A typeface of the shelf (see `engrave.typefaces.Typeface`): its file is opened on first use.

    features: OpenType features that are asked of it beyond those of its table.
    """

    def __init__(self, facts: Facts, shelf: TypefacesAtHand, features: Sequence[str] = ()) -> None:
        self.facts = facts
        self.features = tuple(features)
        self._shelf = shelf
        self._source: OutlineSource | SingleSource | None = None
        self._own: dict[str, Spelling | None] = {}
        self._made: dict[str, Spelling | None] = {}
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
    def kind(self) -> TypefaceKind:
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
    def is_ornate(self) -> bool:
        """Whether it is a script or blackletter: letters that join, or capitals that make no words."""
        return (self.joined or not self.bears_capitals) and not self.lacks_capitals

    @property
    def reads_from_mm(self) -> float:
        """Height of capitals from which its words are read at arm's length: as its table says, else by its small letters."""
        measured = self.facts.measured
        if measured is not None and measured.reads_from_mm is not None:
            return measured.reads_from_mm
        return reads_from(self.x_height, self.is_ornate)

    @property
    def source(self) -> OutlineSource | SingleSource:
        """The opened file. Raises TypefaceError if it cannot be used."""
        if self._source is None:
            plain = self._shelf.get(self.id)
            self._source = opened_source(self.facts) if plain is self else plain.source
        return self._source

    @property
    def opens(self) -> bool:
        """Whether its file can be used; one that lends letters may be damaged without harm to the typeface asked for."""
        try:
            return self.source is not None
        except TypefaceError:
            return False

    def own(self, cluster: str) -> Spelling | None:
        """Return how the files themselves set a cluster of characters, None if they lack it."""
        if cluster not in self._own:
            self._own[cluster] = self.source.own(cluster)
        return self._own[cluster]

    @cached_property
    def _composer(self) -> Composer:
        from engrave.typefaces.supply import Composer  # most texts have no letter that must be made of parts

        return Composer(self.source, self._shelf.strokes(self.id))

    @property
    def pen(self) -> float:
        """Thickness in cap heights of the pen that draws ornaments and marks beside its letters."""
        return self._composer.pen

    def composed(self, cluster: str) -> Spelling | None:
        """Return how a cluster that the files lack is made of parts that they have, None if it cannot be."""
        if cluster not in self._made:
            self._made[cluster] = self._composer.spelling(cluster)
        return self._made[cluster]

    def ornament(self, cluster: str) -> Spelling | None:
        """Return a heart, star or flower of our own for a sign that asks for one, None for other signs."""
        drawing, strokes = drawing_for(cluster), self._shelf.strokes("")
        if not drawing or strokes is None:
            return None
        if (own := self.own(drawing)) is not None:
            return own
        pen = None if self.kind == "single-line" else self._composer.pen
        form = inked(drawing, strokes, pen)
        return Spelling((ord(" "),), made=form, name=f"ornament-u{ord(drawing):04X}") if form else None

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
        plan.problems += self._lacking_features()
        run = set_line(text, plan, self.id, 0.0 if self.joined else tracking + self.facts.spacing, self.features)
        if even and not self.joined and not self.source.kerned and not has_right_to_left(text):
            run = self._evened(run)
        self._runs[key] = run
        if len(self._runs) > _KEPT:
            self._runs.popitem(last=False)
        return run

    def _lacking_features(self) -> list[Problem]:
        """Return a note for each feature asked for that the typeface does not have: its words are set as usual."""
        lacking = [t for t in self.features if t != "lnum" and t.removeprefix("-") not in self.source.features]
        return [
            Problem(
                "feature-missing", "note", f"{self.title} has no {feature_name(t)}; its letters are set as usual.", t
            )
            for t in lacking
            if not t.startswith("-")
        ]

    def _evened(self, run: Run) -> Run:
        stem = next((f for c in "nH" if (f := self.source.form(c))), None)
        kept = self._shelf.cache
        return evened(run, white_between(glyph(self.id, "stem", self.kind, stem), kept), kept) if stem else run


class Lenders:
    """Where a typeface's missing letters are sought: its companions, then others of its kind, likest first."""

    def __init__(self, shelf: TypefacesAtHand, asked: ShelfTypeface) -> None:
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
