"""Results of pure functions, remembered by what decided them while the program runs."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable


class Memory:
    """The last `size` results, by key. Safe to share between threads; a failed calculation leaves nothing."""

    def __init__(self, size: int):
        self._size = size
        self._known: OrderedDict[Hashable, object] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, key: Hashable, calculate: Callable[[], object]):
        """The result under `key`, calculated if it is not known."""
        with self._lock:
            if key in self._known:
                self._known.move_to_end(key)
                return self._known[key]
        result = calculate()
        with self._lock:
            self._known[key] = result
            while len(self._known) > self._size:
                self._known.popitem(last=False)
        return result
