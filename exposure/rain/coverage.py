"""Which years count: the one rule of coverage, for a place, a grid and the pressures alike.

A year counts when its rain is known in nine tenths of its hours and the wind in nine tenths of its rain. What is
missing is made up for by two factors; missing is never taken for dry.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from exposure.clock import TYPICAL_YEAR, hours_in_year

LEAST_COVERAGE = 0.9  # share of a year's hours with rain known, and of its rain with wind known; our choice
FEW_YEARS = 10  # fewer are computed and called indicative (from memory)


class YearAccount(NamedTuple):
    """What is known of each year, years along the first axis."""

    coverage: np.ndarray  # share of hours with rain known
    rain_known_with_wind: np.ndarray  # share of the rain
    hours_scaling: np.ndarray
    rain_scaling: np.ndarray
    counts: np.ndarray  # whether the year counts


def whole_year(year: int, calendar: str, kind: str = "gauge") -> int:
    """Hours a year should hold; a typical year, stitched from several, has no leap day.

    Examples
    --------
    >>> whole_year(2012, "standard"), whole_year(2012, "standard", "typical year")
    (8784, 8760)
    """
    hours = hours_in_year(year, calendar)
    return min(hours, hours_in_year(2001, calendar)) if kind == TYPICAL_YEAR else hours


def year_counts(coverage: np.ndarray | float, known_with_wind: np.ndarray | float) -> np.ndarray:
    """Whether a year counts, by the share of its hours with rain known and the share of its rain with wind known.

    Examples
    --------
    >>> year_counts([0.9, 0.89, 1.0], [0.95, 1.0, 0.5]).tolist()
    [True, False, False]
    """
    return (np.asarray(coverage) >= LEAST_COVERAGE) & (np.asarray(known_with_wind) >= LEAST_COVERAGE)


def account_of_years(
    *,
    years: Sequence[int],
    calendar: str,
    hours_known: np.ndarray,
    rain: np.ndarray,
    rain_with_wind: np.ndarray,
    kind: str = "gauge",
) -> YearAccount:
    """Coverage and scaling of each year; arrays of shape (year, ...).

    Parameters
    ----------
    hours_known
        Hours with rain known. [h]
    rain, rain_with_wind
        Where rain is known, and where the wind speed is too. [mm]

    Examples
    --------
    >>> account = account_of_years(years=[2011], calendar="standard", hours_known=np.array([8000]),
    ...     rain=np.array([500.0]), rain_with_wind=np.array([475.0]))
    >>> account.coverage.round(4).tolist(), account.rain_scaling.round(4).tolist(), account.counts.tolist()
    ([0.9132], [1.0526], [True])
    """
    hours = np.array([whole_year(int(year), calendar, kind) for year in years], dtype=float)
    coverage = np.minimum(hours_known / hours.reshape(-1, *[1] * (np.ndim(hours_known) - 1)), 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(rain > 0, rain_with_wind / rain, 1.0)
        hours_scaling = np.where(coverage > 0, 1 / coverage, np.nan)
        rain_scaling = np.where(share > 0, 1 / share, np.nan)
    return YearAccount(coverage, share, hours_scaling, rain_scaling, year_counts(coverage, share))
