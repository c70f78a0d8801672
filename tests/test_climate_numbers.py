"""Numbers on wind components and running totals of rain, each with its source in ``cases/climate.toml``."""

import numpy as np
import pytest
from outside import agrees

from exposure.climate.grid.blocks import climate_block
from exposure.climate.grid.names import GridVariables
from exposure.climate.units import Conversion


def block_of(east, north, total, hours, *, rule="hour"):
    names = GridVariables(
        {"eastward_wind": "u10", "northward_wind": "v10", "rain": "tp"},
        {"eastward_wind": Conversion(1.0), "northward_wind": Conversion(1.0), "rain": Conversion(1000.0)},
        rule, "time", "latitude", "longitude", "point", "standard",
    )  # fmt: skip
    raw = {"u10": np.asarray(east, float), "v10": np.asarray(north, float), "tp": np.asarray(total, float)}
    return climate_block(names, raw, hours=np.asarray(hours))[0]


@pytest.mark.parametrize(
    ("name", "east", "north"),
    [
        ("direction-5-0", 5, 0),
        ("direction-0-5", 0, 5),
        ("direction-minus-5-0", -5, 0),
        ("direction-0-minus-5", 0, -5),
    ],
)
def test_where_the_wind_comes_from(name, east, north):
    agrees(block_of([east], [north], [0.0], [0]).wind_from_direction[0], name, turn=360)


def test_rain_since_midnight_is_taken_apart():
    hours = 24 * 15000 + np.array([1, 2, 3])  # 01, 02 and 03 UTC
    calm = np.zeros(3)
    agrees(block_of(calm, calm, [0.0004, 0.0010, 0.0010], hours, rule="since 00 UTC").rain, "era5-land")
