"""The pressure likely once in some years, from yearly maxima or, in a short record, from the peaks of its rainy days.

Ten years and more with an hour of heavy rain: a Gumbel fit by moments to the yearly maxima, the published way. Fewer:
the strongest hour of each rainy day, over all years together. Above their median such peaks fall off about
exponentially, since wind speeds are commonly spread like a Weibull curve of shape 2 and the pressure goes with their
square; the value of the return period is read off that tail. The strongest tenth of the days counts by its number and
not by its size (an exponential censored at that peak), so that no single hour decides. Where too few days reach the
least rain, it is lowered in steps until enough do.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from exposure.rain.extremes import gumbel_value
from exposure.rain.uncertainty import RESAMPLES, SEED, widened_tail

HEAVY_RAIN = 1.8  # mm in the hour; Canadian driving-rain wind pressure (from memory, not checked)
LOWERED = (1.0, 0.5, 0.2)  # mm; steps below it where too few days reach it; our choice
LEAST_YEARS = 10  # with an hour that counts, for a fit to yearly maxima
LEAST_DAYS = 20  # with an hour that counts, for the least rain not to be lowered; our choice
LEAST_TAIL = 5  # days for a tail; fewer give their largest; our choice
TAIL = 0.5  # share of the days that make the tail; our choice
BY_NUMBER = 0.1  # share of the days that count by number, not by size; our choice
NINE_IN_TEN = 1.645  # standard deviations either side
TAIL_DOUBT = 1.25  # either way, for the shape of the tail: winds of Weibull shape 1.6 to 2 tried; our choice
YEARLY, DAILY, LARGEST, NONE = "yearly maxima", "rainy days", "largest", "none"  # how a value was found


class Tail(NamedTuple):
    """An exponential tail above ``start``."""

    start: float  # Pa
    scale: float  # Pa
    days: int  # in the tail
    sized: int  # of them, those that count by size; the scale is known to about one part in their square root

    def value(self, times: float) -> float:
        """What is passed once when ``times`` days of the tail come by. [Pa]"""
        return self.start + self.scale * float(np.log(max(times, 1.0)))


class Estimate(NamedTuple):
    """A value likely once in the return period. [Pa]"""

    value: float
    low: float  # with high: meant to hold nine in ten, tried to hold about eight
    high: float  # missing where the largest is all there is
    found_by: str  # YEARLY, DAILY, LARGEST or NONE
    years: int  # with an hour that counts
    days: int


def tail_of(peaks: np.ndarray) -> Tail:
    """Exponential tail of the daily ``peaks``, the strongest tenth by number alone.

    Examples
    --------
    >>> quantiles = -10 * np.log(1 - (np.arange(1000) + 0.5) / 1000)  # exponential with a mean of 10
    >>> tail = tail_of(quantiles)
    >>> round(tail.start, 1), round(tail.scale, 1), tail.sized
    (6.9, 10.0, 400)
    """
    ordered = np.sort(np.asarray(peaks, dtype=float))
    upper = max(int(np.ceil(TAIL * ordered.size)), 2)
    by_number = min(max(int(np.ceil(BY_NUMBER * ordered.size)), 1), upper - 1)
    start = float(ordered[-upper - 1]) if ordered.size > upper else 0.0
    above = ordered[-upper:] - start
    sized = upper - by_number
    scale = float(np.minimum(above, above[sized - 1]).sum() / sized)
    return Tail(start, scale, upper, sized)


def estimate(
    pressure: np.ndarray, day: np.ndarray, year: np.ndarray, *, years: int, return_period: float
) -> Estimate:
    """Value likely once in ``return_period`` years.

    Parameters
    ----------
    pressure
        Of each hour that counts; hours without any may be left in. [Pa]
    day, year
        Number of the day and the year of each.
    years
        Years known well enough, with or without such an hour.

    Examples
    --------
    >>> one = estimate(np.array([50.0, 40.0]), np.array([1, 2]), np.array([2000, 2000]), years=1, return_period=5)
    >>> one.value, one.found_by
    (50.0, 'largest')
    """
    some = pressure > 0
    pressure, day, year = pressure[some], day[some], year[some]
    peaks, maxima = _largest(pressure, day), _largest(pressure, year)
    if maxima.size >= LEAST_YEARS:
        low, high = _redrawn(maxima, return_period)
        value = float(gumbel_value(maxima, return_period))
        return Estimate(value, min(low, value), max(high, value), YEARLY, maxima.size, peaks.size)
    if peaks.size >= LEAST_TAIL:
        tail = tail_of(peaks)
        often = tail.days / years * return_period
        spread = float(np.exp(NINE_IN_TEN / np.sqrt(tail.sized)))
        value, low, high = (
            tail._replace(scale=tail.scale * by).value(often) for by in (1.0, 1 / spread, spread)
        )
        return Estimate(value, low / TAIL_DOUBT, high * TAIL_DOUBT, DAILY, maxima.size, peaks.size)
    value = float(peaks.max(initial=0.0))
    return Estimate(
        value, value, np.nan if peaks.size else 0.0, LARGEST if peaks.size else NONE, maxima.size, peaks.size
    )


def least_rain(
    rain: np.ndarray, day: np.ndarray, year: np.ndarray, *, steps: Sequence[float], lowest: Callable
) -> tuple[np.ndarray, float | None]:
    """Which hours count, and the least rain of theirs; None for every wet hour.

    The first of ``steps`` [mm] that ten years reach or twenty days; ``lowest()`` where none is.

    Examples
    --------
    >>> rain = np.array([2.0, 1.2] + 30 * [0.6])
    >>> counting, least = least_rain(rain, np.arange(32), np.full(32, 2000), steps=(1.8, 1.0, 0.5), lowest=None)
    >>> int(counting.sum()), least
    (32, 0.5)
    """
    for step in steps:
        counting = rain >= step - 1e-4
        if np.unique(year[counting]).size >= LEAST_YEARS or np.unique(day[counting]).size >= LEAST_DAYS:
            return counting, step
    return lowest(), None


def _largest(values: np.ndarray, of: np.ndarray) -> np.ndarray:
    """Largest value of each day or year that has any."""
    names, place = np.unique(of, return_inverse=True)
    largest = np.zeros(names.size)
    np.maximum.at(largest, place, values)
    return largest


def _redrawn(maxima: np.ndarray, return_period: float) -> tuple[float, float]:
    """Nine in ten of the fits to whole years drawn again."""
    draws = np.random.default_rng(SEED).integers(0, maxima.size, (maxima.size, RESAMPLES))
    tail = widened_tail(maxima.size)
    low, high = np.quantile(gumbel_value(maxima[draws], return_period), [tail, 1 - tail])
    return float(low), float(high)
