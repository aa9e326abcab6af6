"""Hearts, stars, flowers and small pictures: which of our own drawings stands for which sign, and how it is inked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Protocol

from shapely import Polygon

from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Contour, Path
from engrave.typefaces.characters import invisible
from engrave.typefaces.contours.outline_union import stroked, together, unite
from engrave.typefaces.letter_form import LetterForm

PICTURES: Mapping[str, str] = {
    "♥": "♥❤🧡💛💚💙💜🖤🤍🤎🩷🩵🩶💕💖💗💓💞💘💝💟❣💌😍🥰🫶", "♡": "♡", "★": "★⭐🌟💫🤩", "☆": "☆", "✦": "✦✨⚝✧",
    "✿": "✿🌸🌼🌷🌹🥀💐🏵💮", "❀": "❀🌺🌻", "❄": "❄❅❆⛄☃", "☀": "☀🌞🌅", "☾": "☾☽🌙🌛🌜", "☘": "☘🍀",
    "♪": "♪🎵", "♫": "♫🎶🎼", "⚓": "⚓", "⛵": "⛵🚤🛥", "✓": "✓✔✅☑", "✗": "✗✘❌❎", "✝": "✝✟☦",
    "🌊": "🌊", "🍃": "🍃", "🌿": "🌿🌱", "❦": "❦", "❧": "❧", "☙": "☙", "🐟": "🐟🐠🎣", "⚭": "⚭💍", "→": "→➡", "←": "←⬅", "♦": "♦🔶🔷🔸🔹",
    "♠": "♠", "♣": "♣", "•": "•", "⸺": "⸺", "⸻": "⸻", "🙘": "🙘", "🙙": "🙙", "🙚": "🙚", "🙛": "🙛", "⌜": "⌜", "⌝": "⌝",
    "⌞": "⌞", "⌟": "⌟", "🐾": "🐾", "👑": "👑", "🏠": "🏠🏡🏘", "🎂": "🎂🍰🧁", "🎁": "🎁", "🔔": "🔔🛎", "🎄": "🎄🌲", "⛰": "⛰🏔🗻",
}  # fmt: skip
"""Our drawing, and the signs and emoji that it stands for. Colour and mood cannot be cut; a face becomes no picture
unless what is seen on it is a heart or a star."""

OFFERED: Mapping[str, str] = {
    "🐾": "🐶🐕🐩🦮🐱🐈🐺🦊🐻🐼🐨🐯🦁🐰🐇🐹🐭", "🐟": "🐬🐳🐋🦈🐡🦞🦀", "⛵": "🚢⛴🛳🛶", "🍃": "🍂🍁🌾🪴", "🎄": "🌳🌴🎅🤶🦌",
    "♥": "😘😚😙😗💋💏💑💒🤗👪", "★": "🎉🎊🎆🎇🏆🥇🎖🎓🎯", "♫": "🎸🎹🎷🎺🎻🥁🎤🎧📯", "✿": "🦋🐝🐞💮🪷", "🏠": "🏰🏛🏚🛖🏢",
    "⛰": "🏕⛺🌄🌋🧗", "🌊": "💧🏄🏊🏖🐚", "🎂": "🍪🍩🎈🥧", "☀": "🌤⛅🌈🏝", "☾": "🌑🌒🌓🌔🌕🌖🌗🌘🌚🌌", "👑": "🤴👸🎩💎",
    "✝": "🙏⛪✞📿", "❄": "🌨🧊🎿⛷🏂", "🔔": "🎐🕭", "☘": "🌵🦎",
}  # fmt: skip
"""A drawing of ours, and signs that it is no picture of but comes near to: offered, never taken by itself."""

_FILLED = frozenset("♥★✦✿❀♦♠♣•")
"""Drawings that are solid in an outline typeface; the others are strokes of a pen."""
LEAFY = frozenset("⸺🌿🙘🙙🙚🙛🐾")
"""Drawings inked by a pen and filled: around a leaf, or a rule that tapers, a pen alone leaves a sliver of wood."""
_FLAT = 0.002
_ONE_POINT = 1e-3
"""Cap heights: ends of a stroke nearer than this are one point."""


class Strokes(Protocol):
    """What lends the drawings: a single-line typeface."""

    def form(self, char: str) -> LetterForm | None:
        """Return a character's strokes, None if it lacks it."""
        ...


_DRAWING = {sign: ours for ours, signs in PICTURES.items() for sign in signs}
_NEAR = {sign: ours for ours, signs in OFFERED.items() for sign in signs}
_TONES = range(0x1F3FB, 0x1F400)
"""Skin tones (Unicode, emoji modifiers)."""


def plain_sign(cluster: str) -> str:
    """Return a sign without its variation selector and skin tone; '' if it is more than one sign."""
    rest = "".join(c for c in cluster if not invisible(c) and ord(c) not in _TONES)
    return rest if len(rest) == 1 else ""


def drawing_for(cluster: str) -> str:
    """Return the drawing of ours that stands for a sign, '' if none does."""
    return _DRAWING.get(plain_sign(cluster), "")


def nearest_drawing(cluster: str) -> str:
    """Return the drawing of ours that may be offered for a sign which none stands for, '' if none comes near."""
    return _NEAR.get(plain_sign(cluster), "")


def inked(drawing: str, strokes: Strokes, pen: float | None) -> LetterForm | None:
    """Return one of our drawings as strokes (pen None), or as outlines of a pen of that thickness in cap heights."""
    form = strokes.form(drawing)
    if form is None or pen is None:
        return form
    closed = tuple(c for c in form.path if c.closed)
    if drawing in LEAFY:
        leaves = (*closed, *(leaf for c in form.path if not c.closed for leaf in _leaf_at_end(c)))
        return LetterForm(together([*(unite((c,)) for c in leaves), stroked(form.path, pen)]), form.advance)
    if drawing in _FILLED and closed:
        return LetterForm(_solid(closed), form.advance)
    return LetterForm(stroked(form.path, pen), form.advance)


def _leaf_at_end(stem: Contour) -> tuple[Contour, ...]:
    """Return the closed leaf in which a stem ends where it comes back to a point that it has passed; none if it does not."""
    nodes = [stem.start, *(s[-1] for s in stem.segments)]
    met = [k for k, node in enumerate(nodes[:-1]) if math.dist(node, nodes[-1]) < _ONE_POINT]
    return (Contour(nodes[met[-1]], stem.segments[met[-1] :], True),) if met else ()


def _solid(path: Path) -> Path:
    """Return closed strokes as solid shapes; what lies inside another is a hole in it."""
    whole = unite(path[:1])
    body = Polygon(flatten(path[0], _FLAT)).buffer(0)
    holes = [c for c in path[1:] if body.contains(Polygon(flatten(c, _FLAT)))]
    return (*whole, *(_against(whole[0], hole) for hole in holes))


def _against(outer: Contour, hole: Contour) -> Contour:
    """Return a hole's contour turning the other way than its outside."""
    turns = [Polygon(flatten(c, _FLAT)).exterior.is_ccw for c in (outer, hole)]
    return hole.reversed() if turns[0] == turns[1] else hole
