"""Results of pure functions, remembered by what decided them while the program runs.

Every memory has a bound of its own, by number and where wanted by bytes; all of them share one more, `KEPT`, so that
many heads, lights and palettes in turn never hold more than the machine can spare.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable, Iterable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from functools import partial
from itertools import count
from operator import attrgetter
from types import FunctionType, ModuleType

import numpy as np

from sitterlight.shading.budget import most_remembered

_turns, _turn = count(), attrgetter("turn")
LITTLE = 1e-3
"""Share of the common bound below which a result is passed over: to drop it would make no room worth its price."""


class Entry:
    """A remembered result: where it is known and by which key, and the bytes of each of its arrays by identity; when
    it was last asked for, in turns of all memories."""

    __slots__ = ("arrays", "counts", "held", "home", "key", "result", "turn")

    def __init__(self, home: dict, key: Hashable, result: object, others: Others | None):
        self.home, self.key, self.result, self.turn = home, key, result, next(_turns)
        self.arrays, self.held, self.counts = {}, 0, others is not None
        self.measure(others)

    def measure(self, others: Others | None) -> None:
        """Count the arrays, if they count; a result may have grown since, by what it works out when asked. What it
        holds of the results of `others` is as those were counted."""
        if self.counts:
            self.arrays = _arrays_in(self.result, others)
            self.held = sum(self.arrays.values())


Others = Mapping[int, Entry]
"""Entries by the identities of their results."""


class Bound:
    """A bound in bytes that many memories share: what was used longest ago goes first, wherever it is remembered.

    An array that several results hold is counted once, and its room is free when the last of them goes.
    """

    def __init__(self, most_bytes: float):
        self.most_bytes = most_bytes
        self.lock = threading.RLock()
        self.by_result: dict[int, Entry] = {}
        self._entries: dict[Entry, None] = {}
        self._holders: dict[int, list[int]] = {}
        self._bytes = self._new = 0
        self._gone: list[dict] = []

    @property
    def held_bytes(self) -> int:
        """What is held, in bytes."""
        return self._bytes

    def leave(self, home: dict) -> None:
        """Drop what a memory knew that is no more, with the next result. Takes no lock: at any moment one may go."""
        self._gone.append(home)

    def keep(self, entry: Entry) -> None:
        """Remember one more, and make room for it."""
        while self._gone:
            self.drop(list(self._gone.pop().values()))
        self._entries[entry] = None
        if entry.counts:
            self.by_result[id(entry.result)] = entry
        before = self._bytes
        self._charge(entry)
        self._new += self._bytes - before
        if self._new > self.most_bytes / 2:
            self.measure()
        self._make_room(entry)

    def drop(self, entries: Iterable[Entry]) -> None:
        """Forget these."""
        for entry in entries:
            del entry.home[entry.key]
            del self._entries[entry]
            if self.by_result.get(id(entry.result)) is entry:
                del self.by_result[id(entry.result)]
            for array, size in entry.arrays.items():
                held = self._holders[array]
                held[0] -= 1
                if not held[0]:
                    del self._holders[array]
                    self._bytes -= size

    def let_go(self) -> None:
        """Forget all that is remembered anywhere."""
        with self.lock:
            self.drop(list(self._entries))

    def measure(self) -> None:
        """Count everything anew: some results grow while they are remembered."""
        self._holders, self._bytes, self._new = {}, 0, 0
        for entry in self._entries:
            entry.measure({})
            self._charge(entry)

    def _charge(self, entry: Entry) -> None:
        for array, size in entry.arrays.items():
            held = self._holders.setdefault(array, [0, size])
            held[0] += 1
            if held[0] == 1:
                self._bytes += size
            else:
                entry.arrays[array] = held[1]  # as first counted, so that what is given back is what was charged

    def _make_room(self, newest: Entry) -> None:
        while self._bytes > self.most_bytes and len(self._entries) > 1:
            others = sorted((entry for entry in self._entries if entry is not newest), key=_turn)
            worth = (entry for entry in others if self._room_in(entry) > LITTLE * self.most_bytes)
            self.drop([next(worth, others[0])])

    def _room_in(self, entry: Entry) -> int:
        """Bytes that are free when a result is dropped."""
        return sum(size for array, size in entry.arrays.items() if self._holders[array][0] == 1)


KEPT = Bound(most_remembered())
"""What all results of this process share."""


class Memory:
    """The last `size` results, by key, and of these no more than `most_bytes` hold, the newest always; and no more
    than the common `bound` leaves room for.

    Safe to share between threads; a failed calculation leaves nothing. Bytes are those of arrays (`bytes_of`); against
    `most_bytes`, two results that share an array are both charged with it. Where `little` is held, or what is counted
    elsewhere, nothing is: to count takes longer than to find.
    """

    def __init__(self, size: int, most_bytes: float | None = None, bound: Bound = KEPT, little: bool = False):
        self._size, self._most_bytes, self._bound, self._little = size, most_bytes, bound, little
        self._known: dict[Hashable, Entry] = {}

    def __del__(self) -> None:
        self._bound.leave(self._known)

    def of(self, key: Hashable, calculate: Callable[[], object]):
        """The result under `key`, calculated if it is not known."""
        known = self._known.get(key)  # one step, which needs no lock
        if known is not None:
            known.turn = next(_turns)
            return known.result
        result = calculate()
        entry = Entry(self._known, key, result, None if self._little else self._bound.by_result)
        with self._bound.lock:
            if key in self._known:
                self._bound.drop([self._known[key]])
            if self._size:
                self._known[key] = entry
                self._bound.keep(entry)
            while len(self._known) > self._size or (len(self._known) > 1 and self._is_full()):
                others = (known for known in self._known.values() if known is not entry)
                self._bound.drop([min(others, key=_turn)])
        return result

    def holds(self, key: Hashable) -> bool:
        """Whether the result under `key` is known."""
        return key in self._known

    def forget(self) -> None:
        """Remember nothing of what was."""
        with self._bound.lock:
            self._bound.drop(list(self._known.values()))

    def __len__(self) -> int:
        return len(self._known)

    @property
    def held_bytes(self) -> int:
        """What is held, in bytes, shared arrays as often as they are held."""
        with self._bound.lock:
            return sum(entry.held for entry in self._known.values())

    def _is_full(self) -> bool:
        return self._most_bytes is not None and sum([one.held for one in self._known.values()]) > self._most_bytes


class Last:
    """The last result alone, known by the object itself that decides it, and not counted: what will be asked for again
    at once, and not for long."""

    held_elsewhere = True

    def __init__(self) -> None:
        self._known: tuple[object, object] | None = None

    def of(self, one: object, calculate: Callable[[], object]):
        """The result of `one`, calculated if it is not known."""
        known = self._known
        if known is None or known[0] is not one:
            self._known = known = one, calculate()
        return known[1]

    def forget(self) -> None:
        """Remember nothing of what was."""
        self._known = None


def bytes_of(value: object) -> int:
    """Bytes of the arrays in a value, each counted once: arrays, sparse matrices, rows, tables, dataclasses, what
    other objects of ours hold in their fields and functions have been given. What a memory in it holds is counted
    where that memory is, and what is `held_elsewhere` where it is remembered."""
    return sum(_arrays_in(value, {}).values())


def _arrays_in(value: object, others: Others) -> dict[int, int]:
    """The bytes of each array in a value, by its identity; what is the result of one of `others` is as that knows."""
    arrays: dict[int, int] = {}
    seen: set[int] = set()
    left = [value]
    while left:
        one = left.pop()
        kind = type(one)
        if kind not in _PARTS_OF:
            _PARTS_OF[kind] = _parts_of(kind)
        parts = _PARTS_OF[kind]
        if parts is None or id(one) in seen:
            continue
        seen.add(id(one))
        other = others.get(id(one))
        if other is not None and other.result is one:
            arrays |= other.arrays
        elif parts is not _whole:
            left += parts(one)
        elif isinstance(one.base, np.ndarray):
            left.append(one.base)
        else:
            arrays[id(one)] = one.nbytes
    return arrays


def _parts_of(kind: type) -> Callable[[object], Iterable[object]] | None:
    """How to take apart what is of a `kind`; None for what holds no array, or is counted elsewhere."""
    if issubclass(kind, _PLAIN) or getattr(kind, "held_elsewhere", False):
        return None
    if issubclass(kind, np.ndarray):
        return _whole
    if issubclass(kind, list | tuple | set | frozenset):
        return iter
    if issubclass(kind, Mapping):
        return kind.values
    if issubclass(kind, FunctionType):
        return _given
    if issubclass(kind, partial):
        return lambda one: (*one.args, *one.keywords.values())
    if is_dataclass(kind) and kind.__dictoffset__:
        return lambda one: one.__dict__.values()
    slots = [field.name for field in fields(kind)] if is_dataclass(kind) else []
    return lambda one: _held_by(one, slots)


_PARTS_OF: dict[type, Callable[[object], Iterable[object]] | None] = {}
_PLAIN = type(None) | str | bytes | bool | int | float | complex | np.generic | type | ModuleType | Memory


def _whole(array: np.ndarray) -> Iterable[object]:
    """An array is not taken apart."""
    return (array,)


def _held_by(one: object, slots: list[str]) -> Iterable[object]:
    """What an object holds in its fields."""
    found = [*getattr(one, "__dict__", {}).values(), *(getattr(one, name, None) for name in slots)]
    if hasattr(one, "indices"):  # sparse matrices and search trees
        found += [getattr(one, name, None) for name in ("data", "indices", "indptr")]
    return found


def _given(function: FunctionType) -> Iterable[object]:
    """What a function has been given by the one it was made in."""
    for cell in function.__closure__ or ():
        with suppress(ValueError):  # not yet given
            yield cell.cell_contents
