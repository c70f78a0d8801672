"""From the years of many cells to their indices: coverage, scaling, mean year, percentile and Gumbel fit.

The rules are those of one place (:mod:`exposure.rain.index`); here each cell may count other years.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from exposure.clock import hours_in_year
from exposure.rain.extremes import SPELL_PERCENTILE, SPELL_RETURN, gumbel_factor
from exposure.rain.index import LEAST_COVERAGE
from exposure.rain.streaming import YearOfCells


class YearAccount(NamedTuple):
    """What is known of each year of each cell, shape (year, cell)."""

    coverage: np.ndarray  # share of hours with rain known
    rain_known_with_wind: np.ndarray  # share of the rain
    hours_scaling: np.ndarray
    rain_scaling: np.ndarray
    counts: np.ndarray  # whether the year counts for the cell


def account_of_years(
    *,
    years: Sequence[int],
    calendar: str,
    hours_known: np.ndarray,
    rain: np.ndarray,
    rain_without_wind: np.ndarray,
) -> YearAccount:
    """Coverage and scaling of each year and cell, arrays of shape (year, cell).

    Examples
    --------
    >>> account = account_of_years(years=[2011], calendar="standard", hours_known=np.array([[8000]]),
    ...     rain=np.array([[500.0]]), rain_without_wind=np.array([[25.0]]))
    >>> account.coverage.round(4).tolist(), account.rain_scaling.round(4).tolist(), account.counts.tolist()
    ([[0.9132]], [[1.0526]], [[True]])
    """
    whole = np.array([hours_in_year(int(year), calendar) for year in years], dtype=float)[:, None]
    coverage = np.minimum(hours_known / whole, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(rain > 0, (rain - rain_without_wind) / rain, 1.0)
        hours_scaling = np.where(coverage > 0, 1 / coverage, np.nan)
        rain_scaling = np.where(share > 0, 1 / share, np.nan)
    counts = (coverage >= LEAST_COVERAGE) & (share >= LEAST_COVERAGE)
    return YearAccount(coverage, share, hours_scaling, rain_scaling, counts)


def account_of(years: Sequence[YearOfCells], calendar: str) -> YearAccount:
    """The account of a list of years as the stream hands them out."""
    return account_of_years(
        years=[year.year for year in years],
        calendar=calendar,
        hours_known=np.stack([year.hours_known for year in years]),
        rain=np.stack([year.rain for year in years]),
        rain_without_wind=np.stack([year.rain_without_wind for year in years]),
    )


def mean_of_counted(values: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Mean over the years (first axis) that count; missing where none does.

    Examples
    --------
    >>> mean_of_counted(np.array([[1.0, 5.0], [3.0, 7.0]]), np.array([[True, False], [True, True]])).tolist()
    [2.0, 7.0]
    """
    number = counts.sum(0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(counts, values, 0.0).sum(0) / np.where(number > 0, number, np.nan)


def percentile_of_counted(values: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """The 67 % percentile over the years that count, linear between order statistics.

    Examples
    --------
    >>> values = np.arange(10.0, 101.0, 10.0)[:, None]
    >>> percentile_of_counted(values, np.ones((10, 1), bool)).round(6).tolist()
    [70.3]
    """
    ordered = np.sort(np.where(counts, values, np.inf), axis=0)
    number = counts.sum(0)
    place = np.maximum(number - 1, 0) * SPELL_PERCENTILE / 100
    below = np.floor(place).astype(int)
    above = np.minimum(below + 1, np.maximum(number - 1, 0))
    low = np.take_along_axis(ordered, below[None], 0)[0]
    high = np.take_along_axis(ordered, above[None], 0)[0]
    with np.errstate(invalid="ignore"):
        return np.where(number > 0, low + (high - low) * (place - below), np.nan)


def gumbel_of_counted(
    values: np.ndarray, counts: np.ndarray, return_period: float = SPELL_RETURN
) -> np.ndarray:
    """Gumbel value over the years that count, by moments (n - 1); missing for fewer than two years.

    Examples
    --------
    >>> values = np.arange(10.0, 101.0, 10.0)[:, None]
    >>> gumbel_of_counted(values, np.ones((10, 1), bool)).round(2).tolist()
    [62.68]
    """
    number = counts.sum(0)
    mean = mean_of_counted(values, counts)
    squares = np.where(counts, (values - mean) ** 2, 0.0).sum(0)
    with np.errstate(invalid="ignore", divide="ignore"):
        spread = np.sqrt(squares / np.where(number > 1, number - 1, np.nan))
    return mean + gumbel_factor(return_period) * spread
