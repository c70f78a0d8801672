"""The order of places that carry the same wall, and how sure that order is.

Whole years are drawn again, the same years for all places whose records cover the same, and the order is made anew
in each draw: how often a place keeps its rank is counted, not guessed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from exposure.assess.reference_wall import Band, SiteOnWall
from exposure.rain.uncertainty import EQUAL, SEED, has_band, resample_years
from exposure.wall.classes import class_names

RANK_BAND = 0.90  # share of resamples a range of ranks holds
EVEN = 0.05  # part of a figure within which a place is called middling; our choice


@dataclass(frozen=True)
class RankedSite:
    """A place in the order, and how sure that place in it is.

    Parameters
    ----------
    rank
        1 + the number of places hit harder; equal places share a rank.
    kept
        Share of resamples in which it has the same rank; None where few years cannot tell.
    ranks
        Ranks it may have: those of nine in ten resamples, and those that bands which meet leave open.
    close_to
        Names of the places whose bands meet its own, hardest first.
    decides
        What of it stands furthest from the middle of the list, in words.
    """

    site: SiteOnWall
    rank: int
    kept: float | None
    ranks: tuple[int, int]
    close_to: tuple[str, ...]
    decides: str

    @property
    def name(self) -> str:
        """Of the place."""
        return self.site.name

    @property
    def rank_in_words(self) -> str:
        """Its rank and, behind it, the ranks it may as well have; bare only where it can be no other: ``2 (1 to 3)``."""
        return (
            f"{self.rank}"
            if self.ranks[0] == self.ranks[1]
            else f"{self.rank} ({self.ranks[0]} to {self.ranks[1]})"
        )


def bands_meet(one: Band | None, other: Band | None) -> bool:
    """Whether two bands overlap; an unknown band meets every other.

    Examples
    --------
    >>> bands_meet((58, 84), (47, 69)), bands_meet((99, 141), (58, 84))
    (True, False)
    """
    if one is None or other is None:
        return True
    return one[0] <= other[1] and other[0] <= one[1]


def ranks_of(values: np.ndarray) -> np.ndarray:
    """Rank of each value along the last axis: 1 + the number of larger ones; the same to rounding shares a rank.

    Examples
    --------
    >>> ranks_of(np.array([5.0, 9.0, 5.0, 1.0])).tolist()
    [2, 1, 2, 4]
    """
    values = np.asarray(values)
    rows = values.reshape(-1, values.shape[-1])
    found = np.empty(rows.shape, dtype=int)
    for at, row in enumerate(rows):
        found[at] = 1 + row.size - np.searchsorted(np.sort(row), row * (1 + EQUAL), side="right")
    return found.reshape(values.shape)


def rank_ranges(values: Sequence[float], bands: Sequence[Band | None]) -> list[tuple[int, int]]:
    """Ranks each place may have: it is sure only against places whose bands do not meet its own.

    Examples
    --------
    >>> rank_ranges([118, 70, 57], [(99, 141), (58, 84), (47, 69)])
    [(1, 1), (2, 3), (2, 3)]
    """
    found = []
    known = list(enumerate(zip(values, bands, strict=True)))
    for at, (value, band) in known:
        clear = [other for place, (other, theirs) in known if place != at and not bands_meet(band, theirs)]
        found.append(
            (1 + sum(one > value for one in clear), len(values) - sum(one <= value for one in clear))
        )
    return found


def rank_sites(sites: Sequence[SiteOnWall]) -> tuple[RankedSite, ...]:
    """The places, hardest hit first, with how often each keeps its rank.

    Places whose records count the same years share each draw; records of other years are drawn by themselves. Where
    one record is of few years, nothing is known of the order's certainty: ``kept`` is None for all.
    """
    if not sites:
        return ()
    values = np.array([one.value for one in sites])
    rank = ranks_of(values)
    bands = [one.band for one in sites]
    ranges = rank_ranges(values.tolist(), bands)
    kept: list[float | None] = [None] * len(sites)
    if all(has_band(len(one.years)) for one in sites):
        again = ranks_of(np.column_stack(_drawn_together(sites)))
        kept = [float(share) for share in (again == rank).mean(axis=0)]
        tail = (1 - RANK_BAND) / 2
        low = np.quantile(again, tail, axis=0, method="lower")
        high = np.quantile(again, 1 - tail, axis=0, method="higher")
        ends = np.array(ranges)
        first, last = (
            np.minimum(np.minimum(low, rank), ends[:, 0]),
            np.maximum(np.maximum(high, rank), ends[:, 1]),
        )
        ranges = [(int(a), int(b)) for a, b in np.column_stack([first, last])]
    decides = what_decides(sites)
    order = sorted(range(len(sites)), key=lambda at: (-values[at], at))
    return tuple(
        RankedSite(
            sites[at],
            int(rank[at]),
            kept[at],
            ranges[at],
            tuple(
                sites[other].name for other in order if other != at and bands_meet(bands[at], bands[other])
            ),
            decides[at],
        )
        for at in order
    )


def _drawn_together(sites: Sequence[SiteOnWall]) -> list[np.ndarray]:
    """Each place's value in every resample; places of other years get draws of their own."""
    seeds: dict[tuple[int, ...], int] = {}
    for one in sites:
        seeds.setdefault(one.years, SEED + len(seeds))
    found = []
    for one in sites:
        if seeds[one.years] == SEED:
            found.append(one.drawn)
            continue
        again = resample_years(one.yearly_spell, one.yearly_spell, seed=seeds[one.years])
        found.append((again.spell * one.product).max(axis=1))
    return found


def what_decides(sites: Sequence[SiteOnWall]) -> list[str]:
    """For each place, what of its figure stands furthest from the middle (the median) of the list, in words."""
    names = ("open field", "ground", "hill", "wall shape")
    parts = np.array(
        [
            (one.worst.airfield_spell_index, *(one.worst.factors[place].value for place in (0, 1, 3)))
            for one in sites
        ]
    )  # fmt: skip
    middle = np.median(parts, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(middle > 0, parts / middle, 1.0)
    words = []
    for row in ratio:
        far = np.abs(np.log(np.maximum(row, 1e-6)))
        told = [place for place in np.argsort(-far, kind="stable") if far[place] > np.log1p(EVEN)][:2]
        words.append(
            ", ".join(f"{names[place]} {row[place]:.2f}" for place in told) + " times the middle of the list"
            if told
            else "near the middle of the list in all"
        )
    return words


def class_counts(ranked: Sequence[RankedSite]) -> dict[str, int]:
    """How many places each class holds, the hardest class first; classes without any are left out."""
    found = [one.site.worst.exposure_class for one in ranked]
    return {name: found.count(name) for name in reversed(class_names()) if name in found}


def shared_flags(sites: Sequence[SiteOnWall]) -> tuple[str, ...]:
    """Doubts that hold for every place, told once."""
    if not sites:
        return ()
    rest = [set(one.flags) for one in sites[1:]]
    return tuple(flag for flag in sites[0].flags if all(flag in other for other in rest))
