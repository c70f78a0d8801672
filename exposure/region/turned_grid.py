"""Rotated and curvilinear model grids made regular: winds turned to true north, each new cell its nearest old one.

Nothing is averaged, so extremes stay as the model has them; the whole program then reads the result as any grid.
"""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import find_time, listed
from exposure.climate.grid.names import KNOWN_NAMES, STANDARD_NAMES
from exposure.doubts import Doubt, as_attribute, doubt, flags_of
from exposure.region.turning import Turning, is_regular, true_winds, turning_of

GRID_WINDS = {  # standard names of wind along the grid's own axes
    "eastward_wind": ("grid_eastward_wind", "x_wind"),
    "northward_wind": ("grid_northward_wind", "y_wind"),
}
WINDS = ("grid", "true")
MOST_BYTES = 200_000_000  # of one variable worked on at a time
TERMS_KEPT = ("eastward_wind", "northward_wind", "wind_speed", "wind_from_direction", "rain", "snowfall",
              "convective_rain", "air_temperature", "dew_point_temperature", "relative_humidity")  # fmt: skip


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
            dataset.isel({axis: slice(first, min(first + hours, dataset.sizes[axis]))}),
            turning,
            dims,
            found,
            along_grid,
            time,
            note,
        )


def _turned_block(
    block: xr.Dataset,
    turning: Turning,
    dims: tuple[str, str],
    found: dict[str, str],
    along_grid: bool,
    time: str,
    note: Doubt,
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
