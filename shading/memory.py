"""Results of pure functions, remembered by what decided them while the program runs."""

from __future__ import annotations

import sys
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from dataclasses import fields, is_dataclass

import numpy as np


class Memory:
    """The last `size` results, by key, and of these no more than `most_bytes` hold, the newest always.

    Safe to share between threads; a failed calculation leaves nothing. Bytes are those of arrays (`bytes_of`); two
    results that share an array are both charged with it.
    """

    def __init__(self, size: int, most_bytes: int | None = None):
        self._size, self._most_bytes = size, most_bytes
        self._known: OrderedDict[Hashable, tuple[object, int]] = OrderedDict()
        self._bytes = 0
        self._lock = threading.Lock()

    def of(self, key: Hashable, calculate: Callable[[], object]):
        """The result under `key`, calculated if it is not known."""
        with self._lock:
            if key in self._known:
                self._known.move_to_end(key)
                return self._known[key][0]
        result = calculate()
        held = bytes_of(result) if self._most_bytes is not None else 0
        with self._lock:
            self._drop(key)
            self._known[key] = (result, held)
            self._bytes += held
            while len(self._known) > self._size or (len(self._known) > 1 and self._is_full()):
                self._drop(next(iter(self._known)))
        return result

    def holds(self, key: Hashable) -> bool:
        """Whether the result under `key` is known."""
        return key in self._known

    def forget(self) -> None:
        """Remember nothing of what was."""
        with self._lock:
            self._known.clear()
            self._bytes = 0

    def __len__(self) -> int:
        return len(self._known)

    @property
    def held_bytes(self) -> int:
        """What is held, in bytes; 0 where there is no bound to keep."""
        return self._bytes

    def _is_full(self) -> bool:
        return self._most_bytes is not None and self._bytes > self._most_bytes

    def _drop(self, key: Hashable) -> None:
        if key in self._known:
            self._bytes -= self._known.pop(key)[1]


def bytes_of(value: object) -> int:
    """Bytes of the arrays in a value, each counted once: arrays, sparse matrices, rows, tables, dataclasses, and what
    other objects of ours hold in their fields."""
    return _bytes_of(value, set())


def _bytes_of(value: object, counted: set[int]) -> int:
    if value is None or isinstance(value, str | bytes | int | float | type) or id(value) in counted:
        return 0
    counted.add(id(value))
    if isinstance(value, np.ndarray):
        whole = value if value.base is None else value.base
        if whole is not value and isinstance(whole, np.ndarray):
            return _bytes_of(whole, counted)
        return int(value.nbytes)
    sparse = sys.modules.get("scipy.sparse")  # what has not been loaded has made none
    if sparse is not None and sparse.issparse(value):
        return sum(_bytes_of(getattr(value, name, None), counted) for name in ("data", "indices", "indptr"))
    if isinstance(value, Mapping):
        return sum(_bytes_of(each, counted) for each in value.values())
    if isinstance(value, list | tuple | set | frozenset):
        return sum(_bytes_of(each, counted) for each in value)
    if is_dataclass(value) and not hasattr(value, "__dict__"):
        return sum(_bytes_of(getattr(value, field.name), counted) for field in fields(value))
    if hasattr(value, "__dict__"):
        return sum(_bytes_of(each, counted) for each in vars(value).values())
    return sys.getsizeof(value, 0)
