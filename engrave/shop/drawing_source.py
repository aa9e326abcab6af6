"""The text of an SVG as far as shapes are concerned: read in one pass, within limits, before anything is drawn.

What is kept is what can alter a shape: groups, reuse, the shapes themselves, their places, and the few properties that
say whether and how they are filled. All else (pictures, words, editors' own notes) is passed over unread.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path as File
from xml.etree import ElementTree

from engrave.files import Unreadable, whole_file
from engrave.limits import (
    DRAWING_BYTES,
    DRAWING_CLOSINGS,
    DRAWING_DEPTH,
    DRAWING_DIGITS,
    DRAWING_NODES,
    DRAWING_SHAPES,
    DRAWING_STYLES,
    Limit,
)
from engrave.shop.shapes import OutlineError

Element = ElementTree.Element

SVG = "{http://www.w3.org/2000/svg}"
HREF = ("href", "{http://www.w3.org/1999/xlink}href")
SHAPE_ELEMENTS = frozenset({"path", "circle", "ellipse", "line", "polyline", "polygon", "rect"})
GROUP_ELEMENTS = frozenset({"svg", "g", "a", "switch", "defs", "use", "symbol", "style"})
"""Elements that hold or place shapes. All others (clipPath, mask, pattern, marker, text, image, metadata) draw none."""

PLACES = frozenset({"x", "y", "width", "height", "rx", "ry", "r", "cx", "cy", "x1", "y1", "x2", "y2", "transform"})
LOOKS = frozenset({"display", "visibility", "fill-rule", "fill", "stroke", "stroke-width"})
LONG = frozenset({"d", "points"})
KEPT_ATTRIBUTES = PLACES | LOOKS | LONG | {"id", "viewBox", "preserveAspectRatio", "style", "class", *HREF}
LONGEST_VALUE = 1000
"""Letters of an attribute that is no path, points, style or class; none that draws a lid has more."""

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*+)")
_FIGURE = re.compile(r"[-+]?(?:\d++\.?+\d*+|\.\d++)(?:[eE][-+]?\d++)?")
_FIGURES_EACH = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7}
_LONG_FIGURE = re.compile(rf"\d{{{DRAWING_DIGITS.most + 1}}}")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


def source_of(file: File, shapes: Limit = DRAWING_SHAPES, nodes: Limit = DRAWING_NODES) -> Element:
    """Return the root of a drawing, with nothing in it but what draws. Raises OutlineError with the reason.

    `use` is left as it is: it leads in no circle, and what it draws again is counted.
    """
    try:
        data = whole_file(file, DRAWING_BYTES)
        root = ElementTree.fromstring(data, ElementTree.XMLParser(target=_Builder()))
    except Unreadable as error:
        raise OutlineError(str(error)) from error
    except (
        ElementTree.ParseError,
        LookupError,
        UnicodeError,
    ) as error:  # the last two: encodings that it does not know
        raise OutlineError(f"cannot be read as SVG: {error}") from error
    except OutlineError:
        raise
    except ValueError as error:
        raise OutlineError(f"cannot be read as SVG: {error}") from error
    if root is None:
        raise OutlineError("is not an SVG: it does not begin with <svg>")
    _count(root, shapes, nodes)
    return root


def checked_path(data: str) -> str:
    """Return path data as it is. Raises OutlineError where there is more of it than is read."""
    nodes, runs = _path_work(data)
    _refuse(DRAWING_NODES, nodes)
    _refuse(DRAWING_SHAPES, runs)
    return data


def _refuse(limit: Limit, count: int | None) -> None:
    if count is None or limit.passed(count):
        raise OutlineError(f"has more than is read: {limit.of}: {limit.told(count)}; simplify the drawing")


class _Builder:
    """Builds the tree while the text is read: unknown elements are passed over, symbols wait as groups to be used."""

    def __init__(self) -> None:
        self.root: Element | None = None
        self.depth = 0
        self._open: list[Element] = []
        self._passed = 0
        self._text: list[str] = []
        self._letters = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Begin an element."""
        self.depth += 1
        _refuse(DRAWING_DEPTH, self.depth)
        name = tag.removeprefix(SVG)
        if self.depth == 1 and name != "svg":
            raise OutlineError("is not an SVG: it does not begin with <svg>")
        if self._passed or name not in SHAPE_ELEMENTS | GROUP_ELEMENTS:
            self._passed += 1
            return
        self._letters += sum(len(v) for v in attributes.values())  # entities may have made much of little
        _refuse(DRAWING_BYTES, self._letters)
        if name == "symbol":
            if "viewBox" in attributes:
                raise OutlineError("draws with a symbol that has a viewBox of its own; break it apart into paths")
            self._begin(ElementTree.Element(f"{SVG}defs"))
            name = "g"
        self._begin(ElementTree.Element(f"{SVG}{name}", _kept(attributes)))

    def _begin(self, element: Element) -> None:
        if self._open:
            self._open[-1].append(element)
        else:
            self.root = element
        self._open.append(element)

    def data(self, text: str) -> None:
        """Take text: only that of a style sheet matters."""
        self._letters += len(text)
        _refuse(DRAWING_BYTES, self._letters)
        if not self._passed and self._open and self._open[-1].tag == f"{SVG}style":
            self._text.append(text)

    def end(self, tag: str) -> None:
        """End an element."""
        self.depth -= 1
        if self._passed:
            self._passed -= 1
            return
        element = self._open.pop()
        if tag.removeprefix(SVG) == "symbol":
            self._open.pop()
        if element.tag == f"{SVG}style":
            element.text = _sheet("".join(self._text))
            self._text.clear()

    def close(self) -> Element | None:
        """Return the root."""
        return self.root


def _kept(attributes: dict[str, str]) -> dict[str, str]:
    """Return the attributes that matter for shapes, those that are too long refused."""
    out = {key: value for key, value in attributes.items() if key in KEPT_ATTRIBUTES}
    for key, value in out.items():
        if key not in LONG | {"style", "class"} and len(value) > LONGEST_VALUE:
            raise OutlineError(
                f"has {key} = {value[:20]!r}... of {len(value):,} letters; at most {LONGEST_VALUE:,} are read"
            )
        if key != "id" and key not in HREF and _LONG_FIGURE.search(value):
            raise OutlineError(f"has more than is read: {DRAWING_DIGITS.of}: {DRAWING_DIGITS.told()}")
    if "style" in out:
        out["style"] = _declarations(out["style"])
    if "class" in out:
        out["class"] = " ".join(out["class"].split())
    return out


def _declarations(style: str) -> str:
    """Return the declarations of a style that alter shapes."""
    pairs = [part.split(":") for part in style.split(";")]
    kept = [(p[0].strip(), p[1].strip()) for p in pairs if len(p) == 2]
    return ";".join(f"{k}:{v}" for k, v in kept if k in PLACES | LOOKS and len(v) <= LONGEST_VALUE)


def _sheet(css: str) -> str:
    """Return a style sheet's rules that alter shapes, one a line."""
    rules = []
    for rule in _COMMENT.sub("", css).split("}"):
        selector, brace, body = rule.partition("{")
        kept = _declarations(body)
        if brace and kept and "@" not in selector:
            rules.append(f"{' '.join(selector.split())}{{{kept}}}")
    return "\n".join(rules)


@dataclass(frozen=True, slots=True)
class _Work:
    """What an element makes, reuse counted: elements, contours, nodes, letters of style to be read, levels below it."""

    elements: int = 1
    contours: int = 0
    nodes: int = 0
    letters: int = 0
    levels: int = 1


class _Counter:
    """Counts the work of a tree in which elements may be drawn again by `use`; each is looked at once."""

    def __init__(self, root: Element) -> None:
        self.named = {e.get("id", ""): e for e in root.iter() if e.get("id")}
        sheets = [e.text or "" for e in root.iter(f"{SVG}style")]
        self.longest_rule = max((len(rule) for sheet in sheets for rule in sheet.split("\n")), default=0)
        self.known: dict[Element, _Work] = {}
        self.above: list[Element] = []

    def work(self, element: Element) -> _Work:
        """Return the work of an element with all that it draws. Raises OutlineError for circles and depth."""
        if element in self.above:
            raise OutlineError(_circle([*self.above[self.above.index(element) :], element]))
        if element in self.known:
            found = self.known[element]
            _refuse(DRAWING_DEPTH, len(self.above) + found.levels)
            return found
        _refuse(DRAWING_DEPTH, len(self.above) + 1)
        self.above.append(element)
        inner = [self.work(child) for child in element]
        drawn = self._again(element)
        if drawn is not None:
            inner.append(self.work(drawn))
        self.above.pop()
        self.known[element] = found = self._sum(element, inner)
        return found

    def _again(self, element: Element) -> Element | None:
        if element.tag != f"{SVG}use":
            return None
        to = next((element.attrib[key] for key in HREF if key in element.attrib), "")
        return self.named.get(to[1:])

    def _sum(self, element: Element, inner: list[_Work]) -> _Work:
        nodes, contours = _shape_work(element)
        elements = 1 + sum(w.elements for w in inner)
        styled = len(element.get("style", "")) + (2 * len(element.get("class", "").split()) + 3) * self.longest_rule
        return _Work(
            elements,
            contours + sum(w.contours for w in inner),
            nodes + sum(w.nodes for w in inner),
            styled + len(element.get("transform", "")) * elements + sum(w.letters for w in inner),
            1 + max((w.levels for w in inner), default=0),
        )


def _count(root: Element, shapes: Limit, nodes: Limit) -> None:
    """Refuse a drawing that makes more work than the limits allow."""
    work = _Counter(root).work(root)
    for limit, count in ((shapes, work.contours), (nodes, work.nodes), (DRAWING_STYLES, work.letters)):
        _refuse(limit, count)
    _refuse(nodes, work.elements)  # empty groups, drawn again and again, are work as well


def _circle(elements: list[Element]) -> str:
    """Return why a drawing that draws itself is refused, with the way round, as far as it has names."""
    names = [f"{e.tag.removeprefix(SVG)} '{e.get('id')}'" for e in elements if e.get("id")]
    return f"draws itself with `use`, in a circle: {' -> '.join(names)}; break it apart into paths"


def _shape_work(element: Element) -> tuple[int, int]:
    """Return the nodes and contours of one shape."""
    name = element.tag.removeprefix(SVG)
    if name == "path":
        return _path_work(element.get("d", ""))
    if name in ("polyline", "polygon"):
        return len(_FIGURE.findall(element.get("points", ""))) // 2, 1
    return (8, 1) if name in SHAPE_ELEMENTS else (0, 0)


def _path_work(data: str) -> tuple[int, int]:
    """Return the nodes and contours of path data. Raises OutlineError where it closes again and again."""
    if _LONG_FIGURE.search(data):
        raise OutlineError(f"has more than is read: {DRAWING_DIGITS.of}: {DRAWING_DIGITS.told()}")
    nodes = runs = closings = 0
    for letter, figures in _COMMAND.findall(data):
        kind = letter.lower()
        runs += kind == "m"
        closings = 0 if kind == "m" else closings + (kind == "z")
        _refuse(DRAWING_CLOSINGS, closings)
        runs += kind == "z" and closings > 1  # what follows a closing without a new start is a contour as well
        nodes += max(1, len(_FIGURE.findall(figures)) // _FIGURES_EACH.get(kind, 1)) if kind != "z" else 1
    return nodes, max(runs, 1)
