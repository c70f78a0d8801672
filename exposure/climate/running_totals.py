"""Rain that grows and falls back at set hours: a running total, told from rain of each hour by its steps.

Rain of single hours goes up and down at any hour. A total grows until it is set back: every 3, 6, 12 or 24 hours,
at the start of a month or of a model run. So what counts is at which hours of the day rain falls back, and how
seldom it does so at all.
"""

from typing import NamedTuple

import numpy as np

LEAST_STEP = 0.02  # mm by which two hours must differ to count as a step; our choice
PACKED_STEP = (
    2e-4  # share of the larger of the two added to it: what rounding of packed totals makes; our choice
)
PERIODS = (2, 3, 4, 6, 8, 12)  # hours, divisors of a day, besides the day itself
LEAST_FALLS = (
    24  # falls without one at another hour that no weather makes by chance (2^-23 and less); our choice
)
LEAST_DAYS = 3  # falls at one and the same hour of the day that make a daily total; our choice
AT_ONE_PHASE = 0.99  # share of falls at the set hours; our choice
SELDOM = 10  # rises to each fall that no weather makes over a whole record; our choice
LEAST_RISES = 48  # such a record must show; our choice
LONGER = 0  # stands for a period longer than a day


class RunningTotal(NamedTuple):
    """How a total is set back."""

    period: int  # hours between two resets; LONGER than a day where it is 0
    phase: int  # hour of the day (UTC) of a first hour after a reset, below ``period``

    @property
    def words(self) -> str:
        """How often it is set back, for a sentence.

        Examples
        --------
        >>> RunningTotal(3, 1).words, RunningTotal(LONGER, 0).words
        ('every 3 hours', 'hardly ever')
        """
        if self.period == LONGER:
            return "hardly ever"
        return "once a day" if self.period == 24 else f"every {self.period} hours"


def no_steps() -> np.ndarray:
    """Counts of nothing: rises and falls by the hour of the day, shape (24, 2)."""
    return np.zeros((24, 2), dtype=np.int64)


def count_steps(rain: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Rises and falls of ``rain`` [mm, time first] by the hour of the day at which they end, shape (24, 2).

    Only hours that follow each other count, and missing hours make no step.

    Examples
    --------
    >>> steps = count_steps(np.array([0.0, 1.0, 3.0, 0.5]), np.array([22, 23, 24, 25]))
    >>> [(hour, *steps[hour].tolist()) for hour in (23, 0, 1)]
    [(23, 1, 0), (0, 1, 0), (1, 0, 1)]
    """
    hours = np.asarray(hours)
    flat = np.asarray(rain).reshape(hours.size, -1)
    step = np.diff(flat, axis=0)
    with np.errstate(invalid="ignore"):
        noise = LEAST_STEP + PACKED_STEP * np.maximum(np.abs(flat[1:]), np.abs(flat[:-1]))
        follows = (np.diff(hours) == 1)[:, None]
        rises = np.count_nonzero((step > noise) & follows, axis=1)
        falls = np.count_nonzero((step < -noise) & follows, axis=1)
    steps = no_steps()
    np.add.at(steps[:, 0], hours[1:] % 24, rises)
    np.add.at(steps[:, 1], hours[1:] % 24, falls)
    return steps


def running_total(steps: np.ndarray) -> RunningTotal | None:
    """How the total behind ``steps`` (:func:`count_steps`) is set back; None where it is no total, or cannot be told.

    Examples
    --------
    >>> hours = np.arange(1, 24 * 30 + 1)
    >>> running_total(count_steps((hours - 1) % 6 + 1.0, hours))
    RunningTotal(period=6, phase=1)
    >>> running_total(count_steps(hours + 0.0, hours))
    RunningTotal(period=0, phase=0)
    >>> running_total(count_steps(np.sin(hours) ** 2, hours)) is None
    True
    """
    rises, falls = steps[:, 0], steps[:, 1]
    up, down = int(rises.sum()), int(falls.sum())
    usual = int(np.argmax(falls))
    if falls[usual] >= LEAST_DAYS and falls[usual] >= AT_ONE_PHASE * down and up > down:
        return RunningTotal(24, usual)
    if down >= LEAST_FALLS:
        for period in reversed(PERIODS):
            by_phase = falls.reshape(-1, period).sum(0)
            phase = int(np.argmax(by_phase))
            grown = up - int(rises.reshape(-1, period).sum(0)[phase])  # rises at the other hours
            if by_phase[phase] >= AT_ONE_PHASE * down and grown > down / 2:
                return RunningTotal(period, phase)
    if up >= LEAST_RISES and up >= SELDOM * down:
        return RunningTotal(LONGER, 0)
    return None


def is_hourly(steps: np.ndarray) -> bool:
    """Whether ``steps`` show rain of single hours beyond doubt: it falls back often, and at many hours of the day.

    Examples
    --------
    >>> hours = np.arange(24 * 30)
    >>> is_hourly(count_steps(np.sin(hours) ** 2, hours)), is_hourly(count_steps(hours % 24.0, hours))
    (True, False)
    """
    falls = steps[:, 1]
    return bool(
        falls.sum() >= LEAST_FALLS and falls.max() < 0.5 * falls.sum() and running_total(steps) is None
    )


def looks_accumulated(rain: np.ndarray, hours: np.ndarray) -> bool:
    """Whether ``rain`` [mm, time first] grows and is set back only at set hours.

    Examples
    --------
    >>> hours = np.arange(1, 24 * 5 + 1)
    >>> since_midnight = (hours - 1) % 24 + 1.0
    >>> looks_accumulated(since_midnight, hours), looks_accumulated(np.sin(hours) ** 2, hours)
    (True, False)
    """
    return running_total(count_steps(np.asarray(rain, dtype=float), hours)) is not None
