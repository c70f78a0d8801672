"""A compared place as a line of the ranking: its figure, class and rank, in words."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from exposure.assess.ranking import RankedSite, rank_ranges, ranks_of
from exposure.figures import Band
from exposure.tables import load_table
from exposure.wall.classes import with_way


@dataclass(frozen=True)
class PlaceRow:
    """One place: the wall spell index of its worst-facing wall, and the range of ranks it may have."""

    name: str
    value: float  # [L m-2]
    band: Band | None
    class_name: str
    could_be: str | None = None
    ranks: tuple[int, int] | None = None
    spell_label: str = "in the worst spell in three years"  # what its record can carry


def row_of(one: RankedSite) -> PlaceRow:
    """A ranked site's line."""
    site = one.site
    return PlaceRow(
        one.name,
        site.value,
        site.band,
        site.worst.exposure_class,
        " or ".join(with_way(site.worst.exposure_class, name) for name in site.could_be) or None,
        one.ranks,
        site.worst.spell_label,
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


def rank_words(rank: int, ranks: tuple[int, int]) -> str:
    """A rank and, behind it, the ranks it may as well have; bare only where it can be no other.

    Examples
    --------
    >>> rank_words(2, (1, 3)), rank_words(6, (6, 6))
    ('2 (1 to 3)', '6')
    """
    return f"{rank}" if ranks[0] == ranks[1] else f"{rank} ({ranks[0]} to {ranks[1]})"


def site_rank_words(one: RankedSite) -> str:
    """:func:`rank_words` of a ranked site."""
    return rank_words(one.rank, one.ranks)


def row_ranges(order: Sequence[PlaceRow]) -> list[tuple[int, int]]:
    """Ranks each row may have: what its list says and what the bands of the rows shown leave open."""
    shown = rank_ranges([row.value for row in order], [row.band for row in order])
    return [
        ranks if row.ranks is None else (min(ranks[0], row.ranks[0]), max(ranks[1], row.ranks[1]))
        for row, ranks in zip(order, shown, strict=True)
    ]


def row_rank_words(order: Sequence[PlaceRow]) -> list[str]:
    """:func:`rank_words` of each row of ``order``, hardest hit first; equal places share a rank.

    Examples
    --------
    >>> row_rank_words([PlaceRow("A", 118, (99, 141), "very severe"), PlaceRow("B", 70, (58, 84), "severe"),
    ...                 PlaceRow("C", 57, (47, 69), "severe")])
    ['1', '2 (2 to 3)', '3 (2 to 3)']
    """
    places = ranks_of(np.array([row.value for row in order])).tolist()
    return [rank_words(place, ranks) for place, ranks in zip(places, row_ranges(order), strict=True)]
