"""A town under every member of an ensemble: each wall's figures by member, and one row a wall that holds them all."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.district.walls import classes_told
from exposure.wall.classes import class_names, class_numbers
from exposure.wall.index import Products

MOST = 5_000_000  # walls times members; our choice
MEDIAN = (
    "airfield_annual_index", "airfield_spell_index", "wall_annual_index", "wall_spell_index",
    "wall_spell_index_in_the_open", *Products._fields[1:],
)  # fmt: skip
HARDEST = (
    "pressure_any_direction", "pressure_facing", "pressure_for_details", "pressure_level", "beyond_the_ladder", "indicative",
)  # fmt: skip
HARDEST_CLASS = ("class_any_rain", "class_for_details")


@dataclass(frozen=True, eq=False)
class Members:
    """Figures of each wall under each member; arrays of shape (member, wall).

    Parameters
    ----------
    names
        What each member is called.
    annual, spell
        Wall indices. [L m-2]
    """

    names: tuple[str, ...]
    annual: np.ndarray
    spell: np.ndarray

    def table(self, walls: pd.DataFrame) -> pd.DataFrame:
        """One row a member and wall; ``walls`` are those of the town."""
        many = len(self.names)
        return pd.DataFrame(
            {
                "member": np.repeat(np.array(self.names, dtype=object), len(walls)),
                "building": np.tile(walls["building"].to_numpy(), many),
                "wall": np.tile(walls["wall"].to_numpy(dtype=object), many),
                "wall_annual_index": self.annual.ravel(),
                "wall_spell_index": self.spell.ravel(),
                "class": np.array(class_names())[class_numbers(self.spell.ravel())],
            }
        )


def members_in(table: pd.DataFrame, walls: pd.DataFrame) -> Members:
    """What :meth:`Members.table` wrote, in the order of ``walls``.

    Raises
    ------
    RefusalError
        When a member lacks one of the walls.
    """
    names = tuple(dict.fromkeys(table["member"].tolist()))
    keys = pd.MultiIndex.from_frame(walls[["building", "wall"]])
    found = []
    for name in names:
        mine = table[table["member"] == name].set_index(["building", "wall"])
        figures = mine[["wall_annual_index", "wall_spell_index"]].astype(float)
        if not figures.index.is_unique or not keys.isin(figures.index).all():
            raise RefusalError(
                f"member {name[:40]} tells not every wall once",
                "the table that district wrote beside its layers",
                "Run district again into that folder.",
            )
        found.append(figures.reindex(keys).to_numpy())
    return Members(names, *np.moveaxis(np.array(found), 2, 0))


def check_size(walls: int, members: int) -> None:
    """Stop at more figures than fit into memory."""
    if walls * members > MOST:
        raise RefusalError(
            f"{walls:,} walls under {members:,} members",
            f"at most {MOST:,} of both multiplied",
            "Name one member, or cut the town into parts.",
            parameter="where",
        )


def walls_of_members(frames: Sequence[pd.DataFrame], names: tuple[str, ...]) -> tuple[pd.DataFrame, Members]:
    """One row a wall of the same walls under every member, and the figures of each member.

    Indices and factors are medians; a band goes from the lowest end of any member's band to the highest; levels,
    pressures and the class for details are those of the hardest member; ``annual_member_spread`` and
    ``spell_member_spread`` are the largest member less the smallest. [L m-2]

    Parameters
    ----------
    frames
        Of each member, as :func:`exposure.district.walls.wall_figures` makes them.
    """

    def each(column: str) -> np.ndarray:
        return np.stack([one[column].to_numpy() for one in frames])

    members = Members(names, each("wall_annual_index"), each("wall_spell_index"))
    found: dict[str, np.ndarray] = {name: np.median(each(name), axis=0) for name in MEDIAN}
    found |= {name: each(name).max(axis=0) for name in HARDEST}
    for name, values in (("annual", members.annual), ("spell", members.spell)):
        found[f"{name}_low"] = np.fmin(each(f"{name}_low"), values).min(axis=0)
        found[f"{name}_high"] = np.fmax(each(f"{name}_high"), values).max(axis=0)
        found[f"{name}_member_spread"] = values.max(axis=0) - values.min(axis=0)
    place = {name: number for number, name in enumerate(class_names())}
    any_rain, details = (
        np.max([one[column].map(place).to_numpy(dtype=int) for one in frames], axis=0)
        for column in HARDEST_CLASS
    )
    found |= classes_told(
        found=class_numbers(found["wall_spell_index"]),
        low=class_numbers(found["spell_low"]),
        high=class_numbers(found["spell_high"]),
        in_the_open=class_numbers(found["wall_spell_index_in_the_open"]),
        any_rain=any_rain,
        details=details,
    )
    return frames[0].assign(**found), members
