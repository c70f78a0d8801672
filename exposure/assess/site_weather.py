"""The weather of a list of sites: the nearest cell of a climate grid for each, or one record for all."""

import json
import threading
from pathlib import Path
from typing import Any, NamedTuple

import xarray as xr

from exposure.climate.grid_cells import GridCells
from exposure.climate.request import Request
from exposure.doubts import as_attribute, flags_of


class GridWeather(NamedTuple):
    """Weather from a climate grid: the nearest cell of each site."""

    source: str | Path
    request: Request = Request()
    flags: tuple[str, ...] = ()  # said of all its cells
    gathered: str | None = None  # folder of the cells read in one pass (GridCells.gather)


class OneRecord(NamedTuple):
    """Weather from one record for all sites: they then differ by their ground alone."""

    climate: xr.Dataset


_HERE = threading.local()  # the grid opened last, by each thread for itself


def opened_grid(weather: GridWeather) -> GridCells:
    """The grid, opened once by each thread.

    Raises
    ------
    RefusalError
        When it cannot be read as a grid of hourly weather.
    """
    key = repr((str(weather.source), weather.request))
    if getattr(_HERE, "key", None) != key:
        close_grid()
        _HERE.grid = GridCells(weather.source, weather.request)
        _HERE.key, _HERE.gathered = key, None
    if weather.gathered is not None and _HERE.gathered != weather.gathered:
        _HERE.grid.use(Path(weather.gathered))
        _HERE.gathered = weather.gathered
    return _HERE.grid


def close_grid() -> None:
    """Let go of the grid, so that a file that changes is read anew."""
    grid = getattr(_HERE, "grid", None)
    if grid is not None:
        grid.close()
        del _HERE.grid, _HERE.key, _HERE.gathered


def plain(attrs: dict[Any, Any]) -> dict[str, Any]:
    """Attributes as JSON knows them, doubts with their keys as one text (:func:`whole` reads it).

    Examples
    --------
    >>> import numpy as np
    >>> whole(plain({"latitude": np.float32(48.5), "flags": ["Short."]}))
    {'latitude': 48.5, 'flags': ['Short.']}
    """
    told = {str(key): value for key, value in attrs.items()}
    if "flags" in told:
        told["flags"] = as_attribute(flags_of(told))
    return json.loads(json.dumps(told, default=float))


def whole(attrs: dict[str, Any]) -> dict[str, Any]:
    """Attributes that :func:`plain` made plain, their doubts as they were."""
    return attrs | {"flags": flags_of(attrs)} if "flags" in attrs else attrs
