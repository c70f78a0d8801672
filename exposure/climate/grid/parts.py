"""The files of a climate grid: opened, those that hold wind and rain apart put together, and set in order of time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import LATITUDE_NAMES, LONGITUDE_NAMES, find_axis, find_time, listed
from exposure.climate.grid.members import one_member
from exposure.climate.grid.names import GridVariables, identify_variables, terms_in
from exposure.climate.grid.store import ZARR_MARKS, open_netcdf, open_zarr_store
from exposure.climate.source_file import Source, open_source
from exposure.clock import ascending_hours
from exposure.doubts import doubt

DATASET = "the Dataset"  # name of a grid that came open
NETCDF_ENDINGS = (".nc", ".nc4", ".cdf", ".h5")


@dataclass
class Part:
    """One stretch of time of a grid, in one file or in several that complete each other.

    Attributes
    ----------
    name
        Of its file, for messages.
    path
        Its file or store; None where it has no one place on this disk.
    stamps
        End of each hour, as :func:`grid_stamps` gives it.
    hours
        The same as whole hours since 1970 of the grid's calendar.
    """

    name: str
    dataset: xr.Dataset
    path: Path | None
    names: GridVariables
    stamps: xr.DataArray
    hours: np.ndarray


def open_parts(
    source: str | Path | bytes | BinaryIO | Source | xr.Dataset,
    *,
    columns: Mapping[str, str] | None = None,
    rain_rule: str | None = None,
    stamp: str | None = None,
    where: Mapping[str, str] | None = None,
) -> list[Part]:
    """Open a store, a file, an archive, a folder of NetCDF files or a pattern with ``*``, or take an open Dataset.

    Nothing is loaded.

    Files that hold wind and rain apart (a file a variable, or instantaneous and accumulated fields) are put together
    by their hours; the hours that only some of them hold are left out, and said. Of an ensemble ``where`` names the
    member wanted, such as ``{"number": "3"}``.

    Raises
    ------
    RefusalError
        For grids that cannot be read, files that overlap in time, or differ in cells, names or units.
    """
    opened = _files(source)
    if where:  # without its file's name: readers of raw chunks know nothing of members
        opened = [(name, _as_it_is(one_member(dataset, where, name)), None) for name, dataset, _ in opened]
    told: list = []
    if len(opened) > 1:
        opened, told = _completed(opened, columns, stamp)
        stamp = None
    parts = [part_of(*one, columns=columns, rain_rule=rain_rule, stamp=stamp) for one in opened]
    parts.sort(key=lambda part: int(part.hours[0]))
    _check_alike(parts)
    parts[0].names = replace(parts[0].names, notes=(*parts[0].names.notes, *told))
    return parts


def open_grid(source: str | Path | bytes | BinaryIO | Source) -> xr.Dataset:
    """Open the one file or store of a source lazily, its time decoded.

    Raises
    ------
    RefusalError
        When it cannot be opened, or is several files.
    """
    opened = _files(source)
    if len(opened) > 1:
        raise RefusalError(f"{opened[0][0]} is one of {len(opened)} files", "one file", "Name one of them.")
    return opened[0][1]


def first_dataset(source: str | Path | bytes | BinaryIO | Source | xr.Dataset) -> xr.Dataset:
    """The first file of a grid as it is, lazily."""
    return _files(source)[0][1]


_Opened = tuple[str, xr.Dataset, Path | None]


def _as_it_is(dataset: xr.Dataset) -> xr.Dataset:
    """``dataset`` without the names of the files it came from, which may hold other values by now than it does."""
    bare = dataset.copy()
    for variable in bare.variables.values():
        variable.encoding = {key: value for key, value in variable.encoding.items() if key != "source"}
    return bare


def _files(source: str | Path | bytes | BinaryIO | Source | xr.Dataset) -> list[_Opened]:
    if isinstance(source, xr.Dataset):
        return [(DATASET, _as_it_is(source), None)]
    if isinstance(source, str | Path) and "://" not in str(source) and any(m in str(source) for m in "*?["):
        path = Path(source)
        if not path.exists():
            root = Path(path.anchor) if path.is_absolute() else Path()
            files = sorted(root.glob(str(path.relative_to(root))))
            if not files:
                raise RefusalError(f"no file matches {source}", "files along time", "Check the pattern.")
            return [(file.name, open_netcdf(file, file.name), file) for file in files]
    opened = open_source(source)
    if opened.address is not None:
        if opened.address.lower().partition("?")[0].endswith(NETCDF_ENDINGS):
            raise RefusalError(
                f"{opened.name} is a NetCDF file at an address",
                "a Zarr store at an address, or a NetCDF file on this computer",
                "Download the file first.",
            )
        return [(opened.name, open_zarr_store(opened.address, opened.name), None)]
    if opened.is_folder and opened.path is not None:
        if any((opened.path / mark).exists() for mark in ZARR_MARKS):
            return [(opened.name, open_zarr_store(str(opened.path), opened.name), opened.path)]
        files = sorted(opened.path.glob("*.nc"))
        if not files:
            raise RefusalError(
                f"the folder {opened.name} holds no grid", "a Zarr store or NetCDF files", "Check it."
            )
        return [(file.name, open_netcdf(file, file.name), file) for file in files]
    if opened.members:
        return [
            (name, open_netcdf(open_source(raw).file(), name), None)
            for name, raw in sorted(opened.members.items())
        ]
    if opened.head[:4] == b"GRIB":
        raise RefusalError(
            f"{opened.name} is GRIB",
            "NetCDF or Zarr for more than one place",
            "Get the same fields as NetCDF, or turn them into it; one place is read from GRIB as it is.",
        )
    file = opened.file()
    return [(opened.name, open_netcdf(file, opened.name), file if isinstance(file, Path) else None)]


def part_of(
    name: str,
    dataset: xr.Dataset,
    path: Path | None = None,
    *,
    columns: Mapping[str, str] | None = None,
    rain_rule: str | None = None,
    stamp: str | None = None,
) -> Part:
    """A dataset, opened lazily, with its variables found and its hours read.

    Raises
    ------
    RefusalError
        As :func:`exposure.climate.grid.names.identify_variables`, and for stamps that are no ascending hours.
    """
    dataset = _placed(dataset)
    names = identify_variables(dataset, columns=columns, rain_rule=rain_rule)
    stamps, notes = grid_stamps(dataset, names.time, stamp)
    return Part(
        name, dataset, path, replace(names, notes=(*names.notes, *notes)), stamps, ascending_hours(stamps)
    )


def _placed(dataset: xr.Dataset) -> xr.Dataset:
    """A record of one place that names it by attributes, as this program writes one, with coordinates."""
    place = {
        name: float(value)
        for name in ("latitude", "longitude")
        if isinstance(value := dataset.attrs.get(name), int | float | np.number)
        and name not in dataset.variables
    }
    bare = all(dataset[name].ndim <= 1 for name in dataset.data_vars)
    return dataset.assign_coords(place) if bare and len(place) == 2 else dataset


def grid_stamps(dataset: xr.Dataset, axis: str, told: str | None) -> tuple[xr.DataArray, list[str]]:
    """Stamps at the end of each hour, by the file's own bounds where it declares them, and what is said of them."""
    time = dataset[axis]
    if told == "start":
        hour = np.timedelta64(1, "h") if time.dtype != object else timedelta(hours=1)
        return xr.DataArray(time.values + hour, dims="time"), [doubt("climate.stamps_told_start")]
    bounds = time.attrs.get("bounds", time.encoding.get("bounds"))
    if (
        bounds in dataset.variables
        and dataset[bounds].ndim == 2
        and dataset[bounds].sizes[dataset[bounds].dims[1]] == 2
    ):
        ends = dataset[bounds][:, 1]
        if ends.dtype == time.dtype and np.any(ends.values != time.values):
            return xr.DataArray(ends.values, dims="time"), [doubt("climate.stamps_by_bounds")]
    return xr.DataArray(time.values, dims="time"), []


# ------------------------------------------------------------------ files that complete each other


@dataclass
class _Piece:
    """A file that holds some of the terms: its data on a common time axis of hour ends."""

    name: str
    dataset: xr.Dataset
    hours: np.ndarray


def _completed(
    opened: Sequence[_Opened], columns: Mapping[str, str] | None, stamp: str | None
) -> tuple[list[_Opened], list[str]]:
    """Files that each hold wind and rain; those that do not are joined with their complements, hour by hour."""
    held = [terms_in(dataset, columns) for _, dataset, _ in opened]
    if all(_is_whole(terms) for terms in held):
        return list(opened), []
    groups: dict[frozenset[str], list[_Piece]] = {}
    told: list[str] = []
    for (name, dataset, _), terms in zip(opened, held, strict=True):
        if not terms:
            continue  # a land mask or a ground height beside the weather
        piece, notes = _on_hours(name, dataset, columns, stamp)
        told += notes
        groups.setdefault(terms, []).append(piece)
    if len(groups) < 2 or not _is_whole(frozenset().union(*groups)):
        return list(opened), []  # refused by name where its variables are looked for
    order = sorted(groups, key=lambda terms: "rain" not in terms)
    pieces = sorted(groups[order[0]], key=lambda piece: int(piece.hours[0]))
    most = sum(piece.hours.size for piece in pieces)
    for terms in order[1:]:
        others = groups[terms]
        most = max(most, sum(piece.hours.size for piece in others))
        pieces = [joined for one in pieces for other in others if (joined := _joined(one, other)) is not None]
    if not pieces:
        raise RefusalError(
            f"the files of wind and rain share no hour ({listed(name for name, _, _ in opened)})",
            "wind and rain of the same hours",
            "Get the files of one period.",
        )
    common = sum(piece.hours.size for piece in pieces)
    if common < most:
        told.append(doubt("climate.hours_of_some_files", hours=most - common))
    return [(piece.name, piece.dataset, None) for piece in pieces], list(dict.fromkeys(told))


def _is_whole(terms: frozenset[str]) -> bool:
    wind = {"eastward_wind", "northward_wind"} <= terms or {"wind_speed", "wind_from_direction"} <= terms
    return wind and "rain" in terms


def _on_hours(
    name: str, dataset: xr.Dataset, columns: Mapping[str, str] | None, stamp: str | None
) -> tuple[_Piece, list[str]]:
    """The file with stamps at the ends of hours, and its axes under common names."""
    variable = next(iter(terms_in(dataset, columns, by_name=True)))
    axis = find_time(dataset, variable)
    stamps, notes = grid_stamps(dataset, axis, stamp)
    dim = str(dataset[axis].dims[0])
    bounds = dataset[axis].attrs.get("bounds", dataset[axis].encoding.get("bounds"))
    gone = [one for one in {axis, bounds} if one in dataset.variables and one != dim]
    dataset = dataset.drop_vars(gone)
    if dim in dataset.variables:
        dataset = dataset.drop_vars(dim)
    renamed = {
        old: new
        for old, new in (
            (dim, "time"),
            (find_axis(dataset, LATITUDE_NAMES, "latitude"), "latitude"),
            (find_axis(dataset, LONGITUDE_NAMES, "longitude"), "longitude"),
        )
        if old != new
    }
    dataset = dataset.rename(renamed).assign_coords(time=("time", stamps.values))
    return _Piece(name, dataset, ascending_hours(stamps)), notes


def _joined(one: _Piece, other: _Piece) -> _Piece | None:
    hours, here, there = np.intersect1d(one.hours, other.hours, assume_unique=True, return_indices=True)
    if hours.size == 0:
        return None
    for axis in ("latitude", "longitude"):
        if not np.array_equal(one.dataset[axis].values, other.dataset[axis].values):
            raise _other_cells(one.name, other.name)
    parts = [_at(one.dataset, here), _at(other.dataset, there)]
    repeated = set(parts[0].data_vars) & set(parts[1].data_vars)
    merged = xr.merge(
        [parts[0], parts[1].drop_vars(repeated)], compat="override", join="override", combine_attrs="override"
    )
    return _Piece(f"{one.name} and {other.name}", merged, hours)


def _at(dataset: xr.Dataset, places: np.ndarray) -> xr.Dataset:
    if places.size == dataset.sizes["time"]:
        return dataset
    run = places.size == places[-1] - places[0] + 1
    return dataset.isel(time=slice(int(places[0]), int(places[-1]) + 1) if run else places)


# ------------------------------------------------------------------ files along time


def _check_alike(parts: Sequence[Part]) -> None:
    """Stop unless the parts follow each other, on the same cells, with the same variables."""
    first = parts[0]
    for before, part in pairwise(parts):
        if part.hours[0] <= before.hours[-1]:
            raise RefusalError(
                f"{before.name} and {part.name} overlap in time", "each hour once", "Remove one of them."
            )
    for part in parts[1:]:
        if not all(
            part.dataset[a].shape == first.dataset[b].shape
            and np.array_equal(part.dataset[a].values, first.dataset[b].values)
            for a, b in (
                (part.names.latitude, first.names.latitude),
                (part.names.longitude, first.names.longitude),
            )
        ):
            raise _other_cells(part.name, first.name)
        if _manner(part.names) != _manner(first.names):
            raise RefusalError(
                f"{part.name} and {first.name} name or measure their variables differently",
                "files of one kind",
                "Put each kind in a folder.",
            )


def _manner(names: GridVariables) -> tuple:
    return (
        names.names,
        names.conversions,
        names.rain_rule,
        names.calendar,
        names.wind_height,
        names.direction_turn,
        names.rain_is_liquid,
    )


def _other_cells(one: str, other: str) -> RefusalError:
    return RefusalError(
        f"{one} and {other} have different grids", "files of one grid", "Put each grid in a folder."
    )
