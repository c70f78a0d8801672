"""Climate grids that follow the CF conventions, in NetCDF or Zarr: opening them, and one point out of them."""

from datetime import timedelta
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import xarray as xr
from tqdm import tqdm

from exposure.checks import RefusalError
from exposure.climate.cf_blocks import ClimateBlock, climate_block, looks_accumulated, read_block
from exposure.climate.cf_names import EVERY_HOUR, GridVariables, identify_variables
from exposure.climate.grid_store import ZARR_MARKS, open_netcdf, open_zarr_store
from exposure.climate.humidity import relative_humidity
from exposure.climate.mast import STANDARD_HEIGHT, mast_factor
from exposure.climate.nearest_cell import nearest_cell
from exposure.climate.record import MOST_IMPOSSIBLE, dataset_of
from exposure.climate.request import KINDS, Request
from exposure.climate.source_file import Source, open_source
from exposure.clock import ascending_hours

BLOCK = 8760  # hours read at once
LAND_NAMES = ("lsm", "land_binary_mask", "land_area_fraction", "sftlf")
MAGIC = (b"\x89HDF", b"CDF\x01", b"CDF\x02", b"CDF\x05")


def recognises(source: Source) -> bool:
    """Whether the source is NetCDF, a Zarr store, an archive or folder of NetCDF files, or an address."""
    if source.address is not None:
        return True
    if source.is_folder and source.path is not None:
        return any((source.path / mark).exists() for mark in ZARR_MARKS) or any(source.path.glob("*.nc"))
    if source.members:
        return all(raw[:4] in MAGIC for raw in source.members.values())
    return source.head[:4] in MAGIC


def open_grid(source: str | Path | bytes | BinaryIO | Source) -> xr.Dataset:
    """Open a grid lazily, its time decoded; for :func:`exposure.climate.cf_names.identify_variables`.

    A zip of several NetCDF files (as the Copernicus store sends instantaneous and accumulated variables) is
    joined by name; a folder of NetCDF files along time is joined along time, which needs dask.

    Raises
    ------
    RefusalError
        When the store is damaged, too large for its kind, or holds code (pickled objects).
    """
    opened = open_source(source)
    if opened.address is not None:
        return open_zarr_store(opened.address, opened.name)
    if opened.is_folder and opened.path is not None:
        if any((opened.path / mark).exists() for mark in ZARR_MARKS):
            return open_zarr_store(str(opened.path), opened.name)
        parts = [open_netcdf(path, path.name) for path in sorted(opened.path.glob("*.nc"))]
        if not parts:
            raise RefusalError(f"the folder {opened.name} holds no grid", "NetCDF files or Zarr", "Check it.")
        return parts[0] if len(parts) == 1 else _along_time([part.chunk({}) for part in parts])
    if opened.members:
        parts = [open_netcdf(open_source(raw).file(), name) for name, raw in sorted(opened.members.items())]
        return xr.merge(parts, compat="override", combine_attrs="drop_conflicts", join="outer")
    return open_netcdf(opened.file(), opened.name)


def read_climate(source: Source, request: Request) -> xr.Dataset:
    """One point of a grid as the climate Dataset: the nearest cell, its distance told.

    Raises
    ------
    RefusalError
        As :func:`exposure.climate.cf_names.identify_variables`; when no point is named, it lies outside the
        grid, its cell is empty, or rain was plainly accumulated and the file does not say so.
    """
    if (
        source.is_folder
        and source.path is not None
        and not any((source.path / mark).exists() for mark in ZARR_MARKS)
    ):
        files = sorted(source.path.glob("*.nc"))
        return _joined([climate_at(open_netcdf(path, path.name), request, path.name) for path in files])
    return climate_at(open_grid(source), request, source.name)


def climate_at(dataset: xr.Dataset, request: Request, name: str) -> xr.Dataset:
    """The climate of the cell of an opened grid nearest to ``request.at``."""
    names = identify_variables(dataset, columns=request.columns, rain_rule=request.rain_rule)
    place = nearest_cell(dataset, names, request.at)
    time, notes = grid_stamps(dataset, names, request.stamp)
    hours = ascending_hours(time)
    rows = {
        "latitude": slice(place["row"], place["row"] + 1),
        "longitude": slice(place["column"], place["column"] + 1),
    }
    wanted = list(dict.fromkeys(names.names.values()))
    raw: dict[str, list[np.ndarray]] = {variable: [] for variable in wanted}
    starts = range(0, hours.size, BLOCK)
    for start in tqdm(starts, desc=f"reading {name}", unit="year", delay=2, leave=False):
        for variable in wanted:
            piece = read_block(dataset, names, variable, time=slice(start, start + BLOCK), **rows)
            raw[variable].append(np.asarray(piece, dtype=float).reshape(piece.shape[0]))
    joined = {variable: np.concatenate(blocks) for variable, blocks in raw.items()}
    if (
        names.rain_rule == EVERY_HOUR
        and request.rain_rule is None
        and looks_accumulated(joined[names.rain], hours)
    ):
        raise RefusalError(
            f"{names.rain} grows through each day and falls back at one hour only: it is a running total",
            "rain of each hour, or a file that says how it adds up",
            "If it is ERA5-Land, read it with --rain-rule 'since 00 UTC'; if it truly is hourly, --rain-rule hour.",
        )
    block, _ = climate_block(names, joined, hours=hours)
    values = {
        "rain": block.rain,
        "wind_speed": block.wind_speed,
        "wind_from_direction": block.wind_from_direction,
        **{term: block.extra[term] for term in block.extra if term != "dew_point_temperature"},
    }
    if (
        "dew_point_temperature" in block.extra
        and "air_temperature" in values
        and "relative_humidity" not in values
    ):
        values["relative_humidity"] = relative_humidity(
            air_temperature=values["air_temperature"],
            dew_point_temperature=block.extra["dew_point_temperature"],
        )
    land_share = _land_share(dataset, names, place)
    flags = [*names.notes, *notes, *_grid_flags(names, place, block, hours.size, land_share)]
    if not np.any(np.isfinite(values["rain"]) & np.isfinite(values["wind_speed"])):
        raise RefusalError(
            f"the cell at {place['latitude']:g}, {place['longitude']:g} holds no values (masked, perhaps sea)",
            "a cell with wind and rain",
            "Name a point a cell further inland, or use a grid that covers it.",
        )
    attrs: dict[str, object] = {
        key: place[key] for key in ("latitude", "longitude", "distance") if key in place
    }
    attrs["time_zone"] = 0.0
    if land_share is not None:
        attrs["land_share"] = land_share
    height = request.mast_height or names.wind_height
    if height != STANDARD_HEIGHT:
        factor = mast_factor(height, roughness_length=request.mast_roughness)
        values["wind_speed"] = values["wind_speed"] * factor
        flags.append(
            f"Wind of {height:g} m was brought to 10 m with the logarithmic law (factor {factor:.3f})."
        )
    kind, licence = (
        record_kind(dataset),
        dataset.attrs.get("licence", dataset.attrs.get("license", "not named")),
    )
    title = str(dataset.attrs.get("source", dataset.attrs.get("title", "")))[:200]
    return dataset_of(
        time,
        values,
        kind=request.kind or kind,
        source=f"{title} ({name})" if title else name,
        licence=str(licence)[:200],
        attrs=attrs,
        flags=flags,
    )


def _along_time(parts: list[xr.Dataset]) -> xr.Dataset:
    names = identify_variables(parts[0])
    axis = str(parts[0][names.time].dims[0])
    parts = sorted(parts, key=lambda part: part[names.time].values[0])
    return xr.concat(parts, axis, data_vars="minimal", coords="minimal", compat="override", join="exact")


def _joined(parts: list[xr.Dataset]) -> xr.Dataset:
    """Climates of one point from several files, one after the other."""
    parts = sorted(parts, key=lambda part: part["time"].values[0])
    cells = {(part.attrs.get("latitude"), part.attrs.get("longitude")) for part in parts}
    if len(cells) > 1:
        raise RefusalError(
            "the files have different grids", "files of one grid", "Put each grid in a folder."
        )
    joined = xr.concat(parts, "time", combine_attrs="override", data_vars="minimal", join="outer")
    if joined.get_index("time").has_duplicates:
        raise RefusalError(
            "the files overlap in time", "each hour once", "Remove the files that repeat years."
        )
    joined.attrs["flags"] = list(dict.fromkeys(flag for part in parts for flag in part.attrs["flags"]))
    return joined


def grid_stamps(
    dataset: xr.Dataset, names: GridVariables, told: str | None
) -> tuple[xr.DataArray, list[str]]:
    """Stamps at the end of each hour, by the file's own bounds where it declares them."""
    time = dataset[names.time]
    if told == "start":
        hour = np.timedelta64(1, "h") if time.dtype != object else timedelta(hours=1)
        return (
            xr.DataArray(time.values + hour, dims="time"),
            ["Stamps are the start of their hour, as told; they were moved to its end."],
        )
    bounds = time.attrs.get("bounds", time.encoding.get("bounds"))
    if (
        bounds in dataset.variables
        and dataset[bounds].ndim == 2
        and dataset[bounds].sizes[dataset[bounds].dims[1]] == 2
    ):
        ends = dataset[bounds][:, 1]
        if ends.dtype == time.dtype and np.any(ends.values != time.values):
            return (
                xr.DataArray(ends.values, dims="time"),
                ["Stamps were moved to the end of the interval that the file's time bounds declare."],
            )
    return xr.DataArray(time.values, dims="time"), []


def _land_share(dataset: xr.Dataset, names: GridVariables, place: dict[str, Any]) -> float | None:
    """Share of the cell that is land, 0 to 1, by the file's own land mask; None where it holds none."""
    for name in LAND_NAMES:
        if name in dataset.data_vars:
            land = dataset[name].isel(
                {names.latitude: place["row"], names.longitude: place["column"]}, missing_dims="ignore"
            )
            share = float(np.asarray(land.values, dtype=float).flat[0])
            if name == "sftlf" or dataset[name].attrs.get("units") == "%":
                share /= 100
            return share if 0 <= share <= 1 else None
    return None


def _grid_flags(
    names: GridVariables, place: dict[str, Any], block: ClimateBlock, number: int, land_share: float | None
) -> list[str]:
    flags = []
    if "distance" in place:
        flags.append(
            f"Taken from the grid cell centred at {place['latitude']:g}, {place['longitude']:g}, "
            f"{place['distance']:g} km from the point asked for."
        )
    if block.tiny_negatives:
        flags.append(f"{block.tiny_negatives} hours of rain a hair below zero (packing) were set to zero.")
    if block.impossible > MOST_IMPOSSIBLE * number:
        raise RefusalError(
            f"{block.impossible} of {number} hours hold impossible wind or rain",
            f"at most {MOST_IMPOSSIBLE:.1%}",
            "Check the units the file declares and how its rain adds up (--rain-rule).",
        )
    if block.impossible:
        flags.append(f"{block.impossible} impossible values of wind or rain were made missing.")
    if block.unsplit:
        flags.append(f"{block.unsplit} hours of rain could not be taken apart (the hour before is missing).")
    if block.snow_taken_off:
        flags.append("Snowfall was taken off the total precipitation.")
    elif not names.rain_is_liquid:
        flags.append("Rain is total precipitation, snow included: the file holds no snowfall to take off.")
    if land_share is not None and land_share < 0.5:
        flags.append(
            "The cell is mostly sea: its wind already blows over open water, so terrain category I on top "
            "would count that twice."
        )
    return flags


def record_kind(dataset: xr.Dataset) -> str:
    """Kind of record a grid calls itself, or its attributes suggest: reanalysis, otherwise model."""
    told = dataset.attrs.get("kind")
    if told in KINDS:
        return str(told)
    words = " ".join(str(value) for value in dataset.attrs.values()).lower()
    known = ("reanalysis", "era5", "merra", "european centre for medium-range", "ecmwf")
    return "reanalysis" if any(word in words for word in known) else "model"
