"""One kind of quotation marks on pages, sheets and pictures."""

from __future__ import annotations

import re


def quoted(text: str) -> str:
    """Return a message with one kind of quotation marks, whichever the sentence was written with."""
    return re.sub(r"(?<![\w‘'])['‘]([^'‘’\n]+?(?:[’'][^'‘’\n]+?)*?)['’](?!\w)", r"“\1”", text)
