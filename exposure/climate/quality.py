"""Every suspicion about a record, asked in turn."""

from collections.abc import Callable

import xarray as xr

from exposure.climate import rain_quality, time_quality, wind_quality
from exposure.climate.suspicion import Suspicion
from exposure.climate.validity import not_valid_flags

SUSPICIONS: tuple[Callable[[xr.Dataset], Suspicion | None], ...] = (
    rain_quality.impossible_values,
    rain_quality.rain_all_zero,
    rain_quality.accumulation_not_undone,
    rain_quality.rain_unlikely_total,
    rain_quality.sentinels_left_in,
    rain_quality.stuck_rain,
    rain_quality.rain_missing,
    rain_quality.rain_steps,
    wind_quality.wind_missing_in_rain,
    wind_quality.variable_wind,
    wind_quality.stuck_wind,
    wind_quality.direction_steps,
    wind_quality.calm_with_direction,
    time_quality.time_zone_shift,
    time_quality.duplicated_years,
    time_quality.thin_months,
)


def suspicions(climate: xr.Dataset, *, against: xr.Dataset | None = None) -> list[Suspicion]:
    """All doubts about ``climate``, the grave ones first.

    Parameters
    ----------
    climate
        As :func:`exposure.climate.open_climate` gives it.
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
    if against is not None and (turned := time_quality.direction_towards(climate, against)) is not None:
        found.append(turned)
    return sorted(found, key=lambda suspicion: not suspicion.grave)


def grave_flags(climate: xr.Dataset) -> list[str]:
    """Sentences of the grave suspicions and of the conditions in which the index does not hold."""
    return [found.sentence for found in suspicions(climate) if found.grave] + not_valid_flags(climate)
