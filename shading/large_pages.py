"""Arrays that are read again and again, side by side in memory of large pages.

A processor looks up where each page of memory lies. In pages of 4 kB, as Linux gives them to arrays below 4 MB, that
takes longer than reading them: on a virtual machine half the time of a loop over bounces. Elsewhere arrays stay.
"""

from __future__ import annotations

import mmap
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import fields, is_dataclass, replace
from typing import TypeVar

import numpy as np

LARGE = 1 << 21
"""Bytes of a large page."""
_LONG = 1 << 24
"""Bytes from which an array stays where it is: most of it lies in large pages already, by numpy's own asking, and it
would be there twice meanwhile."""
_ALIGNED = 64
"""Bytes to which each array is aligned, those of a line of the processor's memory."""

Held = TypeVar("Held")


def in_large_pages(value: Held) -> Held:
    """The same dataclass with copies of its arrays, and of those in dataclasses that it holds, in large pages, but for
    very long ones; itself where the system has none, or where the arrays are no page full."""
    arrays = {id(array): array for array in _arrays(value) if array.nbytes < _LONG}
    ends = np.cumsum([-(-array.nbytes // _ALIGNED) * _ALIGNED for array in arrays.values()], dtype=int).tolist()
    if not ends or ends[-1] < LARGE:
        return value
    memory = _memory(ends[-1])
    if memory is None:
        return value
    copies = {}
    for (name, array), begin in zip(arrays.items(), [0, *ends], strict=False):
        copies[name] = memory[begin : begin + array.nbytes].view(array.dtype).reshape(array.shape)
        copies[name][...] = array
    return _with(value, copies)


def _memory(size: int) -> np.ndarray | None:
    """So many bytes in large pages, which go with the last array in them; None where there is no such memory."""
    if not hasattr(mmap, "MADV_HUGEPAGE"):
        return None
    with suppress(OSError):
        mapped = mmap.mmap(-1, size + LARGE, flags=mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS)
        mapped.madvise(mmap.MADV_HUGEPAGE)
        memory = np.frombuffer(mapped, np.uint8)
        begin = -memory.ctypes.data % LARGE
        return memory[begin : begin + size]
    return None


def _arrays(value: object) -> Iterator[np.ndarray]:
    if isinstance(value, np.ndarray):
        yield value
    elif is_dataclass(value):
        for field in fields(value):
            yield from _arrays(getattr(value, field.name))


def _with(value, copies: dict[int, np.ndarray]):
    if isinstance(value, np.ndarray):
        return copies.get(id(value), value)
    if not is_dataclass(value):
        return value
    return replace(value, **{field.name: _with(getattr(value, field.name), copies) for field in fields(value)})
