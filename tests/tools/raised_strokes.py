"""What each raised stroke of Withy costs: `python tests/tools/raised_strokes.py` writes the table in DEVELOPERS.md anew."""

from __future__ import annotations

from pathlib import Path

from engrave.making import Env, environment
from engrave.verbs import try_words

GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- strokes: written by tests/tools/raised_strokes.py -->", "<!-- end of strokes -->"

LATIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
CUTTERS = ("v60", "diode-450")
RAISING = ("plunge", "lift", "travel")
"""Parts of the time that a stroke takes because it is one of its own."""


def cost(env: Env, cutter: str) -> float:
    """Return the seconds that a stroke more takes: plunge, lift and the way to it, in the mean over a word's strokes."""
    piece = (
        try_words(
            "bdpq hmn", env=env, lid="card-box", wood="cherry", cutter=cutter, typeface="withy", line_weight="plain"
        )
        .entries[0]
        .piece
    )
    assert piece.estimate is not None and piece.toolpath is not None
    return sum(s for part, s in piece.estimate.parts if part in RAISING) / piece.toolpath.course.starts


def table(env: Env) -> list[str]:
    """Return the rows: letters by how many strokes they take, and what those after the first cost."""
    face = env.shelf.get("withy")
    strokes = {c: len(face.shape(c).placed[0].glyph.path) for c in LATIN}
    costs = {cutter: cost(env, cutter) for cutter in CUTTERS}
    titles = [env.shop.cutters[cutter].title for cutter in CUTTERS]
    rows = [
        f"| strokes | letters | {' | '.join(f'more by {title}' for title in titles)} |",
        "| --- | --- | --- | --- |",
    ]
    for count in sorted(set(strokes.values())):
        letters = " ".join(c for c in LATIN if strokes[c] == count)
        more = " | ".join(f"{(count - 1) * costs[cutter]:.1f} s" for cutter in CUTTERS)
        rows.append(f"| {count} | {letters} | {more} |")
    return rows


def main() -> None:
    """Write the table into the guide."""
    guide = GUIDE.read_text("utf-8")
    head, _, rest = guide.partition(BEGIN)
    _, _, tail = rest.partition(END)
    GUIDE.write_text(head + "\n".join([BEGIN, "", *table(environment()), "", END]) + tail, "utf-8")


if __name__ == "__main__":
    main()
