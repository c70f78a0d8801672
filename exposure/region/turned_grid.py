"""Rotated and curvilinear model grids made regular: winds turned to true north, each new cell its nearest old one.

Nothing is averaged, so extremes stay as the model has them; the whole program then reads the result as any grid.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import LATITUDE_NAMES, LONGITUDE_NAMES, ROTATED_NAMES, find_time, listed
from exposure.climate.grid.names import KNOWN_NAMES, STANDARD_NAMES
from exposure.doubts import as_attribute, doubt, flags_of

GRID_WINDS = {  # standard names of wind along the grid's own axes
    "eastward_wind": ("grid_eastward_wind", "x_wind"),
    "northward_wind": ("grid_northward_wind", "y_wind"),
}
WINDS = ("grid", "true")
REACH = 0.75  # of the cells' spacing; a new cell farther from any old one stays empty; our choice
SQUARE = 5.0  # degrees that the axes may stand off a right angle; our choice
AGREE = 2.0  # degrees that the file's own angle may differ from that of its cells; our choice
MOST_BYTES = 200_000_000  # of one variable worked on at a time
TERMS_KEPT = ("eastward_wind", "northward_wind", "wind_speed", "wind_from_direction", "rain", "snowfall",
              "convective_rain", "air_temperature", "dew_point_temperature", "relative_humidity")  # fmt: skip


@dataclass(frozen=True, eq=False)
class Turning:
    """How the cells of a grid become those of a regular one.

    Parameters
    ----------
    latitude, longitude
        Of the regular grid, both ascending. [degree]
    pick
        Place of the old cell of each new one, -1 where none is near; shape (latitude, longitude).
    angle
        Of the grid's x axis from true east, counter-clockwise, of each old cell. [degree]
    """

    latitude: np.ndarray
    longitude: np.ndarray
    pick: np.ndarray
    angle: np.ndarray


def true_winds(along_x: np.ndarray, along_y: np.ndarray, angle: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Eastward and northward wind from that along a grid whose x axis stands ``angle`` [degree] from east.

    Examples
    --------
    >>> east, north = true_winds(10.0, 0.0, 90.0)
    >>> round(float(east), 9), float(north)
    (0.0, 10.0)
    """
    turn = np.deg2rad(angle)
    return along_x * np.cos(turn) - along_y * np.sin(turn), along_x * np.sin(turn) + along_y * np.cos(turn)


def unrotated(
    rotated_latitude: np.ndarray, rotated_longitude: np.ndarray, *, pole: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Latitude and longitude of points of a rotated grid, whose north pole lies at ``pole`` (the same). [degree]

    Examples
    --------
    >>> [round(float(value), 6) for value in unrotated(0.0, 0.0, pole=(39.25, -162.0))]
    [50.75, 18.0]
    """
    lat, lon = np.deg2rad(rotated_latitude), np.deg2rad(rotated_longitude)
    tilt = np.deg2rad(90.0 - pole[0])
    x, y, z = np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)
    along = np.cos(tilt) * x - np.sin(tilt) * z
    up = np.sin(tilt) * x + np.cos(tilt) * z
    turned = np.rad2deg(np.arctan2(y, along)) + pole[1] + 180.0
    return np.rad2deg(np.arcsin(np.clip(up, -1, 1))), (turned + 180.0) % 360.0 - 180.0


def turning_of(dataset: xr.Dataset) -> tuple[Turning, tuple[str, str]]:
    """How to turn ``dataset``, and its dimensions along y and x.

    Raises
    ------
    RefusalError
        When the places of its cells are not told, or its axes are not square.
    """
    latitude, longitude, dims = _places(dataset)
    point = _unit(latitude, longitude)
    step_x, step_y = (np.gradient(point, axis=axis) for axis in (1, 0))
    angle = _bearing_from_east(step_x * _way(dataset, dims[1]), latitude, longitude)
    upright = _bearing_from_east(step_y * _way(dataset, dims[0]), latitude, longitude)
    off = np.abs((upright - angle + 180) % 360 - 180)
    told = all(name in dataset.coords and dataset[name].ndim == 1 for name in dims)
    wrong = (
        np.abs(off - 90) > SQUARE if not told else np.abs((upright - angle - 90 + 180) % 360 - 180) > SQUARE
    )
    if wrong.mean() > 0.01:
        raise RefusalError(
            f"the axes of the grid stand {np.median(off):.0f} degrees apart",
            "axes at right angles, y to the left of x",
            "Turn the winds with the model's own tools, and regrid to latitude and longitude.",
        )
    angle = _own_angle(dataset, dims, angle)
    spacing = float(np.median([np.median(np.linalg.norm(step, axis=-1)) for step in (step_x, step_y)]))
    new_latitude, new_longitude, pick = _regular(latitude, longitude, point, np.rad2deg(spacing))
    return Turning(new_latitude, new_longitude, pick, angle), dims


def _places(dataset: xr.Dataset) -> tuple[np.ndarray, np.ndarray, tuple[str, str]]:
    """Latitude and longitude of every cell, and the dimensions they lie along."""
    found = {}
    for meaning, names in (("latitude", LATITUDE_NAMES), ("longitude", LONGITUDE_NAMES)):
        for name in dataset.variables:
            value = dataset[name]
            if (value.attrs.get("standard_name") == meaning or name in names) and value.ndim >= 2:
                found[meaning] = value.isel({dim: 0 for dim in value.dims[:-2]})
    if len(found) == 2 and found["latitude"].dims == found["longitude"].dims:
        down, across = map(str, found["latitude"].dims)
        latitude, longitude = (
            np.asarray(found[name].values, dtype=float) for name in ("latitude", "longitude")
        )
        return latitude, longitude, (down, across)
    mapping = next(
        (one for one in dataset.variables.values()
         if one.attrs.get("grid_mapping_name") == "rotated_latitude_longitude"), None,
    )  # fmt: skip
    axes = [name for name in ROTATED_NAMES if name in dataset.coords and dataset[name].ndim == 1]
    if mapping is None or len(axes) != 2:
        raise RefusalError(
            f"the file has coordinates {listed(dataset.coords)}",
            "latitude and longitude of every cell, or the pole of a rotated grid",
            "Write them into the file with the model's own tools.",
        )
    rotated = {("lat" if "lat" in name else "lon"): name for name in axes}
    lat, lon = np.meshgrid(dataset[rotated["lat"]].values, dataset[rotated["lon"]].values, indexing="ij")
    pole = (
        float(mapping.attrs["grid_north_pole_latitude"]),
        float(mapping.attrs["grid_north_pole_longitude"]),
    )
    turn = float(mapping.attrs.get("north_pole_grid_longitude", 0.0))
    latitude, longitude = unrotated(lat, lon - turn, pole=pole)
    return latitude, longitude, (rotated["lat"], rotated["lon"])


def _unit(latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    """Points of the unit sphere; last axis x, y, z."""
    lat, lon = np.deg2rad(latitude), np.deg2rad(longitude)
    return np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=-1)


def _way(dataset: xr.Dataset, dim: str) -> float:
    """1 where the axis ascends or is not told, -1 where it descends."""
    if dim not in dataset.coords or dataset[dim].ndim != 1 or dataset.sizes[dim] < 2:
        return 1.0
    return float(np.sign(float(dataset[dim][-1]) - float(dataset[dim][0]))) or 1.0


def _bearing_from_east(step: np.ndarray, latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    """Way of ``step`` counter-clockwise from east. [degree]"""
    lat, lon = np.deg2rad(latitude), np.deg2rad(longitude)
    east = -step[..., 0] * np.sin(lon) + step[..., 1] * np.cos(lon)
    north = (
        -step[..., 0] * np.sin(lat) * np.cos(lon)
        - step[..., 1] * np.sin(lat) * np.sin(lon)
        + step[..., 2] * np.cos(lat)
    )
    return np.rad2deg(np.arctan2(north, east))


def _own_angle(dataset: xr.Dataset, dims: tuple[str, str], angle: np.ndarray) -> np.ndarray:
    """The angle the file itself tells, where it does and it agrees with its cells."""
    for name in dataset.variables:
        value = dataset[name]
        if value.attrs.get("standard_name") != "angle_of_rotation_from_east_to_x" or value.dims[-2:] != dims:
            continue
        told = np.asarray(value.isel({dim: 0 for dim in value.dims[:-2]}).values, dtype=float)
        if str(value.attrs.get("units", "degree")).startswith("rad"):
            told = np.rad2deg(told)
        off = np.abs((told - angle + 180) % 360 - 180)
        if np.median(off) > AGREE:
            raise RefusalError(
                f"{name} turns the grid {np.median(off):.0f} degrees off what its cells do",
                "one angle",
                "Correct the variable, or leave it out.",
            )
        return told
    return angle


def _regular(
    latitude: np.ndarray, longitude: np.ndarray, point: np.ndarray, step: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Axes of a regular grid of cells ``step`` degrees wide over the same ground, and the nearest old cell of each."""
    from scipy.spatial import cKDTree

    turn = np.deg2rad(longitude)
    middle = float(np.rad2deg(np.arctan2(np.sin(turn).mean(), np.cos(turn).mean())))
    around = (longitude - middle + 180.0) % 360.0 - 180.0
    wide = step / max(float(np.cos(np.deg2rad(np.abs(latitude).mean()))), 0.02)
    new_latitude = np.arange(latitude.min(), latitude.max() + step / 2, step)
    new_longitude = middle + np.arange(around.min(), around.max() + wide / 2, wide)
    grid = np.meshgrid(new_latitude, new_longitude, indexing="ij")
    reach = 2 * np.sin(np.deg2rad(REACH * step) / 2)
    _, pick = cKDTree(point.reshape(-1, 3)).query(
        _unit(*grid).reshape(-1, 3), distance_upper_bound=float(reach)
    )
    pick = np.where(pick == latitude.size, -1, pick).reshape(grid[0].shape)
    rows, columns = (pick >= 0).any(axis=1), (pick >= 0).any(axis=0)
    return new_latitude[rows], new_longitude[columns], pick[np.ix_(rows, columns)]


def is_regular(dataset: xr.Dataset) -> bool:
    """Whether latitude and longitude have axes of their own.

    Examples
    --------
    >>> is_regular(xr.Dataset(coords={"latitude": [50.0, 51.0], "longitude": [8.0]}))
    True
    """
    return all(
        any(name in dataset.coords and dataset[name].dims == (name,) for name in names)
        for names in (LATITUDE_NAMES, LONGITUDE_NAMES)
    )


def turned(dataset: xr.Dataset, *, winds: str | None = None) -> Iterator[xr.Dataset]:
    """The grid made regular, some hours at a time.

    Parameters
    ----------
    dataset
        Lazy or in memory, on a rotated or curvilinear grid, one hour a stamp.
    winds
        ``grid`` when the wind's parts run along the grid's own axes, ``true`` when they run east and north; where
        nobody says, the variables' standard names decide.

    Raises
    ------
    RefusalError
        When wind or rain is missing, or nothing tells which way the wind's parts run.
    """
    turning, dims = turning_of(dataset)
    found, along_grid = _variables(dataset, winds)
    time = find_time(dataset, found["rain"])
    for name in found.values():
        extra = {dim for dim in dataset[name].dims if dim not in (*dims, *dataset[time].dims)}
        if any(dataset.sizes[dim] > 1 for dim in extra):
            raise RefusalError(
                f"{name} lies along {listed(sorted(map(str, extra)))} too",
                "time and place only",
                "Join the runs of a forecast, or choose one member, level or step first.",
            )
    axis = str(dataset[time].dims[0])
    hours = max(int(MOST_BYTES / 8 / max(turning.pick.size, 1)), 1)
    most = float(np.abs((turning.angle + 180) % 360 - 180).max())
    note = doubt("region.turned", turned=most if along_grid else 0.0)
    for first in range(0, dataset.sizes[axis], hours):
        yield _turned_block(
            dataset.isel({axis: slice(first, first + hours)}), turning, dims, found, along_grid, time, note
        )


def _turned_block(
    block: xr.Dataset,
    turning: Turning,
    dims: tuple[str, str],
    found: dict[str, str],
    along_grid: bool,
    time: str,
    note: Any,
) -> xr.Dataset:
    axis = str(block[time].dims[0])

    def cells(name: str) -> np.ndarray:
        value = block[name]
        value = value.isel({dim: 0 for dim in value.dims if dim not in (axis, *dims)})
        return np.asarray(value.transpose(axis, *dims).values, dtype=float)

    def regular(values: np.ndarray) -> np.ndarray:
        flat = values.reshape(values.shape[0], -1)[:, np.maximum(turning.pick, 0)]
        return np.where(turning.pick >= 0, flat, np.nan)

    values = {term: cells(name) for term, name in found.items()}
    if along_grid:
        values["eastward_wind"], values["northward_wind"] = true_winds(
            values["eastward_wind"], values["northward_wind"], turning.angle
        )
    made = {}
    for term, name in found.items():
        attrs = {
            key: value
            for key, value in block[name].attrs.items()
            if not key.startswith("GRIB_") and key != "grid_mapping"
        }
        if term in GRID_WINDS:
            attrs["standard_name"] = term
        made[KNOWN_NAMES[term][0]] = (("time", "latitude", "longitude"), regular(values[term]), attrs)
    kept = {key: value for key, value in block.attrs.items() if key not in ("flags", "doubts")}
    return xr.Dataset(
        made,
        {
            "time": ("time", block[time].values),
            "latitude": ("latitude", turning.latitude, {"units": "degrees_north", "standard_name": "latitude"}),
            "longitude": ("longitude", turning.longitude, {"units": "degrees_east", "standard_name": "longitude"}),
        },
        {**kept, "flags": as_attribute([*flags_of(block.attrs), note])},
    )  # fmt: skip


def _variables(dataset: xr.Dataset, winds: str | None) -> tuple[dict[str, str], bool]:
    """Variables by their term, and whether the wind's parts run along the grid."""
    if winds is not None and winds not in WINDS:
        raise RefusalError(
            f"winds are {winds!r}", f"one of {listed(WINDS)}", "Correct it.", parameter="winds"
        )
    found = {}
    for term in TERMS_KEPT:
        standards = (*GRID_WINDS.get(term, ()), *STANDARD_NAMES[term])
        name = next(
            (str(one) for one in dataset.data_vars if dataset[one].attrs.get("standard_name") in standards),
            None,
        )
        name = name or next((one for one in KNOWN_NAMES[term] if one in dataset.data_vars), None)
        if name is not None:
            found[term] = name
    pair = ("eastward_wind", "northward_wind")
    if "rain" not in found or not (
        all(term in found for term in pair)
        or all(term in found for term in ("wind_speed", "wind_from_direction"))
    ):
        raise RefusalError(
            f"the file holds {listed(dataset.data_vars)}",
            "wind at 10 m and rain",
            "Get both of the same hours.",
        )
    if not all(term in found for term in pair):
        return {term: name for term, name in found.items() if term not in pair}, False
    found = {term: name for term, name in found.items() if term not in ("wind_speed", "wind_from_direction")}
    told = {term: dataset[found[term]].attrs.get("standard_name") for term in pair}
    if winds is None and not all(told.values()):
        raise RefusalError(
            f"nothing tells whether {found[pair[0]]} and {found[pair[1]]} run along the grid or to true east and north",
            "their standard names, or a word",
            "Say 'grid' or 'true'; the model's description tells.",
            parameter="winds",
        )
    by_name = [told[term] in GRID_WINDS[term] for term in pair]
    if winds is None and by_name[0] != by_name[1]:
        raise RefusalError(
            f"one part of the wind is {told[pair[0]]}, the other {told[pair[1]]}", "both of one kind",
            "Correct the standard names.", parameter="winds",
        )  # fmt: skip
    return found, (winds == "grid") if winds is not None else by_name[0]


def _as_they_are(dataset: xr.Dataset) -> Iterator[xr.Dataset]:
    """The hours of a regular grid, some at a time."""
    hours = max(int(MOST_BYTES / 8 / max(dataset.sizes["latitude"] * dataset.sizes["longitude"], 1)), 1)
    for first in range(0, dataset.sizes["time"], hours):
        yield dataset.isel(time=slice(first, first + hours)).load()


def write_turned(
    dataset: xr.Dataset,
    store: Path,
    *,
    winds: str | None = None,
    tell: Callable[[int, int], None] = lambda _done, _of: None,
) -> None:
    """Write the grid made regular as a Zarr store, cut by space, by way of a temporary name; see :func:`turned`.

    Parameters
    ----------
    tell
        Called with the hours done and all of them; may raise to stop.
    """
    import shutil

    blocks = _as_they_are(dataset) if is_regular(dataset) else turned(dataset, winds=winds)
    part = store.with_name(f".{store.name}.part")
    shutil.rmtree(part, ignore_errors=True)
    done, of = (
        0,
        dataset.sizes[str(dataset[find_time(dataset, _variables(dataset, "true")[0]["rain"])].dims[0])],
    )
    try:
        for block in blocks:
            size = block.sizes["time"]
            if done == 0:
                chunks = (size, min(16, block.sizes["latitude"]), min(16, block.sizes["longitude"]))
                encoding: dict[str, Any] = {
                    str(name): {"chunks": chunks, "dtype": "float32"}
                    for name, value in block.data_vars.items()
                    if value.ndim == len(chunks)
                }
                encoding["time"] = {"units": "hours since 1900-01-01", "dtype": "int64"}
                block.to_zarr(part, mode="w", encoding=encoding, consolidated=False)
            else:
                block.to_zarr(part, append_dim="time", consolidated=False)
            done += size
            tell(done, of)
        shutil.rmtree(store, ignore_errors=True)
        part.rename(store)
    finally:
        shutil.rmtree(part, ignore_errors=True)
