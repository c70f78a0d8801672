"""The index of a whole climate grid: every cell, every orientation, one pass, resumable."""

import os
import threading
from collections.abc import Callable
from concurrent.futures import FIRST_EXCEPTION, Future, ThreadPoolExecutor, wait
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from tqdm import tqdm

from exposure.checks import RefusalError
from exposure.rain.hour import TERRAIN_SECTORS, wet_hour_threshold
from exposure.rain.streaming import check_orientations
from exposure.region.chunk_reading import DamagedError
from exposure.region.cluster import client_of, run_on_cluster, threads_of
from exposure.region.column_pass import Column, PassSettings, StoppedError, columns_of, run_column
from exposure.region.grid import Box, Grid, open_region
from exposure.region.index_store import write_index
from exposure.region.run_settings import columns_in, finished, note_damage, settings_of, take_up
from exposure.region.target_folder import refuse_own_input

ORIENTATIONS = 36
MOST_WET_HOUR = 5.0  # mm; beyond it hardly any hour is left; our choice


def index_region(
    address: str | Path | xr.Dataset,
    folder: str | Path,
    *,
    orientations: int = ORIENTATIONS,
    wet_hour: float | None = None,
    bbox: Box | None = None,
    years: tuple[int, int] | None = None,
    sector_weight: xr.DataArray | None = None,
    columns: dict[str, str] | None = None,
    rain_rule: str | None = None,
    stamp: str | None = None,
    told: dict[str, str] | None = None,
    where: dict[str, str] | None = None,
    update: bool = False,
    threads: int | None = None,
    dask: Any = None,
    netcdf: bool = False,
    progress: bool = True,
    checkpoint_seconds: float = 60.0,
) -> Path:
    """Airfield annual and spell index of every cell of a grid, written to ``folder/index.zarr``.

    Stopped at any moment, the same call goes on where it was and ends with the same bits.

    Parameters
    ----------
    address
        A Zarr store (local, or any fsspec address), a NetCDF file, a folder of NetCDF files along time, or a
        pattern with ``*``; or an open Dataset, in memory or lazy, which is read as it is. A stopped run goes on
        when a Dataset of the same values is given.
    folder
        Where the result and the work in progress go.
    orientations
        How many walls evenly round the compass, a multiple of 4.
    wet_hour
        Least rain in an hour that counts [mm]; by default that of the grid's kind.
    bbox
        West, south, east, north. [degree]
    years
        First and last year.
    sector_weight
        Factors on the driving rain by cell and the sector the wind comes from, dimensions latitude, longitude,
        terrain_sector (12, centred on 0, 30, ... 330), e.g. C_R times C_T; then the result is the wall index
        without shelter and wall shape.
    columns, rain_rule, stamp, told, where
        See :func:`exposure.region.grid.open_region`.
    update
        Take in hours that follow those of a finished result, without reading the old ones; ``address`` may
        hold the new hours alone.
    threads
        Own threads, by default one a processor.
    dask
        Address of a running Dask scheduler, or its client: columns of cells are then worked on there.
    netcdf
        Write ``folder/index.nc`` too.

    Returns
    -------
    pathlib.Path
        The store written, a CF Dataset along orientation, latitude, longitude; see :mod:`exposure.region.index_store`.

    Raises
    ------
    RefusalError
        For a grid that cannot be read, settings other than those of the work in ``folder``, a damaged chunk, a
        full disk. What was finished is kept.
    """
    check_orientations(orientations)
    if dask is not None:
        _refuse_open_dataset(address)
    told = _with_member(told, where)
    grid = open_region(
        address, bbox=bbox, years=years, columns=columns, rain_rule=rain_rule, stamp=stamp, told=told
    )
    threshold = _threshold(grid, wet_hour)
    weight = None if sector_weight is None else _weight_of_cells(sector_weight, grid)
    target, work = Path(folder), Path(folder) / "work"
    refuse_own_input(grid, target, netcdf=netcdf)
    with ExitStack() as held:
        client = None if dask is None else held.enter_context(client_of(dask))
        cut = columns_of(grid, least=1 if client is None else threads_of(client))
        wanted = settings_of(grid, cut, orientations=orientations, wet_hour=threshold, weight=weight)
        kept = take_up(work, wanted, grid, update=update)
        parts = columns_in(kept)
        _refuse_lost_columns(work, parts, kept)
        number = threads or os.cpu_count() or 1
        settings = PassSettings(orientations, threshold, work, checkpoint_seconds, number)
        with tqdm(
            total=grid.hours.size * grid.latitude.size * grid.longitude.size,
            desc=f"driving rain of {grid.latitude.size} x {grid.longitude.size} cells",
            unit=" cell-hours",
            unit_scale=True,
            disable=not progress,
            mininterval=0.5,
        ) as bar:
            lock = threading.Lock()

            def advance(cell_hours: int) -> None:
                with lock:
                    bar.update(cell_hours)

            def weight_of(column: Column) -> np.ndarray | None:
                return None if weight is None else weight[column.place].reshape(column.cells, TERRAIN_SECTORS)

            try:
                if client is None:
                    _run_threads(grid, parts, settings, weight_of, advance)
                else:
                    run_on_cluster(client, grid, parts, settings, work, weight_of, advance)
            except DamagedError as error:
                if error.file is not None:
                    note_damage(work, kept, grid, error.file)
                raise
    store = write_index(
        grid, parts, settings, target, weighted=weight is not None, netcdf=netcdf, progress=progress
    )
    finished(work, kept)
    return store


def _refuse_open_dataset(address: str | Path | xr.Dataset) -> None:
    """A cluster's workers cannot share what is open here."""
    if isinstance(address, xr.Dataset):
        raise RefusalError(
            "an open Dataset is to be worked on by a cluster",
            "the address of a grid, which each worker opens by itself",
            "Give the address the Dataset was opened from, or leave the cluster out.",
        )


def _threshold(grid: Grid, wet_hour: float | None) -> float:
    """Least rain of an hour that counts: what is told, else what the kind of the grid has. [mm]"""
    threshold = wet_hour_threshold(grid.kind) if wet_hour is None else float(wet_hour)
    if not 0 <= threshold <= MOST_WET_HOUR:
        raise RefusalError(
            f"the wet-hour threshold is {threshold:g} mm",
            f"0 to {MOST_WET_HOUR:g} mm (gauges read 0.1 or 0.2)",
            "Correct it.",
        )
    return threshold


def _with_member(told: dict[str, str] | None, where: dict[str, str] | None) -> dict[str, str] | None:
    return {**(told or {}), "where": ",".join(map("=".join, where.items()))} if where else told


def _refuse_lost_columns(work: Path, columns: list[Column], kept: dict[str, Any]) -> None:
    """An update with the new hours alone cannot make good for a column whose work is gone."""
    if kept["start"] == kept["record_start"]:
        return
    lost = [column for column in columns if not (column.folder(work) / "state.npz").is_file()]
    if lost:
        raise RefusalError(
            f"the work of {lost[0].folder(work).name} is gone",
            "the work of all columns, to add new hours to",
            "Run the whole grid, old hours and new, in another folder.",
        )


def _run_threads(
    grid: Grid,
    columns: list[Column],
    settings: PassSettings,
    weight_of: Callable[[Column], np.ndarray | None],
    progress: Callable[[int], None],
) -> None:
    """All columns on own threads: one a column, or all on each column where there are few."""
    stop = threading.Event()
    threads = settings.threads
    if len(columns) < threads:
        with ThreadPoolExecutor(threads) as pool, ThreadPoolExecutor(1) as runner:

            def run_all() -> None:
                for column in columns:
                    run_column(
                        grid,
                        column,
                        settings,
                        sector_weight=weight_of(column),
                        stop=stop,
                        pool=pool,
                        progress=progress,
                    )

            _wait([runner.submit(run_all)], stop)
        return
    with ThreadPoolExecutor(threads) as pool:

        def run(column: Column) -> None:
            if not stop.is_set():
                run_column(
                    grid,
                    column,
                    settings,
                    sector_weight=weight_of(column),
                    stop=stop,
                    progress=progress,
                )

        _wait([pool.submit(run, column) for column in columns], stop)


def _wait(futures: list[Future], stop: threading.Event) -> None:
    """Wait for all; at the first failure, or Ctrl-C, let the others keep their state and stop."""
    failure: BaseException | None = None
    try:
        waiting = set(futures)
        while waiting and failure is None:
            done, waiting = wait(waiting, timeout=0.2, return_when=FIRST_EXCEPTION)
            failure = next((f.exception() for f in done if f.exception() is not None), None)
    except KeyboardInterrupt as interrupt:
        failure = interrupt
    if failure is None:
        return
    stop.set()
    for future in futures:
        future.cancel()
    wait(futures)
    errors = [failure, *(f.exception() for f in futures if not f.cancelled())]
    raise next(error for error in errors if error is not None and not isinstance(error, StoppedError))


def _weight_of_cells(weight: xr.DataArray, grid: Grid) -> np.ndarray:
    """Sector weights in the order of the grid's cells, shape (latitude, longitude, 12)."""
    expected = ("latitude", "longitude", "terrain_sector")
    if set(weight.dims) != set(expected) or weight.sizes["terrain_sector"] != TERRAIN_SECTORS:
        raise RefusalError(
            f"sector weights have dimensions {dict(weight.sizes)}",
            f"latitude, longitude and {TERRAIN_SECTORS} of terrain_sector",
            "Give one factor for each 30 degrees and cell.",
        )
    here = weight.transpose(*expected)
    turned = (np.asarray(here["longitude"].values, dtype=float) - grid.longitude[0]) % 360 + grid.longitude[0]
    same = here.shape[:2] == (grid.latitude.size, grid.longitude.size) and (
        np.allclose(here["latitude"].values, grid.latitude, atol=1e-6)
        and np.allclose(turned, grid.longitude, atol=1e-6)
    )
    if not same:
        raise RefusalError(
            f"sector weights stand at {here.sizes['latitude']} x {here.sizes['longitude']} other cells",
            f"the {grid.latitude.size} x {grid.longitude.size} cells of the grid, in its order",
            "Give them for the same cells.",
        )
    values = np.asarray(here.values, dtype=np.float32)
    if not np.all(np.isfinite(values) & (values >= 0)):
        raise RefusalError(
            "a sector weight is missing or below zero", "numbers of zero or more", "Mend the weights."
        )
    return values
