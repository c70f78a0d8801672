"""The result of a pass written as one CF Dataset: ``index.zarr``, NetCDF on request, and two GeoTIFFs.

Variables along (orientation, latitude, longitude): ``airfield_annual_index``, ``airfield_spell_index`` (the larger of
the two after it), ``airfield_spell_index_percentile``, ``airfield_spell_index_gumbel``; along (latitude, longitude):
``worst_orientation``; along (year, orientation, latitude, longitude), for years that count in some cell: ``yearly_annual_index``, ``yearly_spell_maximum``, and
along (year, latitude, longitude) ``hours_scaling``, ``rain_scaling``; along (record_year, latitude, longitude),
for all years: ``coverage``, ``longest_unseen_run``. Names, units and meaning are those of one place
(:func:`exposure.rain.index.airfield_index`). A cell without a year that counts is missing, as the sea of a land
grid is. Spells are those with the wet-hour threshold; run again with a threshold of 0 to see them with any rain.
"""

import os
import shutil
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
import zarr
from tqdm import tqdm

from exposure import __version__
from exposure.checks import RefusalError
from exposure.doubts import as_attribute, doubt
from exposure.rain.coverage import FEW_YEARS
from exposure.rain.extremes import SPELL_RETURN, gumbel_value, mean_of_years, percentile_value
from exposure.rain.orientation import compass_orientations
from exposure.rain.spells import SPELL_GAP
from exposure.rain.streaming import YearOfCells
from exposure.rain.streaming_years import account_of
from exposure.rain.variables import CONVENTIONS, HISTORY
from exposure.region.cell_doubts import judge
from exposure.region.column_pass import Column, PassSettings
from exposure.region.geotiff import write_geotiffs
from exposure.region.grid import POLE, Grid
from exposure.region.kept_years import CellCounts, KeptYears, years_that_count
from exposure.region.target_folder import PROGRAM, clear, swap
from exposure.terms import TERMS

METHOD = (
    "ISO 15927-3:2009, clause 3 (constants and percentile from memory, not checked): hourly driving rain "
    "2/9 v r^(8/9) cos(D - orientation), summed over a year; spells end after 96 h without driving rain on that "
    "orientation; 67 % percentile of yearly largest spells or a Gumbel fit by moments at three years, whichever is larger"
)
MOST_BYTES = 200_000_000  # of yearly values of the cells put together at a time
PLACE = ("latitude", "longitude")
INDICES = (
    "airfield_annual_index",
    "airfield_spell_index",
    "airfield_spell_index_percentile",
    "airfield_spell_index_gumbel",
)
YEARLY = ("yearly_annual_index", "yearly_spell_maximum")
SCALINGS = {
    "hours_scaling": "hours of the year divided by hours with rain known",
    "rain_scaling": "rain of the year divided by rain in hours with wind known",
}


def write_index(
    grid: Grid,
    columns: list[Column],
    settings: PassSettings,
    target: Path,
    *,
    weighted: bool,
    netcdf: bool,
    progress: bool,
) -> Path:
    """Put the finished columns together; return the path of ``index.zarr``."""
    final = target / "index.zarr"
    part = target / f".index.zarr.{os.getpid()}.part"
    try:
        clear(target, ".index.*.part", ".*.part.tif")
        clear(settings.work, ".*.part", "*/.*.part")
        _write_store(grid, columns, settings, part, weighted=weighted, progress=progress)
        swap(part, final)
        clear(target, ".index.zarr.*.old")
        with xr.open_zarr(final, chunks=None) as index:
            write_geotiffs(index, target)
            if netcdf:
                _write_netcdf(index, target / "index.nc")
    except OSError as error:
        raise RefusalError(
            f"the result cannot be written ({error.strerror or error})",
            "a folder with room",
            "Make room and give the same command again: what was finished is kept.",
        ) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return final


def _write_store(
    grid: Grid,
    columns: list[Column],
    settings: PassSettings,
    path: Path,
    *,
    weighted: bool,
    progress: bool,
) -> None:
    streams = KeptYears(grid, settings)
    record_years = streams.years_of(columns[0])
    judged = judge(grid.names, [streams.tally_of(column) for column in columns])
    counted, found = years_that_count(grid, columns, streams, record_years)
    years = [year for year in record_years if year in counted]
    group = zarr.open_group(str(path), mode="w", zarr_format=2)
    axes = {
        "orientation": compass_orientations(settings.orientations),
        "latitude": grid.latitude,
        "longitude": grid.longitude,
        "year": np.array(years, dtype=np.int32),
        "record_year": np.array(record_years, dtype=np.int32),
    }
    _create_axes(group, axes)
    arrays = _create_arrays(group, axes)
    rows = [year in counted for year in record_years]
    bar = tqdm(
        total=found.cells,
        desc="putting the result together",
        unit=" cells",
        delay=2,
        disable=not progress,
        leave=False,
    )
    with bar:
        for column, place, lines in _pieces(columns, settings, len(record_years)):
            all_years = streams.read(column, lines)
            _fill(arrays, all_years, rows, place, grid, judged.left_empty[column.number][lines])
            bar.update(all_years[0].rain.size)
    flags = [*_flags(grid, settings, weighted, found), *judged.doubts]
    group.attrs.update(_attributes(grid, settings, weighted, list(dict.fromkeys(flags))))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        zarr.consolidate_metadata(str(path), zarr_format=2)


def _pieces(
    columns: list[Column], settings: PassSettings, years: int
) -> Iterator[tuple[Column, tuple, slice]]:
    """Whole rows of each column, few enough to hold all years of them: column, place in the answer, cells."""
    for column in columns:
        latitudes, longitudes = column.place
        width = longitudes.stop - longitudes.start
        at_once = max(1, MOST_BYTES // (width * settings.orientations * years * 16))
        for first in range(latitudes.start, latitudes.stop, at_once):
            last = min(first + at_once, latitudes.stop)
            cells = slice((first - latitudes.start) * width, (last - latitudes.start) * width)
            yield column, (slice(first, last), longitudes), cells


def _fill(
    arrays: dict[str, Any],
    years: list[YearOfCells],
    rows: list[bool],
    place: tuple[slice, slice],
    grid: Grid,
    left_empty: np.ndarray,
) -> None:
    """Work out the indices of some cells from all their years, and write them."""
    account = account_of(years, grid.calendar)
    poles = np.repeat(np.abs(grid.latitude[place[0]]) > POLE, place[1].stop - place[1].start)
    counts = account.counts & ~poles & ~left_empty
    shape = (place[0].stop - place[0].start, place[1].stop - place[1].start)

    def settle(name: str, values: np.ndarray) -> None:
        """Write values whose last axes are (cell,) or (cell, orientation)."""
        array = arrays[name]
        if values.shape[-1] == counts.shape[1]:
            values = values.reshape(*values.shape[:-1], *shape)
        else:
            values = np.moveaxis(values, -1, -2).reshape(*values.shape[:-2], values.shape[-1], *shape)
        array[(..., *place)] = values.astype(array.dtype)

    scale = np.where(counts, account.hours_scaling * account.rain_scaling, np.nan)[rows]
    kept = counts[rows][:, :, None]
    chosen = [year for year, row in zip(years, rows, strict=True) if row]
    annual = np.stack([year.annual for year in chosen]) * scale[:, :, None]
    spell = np.where(kept, np.stack([year.spell for year in chosen]), np.nan)
    settle("yearly_annual_index", annual)
    settle("yearly_spell_maximum", spell)
    settle("airfield_annual_index", mean_of_years(annual, kept))
    percentile, gumbel = percentile_value(spell, kept), gumbel_value(spell, SPELL_RETURN, kept)
    index = np.fmax(percentile, gumbel)
    settle("airfield_spell_index", index)
    settle("airfield_spell_index_percentile", percentile)
    settle("airfield_spell_index_gumbel", gumbel)
    worst = np.argmax(np.nan_to_num(index, nan=-1.0), axis=1)
    facing = np.where(np.isnan(index).all(1), np.nan, worst * 360.0 / index.shape[1])
    settle("worst_orientation", facing)
    settle("hours_scaling", np.where(counts, account.hours_scaling, np.nan)[rows])
    settle("rain_scaling", np.where(counts, account.rain_scaling, np.nan)[rows])
    settle("coverage", account.coverage)
    settle("longest_unseen_run", np.minimum(np.stack([y.longest_unseen for y in years]), 32767))
    settle("unassigned_rain", np.where(counts, np.stack([y.unassigned for y in years]), 0.0).sum(0))


def _create_axes(group: zarr.Group, axes: dict[str, np.ndarray]) -> None:
    meaning = {
        "orientation": {
            "units": "degree",
            "long_name": TERMS["orientation"]["meaning"],
        },
        "latitude": {"units": "degrees_north", "standard_name": "latitude", "axis": "Y"},
        "longitude": {"units": "degrees_east", "standard_name": "longitude", "axis": "X"},
        "year": {"units": "1", "long_name": "years that count in at least one cell"},
        "record_year": {"units": "1", "long_name": "all years of the record"},
    }
    for name, values in axes.items():
        array = group.create_array(
            name, shape=values.shape, chunks=values.shape, dtype=values.dtype, fill_value=None
        )
        array[:] = values
        array.attrs.update({"_ARRAY_DIMENSIONS": [name], **meaning[name]})


def _create_arrays(group: zarr.Group, axes: dict[str, np.ndarray]) -> dict[str, Any]:
    """Empty arrays, chunked by orientation in full and by place in squares."""
    dimensions = {
        **dict.fromkeys(INDICES, ("orientation", *PLACE)),
        **dict.fromkeys(YEARLY, ("year", "orientation", *PLACE)),
        **dict.fromkeys(SCALINGS, ("year", *PLACE)),
        "coverage": ("record_year", *PLACE),
        "longest_unseen_run": ("record_year", *PLACE),
        "worst_orientation": PLACE,
        "unassigned_rain": PLACE,
    }
    chunk = {
        "orientation": axes["orientation"].size,
        "latitude": 64,
        "longitude": 64,
        "year": 1,
        "record_year": 1,
    }
    arrays = {}
    for name, dims in dimensions.items():
        shape = tuple(axes[dim].size for dim in dims)
        whole = name == "longest_unseen_run"
        array = group.create_array(
            name,
            shape=shape,
            chunks=tuple(max(1, min(chunk[dim], axes[dim].size)) for dim in dims),
            dtype="int16" if whole else "float32",
            fill_value=None if whole else float("nan"),
        )
        array.attrs.update({"_ARRAY_DIMENSIONS": list(dims), **_meaning(name)})
        arrays[name] = array
    return arrays


def _meaning(name: str) -> dict[str, str]:
    if name in TERMS:
        return {"units": TERMS[name]["units"], "long_name": TERMS[name]["meaning"]}
    if name in SCALINGS:
        return {"units": "1", "long_name": SCALINGS[name]}
    return {
        "longest_unseen_run": {
            "units": "h",
            "long_name": "longest run of hours of the year in which a hit could have gone unseen",
        },
        "worst_orientation": {
            "units": "degree",
            "long_name": "orientation with the largest airfield spell index",
        },
        "unassigned_rain": {
            "units": "mm",
            "long_name": "rain of the years that count in hours of a wind without direction, spread over all walls",
        },
    }[name]


def _attributes(grid: Grid, settings: PassSettings, weighted: bool, flags: list[str]) -> dict[str, Any]:
    ground = "roughness and topography by the sector the wind comes from" if weighted else "open airfield"
    return {
        "Conventions": CONVENTIONS,
        "history": HISTORY,
        "title": "Driving rain on walls: airfield indices by orientation",
        "method": METHOD,
        "ground": ground,
        "program": f"{PROGRAM} {__version__}",
        "version": __version__,
        "source": grid.source,
        "licence": grid.licence,
        "kind": grid.kind,
        "record_calendar": grid.calendar,
        "wet_hour_mm": settings.wet_hour,
        "flags": as_attribute(flags),
    }


def _flags(grid: Grid, settings: PassSettings, weighted: bool, found: CellCounts) -> list[str]:
    """Each doubt about the result."""
    flags: list[str] = list(dict.fromkeys(grid.flags))
    if found.few:
        flags.append(doubt("region.few_years", number=found.few, cells=found.cells, years=FEW_YEARS))
    if found.unseen:
        flags.append(doubt("region.unseen_run", number=found.unseen, cells=found.cells, gap=SPELL_GAP))
    if settings.wet_hour > 0:
        flags.append(doubt("region.wet_hour", threshold=settings.wet_hour))
    if weighted:
        flags.append(doubt("region.ground_inside"))
    if grid.calendar == "360_day":
        flags.append(doubt("rain.calendar_360"))
    flags.append(doubt("region.local_codes" if weighted else "region.open_airfield"))
    return flags


def _write_netcdf(index: xr.Dataset, path: Path) -> None:
    """The same Dataset as NetCDF4, year by year where it is large."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        encoding: dict[str, dict[str, Any]] = {
            str(name): {"zlib": True, "complevel": 4, "shuffle": True}
            for name in index.data_vars
            if index[name].ndim > 1
        }
        clean = index.drop_encoding()
        for axis in clean.coords:
            encoding[str(axis)] = {"_FillValue": None}  # a coordinate has none missing (CF)
        clean.to_netcdf(part, engine="h5netcdf", encoding=encoding)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
