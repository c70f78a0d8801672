"""How a rotated or curvilinear grid lies: the angle of its axes, and which of its cells is nearest to each new one."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import LATITUDE_NAMES, LONGITUDE_NAMES, ROTATED_NAMES, listed

REACH = 0.75  # of the cells' spacing; a new cell farther from any old one stays empty; our choice
SQUARE = 5.0  # degrees that the axes may stand off a right angle; our choice
AGREE = 2.0  # degrees that the file's own angle may differ from that of its cells; our choice


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
