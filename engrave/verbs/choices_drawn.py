"""Words in every setting of a lid, on one sheet for the buyer to choose from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.making import Env, Piece, make_any
from engrave.output.sheets import Choice, choices_sheet
from engrave.problems import held
from engrave.tasks import Task, define_all
from engrave.verbs.result_files import put_result
from engrave.verbs.words_tried import Tried


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A setting that is not on the sheet, and why."""

    setting: str
    says: str


@dataclass(frozen=True, slots=True)
class Choices:
    """What a buyer may choose from, and the settings that give nothing to choose."""

    shown: tuple[Choice, ...]
    left_out: tuple[LeftOut, ...]


def all_choices(tried: Tried, env: Env) -> Choices:
    """Make the words that were tried in every setting of the shop, each area of the lid with words by itself.

    A setting that cannot be laid or cut, or comes out as one before it, is left out with its reason.
    """
    asked = {e.piece.task.area.name: e.piece for e in tried.entries if e.piece.task is not None}
    shown: list[Choice] = []
    left: list[LeftOut] = []
    for setting in env.shop.settings.values():
        order = replace(tried.order, setting=setting.id)
        whats = define_all([order], env.shop, env.shelf.kinds(), env.shelf.refused)
        pieces = [make_any(what, env) for what in whats]
        for piece in pieces:
            why = _not_shown(piece, shown)
            if why:
                left.append(LeftOut(setting.id, why))
            else:
                shown.append(Choice(setting, piece, _dearer(piece, asked)))
    env.measures.save()
    return Choices(tuple(shown), tuple(dict.fromkeys(left)))


def _not_shown(piece: Piece, shown: list[Choice]) -> str:
    """Return why a piece is no choice; '' if it is one."""
    holds = [p.says for p in piece.problems if p.level == "hold"]
    if held(piece.problems) or not piece.is_laid:
        return holds[0] if holds else "There are no words to set."
    lines = [p.says for p in piece.problems if p.code == "no-arch"]
    same = next((c.setting.id for c in shown if _geometry(c.piece) == _geometry(piece)), "")
    return lines[0] if lines else f"It comes out as '{same}' does." if same else ""


def _geometry(piece: Piece) -> tuple[object, ...]:
    """Return what tells two ways to lay the words apart: each mark and where it stands, to a thousandth of a mm."""
    area = piece.task.area.name if isinstance(piece.task, Task) else ""
    marks = piece.lettering.marks if piece.lettering is not None else ()
    return (area, tuple((m.glyph.key, tuple(round(v, 3) for v in m.matrix)) for m in marks))


def _dearer(piece: Piece, asked: dict[str, Piece]) -> Decimal | None:
    """Return what a piece costs more than the one that was asked for on the same area; None where one has no price."""
    other = asked.get(piece.task.area.name) if piece.task is not None else None
    if piece.quote is None or other is None or other.quote is None:
        return None
    return piece.quote.price - other.quote.price


def write_choices(choices: Choices, file: Path, env: Env) -> Path:
    """Draw the choices on one sheet, a PNG if the file's name ends so, else a PDF. Raises AskedWrong without any."""
    if not choices.shown:
        raise AskedWrong("There is nothing to choose from: the words can be cut in no setting. Try fewer words.")
    as_picture = file.suffix.lower() == ".png"
    put_result(file, choices_sheet(choices.shown, env.shop, env.shelf, as_picture=as_picture), env)
    return file
