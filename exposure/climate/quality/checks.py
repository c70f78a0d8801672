"""The door of every record: each refusal and each suspicion, in the order they are asked.

Whatever the format, a record of one place passes :func:`passed` once and carries what it was told from there on.
"""

from collections.abc import Callable

import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.quality import clock, rain, refusals, wind
from exposure.climate.quality.suspicion import Suspicion
from exposure.climate.quality.validity import not_valid_flags

REFUSALS: tuple[Callable[[xr.Dataset], RefusalError | None], ...] = (
    refusals.rain_never_known,
    refusals.rain_always_zero,
    refusals.rain_always_the_same,
    refusals.rain_at_few_hours,
    refusals.rain_running_total,
    refusals.wind_never_blows,
    refusals.directions_in_another_unit,
)
SUSPICIONS: tuple[Callable[[xr.Dataset], Suspicion | None], ...] = (
    rain.impossible_values,
    rain.rain_all_zero,
    rain.accumulation_not_undone,
    rain.rain_unlikely_total,
    rain.rain_like_inches,
    rain.rain_stops,
    rain.rain_pauses,
    rain.sentinels_left_in,
    rain.stuck_rain,
    rain.rain_missing,
    rain.rain_steps,
    wind.wind_missing_in_rain,
    wind.variable_wind,
    wind.north_told_twice,
    wind.wind_stops,
    wind.wind_unlikely_mean,
    wind.wind_in_other_unit,
    wind.doubtful_wind,
    wind.stuck_wind,
    wind.direction_steps,
    wind.calm_with_direction,
    clock.not_hourly,
    clock.time_zone_shift,
    clock.hours_to_come,
    clock.warm_from_the_pole,
    clock.duplicated_years,
    clock.thin_months,
)


def passed(climate: xr.Dataset, *, rain_is_hourly: bool = False) -> xr.Dataset:
    """``climate`` as it leaves the door: asked every refusal, dead wind missing, doubtful wind marked, doubts told.

    Parameters
    ----------
    climate
        A record of one place as a reader gives it.
    rain_is_hourly
        Whether it was told how the rain adds up, so that it is not asked whether it is a running total.

    Returns
    -------
    xarray.Dataset
        With the boolean variable ``wind_doubtful`` along ``time``, see :func:`exposure.climate.quality.wind.doubtful`,
        and every grave doubt on ``attrs["flags"]``.

    Raises
    ------
    RefusalError
        The first of :data:`REFUSALS` that holds.
    """
    for ask in REFUSALS:
        if ask is refusals.rain_running_total and rain_is_hourly:
            continue
        if (refusal := ask(climate)) is not None:
            raise refusal
    climate, told = wind.without_dead_wind(climate)
    marked = wind.with_doubtful_wind(climate)
    flags = [*climate.attrs["flags"], *told, *grave_flags(marked)]
    marked.attrs["flags"] = list(dict.fromkeys(flags))
    return marked


def suspicions(climate: xr.Dataset, *, against: xr.Dataset | None = None) -> list[Suspicion]:
    """All doubts about ``climate``, the grave ones first.

    Parameters
    ----------
    climate
        As :func:`exposure.climate.opening.open_climate` gives it.
    against
        A reference record of the same hours, to tell whether wind directions are turned round.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> time = pd.date_range("2021", periods=24 * 100, freq="h")
    >>> dry = xr.Dataset({"rain": ("time", np.zeros(time.size))}, {"time": time}, {"kind": "gauge"})
    >>> [found.name for found in suspicions(dry)][:2]
    ['rain-all-zero', 'rain-unlikely-total']
    """
    found = [suspicion for ask in SUSPICIONS if (suspicion := ask(climate)) is not None]
    if against is not None and (turned := clock.direction_towards(climate, against)) is not None:
        found.append(turned)
    return sorted(found, key=lambda suspicion: not suspicion.grave)


def grave_flags(climate: xr.Dataset) -> list[str]:
    """Sentences of the grave suspicions and of the conditions in which the index does not hold."""
    return [found.sentence for found in suspicions(climate) if found.grave] + not_valid_flags(climate)
