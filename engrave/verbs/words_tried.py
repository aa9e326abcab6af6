"""Words tried on a lid before they are promised."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from engrave.advising import Remedy, changed
from engrave.approval import judge_order
from engrave.intake import Order, words_typed
from engrave.making import Env, environment, tasks_of
from engrave.week import Entry, advised, make_unit

if TYPE_CHECKING:
    from engrave.setting import Why


@dataclass(frozen=True, slots=True)
class Tried:
    """The answer to 'does it fit?': one entry for each area of the lid that carries words."""

    order: Order
    entries: tuple[Entry, ...]


def try_words(
    name: str, message: str = "", foot: str = "", *, lid: str = "", typeface: str = "", cutter: str = "",
    wood: str = "", setting: str = "", spacing: str = "", thicken: str = "", letter_features: str = "",
    lettering_size: str = "", line_weight: str = "", depth: str = "", artwork: str = "", quantity: int = 1,
    env: Env | None = None, advice: bool = True,
) -> Tried:  # fmt: skip
    """Set, check, time and price words on a lid, before promising them. Ids left empty take the shop's defaults.

    advice: what would help, or save time, is sought at once; else `with_advice` seeks it, for whoever wants the answer first.
    """
    env = env or environment()
    order = words_typed(
        name,
        message,
        foot,
        env.shop.intake,
        spacing=spacing,
        thicken=thicken,
        letter_features=letter_features,
        lettering_size=lettering_size,
        line_weight=line_weight,
        depth=depth,
        artwork=artwork,
    )
    order = replace(order, lid=lid, typeface=typeface, cutter=cutter, wood=wood, setting=setting, quantity=quantity)
    return with_advice(_tried(order, env), env) if advice else _tried(order, env)


def _tried(order: Order, env: Env) -> Tried:
    whats = tasks_of([order], env)
    entries = tuple(entry for what in whats for entry in make_unit([what], env, advice=False))
    env.measures.save()
    code = judge_order(entries, env, None).code
    return Tried(order, tuple(replace(entry, code=code) for entry in entries))


def with_advice(tried: Tried, env: Env) -> Tried:
    """Return what was tried with what would help, and with notes on what would save time."""
    entries = tuple(advised(entry, env) for entry in tried.entries)
    env.measures.save()
    return Tried(tried.order, entries)


def apply_remedy(tried: Tried, remedy: Remedy, env: Env, advice: bool = True) -> Tried:
    """Try again with a remedy's change made to the order; nothing else is altered. advice: as of `try_words`."""
    again = _tried(changed(tried.order, remedy.change), env)
    return with_advice(again, env) if advice else again


def why(tried: Tried, env: Env) -> tuple[Why, ...]:
    """Tell what limits the size of each area's words, and the next best line breaks."""
    from engrave.setting import explain  # a question of its own, seldom asked

    return tuple(explain(e.piece.task, env.shelf) for e in tried.entries if e.piece.task is not None)
