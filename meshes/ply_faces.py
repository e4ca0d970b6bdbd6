"""The faces in the body of a binary PLY file: rows of unequal length, found one after the other, taken all at once."""

from __future__ import annotations

from array import array

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.obj_file import MOST_FACES
from sitterlight.meshes.ply_layout import Element, Property

AT_ONCE = 1_000_000  # faces whose corners are taken together, so that their places stay small in memory


def polygons_of(body: bytes, face: Element, names: tuple[str, ...]) -> tuple[NDArray, NDArray[np.int64]]:
    """(corners,) vertex numbers and (faces,) corners of each face that has three or more.

    The `body` begins with the first face; `names` are those that the list of corners may have. ValueError, a few
    words, where the body ends too early or a list has less than no entry.
    """
    if face.count > MOST_FACES:
        raise ValueError(f"more than {MOST_FACES / 1e6:.0f} million faces")
    if face.count > len(body):
        raise ValueError(f"it is too short for {face.count} faces")
    corners = next(one for one in face.properties if one.name in names)
    alike = _all_alike(body, face, corners)
    if alike is not None:
        return alike
    starts, counts = _walked(body, face, corners)
    keep = counts >= 3
    if np.sum(counts[keep] - 2) > MOST_FACES:
        raise ValueError(f"its polygons make more than {MOST_FACES / 1e6:.0f} million triangles")
    starts, counts = starts[keep], counts[keep]
    return _gathered(body, np.dtype(corners.kind), starts, counts), counts


def _all_alike(body: bytes, face: Element, corners: Property) -> tuple[NDArray, NDArray[np.int64]] | None:
    """As polygons_of, where every face has as many corners as the first and no other list."""
    if sum(one.count is not None for one in face.properties) > 1 or face.count == 0:
        return None
    first = _first_count(body, face, corners)
    if not 3 <= first <= 255:
        return None
    fields = []
    for one in face.properties:
        fields += [(f"of {one.name}", one.count)] if one.count is not None else []
        fields += [(one.name, one.kind, (first,)) if one is corners else (one.name, one.kind)]
    record = np.dtype(fields)
    if len(body) < face.count * record.itemsize:
        return None
    rows = np.frombuffer(body, dtype=record, count=face.count)
    if not np.all(rows[f"of {corners.name}"] == first):
        return None
    return _native(rows[corners.name].reshape(-1)), np.full(face.count, first, dtype=np.int64)


def _first_count(body: bytes, face: Element, corners: Property) -> int:
    """How many corners the first face has, where nothing but values lies before them; 0 where there is no room."""
    before = face.properties[: face.properties.index(corners)]
    place, kind = sum(np.dtype(one.kind).itemsize for one in before), np.dtype(corners.count)
    return int(np.frombuffer(body, kind, 1, place)[0]) if place + kind.itemsize <= len(body) else 0


def _walked(body: bytes, face: Element, corners: Property) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(F,) bytes at which the corners of each face begin, and how many there are."""
    starts, counts = array("q"), array("q")
    parts = _parts(face, corners)
    place, end = 0, len(body)
    for number in range(face.count):
        for before, counted, order, signed, size, taken in parts:
            place += before
            if not counted:
                continue
            first = place + counted
            # One byte, as nearly every file has it, is looked up; more are put together.
            count = (
                body[place]
                if counted == 1 and not signed and place < end
                else int.from_bytes(body[place:first], order, signed=signed)
            )
            if count < 0:
                raise ValueError(f"face {number + 1} has a list of {count} entries")
            if taken:
                starts.append(first)
                counts.append(count)
            place = first + size * count
        if place > end:
            raise ValueError(f"it ends after {number} of {face.count} faces")
    return np.frombuffer(starts, np.int64), np.frombuffer(counts, np.int64)


def _parts(face: Element, corners: Property) -> list[tuple[int, int, str, bool, int, bool]]:
    """For each list: bytes of values before it, bytes of its count, their order, whether the count has a sign, bytes of
    an entry, and whether it is the list of corners. Values behind the last list make a part without a count."""
    parts, before = [], 0
    for one in face.properties:
        size = np.dtype(one.kind).itemsize
        if one.count is None:
            before += size
            continue
        order = "big" if one.count[0] == ">" else "little"
        parts.append((before, np.dtype(one.count).itemsize, order, one.count[-2] == "i", size, one is corners))
        before = 0
    return [*parts, (before, 0, "little", False, 0, False)]


def _gathered(body: bytes, kind: np.dtype, starts: NDArray[np.int64], counts: NDArray[np.int64]) -> NDArray:
    """(corners,) the entries of lists that begin at those bytes."""
    if len(starts) == 0:
        return np.zeros(0, dtype=np.int64)
    # Every byte of the body taken for the start of an entry: they lie as they will, and none is copied.
    entries = np.ndarray((len(body) - kind.itemsize + 1,), dtype=kind, buffer=body, strides=(1,))
    pieces = []
    for first in range(0, len(starts), AT_ONCE):
        own = counts[first : first + AT_ONCE]
        within = np.arange(own.sum()) - np.repeat(np.cumsum(own) - own, own)
        pieces.append(_native(entries[np.repeat(starts[first : first + AT_ONCE], own) + kind.itemsize * within]))
    return np.concatenate(pieces)


def _native(numbers: NDArray) -> NDArray:
    """In the byte order of this computer, of a kind that numbers of vertices may be taken from."""
    return numbers.astype(np.uint32 if numbers.dtype == np.dtype(numbers.dtype.str[0] + "u4") else np.int32)
