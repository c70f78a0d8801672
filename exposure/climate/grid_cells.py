"""Many cells of one climate grid: each found by position, and read with its neighbours so that no chunk is read twice.

A grid lies on the disk in chunks of several cells. Read cell by cell, every chunk would be unpacked once for each
of its cells; here the cells of a tile come together, and the last tile is kept.
"""

from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.cf_grid import climate_at, open_grid
from exposure.climate.cf_names import GridVariables, identify_variables
from exposure.climate.nearest_cell import nearest_cell
from exposure.climate.quality import grave_flags
from exposure.climate.request import Request
from exposure.climate.source_file import Source, open_source

MOST_TILE = 128_000_000  # bytes of a tile in memory; our choice
NOT_NEEDED = ("air_temperature", "dew_point_temperature", "relative_humidity")
POINT_FLAG = "Taken from the grid cell centred at "


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
        As :func:`exposure.climate.cf_grid.open_grid` takes it.
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
        self.dataset = open_grid(opened)
        self.names: GridVariables = identify_variables(
            self.dataset, columns=request.columns, rain_rule=request.rain_rule
        )
        spare = {self.names.names[term] for term in NOT_NEEDED if term in self.names.names}
        if not request.columns and spare:
            self.dataset = self.dataset.drop_vars(sorted(spare))
            self.names = identify_variables(self.dataset, rain_rule=request.rain_rule)
        self._tile: tuple[tuple[int, int], xr.Dataset] | None = None
        self._shape = self._tile_shape()

    def find(self, at: tuple[float, float]) -> Cell:
        """The cell nearest to a position given as latitude and longitude. [degree]

        Raises
        ------
        RefusalError
            When it lies outside the grid.
        """
        found = nearest_cell(self.dataset, self.names, at)
        return Cell(found["row"], found["column"], found["latitude"], found["longitude"])

    def tile_of(self, cell: Cell) -> tuple[int, int]:
        """Which tile a cell lies in: cells read one after the other tile by tile are read quickest."""
        return cell.row // self._shape[0], cell.column // self._shape[1]

    def read(self, cell: Cell) -> xr.Dataset:
        """The climate of ``cell``; the sentence on its distance is left to whoever knows the site.

        Raises
        ------
        RefusalError
            When the cell holds no values, or values that cannot be.
        """
        climate = climate_at(
            self._tile_with(cell), replace(self.request, at=(cell.latitude, cell.longitude)), self.name
        )
        flags = [flag for flag in climate.attrs["flags"] if not flag.startswith(POINT_FLAG)]
        climate.attrs["flags"] = list(dict.fromkeys([*flags, *grave_flags(climate)]))
        return climate

    def _tile_with(self, cell: Cell) -> xr.Dataset:
        if self.names.grid_kind != "regular":
            return self.dataset
        tile = self.tile_of(cell)
        if self._tile is None or self._tile[0] != tile:
            self._tile = None  # the one before goes before the next is read
            down, across = self._shape
            part = self.dataset.isel(
                {
                    self.names.latitude: slice(tile[0] * down, (tile[0] + 1) * down),
                    self.names.longitude: slice(tile[1] * across, (tile[1] + 1) * across),
                }
            )
            try:
                self._tile = (tile, part.load())
            except (OSError, RuntimeError, ValueError) as error:
                raise RefusalError(
                    f"{self.name} cannot be read around {cell.latitude:g}, {cell.longitude:g} ({str(error)[:100]})",
                    "a whole grid",
                    "Get it again.",
                ) from error
        return self._tile[1]

    def _tile_shape(self) -> tuple[int, int]:
        """Rows and columns read together: a chunk of the store, cut down to what memory should hold."""
        if self.names.grid_kind != "regular":
            return 1, 1
        variable = self.dataset[self.names.rain]
        chunks = variable.encoding.get("preferred_chunks") or {}
        sizes = self.dataset.sizes
        down, across = (
            min(int(chunks.get(axis, 8)), sizes.get(axis, 1))
            for axis in (self.names.latitude, self.names.longitude)
        )
        cell_bytes = sum(
            self.dataset[name].dtype.itemsize * self.dataset[name].size
            for name in dict.fromkeys(self.names.names.values())
        ) / max(sizes.get(self.names.latitude, 1) * sizes.get(self.names.longitude, 1), 1)
        most = max(int(MOST_TILE / max(cell_bytes, 1)), 1)
        while down * across > most:
            if down >= across:
                down = -(-down // 2)
            else:
                across = -(-across // 2)
        return down, across
