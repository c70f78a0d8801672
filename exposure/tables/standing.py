"""How a figure stands: compared with its document, stated by others, remembered, or our own; and the words for it.

Every row of a table carries one of :data:`STANDINGS`. Only ``read`` counts as verified.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple


class Words(NamedTuple):
    """A standing as a reader sees it."""

    words: str
    letter: str
    meaning: str
    confirm: bool  # the reader has to compare or decide before relying on it


STANDING_WORDS: Mapping[str, Words] = {
    "read": Words("read", "R", "compared with the document or law named", confirm=False),
    "second hand": Words(
        "second hand", "S", "as another publication states it: read the document itself", confirm=True
    ),
    "from memory": Words("from memory", "M", "no text was found: read the document itself", confirm=True),
    "worked out": Words("worked out", "W", "arithmetic on the figures of this sheet", confirm=False),
    "ours": Words("our choice", "O", "judgement of this program, confirm or change it", confirm=True),
    "practice": Words("trade practice", "T", "no published source", confirm=False),
    "invented": Words("invented", "I", "made up for the demo, nobody measured it", confirm=True),
}
STANDINGS = ("read", "second hand", "from memory", "ours", "practice")  # what a row of a table may carry
WEAKEST_FIRST = ("invented", "from memory", "second hand", "ours", "worked out", "practice", "read")


def standing_words(standing: str) -> str:
    """The words for a standing.

    Examples
    --------
    >>> standing_words("ours"), standing_words("read")
    ('our choice', 'read')
    """
    return STANDING_WORDS[standing].words


def is_verified(standing: str) -> bool:
    """Whether someone compared the figure with its document.

    Examples
    --------
    >>> is_verified("read"), is_verified("second hand")
    (True, False)
    """
    return standing == "read"


def asks_to_confirm(standing: str) -> bool:
    """Whether the reader has to compare the figure, or decide, before relying on it."""
    return STANDING_WORDS[standing].confirm


def weakest(standings: Iterable[str]) -> str:
    """The weakest of several standings: what a figure made of them all may claim.

    Examples
    --------
    >>> weakest(["read", "second hand", "ours"])
    'second hand'
    """
    return min(standings, key=WEAKEST_FIRST.index)


def row_standings(row: Mapping[str, Any]) -> tuple[str, ...]:
    """Every standing a row of a table carries: of the row, of its levels, of its columns.

    Examples
    --------
    >>> row_standings({"standing": "ours"}), row_standings({"depth": 3, "depth_standing": "read"})
    (('ours',), ('read',))
    """
    found: list[str] = []
    for name, value in row.items():
        if name in ("standing", "standings") or name.endswith("_standing"):
            found.extend([value] if isinstance(value, str) else value)
    return tuple(found)


def with_standing(source: str, standing: str) -> str:
    """A source with its standing in a bracket where the reader has something to confirm.

    Examples
    --------
    >>> with_standing("Own ladder", "ours"), with_standing("Ontario code", "read")
    ('Own ladder (our choice, confirm)', 'Ontario code')
    """
    return f"{source} ({standing_words(standing)}, confirm)" if asks_to_confirm(standing) else source


def without_standing(source: str) -> str:
    """A source without the bracket of :func:`with_standing`, for places where the standing is shown beside it.

    Examples
    --------
    >>> without_standing("Own ladder (our choice, confirm)"), without_standing("Ontario code")
    ('Own ladder', 'Ontario code')
    """
    said = "|".join(one.words for one in STANDING_WORDS.values() if one.confirm)
    return re.sub(rf" \((?:{said}), confirm\)$", "", source)
