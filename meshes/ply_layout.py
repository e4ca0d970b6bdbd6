"""What the header of a PLY file says of its body: elements, how many of each, and what each is made of.

Format: G. Turk, "The PLY Polygon File Format", 1994, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile

LONGEST_HEADER = 20_000
"""Bytes."""

KINDS = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4",
    "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4",
    "float32": "f4", "float64": "f8",
}  # fmt: skip
_ORDERS = {"ascii": "=", "binary_little_endian": "<", "binary_big_endian": ">"}


@dataclass(frozen=True)
class Property:
    """One value, or a list of them; `kind` and `count` as numpy writes them, `count` None where it is no list."""

    name: str
    kind: str
    count: str | None = None

    @property
    def lists_numbers(self) -> bool:
        """Whether a list is one of whole numbers, its length one too."""
        return self.count is not None and self.kind[-2] in "iu" and self.count[-2] in "iu"


@dataclass(frozen=True)
class Element:
    """So many things in a row, each with these properties."""

    name: str
    count: int
    properties: tuple[Property, ...]

    @property
    def has_lists(self) -> bool:
        return any(one.count is not None for one in self.properties)

    @property
    def names(self) -> list[str]:
        return [one.name for one in self.properties]


def layout(head: bytes) -> tuple[list[Element], int, bool] | None:
    """The elements in the order in which they lie, the byte at which they begin, and whether they are in text; None
    where the header is longer or made otherwise than is understood here."""
    end = head.find(b"end_header")
    line_end = head.find(b"\n", end)
    if not head.startswith(b"ply") or end < 0 or head[end:line_end].strip() != b"end_header" or line_end < 0:
        return None
    lines = [line.split() for line in head[:end].decode("latin-1").splitlines()[1:]]
    lines = [words for words in lines if words and words[0] not in ("comment", "obj_info")]
    if not lines or lines[0][0] != "format" or lines[0][1:2] == [] or lines[0][1] not in _ORDERS:
        return None
    found = _elements(lines[1:], _ORDERS[lines[0][1]])
    return None if found is None else (found, line_end + 1, lines[0][1] == "ascii")


def _elements(lines: list[list[str]], order: str) -> list[Element] | None:
    found = []
    while lines:
        words = lines.pop(0)
        if words[0] != "element" or len(words) != 3 or not words[2].isdigit():
            return None
        own = list(takewhile(lambda line: line[0] == "property", lines))
        lines = lines[len(own) :]
        properties = [_property(line, order) for line in own]
        if None in properties or len({one.name for one in properties}) < len(properties):
            return None
        found.append(Element(words[1], int(words[2]), tuple(properties)))
    return found if len({one.name for one in found}) == len(found) else None


def _property(words: list[str], order: str) -> Property | None:
    if len(words) == 3 and words[1] in KINDS:
        return Property(words[2], order + KINDS[words[1]])
    if len(words) == 5 and words[1] == "list" and words[2] in KINDS and words[3] in KINDS:
        return Property(words[4], order + KINDS[words[3]], order + KINDS[words[2]])
    return None
