"""Words that are put together once.

Derived from the minute each reader has: what was put together for one reader is kept for the next.
"""

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass

import streamlit as st

from exposure.page.choices.seal import Seal
from exposure.page.markup import Marked

AHEAD = "pieces made ahead"  # the name of the thread
KEPT = 256  # elevations whose words are kept for all readers together


class Words:
    """Pieces of HTML put together from the same inputs, each made once, when it is first asked for."""

    def __init__(self) -> None:
        self._made: dict[str, Marked] = {}
        self._making = threading.RLock()  # another reader, or the work ahead, may ask for the same

    def of(self, piece: str, make: Callable[[], Marked]) -> Marked:
        """The piece of that name, made now if it is not kept.

        Examples
        --------
        >>> words = Words()
        >>> words.of("lead", lambda: "<p>south-west</p>"), words.of("lead", lambda: "never asked again")
        ('<p>south-west</p>', '<p>south-west</p>')
        """
        found = self._made.get(piece)
        if found is None:
            with self._making:
                found = self._made.get(piece)
                if found is None:
                    found = self._made[piece] = make()
        return found

    def has(self, piece: str) -> bool:
        """Whether the piece of that name is made."""
        return piece in self._made


@dataclass(frozen=True)
class Sealed:
    """The words about one elevation, each piece under the seal of what it was made for."""

    words: Words
    seal: Seal

    def of(self, piece: str, make: Callable[[], Marked]) -> Marked:
        """The piece of that name; it is seen only with the elevation it is about."""
        return self.seal.on(self.words.of(piece, make))


def make_ahead(makers: Sequence[Callable[[], object]]) -> None:
    """Have pieces made beside the page, one after the other, so that they are there when a reader asks.

    Nothing waits for them: who asks earlier makes the piece then. What fails here fails again for who asks, and is told
    there.
    """

    def make() -> None:
        for one in makers:
            with suppress(Exception):
                one()

    threading.Thread(target=make, name=AHEAD, daemon=True).start()


# Kept as it is, not as a copy: readers with the same inputs share the words, and words are never changed.
@st.cache_resource(max_entries=KEPT, show_spinner=False)
def words_of(mark: str, elevation: str) -> Words:
    """The words about one elevation; ``mark`` stands for everything else that went in, by content."""
    return Words()
