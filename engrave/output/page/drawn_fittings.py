"""What stands on a lid or is let into it, on the page: the bodies of the proof as light shapes, under the same light."""

from __future__ import annotations

import math
from html import escape

from engrave.geometry.regions import region
from engrave.output.numbers import plain
from engrave.output.pictures.fittings import (
    LEAST_SCREW,
    FittingKind,
    fitting_kind,
    fitting_tone,
    is_metal,
    proud_mm,
    screws,
)
from engrave.output.pictures.scenes import CHORD, mixed
from engrave.shop.models import KeepOut, Wood

Stops = tuple[tuple[float, str, float], ...]
"""Where along a light, in parts of it, which colour, and how much of it covers what is below."""

PALE, DEEP = "#fff8ea", "#140a04"

LIGHTS: dict[str, Stops] = {
    "dome": ((0.0, PALE, 0.75), (0.25, PALE, 0.3), (0.55, DEEP, 0.0), (1.0, DEEP, 0.55)),
    "bar": ((0.0, PALE, 0.55), (0.22, PALE, 0.12), (0.5, DEEP, 0.0), (0.8, DEEP, 0.16), (1.0, DEEP, 0.5)),
    "plate": ((0.0, PALE, 0.45), (0.12, PALE, 0.1), (0.6, DEEP, 0.0), (1.0, DEEP, 0.3)),
    "hollow": ((0.0, DEEP, 0.62), (0.45, DEEP, 0.3), (0.8, DEEP, 0.14), (1.0, PALE, 0.35)),
}
"""The light on each body, which falls from the top left."""

LIGHT_OF: dict[FittingKind, str] = {"knob": "dome", "bar": "bar", "plate": "plate", "hollow": "hollow"}

MOST_THROWN_MM = 6.0
"""mm: how far a body's shadow falls at most."""

SMALLEST_SCREW_MM = LEAST_SCREW / 4.0
"""mm: radius of a screw's head below which none is drawn, as on a picture of four pixels a mm."""


def fitting_lights() -> str:
    """Return the lights as gradients, which a page has once."""
    return "".join(_gradient(name, stops) for name, stops in LIGHTS.items())


def _gradient(name: str, stops: Stops) -> str:
    shape = (
        ("radialGradient", 'cx=".5" cy=".5" r=".62" fx=".3" fy=".28"')
        if name == "dome"
        else ("linearGradient", 'x2="1" y2="1"')
    )
    inner = "".join(
        f'<stop offset="{plain(at, 2)}" stop-color="{colour}" stop-opacity="{plain(share, 2)}"/>'
        for at, colour, share in stops
    )
    return f'<{shape[0]} id="light-{name}" {shape[1]}>{inner}</{shape[0]}>'


def drawn_fitting(keep: KeepOut, wood: Wood, data: str, ident: str, lid: str = "") -> str:
    """Return a fitting as SVG.

    data: path data of its outline; ident: an id of its own on the page; lid: that of a clip to the lid, where its shadow
    would fall beyond it.
    """
    kind, tone = fitting_kind(keep), fitting_tone(keep, wood)
    clip = f'clip-path="url(#{lid})"' if lid else ""
    far = plain(thrown_mm(keep), 1)
    thrown = f'<use href="#{ident}" class="thrown" transform="translate({far} {far})"/>' if far != "0" else ""
    return (
        f'<g class="on" fill="{tone or "none"}"><title>{escape(keep.why)}</title>{f"<g {clip}>{thrown}</g>" if lid else thrown}'
        f'<path id="{ident}" d="{data}"/>'
        + (f'<use href="#{ident}" fill="url(#light-{LIGHT_OF[kind]})"/>' if kind in LIGHT_OF else "")
        + (_screws(keep, tone or wood.colour) if kind == "plate" and is_metal(keep) else "")
        + "</g>"
    )


def thrown_mm(keep: KeepOut) -> float:
    """Return how far to the right and down a fitting's shadow falls, mm; 0 for what does not stand proud."""
    proud = proud_mm(keep)
    return min(MOST_THROWN_MM, 0.6 + 0.33 * proud) if proud > 0.0 else 0.0


def _screws(keep: KeepOut, tone: str) -> str:
    """Return the screws of a hinge's leaf, in a row along its middle; '' where they would be too small."""
    radius, places = screws(region(keep.outline, CHORD).bounds, 1.0)
    if radius < SMALLEST_SCREW_MM:
        return ""
    heads, slots = [], []
    for x, y, turn in places:
        dx, dy = 0.8 * radius * math.sin(turn), -0.8 * radius * math.cos(turn)
        heads.append(f'<circle cx="{plain(x, 2)}" cy="{plain(y, 2)}" r="{plain(radius, 2)}"/>')
        slots.append(f"M{plain(x - dx, 2)},{plain(y - dy, 2)}L{plain(x + dx, 2)},{plain(y + dy, 2)}")
    dark = mixed(tone, DEEP, 0.55)
    return (
        f'<g fill="none" stroke="{dark}" stroke-opacity="1" stroke-width="{plain(0.12 * radius, 2)}">{"".join(heads)}'
        f'<path stroke-width="{plain(0.3 * radius, 2)}" d="{"".join(slots)}"/></g>'
    )
