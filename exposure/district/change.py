"""Two results of one town side by side: how much more rain is driven at each wall and area, and where the spread hides it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.district.members import Members
from exposure.district.pieces import ENDS, Pieces, cut_by_areas
from exposure.district.shares import HARD, WHOLE, Areas
from exposure.doubts import Doubt, doubt
from exposure.rain.uncertainty import band_of_difference
from exposure.region.change import LEAST_MEMBERS, change_over_members, doubts_of_members
from exposure.wall.classes import class_names

WAYS = ("less", "not clear", "more")
TURNED = 0.05  # degrees; a wall that faces another way is another wall
FIGURES = {"spell": "wall_spell_index", "annual": "wall_annual_index"}
WHEN = ("before", "after")


class Figures(NamedTuple):
    """An index of each wall or area in one result: both ends of its band, and ``each`` member's, shape (member, place)."""

    value: np.ndarray
    low: np.ndarray
    high: np.ndarray
    each: np.ndarray | None

    def made(self, by: Callable[[np.ndarray], np.ndarray]) -> "Figures":
        """The same put together by ``by``, which takes one figure a wall."""
        each = None if self.each is None else np.stack([by(one) for one in self.each])
        return Figures(by(self.value), by(self.low), by(self.high), each)


@dataclass(frozen=True, eq=False)
class Change:
    """Walls that both results hold.

    Parameters
    ----------
    walls
        ``building``, ``wall``, ``facing``, ``length``; of ``spell`` and ``annual`` the figure ``_before``, ``_after``,
        the ``_change`` and both ends of its band ``_change_low``, ``_change_high`` [L m-2], and ``_clear``: ``more`` or
        ``less`` where the band leaves no other way, else ``not clear``; ``class_before``, ``class_after``; and where
        the first result tells them, both ends of the wall as :attr:`exposure.district.District.walls` does. Of two
        ensembles the change is the median over the members, its ends the smallest and the largest of one.
    only
        Walls in one of the results alone.
    figures
        Of each index, what stands before and after, in the order of ``walls``.
    paired
        Whether both results have the same members; None of no ensemble.
    flags
        Doubts.
    """

    walls: pd.DataFrame
    only: int
    figures: Mapping[str, tuple[Figures, Figures]] = field(repr=False)
    paired: bool | None = None
    flags: tuple[Doubt, ...] = ()


def clear_way(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Which way a change goes where its band leaves no other; without a band none is clear.

    Examples
    --------
    >>> clear_way(np.array([1.0, -2.0, -3.0, np.nan]), np.array([5.0, 4.0, -1.0, np.nan])).tolist()
    ['more', 'not clear', 'less', 'not clear']
    """
    return np.where(low > 0, "more", np.where(high < 0, "less", "not clear"))


def change_of_walls(
    first: pd.DataFrame,
    second: pd.DataFrame,
    *,
    members: tuple[Members | None, Members | None] = (None, None),
) -> Change:
    """The walls of ``second`` against those of ``first``, both as :attr:`exposure.district.District.walls`.

    Parameters
    ----------
    members
        Of each result, where it is an ensemble.

    Raises
    ------
    RefusalError
        When they have no wall in common: another town, or other numbers of its buildings; or when one of them alone is
        an ensemble.

    Examples
    --------
    >>> wall = {"building": [1], "wall": ["south"], "facing": [180.0], "length": [8.0], "class": ["moderate"],
    ...     "wall_annual_index": [200.0], "annual_low": [190.0], "annual_high": [210.0],
    ...     "wall_spell_index": [40.0], "spell_low": [30.0], "spell_high": [50.0]}
    >>> later = wall | {"wall_annual_index": [260.0], "annual_low": [250.0], "annual_high": [270.0]}
    >>> found = change_of_walls(pd.DataFrame(wall), pd.DataFrame(later)).walls
    >>> found["annual_change"].tolist(), found["annual_clear"].tolist(), found["spell_clear"].tolist()
    ([60.0], ['more'], ['not clear'])
    """
    if (members[0] is None) != (members[1] is None):
        raise RefusalError(
            "one result holds the members of an ensemble, the other a single run",
            "both of one kind",
            "Run district on one member, or on all members of both.",
        )
    numbered = [one.assign(place=np.arange(len(one))) for one in (first, second)]
    both = numbered[0].merge(
        numbered[1], on=["building", "wall"], suffixes=("_before", "_after"), validate="one_to_one"
    )
    off = np.abs((both["facing_before"] - both["facing_after"] + 180) % 360 - 180)
    both = both[(off <= TURNED) & (np.abs(both["length_before"] - both["length_after"]) <= TURNED)]
    if both.empty:
        raise RefusalError(
            "no wall of one result is a wall of the other",
            "two results of one file of footprints",
            "Run both on the same file.",
        )
    both = both.reset_index(drop=True)
    figures = {
        name: (_figures(both, "before", name, members[0]), _figures(both, "after", name, members[1]))
        for name in FIGURES
    }
    only = len(first) + len(second) - 2 * len(both)
    flags = [doubt("district.walls_in_one_alone", count=only)] if only else []
    paired = None
    if members[0] is not None and members[1] is not None:
        paired = members[0].names == members[1].names
        least = min(len(members[0].names), len(members[1].names))
        flags += doubts_of_members(least, paired=paired)
    found = {name: both[name] for name in ("building", "wall")}
    found |= {name: both[f"{name}_before"] for name in ("facing", "length")}
    for name, (before, after) in figures.items():
        found |= _changed(name, before, after, paired)
    found |= {f"class_{when}": both[f"class_{when}"] for when in WHEN}
    found |= {end: both[f"{end}_before"] for end in ENDS if f"{end}_before" in both}
    return Change(pd.DataFrame(found), only, figures, paired, tuple(flags))


def _figures(both: pd.DataFrame, when: str, name: str, members: Members | None) -> Figures:
    columns = (FIGURES[name], f"{name}_low", f"{name}_high")
    each = None
    if members is not None:
        each = {"spell": members.spell, "annual": members.annual}[name][:, both[f"place_{when}"].to_numpy()]
    value, low, high = (both[f"{column}_{when}"].to_numpy() for column in columns)
    return Figures(value, low, high, each)


def _changed(name: str, before: Figures, after: Figures, paired: bool | None) -> dict[str, np.ndarray]:
    """Columns of one index."""
    if before.each is not None and after.each is not None and paired is not None:
        change, low, high = change_over_members(before.each, after.each, paired=paired)
        enough = min(len(before.each), len(after.each)) >= LEAST_MEMBERS
    else:
        low, high = band_of_difference(
            before.value, (before.low, before.high), after.value, (after.low, after.high)
        )
        change, enough = after.value - before.value, True
    return {
        f"{name}_before": before.value,
        f"{name}_after": after.value,
        f"{name}_change": change,
        f"{name}_change_low": low,
        f"{name}_change_high": high,
        f"{name}_clear": clear_way(low, high) if enough else np.full(low.shape, "not clear"),
    }


def change_by_area(change: Change, areas: Areas | None = None) -> pd.DataFrame:
    """The change of the whole town, and of each area: one row each, the whole first.

    Parameters
    ----------
    areas
        What the walls stand in; a wall counts in an area by its length there.

    Returns
    -------
    pandas.DataFrame
        ``area``, ``length`` of wall [m]; of ``spell`` and ``annual``, meaned over that length, the columns of
        :attr:`Change.walls`; ``length_more``, ``length_less``, ``length_not_clear``, what of the length rises, falls and
        hides by its spell [m]; ``hard_before``, ``hard_after``, the share severe or harder. The years count as the same
        for every wall of one result, so that the band of a mean is the mean of the bands.
    """
    whole = _by_area(change, Pieces.of_whole(len(change.walls)), (WHOLE,))
    if areas is None:
        return whole
    pieces = cut_by_areas(change.walls, areas.shapes) if areas.pieces is None else areas.pieces
    return pd.concat([whole, _by_area(change, pieces, areas.names)], ignore_index=True)


def _by_area(change: Change, pieces: Pieces, names: tuple[str, ...]) -> pd.DataFrame:
    walls = change.walls
    length = walls["length"].to_numpy()[pieces.wall] * pieces.part

    def summed(values: np.ndarray) -> np.ndarray:
        return np.bincount(pieces.area, values[pieces.wall] * length, minlength=len(names))

    total = summed(np.ones(len(walls)))

    def mean(values: np.ndarray) -> np.ndarray:
        return np.divide(summed(values), total, out=np.full(total.shape, np.nan), where=total > 0)

    found: dict[str, object] = {"area": list(names), "length": total}
    for name, (before, after) in change.figures.items():
        found |= _changed(name, before.made(mean), after.made(mean), change.paired)
    for way in WAYS:
        found[f"length_{way.replace(' ', '_')}"] = summed((walls["spell_clear"] == way).to_numpy(dtype=float))
    hard = class_names()[HARD:]
    for when in WHEN:
        found[f"hard_{when}"] = mean(walls[f"class_{when}"].isin(hard).to_numpy(dtype=float))
    return pd.DataFrame(found)


def spread_in_words(change: Change) -> str:
    """What may hide a change."""
    return "the spread of the years" if change.paired is None else "the spread of the members"


def change_in_words(change: Change) -> list[str]:
    """What changes, by length of wall: spells, then the class."""
    walls = change.walls
    row = change_by_area(change).iloc[0]
    by_way = {way: row[f"length_{way.replace(' ', '_')}"] / row["length"] for way in WAYS}
    moved = walls[walls["class_before"] != walls["class_after"]]
    hidden = float(moved.loc[moved["spell_clear"] == "not clear", "length"].sum())
    return [
        f"Worst spells rise clearly on {by_way['more']:.0%} of {row['length']:,.0f} m of wall and fall clearly on "
        f"{by_way['less']:.0%}; on {by_way['not clear']:.0%} {spread_in_words(change)} hides any change.",
        f"{float(moved['length'].sum()):,.0f} m change their class, {hidden:,.0f} m of it where the change is not clear.",
    ]
