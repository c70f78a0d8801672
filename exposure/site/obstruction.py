"""Obstruction factor: shelter from the nearest obstacle at least as tall as the wall."""

import numpy as np

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
    if distance is not None:
        check_between(distance, "distance to the obstacle", 0, float("inf"), "m")
    return float(obstruction_factors(np.array(np.nan if distance is None else distance)))


def obstruction_factors(distances: np.ndarray) -> np.ndarray:
    """As :func:`obstruction_factor` of many walls at once; a distance is missing where no obstacle counts. [m]

    Examples
    --------
    >>> obstruction_factors(np.array([2.0, 8.0, 500.0, np.nan])).tolist()
    [0.2, 0.3, 1.0, 1.0]
    """
    rows = load_table("obstruction")["row"]
    reached = np.searchsorted([row["from"] for row in rows], distances, side="right")
    factor = np.array([row["obstruction_factor"] for row in rows])
    return np.where(np.isnan(distances), factor[-1], factor[np.maximum(reached - 1, 0)])


def nearer_than_table(distance: float | None) -> bool:
    """True when an obstacle stands nearer than the table's first band, which is worth a flag."""
    return distance is not None and distance < load_table("obstruction")["row"][0]["from"]
