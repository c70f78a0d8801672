"""One point out of a climate grid that follows the CF conventions, in NetCDF or Zarr."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.blocks import ClimateBlock, climate_block, read_block
from exposure.climate.grid.checks import refuse_impossible, settle_rain_rule, snow_doubts
from exposure.climate.grid.names import GridVariables
from exposure.climate.grid.nearest_cell import nearest_cell
from exposure.climate.grid.parts import Part, open_grid, open_parts
from exposure.climate.grid.store import ZARR_MARKS
from exposure.climate.grid.wind import to_ten_metres
from exposure.climate.humidity import relative_humidity
from exposure.climate.record import dataset_of
from exposure.climate.request import KINDS, Request
from exposure.climate.running_totals import count_steps
from exposure.climate.source_file import Source
from exposure.climate.written import climate_again, is_climate
from exposure.doubts import doubt, flags_of

BLOCK = 8760  # hours read at once
LAND_NAMES = ("lsm", "land_binary_mask", "land_area_fraction", "sftlf")
MAGIC = (b"\x89HDF", b"CDF\x01", b"CDF\x02", b"CDF\x05")


def recognises(source: Source) -> bool:
    """Whether the source is NetCDF, a Zarr store, an archive or folder of NetCDF files, or an address."""
    if source.address is not None:
        return True
    if source.is_folder and source.path is not None:
        return _is_store(source) or any(source.path.glob("*.nc"))
    if source.members:
        return all(raw[:4] in MAGIC for raw in source.members.values())
    return source.head[:4] in MAGIC


def _is_store(source: Source) -> bool:
    return source.path is not None and any((source.path / mark).exists() for mark in ZARR_MARKS)


def read_climate(source: Source, request: Request) -> xr.Dataset:
    """One point of a grid as the climate Dataset: the nearest cell, its distance told.

    A climate Dataset that was written to a file comes back as it was.

    Raises
    ------
    RefusalError
        As :func:`exposure.climate.grid.names.identify_variables`; when no point is named, it lies outside the
        grid, its cell is empty, or rain was plainly accumulated and the file does not say so.
    """
    if not (source.members or source.address) and (not source.is_folder or _is_store(source)):
        dataset = open_grid(source)
        if is_climate(dataset, request):
            return climate_again(dataset, request)
    parts = open_parts(
        source, columns=request.columns, rain_rule=request.rain_rule, stamp=request.stamp, where=request.where
    )
    return climate_of(parts, request, source.name)


def climate_of(parts: Sequence[Part], request: Request, name: str) -> xr.Dataset:
    """The climate of the cell nearest to ``request.at``, from the parts of a grid in order of time."""
    from tqdm import tqdm

    dataset, names = parts[0].dataset, parts[0].names
    place = nearest_cell(dataset, names, request.at)
    raw: dict[str, list[np.ndarray]] = {variable: [] for variable in dict.fromkeys(names.names.values())}
    rows = {
        "latitude": slice(place["row"], place["row"] + 1),
        "longitude": slice(place["column"], place["column"] + 1),
    }
    stretches = [
        (part, slice(start, min(start + BLOCK, part.hours.size)))
        for part in parts
        for start in range(0, part.hours.size, BLOCK)
    ]
    for part, stretch in tqdm(stretches, desc=f"reading {name}", unit="stretch", delay=2, leave=False):
        for variable, pieces in raw.items():
            piece = read_block(part.dataset, part.names, variable, time=stretch, **rows)
            pieces.append(np.asarray(piece, dtype=float).reshape(piece.shape[0]))
    return climate_from(
        {variable: np.concatenate(pieces) for variable, pieces in raw.items()}, parts, place, request, name
    )


def climate_from(
    joined: Mapping[str, np.ndarray],
    parts: Sequence[Part],
    place: dict[str, Any],
    request: Request,
    name: str,
) -> xr.Dataset:
    """The climate of one cell from its raw series, one after the other through all parts.

    Parameters
    ----------
    joined
        Variable of the file -> numbers as they stand in it.
    place
        As :func:`exposure.climate.grid.nearest_cell.nearest_cell` gives it.
    """
    dataset, names = parts[0].dataset, parts[0].names
    hours = np.concatenate([part.hours for part in parts])
    time = np.concatenate([part.stamps.values for part in parts])
    names = settle_rain_rule(names, count_steps(names.conversions["rain"].apply(joined[names.rain]), hours))
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
    flags = [
        *flags_of(dataset.attrs),
        *names.notes,
        *_grid_flags(names, place, block, hours.size, land_share),
    ]
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
    if names.grid_kind == "point" and isinstance(dataset.attrs.get("ground_height"), float | np.floating):
        attrs["ground_height"] = float(dataset.attrs["ground_height"])
    if land_share is not None:
        attrs["land_share"] = land_share
    factor, brought = to_ten_metres(request.mast_height or names.wind_height, request.mast_roughness)
    values["wind_speed"] = values["wind_speed"] * factor
    flags += brought
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
    flags: list[str] = []
    if "distance" in place:
        where = {key: place[key] for key in ("latitude", "longitude", "distance")}
        flags.append(doubt("climate.nearest_cell", **where))
    refuse_impossible(block.impossible, number)
    if block.tiny_negatives:
        flags.append(doubt("climate.tiny_negatives", hours=block.tiny_negatives))
    if block.impossible:
        flags.append(doubt("climate.impossible_made_missing", values=block.impossible))
    if block.unsplit:
        flags.append(doubt("climate.rain_unsplit", hours=block.unsplit))
    flags += snow_doubts(names)
    if land_share is not None and land_share < 0.5:
        flags.append(doubt("climate.mostly_sea"))
    return flags


def record_kind(dataset: xr.Dataset) -> str:
    """Kind of record a grid calls itself, or its attributes suggest: reanalysis, otherwise model."""
    told = dataset.attrs.get("kind")
    if told in KINDS:
        return str(told)
    words = " ".join(str(value) for value in dataset.attrs.values()).lower()
    known = ("reanalysis", "era5", "merra", "european centre for medium-range", "ecmwf")
    return "reanalysis" if any(word in words for word in known) else "model"
