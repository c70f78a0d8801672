"""The hours behind an index, ready to be summed in another way: by month, or by another model's formula."""

from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.clock import month_numbers
from exposure.rain.hour import facing_cosine, is_driving
from exposure.rain.index import record_of


class CountedHours(NamedTuple):
    """Driving hours of the years that count, one entry an hour."""

    rain: np.ndarray  # mm
    wind_speed: np.ndarray  # m s-1
    wind_from_direction: np.ndarray  # degree; missing for variable wind
    month: np.ndarray  # 1 to 12
    year: np.ndarray  # row of the index Dataset's ``year``
    scale: np.ndarray  # for missing hours of its year
    years: int


def counted_hours(climate: xr.Dataset, index: xr.Dataset) -> CountedHours:
    """The hours that ``index`` was summed from.

    Parameters
    ----------
    climate
        The record.
    index
        What :func:`exposure.rain.index.airfield_index` made of it; its threshold, years and scaling are used.
    """
    record = record_of(climate)
    wet = is_driving(record.rain, record.wind_speed, wet_hour=index.attrs["wet_hour_mm"])
    counted = index["year"].values
    row = np.searchsorted(counted, record.years).clip(max=counted.size - 1)
    keep = wet & (counted[row] == record.years)
    scale = (index["hours_scaling"] * index["rain_scaling"]).values
    return CountedHours(
        record.rain[keep],
        record.wind_speed[keep],
        record.wind_from_direction[keep],
        month_numbers(climate["time"].isel(time=np.flatnonzero(keep))),
        row[keep],
        scale[row[keep]],
        counted.size,
    )


def share_facing(hours: CountedHours, orientation: float) -> np.ndarray:
    """Share of each hour's driven rain that a wall facing ``orientation`` gets; 1/pi where the wind is variable."""
    known = np.isfinite(hours.wind_from_direction)
    return np.where(known, facing_cosine(hours.wind_from_direction, orientation), 1 / np.pi)
