"""Driving-rain wind pressure: how hard the wind presses on a wall while it rains heavily.

Wind pressure counts only in hours of heavy rain; the value likely once in five years comes from its yearly maxima, in
a short record from its rainy days (:mod:`exposure.rain.peaks`). A grid averages the wind over its cell: its pressures
are lifted by a measured factor (table ``grid_wind``), so that the figure shown is the harder side. A pressure of this kind drives water through a joint; a head of water of the same pressure says how high an
upstand has to be. Shelter from neighbours is not taken off: none of the sources does.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from exposure.checks import RefusalError, check_between
from exposure.climate.quality.kind_of_record import guessed_and_like_a_grid
from exposure.clock import TYPICAL_YEAR
from exposure.doubts import doubt
from exposure.rain.coverage import FEW_YEARS, LEAST_COVERAGE, whole_year, year_counts
from exposure.rain.doubts import MUCH_UNASSIGNED
from exposure.rain.hour import wet_hour_threshold
from exposure.rain.orientation import Orientations, orientations_of
from exposure.rain.peaks import (
    DAILY,
    HEAVY_RAIN,
    LARGEST,
    LOWERED,
    NONE,
    YEARLY,
    Estimate,
    estimate,
    least_rain,
)
from exposure.rain.record import Record, record_of
from exposure.rain.wind_pressure import (
    AIR_DENSITY,
    gust_factor,
    head_of_water,
    velocity_pressure,
)
from exposure.tables import load_table

PRESSURE_RETURN = 5.0  # years; the same practice, published
GRID_KINDS = ("reanalysis", "model")  # records that average wind and rain over a cell


@dataclass(frozen=True)
class WallPressure:
    """Driving-rain wind pressure of one wall, likely once in five years. Pressures in Pa, heads in mm.

    ``any_direction`` is the published quantity, whatever way the wind blows, and so over the hardest ground that
    rain comes over. ``facing`` is our directional variant: the part of the wind square onto this wall, over its own.
    """

    orientation: float  # degree
    airfield_any_direction: float
    airfield_facing: float
    airfield_range: tuple[float, float]  # of any direction, a grid's own wind its lower end; the upper end is
    # missing where nothing tells it
    speed_factor: float  # roughness times topography, on the wind speed
    gust_factor: float  # on the pressure
    any_speed_factor: (
        float  # the same two of the wind from any side: over the hardest ground, or the wall's own
    )
    any_gust_factor: float
    years_used: int  # with an hour that counts
    years_left_out: int  # counted years without one
    facing_years_used: int
    found_by: str = YEARLY  # yearly maxima, rainy days, largest or none
    grid_factor: float = 1.0  # already in every pressure; above 1 for a record that averages wind over a cell
    air_density: float = AIR_DENSITY
    return_period: float = PRESSURE_RETURN
    heavy_rain: float = (
        HEAVY_RAIN  # least rain of an hour that counts; lower than asked where too few reach it
    )
    indicative: bool = False  # few years, a typical year, or a record that averages wind over a cell
    short: bool = False  # few years or a typical year
    flags: tuple[str, ...] = field(default=())

    @property
    def likelihood(self) -> str:
        """How often the pressure is likely, in words that the record can carry."""
        period = "five" if self.return_period == 5 else f"{self.return_period:g}"
        if self.found_by == YEARLY:
            return f"once in {period} years"
        if self.found_by == DAILY:
            years = self.years_used + self.years_left_out
            return f"once in {period} years, from {'the one year' if years == 1 else f'{years} years'} of this record"
        return "at most in this record"

    @property
    def any_direction(self) -> float:
        """At the wall, hourly mean, whatever way the wind blows. [Pa]"""
        return self.airfield_any_direction * self.any_speed_factor**2

    @property
    def any_direction_range(self) -> tuple[float, float]:
        """Between what :attr:`any_direction` may lie, as far as the record tells; the upper end may be missing. [Pa]"""
        low, high = self.airfield_range
        return low * self.any_speed_factor**2, high * self.any_speed_factor**2

    @property
    def facing(self) -> float:
        """At the wall, hourly mean, the wind square onto it (our variant). [Pa]"""
        return self.airfield_facing * self.speed_factor**2

    @property
    def any_direction_gust(self) -> float:
        """At the wall, in a gust, whatever way the wind blows. [Pa]"""
        return self.any_direction * self.any_gust_factor

    @property
    def facing_gust(self) -> float:
        """At the wall, in a gust, the wind square onto it. [Pa]"""
        return self.facing * self.gust_factor

    @property
    def facing_head(self) -> float:
        """Water held up by :attr:`facing`. [mm]"""
        return float(head_of_water(self.facing))

    @property
    def facing_gust_head(self) -> float:
        """Water held up by :attr:`facing_gust`. [mm]"""
        return float(head_of_water(self.facing_gust))

    @property
    def any_direction_head(self) -> float:
        """Water held up by :attr:`any_direction`. [mm]"""
        return float(head_of_water(self.any_direction))

    @property
    def any_direction_gust_head(self) -> float:
        """Water held up by :attr:`any_direction_gust`. [mm]"""
        return float(head_of_water(self.any_direction_gust))


def wall_pressures(
    climate: xr.Dataset | Record,
    *,
    orientation: Orientations,
    speed_factor: Sequence[float] | np.ndarray | float = 1.0,
    gust: Sequence[float] | np.ndarray | float | None = None,
    air_density: float = AIR_DENSITY,
    heavy_rain: float = HEAVY_RAIN,
    return_period: float = PRESSURE_RETURN,
) -> tuple[WallPressure, ...]:
    """Driving-rain wind pressure of each wall, once in ``return_period`` years.

    Parameters
    ----------
    climate
        Hourly record, see :func:`exposure.rain.index.airfield_index`, or :func:`exposure.rain.record.record_of` it.
    orientation
        Directions the walls face; shape (walls,). [degree]
    speed_factor
        Roughness times topography coefficient at each wall, one for all or shape (walls,). [1]
    gust
        :func:`gust_factor` of each wall, one for all or shape (walls,); open country at 10 m when not given. [1]
    air_density
        [kg m-3]
    heavy_rain
        Least rain of an hour that counts. [mm]
    return_period
        [years]

    Raises
    ------
    RefusalError
        When the record is not hourly, or no year is known well enough.

    Notes
    -----
    Ten years and more with an hour of heavy rain: yearly maxima of the hourly pressure in such hours, Gumbel by
    moments (the way of the Canadian tables; threshold from memory). Fewer: the tail of the rainy days, and a least
    rain that is lowered in steps until twenty days reach it (:mod:`exposure.rain.peaks`, our choice), so that one
    hour never decides. A year counts when its rain is known in at least 90 % of its hours and the wind in at least
    90 % of its heavy hours. Hours that the record marks in ``wind_doubtful`` are left out. A wall that too few rainy
    winds reach takes the pressure from any direction, and no wall more than that.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2010-01-01", "2011-12-31T23:00", freq="h")
    >>> rain = np.zeros(time.size); rain[[100, 9000]] = 2.0
    >>> climate = xr.Dataset(
    ...     {"rain": ("time", rain, {"units": "mm"}),
    ...      "wind_speed": ("time", np.full(time.size, 10.0), {"units": "m s-1"}),
    ...      "wind_from_direction": ("time", np.full(time.size, 240.0), {"units": "degree"})},
    ...     {"time": time}, {"kind": "gauge"})
    >>> wall, = wall_pressures(climate, orientation=[300])
    >>> round(wall.airfield_any_direction, 2), round(wall.airfield_facing, 2)  # cos 60 squared: a quarter
    (61.25, 15.31)
    """
    walls = orientations_of(orientation)
    speed_factors = np.broadcast_to(np.asarray(speed_factor, dtype=float), walls.shape)
    usual_gust = gust_factor(height=10, roughness_length=0.05) if gust is None else gust
    gusts = np.broadcast_to(np.asarray(usual_gust, dtype=float), walls.shape)
    check_between(air_density, "density of air", 0.7, 1.6, "kg/m3")
    check_between(heavy_rain, "least rain of an hour that counts", 0.1, 50, "mm")
    check_between(return_period, "return period", 1.1, 1000, "years")
    record = record_of(climate)
    heavy = _heavy_hours(record, heavy_rain)
    rows, lift = heavy.rows, heavy.lift

    def found(facing: float | None) -> Estimate:
        speed = record.wind_speed[rows]
        if facing is not None:
            speed = speed * record.cosine(facing)[heavy.among_wet]
        pressure = lift * velocity_pressure(speed, air_density=air_density)
        return estimate(
            pressure,
            record.hours[rows] // 24,
            record.years[rows],
            years=heavy.years,
            return_period=return_period,
        )

    airfield = found(None)
    flags = _record_flags(record, heavy, airfield, heavy_rain, air_density)
    short = record.kind == TYPICAL_YEAR or airfield.years < FEW_YEARS
    walls_found = []
    for facing, factor, gusty in zip(walls, speed_factors, gusts, strict=True):
        mine = found(float(facing))
        own_flags = list(flags)
        told = mine.found_by in (YEARLY, DAILY)
        if told or (airfield.found_by == LARGEST and mine.days >= min(2, airfield.days)):
            directional = min(mine.value, airfield.value)
        else:
            directional = airfield.value
            own_flags.append(doubt("rain.pressure_seldom_facing", facing=float(facing), days=mine.days))
        walls_found.append(
            WallPressure(
                orientation=float(facing),
                airfield_any_direction=airfield.value,
                airfield_facing=directional,
                airfield_range=(airfield.low / lift, airfield.high),
                speed_factor=float(factor),
                gust_factor=float(gusty),
                any_speed_factor=float(factor),
                any_gust_factor=float(gusty),
                years_used=airfield.years,
                years_left_out=heavy.years - airfield.years,
                facing_years_used=mine.years,
                found_by=airfield.found_by,
                grid_factor=lift,
                air_density=air_density,
                return_period=return_period,
                heavy_rain=0.0 if heavy.least is None else heavy.least,
                indicative=short or lift > 1,
                short=short,
                flags=tuple(own_flags),
            )
        )
    return tuple(walls_found)


def grid_lift(attrs: Mapping[Any, Any]) -> float:
    """Factor on the pressures of a record that averages wind over a cell; 1 for one taken at a point.

    From the table ``grid_wind``: what gauges measured against a grid. A grid whose wind was scaled to a station
    (attribute ``wind_scaled_to``) has it in its wind already. A record nobody named that looks like a grid's is
    lifted too: unknown is the harder side.

    Parameters
    ----------
    attrs
        Attributes of the record's Dataset.

    Examples
    --------
    >>> grid_lift({"kind": "gauge"}), grid_lift({"kind": "reanalysis"})
    (1.0, 2.3)
    """
    grid = attrs.get("kind", "gauge") in GRID_KINDS or guessed_and_like_a_grid(attrs)
    if not grid or attrs.get("wind_scaled_to"):
        return 1.0
    return float(load_table("grid_wind")["row"][0]["pressure_factor"])


class _HeavyHours(NamedTuple):
    """The hours of a record that a pressure rests on."""

    years: int  # that count
    left_out: list[int]  # years that do not
    among_wet: np.ndarray  # their places among the record's wet hours
    rows: np.ndarray  # and in the record
    least: float | None  # rain from which an hour counts [mm]; None for every wet hour
    lift: float  # factor on the pressures
    doubtful: int  # wet hours whose wind is doubtful, left out
    doubtful_wind: float  # the strongest of them [m/s]


def _heavy_hours(record: Record, heavy_rain: float) -> _HeavyHours:
    believed = np.ones(record.hours.size, bool) if record.wind_doubtful is None else ~record.wind_doubtful
    counted, left_out = _years_that_count(record, believed, heavy_rain)
    known = np.flatnonzero(believed[record.wet] & np.isin(record.years[record.wet], counted))
    wet = record.wet[known]
    counting, least = least_rain(
        record.rain[wet],
        record.hours[wet] // 24,
        record.years[wet],
        steps=[heavy_rain, *(step for step in LOWERED if step < heavy_rain)],
        lowest=lambda: np.isin(known, record.driving(wet_hour_threshold(record.kind))),
    )
    return _HeavyHours(
        int(counted.size),
        left_out,
        known[counting],
        wet[counting],
        least,
        grid_lift(record.attrs),
        int((~believed[record.wet]).sum()),
        float(np.nanmax(record.wind_speed[record.wet][~believed[record.wet]], initial=0.0)),
    )


def _years_that_count(
    record: Record, believed: np.ndarray, heavy_rain: float
) -> tuple[np.ndarray, list[int]]:
    """Years known well enough for a maximum, and those left out."""
    counted: list[int] = []
    dropped: list[int] = []
    for year, rows in record.rows_of_years.items():
        rain = record.rain[rows]
        heavy = rain >= heavy_rain - 1e-6
        windy = np.isfinite(record.wind_speed[rows]) & believed[rows]
        coverage = np.isfinite(rain).sum() / whole_year(year, record.calendar, record.kind)
        with_wind = windy[heavy].mean() if heavy.any() else 1.0
        (counted if year_counts(coverage, with_wind) else dropped).append(year)
    if not counted:
        raise RefusalError(
            "no year of the record is known well enough for a yearly maximum",
            f"rain in {LEAST_COVERAGE:.0%} of a year's hours and wind in {LEAST_COVERAGE:.0%} of its heavy rain",
            "Use a longer or more complete record.",
        )
    return np.array(counted), dropped


def _record_flags(
    record: Record, hours: _HeavyHours, airfield: Estimate, heavy_rain: float, air_density: float
) -> list[str]:
    """Doubts that hold for every wall of the record."""
    flags: list[str] = []
    least, lift = hours.least, hours.lift
    years = "1 year" if hours.years == 1 else f"{hours.years} years"
    if airfield.found_by == DAILY:
        flags.append(
            doubt(
                "rain.pressure_few_years",
                years=years,
                days=airfield.days,
                low=airfield.low,
                high=airfield.high,
            )
        )
    elif airfield.found_by == LARGEST:
        flags.append(doubt("rain.pressure_few_days", days=airfield.days, years=years))
    elif airfield.found_by == NONE:
        flags.append(doubt("rain.pressure_no_rain"))
    if least != heavy_rain and airfield.found_by != NONE:
        counts = "every wet hour" if least is None else f"hours from {least:g} mm"
        flags.append(doubt("rain.pressure_lighter_rain", heavy=heavy_rain, counts=counts))
    if lift > 1:
        raw = airfield.value / lift
        flags.append(
            doubt(
                "rain.pressure_grid",
                kind=record.kind if record.kind in GRID_KINDS else "grid-like",
                factor=lift,
                raw=raw,
                lifted=airfield.value,
            )
        )
    left_out = hours.years - airfield.years
    if left_out and airfield.found_by == YEARLY:
        flags.append(
            doubt("rain.pressure_dry_years", left_out=left_out, years=hours.years, heavy=least or 0.0)
        )
    if hours.left_out:
        flags.append(doubt("rain.pressure_years_missing", years=", ".join(map(str, hours.left_out))))
    unknown = ~np.isfinite(record.wind_from_direction[hours.rows])
    if unknown.size and unknown.mean() > MUCH_UNASSIGNED:
        flags.append(doubt("rain.pressure_no_direction", share=float(unknown.mean())))
    if hours.doubtful:
        most = lift * float(velocity_pressure(hours.doubtful_wind, air_density=air_density))
        flags.append(doubt("rain.pressure_doubtful_wind", hours=hours.doubtful, most=most))
    return flags
