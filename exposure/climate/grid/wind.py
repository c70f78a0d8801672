"""At which height a climate grid's wind blows, by its own coordinates, attributes and names; pressure levels refused."""

import re

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.mast import STANDARD_HEIGHT, mast_factor, open_ground_roughness
from exposure.doubts import Doubt, doubt

HEIGHT_NAMES = ("height", "heightAboveGround", "height_above_ground", "height_10m")
LEVEL_NAMES = (
    "level", "lev", "plev", "pressure", "pressure_level", "isobaricInhPa", "isobaricInPa", "isobaric", "hybrid",
    "model_level", "air_pressure",
)  # fmt: skip
PRESSURE_UNITS = ("pa", "hpa", "mbar", "millibar", "millibars", "mb", "bar")
NEAR_GROUND = (
    "u10",
    "v10",
    "10u",
    "10v",
    "u10m",
    "v10m",
    "uas",
    "vas",
    "sfcwind",
    "si10",
    "10si",
    "ws10m",
    "ws10",
)
LOWEST, HIGHEST = 1.0, 200.0  # m, between which the logarithmic law is used; our choice
_IN_NAME = (
    re.compile(r"^(?:u|v|ua|va|ws|wd|wind|si|sfcwind|wdir)_?(\d{1,3})(?:m|_m)?$"),
    re.compile(r"^(\d{1,3})m?_?(?:u|v|si|ws|wdir)$"),
)
_IN_WORDS = re.compile(
    r"\b(?:at )?(\d{1,3})\s?-?(?:m|metres?|meters?)\b(?!\s?(?:\*\*|/|s|\^))", re.IGNORECASE
)


def height_of_wind(value: xr.DataArray) -> float | None:
    """Height above ground that ``value`` declares for itself, or None where it says nothing. [m]

    Looked for in a coordinate of one entry, the attributes of a GRIB field, the name, then the long name.

    Raises
    ------
    RefusalError
        For wind on a level of pressure or of a model.

    Examples
    --------
    >>> height_of_wind(xr.DataArray(0.0, name="u100")), height_of_wind(xr.DataArray(0.0, name="wind")) is None
    (100.0, True)
    >>> height_of_wind(xr.DataArray(0.0, name="a", attrs={"long_name": "10 metre U wind component"}))
    10.0
    """
    _refuse_levels(value)
    for name in value.coords:
        coordinate = value[name]
        named = str(name) in HEIGHT_NAMES or coordinate.attrs.get("standard_name") == "height"
        if not named or coordinate.size != 1 or not np.issubdtype(coordinate.dtype, np.number):
            continue
        height = float(coordinate.values.flat[0])
        if np.isfinite(height) and height > 0:
            return height * (1000.0 if str(coordinate.attrs.get("units", "m")).lower() == "km" else 1.0)
    attrs = value.attrs
    if str(attrs.get("GRIB_typeOfLevel", "")) == "heightAboveGround" and "GRIB_level" in attrs:
        return float(attrs["GRIB_level"])
    plain = str(value.name).lower()
    for name in (plain, str(attrs.get("GRIB_shortName", "")).lower()):
        if name in NEAR_GROUND:
            return STANDARD_HEIGHT
        for pattern in _IN_NAME:
            if (found := pattern.match(name)) is not None:
                return float(found[1])
    for key in ("long_name", "description", "GRIB_name"):
        if (found := _IN_WORDS.search(str(attrs.get(key, "")))) is not None:
            return float(found[1])
    if "near-surface" in str(attrs.get("long_name", "")).lower():
        return STANDARD_HEIGHT
    return None


def wind_height(first: xr.DataArray, second: xr.DataArray) -> tuple[float, list[Doubt]]:
    """Height of the two variables that hold the wind [m], and the doubt where neither tells it.

    Raises
    ------
    RefusalError
        When they lie at two heights, on levels, or where the wind cannot be brought to 10 m.
    """
    known = {one for one in (height_of_wind(first), height_of_wind(second)) if one is not None}
    if len(known) > 1:
        low, high = sorted(known)
        raise RefusalError(
            f"{first.name} and {second.name} are winds of {low:g} and {high:g} m",
            "both of one height, best 10 m",
            "Name two variables of one height.",
            parameter="columns",
        )
    if not known:
        return STANDARD_HEIGHT, [doubt("climate.wind_height_assumed", name=str(first.name))]
    height = known.pop()
    if not LOWEST <= height <= HIGHEST:
        raise RefusalError(
            f"the wind {first.name} is of {height:g} m above ground",
            f"wind at 10 m, or between {LOWEST:g} and {HIGHEST:g} m",
            "Get the wind at 10 m of the same hours.",
        )
    return height, []


def to_ten_metres(height: float, roughness: float | None = None) -> tuple[float, list[Doubt]]:
    """Factor that brings wind of ``height`` [m] to 10 m over ground of ``roughness`` [m], and the doubt that says so.

    Examples
    --------
    >>> factor, told = to_ten_metres(100.0)  # farmland: ln(10 / 0.05) / ln(100 / 0.05)
    >>> round(factor, 4), to_ten_metres(10.0)
    (0.6971, (1.0, []))
    """
    if height == STANDARD_HEIGHT:
        return 1.0, []
    z0 = open_ground_roughness() if roughness is None else roughness
    if height <= 5 * z0:
        raise RefusalError(
            f"the wind is of {height:g} m over ground of {z0:g} m roughness length",
            "a height well above the roughness of the ground",
            "Correct the height or the roughness length.",
        )
    factor = float(mast_factor(height, roughness_length=z0))
    return factor, [doubt("climate.wind_brought_to_10_m", height=height, z0=z0, factor=factor)]


def _refuse_levels(value: xr.DataArray) -> None:
    """Stop for wind that lies on a level rather than at a height."""
    for dim in value.dims:
        if str(dim) in LEVEL_NAMES and dim not in value.coords and value.sizes[dim] == 1:
            raise _on_a_level(value, f"{dim}, with no value")
    for name in value.coords:
        coordinate = value[name]
        units = str(coordinate.attrs.get("units", "")).lower()
        standard = str(coordinate.attrs.get("standard_name", ""))
        pressed = units in PRESSURE_UNITS or standard in (
            "air_pressure",
            "atmosphere_hybrid_sigma_pressure_coordinate",
        )
        if (str(name) in LEVEL_NAMES or pressed) and coordinate.size == 1:
            raise _on_a_level(value, f"{name} {coordinate.values.flat[0]} {units}".strip())
    level = str(value.attrs.get("GRIB_typeOfLevel", ""))
    if level in LEVEL_NAMES:
        raise _on_a_level(value, f"{level} {value.attrs.get('GRIB_level', '')}".strip())


def _on_a_level(value: xr.DataArray, level: str) -> RefusalError:
    return RefusalError(
        f"the wind {value.name} lies on a level ({level})",
        "wind at 10 m above ground",
        "Get the wind at 10 m of the same hours: wind higher up is far stronger.",
    )
