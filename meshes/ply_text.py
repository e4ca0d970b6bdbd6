"""The body of a PLY file in text: numbers taken piece by piece, so that millions of faces stay small in memory.

Elements are rows of numbers; what stands on which line is not asked.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.obj_file import MOST_FACES, numbers_in
from sitterlight.meshes.ply_layout import Element, Property

PIECE = 4_000_000
"""Bytes read at once."""

LONGEST_WORD = 1000  # bytes
LONGEST_LIST = 1_000_000  # entries


class Body:
    """The numbers of a body, one element after the other."""

    def __init__(self, file: BinaryIO, lines_before: int):
        self._file = file
        self._lines = lines_before
        self._rest = b""
        self._numbers = np.zeros(0)
        self._bad_line: int | None = None

    def values(self, element: Element, names: tuple[str, ...], kind: np.dtype) -> NDArray:
        """(count, names) those values of an element without lists. ValueError where they end too early."""
        columns = [element.names.index(name) for name in names]
        found = [np.zeros((0, len(names)), kind)]

        def take(numbers: NDArray[np.float64], wanted: int) -> tuple[int, int]:
            rows = min(wanted, len(numbers) // len(element.properties))
            used = rows * len(element.properties)
            table = numbers[:used].reshape(rows, len(element.properties))
            with np.errstate(over="ignore"):  # what is too large for its kind is found out of reach later
                found.append(table[:, columns].astype(kind))
            return rows, used

        self._go_through(element, take)
        return np.concatenate(found)

    def polygons(self, element: Element, corners: Property) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
        """(corners,) vertex numbers and (faces,) corners of each face that has three or more. ValueError, a few words,
        where they are broken, too many, or end too early."""
        found, counts, triangles = [np.zeros(0, np.int32)], [np.zeros(0, np.int64)], 0
        if element.count > MOST_FACES:
            raise ValueError(f"more than {MOST_FACES / 1e6:.0f} million faces")

        def take(numbers: NDArray[np.float64], wanted: int) -> tuple[int, int]:
            nonlocal triangles
            rows, used, entries, own = _rows(numbers, element, corners, wanted)
            entries, own = np.asarray(entries), np.asarray(own)
            triangles += int(np.sum(own[own >= 3] - 2))
            if triangles > MOST_FACES:
                raise ValueError(f"its polygons make more than {MOST_FACES / 1e6:.0f} million triangles")
            found.append(_vertex_numbers(entries[np.repeat(own >= 3, own)]))
            counts.append(own[own >= 3])
            return rows, used

        self._go_through(element, take)
        return np.concatenate(found), np.concatenate(counts)

    def pass_over(self, element: Element) -> None:
        """An element that nobody asks for."""
        self._go_through(element, lambda numbers, wanted: _rows(numbers, element, None, wanted)[:2])

    def _go_through(self, element: Element, take: Callable[[NDArray[np.float64], int], tuple[int, int]]) -> None:
        """Have `take` use up the rows of an element: handed numbers and how many rows are wanted, it says how many
        rows and numbers it used."""
        done = element.count if not element.properties else 0
        while done < element.count:
            rows, used = take(self._numbers, element.count - done) if len(self._numbers) else (0, 0)
            done, self._numbers = done + rows, self._numbers[used:]
            if done < element.count and not self._read_on():
                if self._bad_line is not None:
                    raise ValueError(f"line {self._bad_line} holds something that is not a number")
                what = {"vertex": "vertices", "face": "faces"}.get(element.name, "rows")
                raise ValueError(f"it ends after {done} of {element.count} {what}")

    def _read_on(self) -> bool:
        """Take in more numbers; whether there were any."""
        if self._bad_line is not None:
            return False
        piece = self._piece()
        numbers = _all_numbers(piece)
        if numbers is None:
            good, lines = _up_to_bad_line(piece)
            self._bad_line, numbers = self._lines + lines, numbers_in(good, float)
        self._lines += piece.count(b"\n")
        self._numbers = np.concatenate([self._numbers, numbers])
        return len(numbers) > 0

    def _piece(self) -> bytes:
        """The next of the text, in whole words; nothing at its end."""
        while block := self._file.read(PIECE):
            text = self._rest + block
            self._rest = b"" if text[-1:].isspace() else (text.rsplit(None, 1) or [b""])[-1]
            if len(self._rest) > LONGEST_WORD:
                raise ValueError(f"a word of more than {LONGEST_WORD} letters")
            text = text[: len(text) - len(self._rest)]
            if text.strip():
                return text
        text, self._rest = self._rest, b""
        return text


def _all_numbers(text: bytes) -> NDArray[np.float64] | None:
    """Every word of the text as a number; None where one is none."""
    letters = np.frombuffer(text, dtype=np.uint8) > 32
    words = np.count_nonzero(letters[1:] & ~letters[:-1]) + letters[:1].sum()
    try:
        numbers = numbers_in(text, float)
    except ValueError:
        return None
    return numbers if len(numbers) == words else None


def _up_to_bad_line(text: bytes) -> tuple[bytes, int]:
    """The lines before the one with a word that is no number, and which line that is, from 1."""
    good = []
    for line in text.split(b"\n"):
        try:
            if b"_" in line:  # which Python would pass over
                break
            for word in line.split():
                float(word)
        except ValueError:
            break
        good.append(line)
    return b"\n".join(good), len(good) + 1


def _rows(
    numbers: NDArray[np.float64], element: Element, corners: Property | None, wanted: int
) -> tuple[int, int, NDArray, NDArray]:
    """How many whole rows the numbers begin with, of `wanted` at most, and how many numbers these are; the entries of
    the lists `corners` in them, and how many entries each has."""
    alike = _alike(numbers, element, corners, wanted)
    return alike if alike is not None else _walked(numbers, element, corners, wanted)


def _alike(
    numbers: NDArray[np.float64], element: Element, corners: Property | None, wanted: int
) -> tuple[int, int, NDArray, NDArray] | None:
    """As _rows, where all rows are as long as the first."""
    lists = [place for place, one in enumerate(element.properties) if one.count is not None]
    if len(lists) > 1:
        return None
    length = 0
    if lists:
        if len(numbers) <= lists[0]:
            return 0, 0, numbers[:0], np.zeros(0, np.int64)
        length = _length(numbers[lists[0]], element, 0)
    width = len(element.properties) + length
    rows = min(wanted, len(numbers) // width)
    table = numbers[: rows * width].reshape(rows, width)
    if lists and not np.all(table[:, lists[0]] == length):
        return None
    entries = table[:, lists[0] + 1 : lists[0] + 1 + length].ravel() if corners is not None else numbers[:0]
    return rows, rows * width, entries, np.full(rows, length, dtype=np.int64)


def _walked(
    numbers: NDArray[np.float64], element: Element, corners: Property | None, wanted: int
) -> tuple[int, int, NDArray, NDArray]:
    """As _rows, one row after the other."""
    told, end, used = numbers.tolist(), len(numbers), 0
    starts, counts = [], []
    lists = [(one.count is not None, one is corners) for one in element.properties]
    for row in range(wanted):
        place = used
        for is_list, is_wanted in lists:
            if is_list and place < end:
                count = told[place]
                if not 0 <= count <= 255 or count != int(count):  # more than most have: a second look
                    count = _length(count, element, row)
                if is_wanted:
                    start, own = place + 1, int(count)
                place += int(count)
            place += 1
        if place > end:
            break
        used = place
        if corners is not None:
            starts.append(start)
            counts.append(own)
    else:
        row = wanted
    own = np.array(counts, dtype=np.int64)
    within = np.arange(own.sum()) - np.repeat(np.cumsum(own) - own, own)
    return row, used, numbers[np.repeat(np.array(starts, np.int64), own) + within], own


def _length(count: float, element: Element, row: int) -> int:
    if not 0 <= count <= LONGEST_LIST or count != int(count):
        raise ValueError(f"a {element.name} has a list of {count:g} entries")
    return int(count)


def _vertex_numbers(entries: NDArray[np.float64]) -> NDArray[np.int32]:
    if not np.all(np.abs(entries) < 2**31):
        raise ValueError("a face names a vertex that the file does not have")
    whole = entries.astype(np.int32)
    if not np.array_equal(whole, entries):
        raise ValueError("a face names something that is not the number of a vertex")
    return whole
