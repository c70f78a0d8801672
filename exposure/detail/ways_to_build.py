"""Ways to build a wall whose wetting is ranked: what is outside of the membrane, with one open to vapour or one closed to it."""

from dataclasses import dataclass, replace

from exposure.checks import check_between
from exposure.tables import load_table
from exposure.tables.standing import row_standings

LEAK_SHARE = 0.01  # of the rain on the wall; ASHRAE 160 default (from memory, not checked)
LEAK_RANGE = (0.003, 0.01, 0.03)  # shown beside it; our choice


@dataclass(frozen=True)
class WayToBuild:
    """One row of the table of options with one membrane."""

    key: str
    name: str
    laps: float
    holds: float
    air_changes: float
    depth: float
    damp: float
    permeance: float
    leak_share: float = LEAK_SHARE  # of the rain on the wall
    standings: tuple[str, ...] = ()
    leaf_air_changes: float | None = None  # the two that differ behind a masonry leaf; None: they do not
    leaf_damp: float | None = None
    option: str = ""  # the row's own name, without the membrane
    membrane: str = ""  # open or closed to vapour

    def behind_leaf(self) -> "WayToBuild":
        """The same way behind a masonry leaf, whose cavity air hardly moves."""
        if self.leaf_air_changes is None or self.leaf_damp is None:
            return self
        return replace(self, air_changes=self.leaf_air_changes, damp=self.leaf_damp)


def ways_to_build(*, laps: str = "usual", leak_share: float = LEAK_SHARE) -> tuple[WayToBuild, ...]:
    """Four ways to build with each of two membranes.

    Parameters
    ----------
    laps
        ``low``, ``usual`` or ``high``: how much of the water goes on through the membrane's laps.
    leak_share
        Share of the rain on the wall that gets behind the cladding. [1]

    Examples
    --------
    >>> len(ways_to_build())
    8
    """
    check_between(leak_share, "share that leaks", 0, 1, "")
    at = ("low", "usual", "high").index(laps)
    return tuple(
        WayToBuild(
            f"{row['key']}, {membrane['key']}",
            f"{row['name']}, {membrane['name']}",
            row["laps"][at],
            row["holds"],
            row["air_changes"],
            row["depth"],
            row["damp"],
            membrane["permeance"],
            leak_share,
            row_standings(row),
            row["leaf_air_changes"],
            row["leaf_damp"],
            option=row["name"],
            membrane=membrane["key"],
        )
        for membrane in load_table("membrane_options")["row"]
        for row in load_table("drying_options")["row"]
    )
