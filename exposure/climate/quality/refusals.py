"""What refuses a record at the door: measurements that were never made, or in a unit other than the declared one.

Each function looks at a whole record of one place and gives the refusal, or None where there is none. The limits
are our choice: no weather comes near them, so that a real record is never turned away.
"""

from collections.abc import Sequence

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.quality.suspicion import values_of
from exposure.climate.running_totals import PERIODS, looks_accumulated
from exposure.clock import hour_numbers
from exposure.figures import listed

LONG_ENOUGH = 24 * 90  # known hours from which a record without a drop, or of one rain, was not measured
ENOUGH_WIND = 24 * 30  # known hours of wind from which never any wind was not measured
CALM_SHARE = 0.95  # share of hours without wind; the calmest sheltered stations have about half
LEAST_WET = 50  # hours of rain needed to tell totals by their hours
AT_FEW_HOURS = 0.99  # share of the rain at the same hours of every day that no weather makes
FULL_TURN_IN_RADIANS, FULL_TURN_IN_TENS = 2 * np.pi + 0.02, 36.0
LEAST_DIRECTIONS = 8  # different directions needed to tell their unit
MOST_CODES = 2  # largest values left aside, as 99 for variable wind and 999 for none


def rain_never_known(climate: xr.Dataset) -> RefusalError | None:
    """Every value of rain is missing."""
    if np.isfinite(values_of(climate, "rain")).any():
        return None
    return RefusalError(
        "the record holds no hourly rain at all (every value is missing)",
        "measured rain in the hour",
        "Use a record of the same place with a rain gauge.",
    )


def rain_always_zero(climate: xr.Dataset) -> RefusalError | None:
    """Rain is zero in months of hours."""
    known = _known(climate, "rain")
    if known.size < LONG_ENOUGH or np.any(known > 0):
        return None
    return RefusalError(
        f"rain is 0 in all {known.size} hours: it was not measured",
        "measured rain in the hour",
        "Use another record: in this one zero stands for missing, not for a dry climate.",
    )


def rain_always_the_same(climate: xr.Dataset) -> RefusalError | None:
    """The very same rain in every hour, for months."""
    known = _known(climate, "rain")
    if known.size < LONG_ENOUGH or known[0] == 0 or np.any(known != known[0]):
        return None
    return RefusalError(
        f"rain is {known[0]:g} mm in all {known.size} hours: a mean or a code, not measured rain",
        "measured rain in the hour",
        "Use a record with the rain of each hour; if the number stands for missing, name it.",
        parameter="missing",
    )


def rain_at_few_hours(climate: xr.Dataset) -> RefusalError | None:
    """Rain at the same hours of every day alone, the hours between dry: totals of several hours beside zeros."""
    rain, hours = values_of(climate, "rain"), hour_numbers(climate["time"])
    fallen = np.nan_to_num(rain)
    wet, total = np.count_nonzero(rain > 0), float(np.nansum(rain))
    if wet < LEAST_WET:
        return None
    for period in (24, *reversed(PERIODS)):
        phase = hours % period
        at = np.bincount(phase, fallen, minlength=period)
        if at.max() < AT_FEW_HOURS * total:
            continue
        own = phase == int(at.argmax())
        dry = np.count_nonzero(np.isfinite(rain) & ~own)  # hours between that were read, not left out
        if dry >= (period - 1) * np.count_nonzero(own) / 2:
            return RefusalError(
                f"rain stands at one hour in {period} alone, the hours between are dry: totals of {period} h",
                "rain of each hour",
                "Use a record with the rain of each hour: which wind drove a total is not known.",
            )
    return None


def rain_running_total(climate: xr.Dataset) -> RefusalError | None:
    """Rain that grows through each day and falls back at one hour only."""
    if not looks_accumulated(values_of(climate, "rain"), hour_numbers(climate["time"])):
        return None
    return RefusalError(
        "rain grows through each day and falls back at one hour only: it is a running total",
        "rain of each hour",
        "Take the differences of consecutive hours first; if it truly is hourly, say 'hour'.",
        parameter="rain_rule",
    )


def wind_never_blows(climate: xr.Dataset) -> RefusalError | None:
    """Wind is zero in nearly every hour: such a record drives no rain at all."""
    known = _known(climate, "wind_speed")
    if known.size < ENOUGH_WIND or np.mean(known == 0) < CALM_SHARE:
        return None
    return RefusalError(
        f"wind is 0 in {np.mean(known == 0):.1%} of {known.size} hours: it was not measured",
        "measured wind, which drives the rain",
        "Use a record with an anemometer; if zero stands for missing, leave those values blank.",
    )


def directions_in_another_unit(climate: xr.Dataset) -> RefusalError | None:
    """Directions declared as degrees that fill a turn of radians, or of tens of degrees, and nothing beyond."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    known = direction[np.isfinite(direction) & (speed > 0)]
    values, counts = np.unique(known, return_counts=True)
    for codes in range(MOST_CODES + 1):
        kept = values.size - codes
        if kept < LEAST_DIRECTIONS:
            break
        found = another_unit(float(values[kept - 1]), int(counts[:kept].sum()), codes=values[kept:].tolist())
        if found is not None:
            return found
    return None


def another_unit(largest: float, number: int, *, codes: Sequence[float] = ()) -> RefusalError | None:
    """Whether ``number`` directions, none above ``largest`` but ``codes``, fill a turn of another unit.

    Examples
    --------
    >>> another_unit(6.28, 9000).came
    'no wind direction exceeds 6.28 in 9,000 hours: they look like radian'
    """
    if number < ENOUGH_WIND:
        return None
    for turn, unit in ((FULL_TURN_IN_RADIANS, "radian"), (FULL_TURN_IN_TENS, "10 degree")):
        if 0.8 * turn < largest <= turn:
            return RefusalError(
                f"no wind direction exceeds {largest:.3g} in {number:,} hours"
                + (f" (but for {listed([f'{code:g}' for code in codes])})" if len(codes) else "")
                + f": they look like {unit}",
                "degrees from 0 to 360",
                f"Declare the unit, e.g. wind_from_direction [{unit}]"
                + ("; name the number that stands for variable or missing." if len(codes) else "."),
            )
    return None


def _known(climate: xr.Dataset, term: str) -> np.ndarray:
    values = values_of(climate, term)
    return values[np.isfinite(values)]
