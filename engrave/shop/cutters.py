"""Cutters: bits with their angles, tips and flutes, beams with the width of their mark."""

from __future__ import annotations

from engrave.shop.models import Cutter, CutterKind, Method
from engrave.shop.readers import FILLED, TEXT, Reader, choice, length, number, whole
from engrave.shop.tables import TomlEntry

KIND: Reader[CutterKind] = choice("end-mill", "ball-nose", "v-bit", "half-round", "drag-bit", "beam")

NEEDS: dict[CutterKind, tuple[str, ...]] = {
    "end-mill": ("diameter", "flute"),
    "ball-nose": ("diameter", "flute"),
    "v-bit": ("diameter", "angle", "tip", "deepest"),
    "half-round": ("diameter", "angle", "tip", "deepest"),
    "drag-bit": ("tip",),
    "beam": ("kerf_x", "kerf_y", "wavelength"),
}
"""What must be known of each kind before a groove's width can be worked out."""

METHODS: dict[CutterKind, tuple[Method, ...]] = {
    "end-mill": ("follow", "pocket"),
    "ball-nose": ("follow", "pocket"),
    "v-bit": ("follow", "vee"),
    "half-round": ("follow",),
    "drag-bit": ("follow",),
    "beam": ("follow", "raster"),
}
"""How each kind of cutter can be used: along single lines first, then how it makes letters with body, if it can."""

BIT = length(0.0, 50.0, above=True)
MARK = length(0.01, 2.0)
ANGLE = number(5.0, 170.0, unit="degrees, the whole angle at the point")


def read_cutter(entry: TomlEntry) -> Cutter:
    """Return one cutter from its table; each kind must state what its groove is worked out from."""
    kind: CutterKind = entry.take("kind", KIND)
    cutter = Cutter(
        id=entry.id,
        title=entry.take("title", FILLED),
        kind=kind,
        machine=entry.take("machine", FILLED),
        diameter=entry.take_or("diameter", BIT, None),
        angle=entry.take_or("angle_deg", ANGLE, None),
        tip=entry.take_or("tip", length(0.0, 10.0), None),
        flute=entry.take_or("flute", BIT, None),
        flutes=entry.take_or("flutes", whole(1, 8), None),
        deepest=entry.take_or("deepest", BIT, None),
        kerf_x=entry.take_or("kerf_x", MARK, None),
        kerf_y=entry.take_or("kerf_y", MARK, None),
        wavelength=entry.take_or("wavelength_nm", number(180.0, 20_000.0, unit="nm"), None),
        note=entry.take_or("note", TEXT, ""),
        reach=entry.take_or("reach", BIT, None),
    )
    entry.finish()
    _check_kind(entry, cutter)
    return cutter


def _check_kind(entry: TomlEntry, cutter: Cutter) -> None:
    for name in NEEDS[cutter.kind]:
        if getattr(cutter, name) is None:
            key = {"angle": "angle_deg", "wavelength": "wavelength_nm"}.get(name, name)
            entry.wrong(key, "is missing", f"A cutter of kind {cutter.kind} must state it.")
    if cutter.tip is not None and cutter.diameter is not None and cutter.tip > cutter.diameter:
        found = f"found {cutter.tip:g} mm, wider than the bit's diameter of {cutter.diameter:g} mm"
        entry.wrong("tip", found, "Allowed: at most the diameter.")
