"""The week's page: one HTML file that tells what is ready, what needs a look and what is on hold."""

from __future__ import annotations

from engrave.output.page.week_html import (
    Card,
    Files,
    again_told,
    card,
    card_read,
    card_told,
    cutter_changes,
    outlined,
    page_names,
    page_templates,
    promises,
    week_pages,
)

__all__ = [
    "Card",
    "Files",
    "again_told",
    "card",
    "card_read",
    "card_told",
    "cutter_changes",
    "outlined",
    "page_names",
    "page_templates",
    "promises",
    "week_pages",
]
