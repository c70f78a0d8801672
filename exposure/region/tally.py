"""What a pass counts of every cell beside its index: impossible values, rain and calm; and how rain rises and falls.

A reader of one cell sees its whole record and refuses what cannot be. A pass sees each hour once and forgets it, so it
counts as it goes; what the counts say of a cell is decided at the end, by the limits that hold for one cell.
"""

from typing import NamedTuple

import numba
import numpy as np

from exposure.climate.grid.blocks import PACKING_NOISE, PACKING_NOISE_DIFFERENCE
from exposure.climate.grid.names import SINCE_MIDNIGHT
from exposure.climate.quality.rain import SENTINELS, STUCK_RAIN
from exposure.climate.quality.wind import DEAD_HOURS
from exposure.climate.running_totals import LEAST_STEP, PACKED_STEP, no_steps
from exposure.terms import TERMS

MOST_RAIN = np.float32(TERMS["rain"]["high"])
STUCK_ABOVE = np.float32(1.0)  # mm; the least rain whose standing still is odd, as for a record of one place
MOST_WIND_SQUARED = np.float32(TERMS["wind_speed"]["high"] ** 2)


class Tally(NamedTuple):
    """Counts of the cells of a column, one entry a cell, and of all of them together.

    Attributes
    ----------
    impossible
        Values of wind or rain that cannot be.
    known, rain
        Hours with rain known, and their sum. [mm]
    wet, tenths, off_step, coded
        Hours with any rain; those on a step of 0.1 mm; those off a step of 0.01 mm; those of a number that often
        stands for missing.
    known_then, longest_dry
        Hours with rain known up to the last rain, and the longest stretch of them without any before it.
    heavy, heavy_hour, heavy_run, stuck
        Last rain above 1 mm [mm], its hour, how long it has been the very same, and hours in such stretches.
    windy, calm
        Hours with wind known, and those of no wind at all.
    calm_hour, calm_run, dead
        Last hour of no wind, how many there have been on end, and hours in stretches of ten days and more.
    hours
        Hours looked at, one number.
    steps
        Rises and falls of the rain of all cells by hour of the day, as
        :func:`exposure.climate.running_totals.count_steps`.
    directions, largest_direction
        Directions of wind that blows, and the largest of them; one number each, 0 where the grid holds components.
    """

    impossible: np.ndarray
    known: np.ndarray
    rain: np.ndarray
    wet: np.ndarray
    tenths: np.ndarray
    off_step: np.ndarray
    coded: np.ndarray
    known_then: np.ndarray
    longest_dry: np.ndarray
    heavy: np.ndarray
    heavy_hour: np.ndarray
    heavy_run: np.ndarray
    stuck: np.ndarray
    windy: np.ndarray
    calm: np.ndarray
    calm_hour: np.ndarray
    calm_run: np.ndarray
    dead: np.ndarray
    hours: np.ndarray
    steps: np.ndarray
    directions: np.ndarray
    largest_direction: np.ndarray


def empty_tally(cells: int) -> Tally:
    """Counts of nothing.

    Examples
    --------
    >>> empty_tally(3).impossible.tolist()
    [0, 0, 0]
    """
    sums: dict[str, np.ndarray] = {
        "rain": np.zeros(cells),
        "heavy": np.zeros(cells, dtype=np.float32),
        "hours": np.zeros(1, dtype=np.int64),
        "steps": no_steps(),
        "directions": np.zeros(1, dtype=np.int64),
        "largest_direction": np.zeros(1),
    }
    return Tally(**{name: sums.get(name, np.zeros(cells, dtype=np.int64)) for name in Tally._fields})


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
    _count(tally, rain, east, north, np.asarray(stamps), np.float32(noise))
    tally.hours[0] += stamps.size


def count_directions(tally: Tally, direction: np.ndarray, speed: np.ndarray) -> None:
    """Add the directions of wind that blows, in degrees as declared.

    Examples
    --------
    >>> tally = empty_tally(1)
    >>> count_directions(tally, np.array([[350.0], [90.0], [np.nan]]), np.array([[0.0], [3.0], [3.0]]))
    >>> int(tally.directions[0]), float(tally.largest_direction[0])
    (1, 90.0)
    """
    known = direction[(speed > 0) & np.isfinite(direction)]
    if known.size:
        tally.directions[0] += known.size
        tally.largest_direction[0] = max(tally.largest_direction[0], float(known.max()))


@numba.njit(nogil=True, cache=True)
def _count(tally, rain, east, north, stamps, noise):
    """Row by row in short loops without branches, many cells at a time; what is rare has its own."""
    cells = rain.shape[1]
    known, windy = tally.known, tally.windy
    squared = np.empty(cells, np.float32)
    room = np.empty(cells, np.int32), np.empty(cells, np.float32), np.empty((2, cells), np.bool_)
    for i in range(rain.shape[0]):
        stamp = stamps[i]
        row = rain[i]
        wrong = 0
        for c in range(cells):
            wrong += (row[c] < 0) | (row[c] > MOST_RAIN)
        if wrong:
            _settle_row(tally, row, noise)
        for c in range(cells):
            known[c] += row[c] >= 0
        for c in range(cells):
            squared[c] = east[i, c] * east[i, c] + north[i, c] * north[i, c]
        unusual = 0
        for c in range(cells):
            windy[c] += squared[c] >= 0
            unusual += (squared[c] == 0) | (squared[c] > MOST_WIND_SQUARED)
        if unusual:
            _count_unusual_wind(tally, squared, stamp)
        _count_rain(tally, row, stamp, room)
        if i > 0 and stamp - stamps[i - 1] == 1:
            rises, falls = _count_steps(rain[i - 1], row)
            tally.steps[stamp % 24, 0] += rises
            tally.steps[stamp % 24, 1] += falls


@numba.njit(nogil=True, cache=True)
def _settle_row(tally, row, noise):
    for c in range(row.size):
        r = row[c]
        if r < 0 or r > MOST_RAIN:
            if r >= -noise and r < 0:
                row[c] = np.float32(0)
            else:
                row[c] = np.float32(np.nan)
                tally.impossible[c] += 1


@numba.njit(nogil=True, cache=True)
def _count_steps(before, row):
    """How many cells rise and fall by more than rounding makes."""
    rises = falls = 0
    for c in range(row.size):
        edge = LEAST_STEP + PACKED_STEP * max(row[c], before[c])
        rises += row[c] > before[c] + edge
        falls += row[c] < before[c] - edge
    return rises, falls


@numba.njit(nogil=True, cache=True)
def _count_unusual_wind(tally, squared, stamp):
    """Calm, and wind that cannot be."""
    for c in range(squared.size):
        if squared[c] == 0:
            tally.calm[c] += 1
            run = tally.calm_run[c] + 1 if tally.calm_hour[c] == stamp - 1 else 1
            tally.calm_run[c], tally.calm_hour[c] = run, stamp
            if run >= DEAD_HOURS:
                tally.dead[c] += DEAD_HOURS if run == DEAD_HOURS else 1
        elif squared[c] > MOST_WIND_SQUARED:
            tally.impossible[c] += 1


@numba.njit(nogil=True, cache=True)
def _count_rain(tally, row, stamp, room):
    at, wet, on_step = room
    number = 0
    for c in range(row.size):  # no branch: a dry cell is overwritten by the next one
        at[number] = c
        number += row[c] > 0
    for k in range(number):
        wet[k] = row[at[k]]
    for k in range(number):
        r = wet[k]
        slack = np.float32(0.001) * r + np.float32(1e-4)
        on_step[0, k] = abs(r - np.round(r * 10) / 10) <= slack
        on_step[1, k] = on_step[0, k] | (abs(r - np.round(r * 100) / 100) <= slack)
    heavy = 0
    for k in range(number):
        c = at[k]
        tally.wet[c] += 1
        tally.rain[c] += wet[k]
        dry = tally.known[c] - tally.known_then[c] - 1
        tally.longest_dry[c] = max(tally.longest_dry[c], dry)
        tally.known_then[c] = tally.known[c]
        tally.tenths[c] += on_step[0, k]
        tally.off_step[c] += not on_step[1, k]
        at[heavy] = c
        heavy += wet[k] > STUCK_ABOVE
    for k in range(heavy):
        _count_heavy(tally, at[k], row[at[k]], stamp)


@numba.njit(nogil=True, cache=True, inline="always")
def _count_heavy(tally, c, r, stamp):
    run = tally.heavy_run[c] + 1 if r == tally.heavy[c] and tally.heavy_hour[c] == stamp - 1 else 1
    tally.heavy[c], tally.heavy_hour[c], tally.heavy_run[c] = r, stamp, run
    if run >= STUCK_RAIN:
        tally.stuck[c] += STUCK_RAIN if run == STUCK_RAIN else 1
    if r > SENTINELS[0] - 0.1:
        for code in SENTINELS:
            if abs(r - code) <= 3e-7 * code:
                tally.coded[c] += 1
