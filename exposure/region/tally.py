"""What a pass counts of every cell beside its index: impossible values, rain and calm; and how rain rises and falls.

A reader of one cell sees its whole record and refuses what cannot be. A pass sees each hour once and forgets it, so it
counts as it goes; what the counts say of a cell is decided at the end, by the limits that hold for one cell.
"""

from typing import NamedTuple

import numba
import numpy as np

from exposure.climate.cf_blocks import PACKING_NOISE, PACKING_NOISE_DIFFERENCE
from exposure.climate.cf_names import SINCE_MIDNIGHT
from exposure.climate.grid_totals import LEAST_STEP, PACKED_STEP, no_steps
from exposure.terms import TERMS

MOST_RAIN = np.float32(TERMS["rain"]["high"])
MOST_WIND_SQUARED = np.float32(TERMS["wind_speed"]["high"] ** 2)


class Tally(NamedTuple):
    """Counts of the cells of a column, one entry a cell, and of all of them together.

    Attributes
    ----------
    impossible
        Values of wind or rain that cannot be.
    known, rain
        Hours with rain known, and their sum. [mm]
    wet
        Hours with any rain.
    windy, calm
        Hours with wind known, and those of no wind at all.
    hours
        Hours looked at, one number.
    steps
        Rises and falls of the rain of all cells by hour of the day, as
        :func:`exposure.climate.grid_totals.count_steps`.
    """

    impossible: np.ndarray
    known: np.ndarray
    rain: np.ndarray
    wet: np.ndarray
    windy: np.ndarray
    calm: np.ndarray
    hours: np.ndarray
    steps: np.ndarray


def empty_tally(cells: int) -> Tally:
    """Counts of nothing.

    Examples
    --------
    >>> empty_tally(3).impossible.tolist()
    [0, 0, 0]
    """

    def none() -> np.ndarray:
        return np.zeros(cells, dtype=np.int64)

    return Tally(
        impossible=none(),
        known=none(),
        rain=np.zeros(cells),
        wet=none(),
        windy=none(),
        calm=none(),
        hours=np.zeros(1, dtype=np.int64),
        steps=no_steps(),
    )


def noise_of(rain_rule: str) -> float:
    """How far below zero rounding of packed numbers can bring rain. [mm]"""
    return PACKING_NOISE_DIFFERENCE if rain_rule == SINCE_MIDNIGHT else PACKING_NOISE


def settle_and_count(
    tally: Tally,
    rain: np.ndarray,
    east: np.ndarray,
    north: np.ndarray,
    *,
    stamps: np.ndarray,
    noise: float,
) -> None:
    """Count a stretch of hours, and settle its rain in place: a hair below zero is zero, what cannot be is missing.

    Parameters
    ----------
    rain, east, north
        Shape (hour, cell), float32; rain in mm of the hour, snow still in it, wind in m/s.
    stamps
        Hours since 1970.

    Examples
    --------
    >>> tally = empty_tally(1)
    >>> rain = np.array([[0.5], [-0.001], [-3.0], [900.0]], np.float32)
    >>> wind = np.array([[5.0], [0.0], [np.nan], [80.0]], np.float32)
    >>> settle_and_count(tally, rain, wind, 0 * wind, stamps=np.arange(4), noise=0.01)
    >>> rain[:, 0].tolist(), int(tally.impossible[0]), int(tally.known[0]), int(tally.calm[0])
    ([0.5, 0.0, nan, nan], 3, 2, 1)
    """
    _count(
        rain,
        east,
        north,
        np.asarray(stamps),
        np.float32(noise),
        tally.impossible,
        tally.known,
        tally.rain,
        tally.wet,
        tally.windy,
        tally.calm,
        tally.steps,
    )
    tally.hours[0] += stamps.size


@numba.njit(nogil=True, cache=True)
def _count(rain, east, north, stamps, noise, impossible, known, total, wet, windy, calm, steps):
    cells = rain.shape[1]
    for i in range(rain.shape[0]):
        hour = stamps[i] % 24
        follows = i > 0 and stamps[i] - stamps[i - 1] == 1
        rises = falls = 0
        for c in range(cells):
            r = rain[i, c]
            if r < 0 or r > MOST_RAIN:
                if r >= -noise and r < 0:
                    r = np.float32(0)
                else:
                    r = np.float32(np.nan)
                    impossible[c] += 1
                rain[i, c] = r
            if r >= 0:
                known[c] += 1
                if r > 0:
                    wet[c] += 1
                    total[c] += r
                if follows:
                    before = rain[i - 1, c]
                    edge = LEAST_STEP + PACKED_STEP * max(r, before)
                    if r > before + edge:
                        rises += 1
                    elif r < before - edge:
                        falls += 1
            squared = east[i, c] * east[i, c] + north[i, c] * north[i, c]
            if squared >= 0:
                windy[c] += 1
                if squared == 0:
                    calm[c] += 1
                elif squared > MOST_WIND_SQUARED:
                    impossible[c] += 1
        steps[hour, 0] += rises
        steps[hour, 1] += falls
