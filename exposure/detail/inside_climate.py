"""Which way damp goes through a wall: cold, mixed, warm and humid or mild, by the record's air or by how rooms are kept."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from exposure.climate.humidity import saturation_pressure
from exposure.clock import hour_numbers

HEATED = 20.0  # degC of heated rooms; ISO 13788, from memory
COOLED = 24.0  # degC of cooled rooms; our choice
COOLED_HUMIDITY = 50.0  # % in cooled rooms, on the dry side, which draws damp in harder; our choice
DAMP_HUMIDITY = (
    60.0  # % that outdoor air would reach in a cooled room, above which its summer is damp; our choice
)
DEGREE_DAYS_BASE = 18.0  # degC
COLD_FROM = 2000.0  # K d, heating degree days from which winters are cold: top of zone 3, from memory
LEAST_SHARE = 0.5  # of a month's hours, over all years, below which its mean is not believed; our choice
DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
CLIMATES = {  # answers of the question how rooms are kept
    "heated through cold winters": "cold",
    "cooled through hot, damp summers": "warm and humid",
    "heated in winter and cooled in damp summers": "mixed",
    "neither, a mild climate": "mild",
}


@dataclass(frozen=True)
class OutsideMonths:
    """Outdoor air by calendar month, January first, means over the record."""

    temperature: tuple[float, ...]  # degC
    vapour_pressure: tuple[float, ...]  # Pa
    degree_days: float  # K d in a year, below 18 degC

    @property
    def climate(self) -> str:
        """Return ``cold``, ``mixed``, ``warm and humid`` or ``mild``."""
        limit = DAMP_HUMIDITY / 100 * float(saturation_pressure(np.asarray(COOLED)))
        damp = max(self.vapour_pressure) > limit
        if self.degree_days >= COLD_FROM:
            return "mixed" if damp else "cold"
        return "warm and humid" if damp else "mild"


def outside_months(climate: xr.Dataset) -> OutsideMonths | None:
    """Means of each calendar month, or None where the record has no temperature or humidity in much of a month.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2021-01-01", "2021-12-31T23:00", freq="h")
    >>> warm = np.where(time.month == 7, 18.0, 8.0)  # ten degrees short of 18, but for July
    >>> record = xr.Dataset({"air_temperature": ("time", warm), "relative_humidity": ("time", np.full(8760, 80.0))},
    ...                     {"time": time})
    >>> found = outside_months(record)
    >>> round(found.degree_days), found.climate
    (3342, 'cold')
    """
    if "air_temperature" not in climate or "relative_humidity" not in climate:
        return None
    warmth = np.asarray(climate["air_temperature"].values, dtype=float)
    damp = np.asarray(climate["relative_humidity"].values, dtype=float).clip(0, 100)
    vapour = damp / 100 * saturation_pressure(warmth)
    month = np.asarray(climate["time"].dt.month.values)
    hours = hour_numbers(climate["time"])
    years = max((int(hours[-1]) - int(hours[0]) + 1) / 8766, 1.0)
    days, day = np.unique(hours // 24, return_inverse=True)
    known = np.isfinite(warmth)
    number = np.bincount(day, weights=known, minlength=days.size)
    total = np.bincount(day, weights=np.where(known, warmth, 0.0), minlength=days.size)
    of_day = np.zeros(days.size, dtype=int)
    of_day[day] = month
    short = np.maximum(DEGREE_DAYS_BASE - total / np.maximum(number, 1), 0.0)
    temperature, pressure, degree_days = [], [], 0.0
    for at in range(12):
        both = (month == at + 1) & known & np.isfinite(vapour)
        if both.sum() < LEAST_SHARE * DAYS[at] * 24 * years * (1 if years > 1 else 0.98):
            return None
        temperature.append(float(warmth[both].mean()))
        pressure.append(float(vapour[both].mean()))
        degree_days += float(short[(of_day == at + 1) & (number > 0)].mean()) * DAYS[at]
    return OutsideMonths(tuple(temperature), tuple(pressure), degree_days)


def warmth_by_week(climate: xr.Dataset) -> np.ndarray | None:
    """Mean outdoor air of each week of the year, counted from 1 January [degC]; None where the record has no temperature.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2021-01-01", "2022-12-31T23:00", freq="h")
    >>> warm = np.where(time.dayofyear <= 7, -3.0, 8.0)
    >>> warmth_by_week(xr.Dataset({"air_temperature": ("time", warm)}, {"time": time}))[:2].tolist()
    [-3.0, 8.0]
    """
    if "air_temperature" not in climate:
        return None
    warmth = np.asarray(climate["air_temperature"].values, dtype=float)
    week = np.minimum((np.asarray(climate["time"].dt.dayofyear.values) - 1) // 7, 51)
    known = np.isfinite(warmth)
    count = np.bincount(week[known], minlength=52)
    total = np.bincount(week[known], weights=warmth[known], minlength=52)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
