"""The checker of the SVG's normal form: lists every violation, and runs on every file before it is put in place."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from xml.etree import ElementTree

NAMESPACE = "{http://www.w3.org/2000/svg}"

ALLOWED_ELEMENTS = {
    "svg": {"width", "height", "viewBox", "version", "baseProfile"},
    "title": set(),
    "desc": set(),
    "g": {"id"},
    "path": {"d", "fill", "fill-rule", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin"},
}
"""Elements and their attributes; anything else would have to be interpreted by an importer."""

LID_GROUPS = ("engrave", "lid", "datum")

PURE = re.compile(r"^#(00|ff)(00|ff)(00|ff)$|^#[0f]{3}$|^(red|lime|blue|yellow|cyan|aqua|magenta|fuchsia|black)$", re.I)
"""Pure primaries and their sums: programs are known to take them for settings."""

NUMBER = re.compile(r"^-?\d+(\.\d{1,4})?$", re.ASCII)
SHEET_SIZE = re.compile(r"^(\d+(?:\.\d{1,4})?)mm$", re.ASCII)
DECIMALS = r"(?:\.\d{1,4}+)?+"
PAIRS_OF_COMMAND = {"M": 1, "L": 1, "Q": 2, "C": 3, "Z": 0}
SHEET_SLACK = 1e-3
"""mm by which a point may lie off the sheet: control points are rounded when written."""


def check_svg(text: str) -> tuple[str, ...]:
    """Return every way in which a file departs from the normal form, in plain words; empty when there is none."""
    try:
        root = ElementTree.fromstring(text.encode("utf-8"))
    except ElementTree.ParseError as error:
        return (f"not well-formed XML: {error}",)
    return tuple(_violations(root))


def _violations(root: ElementTree.Element) -> Iterator[str]:
    if root.tag != NAMESPACE + "svg":
        yield f"the root is {root.tag}, not an SVG"
        return
    yield from _elements(root)
    sheet = _sheet(root)
    if sheet is None:
        yield "width and height must be in mm and the viewBox '0 0 width height' with the same numbers"
    yield from _top(root)
    for group in root.findall(NAMESPACE + "g"):
        yield from _group(group, sheet)


def _elements(root: ElementTree.Element) -> Iterator[str]:
    for element in root.iter():
        name = str(element.tag).removeprefix(NAMESPACE)
        if name not in ALLOWED_ELEMENTS:
            yield f"<{name}> is not allowed"
            continue
        for attribute in element.attrib:
            if attribute not in ALLOWED_ELEMENTS[name]:
                yield f"<{name}> has the attribute '{attribute}'"


def _sheet(root: ElementTree.Element) -> tuple[float, float] | None:
    sizes = [SHEET_SIZE.match(root.get(side, "")) for side in ("width", "height")]
    box = root.get("viewBox", "").split()
    if not all(sizes) or box != ["0", "0", *(m[1] for m in sizes if m)]:
        return None
    width, height = (float(m[1]) for m in sizes if m)
    return (width, height) if width > 0 and height > 0 else None


def _top(root: ElementTree.Element) -> Iterator[str]:
    names = [str(child.tag).removeprefix(NAMESPACE) for child in root]
    if names[:2] != ["title", "desc"] or not all((child.text or "").strip() for child in list(root)[:2]):
        yield "title and desc must come first and say something"
    ids = [child.get("id") for child in root if child.tag == NAMESPACE + "g"]
    if not ids or len(set(ids)) != len(ids) or not set(ids) <= set(LID_GROUPS):
        yield f"groups must be 'engrave', 'lid' and 'datum', once each, not {ids}"
    if "path" in names[2:]:
        yield "a path stands outside the groups"


def _group(group: ElementTree.Element, sheet: tuple[float, float] | None) -> Iterator[str]:
    name = group.get("id") or "?"
    if not len(group):
        yield f"group '{name}' is empty"
    for number, path in enumerate(group, start=1):
        where = f"{name}, path {number}"
        if path.tag != NAMESPACE + "path":
            yield f"{where}: only paths may stand in a group"
            continue
        yield from (f"{where}: {says}" for says in _paint(path, name))
        yield from (f"{where}: {says}" for says in _data(path.get("d", ""), sheet))
        if path.get("fill", "black") != "none" and _open_ends(path.get("d", "")):
            yield f"{where}: filled, but not closed"


def _paint(path: ElementTree.Element, group: str) -> Iterator[str]:
    fill, stroke = path.get("fill"), path.get("stroke")
    if fill is None or stroke is None or (fill == "none") == (stroke == "none"):
        yield "must state fill and stroke, and use one of them"
    for colour in (fill, stroke):
        if colour and colour != "none" and (PURE.match(colour) or not re.match(r"^#[0-9a-f]{6}$", colour)):
            yield f"colour {colour} is a pure primary, or not written as #rrggbb"
    if fill not in (None, "none") and path.get("fill-rule") != "evenodd":
        yield "filled, without fill-rule evenodd"
    if fill not in (None, "none") and group == "lid":
        yield "the lid is filled: a program might clear it"
    if stroke not in (None, "none"):
        width = path.get("stroke-width", "")
        if not NUMBER.match(width) or float(width) <= 0:
            yield f"stroke-width '{width}' is no width in mm"
        if group == "engrave" and path.get("stroke-linecap") != "round":
            yield "a groove ends round, so its line must"


def _data(d: str, sheet: tuple[float, float] | None) -> Iterator[str]:
    if sheet is not None and _in_form(sheet).fullmatch(d):
        return
    tokens = d.split()
    if not tokens or tokens[0] != "M":
        yield "the data must begin with M"
    commands = [i for i, token in enumerate(tokens) if not NUMBER.match(token)]
    for start, end in pairwise([*commands, len(tokens)]):
        letter, numbers = tokens[start], tokens[start + 1 : end]
        if letter not in PAIRS_OF_COMMAND:
            yield f"'{letter}' is not one of M, L, Q, C, Z with numbers of at most four decimals"
        elif len(numbers) != 2 * PAIRS_OF_COMMAND[letter]:
            yield f"'{letter}' has {len(numbers)} numbers"
        elif sheet is not None and numbers and not _on_sheet([float(n) for n in numbers[-2:]], sheet):
            yield f"({numbers[-2]}, {numbers[-1]}) lies off the sheet"


@lru_cache(maxsize=16)
def _in_form(sheet: tuple[float, float]) -> re.Pattern[str]:
    """Return what data match that are in form and lie on the sheet, control points too (which need not).

    What is wrong with any other data, if anything, is found command by command.
    """
    pair = "".join(rf" {_below(int(size))}{DECIMALS}" for size in sheet)
    return re.compile(rf"M{pair}(?: L{pair}| C{pair}{pair}{pair}| Q{pair}{pair}| Z| M{pair})*+", re.ASCII)


def _below(limit: int) -> str:
    """Return what the whole numbers below a limit match: digit by digit, those that begin as the limit does coming first."""
    digits = str(limit)
    least = [
        rf"{digits[:k]}[0-{int(digit) - 1}]\d{{{len(digits) - k - 1}}}" for k, digit in enumerate(digits) if digit > "0"
    ]
    fewer = [rf"\d{{1,{len(digits) - 1}}}+"] if len(digits) > 1 else []
    return f"(?>{'|'.join([*least, *fewer])})" if limit > 0 else "(?!)"


def _on_sheet(point: list[float], sheet: tuple[float, float]) -> bool:
    return all(-SHEET_SLACK <= value <= size + SHEET_SLACK for value, size in zip(point, sheet, strict=True))


def _open_ends(d: str) -> bool:
    """Tell whether any subpath is not closed by Z."""
    return any(not part.rstrip().endswith("Z") for part in d.split("M")[1:])
