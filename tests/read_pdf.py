"""What stands in a PDF, as another reader finds it (PDFium)."""

from __future__ import annotations

import pypdfium2 as pdfium


def page_texts(pdf: bytes) -> list[str]:
    """Return the words of each page, in lines."""
    return [str(page.get_textpage().get_text_range()) for page in pdfium.PdfDocument(pdf)]


def in_one_line(pdf: bytes) -> str:
    """Return the words of all pages with one blank between each two."""
    return " ".join(" ".join(page_texts(pdf)).split())
