"""Ways in that were shut or said the wrong thing: points read back, GRIB and WRF told, options of the map, one pass."""

import json

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from test_grid_traps import AT, RAIN, TIME, grid_of, stored
from test_region_index import opened

from exposure import airfield_index, open_climate
from exposure.assess import site_group
from exposure.assess.compare_sites import compare_sites
from exposure.assess.reference_wall import reference_wall
from exposure.assess.site_weather import GridWeather
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.climate import grid_cells
from exposure.climate.grid import store
from exposure.climate.grid_cells import GridCells
from exposure.climate.request import Request
from exposure.doubts import as_attribute, flags_of, has_doubt
from exposure.region.region_index import index_region
from exposure.site.site_list import ListedSite, SiteList


@pytest.mark.parametrize("place", ["attributes", "coordinates"])
def test_a_point_that_was_written_is_read_back_with_its_doubts(tmp_path, place):
    first = open_climate(stored(grid_of(RAIN, title="ERA5-Land hourly"), tmp_path), at=AT)
    plain = first.drop_vars([name for name in first.data_vars if first[name].dtype == bool])
    plain.attrs = {key: value for key, value in plain.attrs.items() if key != "flags"}
    plain.attrs["flags"] = as_attribute(first.attrs["flags"])
    if place == "coordinates":
        at = {name: plain.attrs.pop(name) for name in ("latitude", "longitude")}
        plain = plain.assign_coords(at)
    plain.to_netcdf(tmp_path / "point.nc", engine="h5netcdf")
    again = open_climate(tmp_path / "point.nc")
    np.testing.assert_allclose(again["rain"], first["rain"])
    np.testing.assert_allclose(again["wind_speed"], first["wind_speed"])
    assert (again.attrs["latitude"], again.attrs["longitude"]) == AT
    assert again.attrs["kind"] == "reanalysis"
    assert has_doubt(again.attrs["flags"], "climate.rain_already_hourly")
    assert not has_doubt(again.attrs["flags"], "climate.wind_height_assumed")  # its long name says 10 m


def test_grib_is_told_where_only_stores_will_do(tmp_path, capsys):
    (tmp_path / "era5.grib").write_bytes(b"GRIB" + bytes(200))
    assert main(["map", str(tmp_path / "era5.grib"), "--out", str(tmp_path / "out")]) != 0
    assert "is GRIB; expected NetCDF or Zarr" in capsys.readouterr().err


def test_netcdf_at_an_address_is_told_to_be_downloaded():
    with pytest.raises(RefusalError, match="Download the file first"):
        open_climate("https://127.0.0.1/era5/grid.nc", at=AT)


def test_output_of_wrf_is_told_by_name(tmp_path):
    shape = (48, 3, 4)
    dims = ("Time", "south_north", "west_east")
    fields = {name: (dims, np.ones(shape, np.float32), {"units": "m s-1"}) for name in ("U10", "V10")}
    fields |= {name: (dims, np.ones(shape, np.float32), {"units": "mm"}) for name in ("RAINC", "RAINNC")}
    fields |= {name: (dims, np.ones(shape, np.float32)) for name in ("XLAT", "XLONG")}
    xr.Dataset(fields).to_netcdf(tmp_path / "wrfout.nc", engine="h5netcdf")
    for read in (lambda path: open_climate(path, at=AT), lambda path: index_region(path, tmp_path / "out")):
        with pytest.raises(RefusalError, match="WRF output: U10 and V10 blow along its own grid"):
            read(tmp_path / "wrfout.nc")


def test_a_chunk_larger_than_a_grid_has_is_refused_before_it_is_unpacked(tmp_path):
    import h5py

    with h5py.File(tmp_path / "small.nc", "w") as file:  # a few kB that would unpack to 800 MB
        file.create_dataset("tp", (1000, 1000, 200), np.float32, chunks=(1000, 1000, 200), compression="gzip")
    assert (tmp_path / "small.nc").stat().st_size < 100_000
    assert store.LARGEST_CHUNK < 800_000_000
    with pytest.raises(RefusalError, match="chunk larger than a climate grid has"):
        open_climate(tmp_path / "small.nc", at=AT)


def test_title_licence_kind_and_stamp_of_a_map_can_be_told(tmp_path, capsys):
    data = grid_of(RAIN).assign_coords(time=TIME - pd.Timedelta("1h"))  # stamped at the start of each hour
    path = stored(data, tmp_path)
    told = ["--title", "Kattegat <grid>", "--licence", "CC BY 4.0", "--kind", "model", "--stamp", "start"]
    out = tmp_path / "out"
    assert main(["map", str(path), "--out", str(out), "--orientations", "8", "--json", "-", *told]) == 0
    summary = json.loads(capsys.readouterr().out)
    assert summary["source"].startswith("Kattegat <grid>")
    assert (summary["licence"], summary["kind"], summary["years"]) == ("CC BY 4.0", "model", [2003])
    index = opened(out / "index.zarr")
    assert has_doubt(flags_of(index.attrs), "climate.stamps_told_start")
    page = (out / "map.html").read_text()
    assert "Kattegat" in page
    assert "<grid>" not in page
    assert "CC BY 4.0" in page


# ------------------------------------------------------------------ one pass for many places


def monthly(folder, data) -> None:
    months = TIME.strftime("%Y-%m")
    for month in sorted(set(months)):
        part = data.isel(time=np.flatnonzero(months == month))
        part.to_netcdf(folder / f"{month}.nc", engine="h5netcdf")


def listed(count: int) -> SiteList:
    latitudes, longitudes = np.linspace(58.0, 56.8, count), np.linspace(11.8, 12.7, count)
    rows = [
        ListedSite(k + 2, f"Site {k}", float(latitudes[k]), float(longitudes[k]), ("II",) * 12)
        for k in range(count)
    ]
    return SiteList(tuple(rows), (), ())


@pytest.mark.parametrize(
    "at_once", [1_000_000_000, pytest.param(2 * 4 * 3 * TIME.size, marks=pytest.mark.slow)]
)
def test_all_sites_are_read_in_one_pass_and_are_those_of_one_place(tmp_path, monkeypatch, at_once):
    folder = tmp_path / "months"
    folder.mkdir()
    monthly(folder, grid_of(RAIN))
    reads: list[int] = []
    read = grid_cells.read_cells

    def counted(*args, **more):
        reads.append(more["rows"].size)
        return read(*args, **more)

    monkeypatch.setattr(grid_cells, "read_cells", counted)
    monkeypatch.setattr(site_group, "MOST_GATHERED", at_once)
    found = compare_sites(listed(6), GridWeather(folder), wall=reference_wall("two-storey gable"))
    assert len(found.sites) == 6
    batches = 1 if at_once == 1_000_000_000 else 3  # two cells at a time
    assert len(reads) == batches * 3 * 13  # each of three variables of thirteen files, once
    # the same wall on one place read by itself: a two-storey gable is 8 m tall on open farmland, W = 0.5
    site = next(one for one in found.sites if one.name == "Site 0")
    one = open_climate(folder, at=(58.0, 11.8))
    spell = float(airfield_index(one, orientation=np.arange(0, 360, 30.0))["airfield_spell_index"].max())
    alone = compare_sites(listed(1), GridWeather(folder), wall=reference_wall("two-storey gable"))
    assert alone.sites[0].value == site.value
    assert 0 < site.value < spell


def test_gathered_cells_are_the_cells_read_one_by_one(tmp_path):
    path = stored(grid_of(RAIN), tmp_path)
    cells = GridCells(path, Request())
    wanted = [
        cells.find((float(lat), float(lon))) for lat, lon in ((58.0, 12.0), (57.0, 12.75), (57.25, 11.75))
    ]
    alone = [cells.read(cell) for cell in wanted]
    (tmp_path / "room").mkdir()
    cells.gather(wanted, tmp_path / "room")
    for cell, one in zip(wanted, alone, strict=True):
        xr.testing.assert_identical(cells.read(cell), one)
