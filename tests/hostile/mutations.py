"""How well-formed things are damaged: bytes, numbers, words."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

NUMBERS = (
    "0", "-0", "-1", "1", "0.1", "1e-9", "1e-320", "1e9", "1e308", "1e400", "-1e400", "nan", "inf", "-inf", "NaN", "Infinity",
    "9" * 25, "9" * 5000, "0x7f", "1_000", "1/0", "3 5/8 in", "٣", "½", "", " ", "true", "1e", ".", "-", "65535", "65536",
    "2147483648", "-32769", "0.0000001", "100000",
)  # fmt: skip

WORDS = (
    "Wanda", "Zoë & Ole", "Łukasz", "", " ", "\t", "N/A", "same as last time", "as discussed", "asap", "=1+1", "+cmd|' /C calc'!A0",
    "thanks ;=HYPERLINK(\"x\")", "＝1", "＠x", "'", '"', '","', '""', '"unclosed', "|", "a|b||c", "a\nb", "a\rb", "a\u2028b", "\0", "a\0b",
    "\ufeff", "\u200b", "\u202eabc", "\u2066\u2069", "ﷺ", "\u06dd" * 12, "\u0300" * 40, "e" + "\u0301" * 60, "👩‍👩‍👧‍👦", "🏴󠁧󠁢󠁳󠁣󠁴󠁿", "❤️", "🇮🇪🇮", "\ud7ff",
    "\ufffd", "\uffff", "\U0010ffff", "ß", "İi", "ǅ", "ﬀ", "ا\u200dب", "שלום abc", "नमस्ते", "漢字", "ก็", "９９", "JosÃ©", "&#10084;",
    "<script>alert(1)</script>", "{{7*7}}", "%s%n", "../../etc/x", "C:\\con", "nul.txt", "A-1", "A-1_2", ".", "..", "x" * 300, "W" * 2000,
    " " * 3000, "a " * 800, "a-" * 500, "9999-12-31", "0001-01-01", "0000-00-00", "1899-12-30", "31/12/9999", "2026-02-30", "29.2.2100",
    "1/1/1", "99999999999", "-5", "1e9", "2", "3 %", "1e400 %", "nan %", "-1 %", "yes", "no", "round-caddy", "card-box", "walnut", "withy",
    "hershey-sans", "noto-sans", "rim", "stack", "v60", "co2-tube", "Wood: Cherry / Shape: Round", "Wood: / Shape:", "Wood:" * 200,
)  # fmt: skip

BYTES = (b"\0", b"\xff", b"\xfe\xff", b"\xff\xfe", b"\xef\xbb\xbf", b'"', b"'", b",", b";", b"\t", b"\r", b"\n", b"\r\n", b"<", b">", b"&", b"[",
         b"]", b"{", b"}", b"=", b"\xc3", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\x1a", b"\x1e", b"]]>", b"-->", b"<!--", b"/*", b"#")  # fmt: skip


def damaged(data: bytes, random: Random, most: int = 6) -> bytes:
    """Return the data with one to `most` random wounds: bytes changed, cut out, put in, doubled, cut off."""
    out = bytearray(data)
    for _ in range(random.randint(1, most)):
        if not out:
            return bytes(random.choice(BYTES))
        at = random.randrange(len(out))
        length = min(len(out) - at, random.choice((1, 1, 2, 4, 16, 200)))
        match random.randrange(7):
            case 0:
                out[at] ^= 1 << random.randrange(8)
            case 1:
                del out[at : at + length]
            case 2:
                out[at:at] = random.choice(BYTES) * random.choice((1, 1, 2, 30))
            case 3:
                out[at:at] = out[at : at + length]
            case 4:
                out[at : at + length] = bytes(random.choice((0, 255, 127, 128)) for _ in range(length))
            case 5:
                out[at : at + length] = random.randbytes(length)
            case _ if random.random() < 0.3:
                del out[at:]
    return bytes(out)


def number(random: Random) -> str:
    """Return a number that a reader may trip over, or one that is merely odd."""
    return random.choice(NUMBERS) if random.random() < 0.7 else f"{random.uniform(-1e3, 1e3):.{random.randrange(9)}f}"


def word(random: Random) -> str:
    """Return words that a buyer, a program or an ill wisher may have written."""
    if random.random() < 0.8:
        return random.choice(WORDS)
    return "".join(chr(_scalar(random)) for _ in range(random.randrange(1, 30)))


def _scalar(random: Random) -> int:
    """Return a character that may stand in a file: any but the surrogates."""
    code = random.choice(
        (random.randrange(0x20, 0x7F), random.randrange(0x250), random.randrange(0x3000), random.randrange(0x110000))
    )
    return code if not 0xD800 <= code <= 0xDFFF else 0x41


def some(values: Sequence[str], random: Random) -> list[str]:
    """Return some of the values, in their order."""
    return [v for v in values if random.random() < 0.5]
