"""What proofs cost, PDF and PNG together: once while lids are new, once when they were drawn before, and by the typesetter alone.

python tests/speed/bench_proofs.py [TIMES]     TIMES each of ten kinds of lids is proved, in other words and on other boards (3),
                                               but for words that cannot be cut there

Seconds are the processor's. The last line is their share of what the same proofs cost in the same run, on lids drawn before, if
the typesetter draws the PNG as it does for several lids.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import replace

from engrave.making import Env, Piece, environment
from engrave.output.sheets import order_proof, proof
from engrave.typefaces import Shelf
from engrave.verbs import try_words

LIDS = (
    ("round-caddy", "vollkorn", "co2-tube", "oak", ""), ("card-box", "withy", "v60", "maple", "for the evenings"),
    ("heart-box", "vollkorn", "diode-450", "basswood", ""), ("kite-box", "noto-sans", "co2-tube", "cherry", "fly high"),
    ("fly-box", "vollkorn", "co2-tube", "oak", "tight lines"), ("paint-box", "withy", "v60", "walnut", "every knot you taught me"),
    ("needle-box", "withy", "v60", "maple", ""), ("seed-box", "noto-sans-bold", "co2-tube", "basswood", ""),
    ("reel-box", "vollkorn", "co2-tube", "oak", ""), ("letter-box", "vollkorn", "co2-tube", "cherry", ""),
)  # fmt: skip
NAMES = ("Wanda", "Rosemary & Ted", "Zoë", "Siobhán", "S M R")


def pieces_of(env: Env, times: int) -> list[Piece]:
    found = []
    for turn in range(times):
        for n, (lid, typeface, cutter, wood, message) in enumerate(LIDS):
            how = {"lid": lid, "typeface": typeface, "cutter": cutter, "wood": wood}
            piece = try_words(NAMES[(n + turn) % 5], message, env=env, **how).entries[0].piece
            if piece.is_made:
                found.append(replace(piece, order=replace(piece.order, id=f"K-{turn}{n}", row=2)))
                proof.proof_scene(found[-1])  # what is left of a cut is known by then: the lid's file was checked
    return found


def each(pieces: Iterable[Piece], draw: Callable[[Piece], object]) -> float:
    """Return the milliseconds that drawing one of the pieces took."""
    took = []
    for piece in pieces:
        began = time.process_time()
        draw(piece)
        took.append(time.process_time() - began)
    return 1000.0 * sum(took) / len(took)


def told(pieces: list[Piece], env: Env) -> None:
    def both(piece: Piece) -> object:
        return order_proof([piece], "4F8G6M", env.shop, env.shelf)

    both(pieces[-1])  # the typesetter has read its typefaces
    new, again = each(pieces, both), each(pieces, both)
    framed = proof.framed_png
    try:
        proof.framed_png = _by_the_typesetter
        alone = each(pieces, both)
    finally:
        proof.framed_png = framed
    print(f"{len(pieces)} proofs, PDF and PNG: {new:.0f} ms each with lids new, {again:.0f} ms with lids drawn before")
    print(f"as much as {new / alone:.2f} and {again / alone:.2f} of what they cost drawn by the typesetter alone")


def _by_the_typesetter(face, detail, seen, data, sheet, shelf: Shelf) -> bytes:  # type: ignore[no-untyped-def]
    """Return the PNG as orders of several lids have it."""
    pictures = {data["lids"][0]["picture"]: proof.as_jpeg(face.picture)}
    if detail is not None:
        pictures["detail.jpg"] = proof.as_jpeg(detail)
    (png,) = proof.typesetter_for(data, shelf).pages("proof_message.typ", data, pictures, dpi=sheet.dpi)
    return png


if __name__ == "__main__":
    kept = environment()
    told(pieces_of(kept, int(sys.argv[1]) if len(sys.argv) > 1 else 3), kept)
