"""The hours behind an index, ready to be summed in another way: by month, or by another model's formula."""

from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.clock import month_numbers
from exposure.rain.record import Record, record_of


class CountedHours(NamedTuple):
    """Driving hours of the years that count, one entry an hour."""

    rain: np.ndarray  # mm
    wind_speed: np.ndarray  # m s-1
    wind_from_direction: np.ndarray  # degree; missing for variable wind
    month: np.ndarray  # 1 to 12
    year: np.ndarray  # row of the index Dataset's ``year``
    scale: np.ndarray  # for missing hours of its year
    years: int
    record: Record
    among_wet: np.ndarray  # positions among the wet rows of ``record``

    def share_facing(self, orientation: float) -> np.ndarray:
        """Share of each hour's driven rain that a wall facing ``orientation`` gets; 1/pi where the wind is variable."""
        towards = self.record.cosine(orientation)[self.among_wet]
        return np.where(self.record.steady[self.among_wet], towards, 1 / np.pi)


def counted_hours(climate: xr.Dataset | Record, index: xr.Dataset) -> CountedHours:
    """The hours that ``index`` was summed from.

    Parameters
    ----------
    climate
        The record.
    index
        What :func:`exposure.rain.index.airfield_index` made of it; its threshold, years and scaling are used.
    """
    record = record_of(climate)
    driving = record.driving(index.attrs["wet_hour_mm"])
    years = record.years[record.wet[driving]]
    counted = index["year"].values
    row = np.searchsorted(counted, years).clip(max=counted.size - 1)
    keep = counted[row] == years
    row, driving = row[keep], driving[keep]
    at = record.wet[driving]
    scale = (index["hours_scaling"] * index["rain_scaling"]).values
    return CountedHours(
        record.rain[at],
        record.wind_speed[at],
        record.wind_from_direction[at],
        month_numbers(record.time.isel(time=at)),
        row,
        scale[row],
        counted.size,
        record,
        driving,
    )
