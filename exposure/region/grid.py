"""A climate grid opened for one pass: its hours, its cells within a box and some years, and its readers."""

from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import xarray as xr

from exposure.checks import RefusalError, check_hourly
from exposure.climate.cf_blocks import looks_accumulated
from exposure.climate.cf_grid import ZARR_MARKS, grid_stamps, open_grid, record_kind
from exposure.climate.cf_names import EVERY_HOUR, GridVariables, identify_variables
from exposure.climate.grid_store import open_netcdf
from exposure.climate.mast import STANDARD_HEIGHT, mast_factor
from exposure.clock import ascending_hours
from exposure.rain.streaming import first_hour
from exposure.region.chunk_reading import Reader, make_reader

Box = tuple[float, float, float, float]  # west, south, east, north [degree]
POLE = 89.999  # degrees; nearer to a pole, east and north mean nothing


@dataclass
class Part:
    """One file or store along time: the rows it gives to the record."""

    name: str
    dataset: xr.Dataset
    names: GridVariables
    hours: np.ndarray
    first: int  # row of its first wanted hour
    readers: dict[str, Reader] = field(default_factory=dict)


@dataclass
class Grid:
    """What a pass needs to know of a grid; fields stay on disk.

    Attributes
    ----------
    parts
        Files in order of time.
    hours
        Every wanted hour, since 1970 of the grid's calendar.
    rows
        Positions of the wanted latitudes in the file.
    columns
        Positions of the wanted longitudes, as up to two runs (a box may cross the seam of the grid), in the
        order they come out.
    latitude, longitude
        Of the wanted cells, latitude as in the file, longitude ascending eastward. [degree]
    """

    address: str
    parts: list[Part]
    names: GridVariables
    hours: np.ndarray
    rows: slice
    columns: list[slice]
    latitude: np.ndarray
    longitude: np.ndarray
    kind: str
    source: str
    licence: str
    wind_factor: float
    flags: list[str]
    opening: dict  # what open_region was given, so that another process can open the same

    @property
    def chunks(self) -> tuple[int, int, int]:
        """Hours, rows and columns stored together, of the rain."""
        return self.parts[0].readers[self.names.rain].chunks

    @property
    def calendar(self) -> str:
        """CF name of the calendar."""
        return self.names.calendar


def open_region(
    address: str | Path,
    *,
    bbox: Box | None = None,
    years: tuple[int, int] | None = None,
    columns: dict[str, str] | None = None,
    rain_rule: str | None = None,
) -> Grid:
    """Open a Zarr store, a NetCDF file, or many files along time (a folder, or a pattern with ``*``).

    Parameters
    ----------
    bbox
        West, south, east, north [degree]; a box may cross 180 degrees (west greater than east).
    years
        First and last year wanted.
    columns, rain_rule
        As :func:`exposure.climate.cf_names.identify_variables`.

    Raises
    ------
    RefusalError
        For grids that cannot be read, are not hourly, whose files overlap or differ, and for a box or period
        that holds nothing.
    """
    parts = [
        _part(name, dataset, path, columns, rain_rule) for name, dataset, path in _datasets(str(address))
    ]
    parts.sort(key=lambda part: int(part.hours[0]))
    _check_parts(parts)
    dataset, names = parts[0].dataset, parts[0].names
    latitudes = np.asarray(dataset[names.latitude].values, dtype=float)
    longitudes = np.asarray(dataset[names.longitude].values, dtype=float)
    rows, runs = _inside(latitudes, longitudes, bbox)
    wanted = _period(parts, names.calendar, years)
    longitude = np.concatenate([longitudes[run] for run in runs])
    factor = 1.0
    flags = [*names.notes, *(str(flag) for flag in dataset.attrs.get("flags", []) if isinstance(flag, str))]
    if names.wind_height != STANDARD_HEIGHT:
        factor = float(mast_factor(names.wind_height))
        flags.append(
            f"Wind of {names.wind_height:g} m was brought to 10 m with the logarithmic law (factor {factor:.3f})."
        )
    if "snowfall" in names.names and not names.rain_is_liquid:
        flags.append("Snowfall was taken off the total precipitation.")
    elif not names.rain_is_liquid:
        flags.append("Rain is total precipitation, snow included: the file holds no snowfall to take off.")
    kind = record_kind(dataset)
    if kind == "invented":
        flags.append("Invented weather of an invented place: for trying the program only.")
    title = str(dataset.attrs.get("source", dataset.attrs.get("title", "")))[:200]
    name = Path(str(address)).name
    grid = Grid(
        address=str(address),
        parts=parts,
        names=names,
        hours=wanted,
        rows=rows,
        columns=runs,
        latitude=latitudes[rows],
        longitude=_ascending(longitude),
        kind=kind,
        source=f"{title} ({name})" if title else name,
        licence=str(dataset.attrs.get("licence", dataset.attrs.get("license", "not named")))[:200],
        wind_factor=factor,
        flags=flags,
        opening={
            "address": str(address) if "://" in str(address) else str(Path(address).absolute()),
            "bbox": None if bbox is None else tuple(bbox),
            "years": None if years is None else tuple(years),
            "columns": tuple(sorted(columns.items())) if columns else None,
            "rain_rule": rain_rule,
        },
    )
    if np.any(np.abs(grid.latitude) > POLE):
        flags.append("Cells at a pole are left empty: east and north mean nothing there.")
    _refuse_running_total(grid, rain_rule)
    return grid


def rows_of(grid: Grid, hours: slice) -> list[tuple[Part, slice, slice]]:
    """The files that hold ``grid.hours[hours]``: each with its own rows, and the rows of the answer."""
    found = []
    start = 0
    for part in grid.parts:
        here = slice(max(hours.start, start), min(hours.stop, start + part.hours.size))
        if here.start < here.stop:
            offset = part.first - start
            found.append(
                (
                    part,
                    slice(here.start + offset, here.stop + offset),
                    slice(here.start - hours.start, here.stop - hours.start),
                )
            )
        start += part.hours.size
    return found


def _datasets(address: str) -> list[tuple[str, xr.Dataset, Path | None]]:
    if "://" in address:
        return [(address.rsplit("/", 1)[-1] or address, open_grid(address), None)]
    path = Path(address)
    if any(mark in address for mark in "*?["):
        root = Path(path.anchor) if path.is_absolute() else Path()
        files = sorted(root.glob(str(path.relative_to(root))))
        if not files:
            raise RefusalError(f"no file matches {address}", "files along time", "Check the pattern.")
        return [(file.name, open_netcdf(file, file.name), file) for file in files]
    if path.is_dir() and not any((path / mark).exists() for mark in ZARR_MARKS):
        files = sorted(path.glob("*.nc"))
        if not files:
            raise RefusalError(
                f"the folder {path.name} holds no grid", "a Zarr store or NetCDF files", "Check it."
            )
        return [(file.name, open_netcdf(file, file.name), file) for file in files]
    if not path.exists():
        raise RefusalError(f"there is no {address}", "a Zarr store or NetCDF file", "Check the name.")
    return [(path.name, open_grid(path), path)]


def _part(name: str, dataset: xr.Dataset, path: Path | None, columns, rain_rule) -> Part:
    names = identify_variables(dataset, columns=columns, rain_rule=rain_rule)
    if names.grid_kind != "regular":
        raise RefusalError(
            f"{name} holds one point",
            "a grid with latitude and longitude",
            "Use 'exposure site' for one place.",
        )
    time, notes = grid_stamps(dataset, names, None)
    hours = ascending_hours(time)
    part = Part(name, dataset, replace(names, notes=(*names.notes, *notes)), hours, 0)
    for variable in names.needed:
        part.readers[variable] = make_reader(dataset, names, variable, path)
    return part


def _check_parts(parts: list[Part]) -> None:
    first = parts[0]
    for before, part in pairwise(parts):
        if part.hours[0] <= before.hours[-1]:
            raise RefusalError(
                f"{before.name} and {part.name} overlap in time", "each hour once", "Remove one of them."
            )
    for part in parts[1:]:
        same = all(
            part.dataset[a].shape == first.dataset[b].shape
            and np.array_equal(part.dataset[a].values, first.dataset[b].values)
            for a, b in (
                (part.names.latitude, first.names.latitude),
                (part.names.longitude, first.names.longitude),
            )
        )
        if not same:
            raise RefusalError(
                f"{part.name} and {first.name} have different grids",
                "files of one grid",
                "Put each grid in a folder.",
            )
        alike = (part.names.names, part.names.conversions, part.names.rain_rule, part.names.calendar)
        if alike != (first.names.names, first.names.conversions, first.names.rain_rule, first.names.calendar):
            raise RefusalError(
                f"{part.name} and {first.name} name or measure their variables differently",
                "files of one kind",
                "Put each kind in a folder.",
            )
    check_hourly(np.concatenate([part.hours for part in parts]))


def _period(parts: list[Part], calendar: str, years: tuple[int, int] | None) -> np.ndarray:
    """Cut the parts to the wanted years; return the wanted hours."""
    if years is not None:
        low, high = first_hour(years[0], calendar), first_hour(years[1] + 1, calendar)
        held = (parts[0].hours[0], parts[-1].hours[-1])
        for part in list(parts):
            start, stop = np.searchsorted(part.hours, [low, high])
            part.first, part.hours = int(start), part.hours[start:stop]
            if part.hours.size == 0:
                parts.remove(part)
        if not parts:
            raise RefusalError(
                f"no hour of the grid lies in {years[0]} to {years[1]}",
                f"years between {1970 + held[0] // 8766} and {1970 + held[1] // 8766}",
                "Choose other years.",
            )
    return np.concatenate([part.hours for part in parts])


def _inside(latitudes: np.ndarray, longitudes: np.ndarray, bbox: Box | None) -> tuple[slice, list[slice]]:
    """Rows, and runs of columns from west to east, of the cells whose centres lie in the box."""
    order = slice(None) if longitudes.size < 2 or longitudes[1] > longitudes[0] else slice(None, None, -1)
    if order.step == -1:
        raise RefusalError(
            "longitude descends", "longitude that ascends eastward", "Reverse it with its fields."
        )
    if bbox is None:
        west, span, rows = -180.0, 360.0, np.arange(latitudes.size)
        step = float(np.median(np.diff(longitudes))) if longitudes.size > 1 else 0.0
        if longitudes[-1] - longitudes[0] + 1.5 * step < 360:  # a part of the globe keeps its own start
            west = float(longitudes[0])
    else:
        west, south, east, north = bbox
        if not (-90 <= south < north <= 90 and all(-360 <= edge <= 360 for edge in (west, east))):
            raise RefusalError(
                f"the box is {bbox}", "west, south, east, north in degrees, south below north", "Correct it."
            )
        span = 360.0 if east - west >= 360 else (east - west) % 360
        rows = np.flatnonzero((latitudes >= south) & (latitudes <= north))
    turned = (longitudes - west + 1e-9) % 360
    chosen = np.flatnonzero(turned <= span + 2e-9)
    if rows.size == 0 or chosen.size == 0:
        raise RefusalError(
            f"no cell of the grid lies in the box {bbox}",
            f"latitude {latitudes.min():g} to {latitudes.max():g}, longitude {longitudes.min():g} to "
            f"{longitudes.max():g}",
            "Choose another box.",
        )
    ordered = chosen[np.argsort(turned[chosen], kind="stable")]
    cuts = np.flatnonzero(np.diff(ordered) != 1) + 1
    runs = [slice(int(run[0]), int(run[-1]) + 1) for run in np.split(ordered, cuts)]
    return slice(int(rows[0]), int(rows[-1]) + 1), runs


def _ascending(longitude: np.ndarray) -> np.ndarray:
    """Longitudes from west to east, beginning in -180 to 180 and running on past 180 where a box crosses it.

    Examples
    --------
    >>> _ascending(np.array([350.0, 355.0, 0.0])).tolist(), _ascending(np.array([178.0, -178.0])).tolist()
    ([-10.0, -5.0, 0.0], [178.0, 182.0])
    """
    start = (longitude[0] + 180) % 360 - 180
    return start + (longitude - longitude[0]) % 360


def _refuse_running_total(grid: Grid, rain_rule: str | None) -> None:
    """Look at a month of rain of one column of cells, where the file does not say how it adds up."""
    if grid.names.rain_rule != EVERY_HOUR or rain_rule is not None:
        return
    part = grid.parts[0]
    hours = min(720, part.hours.size)
    middle = (grid.rows.start + grid.rows.stop) // 2
    run = grid.columns[0]
    columns = slice(run.start, min(run.stop, run.start + 8))
    room = np.empty((hours, 1, columns.stop - columns.start), np.float32)
    part.readers[grid.names.rain].read_into(
        room, slice(part.first, part.first + hours), slice(middle, middle + 1), columns
    )
    if looks_accumulated(room, part.hours[:hours]):
        raise RefusalError(
            f"{grid.names.rain} grows through each day and falls back at one hour only: it is a running total",
            "rain of each hour, or a file that says how it adds up",
            "If it is ERA5-Land, use --rain-rule 'since 00 UTC'; if it truly is hourly, --rain-rule hour.",
        )
