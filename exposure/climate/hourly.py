"""Any regular step brought to whole hours: rain summed, wind averaged as a vector, its scalar speed kept."""

from collections.abc import Collection
from typing import NamedTuple

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.doubts import doubt

REGULAR = 0.9  # share of steps that must be the usual one (or a multiple of it); our choice
LEAST_KNOWN = 0.5  # share of an hour's readings of wind that makes its mean; our choice
LATEST_EARLY = 15  # minutes before the hour at which an hourly reading is still that hour's; our choice
HOUR = 60


class Hourly(NamedTuple):
    """Values at whole hours and what was done to get them."""

    time: pd.DatetimeIndex
    values: dict[str, np.ndarray]
    flags: list[str]


def to_hours(
    time: pd.DatetimeIndex,
    values: dict[str, np.ndarray],
    *,
    rates: Collection[str] = (),
    rain_period: np.ndarray | None = None,
    stamp: str = "end",
    spread_rain: str | None = None,
) -> Hourly:
    """Bring a regular record to whole hours, rain in the hour ending at the stamp.

    Parameters
    ----------
    time
        Ascending stamps, each once.
    values
        Term -> numbers, one a stamp.
    rates
        Terms whose numbers are amounts an hour [mm h-1] and not amounts of the step.
    rain_period
        Hours the rain of each stamp fell in, where told; otherwise it is the step.
    stamp
        Whether a stamp ends or starts its interval.
    spread_rain
        ``"evenly"`` shares rain of several hours among them; None refuses it.

    Raises
    ------
    RefusalError
        When steps are irregular, or longer than an hour and not to be shared.
    """
    flags: list[str] = []
    minutes = time.values.astype("datetime64[s]").astype(np.int64) / 60.0
    step = _usual_step(minutes)
    if rates:
        values = values | {term: values[term] * (step / HOUR) for term in rates}
        flags.append(doubt("climate.rain_rate_of_step", step=step))
    if stamp == "start":
        minutes = minutes + step
        flags.append(doubt("climate.stamps_start"))
    if step > HOUR and not (spread_rain and step % HOUR == 0 and step <= 6 * HOUR):
        raise RefusalError(
            f"time steps are {step / HOUR:g} h",
            "hourly data",
            "Means and sums over longer steps hide the hours when wind and rain coincide: use an hourly source.",
        )
    if step > HOUR:
        rain_period = np.full(minutes.size, step / HOUR)
    minutes = _on_the_hour(minutes, step, flags)
    if step < HOUR:
        time, values = _gathered(minutes, values, step)
        flags.append(doubt("climate.readings_gathered", step=step))
        return Hourly(time, values, flags)
    hours = pd.DatetimeIndex((minutes * 60).astype("datetime64[s]"))
    if rain_period is not None and np.any(rain_period > 1):
        return _spread(hours, values, rain_period, spread_rain, flags)
    return Hourly(hours, values, flags)


def _usual_step(minutes: np.ndarray) -> float:
    """The step of the record in minutes, or a refusal when there is none."""
    steps = np.diff(minutes)
    usual = float(np.median(steps))
    ratio = steps / usual
    regular = np.abs(ratio - np.round(ratio)) < 0.02
    if np.mean(regular) < REGULAR or (usual < HOUR and not np.isclose(HOUR % usual, 0, atol=1e-6)):
        raise RefusalError(
            f"time steps vary ({steps.min():g} to {steps.max():g} min, usually {usual:g})",
            "one step that divides the hour",
            "Bring the record to one step; name the format if it is a bulletin of irregular reports.",
            parameter="format",
        )
    return usual


def _on_the_hour(minutes: np.ndarray, step: float, flags: list[str]) -> np.ndarray:
    """Stamps of an hourly record a few minutes early moved to the hour they end."""
    if step < HOUR:
        return minutes
    early = -minutes % HOUR
    off = early > 1e-6
    if not off.any():
        return minutes
    if np.any(early > LATEST_EARLY):
        first = int(np.argmax(early > LATEST_EARLY))
        raise RefusalError(
            f"row {first + 1} is stamped {HOUR - early[first]:g} min past the hour",
            "one value for each whole hour",
            "Sum the rain and average the wind to whole hours; if a stamp is the middle of its hour, move it "
            "to the end.",
        )
    flags.append(doubt("climate.stamps_early", minutes=float(early.max())))
    moved = minutes + early
    if np.any(np.diff(moved) <= 0):
        raise RefusalError(
            "two readings belong to one hour", "one value for each whole hour", "Keep one reading an hour."
        )
    return moved


def _gathered(
    minutes: np.ndarray, values: dict[str, np.ndarray], step: float
) -> tuple[pd.DatetimeIndex, dict[str, np.ndarray]]:
    """Sums and means of the readings in (h - 1, h]."""
    hour_of = np.ceil(np.round(minutes, 6) / HOUR).astype(np.int64)
    hours, place = np.unique(hour_of, return_inverse=True)
    expected = round(HOUR / step)
    gathered = {}
    for term, value in values.items():
        if term in ("wind_from_direction", "wind_speed"):
            continue
        known = np.isfinite(value)
        count = np.bincount(place, known, minlength=hours.size)
        total = np.bincount(place, np.where(known, value, 0.0), minlength=hours.size)
        if term in ("rain", "snowfall", "convective_rain"):
            gathered[term] = np.where(count >= expected, total, np.nan)
        else:
            gathered[term] = _mean(total, count, expected)
    speed, direction = values["wind_speed"], values["wind_from_direction"]
    known = np.isfinite(speed)
    count = np.bincount(place, known, minlength=hours.size)
    total = np.bincount(place, np.where(known, speed, 0.0), minlength=hours.size)
    gathered["wind_speed"] = _mean(total, count, expected)
    both = known & np.isfinite(direction)
    count = np.bincount(place, both, minlength=hours.size)
    angle = np.radians(np.where(both, direction, 0.0))
    weight = np.where(both, speed, 0.0)
    east = np.bincount(place, weight * np.sin(angle), minlength=hours.size)
    north = np.bincount(place, weight * np.cos(angle), minlength=hours.size)
    towards = np.mod(np.degrees(np.arctan2(east, north)), 360.0)
    steady = (count >= LEAST_KNOWN * expected) & (np.hypot(east, north) > 1e-9)
    gathered["wind_from_direction"] = np.where(steady, towards, np.nan)
    return pd.DatetimeIndex((hours * 3600).astype("datetime64[s]")), gathered


def _mean(total: np.ndarray, count: np.ndarray, expected: int) -> np.ndarray:
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(count >= LEAST_KNOWN * expected, total / count, np.nan)


def _spread(
    hours: pd.DatetimeIndex,
    values: dict[str, np.ndarray],
    rain_period: np.ndarray,
    rule: str | None,
    flags: list[str],
) -> Hourly:
    """Rain of several hours shared evenly among them, or refused when nobody asked for it."""
    rain = values["rain"]
    long = (rain_period > 1) & np.isfinite(rain)
    amount = float(np.nansum(rain[long]))
    total = float(np.nansum(rain))
    if rule is None:
        if not long.any():
            return Hourly(hours, values, flags)
        raise RefusalError(
            f"{amount:.0f} of {total:.0f} mm of rain are totals over {_periods(rain_period[long])} h",
            "rain of single hours",
            "Use an hourly gauge, or have them shared evenly among their hours: the hours when wind and rain "
            "coincide are then partly guessed.",
            parameter="spread_rain",
        )
    number = (hours.values.astype("datetime64[h]")).astype(np.int64)
    first = int(number[0] - rain_period[0]) + 1
    grid = np.arange(first, number[-1] + 1)
    spread = np.full(grid.size, np.nan)
    single = (rain_period <= 1) & np.isfinite(rain)
    spread[number[single] - first] = rain[single]
    for row in np.flatnonzero(long):
        period = int(rain_period[row])
        at = slice(max(int(number[row] - period + 1 - first), 0), int(number[row] - first) + 1)
        known = spread[at]
        unknown = ~np.isfinite(known)
        if unknown.any():
            rest = max(float(rain[row]) - float(np.nansum(known)), 0.0)
            spread[at] = np.where(unknown, rest / unknown.sum(), known)
    filled = {"rain": spread}
    for term, value in values.items():
        if term != "rain":
            filled[term] = np.full(grid.size, np.nan)
            filled[term][number - first] = value
    flags.append(doubt("climate.rain_shared", amount=amount, periods=_periods(rain_period[long])))
    return Hourly(pd.DatetimeIndex((grid * 3600).astype("datetime64[s]")), filled, flags)


def _periods(periods: np.ndarray) -> str:
    return " and ".join(f"{period:g}" for period in np.unique(periods))
