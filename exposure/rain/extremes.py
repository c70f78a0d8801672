"""From yearly maxima to the value likely once in some years.

Two ways are kept beside each other. The percentile reads the value off the yearly maxima themselves. The Gumbel fit
lays a curve for yearly largest values through their mean and spread and reads it there, so that one rare year counts
by its size. The larger of the two is the one figure that is shown and that decides.
"""

import numpy as np

from exposure.clock import TYPICAL_YEAR
from exposure.rain.coverage import FEW_YEARS

SPELL_RETURN = 3.0  # years; the worst spell in three years, ISO 15927-3
SPELL_PERCENTILE = 67.0  # % of yearly maxima, ISO 15927-3 (from memory, not checked)
EULER_GAMMA = 0.5772156649015329


def gumbel_factor(return_period: float) -> float:
    """How many standard deviations above the mean of yearly maxima the T-year value lies.

    Method of moments for a Gumbel distribution.

    Examples
    --------
    >>> round(gumbel_factor(5), 4)
    0.7194
    """
    reduced = -np.log(-np.log(1 - 1 / return_period))
    return float(np.sqrt(6) / np.pi * (reduced - EULER_GAMMA))


def gumbel_value(
    yearly_maxima: np.ndarray, return_period: float, counts: np.ndarray | None = None
) -> np.ndarray:
    """Value likely to be reached once in ``return_period`` years, Gumbel fitted by moments (n - 1).

    Parameters
    ----------
    yearly_maxima
        Years along the first axis. Fewer than two years give missing.
    return_period
        In years, more than 1.
    counts
        Which years count, broadcast against the maxima; all where not given.

    Examples
    --------
    >>> round(float(gumbel_value([10, 20, 30, 40, 50, 60, 70, 80, 90, 100], 3)), 2)
    62.68
    """
    maxima = np.asarray(yearly_maxima, dtype=float)
    if counts is not None:
        number = counts.sum(0)
        mean = mean_of_years(maxima, counts)
        squares = np.where(counts, (maxima - mean) ** 2, 0.0).sum(0)
        spread = np.sqrt(squares / np.where(number > 1, number - 1, np.nan))
        return mean + gumbel_factor(return_period) * spread
    if maxima.shape[0] < 2:
        return np.full(maxima.shape[1:], np.nan)
    return maxima.mean(0) + gumbel_factor(return_period) * maxima.std(0, ddof=1)


def percentile_value(yearly_maxima: np.ndarray, counts: np.ndarray | None = None) -> np.ndarray:
    """The 67 % percentile of yearly maxima (first axis), linear between order statistics.

    Parameters
    ----------
    counts
        Which years count, broadcast against the maxima; all where not given. Missing where none does.

    Examples
    --------
    >>> maxima = np.array([10, 20, 30, 40, 50, 60, 70, 80, 90, 100])
    >>> round(float(percentile_value(maxima)), 6), round(float(percentile_value(maxima, maxima > 0)), 6)
    (70.3, 70.3)
    """
    maxima = np.asarray(yearly_maxima, dtype=float)
    share = SPELL_PERCENTILE / 100
    if counts is None:
        return np.quantile(maxima, share, axis=0)
    ordered = np.sort(np.where(counts, maxima, np.inf), axis=0)
    last = np.maximum(counts.sum(0) - 1, 0)
    place = last * share
    below = np.floor(place).astype(int)
    low, high = (np.take_along_axis(ordered, at[None], 0)[0] for at in (below, np.minimum(below + 1, last)))
    part = place - below
    with np.errstate(invalid="ignore"):
        step = high - low
        value = np.where(part < 0.5, low + step * part, high - step * (1 - part))
    return np.where(counts.any(0), value, np.nan)


def mean_of_years(yearly: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Mean over the years (first axis) that count; missing where none does.

    Examples
    --------
    >>> mean_of_years(np.array([[1.0, 5.0], [3.0, 7.0]]), np.array([[True, False], [True, True]])).tolist()
    [2.0, 7.0]
    """
    number = counts.sum(0)
    return np.where(counts, yearly, 0.0).sum(0) / np.where(number > 0, number, np.nan)


def likely_spell(yearly_maxima: np.ndarray, counts: np.ndarray | None = None) -> np.ndarray:
    """The worst spell in three years: the larger of percentile and Gumbel estimate; years first. [L m-2]

    A standard's percentile alone can under-estimate the spell (J. Wind Eng. Ind. Aerodyn. 180 (2018), 88).

    Examples
    --------
    >>> round(float(likely_spell([10, 20, 30, 40, 50, 60, 70, 80, 90, 100])), 6)
    70.3
    """
    return np.fmax(percentile_value(yearly_maxima, counts), gumbel_value(yearly_maxima, SPELL_RETURN, counts))


def spell_label(years: int, *, kind: str) -> str:
    """What the worst spell of a record may be called, by the years it counts.

    Examples
    --------
    >>> spell_label(12, kind="gauge")
    'in the worst spell in three years'
    >>> spell_label(1, kind="gauge")
    'in the worst spell of the one year of this record'
    """
    if kind == TYPICAL_YEAR:
        return "in the worst spell of the one stitched year of this record"
    if years == 1:
        return "in the worst spell of the one year of this record"
    if years < SPELL_RETURN:
        return f"in the worst spell judged from the {years} years of this record"
    if years < FEW_YEARS:
        return f"in the worst spell in three years, judged from {years} years"
    return "in the worst spell in three years"
