"""How sure an index is: whole years drawn again and again from the record, and what that does to the figure."""

from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from exposure.rain.extremes import likely_spell
from exposure.tables import load_table

RESAMPLES = 1000
SEED = 15927  # fixed, so that the same record gives the same band
BAND = 0.90  # nominal share of the truth the band should hold
LEAST_YEARS = (
    5  # fewer give no band: bands of 2 to 4 years were found to hold the truth in 42 to 84 % of repeats
)
EQUAL = (
    1e-9  # part of a figure within which two are the same, as two walls of one facing may differ by rounding
)


class Resamples(NamedTuple):
    """Indices of every resample; shape (resample, wall), annual [L m-2 year-1] and spell [L m-2]."""

    annual: np.ndarray
    spell: np.ndarray
    years: int


def resample_years(
    yearly_annual: np.ndarray,
    yearly_maxima: np.ndarray,
    *,
    resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Resamples:
    """Indices of ``resamples`` records, each of as many years drawn with replacement from the real ones.

    All walls share each draw, so that their rank can be compared within it.

    Parameters
    ----------
    yearly_annual, yearly_maxima
        One value a year and wall, shape (year, wall). [L m-2]

    Examples
    --------
    >>> drawn = resample_years(np.array([[1.0], [3.0]]), np.array([[1.0], [3.0]]), resamples=4)
    >>> drawn.annual.shape, set(drawn.annual.ravel().tolist()) <= {1.0, 2.0, 3.0}
    ((4, 1), True)
    """
    annual, maxima = np.asarray(yearly_annual, dtype=float), np.asarray(yearly_maxima, dtype=float)
    years = annual.shape[0]
    draws = np.random.default_rng(seed).integers(0, years, (years, resamples))
    return Resamples(annual[draws].mean(0), likely_spell(maxima[draws]), years)


def student_quantile(probability: float, degrees: int) -> float:
    """Quantile of Student's t, by the expansion in 1/degrees (Handbook of Mathematical Functions, 26.7.5).

    Good to 0.01 from 4 degrees on for tails of 5 %; coarser below.

    Examples
    --------
    >>> round(student_quantile(0.95, 19), 3)
    1.729
    """
    x = NormalDist().inv_cdf(probability)
    v = float(degrees)
    return (
        x
        + (x**3 + x) / (4 * v)
        + (5 * x**5 + 16 * x**3 + 3 * x) / (96 * v**2)
        + (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / (384 * v**3)
        + (79 * x**9 + 776 * x**7 + 1482 * x**5 - 1920 * x**3 - 945 * x) / (92160 * v**4)
    )


def widened_tail(years: int, *, band: float = BAND) -> float:
    """Share of resamples cut off at each end, widened for a short record.

    Plain resampling of n years gives bands too narrow by sqrt(n / (n - 1)) and by Student's t against the
    normal; taking percentiles further out makes up for both (Am. Stat. 69 (2015), 371, from memory).

    Examples
    --------
    >>> round(widened_tail(20), 3)
    0.038
    """
    if years < 2:
        return np.nan
    out = np.sqrt(years / (years - 1)) * student_quantile((1 - band) / 2, years - 1)
    return NormalDist().cdf(float(out))


def same(one: float, other: float) -> bool:
    """Whether two figures are the same but for rounding.

    Examples
    --------
    >>> same(0.1 + 0.2, 0.3), same(0.3, 0.31)
    (True, False)
    """
    return abs(one - other) <= EQUAL * max(abs(one), abs(other))


def has_band(years: int) -> bool:
    """Whether a record of so many years says how sure its figures and their order are.

    Examples
    --------
    >>> has_band(4), has_band(5)
    (False, True)
    """
    return years >= LEAST_YEARS


def band_of(drawn: np.ndarray, estimate: np.ndarray, years: int) -> tuple[np.ndarray, np.ndarray]:
    """Lower and upper end of the 90 % band of each wall; it always holds the estimate. Missing below five years.

    Parameters
    ----------
    drawn
        Index of each resample, shape (resample, wall).
    estimate
        The index itself, shape (wall,).
    years
        Years of the record.

    Examples
    --------
    >>> low, high = band_of(np.linspace(0, 100, 1001)[:, None], np.array([50.0]), 1000)
    >>> round(float(low[0])), round(float(high[0]))
    (5, 95)
    """
    estimate = np.asarray(estimate, dtype=float)
    if not has_band(years):
        return np.full_like(estimate, np.nan), np.full_like(estimate, np.nan)
    tail = widened_tail(years)
    low, high = np.quantile(drawn, [tail, 1 - tail], axis=0)
    return np.minimum(low, estimate), np.maximum(high, estimate)


def band_of_difference(
    first: np.ndarray,
    first_band: tuple[np.ndarray, np.ndarray],
    second: np.ndarray,
    second_band: tuple[np.ndarray, np.ndarray],
) -> tuple[np.ndarray, np.ndarray]:
    """Band of ``second - first``, of two records whose years have nothing to do with each other.

    Put together from the bands of both: each end lies as far out as the squares of the two distances that lead there
    add up to (Stat. Med. 27 (2008), 1693, from memory). Missing where a band is.

    Examples
    --------
    >>> low, high = band_of_difference(10.0, (7.0, 14.0), 20.0, (16.0, 26.0))
    >>> round(float(low), 3), round(float(high), 3)  # 10 less the root of 16 and 16; 10 and the root of 9 and 36
    (4.343, 16.708)
    """
    (low1, high1), (low2, high2) = first_band, second_band
    change = np.subtract(second, first)
    down = np.hypot(np.subtract(second, low2), np.subtract(high1, first))
    up = np.hypot(np.subtract(high2, second), np.subtract(first, low1))
    return change - down, change + up


def worst_shares(drawn: np.ndarray) -> np.ndarray:
    """Share of resamples in which each wall has the largest index; ties are split evenly.

    Parameters
    ----------
    drawn
        Wall index of each resample, shape (resample, wall).

    Examples
    --------
    >>> worst_shares(np.array([[1.0, 2.0], [3.0, 2.0], [0.0, 9.0], [5.0, 5.0]])).tolist()
    [0.375, 0.625]
    """
    top = drawn >= drawn.max(axis=1, keepdims=True) * (1 - EQUAL)
    return (top / top.sum(axis=1, keepdims=True)).mean(axis=0)


def band_statement(years: int) -> str:
    """What the band is, and how often it was found to hold the truth.

    The figure is measured on weather of known truth (table ``band_coverage``, made by
    ``tests/test_uncertainty_coverage.py``), for the longest record tried that is no longer than ``years``.
    """
    if years < 2:
        return "One year gives no band: nothing says how much another year would differ."
    if not has_band(years):
        return f"{years} years give no band: tried on made-up weather, bands of so few years held the truth too seldom."
    row = [row for row in load_table("band_coverage")["row"] if row["years"] <= years][-1]
    return (
        f"Bands: whole years drawn again, {BAND:.0%} meant. Tried on made-up weather of known truth with "
        f"{row['years']} years, the band held it in {row['annual_share']:.0%} (a year) and "
        f"{row['spell_share']:.0%} (worst spell) of {row['repeats']:,} repeats. "
        "They tell of the years alone, not of the weather source, the ground or the method."
    )
