"""Two results of one town side by side: how much more rain is driven at each wall, and where the years hide it."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.doubts import Doubt, doubt
from exposure.rain.uncertainty import band_of_difference

WAYS = ("less", "not clear", "more")
TURNED = 0.05  # degrees; a wall that faces another way is another wall
FIGURES = {"spell": "wall_spell_index", "annual": "wall_annual_index"}


@dataclass(frozen=True, eq=False)
class Change:
    """Walls that both results hold.

    Parameters
    ----------
    walls
        ``building``, ``wall``, ``facing``, ``length``; of ``spell`` and ``annual`` the figure ``_before``, ``_after``,
        the ``_change`` and both ends of its band ``_change_low``, ``_change_high`` [L m-2], and ``_clear``: ``more`` or
        ``less`` where the band leaves no other way, else ``not clear``; ``class_before``, ``class_after``.
    only
        Walls in one of the results alone.
    flags
        Doubts.
    """

    walls: pd.DataFrame
    only: int
    flags: tuple[Doubt, ...] = ()


def clear_way(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Which way a change goes where its band leaves no other; without a band none is clear.

    Examples
    --------
    >>> clear_way(np.array([1.0, -2.0, -3.0, np.nan]), np.array([5.0, 4.0, -1.0, np.nan])).tolist()
    ['more', 'not clear', 'less', 'not clear']
    """
    return np.where(low > 0, "more", np.where(high < 0, "less", "not clear"))


def change_of_walls(first: pd.DataFrame, second: pd.DataFrame) -> Change:
    """The walls of ``second`` against those of ``first``, both as :attr:`exposure.district.District.walls`.

    Raises
    ------
    RefusalError
        When they have no wall in common: another town, or other numbers of its buildings.

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
    both = first.merge(second, on=["building", "wall"], suffixes=("_before", "_after"), validate="one_to_one")
    off = np.abs((both["facing_before"] - both["facing_after"] + 180) % 360 - 180)
    both = both[(off <= TURNED) & (np.abs(both["length_before"] - both["length_after"]) <= TURNED)]
    if both.empty:
        raise RefusalError(
            "no wall of one result is a wall of the other",
            "two results of one file of footprints",
            "Run both on the same file.",
        )
    found = {
        "building": both["building"],
        "wall": both["wall"],
        "facing": both["facing_before"],
        "length": both["length_before"],
    }
    for name, column in FIGURES.items():
        before, after = (both[f"{column}_{when}"].to_numpy() for when in ("before", "after"))
        bands = [
            (both[f"{name}_low_{when}"].to_numpy(), both[f"{name}_high_{when}"].to_numpy())
            for when in ("before", "after")
        ]
        low, high = band_of_difference(before, bands[0], after, bands[1])
        found |= {
            f"{name}_before": before,
            f"{name}_after": after,
            f"{name}_change": after - before,
            f"{name}_change_low": low,
            f"{name}_change_high": high,
            f"{name}_clear": clear_way(low, high),
        }
    found |= {"class_before": both["class_before"], "class_after": both["class_after"]}
    only = len(first) + len(second) - 2 * len(both)
    flags = (doubt("district.walls_in_one_alone", count=only),) if only else ()
    return Change(pd.DataFrame(found).reset_index(drop=True), only, flags)


def change_in_words(change: Change) -> list[str]:
    """What changes, by length of wall: spells, then the class."""
    walls = change.walls
    total = float(walls["length"].sum())
    by_way = {way: float(walls.loc[walls["spell_clear"] == way, "length"].sum()) / total for way in WAYS}
    moved = walls[walls["class_before"] != walls["class_after"]]
    hidden = float(moved.loc[moved["spell_clear"] == "not clear", "length"].sum())
    return [
        f"Worst spells rise clearly on {by_way['more']:.0%} of {total:,.0f} m of wall and fall clearly on "
        f"{by_way['less']:.0%}; on {by_way['not clear']:.0%} the spread of the years hides any change.",
        f"{float(moved['length'].sum()):,.0f} m change their class, {hidden:,.0f} m of it where the change is not clear.",
    ]
