"""Where the standard itself says that its index does not hold, as far as the weather can tell.

The third condition, mountains with sheer cliffs or gorges, is told by the ground around the site
(:mod:`exposure.site`).
"""

import numpy as np
import xarray as xr

from exposure.climate.quality.suspicion import values_of
from exposure.doubts import doubt

MOST_CONVECTIVE = 0.25  # share of the annual rain from severe convective storms; ISO 15927-3:2009, scope
MUCH_SNOW = 0.25  # share of all precipitation that is snow, taken for "much"; our choice
COLD_RAIN = 0.0  # degC at or below which precipitation is taken for snow when nothing else tells; our choice


def convective_share(climate: xr.Dataset) -> float | None:
    """Share of the rain that came from convection; None when the record does not tell."""
    convective, rain = values_of(climate, "convective_rain"), values_of(climate, "rain")
    both = np.isfinite(convective) & np.isfinite(rain)
    total = float(rain[both].sum())
    if "convective_rain" not in climate or total <= 0:
        return None
    return min(float(convective[both].sum()) / total, 1.0)


def snow_share(climate: xr.Dataset) -> float | None:
    """Share of all precipitation that fell as snow; None when the record does not tell."""
    snow, rain = values_of(climate, "snowfall"), values_of(climate, "rain")
    both = np.isfinite(snow) & np.isfinite(rain)
    total = float(snow[both].sum() + rain[both].sum())
    if "snowfall" not in climate or total <= 0:
        return None
    return float(snow[both].sum()) / total


def cold_rain_share(climate: xr.Dataset) -> float | None:
    """Share of the recorded precipitation that fell at or below freezing; None without temperature."""
    temperature, rain = values_of(climate, "air_temperature"), values_of(climate, "rain")
    both = np.isfinite(temperature) & np.isfinite(rain)
    total = float(rain[both].sum())
    if "air_temperature" not in climate or total <= 0:
        return None
    return float(rain[both & (temperature <= COLD_RAIN)].sum()) / total


def not_valid_flags(climate: xr.Dataset) -> list[str]:
    """Sentences on the conditions in which the standard does not hold, and on what could not be told.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2021", periods=2, freq="h")
    >>> stormy = xr.Dataset({"rain": ("time", [1.0, 3.0]), "convective_rain": ("time", [0.0, 3.0])}, {"time": time})
    >>> not_valid_flags(stormy)[0][:61]
    '75% of the rain comes from convective showers and storms; abo'
    """
    flags: list[str] = []
    convective = convective_share(climate)
    if convective is not None and convective > MOST_CONVECTIVE:
        flags.append(doubt("climate.convective", share=convective, most=MOST_CONVECTIVE))
    snow = snow_share(climate)
    if snow is not None and snow > MUCH_SNOW:
        flags.append(doubt("climate.much_snow", share=snow))
    elif snow is None:
        cold = cold_rain_share(climate)
        if cold is not None and cold > MUCH_SNOW:
            flags.append(doubt("climate.cold_rain", share=cold))
    return flags
