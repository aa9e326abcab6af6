"""Words in every setting of a lid, on one sheet for the buyer to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.making import Env, Piece, make_any, tasks_of
from engrave.output.sheets import Choice, choices_sheet
from engrave.pricing import with_order_minimum
from engrave.problems import held
from engrave.setting import holds_pair
from engrave.shop.models import Setting
from engrave.tasks import Task
from engrave.verbs.result_files import CHOICES_ENDINGS, ending, put_result
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
    """Make the words that were tried in every setting of the shop: all areas of the lid with words are one choice.

    A setting that cannot be laid or cut, or comes out as one before it, is left out with its reason.
    """
    asked = _price([e.piece for e in tried.entries], env)
    shown: list[Choice] = []
    left: list[LeftOut] = []
    for setting in env.shop.settings.values():
        order = replace(tried.order, setting=setting.id)
        whats = tasks_of([order], env)
        pieces = [make_any(what, env) for what in whats]
        why = _not_shown(pieces, shown) or _no_pair(setting, pieces, env)
        if why:
            left.append(LeftOut(setting.id, why))
        else:
            laid = tuple(piece for piece in pieces if piece.is_laid)
            price = _price(laid, env)
            shown.append(
                Choice(setting, laid, price, price - asked if price is not None and asked is not None else None)
            )
    env.measures.save()
    return Choices(tuple(shown), tuple(left))


def _not_shown(pieces: Sequence[Piece], shown: list[Choice]) -> str:
    """Return why a lid's pieces are no choice, the first reason of all; '' if they are one."""
    holds = [p.says for piece in pieces for p in piece.problems if p.level == "hold"]
    laid = [piece for piece in pieces if piece.is_laid]
    if holds or not laid:
        return holds[0] if holds else "There are no words to set."
    lines = [p.says for piece in laid for p in piece.problems if p.code == "no-arch"]
    same = next((c.setting.id for c in shown if _all(c.pieces) == _all(laid)), "")
    return lines[0] if len(lines) == len(laid) else f"It comes out as '{same}' does." if same else ""


def _no_pair(setting: Setting, pieces: Sequence[Piece], env: Env) -> str:
    """Return why a setting for two names is no choice; '' for other settings, and where the name is two names."""
    if setting.kind != "pair" or any(piece.task and holds_pair(piece.task, env.shelf) for piece in pieces):
        return ""
    return "It parts two names with an ornament, and the name here is not two names."


def _all(pieces: Sequence[Piece]) -> list[tuple[object, ...]]:
    return [_geometry(piece) for piece in pieces]


def _geometry(piece: Piece) -> tuple[object, ...]:
    """Return what tells two ways to lay the words apart: each mark and where it stands, to a thousandth of a mm."""
    area = piece.task.area.name if isinstance(piece.task, Task) else ""
    marks = piece.lettering.marks if piece.lettering is not None else ()
    return (area, tuple((m.glyph.key, tuple(round(v, 3) for v in m.matrix)) for m in marks))


def _price(pieces: Sequence[Piece], env: Env) -> Decimal | None:
    """Return what the lettering of a lid costs, all its areas together; None where one of them is on hold."""
    quotes = [piece.quote for piece in pieces if piece.quote is not None]
    if not quotes or any(held(piece.problems) for piece in pieces):
        return None
    return sum((q.price for q in with_order_minimum(quotes, env.shop.rates)), Decimal(0))


def write_choices(choices: Choices, file: Path, env: Env) -> Path:
    """Draw the choices on one sheet, as the file's name asks. Raises AskedWrong without any, or for another ending."""
    as_picture = ending(file, CHOICES_ENDINGS) == ".png"
    if not choices.shown:
        raise AskedWrong("There is nothing to choose from: the words can be cut in no setting. Try fewer words.")
    put_result(file, choices_sheet(choices.shown, env.shop, env.shelf, as_picture=as_picture), env)
    return file
