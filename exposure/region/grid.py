"""A climate grid opened for one pass: its hours, its cells within a box and some years, and its readers."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.formats.cf_grid import record_kind
from exposure.climate.grid.checks import settle_rain_rule, snow_doubts
from exposure.climate.grid.names import GridVariables
from exposure.climate.grid.parts import DATASET, Part, open_parts
from exposure.climate.grid.sample import CELLS, TRIES, UNREADABLE, read_cells, spread, windows_of
from exposure.climate.grid.wind import to_ten_metres
from exposure.climate.request import pairs_of
from exposure.climate.running_totals import count_steps, no_steps
from exposure.clock import check_hourly
from exposure.doubts import doubt, flags_of
from exposure.rain.streaming import first_hour
from exposure.region.chunk_reading import Reader, file_of, make_reader

Box = tuple[float, float, float, float]  # west, south, east, north [degree]
POLE = 89.999  # degrees; nearer to a pole, east and north mean nothing


@dataclass
class RegionPart(Part):
    """A part of a grid, cut to the wanted years, with a reader for each variable."""

    first: int = 0  # row of its first wanted hour
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
    parts: list[RegionPart]
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
    address: str | Path | xr.Dataset,
    *,
    bbox: Box | None = None,
    years: tuple[int, int] | None = None,
    columns: dict[str, str] | None = None,
    rain_rule: str | None = None,
    stamp: str | None = None,
    told: Mapping[str, str] | None = None,
) -> Grid:
    """Open a Zarr store, a NetCDF file, or many files along time (a folder, or a pattern with ``*``); or a Dataset.

    Parameters
    ----------
    bbox
        West, south, east, north [degree]; a box may cross 180 degrees (west greater than east).
    years
        First and last year wanted.
    columns, rain_rule
        As :func:`exposure.climate.grid.names.identify_variables`.
    stamp
        ``"end"`` (default) or ``"start"``: what a stamp is of its hour.
    told
        ``kind``, ``title`` and ``licence`` of the record, where the user knows better than the file; and
        ``where``, the member of an ensemble, such as ``number=3``.

    Raises
    ------
    RefusalError
        For grids that cannot be read, are not hourly, whose files overlap or differ, and for a box or period
        that holds nothing.
    """
    where = pairs_of((told or {}).get("where"), "where")
    parts = [
        _with_readers(part)
        for part in open_parts(address, columns=columns, rain_rule=rain_rule, stamp=stamp, where=where)
    ]
    check_hourly(np.concatenate([part.hours for part in parts]))
    dataset, names = parts[0].dataset, parts[0].names
    latitudes = np.asarray(dataset[names.latitude].values, dtype=float)
    longitudes = np.asarray(dataset[names.longitude].values, dtype=float)
    rows, runs = _inside(latitudes, longitudes, bbox)
    wanted = _period(parts, names.calendar, years)
    longitude = np.concatenate([longitudes[run] for run in runs])
    names = settle_rain_rule(names, _sampled_steps(parts, names, rows, runs))
    factor, brought = to_ten_metres(names.wind_height)
    flags = [*flags_of(dataset.attrs), *names.notes, *brought, *snow_doubts(names)]
    told_kind, told_title, told_licence = (
        (told or {}).get("kind"),
        (told or {}).get("title"),
        (told or {}).get("licence"),
    )
    kind = told_kind or record_kind(dataset)
    if kind == "invented":
        flags.append(doubt("region.invented"))
    title = str(told_title or dataset.attrs.get("source", dataset.attrs.get("title", "")))[:200]
    address = DATASET if isinstance(address, xr.Dataset) else str(address)
    by_name = address == DATASET or "://" in address
    name = Path(address).name
    grid = Grid(
        address=address,
        parts=parts,
        names=names,
        hours=wanted,
        rows=rows,
        columns=runs,
        latitude=latitudes[rows],
        longitude=_ascending(longitude),
        kind=kind,
        source=f"{title} ({name})" if title else name,
        licence=str(told_licence or dataset.attrs.get("licence", dataset.attrs.get("license", "not named")))[
            :200
        ],
        wind_factor=factor,
        flags=flags,
        opening={
            "address": address if by_name else str(Path(address).absolute()),
            "bbox": None if bbox is None else tuple(bbox),
            "years": None if years is None else tuple(years),
            "columns": tuple(sorted(columns.items())) if columns else None,
            "rain_rule": rain_rule,
            "stamp": stamp,
            "told": tuple(sorted(told.items())) if told else None,
        },
    )
    if np.any(np.abs(grid.latitude) > POLE):
        flags.append(doubt("region.poles_empty"))
    return grid


def rows_of(grid: Grid, hours: slice) -> list[tuple[RegionPart, slice, slice]]:
    """The files that hold ``grid.hours[hours]``: each with its own rows, and the rows of the answer."""
    return _rows_of(grid.parts, hours)


def _rows_of(parts: list[RegionPart], hours: slice) -> list[tuple[RegionPart, slice, slice]]:
    found = []
    start = 0
    for part in parts:
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


def _with_readers(part: Part) -> RegionPart:
    if part.names.grid_kind != "regular":
        raise RefusalError(
            f"{part.name} holds one point",
            "a grid with latitude and longitude",
            "Use 'exposure site' for one place.",
        )
    own = {one.name: getattr(part, one.name) for one in fields(part)}
    region = RegionPart(**own)
    for variable in part.names.needed:
        path = part.path or file_of(part.dataset[variable])
        region.readers[variable] = make_reader(part.dataset, part.names, variable, path)
    return region


def _sampled_steps(
    parts: list[RegionPart], names: GridVariables, rows: slice, runs: list[slice]
) -> np.ndarray:
    """Rises and falls of the rain of cells that are not masked, spread over the area, the years and their months."""
    hours = np.concatenate([part.hours for part in parts])
    steps = no_steps()
    cells = _unmasked(parts[len(parts) // 2], names, rows, runs)
    if cells is None:
        return steps  # the pass itself sees every hour of every cell
    for window in windows_of(hours):
        try:
            pieces = [
                read_cells(part.dataset, part.names, names.rain, hours=own, rows=cells[0], columns=cells[1])
                for part, own, _ in _rows_of(parts, window)
            ]
        except UNREADABLE:
            continue  # the pass names what is damaged
        rain = names.conversions["rain"].apply(np.concatenate(pieces))
        steps += count_steps(rain, hours[window])
    return steps


def _unmasked(
    part: RegionPart, names: GridVariables, rows: slice, runs: list[slice]
) -> tuple[np.ndarray, np.ndarray] | None:
    """Rows and columns of some cells that hold rain, spread over the area; None where none was found."""
    columns = np.concatenate([np.arange(run.start, run.stop) for run in runs])
    start = part.first + part.hours.size // 2
    probe = slice(start, min(start + 24, part.first + part.hours.size))
    for wanted in (CELLS, TRIES):
        side = round(wanted**0.5)
        down = rows.start + spread(rows.stop - rows.start, side)
        across = columns[spread(columns.size, side)]
        tried = np.repeat(down, across.size), np.tile(across, down.size)
        try:
            rain = read_cells(
                part.dataset, part.names, names.rain, hours=probe, rows=tried[0], columns=tried[1]
            )
        except UNREADABLE:
            return None
        known = np.flatnonzero(np.isfinite(rain).any(0))
        if known.size >= min(CELLS // 2, tried[0].size):
            break
    if known.size == 0:
        return None
    chosen = known[spread(known.size, CELLS)]
    return tried[0][chosen], tried[1][chosen]


def _period(parts: list[RegionPart], calendar: str, years: tuple[int, int] | None) -> np.ndarray:
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
