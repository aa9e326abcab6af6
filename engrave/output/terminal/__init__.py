"""What the command line prints: answers to one question, the summary of a week, shelves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.output.terminal.shelf_listing import shelf_rows
    from engrave.output.terminal.summary import folder_lines, week_summary

__all__ = [
    "folder_lines",
    "shelf_rows",
    "week_summary",
]

__getattr__ = loads_on_use(
    __name__,
    {
        "shelf_listing": ("shelf_rows",),
        "summary": (
            "folder_lines",
            "week_summary",
        ),
    },
)
