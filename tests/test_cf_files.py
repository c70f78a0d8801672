"""Files of results follow the CF conventions: what they ask of every file, and a checker's word where one is installed."""

import shutil
import subprocess

import numpy as np
import pytest
import xarray as xr
from test_region_index import invented_grid

from exposure.rain.index import airfield_index
from exposure.region.change import index_change
from exposure.region.region_index import index_region


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """A place's index, a region's, and a change, each as NetCDF."""
    folder = tmp_path_factory.mktemp("cf")
    region = invented_grid(end="2010-12-31T23").isel(latitude=slice(1, 3), longitude=slice(2, 4))
    store = index_region(region, folder / "region", orientations=4, netcdf=True, progress=False)
    one = region.isel(latitude=0, longitude=0)
    climate = xr.Dataset(
        {
            "rain": one["tp"].assign_attrs(units="mm") * 1000,
            "wind_speed": np.hypot(one["u10"], one["v10"]),
            "wind_from_direction": np.degrees(np.arctan2(-one["u10"], -one["v10"])) % 360,
        },
        attrs={"source": "invented", "licence": "none", "kind": "invented", "flags": []},
    ).drop_vars(["latitude", "longitude"])
    for name, unit in (("rain", "mm"), ("wind_speed", "m s-1"), ("wind_from_direction", "degree")):
        climate[name].attrs = {"units": unit}
    airfield_index(climate, orientation=[0.0, 120.0, 240.0]).to_netcdf(folder / "place.nc")
    with xr.open_zarr(store, chunks=None) as index:
        index_change(index, index).assign_attrs(flags=[]).to_netcdf(folder / "change.nc")
    return [folder / "region/index.nc", folder / "place.nc", folder / "change.nc"]


def test_every_file_says_what_it_is_and_no_axis_has_a_missing_value(files):
    for path in files:
        with xr.open_dataset(path, decode_cf=False) as held:
            assert held.attrs["Conventions"] == "CF-1.8"
            assert held.attrs["title"]
            assert held.attrs["history"]
            assert not [name for name in held.coords if "_FillValue" in held[name].attrs]
            assert not [name for name in held.variables if held[name].dtype == np.int64]  # none in CF 1.8
            assert not [
                name
                for name in held.variables
                if not held[name].attrs.get("long_name", held[name].attrs.get("standard_name"))
            ]


def test_a_checker_finds_nothing(files):
    checker = shutil.which("compliance-checker")
    if checker is None:
        pytest.skip("no compliance-checker is installed")
    for path in files:
        done = subprocess.run(
            [checker, "-t", "cf:1.8", str(path)], capture_output=True, text=True, check=False
        )
        assert "All tests passed!" in done.stdout, done.stdout
