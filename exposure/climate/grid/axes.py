"""Axes of a climate grid: time, latitude and longitude found, and every kind of grid that is not one refused by name."""

from collections.abc import Iterable, Mapping

import numpy as np
import xarray as xr

from exposure.checks import RefusalError

TIME_NAMES = ("valid_time", "time")
LATITUDE_NAMES = ("latitude", "lat", "nav_lat", "XLAT")
LONGITUDE_NAMES = ("longitude", "lon", "nav_lon", "XLONG")
ROTATED_NAMES = ("rlat", "rlon", "grid_latitude", "grid_longitude")
EXPVER_NAMES = ("expver",)
MEMBER_NAMES = ("number", "realization", "member", "ensemble")


def refuse_rotated(dataset: xr.Dataset) -> None:
    """Stop for grids whose axes or winds are turned or projected."""
    rotated = [name for name in ROTATED_NAMES if name in dataset.dims or name in dataset.coords]
    for name in dataset.variables:
        attrs = dataset[name].attrs
        mapping = str(attrs.get("grid_mapping_name", ""))
        standard = str(attrs.get("standard_name", ""))
        grid = str(attrs.get("GRIB_gridType", ""))
        if mapping not in ("", "latitude_longitude"):
            rotated.append(mapping)
        if standard.startswith("grid_"):
            rotated.append(standard)
        if grid and grid not in ("regular_ll", "regular_gg"):
            rotated.append(grid)
    if rotated:
        raise RefusalError(
            f"the grid is turned or projected ({rotated[0]})",
            "latitude and longitude, each on an axis of its own",
            "Regrid it to latitude and longitude first, and turn its winds to true north.",
        )


def find_axis(dataset: xr.Dataset, names: tuple[str, ...], meaning: str) -> str:
    """Name of the coordinate ``meaning`` (latitude or longitude), by standard_name or one of ``names``."""
    for name in dataset.variables:
        if dataset[name].attrs.get("standard_name") == meaning:
            return str(name)
    for name in names:
        if name in dataset.variables:
            return name
    raise RefusalError(
        f"the file has coordinates {listed(dataset.coords)}",
        f"a coordinate {meaning}",
        f"Name it {meaning} or give it that standard_name.",
    )


def find_time(dataset: xr.Dataset, rain: str) -> str:
    """Name of the decoded time axis that ``rain`` runs along; valid_time goes before time."""
    standing = [
        str(name)
        for name in (*TIME_NAMES, *dataset.coords)
        if name in dataset.variables
        and dataset[name].ndim == 1
        and set(dataset[name].dims) <= set(dataset[rain].dims)
    ]
    for name in standing:
        if np.issubdtype(dataset[name].dtype, np.datetime64) or _is_cftime(dataset[name]):
            return name
    raise RefusalError(
        f"the file has coordinates {listed(dataset.coords)}",
        "a time axis with CF units, such as 'hours since 1900-01-01'",
        "Use a file of consecutive hours with time or valid_time.",
    )


def _is_cftime(value: xr.DataArray) -> bool:
    return value.dtype == object and value.size > 0 and hasattr(value.values.flat[0], "calendar")


def grid_kind_of(dataset: xr.Dataset, latitude: str, longitude: str) -> str:
    """``"regular"`` or ``"point"``; every other kind is refused by name."""
    lat, lon = dataset[latitude], dataset[longitude]
    if lat.ndim == 0 and lon.ndim == 0:
        return "point"
    if lat.ndim == 2 or lon.ndim == 2:
        raise RefusalError(
            "the grid is curvilinear (latitude and longitude are fields)",
            "latitude and longitude, each on an axis of its own",
            "Regrid it to latitude and longitude first, and turn its winds to true north.",
        )
    if lat.dims != (latitude,) or lon.dims != (longitude,):
        raise RefusalError(
            f"the places are a list along {listed({*lat.dims, *lon.dims})}",
            "a grid with latitude and longitude, each on an axis of its own",
            "Write one place to a file, or use a gridded file.",
        )
    for axis in (lat, lon):
        values = np.asarray(axis.values)
        if not np.issubdtype(values.dtype, np.number) or not np.all(np.isfinite(values)):
            raise RefusalError(
                f"{axis.name} holds {values[:1]!r}", "finite numbers of degrees", "Mend the file."
            )
        steps = np.diff(values)
        if steps.size and not (np.all(steps > 0) or np.all(steps < 0)):
            raise RefusalError(
                f"{axis.name} neither ascends nor descends",
                "an ordered axis",
                "Sort the file by place first.",
            )
    if np.max(np.abs(lat.values)) > 90.001 or np.max(np.abs(lon.values)) > 360.001:
        raise RefusalError(
            f"latitude reaches {np.max(np.abs(lat.values)):g} and longitude {np.max(np.abs(lon.values)):g}",
            "degrees within 90 and 360",
            "Check that the axes are degrees and not swapped.",
        )
    return "regular"


def extra_dimensions(
    dataset: xr.Dataset, found: Mapping[str, str], time: str, latitude: str, longitude: str
) -> tuple[str | None, str | None]:
    """Dimensions besides time and place: expver, and a length-one one; any other is refused by name."""
    usual = {*dataset[time].dims, latitude, longitude}
    expver = member = None
    for name in found.values():
        for dim in map(str, dataset[name].dims):
            if dim in usual:
                continue
            if dim in EXPVER_NAMES and dim in dataset.variables:
                expver = dim
            elif (
                dim == "step"
                and dataset.sizes[dim] == 1
                and dim in dataset.variables
                and np.any(dataset[dim].values != np.array(0, dataset[dim].dtype))
            ):
                raise RefusalError(
                    f"{name} is of one step of a forecast",
                    "time, latitude and longitude only",
                    "Put the valid time on the time axis and drop the step.",
                )
            elif dataset.sizes[dim] == 1 and (member in (None, dim)):
                member = dim
            elif dim in MEMBER_NAMES:
                raise RefusalError(
                    f"the file is an ensemble of {dataset.sizes[dim]} members",
                    "one member",
                    f"Choose one along {dim}.",
                    parameter="where",
                )
            else:
                raise RefusalError(
                    f"{name} has a dimension {dim} of {dataset.sizes[dim]}",
                    "time, latitude and longitude only",
                    "Choose one step or level and write it to a file.",
                )
    return expver, member


def listed(names: Iterable[object]) -> str:
    """The first eight names, for a message.

    Examples
    --------
    >>> listed("abcdefghij")
    'a, b, c, d, e, f, g, h and 2 more'
    """
    shown = [str(name)[:30] for name in names]
    return ", ".join(shown[:8]) + (f" and {len(shown) - 8} more" if len(shown) > 8 else "") or "nothing"
