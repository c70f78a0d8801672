"""Hour by hour on the walls: driving rain by each elevation's own factors, on a clock without holes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from exposure.clock import TYPICAL_YEAR
from exposure.rain.hour import EDGE_COSINE, wet_hour_threshold
from exposure.rain.orientation import Orientations, orientations_of
from exposure.rain.record import Record, record_of


@dataclass(frozen=True)
class WallHours:
    """Hourly driving rain on walls, one entry for every hour from the first to the last of the record."""

    rain_on_wall: np.ndarray  # (wall, hour), L m-2; zero where rain is not known, see ``known``
    hits: np.ndarray  # (wall, hour), the hour's driving rain strikes the wall
    wind_on_wall: np.ndarray  # (wall, hour), m s-1 square on, zero outside driving hours
    known: np.ndarray  # (hour,), rain and wind are known
    year_start: dict[int, int]  # position of the first of January of each year inside the record
    first_hour: int
    years: float  # years of known hours
    typical: bool
    wet_hour: float  # mm

    @property
    def runs_round(self) -> bool:
        """One year only, so that what runs over its end goes on at its start."""
        return self.typical or len(self.year_start) == 1

    @property
    def size(self) -> int:
        """Hours from first to last."""
        return self.known.size


def wall_hours(
    climate: xr.Dataset | Record,
    *,
    orientation: Orientations,
    factor: Sequence[float] | np.ndarray,
    wet_hour: float | None = None,
) -> WallHours:
    """Driving rain of every hour on each wall: the airfield's times the wall's four factors.

    Rain in hours of variable wind is spread evenly, as in the annual index; such hours hit no wall.

    Parameters
    ----------
    climate
        Hourly record, see :func:`exposure.rain.index.airfield_index`.
    orientation, factor
        Direction each wall faces [degree], and its factors multiplied [1]; shape (walls,).
    wet_hour
        See :func:`exposure.rain.index.airfield_index`. [mm]

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2010-01-01", periods=48, freq="h")
    >>> climate = xr.Dataset(
    ...     {"rain": ("time", np.where(np.arange(48) == 7, 1.0, 0.0), {"units": "mm"}),
    ...      "wind_speed": ("time", np.full(48, 9.0), {"units": "m s-1"}),
    ...      "wind_from_direction": ("time", np.full(48, 240.0), {"units": "degree"})},
    ...     {"time": time}, {"kind": "gauge"})
    >>> wall_hours(climate, orientation=[240, 300], factor=0.5).rain_on_wall.sum(axis=1).round(3).tolist()
    [1.0, 0.5]
    """
    record = record_of(climate)
    threshold = wet_hour_threshold(record.kind) if wet_hour is None else wet_hour
    walls = orientations_of(orientation)
    factors = np.broadcast_to(np.asarray(factor, dtype=float), walls.shape)
    size = int(record.hours[-1] - record.hours[0]) + 1
    place = record.hours - record.hours[0]
    driving = record.driving(threshold)
    rows = record.wet[driving]
    where = place[rows]
    amount = record.head_on[driving]
    steady = record.steady[driving]

    rain = np.zeros((walls.size, size))
    hits = np.zeros((walls.size, size), dtype=bool)
    wind = np.zeros((walls.size, size))
    for w, facing in enumerate(walls):
        cosine = record.cosine(float(facing))[driving]
        rain[w, where] = amount * np.where(steady, cosine, 1 / np.pi) * factors[w]
        hits[w, where] = cosine > EDGE_COSINE
        wind[w, where] = record.wind_speed[rows] * cosine
    known = np.zeros(size, dtype=bool)
    known[place] = np.isfinite(record.rain) & (np.isfinite(record.wind_speed) | (record.rain <= 0))
    return WallHours(
        rain,
        hits,
        wind,
        known,
        _year_starts(record, place),
        int(record.hours[0]),
        float(known.sum() / 8766.0),
        record.kind == TYPICAL_YEAR,
        threshold,
    )


def _year_starts(record: Record, place: np.ndarray) -> dict[int, int]:
    """Position of each year's first of January, counted back from the first row of that year."""
    starts: dict[int, int] = {}
    day = record.time.dt.dayofyear.values
    hour = record.time.dt.hour.values
    for year, rows in record.rows_of_years.items():
        row = rows.start
        starts[year] = int(place[row] - (24 * (int(day[row]) - 1) + int(hour[row])))
    return starts
