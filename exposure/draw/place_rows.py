"""A compared place as a line of the ranking: its figure, class and rank, in words."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from exposure.assess.ranking import RankedSite, bands_meet, ranks_of
from exposure.figures import Band
from exposure.tables import load_table


@dataclass(frozen=True)
class PlaceRow:
    """One place: the wall spell index of its worst-facing wall, and the range of ranks it may have.

    ``close`` says that its band meets another's, also one that is not among the rows shown.
    """

    name: str
    value: float  # [L m-2]
    band: Band | None
    class_name: str
    could_be: str | None = None
    ranks: tuple[int, int] | None = None
    close: bool = False


def row_of(one: RankedSite) -> PlaceRow:
    """A ranked site's line."""
    site = one.site
    return PlaceRow(
        one.name,
        site.value,
        site.band,
        site.worst.exposure_class,
        " or ".join(site.could_be) or None,
        one.ranks,
        bool(one.close_to),
    )


def class_limits() -> list[tuple[float, str]]:
    """Lower limit and name of each class, mildest first, from the class table. [L m-2]

    Examples
    --------
    >>> class_limits()[1]
    (33.0, 'moderate')
    """
    return [(row["from"], row["class"]) for row in load_table("exposure_class")["row"]]


def ranked(rows: Sequence[PlaceRow]) -> list[PlaceRow]:
    """The places, hardest hit first.

    Examples
    --------
    >>> [row.name for row in ranked([PlaceRow("B", 70, None, "severe"), PlaceRow("A", 118, None, "very severe")])]
    ['A', 'B']
    """
    return sorted(rows, key=lambda row: -row.value)


def rank_words(rank: int, ranks: tuple[int, int] | None, *, close: bool) -> str:
    """A rank and, behind it, how sure it is: the range nine in ten resamples give it, or that bands meet.

    Bare only where no other band meets its own (``close`` is false) and the range is that one rank.

    Examples
    --------
    >>> rank_words(2, (1, 3), close=True), rank_words(2, (2, 2), close=True), rank_words(6, (6, 6), close=False)
    ('2 (1 to 3)', '2 (close)', '6')
    """
    if ranks is not None and ranks[0] != ranks[1]:
        return f"{rank} ({ranks[0]} to {ranks[1]})"
    return f"{rank} (close)" if close else f"{rank}"


def site_rank_words(one: RankedSite) -> str:
    """:func:`rank_words` of a ranked site."""
    return rank_words(one.rank, one.ranks, close=bool(one.close_to))


def row_rank_words(order: Sequence[PlaceRow]) -> list[str]:
    """:func:`rank_words` of each row of ``order``, hardest hit first; equal places share a rank.

    Examples
    --------
    >>> row_rank_words([PlaceRow("A", 118, (99, 141), "very severe"), PlaceRow("B", 70, (58, 84), "severe"),
    ...                 PlaceRow("C", 57, (47, 69), "severe")])
    ['1', '2 (close)', '3 (close)']
    """
    places = ranks_of(np.array([row.value for row in order])).tolist()
    return [
        rank_words(
            place,
            row.ranks,
            close=row.close or any(bands_meet(row.band, other.band) for other in order if other is not row),
        )
        for place, row in zip(places, order, strict=True)
    ]
