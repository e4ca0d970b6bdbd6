"""Ways in which a file comes to harm: cut off, bits turned, numbers that are none, other encodings, endless lines.

A whole file is dear to make up, and cheap to harm: from each whole file that hypothesis draws comes a batch, the file
itself and others harmed by chance from a seed, so that a batch can be had again from the file and the seed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from random import Random

from hypothesis import strategies as st

NUMBERS = (
    "nan", "NaN", "inf", "-inf", "1e999", "-1", "-0", "1.0000001", "1e308", "1e-320", "99999999999999999999",
    "9" * 5000,
    "0x10", "1_000", "0,5", "1.2.3", "--1", "", "٣", "½", "true", '"x"', "2147483648", "4294967295", "-2147483649",
    "18446744073709551615", "1e18", "[]", "{}", "0",
)  # fmt: skip
VALUES = (
    "true", "false", "[]", "{}", '""', '" "', '"x"', "nan", "-inf", "1e400", "0", "-1", "3.5", "[[]]", "[1, 2, 3]",
    "[1, 'a']", "{a = 1}", "1950-01-01", "2026-02-29", "2026-01-01T00:00:00Z", "9999-12-31T23:59:59-23:59", "25:00:00",
    '"../../etc/passwd"', '"/dev/zero"', '"//host/share/x.csv"', '"http://localhost/x.csv"', '"x.csv"', '"x.toml"',
    '"hostile.toml"', '"' + "x" * 3000 + '"', "'''a\nb'''", r'"\u0000"', r'"\u202e"', "9" * 4000, "[" * 200 + "]" * 200,
    "null", '"N 5/"', '"#12345"', '"PW6"', '"A"', "0x7fffffffffffffff", "1_0", "+inf",
)  # fmt: skip
ENCODINGS = ("utf-16", "utf-16-le", "utf-32", "utf-8-sig", "latin-1", "cp1252", "utf-7", "cp037")
SCRAPS = (
    b"\0", b"\0" * 64, b"\xff\xfe", b"\xef\xbb\xbf", b"\x1a", b"\r", b"\n" * 100, b"[" * 3000, b"{" * 500, b"x=" * 400,
    b"a." * 300, b'"""', b"'''", b"#", b"%", b";", b",", b"\t", b"-", b"1e", b"\\", b"\\u0000", b'"\x1b[2J',
    b"\xe2\x80\xae",
    b"0 " * 5000, b"9" * 20_000, b"," * 4000, b"A" * 70_000, b"\x80", b"NaN", b"..", b"../" * 40, b"/dev/zero",
    b"[[light]]\n",
)  # fmt: skip
LINE_ENDS = (b"\r\n", b"\r", b"", b"\x0b", "\u2028".encode())
SHARE_OF_NOISE = 0.03

_NUMBER = re.compile(rb"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_VALUE = re.compile(rb"(?:=|(?<=\w\"):)[ \t]*(\[[^\]\n]*\]|\"[^\"\n]*\"|[^\n,}#]+)")


def harmed(content: bytes, seed: int, count: int) -> Iterator[bytes]:
    """The file itself, then `count` - 1 others harmed by chance, a few of them bytes without any order."""
    chance = Random(seed)
    yield content
    for _ in range(count - 1):
        yield chance.randbytes(chance.randrange(1500)) if chance.random() < SHARE_OF_NOISE else _harmed(chance, content)


def batches(whole: st.SearchStrategy[bytes]) -> st.SearchStrategy[tuple[bytes, int]]:
    """A whole file and a seed, for `harmed`."""
    return st.tuples(whole, st.integers(0, 2**32 - 1))


def anything(whole: st.SearchStrategy[bytes]) -> st.SearchStrategy[bytes]:
    """Whole files and harmed ones, one by one."""
    return st.one_of(whole, *[batches(whole).map(lambda drawn: list(harmed(*drawn, 2))[-1])] * 4)


def _harmed(chance: Random, content: bytes) -> bytes:
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        content = chance.choice(_MISHAPS)(chance, content)
    return content


def _place(chance: Random, content: bytes) -> int:
    return chance.randint(0, len(content))


def _cut_off(chance: Random, content: bytes) -> bytes:
    return content[: _place(chance, content)]


def _turned_bits(chance: Random, content: bytes) -> bytes:
    turned = bytearray(content)
    for _ in range(chance.randint(1, 8)):
        if turned:
            turned[chance.randrange(len(turned))] ^= 1 << chance.randrange(8)
    return bytes(turned)


def _other_number(chance: Random, content: bytes) -> bytes:
    return _replaced(chance, content, _NUMBER, 0, NUMBERS)


def _other_value(chance: Random, content: bytes) -> bytes:
    """In a file of keys: another value, or that of another key."""
    others = [found[1].decode("utf-8", "replace") for found in _VALUE.finditer(content[:20_000])]
    return _replaced(chance, content, _VALUE, 1, VALUES if chance.random() < 0.7 else others or VALUES)


def _replaced(chance: Random, content: bytes, form: re.Pattern[bytes], group: int, others: object) -> bytes:
    start = chance.randrange(max(len(content), 1))
    one = form.search(content, start) or form.search(content)
    if one is None:
        return content
    return content[: one.start(group)] + chance.choice(others).encode() + content[one.end(group) :]


def _scrap_put_in(chance: Random, content: bytes) -> bytes:
    place = _place(chance, content)
    return content[:place] + chance.choice(SCRAPS) + content[place:]


def _piece_lost(chance: Random, content: bytes) -> bytes:
    place = _place(chance, content)
    return content[:place] + content[place + chance.randint(1, 60) :]


def _piece_repeated(chance: Random, content: bytes) -> bytes:
    place = _place(chance, content)
    piece = content[place : place + chance.randint(1, 60)]
    return content[:place] + piece * chance.choice((2, 3, 50)) + content[place:]


def _piece_brought(chance: Random, content: bytes) -> bytes:
    """A piece from elsewhere in the file laid over another."""
    source, place, length = _place(chance, content), _place(chance, content), chance.randint(1, 40)
    return content[:place] + content[source : source + length] + content[place + length :]


def _line_moved(chance: Random, content: bytes) -> bytes:
    lines = content.split(b"\n")
    if len(lines) > 1:
        line = lines.pop(chance.randrange(len(lines)))
        lines.insert(chance.randint(0, len(lines)), line)
    return b"\n".join(lines)


def _line_lost(chance: Random, content: bytes) -> bytes:
    lines = content.split(b"\n")
    lines.pop(chance.randrange(len(lines)))
    return b"\n".join(lines)


def _other_encoding(chance: Random, content: bytes) -> bytes:
    return content.decode("utf-8", "replace").encode(chance.choice(ENCODINGS), "replace")


def _decimal_commas(_: Random, content: bytes) -> bytes:
    return re.sub(rb"(?<=\d)\.(?=\d)", b",", content)


def _other_line_ends(chance: Random, content: bytes) -> bytes:
    return content.replace(b"\n", chance.choice(LINE_ENDS))


def _chance_bytes(chance: Random, content: bytes) -> bytes:
    place = _place(chance, content)
    return content[:place] + chance.randbytes(chance.randint(1, 40)) + content[place + chance.randint(0, 40) :]


_MISHAPS = (
    _cut_off, _turned_bits, _other_number, _other_number, _other_value, _other_value, _scrap_put_in, _piece_lost,
    _piece_repeated, _piece_brought, _line_moved, _line_lost, _other_encoding, _decimal_commas, _other_line_ends,
    _chance_bytes,
)  # fmt: skip
