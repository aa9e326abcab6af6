"""The shop's tables: lids, cutters, machines, woods, recipes, rates and settings, read, merged and checked."""

from engrave.shop.lid_room import flat, margin, room
from engrave.shop.load import load_shop
from engrave.shop.mistakes import Mistake, ShopError, close, listed, plainly
from engrave.shop.models import (
    Area,
    Cutter,
    Defaults,
    Hands,
    Intake,
    KeepOut,
    Lid,
    Machine,
    Method,
    ProofWords,
    Rates,
    Recipe,
    Setting,
    Shop,
    Wood,
)

__all__ = [
    "Area",
    "Cutter",
    "Defaults",
    "Hands",
    "Intake",
    "KeepOut",
    "Lid",
    "Machine",
    "Method",
    "Mistake",
    "ProofWords",
    "Rates",
    "Recipe",
    "Setting",
    "Shop",
    "ShopError",
    "Wood",
    "close",
    "flat",
    "listed",
    "load_shop",
    "margin",
    "plainly",
    "room",
]
