"""Parts that stay folded until the reader opens them, and words that are put together once.

Derived from the minute each reader has: what nobody has opened is neither made nor sent nor laid out, so that a
changed choice is answered before the eye has moved; what was put together for one reader is kept for the next.
"""

from collections.abc import Callable

import streamlit as st

from exposure.page.markup import Marked
from exposure.page.refuse import plain_words

KEPT = 256  # elevations whose words are kept for all readers together


@st.fragment
def folded_part(label: str, key: str, draw: Callable[[], object]) -> None:
    """A part under ``label`` that is drawn when it is opened, by itself; it stays as the reader left it."""
    with st.expander(label, key=key, on_change="rerun") as part:
        if part.open:
            with plain_words(label):
                draw()


class Words:
    """Pieces of HTML put together from the same inputs, each made when it is first asked for."""

    def __init__(self) -> None:
        self._made: dict[str, Marked] = {}

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
            found = self._made[piece] = make()
        return found


# Kept as it is, not as a copy: readers with the same inputs share the words, and words are never changed.
@st.cache_resource(max_entries=KEPT, show_spinner=False)
def words_of(mark: str, elevation: str) -> Words:
    """The words about one elevation; ``mark`` stands for everything else that went in, by content."""
    return Words()
