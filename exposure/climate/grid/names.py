"""Which variables of a climate grid are wind and rain, in which units, and what rain its stamps hold.

Units come from the file's own declarations, never from the size of a number. What is found here is read and
turned into clean hours by :mod:`exposure.climate.grid.blocks`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import (
    LATITUDE_NAMES,
    LONGITUDE_NAMES,
    extra_dimensions,
    find_axis,
    find_time,
    grid_kind_of,
    listed,
    refuse_rotated,
)
from exposure.climate.grid.wind import wind_height
from exposure.climate.request import RAIN_RULES
from exposure.climate.units import Conversion, conversion
from exposure.doubts import doubt

EVERY_HOUR, SINCE_MIDNIGHT, RATE = RAIN_RULES

# Names used by the big open archives, then the names of the CF standard-name table.
KNOWN_NAMES = {
    "eastward_wind": ("u10", "10u", "U10M", "uas", "u10m"),
    "northward_wind": ("v10", "10v", "V10M", "vas", "v10m"),
    "wind_speed": ("wind_speed", "si10", "10si", "WS10M", "sfcWind", "ws10"),
    "wind_from_direction": ("wind_from_direction", "wdir10", "10wdir", "WD10M", "wd10"),
    "rain": ("rain", "tp", "mtpr", "avg_tprate", "PRECTOTCORR", "prate", "pr"),
    "snowfall": ("snowfall", "sf", "msr", "avg_tsrwe", "prsn"),
    "convective_rain": ("convective_rain", "cp", "mcpr", "avg_cpr", "prc"),
    "air_temperature": ("air_temperature", "t2m", "2t", "T2M", "tas"),
    "dew_point_temperature": ("dew_point_temperature", "d2m", "2d", "T2MDEW", "tdps"),
    "relative_humidity": ("relative_humidity", "RH2M", "hurs", "2r", "r2"),
}
STANDARD_NAMES = {
    "eastward_wind": ("eastward_wind",),
    "northward_wind": ("northward_wind",),
    "wind_speed": ("wind_speed",),
    "wind_from_direction": ("wind_from_direction", "wind_to_direction"),
    "rain": (
        "rainfall_amount",
        "thickness_of_rainfall_amount",
        "rainfall_flux",
        "rainfall_rate",
        "precipitation_amount",
        "lwe_thickness_of_precipitation_amount",
        "precipitation_flux",
        "lwe_precipitation_rate",
    ),
    "snowfall": ("snowfall_amount", "lwe_thickness_of_snowfall_amount", "snowfall_flux", "lwe_snowfall_rate"),
    "convective_rain": (
        "convective_precipitation_amount",
        "lwe_thickness_of_convective_precipitation_amount",
        "convective_precipitation_flux",
        "lwe_convective_precipitation_rate",
    ),
    "air_temperature": ("air_temperature",),
    "dew_point_temperature": ("dew_point_temperature",),
    "relative_humidity": ("relative_humidity",),
}
OPTIONAL = ("snowfall", "convective_rain", "air_temperature", "dew_point_temperature", "relative_humidity")
LIQUID_ONLY = ("rainfall_amount", "thickness_of_rainfall_amount", "rainfall_flux", "rainfall_rate")


@dataclass(frozen=True)
class GridVariables:
    """What a climate grid calls our terms, and how its numbers become ours.

    Attributes
    ----------
    names
        Term of the vocabulary -> variable of the file. Wind is either ``eastward_wind`` and ``northward_wind``
        or ``wind_speed`` and ``wind_from_direction``; ``rain`` is always there; the rest when the file has it.
    conversions
        Term -> :class:`~exposure.climate.units.Conversion` from the declared unit.
    rain_rule
        What the rain at a stamp is: ``"hour"`` (fell in the hour ending there), ``"since 00 UTC"`` (ERA5-Land:
        everything since midnight, the 00 stamp holding the whole day before) or ``"rate"``.
    time, latitude, longitude
        Names of the coordinates. ``latitude`` and ``longitude`` may be scalar (one point).
    grid_kind
        ``"regular"`` (own axis each; either order, -180..180 or 0..360) or ``"point"``.
    calendar
        CF name of the calendar of ``time``.
    expver, member
        Dimension that splits final from early data, and a length-one ensemble dimension; None when absent.
    direction_turn
        180 when the file declares the direction the wind blows to, else 0. [degree]
    wind_height
        Height above ground the file declares for its wind, 10 where it declares none. [m]
    notes
        Sentences to put on the climate's flags.
    """

    names: Mapping[str, str]
    conversions: Mapping[str, Conversion]
    rain_rule: str
    time: str
    latitude: str
    longitude: str
    grid_kind: str
    calendar: str
    expver: str | None = None
    member: str | None = None
    direction_turn: float = 0.0
    wind_height: float = 10.0
    rain_is_liquid: bool = False
    notes: tuple[str, ...] = ()

    @property
    def by_components(self) -> bool:
        """Whether wind comes as eastward and northward parts."""
        return "eastward_wind" in self.names

    @property
    def wind(self) -> tuple[str, str]:
        """The two variables of the file that hold the wind."""
        pair = (
            ("eastward_wind", "northward_wind")
            if self.by_components
            else ("wind_speed", "wind_from_direction")
        )
        return self.names[pair[0]], self.names[pair[1]]

    @property
    def rain(self) -> str:
        """The variable of the file that holds the rain."""
        return self.names["rain"]

    @property
    def needed(self) -> tuple[str, ...]:
        """Variables of the file that :func:`climate_block` needs: wind, rain and, where given, snowfall."""
        snow = self.names.get("snowfall")
        return (*self.wind, self.rain, *([snow] if snow and not self.rain_is_liquid else []))


def identify_variables(
    dataset: xr.Dataset, *, columns: Mapping[str, str] | None = None, rain_rule: str | None = None
) -> GridVariables:
    """Find wind, rain, their units and coordinates in ``dataset``, opened with CF decoding; loads no field.

    Parameters
    ----------
    dataset
        As :func:`xarray.open_dataset` or :func:`xarray.open_zarr` gives it, lazy.
    columns
        Term -> name of the variable, where the names in the file are not known ones; a unit may follow in
        brackets, e.g. ``{"rain": "precip [mm]"}``.
    rain_rule
        One of :data:`RAIN_RULES`, where the file does not tell it.

    Raises
    ------
    RefusalError
        When wind or rain is missing, ambiguous or of foreign unit; for rotated and curvilinear grids, grids of
        scattered points, ensembles, forecast steps, and time that is not CF.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> axes = {"time": pd.date_range("2020", periods=2, freq="h"), "latitude": [50.0], "longitude": [4.0]}
    >>> field = lambda unit: (("time", "latitude", "longitude"), np.zeros((2, 1, 1)), {"units": unit})
    >>> grid = xr.Dataset({"u10": field("m s**-1"), "v10": field("m s**-1"), "tp": field("m")}, axes)
    >>> names = identify_variables(grid)
    >>> names.wind, names.rain, names.rain_rule, names.conversions["rain"].scale
    (('u10', 'v10'), 'tp', 'hour', 1000.0)
    """
    given = {term: _name_and_unit(text) for term, text in (columns or {}).items()}
    refuse_rotated(dataset)
    _refuse_model_grid(dataset)
    names = {term: _find_variable(dataset, term, given) for term in KNOWN_NAMES}
    found = {term: name for term, name in names.items() if name is not None}
    _require_wind_and_rain(dataset, found)
    for name in found.values():
        if dataset[name].dtype.kind not in "fiu":
            raise RefusalError(f"{name} holds no numbers", "numbers with a unit", "Mend the file.")

    time = find_time(dataset, found["rain"])
    latitude = find_axis(dataset, LATITUDE_NAMES, "latitude")
    longitude = find_axis(dataset, LONGITUDE_NAMES, "longitude")
    grid_kind = grid_kind_of(dataset, latitude, longitude)
    expver, member = extra_dimensions(dataset, found, time, latitude, longitude)

    units = {
        term: conversion(
            given[term][1] if term in given and given[term][1] else _unit_of(dataset[name]),
            grid_quantity(term),
            name=name,
        )
        for term, name in found.items()
    }
    rule, notes = _rain_rule(dataset, found["rain"], units["rain"], rain_rule)
    direction = found.get("wind_from_direction")
    towards = direction and dataset[direction].attrs.get("standard_name") == "wind_to_direction"
    if towards:
        notes.append(doubt("climate.wind_turned"))
    if expver:
        notes.append(doubt("climate.early_data_joined"))
    pair = (
        ("eastward_wind", "northward_wind")
        if "eastward_wind" in found
        else ("wind_speed", "wind_from_direction")
    )
    height, doubts = wind_height(*(dataset[found[term]] for term in pair))
    notes += doubts
    return GridVariables(
        names=found,
        conversions=units,
        rain_rule=rule,
        time=time,
        latitude=latitude,
        longitude=longitude,
        grid_kind=grid_kind,
        calendar=dataset[time].dt.calendar,
        expver=expver,
        member=member,
        direction_turn=180.0 if towards else 0.0,
        wind_height=height,
        rain_is_liquid=dataset[found["rain"]].attrs.get("standard_name") in LIQUID_ONLY,
        notes=tuple(notes),
    )


def terms_in(
    dataset: xr.Dataset, columns: Mapping[str, str] | None = None, *, by_name: bool = False
) -> frozenset[str]:
    """Which of our terms ``dataset`` holds, or the names of their variables; refuses nothing.

    Examples
    --------
    >>> sorted(terms_in(xr.Dataset({"u10": 0.0, "orography": 1.0})))
    ['eastward_wind']
    """
    given = {term: _name_and_unit(text) for term, text in (columns or {}).items()}
    given = {term: told for term, told in given.items() if told[0] in dataset}
    asked = columns or {}
    found = {
        term: _find_variable(dataset, term, given)
        for term in KNOWN_NAMES
        if term in given or term not in asked
    }
    return frozenset(name if by_name else term for term, name in found.items() if name is not None)


def grid_quantity(term: str) -> str:
    """Kind of unit of a term of a grid, a key of :data:`exposure.climate.units.TABLE`."""
    return {
        "eastward_wind": "speed",
        "northward_wind": "speed",
        "wind_speed": "speed",
        "wind_from_direction": "direction",
        "air_temperature": "temperature",
        "dew_point_temperature": "temperature",
        "relative_humidity": "share",
    }.get(term, "rain")


def _name_and_unit(text: str) -> tuple[str, str | None]:
    """Take ``name [unit]`` apart."""
    name, bracket, rest = text.partition("[")
    return name.strip(), rest.rstrip().removesuffix("]").strip() if bracket else None


def _unit_of(value: xr.DataArray) -> str | None:
    unit = value.attrs.get("units", value.attrs.get("GRIB_units", value.encoding.get("units")))
    return None if unit is None else str(unit)


def _find_variable(dataset: xr.Dataset, term: str, given: Mapping[str, tuple[str, str | None]]) -> str | None:
    if term in given:
        name = given[term][0]
        if name not in dataset:
            raise RefusalError(
                f"the file has no variable {name!r}",
                f"one of {listed(dataset.data_vars)} for {term}",
                "Correct the name.",
            )
        return name
    for name in KNOWN_NAMES[term]:
        if name in dataset.data_vars:
            return name
    for standard in STANDARD_NAMES[term]:
        same = [str(n) for n in dataset.data_vars if dataset[n].attrs.get("standard_name") == standard]
        if len(same) > 1 and term not in OPTIONAL:
            raise RefusalError(
                f"{listed(same)} all call themselves {standard}",
                f"one variable for {term}",
                f"Name it, e.g. {term}={same[0]}.",
                parameter="columns",
            )
        if len(same) == 1:
            return same[0]
    return None


def _refuse_model_grid(dataset: xr.Dataset) -> None:
    """Stop for the output of WRF as it comes: winds along a projected grid, rain since the run's start in two parts."""
    if {"U10", "V10", "XLAT"} <= {str(name) for name in dataset.variables} and "RAINNC" in dataset.variables:
        raise RefusalError(
            "the file is WRF output: U10 and V10 blow along its own grid, and RAINC and RAINNC add up since the run began",
            "wind to true east and north, and rain of each hour, on latitude and longitude",
            "Turn the winds (COSALPHA, SINALPHA), take rain apart hour by hour, and regrid them first.",
        )


def _require_wind_and_rain(dataset: xr.Dataset, found: dict[str, str]) -> None:
    components = "eastward_wind" in found and "northward_wind" in found
    polar = "wind_speed" in found and "wind_from_direction" in found
    if components:
        found.pop("wind_speed", None)
        found.pop("wind_from_direction", None)
    elif polar:
        found.pop("eastward_wind", None)
        found.pop("northward_wind", None)
    if not (components or polar):
        raise RefusalError(
            f"the file holds {listed(dataset.data_vars)}",
            "wind at 10 m: u10 and v10, or wind_speed and wind_from_direction",
            "Get the wind of the same hours, or name its variables.",
            parameter="columns",
        )
    if "rain" not in found:
        raise RefusalError(
            f"the file holds {listed(dataset.data_vars)}",
            "rain: tp, precipitation_flux or another CF name of precipitation",
            "Get the precipitation of the same hours, or name its variable.",
            parameter="columns",
        )


def _rain_rule(dataset: xr.Dataset, rain: str, unit: Conversion, asked: str | None) -> tuple[str, list[str]]:
    if asked is not None:
        if asked not in RAIN_RULES:
            raise RefusalError(
                f"the rain rule is {asked!r}", f"one of {', '.join(RAIN_RULES)}", "Correct it."
            )
        if unit.rate != (asked == RATE):
            raise RefusalError(
                f"the rain rule is {asked!r}, and {rain} is in {_unit_of(dataset[rain])!r}",
                "'rate' for rain an hour or a second, another rule for an amount",
                "Leave the rule out, or correct it.",
            )
        return asked, [doubt("climate.rain_rule_told", rule=asked)]
    if unit.rate:
        return RATE, [doubt("climate.rain_is_a_rate")]
    words = " ".join(
        str(text).lower()
        for attrs in (dataset.attrs, dataset[rain].attrs)
        for text in attrs.values()
        if isinstance(text, str)
    )
    if "era5-land" in words or "era5_land" in words or "era5 land" in words:
        return SINCE_MIDNIGHT, [doubt("climate.rain_since_midnight")]
    return EVERY_HOUR, []
