"""Read one cell of the invented weather."""

import numpy as np
import xarray as xr
import zarr

from exposure.checks import RefusalError
from exposure.invented.geography import (
    CELL_LATITUDE,
    CELL_LONGITUDE,
    cell_latitudes,
    cell_longitudes,
    metres_per_degree,
)
from exposure.invented.place_files import INVENTED_FLAG, LICENCE, SOURCE, InventedPlace
from exposure.invented.storms import FIRST_YEAR, HOURS

_READ = ("u10", "v10", "tp", "sf", "t2m", "d2m")


def climate_at(place: InventedPlace, latitude: float, longitude: float) -> xr.Dataset:
    """Hourly weather of the cell nearest to a point of the invented island.

    Parameters
    ----------
    place
        From :func:`invented_place`.
    latitude, longitude
        Of the point. [degree]

    Returns
    -------
    xarray.Dataset
        ``rain`` (without snow) and ``snowfall`` [mm in the hour ending at ``time``], ``wind_speed`` [m s-1],
        ``wind_from_direction`` [degree], ``air_temperature`` [degC], ``relative_humidity`` [%]; attribute
        ``kind`` is ``invented``, and ``flags`` say so in a sentence.

    Raises
    ------
    RefusalError
        For a point outside the grid.
    """
    latitudes, longitudes = cell_latitudes(), cell_longitudes()
    turned = (longitude + 180) % 360 - 180
    row, column = int(np.argmin(abs(latitudes - latitude))), int(np.argmin(abs(longitudes - turned)))
    if not (
        abs(latitudes[row] - latitude) <= CELL_LATITUDE / 2 + 1e-9
        and abs(longitudes[column] - turned) <= CELL_LONGITUDE / 2 + 1e-9
    ):
        raise RefusalError(
            f"the point {latitude:g}, {longitude:g}",
            f"a point of the invented island, latitude {latitudes[0] - CELL_LATITUDE / 2:g} to "
            f"{latitudes[-1] + CELL_LATITUDE / 2:g}, longitude {longitudes[0] - CELL_LONGITUDE / 2:g} to "
            f"{longitudes[-1] + CELL_LONGITUDE / 2:g}",
            "Choose a point on the island, or open a climate of your own.",
        )
    group = zarr.open_group(place.climate, mode="r")
    read = {name: np.asarray(_array(group, name)[:, row, column], dtype=float) for name in _READ}
    speed = np.hypot(read["u10"], read["v10"])
    direction = (270.0 - np.degrees(np.arctan2(read["v10"], read["u10"]))) % 360.0  # any, where it is calm
    along, up = metres_per_degree()
    away = np.hypot((longitudes[column] - turned) * along, (latitudes[row] - latitude) * up)

    def entry(values: np.ndarray, unit: str) -> tuple:
        return ("time", values, {"units": unit})

    start = np.datetime64(f"{FIRST_YEAR}-01-01T00", "h")
    return xr.Dataset(
        {
            "rain": entry(read["tp"] - read["sf"], "mm"),
            "wind_speed": entry(speed, "m s-1"),
            "wind_from_direction": entry(direction, "degree"),
            "air_temperature": entry(read["t2m"] - 273.15, "degC"),
            "relative_humidity": entry(_relative_humidity(read["t2m"], read["d2m"]), "%"),
            "snowfall": entry(read["sf"], "mm"),
        },
        {"time": (start + np.arange(HOURS)).astype("datetime64[ns]")},
        {
            "source": SOURCE,
            "licence": LICENCE,
            "kind": "invented",
            "flags": [INVENTED_FLAG],
            "latitude": float(latitudes[row]),
            "longitude": float(longitudes[column]),
            "distance": float(away),
        },
    )


def _array(group: zarr.Group, name: str) -> zarr.Array:
    array = group[name]
    if not isinstance(array, zarr.Array):
        message = f"{name} of the invented place is no array"
        raise TypeError(message)
    return array


def _relative_humidity(air: np.ndarray, dew_point: np.ndarray) -> np.ndarray:
    """Over water, from temperatures in K (Magnus form with the constants of ISO 13788). [%]"""
    t, d = air - 273.15, dew_point - 273.15
    return 100.0 * np.exp(17.269 * d / (237.3 + d) - 17.269 * t / (237.3 + t))
