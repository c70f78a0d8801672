"""The figures that describe a record: coverage, wind of all and of wet hours, rain by month."""

from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.climate.quality.clock import monthly_coverage, usual_step
from exposure.climate.quality.suspicion import values_of
from exposure.climate.typical_year import TYPICAL_YEAR
from exposure.clock import hour_numbers

SECTORS = (36, 16, 12, 8)  # numbers of sectors to choose from; the finest that no direction step aliases
WET = 0.1  # mm in the hour: what is called a wet hour in a description
YEAR = 8766.0
FULL_MONTH = 0.9  # coverage from which a month's rain counts as a whole month's; our choice


class RecordSummary(NamedTuple):
    """A description of a record in plain figures."""

    source: str
    kind: str
    first: str
    last: str
    hours: int
    rain_known: float  # share of the span's hours
    wind_known: float
    rain_year: float  # mm, mean of a year of known hours; NaN when the record is not hourly
    wet_share: float  # share of known hours with at least 0.1 mm
    any_rain_share: float  # share of known hours with any rain at all
    mean_speed: float  # m s-1
    sectors: int
    rose_all: list[float]  # share of windy hours from each sector, from north clockwise
    rose_wet: list[float]  # share of the rain's wind (rain-weighted) from each sector
    rain_direction: float  # mean direction weighted by rain, degree
    rain_concentration: float  # 0 all round, 1 one direction
    rain_coverage: dict[int, list[float]]  # year -> twelve shares, NaN outside the span
    wind_coverage: dict[int, list[float]]
    monthly_rain: list[tuple[float, float, float]]  # mean, least, most of whole months, mm; NaN where none


def summary_of(climate: xr.Dataset) -> RecordSummary:
    """Describe ``climate``; needs rain and wind, refuses nothing.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2021-01-01T01", periods=8760, freq="h")
    >>> steady = xr.Dataset({"rain": ("time", np.full(8760, 0.2)), "wind_speed": ("time", np.full(8760, 5.0)),
    ...     "wind_from_direction": ("time", np.full(8760, 240.0))}, {"time": time}, {"kind": "gauge"})
    >>> summary = summary_of(steady)
    >>> round(summary.rain_year), round(summary.rain_direction), round(summary.rain_concentration, 3)
    (1753, 240, 1.0)
    """
    rain, speed = values_of(climate, "rain"), values_of(climate, "wind_speed")
    direction = values_of(climate, "wind_from_direction")
    time = climate["time"]
    typical = climate.attrs.get("kind") == TYPICAL_YEAR
    hourly = usual_step(climate) == 1
    rain_coverage, wind_coverage = monthly_coverage(climate, "rain"), monthly_coverage(climate, "wind_speed")
    known = np.isfinite(rain)
    windy = np.isfinite(direction) & (speed > 0)
    sectors = _sectors(direction[windy])
    wet = windy & known & (rain > 0)
    weight = np.where(wet, rain, 0.0)
    angle = np.radians(np.where(windy, direction, 0.0))
    east, north, total = (
        float(np.sum(weight * np.sin(angle))),
        float(np.sum(weight * np.cos(angle))),
        weight.sum(),
    )
    stamps = [str(stamp)[:16].replace("T", " ") for stamp in (time.values[0], time.values[-1])]
    if typical:
        stamps = [stamp[5:] for stamp in stamps]
        stamps[1] = "12-31 24:00" if stamps[1] == "01-01 00:00" else stamps[1]
    return RecordSummary(
        source=str(climate.attrs.get("source", "not named")),
        kind=str(climate.attrs.get("kind", "gauge")),
        first=stamps[0],
        last=stamps[1],
        hours=int(climate.sizes["time"]),
        rain_known=_known_share(climate, "rain"),
        wind_known=_known_share(climate, "wind_speed"),
        rain_year=float(rain[known].mean() * YEAR) if known.any() and hourly else np.nan,
        wet_share=float(np.mean(rain[known] >= WET - 1e-4)) if known.any() else np.nan,
        any_rain_share=float(np.mean(rain[known] > 0)) if known.any() else np.nan,
        mean_speed=float(np.nanmean(speed)) if np.isfinite(speed).any() else np.nan,
        sectors=sectors,
        rose_all=_shares(direction, windy, np.ones(rain.size), sectors),
        rose_wet=_shares(direction, wet, weight, sectors),
        rain_direction=float(np.degrees(np.arctan2(east, north)) % 360) if total > 0 else np.nan,
        rain_concentration=float(np.hypot(east, north) / total) if total > 0 else np.nan,
        rain_coverage=rain_coverage,
        wind_coverage=wind_coverage,
        monthly_rain=_monthly_rain(climate, rain, rain_coverage, typical=typical),
    )


def _sectors(direction: np.ndarray) -> int:
    """Finest division in which no sector stays empty just because directions come in steps."""
    for number in SECTORS:
        step = 360 / number
        shares = np.bincount((np.round(direction / step).astype(int)) % number, minlength=number)
        inside = np.unique(np.round(direction, 1)).size
        if inside >= number and np.count_nonzero(shares) >= 0.75 * number:
            return number
    return SECTORS[-1]


def _shares(direction: np.ndarray, rows: np.ndarray, weight: np.ndarray, sectors: int) -> list[float]:
    total = float(weight[rows].sum())
    if total <= 0:
        return [0.0] * sectors
    sector = np.round(direction[rows] / (360 / sectors)).astype(int) % sectors
    return (np.bincount(sector, weight[rows], minlength=sectors) / total).tolist()


def _known_share(climate: xr.Dataset, term: str) -> float:
    """Share of the hours from the first stamp to the last in which ``term`` is known."""
    hours = hour_numbers(climate["time"])
    known = np.isfinite(values_of(climate, term))
    return float(known.sum() / (hours[-1] - hours[0] + 1)) if hours.size else np.nan


def _monthly_rain(
    climate: xr.Dataset, rain: np.ndarray, coverage: dict[int, list[float]], *, typical: bool
) -> list[tuple[float, float, float]]:
    years = climate["time"].dt.year.values.astype(int)
    if typical:
        years = np.full_like(years, years[0])
    months = climate["time"].dt.month.values.astype(int)
    known = np.isfinite(rain)
    out = []
    for month in range(1, 13):
        totals = []
        for year, row in coverage.items():
            share = row[month - 1]
            if np.isfinite(share) and share >= FULL_MONTH:
                rows = (months == month) & (years == year) & known
                totals.append(float(rain[rows].sum()) / share)
        out.append((float(np.mean(totals)), min(totals), max(totals)) if totals else (np.nan, np.nan, np.nan))
    return out
