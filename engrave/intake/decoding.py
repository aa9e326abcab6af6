"""Bytes of an orders file to text, and what was assumed on the way.

UTF-8 and UTF-16 are recognised by their byte order mark (Unicode Standard, section 23.8) or by what they hold; anything
else is read in the code page the shop has stated, and that is told.
"""

from __future__ import annotations

import codecs

from engrave.findings import FindingCode
from engrave.intake.orders_error import OrdersError
from engrave.problems import Problem

LOST_LETTER = "\ufffd"
"""The replacement character: what stands where a letter could not be read."""

_MARKS = (  # UTF-32's mark begins with UTF-16's, so it is asked first
    (codecs.BOM_UTF32_LE, "utf-32-le", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "UTF-32"),
    (codecs.BOM_UTF8, "utf-8", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16"),
)

_NOT_TEXT = (
    (b"\xd0\xcf\x11\xe0", "an old workbook (.xls)"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"{\\rtf", "a rich text document"),
    (b"PK\x03\x04", "a zipped file that is no .xlsx sheet"),
    (b"\x1f\x8b", "a compressed file"),
)

_LEAST_ZEROS = 0.2
"""Share of zero bytes from which text without a mark is taken for UTF-16: plain headers and ids alone give near 0.5,
a table of Chinese names with a Latin header still gives more than this; a byte text holds none."""


def decode(data: bytes, code_page: str) -> tuple[str, tuple[Problem, ...]]:
    """Return the text of an orders file and notes on how it was read.

    code_page is used for bytes that are neither UTF-8 nor UTF-16. A letter that cannot be read becomes U+FFFD, which
    is found again on its row. Raises OrdersError for what is not text.
    """
    _refuse_binary(data)
    for mark, encoding, says in _MARKS:
        if data.startswith(mark):
            return _lossy(data[len(mark) :], encoding), (_note(f"Read as {says}, as the file's first bytes say."),)
    if b"\0" in data and _is_sixteen(data):
        return _sixteen(data)
    if b"\0" in data and not _is_text(data):
        raise OrdersError("The orders file is not text. Save the table as .xlsx or as CSV (UTF-8) and try again.")
    try:
        return data.decode("utf-8"), ()
    except UnicodeDecodeError as error:
        return _not_utf8(data, code_page, error)


def _refuse_binary(data: bytes) -> None:
    for start, what in _NOT_TEXT:
        if data.startswith(start):
            raise OrdersError(f"The orders file is {what}. Save the table as .xlsx or CSV and try again.")


def _is_sixteen(data: bytes) -> bool:
    """Tell whether bytes without a mark are UTF-16: Latin headers show their zero bytes on one side."""
    even, odd = data[0::2].count(0), data[1::2].count(0)
    return (even + odd) / len(data) >= _LEAST_ZEROS and min(even, odd) * 10 <= max(even, odd)


def _sixteen(data: bytes) -> tuple[str, tuple[Problem, ...]]:
    is_big = data[0::2].count(0) > data[1::2].count(0)
    text = _lossy(data, "utf-16-be" if is_big else "utf-16-le")
    return text, (_note("Read as UTF-16: the file does not say so, but every other byte does."),)


_CONTROLS = bytes(set(range(0x20)) - set(b"\t\n\v\f\r"))
_MOST_CONTROLS = 0.02
_FEW = 3
"""Control characters that a text may hold: a few, or one in fifty. One of them is a matter of its cell; a file that
is full of them is no text."""


def _is_text(data: bytes) -> bool:
    return len(data) - len(data.translate(None, _CONTROLS)) <= max(_FEW, _MOST_CONTROLS * len(data))


def _not_utf8(data: bytes, code_page: str, error: UnicodeDecodeError) -> tuple[str, tuple[Problem, ...]]:
    """Read bytes that are not UTF-8: mostly UTF-8 with damage, or the shop's code page."""
    row = data.count(b"\n", 0, error.start) + 1
    lossy = data.decode("utf-8", "replace")
    whole = sum(1 for c in lossy if c > "\x7f" and c != LOST_LETTER)
    if whole > lossy.count(LOST_LETTER):
        says = f"The file is UTF-8, but some letters are damaged (the first near line {row}); see their rows."
        return lossy, (Problem("damaged-letters", "look", says, where=f"line {row}"),)
    try:
        text = data.decode(code_page, "replace")
    except LookupError:
        raise OrdersError(
            f"The shop's code page {code_page!r} is not known. Write for instance 'cp1252' or 'cp1250' in intake.toml."
        ) from None
    says = (
        f"The file is not UTF-8 (line {row}); it was read in the shop's code page {code_page}. If accents look wrong, "
        "save the table as CSV (UTF-8) or change code_page in intake.toml."
    )
    return text, (_note(says, code="code-page"),)


def _lossy(data: bytes, encoding: str) -> str:
    return data.decode(encoding, "replace")


def _note(says: str, code: FindingCode = "encoding") -> Problem:
    return Problem(code, "note", says)
