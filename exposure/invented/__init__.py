"""The invented place of the demo: an island that does not exist, its weather, relief, land cover and houses."""

import xarray as xr

from exposure.invented.place import invented_place
from exposure.invented.place_files import InventedPlace

__all__ = ["InventedPlace", "climate_at", "invented_place"]


def climate_at(place: InventedPlace, latitude: float, longitude: float) -> xr.Dataset:
    """Hourly weather of the invented cell nearest to a point; see :func:`exposure.invented.reading.climate_at`."""
    from exposure.invented.reading import climate_at as read  # zarr is loaded only when it is needed

    return read(place, latitude, longitude)
