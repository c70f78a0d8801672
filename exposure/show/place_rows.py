"""A compared place as a line of the ranking: its figure, class and rank, in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.assess.ranking import RankedSite
from exposure.show.numbers import Band
from exposure.tables import load_table


@dataclass(frozen=True)
class PlaceRow:
    """One place: the wall spell index of its worst-facing wall, and the range of ranks it may have."""

    name: str
    value: float  # [L m-2]
    band: Band | None
    class_name: str
    could_be: str | None = None
    ranks: tuple[int, int] | None = None


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
    )


def class_limits() -> list[tuple[float, str]]:
    """Lower limit and name of each class, mildest first, from the class table. [L m-2]"""
    return [(row["from"], row["class"]) for row in load_table("exposure_class")["row"]]


def ranked(rows: Sequence[PlaceRow]) -> list[PlaceRow]:
    """The places, hardest hit first."""
    return sorted(rows, key=lambda row: -row.value)


def rank_words(rank: int, ranks: tuple[int, int] | None) -> str:
    """A rank and, behind it, the range nine in ten resamples give it.

    Examples
    --------
    >>> rank_words(2, (1, 3)), rank_words(6, (6, 6)), rank_words(2, None)
    ('2 (1 to 3)', '6', '2')
    """
    if ranks is None or ranks[0] == ranks[1]:
        return f"{rank}"
    return f"{rank} ({ranks[0]} to {ranks[1]})"
