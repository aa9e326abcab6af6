"""Short signs of long digests, for people to read out and write down by hand."""

from __future__ import annotations

CODE_SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Thirty signs that are not taken for one another when read out or written by hand: no 0 O, 1 I L, U V."""


def signs_of(digest: bytes, length: int) -> str:
    """Return the first bits of a digest as so many signs; with thirty of them, twelve use up its first eight bytes."""
    number = int.from_bytes(digest[:8], "big")
    signs = []
    for _ in range(length):
        number, rest = divmod(number, len(CODE_SIGNS))
        signs.append(CODE_SIGNS[rest])
    return "".join(signs)
