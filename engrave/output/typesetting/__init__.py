"""The typesetting library behind one door: templates, the typefaces of sheets and labels, pages as PDF or PNG."""

from __future__ import annotations

from engrave.output.typesetting.typesetter import own_typesetter, typesetter_for

__all__ = ["own_typesetter", "typesetter_for"]
