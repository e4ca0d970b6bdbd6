"""The last few results of something, for the window's own thread alone: nobody's lock to wait for. Without Qt."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable


class Latest:
    """The `most` results that were asked for last, by key."""

    def __init__(self, most: int):
        self._most = most
        self._known: OrderedDict[Hashable, object] = OrderedDict()

    def of(self, key: Hashable, calculate: Callable[[], object]):
        """The result under `key`, calculated if it is not known."""
        if key not in self._known:
            self._known[key] = calculate()
            while len(self._known) > self._most:
                self._known.popitem(last=False)
        self._known.move_to_end(key)
        return self._known[key]
