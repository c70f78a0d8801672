"""Grids opened, cut and read in their own chunks: held to xarray and to the clean blocks of the point reader."""

import numpy as np
import pandas as pd
import pytest
import xarray as xr
import zarr
from numcodecs import LZ4, Blosc, Zstd

from exposure.checks import RefusalError
from exposure.climate.grid.blocks import climate_block
from exposure.region.chunk_reading import Hdf5Reader, PlainReader, ZarrReader
from exposure.region.column_pass import Column, columns_of, stretch_of, stretches
from exposure.region.grid import open_region
from exposure.region.weather_block import WeatherReader

START = "2011-01-01"


def invented_grid(
    hours=24 * 40,
    latitude=(52.0, 51.0, 50.0, 49.0, 48.0),
    longitude=(0.0, 1.0, 2.0, 3.0),
    seed=0,
    start=START,
) -> xr.Dataset:
    """Invented wind and rain on a small grid, named and measured as ERA5 is."""
    rng = np.random.default_rng(seed)
    shape = (hours, len(latitude), len(longitude))
    rain = np.where(rng.random(shape) < 0.2, rng.gamma(0.7, 0.001, shape), 0.0)
    axes = ("time", "latitude", "longitude")
    fields = {
        "u10": (rng.normal(2, 5, shape), "m s**-1"),
        "v10": (rng.normal(1, 5, shape), "m s**-1"),
        "tp": (rain, "m"),
    }
    return xr.Dataset(
        {name: (axes, value.astype(np.float32), {"units": unit}) for name, (value, unit) in fields.items()},
        {
            "time": pd.date_range(start, periods=hours, freq="h"),
            "latitude": list(latitude),
            "longitude": list(longitude),
        },
        {"source": "invented hours for a test", "licence": "CC0", "kind": "reanalysis"},
    )


def read_all(grid, column=None, hours=None):
    column = column or Column(0, grid.rows, grid.columns[0], (slice(0, 0), slice(0, 0)))
    reader = WeatherReader(grid, column.rows, column.columns, grid.hours.size if hours is None else hours)
    blocks = []
    for stretch in stretches(grid, 0, reader.shape[0]):
        block = reader.read(stretch)
        blocks.append(tuple(np.array(part) for part in block if part is not None))
    return tuple(np.concatenate(parts) for parts in zip(*blocks, strict=True))


STORES = {
    "zarr 2 zstd": {"zarr_format": 2, "codec": Zstd(3)},
    "zarr 2 blosc": {"zarr_format": 2, "codec": Blosc("lz4", shuffle=Blosc.SHUFFLE)},
    "zarr 2 lz4": {"zarr_format": 2, "codec": LZ4()},
    "zarr 3 zstd": {"zarr_format": 3, "codec": zarr.codecs.ZstdCodec(level=3)},
    "zarr 3 blosc": {"zarr_format": 3, "codec": zarr.codecs.BloscCodec()},
    "zarr 3 gzip": {"zarr_format": 3, "codec": zarr.codecs.GzipCodec()},
    "zarr 3 bare": {"zarr_format": 3, "codec": None},
}


@pytest.mark.parametrize("kind", [*STORES, "zarr 3 sharded", "netcdf", "netcdf packed", "netcdf contiguous"])
def test_stored_numbers_are_those_xarray_reads(tmp_path, kind):
    data = invented_grid(hours=250)
    data["tp"][3, 1, 1] = np.nan
    path = tmp_path / "grid"
    chunks = (100, 2, 3)
    expected_reader = ZarrReader
    if kind in STORES:
        form = STORES[kind]
        encoding = {name: {"chunks": chunks, "compressors": form["codec"]} for name in data.data_vars}
        data.to_zarr(path, zarr_format=form["zarr_format"], encoding=encoding, consolidated=False)
    elif kind == "zarr 3 sharded":
        encoding = {name: {"chunks": (50, 2, 2), "shards": (100, 2, 4)} for name in data.data_vars}
        data.to_zarr(path, zarr_format=3, encoding=encoding, consolidated=False)
        expected_reader = PlainReader
    else:
        path = tmp_path / "grid.nc"
        encoding = {name: {"chunksizes": chunks, "zlib": True, "shuffle": True} for name in data.data_vars}
        expected_reader = Hdf5Reader
        if kind == "netcdf packed":
            packed = {"dtype": "int16", "scale_factor": 1e-6, "add_offset": 0.02, "_FillValue": -32767}
            encoding["tp"] |= packed
            encoding["u10"]["fletcher32"] = True
        if kind == "netcdf contiguous":
            encoding = {}
            expected_reader = PlainReader
        data.to_netcdf(path, engine="h5netcdf", encoding=encoding)
    grid = open_region(path)
    assert isinstance(grid.parts[0].readers["tp"], expected_reader)
    stored = (
        xr.open_zarr(path, consolidated=False) if path.is_dir() else xr.open_dataset(path, engine="h5netcdf")
    )
    for name in ("u10", "v10", "tp"):
        room = np.empty((120, 3, 2), np.float32)
        grid.parts[0].readers[name].read_into(room, slice(90, 210), slice(1, 4), slice(2, 4))
        expected = stored[name].values[90:210, 1:4, 2:4]
        np.testing.assert_allclose(room, expected, rtol=2e-6, atol=1e-9)
        assert np.isnan(room).sum() == np.isnan(expected).sum()
    stored.close()


@pytest.mark.parametrize("rule", ["hour", "since 00 UTC", "snow", "speed and direction", "towards"])
@pytest.mark.parametrize("stretch", [960, 100, 7])
def test_weather_is_that_of_the_point_reader(tmp_path, rule, stretch):
    data = invented_grid()
    data["tp"][50:60, 2, 2] = np.nan
    data["tp"][70, 0, 0] = -1e-6
    if rule == "since 00 UTC":
        hours = np.arange(data.sizes["time"])
        totals = np.zeros(data["tp"].shape)
        for i in range(1, hours.size):
            totals[i] = data["tp"].values[i] + (0 if hours[i] % 24 == 1 else totals[i - 1])
        data["tp"].values[:] = totals
        data.attrs["title"] = "ERA5-Land"
        data = data.isel(time=[i for i in range(960) if i not in range(300, 317)])
    if rule == "snow":
        data["sf"] = data["tp"] * np.float32(0.4)
        data["sf"][5:9] = 0.002
    if rule in ("speed and direction", "towards"):
        speed, angle = (
            np.hypot(data["u10"], data["v10"]),
            np.degrees(np.arctan2(-data["u10"], -data["v10"])) % 360,
        )
        data = data.drop_vars(["u10", "v10"])
        data["wind_speed"] = speed.assign_attrs(units="m s-1")
        standard = "wind_to_direction" if rule == "towards" else "wind_from_direction"
        data["wind_from_direction"] = angle.assign_attrs(units="degree", standard_name=standard)
        data["wind_from_direction"][100:150, 1, 1] = np.nan
        data["wind_from_direction"][10, 0, 0] = 990.0
    path = tmp_path / "grid.zarr"
    data.to_zarr(
        path, consolidated=False, encoding={name: {"chunks": (100, 2, 2)} for name in data.data_vars}
    )
    grid = open_region(path)
    got = read_all(grid, hours=stretch)
    raw = {name: data[name].values.astype(float) for name in grid.names.needed}
    block, _ = climate_block(grid.names, raw, hours=grid.hours)
    cells = (grid.hours.size, -1)
    known = ~np.isnan(block.rain.reshape(cells))
    np.testing.assert_allclose(
        np.maximum(got[0], 0)[known], block.rain.reshape(cells)[known], rtol=1e-5, atol=2e-6
    )
    np.testing.assert_array_equal(np.isnan(got[0]), ~known)
    angle = np.deg2rad(block.wind_from_direction.reshape(cells))
    speed = block.wind_speed.reshape(cells)
    np.testing.assert_allclose(got[1], -speed * np.sin(angle), rtol=1e-4, atol=1e-4)
    np.testing.assert_allclose(got[2], -speed * np.cos(angle), rtol=1e-4, atol=1e-4)
    if len(got) > 3:
        np.testing.assert_allclose(got[3], speed, rtol=1e-6)


def test_files_along_time_read_as_one(tmp_path):
    data = invented_grid()
    for number, part in enumerate((slice(700, 960), slice(0, 300), slice(310, 700))):
        data.isel(time=part).to_netcdf(tmp_path / f"{number}.nc", engine="h5netcdf")
    whole = data.isel(time=[*range(300), *range(310, 960)])
    for address in (tmp_path, tmp_path / "*.nc"):
        grid = open_region(address)
        assert grid.hours.size == 950
        got = read_all(grid, hours=240)
        np.testing.assert_array_equal(got[1], whole["u10"].values.reshape(950, -1))
    one_year = open_region(tmp_path, years=(2011, 2011))
    assert one_year.hours.size == 950


@pytest.mark.parametrize(
    ("longitude", "bbox", "expected"),
    [
        (np.arange(0.0, 360.0, 30.0), (-40, 47, 40, 53), [-30.0, 0.0, 30.0]),
        (np.arange(0.0, 360.0, 30.0), (140, 47, -140, 53), [150.0, 180.0, 210.0]),
        (np.arange(-180.0, 180.0, 30.0), (140, 47, -140, 53), [150.0, 180.0, 210.0]),
        (np.arange(0.0, 360.0, 30.0), None, list(np.arange(-180.0, 180.0, 30.0))),
        (np.arange(10.0, 50.0, 10.0), None, [10.0, 20.0, 30.0, 40.0]),
        (np.arange(340.0, 360.0, 5.0), None, [-20.0, -15.0, -10.0, -5.0]),
    ],
)
def test_box_cuts_longitudes_where_it_should(tmp_path, longitude, bbox, expected):
    data = invented_grid(hours=48, longitude=longitude)
    data.to_zarr(
        tmp_path / "g.zarr", consolidated=False, encoding={n: {"chunks": (48, 5, 5)} for n in data.data_vars}
    )
    grid = open_region(tmp_path / "g.zarr", bbox=bbox)
    np.testing.assert_allclose(grid.longitude, expected)
    u = np.full((grid.latitude.size, grid.longitude.size), np.nan)
    for column in columns_of(grid):
        u[column.place] = read_all(grid, column)[1][0].reshape(u[column.place].shape)
    by_place = data["u10"].isel(time=0).sel(latitude=grid.latitude)
    turned = [
        float(longitude[np.argmin(np.abs((longitude - wanted + 180) % 360 - 180))]) for wanted in expected
    ]
    np.testing.assert_array_equal(u, by_place.sel(longitude=turned).values)


def test_columns_share_no_chunk_and_cover_every_cell_once(tmp_path):
    data = invented_grid(hours=48, latitude=np.arange(60.0, 30.0, -1), longitude=np.arange(0.0, 47.0))
    data.to_zarr(
        tmp_path / "g.zarr", consolidated=False, encoding={n: {"chunks": (24, 8, 10)} for n in data.data_vars}
    )
    grid = open_region(tmp_path / "g.zarr", bbox=(3, 33, 44, 58))
    seen = np.zeros((grid.latitude.size, grid.longitude.size), int)
    owner: dict[tuple, int] = {}
    for column in columns_of(grid):
        seen[column.place] += 1
        for y in range(column.rows.start // 8, -(-column.rows.stop // 8)):
            for x in range(column.columns.start // 10, -(-column.columns.stop // 10)):
                assert owner.setdefault((y, x), column.number) == column.number
        assert stretch_of(grid, column) <= 48
    assert np.all(seen == 1)


def refused(tmp_path, data: xr.Dataset, **more) -> str:
    path = tmp_path / f"refused-{len(list(tmp_path.iterdir()))}.nc"
    data.to_netcdf(path, engine="h5netcdf")
    with pytest.raises(RefusalError) as refusal:
        open_region(path, **more)
    return str(refusal.value)


def test_bad_grids_are_refused_by_name(tmp_path):
    data = invented_grid(hours=24 * 5)
    assert "u10, v10" in refused(tmp_path, data.drop_vars("tp"))
    assert "tp, v10" in refused(tmp_path, data.drop_vars("u10")[["tp", "v10"]])
    bare = data.copy()
    bare["tp"] = data["tp"].assign_attrs(units="")
    assert "tp declares no unit" in refused(tmp_path, bare)
    foreign = data.copy()
    foreign["u10"] = data["u10"].assign_attrs(units="parsec")
    assert "parsec" in refused(tmp_path, foreign)
    assert "time steps are 3 h" in refused(tmp_path, data.isel(time=slice(None, None, 3)))
    rotated = data.rename(latitude="rlat", longitude="rlon")
    assert "turned or projected" in refused(tmp_path, rotated)
    field = (("latitude", "longitude"), np.zeros((5, 4)))
    curved = data.drop_vars(["latitude", "longitude"]).assign_coords(lat=field, lon=field)
    assert "curvilinear" in refused(tmp_path, curved)
    assert "one point" in refused(tmp_path, data.isel(latitude=0, longitude=0))
    assert "no cell" in refused(tmp_path, data, bbox=(100, 10, 110, 20))
    assert "no hour of the grid" in refused(tmp_path, data, years=(1950, 1960))
    assert "south below north" in refused(tmp_path, data, bbox=(0, 60, 10, 50))
    total = data.copy()
    total["tp"] = data["tp"].groupby("time.date").cumsum().transpose("time", ...).assign_attrs(units="m")
    shifted = total.assign_coords(time=total["time"] + np.timedelta64(1, "h"))
    assert "running total" in refused(tmp_path, shifted)


def test_overlapping_and_differing_files_are_refused(tmp_path):
    data = invented_grid(hours=24 * 10)
    data.isel(time=slice(0, 130)).to_netcdf(tmp_path / "a.nc", engine="h5netcdf")
    data.isel(time=slice(120, 240)).to_netcdf(tmp_path / "b.nc", engine="h5netcdf")
    with pytest.raises(RefusalError, match=r"a\.nc and b\.nc overlap"):
        open_region(tmp_path)
    data.isel(time=slice(130, 240), latitude=slice(1, None)).to_netcdf(tmp_path / "b.nc", engine="h5netcdf")
    with pytest.raises(RefusalError, match="different grids"):
        open_region(tmp_path)
    with pytest.raises(RefusalError, match="no file matches"):
        open_region(tmp_path / "*.grib")


def test_a_remote_store_is_read_through_fsspec(tmp_path):
    import fsspec

    data = invented_grid(hours=100)
    local = tmp_path / "g.zarr"
    data.to_zarr(local, zarr_format=3, consolidated=True)
    memory = fsspec.filesystem("memory")
    memory.put(str(local), "/region-test.zarr", recursive=True)
    try:
        grid = open_region("memory://region-test.zarr")
        np.testing.assert_array_equal(read_all(grid)[1], data["u10"].values.reshape(100, -1))
    finally:
        memory.rm("/region-test.zarr", recursive=True)
