"""Many cells of one climate grid: each found by position, all of them read in one pass over the files.

A grid lies on the disk in chunks of many cells and hours. Read cell by cell, every chunk would be unpacked once for
each of its cells; here the cells wanted are named first, and each chunk gives all of them at once.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.formats.cf_grid import climate_from, climate_of
from exposure.climate.grid.nearest_cell import nearest_cell
from exposure.climate.grid.parts import open_parts
from exposure.climate.grid.sample import read_cells
from exposure.climate.quality.checks import passed
from exposure.climate.request import Request
from exposure.climate.source_file import Source, open_source
from exposure.doubts import has_doubt

NOT_NEEDED = ("air_temperature", "dew_point_temperature", "relative_humidity")


class Cell(NamedTuple):
    """A cell of a grid: where it stands in it, and its middle. [degree]"""

    row: int
    column: int
    latitude: float
    longitude: float


class GridCells:
    """A grid opened for many of its cells.

    Parameters
    ----------
    source
        As :func:`exposure.climate.grid.parts.open_parts` takes it.
    request
        How to read it; its ``at`` is not used.

    Raises
    ------
    RefusalError
        When it is no grid that can be read.
    """

    def __init__(self, source: str | Path | Source, request: Request) -> None:
        opened = open_source(source)
        self.name, self.request = opened.name, request
        self.parts = open_parts(
            opened,
            columns=request.columns,
            rain_rule=request.rain_rule,
            stamp=request.stamp,
            where=request.where,
        )
        for part in self.parts:
            wanted = {term: name for term, name in part.names.names.items() if term not in NOT_NEEDED}
            part.names = replace(part.names, names=wanted)
        self.names = self.parts[0].names
        self._variables = list(dict.fromkeys(self.names.names.values()))
        self._places: dict[tuple[int, int], int] = {}
        self._series: dict[str, np.ndarray] = {}

    def find(self, at: tuple[float, float]) -> Cell:
        """The cell nearest to a position given as latitude and longitude. [degree]

        Raises
        ------
        RefusalError
            When it lies outside the grid.
        """
        found = nearest_cell(self.parts[0].dataset, self.names, at)
        return Cell(found["row"], found["column"], found["latitude"], found["longitude"])

    @property
    def cell_bytes(self) -> int:
        """Bytes that one cell takes in the folder of :meth:`gather`."""
        return 4 * len(self._variables) * sum(part.hours.size for part in self.parts)

    def gather(
        self, cells: Sequence[Cell], folder: Path, tell: Callable[[float], None] = lambda _share: None
    ) -> None:
        """Read ``cells`` in one pass over the files into ``folder``, one array a variable, and use them from there.

        Parameters
        ----------
        tell
            Called with the share done; may raise to stop.

        Raises
        ------
        RefusalError
            When a part of the grid cannot be read.
        """
        if self.names.grid_kind != "regular" or not cells:
            return
        rows, columns = np.array([cell.row for cell in cells]), np.array([cell.column for cell in cells])
        total = sum(part.hours.size for part in self.parts)
        rooms = {
            name: np.lib.format.open_memmap(
                folder / f"{k}.npy", mode="w+", dtype=np.float32, shape=(len(cells), total)
            )
            for k, name in enumerate(self._variables)
        }
        first = done = 0
        for part in self.parts:
            for name, room in rooms.items():
                try:
                    values = read_cells(
                        part.dataset,
                        part.names,
                        name,
                        hours=slice(0, part.hours.size),
                        rows=rows,
                        columns=columns,
                    )
                except (OSError, RuntimeError, ValueError) as error:
                    raise RefusalError(
                        f"{part.name} cannot be read ({str(error)[:100]})", "a whole grid", "Get it again."
                    ) from error
                room[:, first : first + part.hours.size] = values.T
                done += part.hours.size
                tell(done / (total * len(rooms)))
            first += part.hours.size
        for room in rooms.values():
            room.flush()
        (folder / "cells.json").write_text(json.dumps([[cell.row, cell.column] for cell in cells]), "utf-8")
        self.use(folder)

    def read(self, cell: Cell) -> xr.Dataset:
        """The climate of ``cell``; the sentence on its distance is left to whoever knows the site.

        Raises
        ------
        RefusalError
            When the cell holds no values, or values that cannot be.
        """
        request = replace(self.request, at=(cell.latitude, cell.longitude))
        here = self._places.get((cell.row, cell.column))
        if here is None:
            climate = climate_of(self.parts, request, self.name)
        else:
            place = nearest_cell(self.parts[0].dataset, self.names, request.at)
            raw = {name: np.asarray(series[here], dtype=float) for name, series in self._series.items()}
            climate = climate_from(raw, self.parts, place, request, self.name)
        flags = [flag for flag in climate.attrs["flags"] if not has_doubt([flag], "climate.nearest_cell")]
        climate.attrs["flags"] = flags
        return passed(climate, rain_is_hourly=self.request.rain_rule is not None)

    def close(self) -> None:
        """Let go of the files."""
        self._series.clear()
        self._places.clear()
        for part in self.parts:
            part.dataset.close()

    def use(self, folder: Path) -> None:
        """Take the cells that :meth:`gather` laid into ``folder``, here or in another process; others are read from the grid."""
        cells = json.loads((folder / "cells.json").read_text("utf-8"))
        self._places = {(row, column): i for i, (row, column) in enumerate(cells)}
        self._series = {
            name: np.load(folder / f"{k}.npy", mmap_mode="r", allow_pickle=False)
            for k, name in enumerate(self._variables)
        }
