"""How wide single lines are drawn, as tables and cells say it: 'auto', or a share of the capitals' height as '8 %'."""

from __future__ import annotations

import re

from engrave.shop.readers import Reader

AUTO = "auto"
"""What lettering standards ask for: a tenth of the capitals' height where room and wood allow, a fourteenth at least."""

BY_RECIPE = "recipe"
"""In a setting: what the recipe of the cutter says."""

NO_WEIGHT = "0 %"
"""Plain lines, as wide as the cutter's groove."""

AUTO_SHARES = (1.0 / 10.0, 1.0 / 12.0, 1.0 / 14.0)
"""Shares tried, the heaviest first: ISO 3098-1 type B draws a tenth of the height, type A a fourteenth."""

MOST_WEIGHT = 20.0
"""% of the capitals' height: ADA 703.5 lets strokes be 10 to 30 %, but lines drawn heavier than a fifth clog."""

BARE_SHARE = 0.5
"""A bare number below this is a share (0.08), from it on per cent (8): no line of half a per cent is meant as a weight."""

_PLAIN = {"plain", "none", "no", "off", "hairline", "hairlines"}
_AUTO = {"auto", "automatic", "standard", "bold"}
_SHARE = re.compile(r"^(?P<n>\d{1,3}(?:[.,]\d+)?)\s*(?P<percent>%)?$")
_FRACTION = re.compile(r"^(?P<a>\d{1,2})\s*/\s*(?P<b>\d{1,3})$")


def weight_told(text: str) -> str | None:
    """Return a weight as it is kept ('auto', '8 %') from what people write ('1/12', '0.08', 'plain'); None if it is none."""
    plain = " ".join(text.casefold().split())
    if plain in _PLAIN:
        return NO_WEIGHT
    if plain in _AUTO:
        return AUTO
    percent = _percent(plain)
    return f"{percent:.4g} %" if percent is not None and 0.0 <= percent <= MOST_WEIGHT else None


def _percent(plain: str) -> float | None:
    fraction, share = _FRACTION.match(plain), _SHARE.match(plain)
    if fraction:
        return 100.0 * int(fraction["a"]) / int(fraction["b"]) if int(fraction["b"]) else None
    if not share:
        return None
    number = float(share["n"].replace(",", "."))
    return 100.0 * number if not share["percent"] and number < BARE_SHARE else number


def shares_told(weight: str) -> tuple[float, ...]:
    """Return the shares of the capitals' height to be tried for a weight as it is kept, heaviest first; () for plain lines."""
    if weight == AUTO:
        return AUTO_SHARES
    share = float(weight.removesuffix("%")) / 100.0
    return (share,) if share > 0.0 else ()


def line_weight(*words: str) -> Reader[str]:
    """Return a reader of weights in a table; words: others that may stand there."""

    def read(value: object) -> str:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise ValueError
        told = value if value in words else weight_told(str(value))
        if not isinstance(told, str):
            raise ValueError
        return told

    others = "".join(f", {word}" for word in words)
    return Reader(
        f'Allowed: {AUTO}, a share of the capitals\' height from 0 to 0.2, or "8 %"{others}.', NO_WEIGHT, read
    )
