"""The one checked array of hours that every sum and every pressure is made from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.units import QUANTITY, conversion
from exposure.clock import calendar_of, check_hourly, hour_numbers, year_numbers
from exposure.rain.hour import facing_cosine, head_on_rain, is_driving_at
from exposure.terms import TERMS

WANTED = ("rain", "wind_speed", "wind_from_direction")
MOST_KEPT = 64  # orientations whose cosines a record keeps; our choice


@dataclass(frozen=True, eq=False)
class Record:
    """A checked climate record as plain arrays, one entry an hour.

    What several sums need of its rainy hours is worked out once and kept: pass the record on, not its Dataset.
    """

    time: xr.DataArray  # stamps
    hours: np.ndarray  # since 1970 of its own calendar
    years: np.ndarray
    rain: np.ndarray  # mm
    wind_speed: np.ndarray  # m s-1
    wind_from_direction: np.ndarray  # degree
    kind: str
    calendar: str
    wind_doubtful: np.ndarray | None = None  # hours whose wind is likelier a fault than weather
    attrs: Mapping[Any, Any] = field(default_factory=dict)  # of the Dataset
    _cosines: dict[float, np.ndarray] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def wet(self) -> np.ndarray:
        """Rows with rain and a wind speed."""
        return np.flatnonzero((self.rain > 0) & np.isfinite(self.wind_speed))

    @cached_property
    def head_on(self) -> np.ndarray:
        """Rain driven onto a wall that faces the wind, of the :attr:`wet` rows. [L m-2]"""
        return head_on_rain(self.rain[self.wet], self.wind_speed[self.wet])

    @cached_property
    def steady(self) -> np.ndarray:
        """Whether the wind has a direction, of the :attr:`wet` rows."""
        return np.isfinite(self.wind_from_direction[self.wet])

    def driving(self, wet_hour: float) -> np.ndarray:
        """Which of the :attr:`wet` rows count: their positions among them."""
        return np.flatnonzero(is_driving_at(self.rain[self.wet], self.head_on, wet_hour=wet_hour))

    def cosine(self, facing: float) -> np.ndarray:
        """Cosine between wind and wall of the :attr:`wet` rows; zero from behind and where the wind is variable."""
        found = self._cosines.get(facing)
        if found is None:
            towards = facing_cosine(self.wind_from_direction[self.wet], facing)
            found = np.where(self.steady, towards, 0.0)
            if len(self._cosines) < MOST_KEPT:
                self._cosines[facing] = found
        return found

    @property
    def hours_of_years(self) -> np.ndarray:
        """Stamps in each year of the record, in their order."""
        return np.unique(self.years, return_counts=True)[1]

    @property
    def rows_of_years(self) -> dict[int, slice]:
        """Year and its rows."""
        names, first = np.unique(self.years, return_index=True)
        stops = [*first[1:], self.years.size]
        return {int(year): slice(int(a), int(b)) for year, a, b in zip(names, first, stops, strict=True)}


def record_of(climate: xr.Dataset | Record) -> Record:
    """Check a climate Dataset of one place at the door and take it apart; a record is given back as it is.

    Units are turned into ours by the table of :mod:`exposure.climate.units`, so that every usual spelling is read.

    Raises
    ------
    RefusalError
        For a missing quantity, units that are none of its own, several places, stamps off the hour, repeated or
        unsorted stamps, or steps that are not hourly.
    """
    if isinstance(climate, Record):
        return climate
    weather = in_our_units(climate)
    if dims := place_dims(weather):
        raise RefusalError(
            f"the record holds several places (along {', '.join(dims)})",
            "one place",
            f"Choose one, such as climate.isel({dims[0]}=0).",
        )
    clock = clock_of(climate)
    doubtful = climate.get("wind_doubtful")
    return replace(
        clock,
        rain=np.asarray(weather["rain"].values, dtype=float),
        wind_speed=np.asarray(weather["wind_speed"].values, dtype=float),
        wind_from_direction=np.asarray(weather["wind_from_direction"].values, dtype=float),
        wind_doubtful=None if doubtful is None else np.asarray(doubtful.values).astype(bool),
    )


def clock_of(climate: xr.Dataset) -> Record:
    """The record's hours and attributes alone, checked; its weather is left empty."""
    if "time" not in climate.coords or climate["time"].ndim != 1:
        raise RefusalError(
            "the record has no axis of time",
            "hourly stamps along a dimension time",
            "Name it time, as climate.rename(valid_time='time') does.",
        )
    time = climate["time"].drop_vars([name for name in climate["time"].coords if name != "time"])
    kind = climate.attrs.get("kind", "gauge")
    hours = hour_numbers(time)
    check_hourly(hours)
    nothing = np.zeros(0)
    return Record(
        time, hours, year_numbers(time, kind=kind), nothing, nothing, nothing, kind, calendar_of(time),
        attrs=climate.attrs,
    )  # fmt: skip


def in_our_units(climate: xr.Dataset) -> xr.Dataset:
    """Rain and wind of ``climate`` in the units of the vocabulary; lazy where they are.

    Raises
    ------
    RefusalError
        When one is missing, declares no unit, or a unit of something else.

    Examples
    --------
    >>> hour = lambda value, unit: ("time", [value], {"units": unit})
    >>> given = xr.Dataset({"rain": hour(0.001, "m"), "wind_speed": hour(36.0, "km/h"),
    ...     "wind_from_direction": hour(240.0, "degrees_true")}, {"time": [0]})
    >>> [float(value[0]) for value in in_our_units(given).data_vars.values()]
    [1.0, 10.0, 240.0]
    """
    for term in WANTED:
        if term not in climate:
            raise RefusalError(
                f"the record holds {', '.join(map(str, climate.data_vars)) or 'nothing'}",
                f"rain, wind_speed and wind_from_direction ({term} is missing)",
                "Name the columns or variables that hold them.",
            )
    found = {}
    for term in WANTED:
        value = climate[term]
        if "time" not in value.dims:
            raise RefusalError(
                f"{term} lies along {', '.join(map(str, value.dims)) or 'nothing'}",
                "hourly values along a dimension time",
                "Name it time, as climate.rename(valid_time='time') does.",
            )
        declared = value.attrs.get("units")
        turn: Callable = conversion(
            None if declared is None else str(declared), QUANTITY[term], name=term
        ).apply
        found[term] = turn(value).assign_attrs(units=TERMS[term]["units"])
    return xr.Dataset(found).assign_attrs(climate.attrs)


def place_dims(weather: xr.Dataset) -> list[str]:
    """Dimensions besides time, in their order."""
    return [str(dim) for dim in weather.dims if dim != "time"]
