"""The weather of a town: one record, or of a grid each building's nearest cell; every member of an ensemble in turn."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import xarray as xr

from exposure.assess.site_weather import GridWeather, OneRecord, opened_grid
from exposure.checks import RefusalError
from exposure.climate.grid_cells import Cell
from exposure.district.facings import Facings
from exposure.district.kept_arrays import Arrays
from exposure.region.members import members_of


def weather_by_member(weather: GridWeather | OneRecord) -> Mapping[str, GridWeather | OneRecord]:
    """The weather of each member by its name; the one weather under no name where it is no ensemble."""
    if isinstance(weather, OneRecord) or weather.request.where:
        return {"": weather}
    found = members_of(weather.source)
    if found is None:
        return {"": weather}
    dimension, names = found
    return {
        name: weather._replace(request=replace(weather.request, where={dimension: name})) for name in names
    }


def cells_of(
    tile: Arrays, weather: GridWeather | OneRecord
) -> tuple[np.ndarray, list[Cell | None], list[tuple[int, RefusalError]]]:
    """Which cell each building takes (-1: none), the cells, and the rows outside the grid."""
    middles = tile["house_middle"]
    if isinstance(weather, OneRecord):
        return np.zeros(len(middles), dtype=int), [None], []
    grid = opened_grid(weather)
    cells: dict[Cell | None, int] = {}
    found, outside = np.full(len(middles), -1), []
    for k, (longitude, latitude) in enumerate(middles.tolist()):
        try:
            found[k] = cells.setdefault(grid.find((latitude, longitude)), len(cells))
        except RefusalError as reason:
            outside.append((int(tile["house_row"][k]), reason))
    if not cells:
        raise outside[0][1]
    return found, list(cells), outside


def _read_cell(weather: GridWeather, cell: Cell | None) -> xr.Dataset:
    assert cell is not None  # a grid gives cells
    climate = opened_grid(weather).read(cell)
    climate.attrs["flags"] = [*weather.flags, *climate.attrs["flags"]]
    return climate


def facings_of_cells(
    tile: Arrays,
    weather: GridWeather | OneRecord,
    cells: list[Cell | None],
    cell_of_house: np.ndarray,
    work: Callable[..., Facings],
    tell: Callable[[float], None],
) -> list[Facings]:
    """The figures of each weather cell for every way that walls in it face; ``work`` makes those of one record."""
    found: list[Facings] = []
    for number, cell in enumerate(cells):
        mine = cell_of_house[tile["wall_house"]] == number
        record = weather.climate if isinstance(weather, OneRecord) else _read_cell(weather, cell)
        found.append(
            work(record, tile["wall_facing"][mine], tell=lambda part: tell((len(found) + part) / len(cells)))
        )
    return found
