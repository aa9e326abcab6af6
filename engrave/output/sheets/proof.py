"""The proof: the picture a buyer approves, true to what will be cut, at true size, with nothing of the bench on it."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from engrave.geometry.regions import polygons
from engrave.output.letter_forms import forms_shown, letters_high
from engrave.output.numbers import in_language, length_told, plain, unparted
from engrave.output.pictures import Scene, scene
from engrave.output.pictures.frames import Frame, frame_at
from engrave.output.pictures.lid_rendering import cut_shape, lid_pixels
from engrave.output.pictures.paper import PAPER
from engrave.output.pictures.scenes import NOTHING
from engrave.output.sheets.proof_picture import Face, framed_png, room_round
from engrave.output.sheets.sheet_layout import Sheet, sheet_for
from engrave.output.typesetting import typesetter_for
from engrave.output.words_on_lid import signs_left_out, words_cut
from engrave.typefaces import thicker_by
from engrave.typefaces.characters import capitals_or_letters
from engrave.units import MM_PER_INCH

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.making import Piece
    from engrave.shop import ProofWords, Shop
    from engrave.tasks import Task
    from engrave.typefaces import Shelf

SHADOW_MM = 5.0
"""mm of paper around a lid's picture, on which its shadow falls."""

DETAIL_MM, FOOT_DETAIL_MM = 34.0, 20.0
"""mm: width of the enlarged detail, beside the words of a single lid, and at the foot of a sheet of several."""

DETAIL_LINE_MM = 1.4
"""mm that the finest line has in the detail: as wide as a pencil's stroke, so its ends and corners can be judged."""

DETAIL_CAPS = 0.8
"""Cap heights of the lettering that the detail shows at least: a line alone does not tell where it is."""

DETAIL_TIMES = (2, 10)
"""Least and most that the detail is enlarged."""

RULER_MM = {"mm": 50.0, "in": 2 * MM_PER_INCH}
"""mm: length of the line by which a print is checked with a ruler."""

JPEG_QUALITY = 88
"""Above it a picture grows and looks the same; edges of burnt letters stay clean at full colour resolution."""


@dataclass(frozen=True, slots=True)
class Proof:
    """One order's proof twice: a PDF to print, at true size where a paper bears all its lids, and a PNG for a message, its dots
    an inch written into it."""

    pdf: bytes
    png: bytes


def order_proof(pieces: Sequence[Piece], code: str | None, shop: Shop, shelf: Shelf) -> Proof:
    """Return the proof of an order's lettered pieces under one code; None for a code says that nothing is agreed.

    Raises ValueError if no piece has lettering: there is nothing to show.
    """
    shown = [(piece, seen) for piece in pieces if piece.is_laid and (seen := proof_scene(piece)) is not None]
    if not shown:
        raise ValueError(f"order {pieces[0].order.id if pieces else ''}: there is nothing to prove")
    sheet = sheet_for([(seen.view.width, seen.view.height) for _, seen in shown], shop.proof.units)
    faces = [_face(piece, seen, sheet, shelf) for piece, seen in shown]
    pictures = {f"lid-{number}.jpg": as_jpeg(face.picture) for number, face in enumerate(faces)}
    data = _page(shown[0][0], code, sheet, shop)
    data["lids"] = [_lid(*shown[i], i, faces[i].frame, sheet, shop, shelf, len(shown)) for i in range(len(shown))]
    single = len(shown) == 1
    detail = _detail(*shown[0], DETAIL_MM, sheet, shop, shelf) if single else _finest(shown, sheet, shop, shelf)
    if detail is not None:
        (data["lids"][0] if single else data)["detail"] = detail.told
        pictures[detail.told["picture"]] = as_jpeg(detail.picture)
    if code is None:
        for lid, (_, seen) in zip(data["lids"], shown, strict=True):
            lid["clear"] = clear_band(seen) / sheet.ratio
    typesetter = typesetter_for(data, shelf)
    (pdf,) = typesetter.pages("proof.typ", data, pictures)
    if single:
        enlarged = detail.picture if detail else None
        return Proof(pdf, framed_png(faces[0], enlarged, shown[0][1], data, sheet, shelf))
    (png,) = typesetter.pages("proof_message.typ", data, pictures, dpi=sheet.dpi)
    return Proof(pdf, with_dpi(png, sheet.dpi))


def _face(piece: Piece, seen: Scene, sheet: Sheet, shelf: Shelf) -> Face:
    """Return the picture of a lid, dot for dot as the sheet shows it."""
    frame = frame_at(seen, sheet.dpi / MM_PER_INCH / sheet.ratio, round(SHADOW_MM * sheet.dpi / MM_PER_INCH))
    return Face(lid_pixels(seen, frame, PAPER, piece.order.id, shelf.cache), frame)


def proof_scene(piece: Piece) -> Scene | None:
    """Return what the proof shows of a piece: its cut, or where it cannot be cut the words as they would lie."""
    seen = scene(piece)
    return seen if seen is None or piece.is_made else replace(seen, cut=NOTHING)


def _page(first: Piece, code: str | None, sheet: Sheet, shop: Shop) -> dict[str, Any]:
    say = shop.proof
    order = first.order.id if first.order.row else ""
    ruler = RULER_MM[say.units]
    told = length_told(ruler, say.units, say.language)
    scale = say.true_size if sheet.ratio == 1 else say.smaller
    closing = [say.read_closely, say.wood_differs] if code else [say.why_not]
    return {
        "title": say.title.format(order=order).strip(),
        "shop": shop.name,
        "line": say.line,
        "about": say.order.format(order=order) if order else say.not_ordered,
        "code": code,
        "page": {
            "width": sheet.width,
            "height": sheet.height,
            "margin": sheet.margin,
            "columns": sheet.columns,
            "type": sheet.type_scale,
        },
        "say": {k: getattr(say, k) for k in ("received", "read_from", "hinge", "not_agreed")}
        | {"as_cut": say.as_cut if code else say.as_laid, "lang": say.language},
        "detail": None,
        "closing": closing,
        "reply": say.reply.format(code=code) if code else "",
        "ruler": {"length": ruler, "told": told},
        "scale": scale.format(ruler=told, ratio=in_language(plain(sheet.ratio, 2), say.language)),
    }


def _lid(
    piece: Piece, seen: Scene, number: int, frame: Frame, sheet: Sheet, shop: Shop, shelf: Shelf, lids: int
) -> dict[str, Any]:
    """Return what the sheet says of one lid of so many."""
    assert piece.task is not None  # is_laid
    assert piece.lettering is not None
    task, units = piece.task, shop.proof.units
    fields = [(where, words) for where, words in piece.order.received.filled() if where in task.area.fields]
    return {
        "title": _area(task, shop.proof) if lids > 1 else "",
        "picture": f"lid-{number}.jpg",
        "alt": " ".join((f"{shop.proof.lid}:", *words_cut(piece))),
        "width": seen.view.width / sheet.ratio,
        "height": seen.view.height / sheet.ratio,
        "pad": frame.pad * MM_PER_INCH / sheet.dpi,
        "across": length_told(seen.view.width, units, shop.proof.language),
        "down": length_told(seen.view.height, units, shop.proof.language),
        "hinge": seen.hinge,
        "room": room_round(seen),
        "clear": None,
        "received": [line.strip() for _, words in fields for line in _as_typed(words)],
        "set": words_cut(piece),
        "changes": [*(c for c in piece.order.changes if "line break" not in c), *_left_out(piece, shop.proof)],
        "facts": _facts(piece, task, shop, shelf),
        "detail": None,
    }


def clear_band(seen: Scene) -> float:
    """Return the middle of the highest band across a lid without words, mm from its top: room for a stamp over it."""
    shape = cut_shape(seen)
    rows = sorted((low, high) for _, low, _, high in (part.bounds for part in polygons(shape)))
    reached, band = 0.0, (0.0, 0.0)
    for low, high in [*rows, (seen.view.height, seen.view.height)]:
        if low - reached > band[1] - band[0]:
            band = (reached, low)
        reached = max(reached, high)
    return sum(band) / 2.0


def _left_out(piece: Piece, say: ProofWords) -> list[str]:
    """Return what is told of signs that no typeface has: the buyer agrees to words without them."""
    signs = signs_left_out(piece)
    return [say.left_out.format(signs=" ".join(signs))] if signs else []


def _as_typed(words: str) -> list[str]:
    """Return words as they came, with each break that was asked for as a break."""
    return [line for line in words.replace("|", "\n").splitlines() if line.strip()]


def _facts(piece: Piece, task: Task, shop: Shop, shelf: Shelf) -> list[tuple[str, str, str]]:
    """Return what is told of a lid: of what, in words, and figures that are not broken over lines."""
    say = shop.proof
    faces = ", ".join(dict.fromkeys(shelf.get(i).title for _, i in task.typefaces))
    size = f"{length_told(task.area.width, say.units, say.language)} × {length_told(task.area.height, say.units, say.language)}"
    alike = f", {say.alike.format(count=piece.order.quantity)}" if piece.order.quantity > 1 else ""
    return [
        (say.lid, f"{_area(task, say)}, ", f"{size}{alike}"),
        (say.wood, task.wood.title, ""),
        *(
            [(say.letters, f"{faces}, {letters_told([piece], say, shelf)}", "")]
            if piece.lettering and piece.lettering.lines
            else []
        ),
    ]


def _area(task: Task, say: ProofWords) -> str:
    area = {"lid": "", "inside": f", {say.inside}"}.get(task.area.name, f", {task.area.name}")
    return f"{task.lid.title}{area}"


def letters_told(pieces: Sequence[Piece], say: ProofWords, shelf: Shelf) -> str:
    """Return how high the letters of a lid's areas are, field by field, their forms, and how wide strokes are drawn."""
    caps: dict[tuple[str, str], float] = {}
    text = ""
    for piece in pieces:
        if piece.task is None or piece.lettering is None:
            continue
        for n, line in enumerate(piece.lettering.lines):
            caps.setdefault((piece.task.area.name, line.field), letters_high(piece.lettering, n))
            text += line.text
    sentence = say.capitals if capitals_or_letters(text) == "capitals" else say.small_letters
    sizes = list(dict.fromkeys(length_told(cap, say.units, say.language) for cap in caps.values()))
    size = say.several.format(first=", ".join(sizes[:-1]), last=sizes[-1]) if len(sizes) > 1 else "".join(sizes)
    told = (
        sentence.format(size=size),
        forms_shown(pieces, say, shelf),
        _thickened(pieces, say),
        _weighted(pieces, say),
    )
    return ", ".join(filter(None, told))


def _weighted(pieces: Sequence[Piece], say: ProofWords) -> str:
    """Return how wide single lines are drawn, in the largest letters; '' for plain ones and letters with a body."""
    most = max((line.weight for piece in pieces if piece.lettering for line in piece.lettering.lines), default=0.0)
    return say.lines_wide.format(width=length_told(most, say.units, say.language)) if most > 0.0 else ""


def _thickened(pieces: Sequence[Piece], say: ProofWords) -> str:
    """Return by how much strokes are thicker than the typeface's, in the largest letters; '' if they are as drawn."""
    most = max(
        (
            thicker_by(piece.task.thicken) * line.cap_mm
            for piece in pieces
            if piece.task and piece.task.thicken and piece.lettering and piece.lettering.kind == "outline"
            for line in piece.lettering.lines
        ),
        default=0.0,
    )
    return say.thicker.format(width=length_told(most, say.units, say.language)) if most > 0.0 else ""


@dataclass(frozen=True, slots=True)
class _Detail:
    """The finest place of an order's lettering, enlarged: what the template is told of it, and its picture."""

    told: dict[str, Any]
    picture: Picture


def _finest(shown: Sequence[tuple[Piece, Scene]], sheet: Sheet, shop: Shop, shelf: Shelf) -> _Detail | None:
    """Return the finest place of several lids, enlarged; None where no stroke was measured."""
    measured = [
        (spot.width, i) for i, (piece, _) in enumerate(shown) if piece.fitness and (spot := piece.fitness.stroke)
    ]
    return _detail(*shown[min(measured)[1]], FOOT_DETAIL_MM, sheet, shop, shelf) if measured else None


def _detail(piece: Piece, seen: Scene, wide: float, sheet: Sheet, shop: Shop, shelf: Shelf) -> _Detail | None:
    """Return the finest place of the lettering, enlarged, so many mm wide; None where no stroke was measured."""
    spot = piece.fitness.stroke if piece.fitness else None
    if spot is None or spot.width <= 0:
        return None
    least, most = DETAIL_TIMES
    caps = [line.cap_mm for line in piece.lettering.lines] if piece.lettering else []
    context = DETAIL_CAPS * min(caps) if caps else wide
    times = max(least, min(most, round(DETAIL_LINE_MM / spot.width), int(wide / context)))
    x, y = seen.view.point(spot.x, spot.y)
    shown = wide / times
    pixels = round(wide * sheet.dpi / MM_PER_INCH)
    frame = Frame(pixels / shown, 0, pixels, pixels, x - shown / 2, y - shown / 2)
    say = shop.proof
    width = length_told(spot.width, say.units, say.language)
    says = unparted(say.detail.format(times=times, width=width))
    told = {"picture": "detail.jpg", "size": wide, "says": "\u00a0".join(says.rsplit(" ", 1))}  # no last word alone
    return _Detail(told, lid_pixels(seen, frame, PAPER, piece.order.id, shelf.cache))


def as_jpeg(picture: Picture) -> bytes:
    """Return a lid's picture as a sheet holds it."""
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=JPEG_QUALITY, subsampling=0)
    return out.getvalue()


def with_dpi(png: bytes, dpi: float) -> bytes:
    """Return a PNG that says how many dots it has an inch (chunk pHYs of the PNG specification, in dots a metre)."""
    per_metre = round(dpi / MM_PER_INCH * 1000)
    body = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", 9) + body + struct.pack(">I", zlib.crc32(body))
    head = 8 + 25  # the signature, then IHDR, whose length is fixed
    return png[:head] + chunk + png[head:]
