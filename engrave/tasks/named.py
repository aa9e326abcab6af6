"""The typefaces that a shop's own tables name: each must be at hand, or no order of the week could be set."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engrave.shop.mistakes import Mistake, ShopError, close, listed
from engrave.shop.models import Shop

DEFAULTS = ("typeface", "message_typeface", "foot_typeface", "single_line_typeface")
"""Keys of the shop's defaults that name a typeface."""


def check_typefaces(shop: Shop, kinds: Mapping[str, str], refused: Mapping[str, str]) -> None:
    """Check that every typeface named by the defaults and the lids is at hand.

    kinds: typeface id to 'outline' or 'single-line'. refused: why a shop's own typeface cannot be used, by id.
    Raises ShopError with every one that is not.
    """
    mistakes = [
        _mistake(file, entry, key, name, kinds, refused) for file, entry, key, name in _named(shop) if name not in kinds
    ]
    lines = shop.defaults.single_line_typeface
    if lines is not None and kinds.get(lines) == "outline":
        file = shop.sources.get("defaults/single_line_typeface", "defaults.toml")
        allowed = f"Allowed: {listed(i for i, kind in kinds.items() if kind == 'single-line')}."
        mistakes.append(
            Mistake(file, "", "single_line_typeface", f"'{lines}' has letters with a body, no single lines", allowed)
        )
    if mistakes:
        raise ShopError(mistakes)


def _named(shop: Shop) -> Iterator[tuple[str, str, str, str]]:
    """Yield file, entry, key and id of every typeface that a table names."""
    for key in DEFAULTS:
        name = getattr(shop.defaults, key)
        if name is not None:
            yield shop.sources.get(f"defaults/{key}", "defaults.toml"), "", key, name
    for text, name in shop.intake.values.get("typeface", {}).items():
        yield shop.sources.get("intake", "intake.toml"), "values.typeface", text, name
    for lid in shop.lids.values():
        if lid.typeface is not None:
            yield shop.sources.get(f"lids/{lid.id}", "lids.toml"), lid.id, "typeface", lid.typeface


def _mistake(
    file: str, entry: str, key: str, name: str, kinds: Mapping[str, str], refused: Mapping[str, str]
) -> Mistake:
    if name in refused:
        return Mistake(file, entry, key, f"'{name}' cannot be used", refused[name])
    return Mistake(file, entry, key, f"there is no typeface '{name}'", f"Allowed: {listed(kinds)}.", close(name, kinds))
