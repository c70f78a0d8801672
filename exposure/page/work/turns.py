"""A queue before the heavy part of an answer: a few at a time, the others wait in the order they came and are told so.

Derived from the builder's minute on a phone: when thirty readers ask at once, thirty half-done answers help nobody.
"""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

AT_ONCE = 2  # heavy answers at a time, for all readers together; our choice
LOOK_EVERY = 0.4  # seconds between two words to whoever waits


class Turns:
    """Who works and who waits."""

    def __init__(self, at_once: int = AT_ONCE) -> None:
        self._at_once = at_once
        self._working = 0
        self._waiting: list[object] = []
        self._moved = threading.Condition()

    @contextmanager
    def taken(self, tell: Callable[[int], None] = lambda _before: None) -> Iterator[None]:
        """Wait for a turn and hold it; ``tell`` hears how many come before, and may raise to leave the queue.

        Examples
        --------
        >>> turns = Turns(1)
        >>> with turns.taken():
        ...     turns.working
        1
        >>> turns.working
        0
        """
        ticket = object()
        with self._moved:
            self._waiting.append(ticket)
        try:
            while not self._let_in(ticket):
                tell(self._before(ticket))
        except BaseException:
            self._leave(ticket)
            raise
        try:
            yield
        finally:
            with self._moved:
                self._working -= 1
                self._moved.notify_all()

    @property
    def working(self) -> int:
        """How many hold a turn."""
        return self._working

    def _let_in(self, ticket: object) -> bool:
        with self._moved:
            if not self._is_next(ticket):
                self._moved.wait(LOOK_EVERY)
            if not self._is_next(ticket):
                return False
            self._waiting.remove(ticket)
            self._working += 1
            self._moved.notify_all()
            return True

    def _is_next(self, ticket: object) -> bool:
        return self._working < self._at_once and self._waiting[0] is ticket

    def _before(self, ticket: object) -> int:
        with self._moved:
            return self._working + self._waiting.index(ticket)

    def _leave(self, ticket: object) -> None:
        with self._moved:
            if ticket in self._waiting:
                self._waiting.remove(ticket)
            self._moved.notify_all()


def waiting_words(before: int) -> str:
    """What whoever waits reads.

    Examples
    --------
    >>> waiting_words(3)
    'This server is answering others first: 3 before you. Your answer comes by itself.'
    """
    return f"This server is answering others first: {before} before you. Your answer comes by itself."
