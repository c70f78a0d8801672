"""One column of cells taken through all its hours: read, compute, keep, go on where it was."""

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from exposure.rain.streaming import Streaming
from exposure.region.checkpoint import restore_state, write_state, write_year
from exposure.region.grid import Grid
from exposure.region.weather_block import WeatherReader

LEAST_HOURS = 240  # read at a time, where they fit
MOST_BYTES = 1_000_000_000  # in the rooms for a stretch of hours
CELLS_OF_A_COLUMN = 2048  # small chunks are taken together up to about as many
LEAST_COLUMNS = 16  # but never into fewer columns, so that every thread finds work; the same on every machine


class StoppedError(Exception):
    """The pass was asked to stop; what it had is kept."""


@dataclass(frozen=True)
class Column:
    """A block of cells whose stored chunks lie one behind the other in time."""

    number: int
    rows: slice  # in the file
    columns: slice  # in the file
    place: tuple[slice, slice]  # of the answer: latitude, longitude

    @property
    def cells(self) -> int:
        """How many cells it has."""
        return (self.rows.stop - self.rows.start) * (self.columns.stop - self.columns.start)

    def folder(self, work: Path) -> Path:
        """Where its years and state are kept."""
        return work / f"column-{self.number:05d}"


def columns_of(grid: Grid, *, least: int = 1) -> list[Column]:
    """Cut the cells of a grid along its chunks; small chunks are taken together.

    A column never shares a chunk with another, so that every chunk is unpacked once; unless there would be fewer
    than ``least`` columns, one for each worker of a cluster: then chunks are cut, and unpacked by each.
    """
    _, row_size, column_size = grid.chunks
    row_step = row_size
    column_step = column_size
    cells = grid.latitude.size * grid.longitude.size
    most = min(CELLS_OF_A_COLUMN, cells // LEAST_COLUMNS)
    while row_step * column_step * 2 <= most:
        if column_step <= row_step and column_step < grid.longitude.size:
            column_step *= 2
        elif row_step < grid.latitude.size:
            row_step *= 2
        else:
            column_step *= 2
    while row_step * column_step > 1 and _count(grid, row_step, column_step) < least:
        if row_step >= column_step:
            row_step = -(-row_step // 2)
        else:
            column_step = -(-column_step // 2)
    columns: list[Column] = []
    for rows in _steps(grid.rows, row_step):
        east = 0
        for run in grid.columns:
            for part in _steps(run, column_step):
                place = (
                    slice(rows.start - grid.rows.start, rows.stop - grid.rows.start),
                    slice(east + part.start - run.start, east + part.stop - run.start),
                )
                columns.append(Column(len(columns), rows, part, place))
            east += run.stop - run.start
    return columns


def _count(grid: Grid, row_step: int, column_step: int) -> int:
    return len(_steps(grid.rows, row_step)) * sum(len(_steps(run, column_step)) for run in grid.columns)


def _steps(run: slice, step: int) -> list[slice]:
    first = run.start // step * step
    return [
        slice(max(start, run.start), min(start + step, run.stop)) for start in range(first, run.stop, step)
    ]


def stretch_of(grid: Grid, column: Column) -> int:
    """Hours read at a time: whole chunks, at least 240 h where they fit in memory."""
    stored = grid.chunks[0]
    wanted = stored if stored >= LEAST_HOURS else stored * -(-LEAST_HOURS // stored)
    bytes_an_hour = 4 * column.cells * len(grid.names.needed)
    fitting = max(1, MOST_BYTES // bytes_an_hour)
    if wanted > fitting:
        wanted = max(fitting // stored * stored, 1) if fitting >= stored else fitting
    return int(min(wanted, grid.hours.size))


@dataclass(frozen=True)
class PassSettings:
    """What a pass computes."""

    orientations: int
    wet_hour: float
    work: Path  # where the years and the state of each column go
    checkpoint_seconds: float = 60.0
    threads: int = 1


def run_column(
    grid: Grid,
    column: Column,
    settings: PassSettings,
    *,
    sector_weight: np.ndarray | None = None,
    stop: threading.Event | None = None,
    pool: ThreadPoolExecutor | None = None,
    progress: Callable[[int], None] = lambda hours: None,
) -> None:
    """Take one column from where it was to the end of the record; years and state go to its folder of the work.

    Parameters
    ----------
    sector_weight
        Of the column's cells, shape (cell, 12).
    stop
        When set, the state is kept and :class:`StoppedError` raised after the stretch at hand.
    pool
        Threads that share the work inside the column; only where there are fewer columns than threads.
    progress
        Called with the number of cell-hours done since the last call.
    """
    folder = column.folder(settings.work)
    stream = Streaming(
        cells=column.cells,
        orientations=settings.orientations,
        wet_hour=settings.wet_hour,
        calendar=grid.calendar,
        sector_weight=sector_weight,
        pool=pool,
        workers=settings.threads,
    )
    kept_state = restore_state(folder, stream)
    start = 0 if stream.hour is None else int(np.searchsorted(grid.hours, stream.hour, side="right"))
    progress(start * column.cells)
    if start == grid.hours.size:
        return
    stretch = stretch_of(grid, column)
    reader = WeatherReader(grid, column.rows, column.columns, stretch, pool=pool)
    if kept_state is not None:
        reader.carry, reader.tally = kept_state
    kept = time.monotonic()
    for hours in stretches(grid, start, stretch):
        block = reader.read(hours)
        stream.add_hours(
            grid.hours[hours],
            rain=block.rain,
            eastward_wind=block.eastward_wind,
            northward_wind=block.northward_wind,
            wind_speed=block.wind_speed,
        )
        for year in stream.take_finished():
            write_year(folder, year)
        stopping = stop is not None and stop.is_set()
        if (
            stopping
            or time.monotonic() - kept >= settings.checkpoint_seconds
            or hours.stop == grid.hours.size
        ):
            write_state(folder, stream, reader.carry, reader.tally)
            kept = time.monotonic()
        progress((hours.stop - hours.start) * column.cells)
        if stopping and hours.stop < grid.hours.size:
            raise StoppedError


def stretches(grid: Grid, start: int, stretch: int) -> list[slice]:
    """Runs of hours from ``start`` to the end, cut where the stored chunks of each file are cut."""
    runs = []
    first = 0
    for part in grid.parts:
        end = first + part.hours.size
        at = max(start, first)
        while at < end:
            row = at - first + part.first
            following = (row // stretch + 1) * stretch - part.first + first
            runs.append(slice(at, min(following, end)))
            at = runs[-1].stop
        first = end
    return runs
