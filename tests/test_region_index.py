"""A grid taken end to end: against the plain form, through kill and resume, update, damage, and out to files."""

import errno
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rasterio
import xarray as xr
from builders import climate_of

from exposure.checks import RefusalError
from exposure.cli import main
from exposure.doubts import flags_of
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.rain.index import airfield_index, compass_orientations
from exposure.region import checkpoint, column_pass
from exposure.region.region_index import index_region

YEARS = ("2010-01-01T00", "2012-12-31T23")
LATITUDE, LONGITUDE = [52.0, 51.5, 51.0, 50.5], [-1.0, -0.5, 0.0, 0.5, 1.0, 1.5]
CHUNKS = (2000, 2, 3)
VARIABLES = ("u10", "v10", "tp")


def invented_grid(start=YEARS[0], end=YEARS[1], seed=1) -> xr.Dataset:
    """Three invented years on 4 x 6 cells, with a sea cell, a cell of two years, one with a gap of 120 h, and missing hours."""
    time = pd.date_range(start, end, freq="h")
    hours = (time - pd.Timestamp("2010-01-01")) // pd.Timedelta("1h")
    rng = np.random.default_rng([seed, int(hours[0])])
    shape = (time.size, len(LATITUDE), len(LONGITUDE))
    spell = np.repeat(rng.random((time.size // 24 + 1, *shape[1:])), 24, axis=0)[: time.size]
    rain = np.where(rng.random(shape) < 0.2 * spell, rng.gamma(0.7, 0.0015, shape), 0.0)
    east, north = rng.normal(3, 4, shape), rng.normal(1, 4, shape)
    rain[:, 0, 0] = np.nan
    rain[(time.year == 2010) & (time.month < 4), 1, 1] = np.nan
    rain[(time.year == 2011) & (time.month == 6) & (time.day < 6), 2, 2] = np.nan
    east[rng.random(shape) < 0.02] = np.nan
    axes = ("time", "latitude", "longitude")
    fields = {"u10": (east, "m s**-1"), "v10": (north, "m s**-1"), "tp": (rain, "m")}
    return xr.Dataset(
        {name: (axes, value.astype(np.float32), {"units": unit}) for name, (value, unit) in fields.items()},
        {"time": time, "latitude": LATITUDE, "longitude": LONGITUDE},
        {"source": "invented hours for a test", "licence": "CC0", "kind": "reanalysis"},
    )


def store(data: xr.Dataset, path: Path) -> Path:
    data.to_zarr(path, zarr_format=3, encoding={name: {"chunks": CHUNKS} for name in VARIABLES})
    return path


def opened(path: Path) -> xr.Dataset:
    with xr.open_zarr(path, chunks=None) as index:
        return index.load()


def assert_same_bits(one: Path, other: Path) -> None:
    a, b = opened(one), opened(other)
    xr.testing.assert_identical(a.drop_attrs(), b.drop_attrs())
    assert list(a) == list(b)


@pytest.fixture
def small_columns(monkeypatch):
    """Columns of one chunk, 2 x 3 cells: four of them."""
    monkeypatch.setattr(column_pass, "CELLS_OF_A_COLUMN", 6)


@pytest.fixture(scope="module")
def data() -> xr.Dataset:
    return invented_grid()


@pytest.fixture(scope="module")
def grid(tmp_path_factory, data) -> Path:
    return store(data, tmp_path_factory.mktemp("grid") / "grid.zarr")


@pytest.fixture(scope="module")
def result(tmp_path_factory, grid) -> Path:
    """The undisturbed result the others are compared with."""
    return index_region(grid, tmp_path_factory.mktemp("result"), orientations=12, progress=False, netcdf=True)


def plain(data: xr.Dataset, row: int, column: int, **more) -> xr.Dataset:
    cell = data.isel(latitude=row, longitude=column)
    east, north = cell["u10"].values.astype(float), cell["v10"].values.astype(float)
    climate = climate_of(
        cell["time"].values,
        rain=(cell["tp"].values * np.float32(1000)).astype(float),
        wind_speed=np.hypot(east, north),
        wind_from_direction=np.degrees(np.arctan2(-east, -north)) % 360,
        kind="reanalysis",
    )
    return airfield_index(climate, orientation=compass_orientations(12), **more)


def test_every_cell_is_that_of_the_plain_form(data, result):
    index = opened(result)
    assert index["airfield_spell_index"].dims == ("orientation", "latitude", "longitude")
    for row in range(len(LATITUDE)):
        for column in range(len(LONGITUDE)):
            here = index.isel(latitude=row, longitude=column)
            if (row, column) == (0, 0):  # the sea cell
                assert here["airfield_annual_index"].isnull().all()
                assert np.isnan(here["worst_orientation"])
                assert (here["coverage"] == 0).all()
                continue
            expected = plain(data, row, column)
            counted = here["year"].isin(expected["year"]).values
            assert list(here["year"].values[counted]) == list(expected["year"].values)
            for name in ("yearly_annual_index", "yearly_spell_maximum"):
                values = here[name].transpose("year", "orientation").values
                assert np.isnan(values[~counted]).all()
                np.testing.assert_allclose(values[counted], expected[name].values, rtol=2e-5)
            for name in (
                "airfield_annual_index",
                "airfield_spell_index",
                "airfield_spell_index_percentile",
                "airfield_spell_index_gumbel",
            ):
                np.testing.assert_allclose(here[name], expected[name], rtol=2e-5)
            for name in ("coverage", "hours_scaling", "rain_scaling"):
                values = here[name].values
                np.testing.assert_allclose(values[np.isfinite(values)], expected[name].values, rtol=1e-6)
            assert float(here["worst_orientation"]) == float(
                expected["orientation"][int(np.argmax(expected["airfield_spell_index"].values))]
            )


def test_the_dataset_tells_method_units_source_and_doubts(result):
    index = opened(result)
    assert index.attrs["Conventions"].startswith("CF-1")
    assert "ISO 15927-3:2009" in index.attrs["method"]
    assert "not checked" in index.attrs["method"]
    assert "invented hours for a test" in index.attrs["source"]
    assert index.attrs["licence"] == "CC0"
    assert index.attrs["wet_hour_mm"] == 0.1
    flags = " ".join(flags_of(index.attrs))
    assert "23 of 24 cells fewer than 10 years" in flags
    assert "local codes" in flags
    assert "In 1 of 24 cells a year that counts has a run of 96 h or more" in flags
    assert index["airfield_annual_index"].attrs["units"] == "L m-2 year-1"
    assert index["latitude"].attrs["units"] == "degrees_north"
    with xr.open_dataset(result.parent / "index.nc", engine="h5netcdf") as netcdf:
        for name in index.data_vars:
            np.testing.assert_array_equal(netcdf[name].values, index[name].values)


def test_geotiffs_hold_the_worst_facing_values_where_they_belong(result):
    index = opened(result)
    for file, name in (
        ("worst_spell_index.tif", "airfield_spell_index"),
        ("worst_annual_index.tif", "airfield_annual_index"),
    ):
        with rasterio.open(result.parent / file) as tiff:
            assert tiff.crs.to_epsg() == 4326
            assert tuple(tiff.bounds) == pytest.approx((-1.25, 50.25, 1.75, 52.25))
            assert tiff.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
            np.testing.assert_array_equal(tiff.read(1), index[name].max("orientation").values)
            value = next(tiff.sample([(0.6, 51.1)]))[0]
            assert value == index[name].sel(latitude=51.1, longitude=0.6, method="nearest").max()


def test_files_along_time_give_the_same_result(tmp_path, data, result):
    folder = tmp_path / "files"
    folder.mkdir()
    for year, part in data.groupby("time.year"):
        encoding = {name: {"zlib": True, "shuffle": True, "chunksizes": CHUNKS} for name in VARIABLES}
        part.to_netcdf(folder / f"{year}.nc", engine="h5netcdf", encoding=encoding)
    found = index_region(folder, tmp_path / "out", orientations=12, progress=False)
    assert_same_bits(found, result)


def test_box_and_years_cut_the_result(tmp_path, grid, result):
    found = opened(
        index_region(
            grid, tmp_path, orientations=12, bbox=(-0.6, 50.9, 1.1, 51.6), years=(2011, 2012), progress=False
        )
    )
    whole = opened(result).sel(latitude=[51.5, 51.0], longitude=[-0.5, 0.0, 0.5, 1.0])
    assert list(found["record_year"].values) == [2011, 2012]
    np.testing.assert_array_equal(found["latitude"], whole["latitude"])
    np.testing.assert_array_equal(
        found["yearly_annual_index"].sel(year=2012), whole["yearly_annual_index"].sel(year=2012)
    )


STOPPABLE = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell in the background hands on deaf ears
from exposure.region import checkpoint, column_pass
from exposure.region.region_index import index_region
from exposure.region.weather_block import WeatherReader
column_pass.CELLS_OF_A_COLUMN = 6
read = WeatherReader.read
def slowly(self, hours):
    time.sleep(0.1)
    return read(self, hours)
WeatherReader.read = slowly
print("go", flush=True)
try:
    index_region(sys.argv[1], sys.argv[2], orientations=12, progress=False, threads=2, checkpoint_seconds=0.0)
except KeyboardInterrupt:
    sys.exit(130)
"""


@pytest.mark.slow
@pytest.mark.parametrize("blow", [signal.SIGKILL, signal.SIGINT])
def test_stopped_at_any_moment_it_goes_on_to_the_same_bits(tmp_path, grid, result, blow, small_columns):
    out = tmp_path / "out"
    kept: list[int] = []
    for states in (1, 3):  # a blow after the first column kept something, and another later
        process = subprocess.Popen(
            [sys.executable, "-c", STOPPABLE, str(grid), str(out)], stdout=subprocess.PIPE, text=True
        )
        assert process.stdout.readline() == "go\n"
        until = time.monotonic() + 60
        while len(list(out.glob("work/column-*/state.npz"))) < states and time.monotonic() < until:
            time.sleep(0.02)
        time.sleep(0.25)
        process.send_signal(blow)
        assert process.wait(60) == (-signal.SIGKILL if blow == signal.SIGKILL else 130)
        kept.append(len(list(out.glob("work/column-*/state.npz"))))
    assert kept[0] < 4  # the first blow fell before every column had begun
    assert not (out / "index.zarr").exists()
    found = index_region(grid, out, orientations=12, progress=False)
    assert_same_bits(found, result)
    assert not list(out.rglob("*.part*"))


def test_what_a_killed_run_left_is_cleared(tmp_path, grid, result):
    out = tmp_path / "out"
    index_region(grid, out, orientations=12, progress=False)
    shutil.rmtree(out / "index.zarr")
    (out / ".index.zarr.1.part" / "rain").mkdir(parents=True)
    (out / ".index.zarr.1.old").mkdir()
    (out / ".worst_spell_index.tif.1.part.tif").write_bytes(b"half")
    (out / "work" / ".run.json.1.part").write_bytes(b"half")
    assert_same_bits(index_region(grid, out, orientations=12, progress=False), result)
    assert not [path for path in out.rglob(".*.1.*")]


def test_years_written_after_the_state_are_worked_out_again(tmp_path, grid, result):
    """The moment between writing a year and writing the state: years on disk run ahead of the state."""
    out = tmp_path / "out"
    index_region(grid, out, orientations=12, years=(2010, 2010), progress=False)
    states = {path.parent.name: path.read_bytes() for path in out.glob("work/column-*/state.npz")}
    index_region(grid, out, orientations=12, update=True, progress=False)
    for name, state in states.items():
        (out / "work" / name / "state.npz").write_bytes(state)
        spoilt = out / "work" / name / "2011-walls.npy"
        assert spoilt.is_file()
        spoilt.write_bytes(b"half a year")
    found = index_region(grid, out, orientations=12, progress=False)
    assert_same_bits(found, result)


def test_update_adds_a_year_without_reading_the_old_ones(tmp_path, data, grid, result):
    out = tmp_path / "out"
    old = store(data.sel(time=slice("2010", "2011")), tmp_path / "old.zarr")
    before = opened(index_region(old, out, orientations=12, progress=False))
    assert list(before["record_year"].values) == [2010, 2011]
    new = store(data.sel(time="2012"), tmp_path / "new.zarr")
    for path in old.rglob("c/*"):  # the old hours can no longer be read
        if path.is_file():
            path.write_bytes(b"gone")
    found = index_region(new, out, orientations=12, update=True, progress=False)
    assert_same_bits(found, result)
    with pytest.raises(RefusalError, match="no hour after"):
        index_region(new, out, orientations=12, update=True, progress=False)


def test_update_of_accumulated_rain_carries_the_last_total(tmp_path, data):
    """ERA5-Land: the 00 stamp of 1 January holds the whole of 31 December."""
    whole = data.isel(latitude=[2, 3], longitude=[3, 4]).copy(deep=True)
    hour = whole["time"].dt.hour.values
    totals = np.array(whole["tp"].values, dtype=np.float64)
    for i in range(1, totals.shape[0]):
        if hour[i] != 1:
            totals[i] += totals[i - 1]
    whole["tp"].values[:] = totals
    whole.attrs["title"] = "ERA5-Land"
    chunks = {name: {"chunks": (2000, 2, 2)} for name in VARIABLES}
    for name, part in (("all", slice(None)), ("old", slice("2010", "2011")), ("new", slice("2012", "2012"))):
        whole.sel(time=part).to_zarr(tmp_path / f"{name}.zarr", encoding=chunks)
    once = index_region(tmp_path / "all.zarr", tmp_path / "once", orientations=8, progress=False)
    index_region(tmp_path / "old.zarr", tmp_path / "twice", orientations=8, progress=False)
    twice = index_region(
        tmp_path / "new.zarr", tmp_path / "twice", orientations=8, update=True, progress=False
    )
    assert_same_bits(twice, once)
    hourly = index_region(
        store_of(tmp_path, data.isel(latitude=[2, 3], longitude=[3, 4])),
        tmp_path / "hourly",
        orientations=8,
        progress=False,
    )
    np.testing.assert_allclose(
        opened(once)["airfield_annual_index"], opened(hourly)["airfield_annual_index"], rtol=1e-3
    )


def store_of(folder: Path, data: xr.Dataset) -> Path:
    path = folder / "hourly.zarr"
    data.to_zarr(path, encoding={name: {"chunks": (2000, 2, 2)} for name in VARIABLES})
    return path


def test_another_configuration_is_refused_and_says_which(tmp_path, data, grid, result):
    out = tmp_path / "out"
    index_region(grid, out, orientations=12, progress=False)
    for change, words in (
        ({"orientations": 8}, "number of orientations 12, not 8"),
        ({"wet_hour": 0.2}, "wet-hour threshold 0.1, not 0.2"),
        ({"bbox": (-1, 50, 1, 52)}, "the box None"),
        ({"years": (2010, 2011)}, "the years None"),
    ):
        with pytest.raises(RefusalError, match=words):
            index_region(grid, out, **{"orientations": 12, **change}, progress=False)
    other = store(data.isel(latitude=slice(1, None)), tmp_path / "other.zarr")
    with pytest.raises(RefusalError, match="the grid"):
        index_region(other, out, orientations=12, progress=False)
    assert_same_bits(out / "index.zarr", result)
    with pytest.raises(RefusalError, match="no result to update"):
        index_region(grid, tmp_path / "nothing", orientations=12, update=True, progress=False)


def test_a_truncated_chunk_is_named_and_nothing_finished_is_lost(tmp_path, data, result, small_columns):
    path = store(data, tmp_path / "grid.zarr")
    chunk = path / "tp" / "c" / "3" / "1" / "1"
    whole = chunk.read_bytes()
    chunk.write_bytes(whole[: len(whole) // 2])
    out = tmp_path / "out"
    with pytest.raises(RefusalError, match=r"tp/c/3/1/1 .* cannot be read"):
        index_region(path, out, orientations=12, progress=False, threads=1)
    finished = {p: p.stat().st_mtime_ns for p in out.glob("work/column-0000[0-2]/state.npz")}
    assert len(finished) == 3
    chunk.write_bytes(whole)
    found = index_region(path, out, orientations=12, progress=False, threads=1)
    assert {p: p.stat().st_mtime_ns for p in finished} == finished
    xr.testing.assert_equal(opened(found), opened(result))


def test_a_truncated_netcdf_chunk_is_named(tmp_path, data):
    encoding = {name: {"zlib": True, "shuffle": True, "chunksizes": CHUNKS} for name in VARIABLES}
    path = tmp_path / "grid.nc"
    data.to_netcdf(path, engine="h5netcdf", encoding=encoding)
    import h5py

    with h5py.File(path) as file:
        where = file["tp"].id.get_chunk_info_by_coord((4000, 2, 3))
    with path.open("r+b") as file:
        file.seek(where.byte_offset)
        file.write(b"\0" * 40)
    with pytest.raises(RefusalError, match=r"the chunk of tp at \(4000, 2, 3\) in grid.nc"):
        index_region(path, tmp_path / "out", orientations=12, progress=False)


def test_a_full_disk_is_told_and_leaves_the_checkpoint(tmp_path, grid, result, monkeypatch, small_columns):
    out = tmp_path / "out"
    fill, calls = checkpoint.filled_in_place, []

    def full(path):
        calls.append(1)
        if len(calls) > 9:
            raise OSError(errno.ENOSPC, "No space left on device")
        return fill(path)

    monkeypatch.setattr(checkpoint, "filled_in_place", full)
    with pytest.raises(RefusalError, match="No space left on device"):
        index_region(grid, out, orientations=12, progress=False, threads=1, checkpoint_seconds=0.0)
    monkeypatch.setattr(checkpoint, "filled_in_place", fill)
    assert list(out.glob("work/column-*/state.npz"))
    assert not list(out.rglob("*.part*"))
    assert_same_bits(index_region(grid, out, orientations=12, progress=False), result)


def test_a_limit_of_the_system_on_file_size_is_told(tmp_path, grid):
    """The real thing, as near as a test gets without filling a disk: the system refuses to write on."""
    code = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "from exposure.cli import main; resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000));"
        "sys.exit(main(['map', sys.argv[1], '--out', sys.argv[2], '--orientations', '12']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(grid), str(tmp_path / "out")],
        capture_output=True,
        text=True,
        env={**os.environ, "NUMBA_DISABLE_JIT": "0"},
        check=False,
    )
    assert done.returncode == 2, done.stderr[-500:]
    assert "cannot be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_sector_weights_give_the_wall_index_before_shelter(tmp_path, data, grid, result):
    rng = np.random.default_rng(2)
    axes = ("latitude", "longitude", "terrain_sector")
    place = {"latitude": LATITUDE, "longitude": LONGITUDE}
    values = rng.uniform(0.5, 1.4, (4, 6, TERRAIN_SECTORS)).astype(np.float32)
    index = opened(
        index_region(
            grid,
            tmp_path / "varied",
            orientations=12,
            sector_weight=xr.DataArray(values, place, axes),
            progress=False,
        )
    )
    for row, column in ((0, 1), (2, 4), (3, 5)):
        expected = plain(data, row, column, sector_weight=values[row, column].astype(float))
        here = index.isel(latitude=row, longitude=column)
        for name in ("airfield_annual_index", "airfield_spell_index"):
            np.testing.assert_allclose(here[name], expected[name], rtol=2e-5)
    assert "before shelter" in " ".join(flags_of(index.attrs))
    even = xr.DataArray(np.full(values.shape, 0.5, np.float32), place, axes)
    half = opened(index_region(grid, tmp_path / "even", orientations=12, sector_weight=even, progress=False))
    np.testing.assert_allclose(
        half["airfield_spell_index"], 0.5 * opened(result)["airfield_spell_index"], rtol=1e-6
    )
    with pytest.raises(RefusalError, match="other cells"):
        index_region(grid, tmp_path / "bad", orientations=12, sector_weight=even[:3], progress=False)


def test_threads_inside_a_column_give_the_same_bits(tmp_path, data, result, monkeypatch):
    from exposure.rain import streaming

    monkeypatch.setattr(streaming, "TILE", 5)
    path = tmp_path / "one.zarr"
    data.to_zarr(path, encoding={name: {"chunks": (2000, 4, 6)} for name in VARIABLES})
    found = index_region(path, tmp_path / "out", orientations=12, progress=False, threads=3)
    assert_same_bits(found, result)


def test_poles_are_left_empty(tmp_path, data):
    polar = data.assign_coords(latitude=[90.0, 89.5, 89.0, 88.5])
    index = opened(
        index_region(store(polar, tmp_path / "g.zarr"), tmp_path / "out", orientations=4, progress=False)
    )
    assert index["airfield_annual_index"].sel(latitude=90.0).isnull().all()
    assert index["airfield_annual_index"].sel(latitude=89.5).notnull().all()
    assert "pole" in " ".join(flags_of(index.attrs))


def test_the_real_format_runs_when_hourly_and_is_refused_as_it_is(tmp_path, shared_data, capsys):
    sample = shared_data / "era5_europe_1deg_24steps.nc"
    assert main(["map", str(sample), "--out", str(tmp_path / "no")]) == 2
    assert "time steps are 7 h" in capsys.readouterr().err
    with xr.open_dataset(sample, engine="h5netcdf") as real:
        repeated = xr.concat([real] * 366, "time")
        hourly = repeated.assign_coords(
            time=pd.date_range("2012-01-01", periods=repeated.sizes["time"], freq="h")
        )
        hourly = hourly.isel(latitude=slice(10, 16), longitude=slice(20, 28))
        hourly.drop_encoding().to_netcdf(tmp_path / "hourly.nc", engine="h5netcdf")
    assert (
        main(["map", str(tmp_path / "hourly.nc"), "--out", str(tmp_path / "yes"), "--orientations", "8"]) == 0
    )
    index = opened(tmp_path / "yes" / "index.zarr")
    # one day repeated 366 times: by hand from its own 24 hours, wherever no spell ends for 96 h
    cell = hourly.isel(latitude=2, longitude=3, time=slice(0, 24))
    rain = cell["tp"].values.astype(float) * 1000
    speed = np.hypot(cell["u10"], cell["v10"]).values.astype(float)
    amount = 2 / 9 * speed * np.maximum(rain, 0) ** (8 / 9)
    counted = (rain >= 0.1 - 1e-4) & (amount >= 0.001)
    direction = np.arctan2(-cell["u10"], -cell["v10"]).values
    for i, facing in enumerate(np.deg2rad(index["orientation"].values)):
        share = (amount * np.maximum(np.cos(direction - facing), 0))[counted].sum() * 366
        got = float(index["airfield_annual_index"].isel(latitude=2, longitude=3, orientation=i))
        assert got == pytest.approx(share, rel=1e-4, abs=1e-3)
        assert float(
            index["airfield_spell_index"].isel(latitude=2, longitude=3, orientation=i)
        ) == pytest.approx(share, rel=1e-4, abs=1e-3)


def lines_lie_on_their_figure(path, result):
    """Each line's figure is the field read there by scipy: on a cell's edge both take it even from corner to corner."""
    import geopandas
    from scipy.interpolate import RegularGridInterpolator

    with xr.open_zarr(result, chunks=None) as index:
        for layer, name in (("annual", "airfield_annual_index"), ("spell", "airfield_spell_index")):
            worst = index[name].max("orientation", skipna=True).sortby("latitude")
            field = RegularGridInterpolator((worst.latitude.values, worst.longitude.values), worst.values)
            lines = geopandas.read_file(path, layer=layer)
            assert lines.crs.to_epsg() == 4326
            assert set(lines.geom_type) == {"LineString"}
            assert lines["value"].nunique() >= 3
            points = lines.get_coordinates()
            found = field((points["y"], points["x"]))
            known = np.isfinite(
                found
            )  # scipy asks all four cells round a point on an edge, one of which may be the sea
            assert known.mean() > 0.7
            np.testing.assert_allclose(found[known], lines["value"][points.index][known], rtol=1e-5)


def test_the_command_writes_dataset_maps_and_page(tmp_path, grid, result, capsys):
    out = tmp_path / "out"
    assert (
        main(
            ["map", str(grid), "--out", str(out), "--orientations", "12", "--json", str(tmp_path / "s.json")]
        )
        == 0
    )
    said = capsys.readouterr().out
    assert "23 of 24 cells, 12 orientations" in said
    assert "local codes" in said
    summary = json.loads((tmp_path / "s.json").read_text())
    assert summary["cells_with_result"] == 23
    assert_same_bits(out / "index.zarr", result)
    page = (out / "map.html").read_text("utf-8")
    assert page.startswith("<!")
    assert "http://" not in page.replace("http://www.w3.org", "")
    lines_lie_on_their_figure(out / "contours.gpkg", result)
    assert main(["map", str(grid), "--out", str(out), "--orientations", "10"]) == 2
    assert "multiple of 4" in capsys.readouterr().err
    assert main(["map", str(tmp_path / "none.nc"), "--out", str(out)]) == 2


def test_one_place_loads_no_compiler():
    code = (
        "import sys, exposure, exposure.rain.index, exposure.cli.site_command, exposure.climate;"
        "print('numba' in sys.modules or 'llvmlite' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
