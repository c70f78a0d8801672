"""Results kept for all readers of this server, by what went in; the oldest go."""

import threading
from collections import OrderedDict
from collections.abc import Hashable
from typing import Generic, TypeVar

Result = TypeVar("Result")


class Kept(Generic[Result]):
    """At most ``most`` results.

    Examples
    --------
    >>> few = Kept(1)
    >>> few.put("a", 1)
    >>> few.put("b", 2)
    >>> few.get("a"), few.get("b")
    (None, 2)
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: OrderedDict[Hashable, Result] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable) -> Result | None:
        """What is kept under ``key``."""
        with self._lock:
            if key in self._found:
                self._found.move_to_end(key)
            return self._found.get(key)

    def put(self, key: Hashable, result: Result) -> None:
        """Keep a result."""
        with self._lock:
            self._found[key] = result
            self._found.move_to_end(key)
            while len(self._found) > self._most:
                self._found.popitem(last=False)
