"""Obstruction factor: shelter from the nearest obstacle at least as tall as the wall."""

from exposure.checks import check_between
from exposure.tables import load_table


def obstruction_factor(distance: float | None) -> float:
    """Share of the driving rain left behind an obstacle at ``distance``.

    Parameters
    ----------
    distance
        To the nearest obstacle at least as tall as the wall, in the line of sight [m]; None when there is none.

    Notes
    -----
    ISO 15927-3:2009, obstruction table (from memory). A band owns its lower edge; nearer than the first
    band takes the first band (our choice).

    Examples
    --------
    >>> obstruction_factor(8), obstruction_factor(None)
    (0.3, 1.0)
    """
    rows = load_table("obstruction")["row"]
    if distance is None:
        return rows[-1]["obstruction_factor"]
    check_between(distance, "distance to the obstacle", 0, float("inf"), "m")
    reached = [row for row in rows if row["from"] <= distance] or rows[:1]
    return reached[-1]["obstruction_factor"]


def nearer_than_table(distance: float | None) -> bool:
    """True when an obstacle stands nearer than the table's first band, which is worth a flag."""
    return distance is not None and distance < load_table("obstruction")["row"][0]["from"]
