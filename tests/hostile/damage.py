"""Ways in which a file comes to harm: cut off, bits turned, numbers that are none, other encodings, endless lines."""

from __future__ import annotations

import re

from hypothesis import strategies as st

NUMBERS = (
    "nan", "NaN", "inf", "-inf", "1e999", "-1", "-0", "1.0000001", "1e308", "1e-320", "99999999999999999999",
    "9" * 5000,
    "0x10", "1_000", "0,5", "1.2.3", "--1", "", "٣", "½", "true", '"x"', "2147483648", "4294967295", "-2147483649",
    "18446744073709551615", "1e18", "[]", "{}", "0",
)  # fmt: skip
ENCODINGS = ("utf-16", "utf-16-le", "utf-32", "utf-8-sig", "latin-1", "cp1252", "utf-7", "cp037")
SCRAPS = (
    b"\0", b"\0" * 64, b"\xff\xfe", b"\xef\xbb\xbf", b"\x1a", b"\r", b"\n" * 100, b"[" * 3000, b"{" * 500, b"x=" * 400,
    b"a." * 300, b'"""', b"'''", b"#", b"%", b";", b",", b"\t", b"-", b"1e", b"\\", b"\\u0000", b'"\x1b[2J',
    b"\xe2\x80\xae",
    b"0 " * 5000, b"9" * 20_000, b"," * 4000, b"A" * 70_000, b"\x80", b"NaN", b"..", b"../" * 40, b"/dev/zero",
    b"[[light]]\n",
)  # fmt: skip

_NUMBER = re.compile(rb"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")


@st.composite
def damaged(draw: st.DrawFn, content: bytes, most: int = 3) -> bytes:
    """The content after one to `most` mishaps."""
    for _ in range(draw(st.integers(1, most))):
        content = draw(st.sampled_from(_MISHAPS))(draw, content)
    return content


def anything(whole: st.SearchStrategy[bytes]) -> st.SearchStrategy[bytes]:
    """Whole files, mostly harmed ones, and bytes without any order."""
    harmed = whole.flatmap(damaged)
    return st.one_of(whole, harmed, harmed, harmed, harmed, st.binary(max_size=1500))


def _place(draw: st.DrawFn, content: bytes) -> int:
    return draw(st.integers(0, len(content)))


def _cut_off(draw: st.DrawFn, content: bytes) -> bytes:
    return content[: _place(draw, content)]


def _turned_bits(draw: st.DrawFn, content: bytes) -> bytes:
    turned = bytearray(content)
    for _ in range(draw(st.integers(1, 8))):
        if turned:
            turned[draw(st.integers(0, len(turned) - 1))] ^= 1 << draw(st.integers(0, 7))
    return bytes(turned)


def _other_number(draw: st.DrawFn, content: bytes) -> bytes:
    found = list(_NUMBER.finditer(content[:200_000]))
    if not found:
        return content
    one = draw(st.sampled_from(found))
    return content[: one.start()] + draw(st.sampled_from(NUMBERS)).encode() + content[one.end() :]


def _scrap_put_in(draw: st.DrawFn, content: bytes) -> bytes:
    place = _place(draw, content)
    return content[:place] + draw(st.sampled_from(SCRAPS)) + content[place:]


def _piece_lost(draw: st.DrawFn, content: bytes) -> bytes:
    place = _place(draw, content)
    return content[:place] + content[place + draw(st.integers(1, 60)) :]


def _piece_repeated(draw: st.DrawFn, content: bytes) -> bytes:
    place = _place(draw, content)
    piece = content[place : place + draw(st.integers(1, 60))]
    return content[:place] + piece * draw(st.sampled_from((2, 3, 50))) + content[place:]


def _line_moved(draw: st.DrawFn, content: bytes) -> bytes:
    lines = content.split(b"\n")
    if len(lines) > 1:
        line = lines.pop(draw(st.integers(0, len(lines) - 1)))
        lines.insert(draw(st.integers(0, len(lines))), line)
    return b"\n".join(lines)


def _other_encoding(draw: st.DrawFn, content: bytes) -> bytes:
    return content.decode("utf-8", "replace").encode(draw(st.sampled_from(ENCODINGS)), "replace")


def _decimal_commas(draw: st.DrawFn, content: bytes) -> bytes:
    return re.sub(rb"(?<=\d)\.(?=\d)", b",", content)


def _other_line_ends(draw: st.DrawFn, content: bytes) -> bytes:
    return content.replace(b"\n", draw(st.sampled_from((b"\r\n", b"\r", b"", b"\x0b", "\u2028".encode()))))


def _chance_bytes(draw: st.DrawFn, content: bytes) -> bytes:
    place = _place(draw, content)
    return content[:place] + draw(st.binary(min_size=1, max_size=40)) + content[place + draw(st.integers(0, 40)) :]


_MISHAPS = (
    _cut_off, _turned_bits, _other_number, _other_number, _scrap_put_in, _piece_lost, _piece_repeated, _line_moved,
    _other_encoding, _decimal_commas, _other_line_ends, _chance_bytes,
)  # fmt: skip
