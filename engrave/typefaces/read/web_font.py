"""Web fonts are packed: how much they hold unpacked is found out bit by bit, so that none fills the memory."""

from __future__ import annotations

import struct
import zlib

from engrave.limits import FONT_UNPACKED

_WOFF_HEAD, _WOFF_ENTRY = 44, 20
"""Bytes of the header and of one table's entry (WOFF File Format 1.0, W3C Recommendation, sections 3 and 4)."""
_WOFF2_HEAD = 48
"""Bytes of the header (WOFF File Format 2.0, W3C Recommendation, section 4.1)."""
_NO_TRANSFORM = 3
"""Version of glyf and loca that are stored as they are (WOFF 2.0, section 4.1, bits 6 and 7 of the flags)."""
_FED = 64
"""Bytes handed to the unpacker at a time: what they can unpack to stays some tens of megabytes."""


def holds_too_much(data: bytes) -> bool:
    """Tell whether a web font unpacks to more than is read. Anything else holds what it is; damaged ones raise."""
    if data[:4] == b"wOFF":
        return _woff_is_large(data)
    return data[:4] == b"wOF2" and _woff2_is_large(data)


def _woff_is_large(data: bytes) -> bool:
    (tables,) = struct.unpack_from(">H", data, 12)
    total = 0
    for number in range(tables):
        start, packed, length = struct.unpack_from(">III", data, _WOFF_HEAD + number * _WOFF_ENTRY + 4)
        total += length
        if FONT_UNPACKED.passed(total):
            return True
        if packed != length and len(zlib.decompressobj().decompress(data[start : start + packed], length + 1)) > length:
            return True
    return False


def _woff2_is_large(data: bytes) -> bool:
    import brotli

    (tables,) = struct.unpack_from(">H", data, 12)
    (packed,) = struct.unpack_from(">I", data, 20)
    at = _WOFF2_HEAD
    for _ in range(tables):
        at = _after_entry(data, at)
    unpacker, total = brotli.Decompressor(), 0
    for start in range(at, min(at + packed, len(data)), _FED):
        total += len(unpacker.process(data[start : min(start + _FED, at + packed)]))
        if FONT_UNPACKED.passed(total):
            return True
    return False


def _after_entry(data: bytes, at: int) -> int:
    """Return where the next entry of a WOFF 2.0 table directory begins (section 4.1: flags, tag, one or two lengths)."""
    flags = data[at]
    at += 1 + (4 if flags & 0x3F == 0x3F else 0)
    at = _after_length(data, at)
    is_outline = flags & 0x3F in (10, 11)  # glyf and loca in the list of known tags
    transformed = (flags >> 6 != _NO_TRANSFORM) if is_outline else bool(flags >> 6)
    return _after_length(data, at) if transformed else at


def _after_length(data: bytes, at: int) -> int:
    """Return where a length ends that is written in groups of seven bits (UIntBase128)."""
    while data[at] & 0x80:
        at += 1
    return at + 1
