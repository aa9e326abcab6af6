"""The week's page: one HTML file that tells what is ready, what needs a look and what is on hold."""

from __future__ import annotations

from engrave.output.page.week_html import Files, cutter_changes, page_templates, promises, week_page

__all__ = ["Files", "cutter_changes", "page_templates", "promises", "week_page"]
