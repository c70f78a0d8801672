"""Grids: names, units, orders, longitudes, accumulations, and the point picked out of them."""

import json
import threading
import warnings
import zipfile
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import cftime
import numpy as np
import pandas as pd
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_record import grid, invented_weather

from exposure import airfield_index, open_climate
from exposure.checks import RefusalError
from exposure.climate.grid.blocks import climate_block, read_block
from exposure.climate.grid.names import GridVariables, identify_variables
from exposure.climate.grid.nearest_cell import great_circle_distance
from exposure.climate.grid.parts import open_grid
from exposure.climate.running_totals import looks_accumulated
from exposure.climate.units import Conversion

OPEN = Path(__file__).parents[1] / "data_open"
WEATHER = invented_weather(hours=24 * 20)


def saved(dataset, path):
    dataset.to_netcdf(path, engine="h5netcdf")
    return path


def opened(dataset, tmp_path, **told):
    return open_climate(saved(dataset, tmp_path / "grid.nc"), **told)


@settings(max_examples=60, deadline=None)
@given(st.floats(-60, 60), st.floats(-60, 60))
def test_wind_components_against_a_general_library(east, north):
    from metpy.calc import wind_direction, wind_speed
    from metpy.units import units

    names = GridVariables(
        {"eastward_wind": "u10", "northward_wind": "v10", "rain": "tp"},
        {term: Conversion(1.0) for term in ("eastward_wind", "northward_wind", "rain")},
        "hour", "time", "latitude", "longitude", "point", "standard",
    )  # fmt: skip
    raw = {"u10": np.array([east]), "v10": np.array([north]), "tp": np.array([0.0])}
    block, _ = climate_block(names, raw, hours=np.array([0]))
    speed = wind_speed(east * units("m/s"), north * units("m/s")).magnitude
    if speed > 75:
        assert np.isnan(block.wind_speed[0])
        return
    np.testing.assert_allclose(block.wind_speed[0], speed, atol=1e-9)
    if speed > 1e-6:
        towards = wind_direction(east * units("m/s"), north * units("m/s")).to("degree").magnitude
        turn = (block.wind_from_direction[0] - towards + 180) % 360 - 180
        assert abs(turn) < 1e-6


@pytest.mark.parametrize(("u", "v", "comes_from"), [(0, -1, 0), (-1, 0, 90), (0, 1, 180), (1, 0, 270)])
def test_direction_the_wind_comes_from_by_hand(u, v, comes_from, tmp_path):
    dataset = grid(WEATHER)
    dataset["u10"][:], dataset["v10"][:] = u, v
    assert opened(dataset, tmp_path)["wind_from_direction"].values[0] == comes_from


@pytest.mark.parametrize("components", [True, False])
@pytest.mark.parametrize("store", ["netcdf4", "netcdf3", "zarr2", "zarr3"])
def test_every_store_gives_the_same_weather(components, store, tmp_path):
    dataset = grid(WEATHER, components=components)
    path = tmp_path / "store"
    if store == "netcdf4":
        dataset.to_netcdf(path, engine="h5netcdf")
    elif store == "netcdf3":
        dataset.to_netcdf(path, engine="scipy")
    else:
        dataset.to_zarr(path, zarr_format=int(store[-1]))
    climate = open_climate(path)
    np.testing.assert_allclose(climate["rain"], WEATHER["rain"], atol=1e-9)
    np.testing.assert_allclose(climate["wind_speed"], WEATHER["speed"], atol=1e-9)
    turned = (climate["wind_from_direction"].values - WEATHER["direction"].to_numpy() + 180) % 360 - 180
    np.testing.assert_allclose(turned[WEATHER["speed"].to_numpy() > 0], 0, atol=1e-6)
    assert climate.attrs["kind"] == "reanalysis"


@pytest.mark.parametrize("turn", ["north first", "south first"])
@pytest.mark.parametrize("longitudes", [(350.0, 351.0, 352.0), (-10.0, -9.0, -8.0), (359.0, 360.0)])
def test_nearest_cell_in_either_order_and_convention(turn, longitudes, tmp_path):
    latitudes = (49.0, 50.0, 51.0) if turn == "south first" else (51.0, 50.0, 49.0)
    dataset = grid(WEATHER, latitudes=latitudes, longitudes=longitudes)
    wanted = (50.2, (longitudes[1] + 0.1 + 180) % 360 - 180)
    dataset["tp"][:] = 0.0
    dataset["tp"][:, 1, 1] = WEATHER["rain"].to_numpy() / 1000
    climate = opened(dataset, tmp_path, at=wanted)
    np.testing.assert_allclose(climate["rain"], WEATHER["rain"], atol=1e-9)
    assert climate.attrs["latitude"] == 50.0
    # 0.2 and 0.1 degrees away: 111.19 km x sqrt(0.2^2 + (0.1 cos 50)^2) by hand
    assert climate.attrs["distance"] == pytest.approx(
        111.19 * np.hypot(0.2, 0.1 * np.cos(np.radians(50.1))), abs=0.1
    )
    assert any("km from the point" in flag for flag in climate.attrs["flags"])


def test_great_circle_against_the_law_of_cosines():
    here, there = (52.1, 4.3), (40.7, -74.0)
    a, b, c, d = np.radians([*here, *there])
    other = 6371 * np.arccos(np.sin(a) * np.sin(c) + np.cos(a) * np.cos(c) * np.cos(b - d))
    np.testing.assert_allclose(great_circle_distance(here, there), other, rtol=1e-9)


@pytest.mark.parametrize("at", [(60.0, -9.0), (50.0, 20.0), (-50.0, -9.0)])
def test_a_point_outside_is_refused(at, tmp_path):
    dataset = grid(WEATHER, latitudes=(49.0, 50.0), longitudes=(-10.0, -9.0))
    with pytest.raises(RefusalError, match="outside the grid"):
        opened(dataset, tmp_path, at=at)


def test_latitude_and_longitude_swapped_is_told(tmp_path):
    dataset = grid(WEATHER, latitudes=(49.0, 50.0), longitudes=(8.0, 9.0))
    with pytest.raises(RefusalError, match="latitude comes first"):
        opened(dataset, tmp_path, at=(8.5, 49.5))


def test_a_grid_needs_a_point(tmp_path):
    with pytest.raises(RefusalError, match="latitude and longitude"):
        opened(grid(WEATHER, latitudes=(49.0, 50.0)), tmp_path)


# ------------------------------------------------------------------ layouts of the archives


def test_valid_time_and_one_member(tmp_path):
    dataset = grid(WEATHER).rename(time="valid_time").expand_dims(number=[0])
    np.testing.assert_allclose(opened(dataset, tmp_path)["rain"], WEATHER["rain"], atol=1e-9)


def test_expver_of_the_old_layout_final_first_then_early(tmp_path):
    dataset = grid(WEATHER)
    final, early = dataset.copy(deep=True), dataset.copy(deep=True)
    for name in ("u10", "v10", "tp"):
        final[name][300:] = np.nan
        early[name][:300] = 7.0 if name != "tp" else 0.5  # must not be used where final data is known
    both = xr.concat([final, early], pd.Index([1, 5], name="expver")).transpose("time", "expver", ...)
    climate = opened(both, tmp_path)
    np.testing.assert_allclose(climate["rain"], WEATHER["rain"], atol=1e-9)
    assert any("expver" in flag for flag in climate.attrs["flags"])


def test_expver_of_the_new_layout_is_only_a_label(tmp_path):
    dataset = (
        grid(WEATHER).rename(time="valid_time").assign_coords(expver=("valid_time", ["0001"] * len(WEATHER)))
    )
    np.testing.assert_allclose(opened(dataset, tmp_path)["rain"], WEATHER["rain"], atol=1e-9)


def test_a_zip_of_instantaneous_and_accumulated_fields(tmp_path):
    dataset = grid(WEATHER)
    saved(dataset[["u10", "v10"]], tmp_path / "instant.nc")
    saved(dataset[["tp"]], tmp_path / "accum.nc")
    with zipfile.ZipFile(tmp_path / "both.zip", "w") as archive:
        archive.write(tmp_path / "instant.nc", "data_stream-oper_stepType-instant.nc")
        archive.write(tmp_path / "accum.nc", "data_stream-oper_stepType-accum.nc")
    np.testing.assert_allclose(open_climate(tmp_path / "both.zip")["rain"], WEATHER["rain"], atol=1e-9)


def test_a_store_at_an_address(tmp_path):
    """Any address of fsspec: memory, and a web server on this machine."""
    pytest.importorskip("aiohttp")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        grid(WEATHER).to_zarr("memory://invented/store")
        grid(WEATHER).to_zarr(tmp_path / "store", zarr_format=2, consolidated=True)
    np.testing.assert_allclose(open_climate("memory://invented/store")["rain"], WEATHER["rain"], atol=1e-9)
    served = ThreadingHTTPServer(("127.0.0.1", 0), partial(QuietHandler, directory=str(tmp_path)))
    threading.Thread(target=served.serve_forever, daemon=True).start()
    try:
        address = f"http://127.0.0.1:{served.server_port}/store"
        np.testing.assert_allclose(open_climate(address)["rain"], WEATHER["rain"], atol=1e-9)
        with pytest.raises(RefusalError):
            open_climate(f"http://127.0.0.1:{served.server_port}/absent")
    finally:
        served.shutdown()
        served.server_close()


class QuietHandler(SimpleHTTPRequestHandler):
    def log_message(self, *_):
        pass


def test_a_folder_of_files_along_time(tmp_path):
    dataset = grid(WEATHER)
    folder = tmp_path / "years"
    folder.mkdir()
    saved(dataset.isel(time=slice(200, None)), folder / "a.nc")
    saved(dataset.isel(time=slice(0, 200)), folder / "b.nc")
    np.testing.assert_allclose(open_climate(folder)["rain"], WEATHER["rain"], atol=1e-9)
    saved(dataset.isel(time=slice(190, 210)), folder / "c.nc")
    with pytest.raises(RefusalError, match="overlap"):
        open_climate(folder)


def since_midnight(weather):
    """Totals since 00 UTC, the 00 stamp holding the whole day before, by a loop of its own."""
    totals, running = [], 0.0
    for stamp, amount in weather["rain"].items():
        running = amount if stamp.hour == 1 else running + amount
        totals.append(running)
    return np.array(totals)


def test_era5_land_is_taken_apart_and_an_undeclared_total_is_refused(tmp_path):
    dataset = grid(WEATHER)
    dataset["tp"][:] = since_midnight(WEATHER)[:, None, None] / 1000
    with pytest.raises(RefusalError, match="running total"):
        opened(dataset, tmp_path)
    told = opened(dataset, tmp_path, rain_rule="since 00 UTC")
    np.testing.assert_allclose(told["rain"], WEATHER["rain"], atol=1e-9)
    dataset.attrs["history"] = "reanalysis-era5-land from the store"
    np.testing.assert_allclose(opened(dataset, tmp_path)["rain"], WEATHER["rain"], atol=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(1, 40), min_size=1, max_size=12), st.integers(0, 23), st.integers(0, 999))
def test_blocks_of_any_length_take_era5_land_apart_alike(lengths, start, seed):
    rng = np.random.default_rng(seed)
    number = sum(lengths)
    hours = np.arange(start, start + number) + 24 * 1000
    rain = np.round(rng.gamma(0.3, 2, (number, 2, 3)), 3)
    totals = np.zeros_like(rain)
    for row, hour in enumerate(hours):
        totals[row] = rain[row] + (0 if hour % 24 == 1 or row == 0 else totals[row - 1])
    names = identify_variables(grid(WEATHER).assign_attrs(history="era5-land"), rain_rule="since 00 UTC")
    calm = np.zeros_like(rain)
    at, carry, parts, unsplit = 0, None, [], 0
    for length in lengths:
        piece = slice(at, at + length)
        raw = {"u10": calm[piece], "v10": calm[piece], "tp": totals[piece] / 1000}
        block, carry = climate_block(names, raw, hours=hours[piece], carry=carry)
        parts.append(block.rain)
        unsplit += block.unsplit
        at += length
    got = np.concatenate(parts)
    first_known = hours[0] % 24 == 1
    assert unsplit == (0 if first_known else 6)
    np.testing.assert_allclose(got[0 if first_known else 1 :], rain[0 if first_known else 1 :], atol=1e-9)


def test_a_gap_in_a_total_leaves_one_hour_missing(tmp_path):
    dataset = grid(WEATHER)
    dataset["tp"][:] = since_midnight(WEATHER)[:, None, None] / 1000
    climate = opened(dataset.isel(time=np.r_[0:100, 101:480]), tmp_path, rain_rule="since 00 UTC")
    assert climate["rain"].isnull().sum() == 1


def test_tiny_negatives_are_zero_and_counted(tmp_path):
    dataset = grid(WEATHER)
    dataset["tp"][5] = -1e-6  # m: 0.001 mm
    climate = opened(dataset, tmp_path)
    assert climate["rain"].values[5] == 0
    assert any("1 hours of rain a hair below zero" in flag for flag in climate.attrs["flags"])


def test_snow_is_taken_off_total_precipitation(tmp_path):
    dataset = grid(WEATHER)
    dataset["sf"] = (
        dataset["tp"].copy(data=dataset["tp"].values * 0.25).assign_attrs(units="m of water equivalent")
    )
    climate = opened(dataset, tmp_path)
    np.testing.assert_allclose(climate["rain"], WEATHER["rain"] * 0.75, atol=1e-9)
    np.testing.assert_allclose(climate["snowfall"], WEATHER["rain"] * 0.25, atol=1e-9)
    assert any("Snowfall was taken off" in flag for flag in climate.attrs["flags"])


@pytest.mark.parametrize(
    ("standard_name", "unit", "factor"),
    # 1 kg of water on 1 m2 is 1 mm; a flux times 3600 s is the hour's amount
    [("precipitation_flux", "kg m-2 s-1", 3600.0), ("lwe_precipitation_rate", "m s-1", 3.6e6),
     ("precipitation_amount", "kg m-2", 1.0), ("lwe_thickness_of_precipitation_amount", "m", 1000.0),
     ("rainfall_flux", "mm h-1", 1.0)],
)  # fmt: skip
def test_rain_by_standard_name_and_unit(standard_name, unit, factor, tmp_path):
    dataset = grid(WEATHER).rename(tp="something", u10="a", v10="b")
    dataset["something"].attrs = {"standard_name": standard_name, "units": unit}
    dataset["something"][:] = WEATHER["rain"].to_numpy()[:, None, None] / factor
    dataset["a"].attrs["standard_name"], dataset["b"].attrs["standard_name"] = (
        "eastward_wind",
        "northward_wind",
    )
    np.testing.assert_allclose(opened(dataset, tmp_path)["rain"], WEATHER["rain"], atol=1e-9)


def test_wind_to_direction_is_turned_because_it_is_declared(tmp_path):
    dataset = grid(WEATHER, components=False).rename(wind_from_direction="where_to")
    dataset["where_to"].attrs["standard_name"] = "wind_to_direction"
    dataset["where_to"][:] = ((WEATHER["direction"].to_numpy() + 180) % 360)[:, None, None]
    climate = opened(dataset, tmp_path)
    np.testing.assert_allclose(climate["wind_from_direction"], WEATHER["direction"], atol=1e-9)


def test_time_bounds_move_the_stamp_to_the_end(tmp_path):
    dataset = grid(WEATHER)
    ends = dataset["time"].values
    dataset = dataset.assign_coords(time=ends - np.timedelta64(30, "m"))
    dataset["time"].attrs["bounds"] = "edges"
    dataset["edges"] = (("time", "two"), np.stack([ends - np.timedelta64(1, "h"), ends], 1))
    np.testing.assert_array_equal(opened(dataset, tmp_path)["time"].values, ends)


def test_no_leap_calendar_keeps_its_own_clock(tmp_path):
    weather = invented_weather(hours=8760)
    dataset = grid(weather)
    time = xr.date_range("2016-01-01T01:00", periods=8760, freq="h", calendar="noleap", use_cftime=True)
    climate = opened(dataset.assign_coords(time=time), tmp_path)
    assert isinstance(climate["time"].values[0], cftime.DatetimeNoLeap)
    index = airfield_index(climate, orientation=[230])
    assert float(index["coverage"][0]) == pytest.approx(
        8759 / 8760
    )  # the last hour is stamped in the next year


def test_land_share_of_the_cell_is_kept_and_sea_told(tmp_path):
    dataset = grid(WEATHER)
    assert "land_share" not in opened(dataset, tmp_path).attrs  # no mask, no claim
    dataset["lsm"] = (("latitude", "longitude"), [[0.1]], {"units": "(0 - 1)"})
    sea = opened(dataset, tmp_path)
    assert any("mostly sea" in flag for flag in sea.attrs["flags"])
    assert sea.attrs["land_share"] == pytest.approx(0.1)
    dataset["lsm"] = (("latitude", "longitude"), [[90.0]], {"units": "%"})
    land = opened(dataset, tmp_path)
    assert not any("mostly sea" in flag for flag in land.attrs["flags"])
    assert land.attrs["land_share"] == pytest.approx(0.9)


@pytest.mark.parametrize("share", [np.nan, 7.0])  # masked, or no share at all
def test_a_land_mask_that_cannot_be_is_not_kept(share, tmp_path):
    dataset = grid(WEATHER)
    dataset["lsm"] = (("latitude", "longitude"), [[share]], {"units": "(0 - 1)"})
    assert "land_share" not in opened(dataset, tmp_path).attrs


def test_wind_of_another_height_is_brought_to_ten_metres(tmp_path):
    dataset = grid(WEATHER).assign_coords(height=2.0)
    climate = opened(dataset, tmp_path)
    factor = np.log(10 / 0.05) / np.log(2 / 0.05)
    np.testing.assert_allclose(climate["wind_speed"], WEATHER["speed"] * factor, rtol=1e-9)


# ------------------------------------------------------------------ what is refused


def curvilinear():
    dataset = grid(WEATHER, latitudes=(49.0, 50.0), longitudes=(1.0, 2.0)).rename(latitude="y", longitude="x")
    dataset = dataset.drop_vars(["y", "x"])
    dataset["latitude"] = (("y", "x"), [[49.0, 49.1], [50.0, 50.1]])
    dataset["longitude"] = (("y", "x"), [[1.0, 2.0], [1.1, 2.1]])
    return dataset.set_coords(["latitude", "longitude"])


def rotated():
    dataset = grid(WEATHER).rename(latitude="rlat", longitude="rlon")
    dataset["rotated_pole"] = ((), 0, {"grid_mapping_name": "rotated_latitude_longitude"})
    return dataset


def changed(**variables):
    dataset = grid(WEATHER)
    for name, attrs in variables.items():
        dataset[name].attrs = attrs
    return dataset


def two_rains():
    dataset = grid(WEATHER).rename(tp="a")
    dataset["a"].attrs["standard_name"] = "lwe_thickness_of_precipitation_amount"
    return dataset.assign(b=dataset["a"].copy())


REFUSED = {
    "curvilinear": (curvilinear, "curvilinear"),
    "rotated": (rotated, "turned or projected"),
    "list of places": (lambda: grid(WEATHER, latitudes=(49.0, 50.0), longitudes=(1.0, 2.0)).stack(place=("latitude", "longitude")).reset_index("place"), "list along"),
    "no rain": (lambda: grid(WEATHER).drop_vars("tp"), "rain"),
    "no wind": (lambda: grid(WEATHER).drop_vars("u10"), "wind at 10 m"),
    "no unit": (lambda: changed(tp={}), "declares no unit"),
    "foreign unit": (lambda: changed(u10={"units": "K"}), "unit of speed"),
    "ensemble": (lambda: grid(WEATHER).expand_dims(number=[0, 1]), "ensemble"),
    "forecast steps": (lambda: grid(WEATHER).expand_dims(step=[1, 2]), "dimension step"),
    "one forecast step": (lambda: grid(WEATHER).expand_dims(step=[np.timedelta64(6, "h")]), "one step"),
    "no time": (lambda: grid(WEATHER).isel(time=0, drop=True), "time axis"),
    "time that repeats": (lambda: grid(WEATHER).isel(time=[0, 1, 1, 2]), "repeats"),
    "masked cell": (lambda: grid(WEATHER).where(False), "holds no values"),
    "two rains": (two_rains, "one variable for rain"),
    "impossible rain": (lambda: changed(tp={"units": "m"}).assign(tp=grid(WEATHER)["tp"] * 1e6 + 1), "impossible"),
    "latitudes beyond the pole": (lambda: grid(WEATHER, latitudes=(91.0, 92.0)), "within 90"),
    "unsorted latitudes": (lambda: grid(WEATHER, latitudes=(50.0, 52.0, 51.0)), "neither ascends"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_grids_that_are_refused_by_name(name, tmp_path):
    make, words = REFUSED[name]
    with pytest.raises(RefusalError, match=words):
        opened(
            make(),
            tmp_path,
            at=(50, 1) if name in ("latitudes beyond the pole", "unsorted latitudes") else None,
        )


def test_text_variables_are_no_weather(tmp_path):
    dataset = grid(WEATHER)
    dataset["tp"] = dataset["tp"].astype(str).assign_attrs(units="m")
    with pytest.raises(RefusalError, match="no numbers"):
        opened(dataset, tmp_path)


def test_a_store_with_pickled_objects_is_refused_before_any_is_read(tmp_path):
    import zarr

    grid(WEATHER).to_zarr(tmp_path / "store", zarr_format=2)
    meta = tmp_path / "store" / "u10" / ".zarray"
    described = json.loads(meta.read_text())
    described["filters"] = [{"id": "pickle", "protocol": 5}]
    meta.write_text(json.dumps(described))
    consolidated = tmp_path / "store" / ".zmetadata"
    if consolidated.exists():
        content = json.loads(consolidated.read_text())
        content["metadata"]["u10/.zarray"] = described
        consolidated.write_text(json.dumps(content))
    with pytest.raises(RefusalError, match="pickle"):
        open_climate(tmp_path / "store")
    assert zarr  # the store was written by the general library


def test_a_declared_giant_is_refused_without_being_allocated(tmp_path):
    import h5py

    with h5py.File(tmp_path / "giant.nc", "w") as file:
        file.create_dataset("tp", shape=(10**12,), dtype="f4", chunks=(10**6,))
    with pytest.raises(RefusalError, match="declares an axis"):
        open_climate(tmp_path / "giant.nc")


def test_real_era5_sample_is_read_and_its_index_refused():
    """24 steps 7 h apart (data notes): read as it is, but no index comes from it."""
    climate = open_climate(OPEN / "era5_europe_1deg_24steps.nc", at=(52.1, 4.4))
    import h5py
    from metpy.calc import wind_speed
    from metpy.units import units

    with h5py.File(
        OPEN / "era5_europe_1deg_24steps.nc"
    ) as raw:  # row of 52 N and column of 4 E counted by hand
        assert (raw["latitude"][20], raw["longitude"][30]) == (52, 4)
        cell = {name: raw[name][:, 20, 30].astype(float) for name in ("u10", "v10", "tp")}
        assert raw["tp"].attrs["units"] in (b"m", "m")
    np.testing.assert_allclose(climate["rain"], cell["tp"] * 1000, atol=1e-6)
    speed = wind_speed(cell["u10"] * units("m/s"), cell["v10"] * units("m/s")).magnitude
    np.testing.assert_allclose(climate["wind_speed"], speed, rtol=1e-6)
    assert climate.attrs["kind"] == "reanalysis"
    with pytest.raises(RefusalError, match="7 h"):
        airfield_index(climate, orientation=[0])


def test_blocks_of_a_lazily_opened_grid(tmp_path):
    dataset = grid(WEATHER, latitudes=(49.0, 50.0), longitudes=(1.0, 2.0, 3.0))
    lazy = open_grid(saved(dataset, tmp_path / "grid.nc"))
    names = identify_variables(lazy)
    block = read_block(lazy, names, "tp", time=slice(10, 20), latitude=slice(1, 2), longitude=slice(0, 2))
    assert block.shape == (10, 1, 2)
    np.testing.assert_allclose(block[:, 0, 0], WEATHER["rain"].to_numpy()[10:20] / 1000)


def test_hourly_rain_does_not_look_accumulated():
    hours = np.arange(24 * 200)
    rng = np.random.default_rng(0)
    assert not looks_accumulated(rng.gamma(0.2, 1, hours.size), hours)
    assert not looks_accumulated(np.zeros(hours.size), hours)
