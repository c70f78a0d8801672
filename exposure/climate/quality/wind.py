"""Suspicions about the wind of a record: each a mask and a sentence, or None when there is nothing to say."""

import numpy as np
import xarray as xr

from exposure.climate.quality.suspicion import YEAR, Suspicion, run_lengths, values_of
from exposure.climate.units import SPEED
from exposure.clock import hour_numbers
from exposure.doubts import Doubt, doubt
from exposure.figures import counted

STUCK_SPEED = 24  # h of the same wind speed above zero; our choice
STUCK_DIRECTION = 72  # h of the same direction while the speed changes; our choice
MUCH_STUCK = 0.01  # share of the record worth a flag; our choice
STEPS = (90.0, 45.0, 30.0, 22.5, 20.0, 15.0, 12.0, 11.25, 10.0, 5.0)  # degrees, coarsest first
MUCH_UNKNOWN = 0.05  # share of the rain; our choice, as for the index
DEAD_HOURS = 240  # h without any wind on end: an anemometer that is dead or not read; our choice
STOPPED_HOURS = 240  # h of the very same wind at the end of a record; our choice
WINDY = 12.0  # m/s in the mean; the windiest islands have 9 to 11 (from memory); our choice
NAMED = {"m/s": "m s-1", "km/h": "km h-1", "knots": "knot", "miles an hour": "mile h-1"}
STEPS_OF_KNOTS = {  # m/s: what whole knots are in one unit, declared as another
    SPEED["knot"] / SPEED[NAMED[unit]] * SPEED[NAMED[told]]: (unit, told)
    for unit, told in (
        ("km/h", "m/s"),
        ("miles an hour", "m/s"),
        ("km/h", "knots"),
        ("km/h", "miles an hour"),
        ("miles an hour", "knots"),
        ("miles an hour", "km/h"),
    )
}
ON_STEP = 0.99  # share of the winds that must lie on the step; our choice
OFF_STEP = 0.05  # of a step, by rounding; our choice
LEAST_SPEEDS = 8  # different winds below which no step is told; our choice
CALM_BELOW = 3  # kn; airfield reports call less than this calm (from memory)
LEAST_BREEZES = 50  # h of 3 to 7 kn; our choice
FEW_CALMS = 0.05  # h of 1 and 2 kn as a share of them; wind that dies down has 0.12; our choice
SPIKE = 15.0  # m/s above both neighbours; the sharpest squall of three real airport years is 12 above
JUMP = 20.0  # m/s between two hours; likewise
LINES = ((3, 8.0), (5, 5.0))  # equal steps on end and their sum [m/s] that no wind of those airports makes
LEAST_SLOPE = 0.5  # m/s in the hour, below which a steady wind is no line
STRONG = 0.99  # quantile of the other winds above which a doubtful one bears on the answer; our choice
DOUBTFUL = "wind_doubtful"  # name of the mask on the Dataset


def doubtful(speed: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Which hours hold a wind likelier a fault than weather: a spike, a jump, or a straight line across a gap.

    Parameters
    ----------
    speed
        Hourly wind speed. [m s-1]
    hours
        Whole numbers of the hours, ascending.

    Returns
    -------
    numpy.ndarray
        One truth value an hour.

    Notes
    -----
    A spike stands 15 m/s above the hours before and after it; a jump is 20 m/s from one hour to the next, and its
    higher end is marked. A gap filled by a straight line goes in equal steps (as far as the decimals tell): three
    on end and 8 m/s together, or five and 5 m/s. Against three airports' observations of a whole year, 19 m/s at
    most, this marks no hour. All limits are our choice.

    Examples
    --------
    >>> doubtful(np.array([2.0, 36.0, 27.5, 19.0, 10.6, 2.1, 2.6]), np.arange(7)).tolist()
    [False, True, True, True, True, True, False]
    """
    if speed.size < 2:
        return np.zeros(speed.size, dtype=bool)
    next_hour = np.diff(hours) == 1
    step = np.where(next_hour, np.diff(speed), np.nan)
    rise, fall = np.append(np.nan, step), np.append(-step, np.nan)  # from the hour before, to the hour after
    with np.errstate(invalid="ignore"):
        mask = ((rise >= SPIKE) & (fall >= SPIKE)) | (rise >= JUMP) | (fall >= JUMP)
    return mask | _straight_lines(speed, step)


def _straight_lines(speed: np.ndarray, step: np.ndarray) -> np.ndarray:
    """Hours on a line of equal steps, long and steep enough for :data:`LINES`."""
    known = speed[np.isfinite(speed)]
    tenths = bool(np.all(np.abs(known * 10 - np.round(known * 10)) < 1e-6))
    slack = 0.11 if tenths else 0.02  # m/s that rounding to the record's decimals makes of equal steps
    with np.errstate(invalid="ignore"):
        same = (np.abs(np.diff(step)) <= slack) & (np.abs(step[1:]) >= LEAST_SLOPE)
    edges = np.diff(np.concatenate([[0], same.astype(int), [0]]))
    first = np.flatnonzero(edges == 1)
    last = np.flatnonzero(edges == -1) + 1  # place in `speed` of the end of the last equal step
    number, total = last - first, np.abs(speed[last] - speed[first])
    long = np.any([(number >= steps) & (total >= sum_of) for steps, sum_of in LINES], axis=0)
    marks = np.zeros(speed.size + 1, dtype=int)
    np.add.at(marks, first[long], 1)
    np.add.at(marks, last[long] + 1, -1)
    return np.cumsum(marks[:-1]) > 0


def with_doubtful_wind(climate: xr.Dataset) -> xr.Dataset:
    """``climate`` with the mask ``wind_doubtful`` of :func:`doubtful` along time."""
    mask = doubtful(values_of(climate, "wind_speed"), hour_numbers(climate["time"]))
    return climate.assign({DOUBTFUL: ("time", mask, {"long_name": "wind likelier a fault than weather"})})


def wind_unlikely_mean(climate: xr.Dataset) -> Suspicion | None:
    """A mean wind that hardly any place has: km/h, knots or miles an hour taken for m/s."""
    speed = values_of(climate, "wind_speed")
    known = np.isfinite(speed)
    if known.sum() < YEAR / 4:
        return None
    mean = float(speed[known].mean())
    if mean <= WINDY:
        return None
    return Suspicion(
        "wind-unlikely-mean", known, doubt("climate.wind_unlikely_mean", mean=mean, most=WINDY), grave=True
    )


def wind_in_other_unit(climate: xr.Dataset) -> Suspicion | None:
    """Winds on the steps that whole knots make in another unit than the one declared."""
    speed = values_of(climate, "wind_speed")
    blows = speed[np.isfinite(speed) & (speed > 0)]
    if blows.size < YEAR / 4 or np.unique(blows).size < LEAST_SPEEDS:
        return None
    found = next((step for step in STEPS_OF_KNOTS if _on_steps(blows, step)), None)
    if found is not None:
        step, (unit, told) = found, STEPS_OF_KNOTS[found]
    elif _knots_without_calms(blows, 1.0):
        step, unit, told = 1.0, "knots, miles an hour or km/h", "m/s"
    elif _knots_without_calms(blows, 1 / 3.6) and np.any(np.round(blows * 3.6) == CALM_BELOW):
        step, unit, told = 1 / 3.6, "knots or miles an hour", "km/h"  # whole knots begin at 6 km/h
    else:
        return None
    told_so = doubt("climate.wind_in_other_unit", step=step, least=float(blows.min()), unit=unit, told=told)
    return Suspicion("wind-in-other-unit", np.isfinite(speed), told_so, grave=True)


def _on_steps(blows: np.ndarray, step: float) -> bool:
    """Whether hardly any lies off; a record that is not on them shows it by its first hundred."""
    return all(
        np.mean(np.abs(part / step - np.round(part / step)) <= OFF_STEP) >= ON_STEP
        for part in (blows[:100], blows)
    )


def _knots_without_calms(blows: np.ndarray, step: float) -> bool:
    """Whole numbers of ``step``, hardly any of them 1 or 2 for as many as there are from 3 to 7."""
    if not _on_steps(blows, step):
        return False
    times = np.round(blows / step)
    breezes = np.count_nonzero((times >= CALM_BELOW) & (times <= 7))
    return bool(breezes >= LEAST_BREEZES and np.sum(times < CALM_BELOW) <= FEW_CALMS * breezes)


def doubtful_wind(climate: xr.Dataset) -> Suspicion | None:
    """Hours of :func:`doubtful` wind, and the strongest of them."""
    speed = values_of(climate, "wind_speed")
    mask = doubtful(speed, hour_numbers(climate["time"]))
    if not mask.any():
        return None
    at = int(np.nanargmax(np.where(mask, speed, np.nan)))
    found = doubt(
        "climate.wind_doubtful",
        hours=int(mask.sum()),
        strongest=float(speed[at]),
        stamp=str(climate["time"].values[at])[:16].replace("T", " "),
    )
    others = speed[np.isfinite(speed) & ~mask]
    strong = others.size == 0 or speed[at] > np.quantile(others, STRONG)
    return Suspicion("doubtful-wind", mask, found, grave=bool(strong))


def without_dead_wind(climate: xr.Dataset) -> tuple[xr.Dataset, list[Doubt]]:
    """``climate`` with wind missing where it is zero for ten days on end, and the doubt that says so."""
    speed = values_of(climate, "wind_speed")
    dead = (speed == 0) & (run_lengths(speed, hour_numbers(climate["time"])) >= DEAD_HOURS)
    if not dead.any():
        return climate, []
    first = str(climate["time"].values[int(np.argmax(dead))])[:10]
    found = doubt("climate.wind_dead", hours=int(dead.sum()), first=first, days=DEAD_HOURS // 24)
    alive = xr.DataArray(~dead, dims="time")
    terms = [term for term in ("wind_speed", "wind_from_direction") if term in climate]
    return climate.assign(
        {term: climate[term].where(alive).assign_attrs(climate[term].attrs) for term in terms}
    ), [found]


def wind_stops(climate: xr.Dataset) -> Suspicion | None:
    """The very same wind speed from some hour to the end of the record, after wind that moved."""
    speed = values_of(climate, "wind_speed")
    runs = run_lengths(speed, hour_numbers(climate["time"]))
    if speed.size == 0 or not STOPPED_HOURS <= runs[-1] < speed.size:
        return None
    mask = np.arange(speed.size) >= speed.size - runs[-1]
    first = str(climate["time"].values[speed.size - runs[-1]])[:10]
    found = doubt("climate.wind_stops", first=first, speed=float(speed[-1]), hours=int(runs[-1]))
    return Suspicion("wind-stops", mask, found, grave=True)


def stuck_wind(climate: xr.Dataset) -> Suspicion | None:
    """Wind speed or direction that does not move for long (frozen or stuck instrument)."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    hours = hour_numbers(climate["time"])
    stuck_speed = (run_lengths(speed, hours) >= STUCK_SPEED) & (speed > 0)
    stuck_direction = (run_lengths(direction, hours) >= STUCK_DIRECTION) & (speed > 0)
    mask = stuck_speed | stuck_direction
    if not mask.any():
        return None
    found = doubt(
        "climate.wind_stuck",
        hours=int(mask.sum()),
        spell=counted(int(mask.sum()), "hour"),
        speed=STUCK_SPEED,
        direction=STUCK_DIRECTION,
    )
    return Suspicion("stuck-wind", mask, found, grave=bool(mask.mean() > MUCH_STUCK))


def direction_steps(climate: xr.Dataset) -> Suspicion | None:
    """Directions that come only in coarse steps."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    known = np.isfinite(direction) & (speed > 0)
    if known.sum() < 100:
        return None
    values = direction[known]
    for step in STEPS:
        if _all_on(step, values[:100]) and _all_on(step, values):
            found = doubt("climate.direction_steps", step=step, number=round(360 / step))
            return Suspicion("direction-steps", known, found, grave=step > 22.5)
    return None


def _all_on(step: float, directions: np.ndarray) -> bool:
    return bool(np.all(np.abs(directions - np.round(directions / step) * step) < 0.01))


def calm_with_direction(climate: xr.Dataset) -> Suspicion | None:
    """Hours of no wind that still name a direction other than north."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    mask = (speed == 0) & np.isfinite(direction) & (direction % 360 != 0)
    if not mask.any():
        return None
    return Suspicion(
        "calm-with-direction",
        mask,
        doubt("climate.calm_with_direction", hours=int(mask.sum()), spell=counted(int(mask.sum()), "hour")),
        grave=False,
    )


def north_told_twice(climate: xr.Dataset) -> Suspicion | None:
    """Direction 0 in windy hours beside 360 for north: many networks write 0 for variable wind."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    windy = (speed > 0) & np.isfinite(direction)
    zero, north = windy & (direction == 0), windy & (direction == 360)
    if min(zero.sum(), north.sum()) < max(24, MUCH_STUCK / 2 * windy.sum()):
        return None
    hours, others = int(zero.sum()), int(north.sum())
    found = doubt("climate.north_told_twice", spell=counted(hours, "hour"), others=others)
    return Suspicion("north-told-twice", zero, found, grave=True)


def variable_wind(climate: xr.Dataset) -> Suspicion | None:
    """Wind with a speed and no direction, and the rain in it."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    rain = values_of(climate, "rain")
    mask = (speed > 0) & ~np.isfinite(direction)
    if not mask.any():
        return None
    amount, total = float(np.nansum(rain[mask])), float(np.nansum(rain))
    found = doubt(
        "climate.wind_variable",
        hours=int(mask.sum()),
        spell=counted(int(mask.sum()), "hour"),
        amount=amount,
        total=total,
    )
    return Suspicion("variable-wind", mask, found, grave=bool(total > 0 and amount > MUCH_UNKNOWN * total))


def wind_missing_in_rain(climate: xr.Dataset) -> Suspicion | None:
    """Rain in hours whose wind speed is missing."""
    speed, rain = values_of(climate, "wind_speed"), values_of(climate, "rain")
    mask = ~np.isfinite(speed) & (rain > 0)
    if not mask.any():
        return None
    amount, total = float(np.nansum(rain[mask])), float(np.nansum(rain))
    found = doubt(
        "climate.wind_missing_in_rain",
        hours=int(mask.sum()),
        spell=counted(int(mask.sum()), "hour"),
        amount=amount,
        total=total,
    )
    return Suspicion("wind-missing-in-rain", mask, found, grave=bool(amount > MUCH_UNKNOWN * total))
