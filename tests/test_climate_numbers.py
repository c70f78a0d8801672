"""Numbers on wind components and running totals of rain, each with its source in ``cases/climate.toml``."""

import numpy as np
import pytest
from outside import agrees, checks_about, inputs_of

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


@pytest.mark.parametrize("name", checks_about("climate", "direction-"))
def test_where_the_wind_comes_from(name):
    wind = inputs_of(name)
    agrees(block_of([wind["east"]], [wind["north"]], [0.0], [0]).wind_from_direction[0], name, turn=360)


def test_rain_since_midnight_is_taken_apart():
    given = inputs_of("era5-land")
    hours = 24 * 15000 + np.array(given["hours"])  # of a day, UTC
    calm = np.zeros(hours.size)
    agrees(block_of(calm, calm, given["totals"], hours, rule="since 00 UTC").rain, "era5-land")
