"""The cell of a grid nearest to a point, on the sphere, whatever the order and convention of its axes."""

import math
from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.names import GridVariables

EARTH_RADIUS = 6371.0  # km
FARTHEST_LONE_CELL = 50.0  # km from the point asked for to the only cell along an axis; our choice


def nearest_cell(dataset: xr.Dataset, names: GridVariables, at: tuple[float, float] | None) -> dict[str, Any]:
    """Row, column, place and distance [km] of the cell nearest to ``at``."""
    latitudes = np.atleast_1d(np.asarray(dataset[names.latitude].values, dtype=float))
    longitudes = np.atleast_1d(np.asarray(dataset[names.longitude].values, dtype=float))
    if at is None:
        if latitudes.size * longitudes.size > 1:
            raise RefusalError(
                f"the source is a grid of {latitudes.size} x {longitudes.size} cells",
                "the point wanted from it",
                "Name it: latitude and longitude in degrees.",
                parameter="at",
            )
        return {
            "row": 0,
            "column": 0,
            "latitude": float(latitudes[0]),
            "longitude": float((longitudes[0] + 180) % 360 - 180),
        }
    row, column = _row_and_column(latitudes, longitudes, at)
    distance = great_circle_distance(at, (latitudes[row], longitudes[column]))
    if not _inside(latitudes, longitudes, at, row, column, distance):
        swapped = (at[1], at[0])
        hint = ""
        if abs(swapped[0]) <= 90:
            other = _row_and_column(latitudes, longitudes, swapped)
            away = great_circle_distance(swapped, (latitudes[other[0]], longitudes[other[1]]))
            if _inside(latitudes, longitudes, swapped, *other, away):
                hint = " With the two swapped it would lie inside: latitude comes first."
        raise RefusalError(
            f"the point {at[0]:g}, {at[1]:g} lies outside the grid, {distance:.0f} km from its nearest cell",
            f"latitude {latitudes.min():g} to {latitudes.max():g} and longitude {longitudes.min():g} to "
            f"{longitudes.max():g}",
            f"Choose a point inside.{hint}",
        )
    return {
        "row": row,
        "column": column,
        "latitude": float(latitudes[row]),
        "longitude": float((longitudes[column] + 180) % 360 - 180),
        "distance": round(distance, 1),
    }


def _row_and_column(
    latitudes: np.ndarray, longitudes: np.ndarray, at: tuple[float, float]
) -> tuple[int, int]:
    east = np.abs((longitudes - at[1] + 180) % 360 - 180)
    return int(np.argmin(np.abs(latitudes - at[0]))), int(np.argmin(east))


def _inside(
    latitudes: np.ndarray,
    longitudes: np.ndarray,
    at: tuple[float, float],
    row: int,
    column: int,
    distance: float,
) -> bool:
    """Whether ``at`` lies within half a cell of the nearest one (within 50 km of a lone one)."""
    north = abs(latitudes[row] - at[0])
    east = abs((longitudes[column] - at[1] + 180) % 360 - 180)
    for axis, away in ((latitudes, north), (longitudes, east)):
        if axis.size > 1 and away > 0.5 * np.max(np.abs(np.diff(axis))) * 1.001:
            return False
        if axis.size == 1 and distance > FARTHEST_LONE_CELL:
            return False
    return True


def great_circle_distance(here: tuple[float, float], there: tuple[float, float]) -> float:
    """Distance between two places given as latitude and longitude [degree], on a sphere. [km]

    Examples
    --------
    >>> round(great_circle_distance((0.0, 0.0), (0.0, 90.0)))  # a quarter of 40,030 km
    10008
    """
    lat1, lon1, lat2, lon2 = (math.radians(float(angle)) for angle in (*here, *there))
    half = (
        math.sin((lat2 - lat1) / 2) ** 2 + math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    )
    return 2 * EARTH_RADIUS * math.asin(min(1.0, math.sqrt(half)))
