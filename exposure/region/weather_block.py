"""Hours of a column of cells read into rooms that are used again, and turned into our terms in place.

The rules are those of :func:`exposure.climate.grid.blocks.climate_block`; here they work in float32, in place,
without trigonometry where the grid holds eastward and northward wind. Impossible values are counted
(:mod:`exposure.region.tally`); those of wind are left to the streaming form, which takes them as missing.
"""

from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np

from exposure.climate.grid.blocks import PACKING_NOISE_DIFFERENCE
from exposure.climate.grid.names import SINCE_MIDNIGHT
from exposure.region.grid import Grid, rows_of
from exposure.region.tally import count_directions, empty_tally, noise_of, settle_and_count
from exposure.terms import TERMS


class Carry(NamedTuple):
    """The last totals of a block, from which the next block goes on undoing an accumulation."""

    hour: int
    totals: dict[str, np.ndarray]  # term -> (rows, columns) float32


class WeatherBlock(NamedTuple):
    """Hours of a column of cells, float32, shape (hour, cell)."""

    rain: np.ndarray
    eastward_wind: np.ndarray
    northward_wind: np.ndarray
    wind_speed: np.ndarray | None  # where some winds may have no direction


class WeatherReader:
    """Reads stretches of hours of one column of cells, in order of time.

    Parameters
    ----------
    grid
        Opened by :func:`exposure.region.grid.open_region`.
    rows, columns
        The column of cells, positions in the file.
    hours
        Most hours read at a time.
    pool
        Threads that unpack the chunks of one stretch side by side; without it the caller's thread does all.
    """

    def __init__(
        self, grid: Grid, rows: slice, columns: slice, hours: int, *, pool: ThreadPoolExecutor | None = None
    ) -> None:
        self.grid, self.rows, self.columns, self.pool = grid, rows, columns, pool
        self.shape = (hours, rows.stop - rows.start, columns.stop - columns.start)
        self.rooms = {name: np.empty(self.shape, np.float32) for name in grid.names.needed}
        self.carry: Carry | None = None
        self.tally = empty_tally(self.shape[1] * self.shape[2])

    def read(self, hours: slice) -> WeatherBlock:
        """Read ``grid.hours[hours]``; the answer is overwritten by the next call."""
        names, number = self.grid.names, hours.stop - hours.start
        rooms = {name: room[:number] for name, room in self.rooms.items()}
        self.load(hours, rooms)
        rain = rooms[names.rain]
        stamps = self.grid.hours[hours]
        totals: dict[str, np.ndarray] = {}
        self._settle(rain, "rain", stamps, totals)
        east, north, speed = self._wind(*(rooms[name] for name in names.wind))
        shape = (number, self.shape[1] * self.shape[2])
        block = WeatherBlock(
            rain.reshape(shape),
            east.reshape(shape),
            north.reshape(shape),
            None if speed is None else speed.reshape(shape),
        )
        self._count(block, stamps)
        snow_name = names.names.get("snowfall")
        if snow_name in rooms:
            snow = rooms[snow_name]
            self._settle(snow, "snowfall", stamps, totals)
            take_off_snow(rain, snow)
        self.carry = Carry(int(stamps[-1]), totals) if totals else None
        return block

    def _count(self, block: WeatherBlock, stamps: np.ndarray) -> None:
        """Add a stretch to the tally; where some winds have no direction, by their speed."""
        rain, east, north, speed = block
        if speed is not None:
            self.tally.impossible[:] += np.count_nonzero(speed < 0, axis=0)
            east, north = speed, np.zeros_like(speed)
        settle_and_count(
            self.tally, rain, east, north, stamps=stamps, noise=noise_of(self.grid.names.rain_rule)
        )

    def load(self, hours: slice, rooms: dict[str, np.ndarray]) -> None:
        """Read the stored numbers of every variable needed, and nothing else."""
        jobs = []
        for name, room in rooms.items():
            for part, rows, place in rows_of(self.grid, hours):
                reader = part.readers[name]
                for piece in pieces(rows, reader.chunks[0]) if self.pool else [rows]:
                    here = slice(
                        place.start + piece.start - rows.start, place.start + piece.stop - rows.start
                    )
                    jobs.append((reader, room[here], piece))
        if self.pool is None:
            for reader, room, rows in jobs:
                reader.read_into(room, rows, self.rows, self.columns)
            return
        waiting = [
            self.pool.submit(r.read_into, room, rows, self.rows, self.columns) for r, room, rows in jobs
        ]
        for done in waiting:
            done.result()

    def _settle(self, value: np.ndarray, term: str, stamps: np.ndarray, totals: dict) -> None:
        """Turn an amount of water into mm of each hour, in place."""
        names = self.grid.names
        convert(value, names.conversions[term].scale, names.conversions[term].offset)
        if names.rain_rule != SINCE_MIDNIGHT:
            return
        last = value[-1].copy()
        before = self.carry
        for i in range(value.shape[0] - 1, -1, -1):
            if stamps[i] % 24 == 1:
                continue
            if i > 0 and stamps[i] - stamps[i - 1] == 1:
                value[i] -= value[i - 1]
            elif i == 0 and before is not None and stamps[0] - before.hour == 1:
                value[0] -= before.totals[term]
            else:
                value[i] = np.nan
        settle_noise(value)
        totals[term] = last

    def _wind(self, first: np.ndarray, second: np.ndarray) -> tuple:
        """Eastward and northward wind in m/s, in place, and the speed where a direction may be missing."""
        names, factor = self.grid.names, self.grid.wind_factor
        if names.by_components:
            for part, term in ((first, "eastward_wind"), (second, "northward_wind")):
                convert(part, names.conversions[term].scale * factor, names.conversions[term].offset * factor)
            return first, second, None
        speed, direction = first, second
        convert(speed, names.conversions["wind_speed"].scale * factor, 0.0)
        convert(direction, names.conversions["wind_from_direction"].scale, 0.0)
        wrong = (direction < 0) | (direction > 360)
        self.tally.impossible[:] += np.count_nonzero(wrong, axis=0).reshape(-1)
        np.copyto(direction, np.float32(np.nan), where=wrong)
        count_directions(self.tally, direction, speed)
        angle = np.deg2rad(direction.astype(np.float64) + names.direction_turn)
        east, north = -speed * np.sin(angle), -speed * np.cos(angle)
        return east.astype(np.float32), north.astype(np.float32), speed


def pieces(run: slice, step: int) -> list[slice]:
    """A run of rows cut at multiples of ``step``.

    Examples
    --------
    >>> pieces(slice(5, 21), 10)
    [slice(5, 10, None), slice(10, 20, None), slice(20, 21, None)]
    """
    starts = [run.start, *range((run.start // step + 1) * step, run.stop, step)]
    return [slice(start, stop) for start, stop in zip(starts, [*starts[1:], run.stop], strict=True)]


def convert(value: np.ndarray, scale: float, offset: float) -> None:
    """``value`` x scale + offset, in place."""
    if scale != 1.0:
        np.multiply(value, np.float32(scale), out=value)
    if offset != 0.0:
        np.add(value, np.float32(offset), out=value)


def settle_noise(value: np.ndarray) -> None:
    """Set differences of packed totals a hair below zero to zero, in place."""
    np.copyto(value, np.float32(0), where=(value < 0) & (value >= -PACKING_NOISE_DIFFERENCE))


def take_off_snow(rain: np.ndarray, snow: np.ndarray) -> None:
    """Take snowfall off the total precipitation, never below zero, in place; missing where snow is.

    Examples
    --------
    >>> total, snow = np.array([2.0, 1.0, 0.0, 1.0]), np.array([0.5, 3.0, 0.0, np.nan])
    >>> take_off_snow(total, snow)
    >>> total.tolist()
    [1.5, 0.0, 0.0, nan]
    """
    missing = np.isnan(snow) | (snow > TERMS["snowfall"]["high"])
    np.clip(snow, 0, np.maximum(rain, 0), out=snow)
    np.subtract(rain, snow, out=rain, where=rain > 0)
    np.copyto(rain, np.nan, where=missing)
