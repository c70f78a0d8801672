"""What many tests build: a climate record from plain arrays."""

from typing import Any

import numpy as np
import xarray as xr

UNITS = {
    "rain": "mm",
    "wind_speed": "m s-1",
    "wind_from_direction": "degree",
    "air_temperature": "degC",
    "relative_humidity": "%",
}


def climate_of(time: Any, *, rain: Any, wind_speed: Any, wind_from_direction: Any, **more: Any) -> xr.Dataset:
    """A climate Dataset along ``time``; a single number stands for every hour, and what is no term is an attribute."""
    values = {"rain": rain, "wind_speed": wind_speed, "wind_from_direction": wind_from_direction}
    values |= {term: more.pop(term) for term in UNITS if term in more}
    data = {
        term: ("time", np.broadcast_to(value, len(time)).astype(float), {"units": UNITS[term]})
        for term, value in values.items()
    }
    return xr.Dataset(data, {"time": time}, more)
