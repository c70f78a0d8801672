"""Grids whose rain or wind is not what it seems: refused or right, and the same by every way in.

One invented year on 6 x 8 cells, sea without values in the west; the truth is the index of its hours before any trap.
"""

import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from builders import climate_of

from exposure import airfield_index, open_climate
from exposure.checks import RefusalError
from exposure.climate.grid_cells import GridCells
from exposure.climate.request import Request
from exposure.doubts import Doubt, flags_of, has_doubt
from exposure.rain.index import compass_orientations
from exposure.region.region_index import index_region

LATITUDE, LONGITUDE = 58.0 - 0.25 * np.arange(6), 11.0 + 0.25 * np.arange(8)
SEA = 3  # columns in the west
ROW, COLUMN = 2, 6
AT = (float(LATITUDE[ROW]), float(LONGITUDE[COLUMN]))
TIME = pd.date_range("2003-01-01T01:00", "2004-01-01T00:00", freq="h")
WAYS = compass_orientations(12)
INDICES = ("airfield_annual_index", "airfield_spell_index")


def hours_of_rain(seed: int = 7) -> np.ndarray:
    """Rain of each hour [mm] on each cell: fronts of half a day, growing and easing, everywhere in the year."""
    rng = np.random.default_rng(seed)
    front = np.repeat(rng.random(TIME.size // 12 + 1) < 0.3, 12)[: TIME.size]
    shape = (TIME.size, LATITUDE.size, LONGITUDE.size)
    return np.where(front[:, None, None], rng.gamma(0.8, 0.9, shape), 0.0).round(3)


def wind() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(8)
    shape = (TIME.size, LATITUDE.size, LONGITUDE.size)
    return rng.normal(4, 4, shape), rng.normal(2, 4, shape)


RAIN = hours_of_rain()
EAST, NORTH = wind()


def grid_of(rain: np.ndarray, *, sea: bool = True, unit: str = "mm", **attrs: str) -> xr.Dataset:
    fields = {"u10": (EAST, "m s**-1"), "v10": (NORTH, "m s**-1"), "tp": (rain, unit)}
    axes = ("time", "latitude", "longitude")
    data = {}
    for name, (values, units) in fields.items():
        values = np.array(values, dtype=np.float32)
        if sea:
            values[:, :, :SEA] = np.nan
        data[name] = (axes, values, {"units": units})
    return xr.Dataset(
        data,
        {"time": TIME, "latitude": LATITUDE, "longitude": LONGITUDE},
        {"source": "invented", "kind": "reanalysis", **attrs},
    )


def totals(rain: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """Running totals by a loop of its own; ``starts`` marks the hours that begin one."""
    out = np.zeros_like(rain)
    for i in range(rain.shape[0]):
        out[i] = rain[i] + (0 if starts[i] or i == 0 else out[i - 1])
    return out


def stored(data: xr.Dataset, folder: Path, form: str = "netcdf") -> Path:
    if form == "netcdf":
        path = folder / "grid.nc"
        chunks = {
            name: {"chunksizes": (744, 6, 8), "zlib": True} for name in data.data_vars if data[name].ndim == 3
        }
        data.to_netcdf(path, engine="h5netcdf", encoding=chunks)
        return path
    path = folder / "grid.zarr"
    data.to_zarr(
        path, encoding={name: {"chunks": (168, 6, 8)} for name in data.data_vars if data[name].ndim == 3}
    )
    return path


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A grid is written once, whichever ways read it; none of them writes into its folder."""
    made: dict[str, Path] = {}

    def once(name: str, write: Callable[[Path], Path]) -> Path:
        if name not in made:
            made[name] = write(tmp_path_factory.mktemp("grid"))
        return made[name]

    return once


def index_of(climate: xr.Dataset) -> dict[str, float]:
    index = airfield_index(climate, orientation=WAYS)
    return {name: float(index[name].max()) for name in INDICES}


def by_site(path: Path, folder: Path, **told):
    climate = open_climate(path, at=AT, **told)
    return index_of(climate), climate.attrs["flags"]


def by_page(path: Path, folder: Path, **told):
    """As the page reads an upload: the bytes; a store of many files goes in as the folder it is."""
    climate = open_climate(path.read_bytes() if path.is_file() else path, at=AT, **told)
    return index_of(climate), climate.attrs["flags"]


def by_compare(path: Path, folder: Path, **told):
    cells = GridCells(path, Request(**told))
    wanted = [cells.find(AT), cells.find((float(LATITUDE[0]), float(LONGITUDE[4])))]
    room = folder / "cells"
    room.mkdir()
    cells.gather(wanted, room)
    climate = cells.read(wanted[0])
    return index_of(climate), climate.attrs["flags"]


def by_map(path: Path, folder: Path, **told):
    out = index_region(path, folder / "out", orientations=12, progress=False, threads=1, **told)
    with xr.open_zarr(out, chunks=None) as index:
        here = index.isel(latitude=ROW, longitude=COLUMN)
        return {name: float(here[name].max()) for name in INDICES}, flags_of(index.attrs)


WAYS_IN = {"site": by_site, "page": by_page, "compare": by_compare, "map": by_map}


def truth(rain: np.ndarray = RAIN, factor: float = 1.0) -> dict[str, float]:
    """The index of the cell from its hours themselves; no grid is written or read."""
    east, north = (np.float32(part[:, ROW, COLUMN]).astype(float) * factor for part in (EAST, NORTH))
    climate = climate_of(
        TIME,
        rain=rain[:, ROW, COLUMN],
        wind_speed=np.hypot(east, north),
        wind_from_direction=np.degrees(np.arctan2(-east, -north)) % 360,
        kind="reanalysis",
        flags=[],
    )
    return index_of(climate)


def every(period: int) -> np.ndarray:
    return (TIME.hour.to_numpy() - 1) % period == 0


DRY_START = np.where((TIME.month == 1)[:, None, None], 0.0, RAIN)
TRAPS = {  # data, words of the refusal
    "totals since midnight, nothing said": (lambda: grid_of(totals(RAIN, every(24))), "running total"),
    "the same, a dry first month": (lambda: grid_of(totals(DRY_START, every(24))), "running total"),
    "totals since the month's start": (
        lambda: grid_of(totals(RAIN, ((TIME.day == 1) & (TIME.hour == 1)))), "running total"),
    "totals since the run's start": (lambda: grid_of(totals(RAIN, TIME[0] == TIME)), "running total"),
    "totals of 3 hours": (lambda: grid_of(totals(RAIN, every(3))), "every 3 hours"),
    "totals of 6 hours": (lambda: grid_of(totals(RAIN, every(6))), "every 6 hours"),
    "totals of 12 hours": (lambda: grid_of(totals(RAIN, every(12))), "every 12 hours"),
    "totals of 6 hours called ERA5-Land": (
        lambda: grid_of(totals(RAIN, every(6)), title="ERA5-Land"), "every 6 hours"),
    "wind at 850 hPa": (
        lambda: grid_of(RAIN).assign_coords(level=((), 850.0, {"units": "hPa"})), "lies on a level"),
    "wind at 850 hPa, a level of length one": (lambda: levelled(), "lies on a level"),
    "u at 10 m and v at 100 m": (
        lambda: named(grid_of(RAIN), {"u10": "u10", "v10": "v100"}), "winds of 10 and 100 m"),
    "rain a thousand times too much": (lambda: grid_of(RAIN * 1000), "impossible"),
    "rain of no hour": (lambda: grid_of(RAIN * 0), "rain is 0"),
}  # fmt: skip


def levelled() -> xr.Dataset:
    data = grid_of(RAIN)
    for name in ("u10", "v10"):
        data[name] = data[name].expand_dims(pressure_level=[850.0], axis=1)
    return data


def named(data: xr.Dataset, names: dict[str, str]) -> xr.Dataset:
    standard = {"u10": "eastward_wind", "v10": "northward_wind"}
    for name, word in standard.items():
        data[name].attrs["standard_name"] = word
    return data.rename({old: new for old, new in names.items() if old != new})


@pytest.mark.parametrize("way", WAYS_IN)
@pytest.mark.parametrize("trap", TRAPS)
def test_a_trap_is_refused_whichever_way_it_comes_in(tmp_path, kept, trap, way):
    make, words = TRAPS[trap]
    path = kept(trap, lambda folder: stored(make(), folder))
    with pytest.raises(RefusalError, match=words):
        WAYS_IN[way](path, tmp_path)


PLAIN = {  # data, rain of the truth, factor of the wind, key of a doubt that must be told
    "rain of each hour": (lambda: grid_of(RAIN), RAIN, 1.0, "climate.snow_in_rain"),
    "a dry first month": (lambda: grid_of(DRY_START), DRY_START, 1.0, "climate.snow_in_rain"),
    "taken apart already, called ERA5-Land": (
        lambda: grid_of(RAIN, title="ERA5-Land hourly, de-accumulated"), RAIN, 1.0, "climate.rain_already_hourly"),
    "ERA5-Land as it comes": (
        lambda: grid_of(totals(RAIN, every(24)), title="ERA5-Land"), RAIN, 1.0, "climate.rain_since_midnight"),
    "wind at 100 m under a common name": (  # ln(10/0.05) / ln(100/0.05), the law of a mast over farmland
        lambda: named(grid_of(RAIN), {"u10": "u100", "v10": "v100"}), RAIN,
        np.log(10 / 0.05) / np.log(100 / 0.05), "climate.wind_brought_to_10_m"),
    "wind of no height": (
        lambda: named(grid_of(RAIN), {"u10": "eastward", "v10": "northward"}), RAIN, 1.0,
        "climate.wind_height_assumed"),
}  # fmt: skip


RAIN_AND_WIND = {key for _, _, _, key in PLAIN.values()} | {"climate.running_total_as_told"}


@pytest.mark.parametrize("way", WAYS_IN)
@pytest.mark.parametrize("name", PLAIN)
def test_what_is_not_refused_is_right_and_says_its_doubt(tmp_path, kept, name, way):
    make, rain, factor, key = PLAIN[name]
    found, flags = WAYS_IN[way](kept(name, lambda folder: stored(make(), folder)), tmp_path)
    expected = truth(rain, factor)
    for index in INDICES:
        assert found[index] == pytest.approx(expected[index], rel=0.01)
    told = {flag.key for flag in flags if isinstance(flag, Doubt)} & RAIN_AND_WIND
    assert told == {key} | {"climate.snow_in_rain"}


@pytest.mark.parametrize("way", ["site", "map"])
def test_a_rule_told_against_the_data_is_refused(tmp_path, kept, way):
    path = kept("in chunks", lambda folder: stored(grid_of(RAIN), folder, "zarr"))
    with pytest.raises(RefusalError, match="rain of single hours"):
        WAYS_IN[way](path, tmp_path, rain_rule="since 00 UTC")
    with pytest.raises(RefusalError, match="rain rule is 'rate'"):
        WAYS_IN[way](path, tmp_path, rain_rule="rate")


@pytest.mark.parametrize("way", ["site", "map"])
def test_totals_told_to_be_hours_are_read_and_doubted(tmp_path, kept, way):
    path = kept("totals in chunks", lambda folder: stored(grid_of(totals(RAIN, every(24))), folder, "zarr"))
    _, flags = WAYS_IN[way](path, tmp_path, rain_rule="hour")
    assert has_doubt(flags, "climate.running_total_as_told")
    right, _ = WAYS_IN[way](path, tmp_path / "again", rain_rule="since 00 UTC")
    assert right["airfield_annual_index"] == pytest.approx(truth()["airfield_annual_index"], rel=0.01)


@pytest.mark.parametrize(
    ("factor", "key", "words"), [(20.0, "region.too_wet", "adds up"), (0.001, "region.too_dry", "adds up")]
)
def test_rain_no_place_has_is_told_by_map_and_site(tmp_path, factor, key, words):
    path = stored(grid_of(RAIN * factor), tmp_path)
    assert has_doubt(by_map(path, tmp_path)[1], key)
    assert any(words in flag for flag in by_site(path, tmp_path)[1])


def test_one_cell_of_impossible_hours_is_left_empty_and_told(tmp_path):
    data = grid_of(RAIN)
    data["tp"][::800, ROW, COLUMN] = 3000.0  # 11 of 8,760 hours, over one in a thousand
    path = stored(data, tmp_path)
    with pytest.raises(RefusalError, match="11 of 8,760 hours hold impossible"):
        by_site(path, tmp_path)
    found, flags = by_map(path, tmp_path)
    assert np.isnan(found["airfield_annual_index"])
    assert has_doubt(flags, "region.impossible_cells")
    with xr.open_zarr(tmp_path / "out" / "index.zarr") as index:
        assert int(index["airfield_annual_index"].notnull().any("orientation").sum()) == 6 * 5 - 1


def test_wind_that_was_not_read_for_weeks_is_no_calm(tmp_path):
    """A quarter of the year without any wind: no figure, from the map as from the site."""
    data = grid_of(RAIN)
    for name in ("u10", "v10"):
        data[name][: TIME.size // 4, ROW, COLUMN] = 0.0
    path = stored(data, tmp_path)
    with pytest.raises(RefusalError, match="wind in 76% of its rain"):
        by_site(path, tmp_path)
    found, flags = by_map(path, tmp_path)
    assert np.isnan(found["airfield_annual_index"])
    assert [flag.numbers["number"] for flag in flags if has_doubt([flag], "region.dead_cells")] == [1]


def odd_grid(what: str) -> xr.Dataset:
    """The grid with something wrong in two cells that a look at the year's sum does not show."""
    data = grid_of(RAIN)
    here = {"latitude": ROW, "longitude": slice(COLUMN, COLUMN + 2)}
    rain = data["tp"][here].values
    if what == "rain stops":
        rain[-24 * 80 :] = 0.0
    elif what == "inches":
        rain[:] = np.floor(rain / 0.254) * 0.01
        rain[np.random.default_rng(9).random(TIME.size) < 0.6] = (
            0.0  # few hours of rain, as a gauge of inches has
        )
    elif what == "stuck rain":
        rain[1005:1012] = 3.7  # over the end of a chunk of a week
    elif what == "a code":
        rain[500:2000:300] = 99.9
    elif what == "wind not read":
        for name in ("u10", "v10"):
            data[name][slice(3000, 3300), ROW, COLUMN : COLUMN + 2] = 0.0
    data["tp"][here] = rain
    return data


@pytest.mark.parametrize(
    ("what", "site", "region", "hours"),
    [
        ("rain stops", "climate.rain_stops", "region.rain_stops", {"days": 80}),
        ("inches", "climate.rain_like_inches", "region.like_inches", {}),
        ("stuck rain", "climate.rain_stuck", "region.stuck_cells", {"hours": 7}),
        ("a code", "climate.sentinels", "region.coded_cells", {"hours": 5}),
        ("wind not read", "climate.wind_dead", "region.partly_dead_cells", {"hours": 300}),
    ],
)
def test_what_the_site_doubts_the_map_doubts(tmp_path, what, site, region, hours):
    path = stored(odd_grid(what), tmp_path, "zarr")
    assert has_doubt(by_site(path, tmp_path)[1], site)
    told = [flag for flag in by_map(path, tmp_path)[1] if has_doubt([flag], region)]
    assert [flag.numbers["number"] for flag in told] == [2]
    for name, expected in hours.items():
        assert told[0].numbers[name] == pytest.approx(expected, abs=1)


def test_a_sound_grid_is_not_doubted_by_the_map(tmp_path, kept):
    _, flags = by_map(kept("in chunks", lambda folder: stored(grid_of(RAIN), folder, "zarr")), tmp_path)
    odd = (
        "rain_stops",
        "like_inches",
        "stuck_cells",
        "coded_cells",
        "partly_dead_cells",
        "dead_cells",
        "calm_cells",
    )
    assert not [flag.key for flag in flags if flag.key.removeprefix("region.") in odd]


def radians(folder: Path) -> Path:
    data = grid_of(RAIN, sea=False).drop_vars(["u10", "v10"])
    axes = ("time", "latitude", "longitude")
    data["si10"] = (axes, np.hypot(EAST, NORTH), {"units": "m s-1", "standard_name": "wind_speed"})
    turn = np.arctan2(-EAST, -NORTH) % (2 * np.pi)
    data["wdir"] = (axes, turn, {"units": "degree", "standard_name": "wind_from_direction"})
    return stored(data, folder)


@pytest.mark.parametrize("way", WAYS_IN)
def test_directions_in_radians_are_refused(tmp_path, kept, way):
    with pytest.raises(RefusalError, match="look like radian"):
        WAYS_IN[way](kept("radians", radians), tmp_path)


def test_a_wet_hour_nobody_has_is_refused(tmp_path):
    with pytest.raises(RefusalError, match="wet-hour threshold is 99"):
        index_region(stored(grid_of(RAIN), tmp_path), tmp_path / "out", wet_hour=99, progress=False)


def half_written(folder: Path) -> Path:
    import h5py

    path = stored(grid_of(RAIN, sea=False), folder)
    with h5py.File(path, "r+") as file:  # the same rain, but the second half of it never written
        rain = file["tp"][:]
        attrs, scales = dict(file["tp"].attrs), [file[name] for name in ("time", "latitude", "longitude")]
        del file["tp"]
        tp = file.create_dataset("tp", rain.shape, np.float32, chunks=(744, 6, 8))
        tp.attrs["units"] = attrs["units"]
        for k, scale in enumerate(scales):
            tp.dims[k].attach_scale(scale)
        tp[: 744 * 6] = rain[: 744 * 6]
    return path


@pytest.mark.parametrize("way", WAYS_IN)
def test_chunks_never_written_are_refused(tmp_path, kept, way):
    path = kept("half written", half_written)
    with pytest.raises(RefusalError, match="6 of 12 chunks of tp were never written"):
        WAYS_IN[way](path, tmp_path)


def in_pieces(split: str, folder: Path) -> Path:
    data = grid_of(RAIN).drop_encoding()
    half = TIME.size // 2
    pieces = {
        "a file a variable": {"u": data[["u10"]], "v": data[["v10"]], "pr": data[["tp"]]},
        "instant and accum": {"instant": data[["u10", "v10"]], "accum": data[["tp"]]},
        "a file a variable and half year": {
            "u1": data[["u10"]].isel(time=slice(0, half)), "u2": data[["u10"]].isel(time=slice(half, None)),
            "v": data[["v10"]], "pr": data[["tp"]],
        },
    }[split]  # fmt: skip
    for name, piece in pieces.items():
        piece.to_netcdf(folder / f"{name}.nc", engine="h5netcdf")
    (xr.Dataset({"orography": data["tp"].isel(time=0, drop=True)})).to_netcdf(
        folder / "z.nc", engine="h5netcdf"
    )
    return folder


@pytest.mark.parametrize("way", WAYS_IN)
@pytest.mark.parametrize(
    "split", ["a file a variable", "instant and accum", "a file a variable and half year"]
)
def test_wind_and_rain_in_files_of_their_own(tmp_path, kept, way, split):
    """As climate models and downloads come: joined by their hours, hours that only some hold left out."""
    path = folder = kept(split, lambda room: in_pieces(split, room))
    if way == "page":  # what is uploaded is a zip
        path = tmp_path / "files.zip"
        with zipfile.ZipFile(path, "w") as archive:
            for file in sorted(folder.iterdir()):
                archive.write(file, file.name)
    found, _ = WAYS_IN[way](path, tmp_path)
    for index in INDICES:
        assert found[index] == pytest.approx(truth()[index], rel=0.01)


def test_files_of_wind_and_rain_that_share_no_hour_are_refused(tmp_path):
    data = grid_of(RAIN)
    data[["u10", "v10"]].isel(time=slice(0, 4000)).to_netcdf(tmp_path / "wind.nc", engine="h5netcdf")
    data[["tp"]].isel(time=slice(4000, None)).to_netcdf(tmp_path / "rain.nc", engine="h5netcdf")
    with pytest.raises(RefusalError, match="share no hour"):
        open_climate(tmp_path, at=AT)


def test_totals_since_midnight_run_on_across_files(tmp_path):
    """The 00 stamp that opens a month's file holds the last day of the month before."""
    data = grid_of(totals(RAIN, every(24)), title="ERA5-Land")
    months = TIME.strftime("%Y-%m")
    for month in sorted(set(months)):
        data.isel(time=np.flatnonzero(months == month)).to_netcdf(tmp_path / f"{month}.nc", engine="h5netcdf")
    climate = open_climate(tmp_path, at=AT)
    assert int(climate["rain"].isnull().sum()) == 0
    np.testing.assert_allclose(climate["rain"], RAIN[:, ROW, COLUMN], atol=1e-3)
