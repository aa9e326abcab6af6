"""The full list of cautions, with the bodies whose rules apply. What a week calls for is told beside its lids.

Nothing here replaces the machine's manual, local rules or licensed practice, which come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Topic = Literal["beam", "bit", "wood", "finish"]

FIRST = "The machine's manual, local rules and licensed practice come before every line here."

TITLES: dict[Topic, str] = {"beam": "Laser", "bit": "Router", "wood": "Wood", "finish": "Finishes"}


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: what it is about, what to do, and who publishes the rule ('common practice' where nobody does)."""

    topic: Topic
    says: str
    body: str


FULL_LIST: tuple[Caution, ...] = (
    Caution(
        "beam",
        "Keep the enclosure and its interlocks whole and never bypass them: the machine is in its safe class only "
        "while they work; the beam inside can blind and burn.",
        "IEC 60825-1; ISO 11553-1; ANSI Z136.1 and 21 CFR 1040.10 in the United States",
    ),
    Caution(
        "beam",
        "Where a beam is open, everyone in sight wears eyewear marked for that very wavelength and power; goggles for "
        "one wavelength do not protect at another.",
        "EN 207 and EN 208, succeeded by ISO 19818-1",
    ),
    Caution(
        "beam",
        "Never leave it running alone, and watch the lid a while after the last mark: embers smoulder. Keep the bed "
        "free of dust and crumbs, an extinguisher that is allowed for it within reach, and know how to use it.",
        "NFPA 115",
    ),
    Caution(
        "beam",
        "Draw the smoke off and lead it outdoors, never through the wood-dust collector: an ember in the dust is a "
        "fire. Smoke of wood, plywood and boards is harmful.",
        "NFPA 115 and 660; common practice",
    ),
    Caution(
        "beam",
        "No plastic that you cannot name; never PVC, vinyl or artificial leather (hydrogen chloride), nor ABS, "
        "polycarbonate, foams, fibre composites, PTFE or chrome-tanned leather.",
        "published material lists of university workshops",
    ),
    Caution(
        "beam",
        "Brass and other bright metal near the beam reflect it: cover hinges and inlays. Nothing wet with oil or "
        "solvent; let finishes cure.",
        "common practice",
    ),
    Caution(
        "bit",
        "Hold the work down so that nothing can shift or lift, and keep clamps out of the holder's way.",
        "29 CFR 1910.213 in the United States; common practice",
    ),
    Caution(
        "bit",
        "Eyes and ears covered; long hair tied, no gloves, no loose cloth at a turning bit.",
        "common practice",
    ),
    Caution("bit", "Isolate the spindle before changing a bit; keep the stop within reach.", "common practice"),
    Caution(
        "bit",
        "What stands proud of the lid (knob, clasp, handle) can foul the holder or be hit on the way from stroke to "
        "stroke. Set the travel height above it, or take it off.",
        "common practice",
    ),
    Caution(
        "wood",
        "Dust of any wood harms lungs and nose; hardwood dust is linked to nasal cancer. Draw it off where it is made "
        "and wear a mask to clean up.",
        "UK HSE (EH40: hardwood 3, softwood 5 mg/m3); EU Directive 2017/2398 (2 mg/m3); NIOSH and ACGIH (1 mg/m3)",
    ),
    Caution(
        "wood",
        "Some species sensitise skin and airways: western redcedar (asthma; its limit is half that of other woods), "
        "walnut, mahogany. The woods' table names each.",
        "ACGIH (western redcedar 0.5 mg/m3); UK HSE, list of toxic woods",
    ),
    Caution("wood", "Fine dust burns, and in the air explodes: clean up, no sparks near the collector.", "NFPA 660"),
    Caution(
        "finish",
        "Rags with drying oil (linseed, tung) heat up by themselves and catch fire within hours. Spread them flat "
        "outdoors to dry, or keep them in a metal can with a tight lid.",
        "NFPA tip sheet on oily rags; 29 CFR 1910.106 in the United States",
    ),
    Caution(
        "finish",
        "Lacquer and varnish: air the room, and keep flames, sparks and the beam away until they are dry.",
        "common practice; the maker's data sheet",
    ),
)


def as_markdown() -> str:
    """Return the full list as the README quotes it: a heading a topic, a line a caution, its body in brackets."""
    out = [FIRST]
    for topic, title in TITLES.items():
        out.append(f"**{title}**")
        out.append("\n".join(f"- {c.says} ({c.body})" for c in FULL_LIST if c.topic == topic))
    return "\n\n".join(out) + "\n"
