"""The last few results of something, without a lock to wait for: two threads may both calculate one. Without Qt."""

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
        found = self._known.pop(key, None)
        if found is None:
            found = calculate()
        self._known[key] = found
        while len(self._known) > self._most:
            self._known.popitem(last=False)
        return found
