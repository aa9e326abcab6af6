"""The week's page: one HTML file that tells what is ready, what needs a look and what is on hold."""

from __future__ import annotations

from engrave.output.page.cards import Card, Files, card_read, card_told, outlined
from engrave.output.page.week_html import again_told, card, page_names, page_templates, ready_page, week_pages
from engrave.output.page.whole_week import cutter_changes, promises

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
    "ready_page",
    "week_pages",
]
