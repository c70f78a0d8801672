"""Driving-rain wind pressure: how hard the wind presses on a wall while it rains heavily.

Wind pressure counts only in hours of heavy rain; its yearly maxima give the value likely once in five years.
A pressure of this kind drives water through a joint; a head of water of the same pressure says how high an
upstand has to be. Shelter from neighbours is not taken off: none of the sources does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import xarray as xr

from exposure.checks import RefusalError, check_between
from exposure.clock import TYPICAL_YEAR, hours_in_year
from exposure.rain.extremes import gumbel_value
from exposure.rain.hour import facing_cosine, is_driving, wet_hour_threshold
from exposure.rain.index import FEW_YEARS, LEAST_COVERAGE, MUCH_UNASSIGNED, Record, record_of

AIR_DENSITY = 1.225  # kg/m3, dry air at 15 degC and sea level; Canadian tables use 1.2929 (from memory)
WATER_DENSITY = 1000.0  # kg/m3
GRAVITY = 9.80665  # m/s2, standard
HEAVY_RAIN = 1.8  # mm in the hour; Canadian driving-rain wind pressure (from memory, not checked)
PRESSURE_RETURN = 5.0  # years; the same practice, published
GUST_CONSTANT = 7.0  # in 1 + 7 / ln(z / z0); EN 1991-1-4:2005, 4.8 form (from memory, not checked)
POINT_KINDS = ("gauge", "invented")  # records that do not average rain over a grid cell


def velocity_pressure(wind_speed: np.ndarray | float, *, air_density: float = AIR_DENSITY) -> np.ndarray:
    """Pressure of a wind brought to rest, half of density times speed squared. [Pa]

    Examples
    --------
    >>> round(float(velocity_pressure(10.0)), 2), round(float(velocity_pressure(30 / 3.6)), 1)
    (61.25, 42.5)
    """
    return 0.5 * air_density * np.square(wind_speed)


def wind_of_pressure(pressure: float, *, air_density: float = AIR_DENSITY) -> float:
    """Wind speed whose :func:`velocity_pressure` is ``pressure`` [Pa]. [m s-1]

    A test pressure is a static difference across a part; it is not the wind that would cause it on a real wall.

    Examples
    --------
    >>> round(wind_of_pressure(50), 2)
    9.04
    """
    return float(np.sqrt(2 * pressure / air_density))


def head_of_water(pressure: np.ndarray | float) -> np.ndarray:
    """Height to which ``pressure`` [Pa] pushes standing water. [mm]

    Examples
    --------
    >>> round(float(head_of_water(200)), 2)
    20.39
    """
    return 1000 * np.asarray(pressure) / (WATER_DENSITY * GRAVITY)


def gust_factor(*, height: float, roughness_length: float, least_height: float = 0.0) -> float:
    """Pressure of a gust against that of the hourly mean, 1 + 7 / ln(z / z0). [1]

    EN 1991-1-4:2005, 4.8 form, without its hill term (from memory, not checked).

    Parameters
    ----------
    height
        Above the ground; below ``least_height`` that height is used. [m]
    roughness_length
        Of the ground upwind. [m]

    Examples
    --------
    >>> round(gust_factor(height=10, roughness_length=0.05), 3)
    2.321
    """
    z = max(height, least_height)
    if z <= roughness_length:
        raise RefusalError(
            f"a height of {z:g} m over ground of roughness {roughness_length:g} m",
            "a height above the roughness length",
            "Give the height of the top of the wall and its ground.",
        )
    return float(1 + GUST_CONSTANT / np.log(z / roughness_length))


@dataclass(frozen=True)
class WallPressure:
    """Driving-rain wind pressure of one wall, likely once in five years. Pressures in Pa, heads in mm.

    ``any_direction`` is the published quantity, whatever way the wind blows. ``facing`` is our directional
    variant: the part of the wind square onto this wall.
    """

    orientation: float  # degree
    airfield_any_direction: float
    airfield_facing: float
    airfield_any_rain: float  # any direction, counting every wet hour: an upper bound
    speed_factor: float  # roughness times topography, on the wind speed
    gust_factor: float  # on the pressure
    years_used: int
    years_left_out: int  # counted years without an hour of heavy rain
    facing_years_used: int
    air_density: float = AIR_DENSITY
    return_period: float = PRESSURE_RETURN
    heavy_rain: float = HEAVY_RAIN
    indicative: bool = False  # few years, a typical year, or a record that averages rain over a cell
    flags: tuple[str, ...] = field(default=())

    @property
    def any_direction(self) -> float:
        """At the wall, hourly mean, whatever way the wind blows. [Pa]"""
        return self.airfield_any_direction * self.speed_factor**2

    @property
    def facing(self) -> float:
        """At the wall, hourly mean, the wind square onto it (our variant). [Pa]"""
        return self.airfield_facing * self.speed_factor**2

    @property
    def any_direction_gust(self) -> float:
        """At the wall, in a gust, whatever way the wind blows. [Pa]"""
        return self.any_direction * self.gust_factor

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
    climate: xr.Dataset,
    *,
    orientation: Sequence[float] | np.ndarray,
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
        Hourly record, see :func:`exposure.rain.index.airfield_index`.
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
    Yearly maxima of the hourly pressure in hours of heavy rain; Gumbel by moments. A year counts when its rain
    is known in at least 90 % of its hours and the wind in at least 90 % of its heavy hours; counted years
    without any heavy hour are left out of the fit and told (the way of the Canadian tables; threshold from memory).
    With fewer than two years of heavy rain every wet hour is counted instead, which errs on the high side.

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
    walls = np.atleast_1d(np.asarray(orientation, dtype=float))
    speed_factors = np.broadcast_to(np.asarray(speed_factor, dtype=float), walls.shape)
    usual_gust = gust_factor(height=10, roughness_length=0.05) if gust is None else gust
    gusts = np.broadcast_to(np.asarray(usual_gust, dtype=float), walls.shape)
    check_between(air_density, "density of air", 0.7, 1.6, "kg/m3")
    check_between(heavy_rain, "least rain of an hour that counts", 0.1, 50, "mm")
    check_between(return_period, "return period", 1.1, 1000, "years")
    record = record_of(climate)
    counted, dropped = _years_that_count(record, heavy_rain)

    heavy = _rows(record, counted, record.rain >= heavy_rain - 1e-6)
    wet = _rows(
        record,
        counted,
        is_driving(record.rain, record.wind_speed, wet_hour=wet_hour_threshold(record.kind)),
    )
    any_rain = _fit(*_maxima(record, wet, counted, None, air_density), return_period)
    any_max, any_used = _maxima(record, heavy, counted, None, air_density)
    flags = _record_flags(record, counted, dropped, heavy, any_used.sum(), heavy_rain)
    basis = heavy
    if any_used.sum() < 2:
        flags.append(
            f"Fewer than two years have an hour of {heavy_rain:g} mm or more: "
            "the pressure counts every wet hour instead, which errs on the high side."
        )
        basis = wet
        any_max, any_used = _maxima(record, basis, counted, None, air_density)
    airfield = _fit(any_max, any_used, return_period)
    if record.kind not in POINT_KINDS and any_used.sum() >= 2 and basis is heavy:
        flags.append(
            f"A {record.kind} record rarely reaches {heavy_rain:g} mm in an hour, so its driving-rain wind "
            f"pressure of {airfield:.0f} Pa is low; counting every wet hour it would be {any_rain:.0f} Pa."
        )

    found = []
    for facing, factor, gusty in zip(walls, speed_factors, gusts, strict=True):
        maxima, used = _maxima(record, basis, counted, float(facing), air_density)
        own_flags = list(flags)
        if used.sum() >= min(2, max(any_used.sum(), 1)):
            directional = min(_fit(maxima, used, return_period), airfield)
        else:
            directional = airfield
            own_flags.append(
                f"Rain was blown hard onto a wall facing {facing:.0f} degrees in fewer than two years: "
                "the pressure from any direction is used for it."
            )
        found.append(
            WallPressure(
                orientation=float(facing),
                airfield_any_direction=airfield,
                airfield_facing=directional,
                airfield_any_rain=max(any_rain, airfield),
                speed_factor=float(factor),
                gust_factor=float(gusty),
                years_used=int(any_used.sum()),
                years_left_out=int(len(counted) - any_used.sum()),
                facing_years_used=int(used.sum()),
                air_density=air_density,
                return_period=return_period,
                heavy_rain=heavy_rain,
                indicative=record.kind not in POINT_KINDS or any_used.sum() < FEW_YEARS,
                flags=tuple(own_flags),
            )
        )
    return tuple(found)


def _years_that_count(record: Record, heavy_rain: float) -> tuple[np.ndarray, list[int]]:
    """Years known well enough for a maximum, and those left out."""
    counted: list[int] = []
    dropped: list[int] = []
    for year in np.unique(record.years):
        rows = record.years == year
        rain, speed = record.rain[rows], record.wind_speed[rows]
        whole = hours_in_year(int(year), record.calendar)
        if record.kind == TYPICAL_YEAR:
            whole = min(whole, hours_in_year(2001, record.calendar))
        heavy = rain >= heavy_rain - 1e-6
        with_wind = np.isfinite(speed[heavy]).mean() if heavy.any() else 1.0
        enough = np.isfinite(rain).sum() >= LEAST_COVERAGE * whole and with_wind >= LEAST_COVERAGE
        (counted if enough else dropped).append(int(year))
    if not counted:
        raise RefusalError(
            "no year of the record is known well enough for a yearly maximum",
            f"rain in {LEAST_COVERAGE:.0%} of a year's hours and wind in {LEAST_COVERAGE:.0%} of its heavy rain",
            "Use a longer or more complete record.",
        )
    return np.array(counted), dropped


def _rows(record: Record, counted: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Positions of the hours ``wanted`` in counted years whose wind is known."""
    return np.flatnonzero(wanted & np.isfinite(record.wind_speed) & np.isin(record.years, counted))


def _maxima(
    record: Record, rows: np.ndarray, counted: np.ndarray, facing: float | None, air_density: float
) -> tuple[np.ndarray, np.ndarray]:
    """Yearly maxima of the pressure over ``rows``, and which years have any."""
    speed = record.wind_speed[rows]
    if facing is not None:
        direction = record.wind_from_direction[rows]
        speed = np.where(np.isfinite(direction), speed * facing_cosine(direction, facing), 0.0)
    maxima = np.zeros(counted.size)
    place = np.searchsorted(counted, record.years[rows])
    np.maximum.at(maxima, place, velocity_pressure(speed, air_density=air_density))
    return maxima, maxima > 0


def _fit(maxima: np.ndarray, used: np.ndarray, return_period: float) -> float:
    """Value once in ``return_period`` years; the one maximum there is, or zero, with fewer than two."""
    if used.sum() < 2:
        return float(maxima.max(initial=0.0))
    return float(gumbel_value(maxima[used], return_period))


def _record_flags(
    record: Record, counted: np.ndarray, dropped: list[int], heavy: np.ndarray, used: int, heavy_rain: float
) -> list[str]:
    """Doubts that hold for every wall of the record."""
    flags = []
    if record.kind == TYPICAL_YEAR:
        flags.append(
            "A typical year has one yearly maximum: the driving-rain wind pressure is indicative only."
        )
    elif used < FEW_YEARS:
        flags.append(
            f"The driving-rain wind pressure rests on {used} {'year' if used == 1 else 'years'} with heavy rain; "
            f"at least {FEW_YEARS} are needed, so it is indicative."
        )
    if used < counted.size:
        flags.append(
            f"{counted.size - used} of {counted.size} years have no hour of {heavy_rain:g} mm or more "
            "and are left out of the driving-rain wind pressure."
        )
    if dropped:
        flags.append(
            f"Left out of the driving-rain wind pressure for missing hours: {', '.join(map(str, dropped))}."
        )
    unknown = ~np.isfinite(record.wind_from_direction[heavy])
    if unknown.size and unknown.mean() > MUCH_UNASSIGNED:
        flags.append(
            f"{unknown.mean():.0%} of the heavy hours have no wind direction and press on no wall in particular."
        )
    return flags
