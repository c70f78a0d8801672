"""Kept work answers only for what it was made of: another grid, rule or unit, a stopped update, damage, own input."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from test_region_index import assert_same_bits, invented_grid, opened, store

from exposure.checks import RefusalError
from exposure.cli import main
from exposure.region import column_pass, region_index, run_settings
from exposure.region.region_index import index_region


@pytest.fixture(scope="module")
def more() -> xr.Dataset:
    """Three years."""
    return invented_grid()


@pytest.fixture(scope="module")
def data(more) -> xr.Dataset:
    """The first two of them."""
    return more.sel(time=slice("2010", "2011"))


def run(path, out, **told):
    return index_region(path, out, **({"orientations": 8, "progress": False, "threads": 1} | told))


def rewritten(path: Path, data: xr.Dataset) -> Path:
    shutil.rmtree(path)
    return store(data, path)


def thrice(data: xr.Dataset) -> xr.Dataset:
    return data.assign(tp=(data["tp"] * 3).assign_attrs(data["tp"].attrs))


@pytest.mark.parametrize("form", ["zarr", "netcdf", "folder"])
def test_a_finished_run_of_a_grid_that_changed_is_refused(tmp_path, data, form):
    def write(content):
        if form == "zarr":
            return rewritten(path, content) if path.exists() else store(content, path)
        target = path if form == "netcdf" else path / "year.nc"
        target.parent.mkdir(exist_ok=True)
        content.to_netcdf(target, engine="h5netcdf")
        return path

    path = tmp_path / {"zarr": "grid.zarr", "netcdf": "grid.nc", "folder": "files"}[form]
    write(data)
    first = opened(run(path, tmp_path / "out"))
    write(thrice(data))
    with pytest.raises(RefusalError, match="holds other values"):
        run(path, tmp_path / "out")
    # hours of three times the rain bring 3^(8/9) = 2.66 times the driving rain, where no hour falls under a threshold
    fresh = opened(run(path, tmp_path / "fresh"))
    ratio = fresh["airfield_annual_index"].mean() / first["airfield_annual_index"].mean()
    assert float(ratio) == pytest.approx(3 ** (8 / 9), rel=0.03)


def test_a_stopped_run_does_not_go_on_with_another_grid(tmp_path, data, monkeypatch):
    monkeypatch.setattr(column_pass, "CELLS_OF_A_COLUMN", 6)
    path, out = store(data, tmp_path / "grid.zarr"), tmp_path / "out"
    stopped_after(monkeypatch, 2)
    with pytest.raises(KeyboardInterrupt):
        run(path, out)
    monkeypatch.undo()
    rewritten(path, thrice(data))
    with pytest.raises(RefusalError, match="holds other values"):
        run(path, out)


def stopped_after(monkeypatch, columns: int) -> None:
    """Ctrl-C after so many columns."""
    done: list[int] = []
    work = region_index.run_column

    def run_some(*args, **more):
        if len(done) == columns:
            raise KeyboardInterrupt
        done.append(1)
        work(*args, **more)

    monkeypatch.setattr(region_index, "run_column", run_some)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rain_rule": "hour"}, None),
        ({"columns": {"rain": "tp [cm]"}}, "the units"),
        ({"columns": {"rain": "other [m]"}}, "the variables"),
        ({"told": {"kind": "model"}}, "the kind"),
        ({"stamp": "start"}, "first hour"),
    ],
)
def test_another_rule_or_unit_is_never_given_the_old_figures(tmp_path, data, change, words):
    path = store(data.assign(other=data["tp"]), tmp_path / "grid.zarr")
    before = run(path, tmp_path / "out")
    if words is None:  # the rule it was read by anyway: the same result may come back
        assert_same_bits(run(path, tmp_path / "out", **change), before)
        return
    with pytest.raises(RefusalError, match=words):
        run(path, tmp_path / "out", **change)


def test_work_of_other_code_is_not_gone_on_with(tmp_path, data, monkeypatch):
    path = store(data, tmp_path / "grid.zarr")
    run(path, tmp_path / "out")
    monkeypatch.setattr(run_settings, "code_mark", lambda *_parts: "other code")
    with pytest.raises(RefusalError, match="the program's arithmetic"):
        run(path, tmp_path / "out")


def test_totals_asked_for_by_another_rule_are_refused(tmp_path, data):
    total = np.array(data["tp"].fillna(0).values, dtype=np.float64)
    hour = data["time"].dt.hour.values
    for i in range(1, total.shape[0]):
        total[i] += 0 if hour[i] == 1 else total[i - 1]
    path = store(
        data.assign(tp=(data["tp"].dims, total.astype(np.float32), data["tp"].attrs)), tmp_path / "g.zarr"
    )
    run(path, tmp_path / "out", rain_rule="hour")
    with pytest.raises(RefusalError, match="the rain rule 'hour', not 'since 00 UTC'"):
        run(path, tmp_path / "out", rain_rule="since 00 UTC")


# ------------------------------------------------------------------ updates


@pytest.fixture(scope="module")
def made(tmp_path_factory, data) -> tuple[Path, Path]:
    """Where a grid of two years and its result stand, and a copy of both: kept work knows where its grid lies."""
    place, copy = tmp_path_factory.mktemp("made"), tmp_path_factory.mktemp("copy") / "made"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(column_pass, "CELLS_OF_A_COLUMN", 6)
        run(store(data, place / "old.zarr"), place / "out")
    shutil.copytree(place, copy)
    return place, copy


@pytest.fixture
def two_years(made, monkeypatch) -> tuple[Path, Path]:
    """Both as they were made, whatever the test before did to them."""
    monkeypatch.setattr(column_pass, "CELLS_OF_A_COLUMN", 6)
    place, copy = made
    shutil.rmtree(place)
    shutil.copytree(copy, place)
    return place / "old.zarr", place / "out"


def test_a_stopped_update_is_finished_by_the_same_command(tmp_path, more, two_years, monkeypatch):
    _, out = two_years
    new = store(more.sel(time="2012"), tmp_path / "new.zarr")
    whole = run(store(more, tmp_path / "whole.zarr"), tmp_path / "whole")
    stopped_after(monkeypatch, 2)
    with pytest.raises(KeyboardInterrupt):
        run(new, out, update=True)
    monkeypatch.undo()
    late = store(more.sel(time=slice("2012-03", "2012-12")), tmp_path / "late.zarr")
    with pytest.raises(RefusalError, match="an update that was stopped"):
        run(late, out, update=True)
    assert_same_bits(run(new, out, update=True), whole)
    with pytest.raises(RefusalError, match="no hour after"):
        run(new, out, update=True)


def test_an_update_whose_past_changed_is_refused(tmp_path, more, two_years):
    old, out = two_years
    changed = more.copy(deep=True)
    changed["u10"][:3000] *= 2
    with pytest.raises(RefusalError, match="other values in hours already taken in"):
        run(rewritten(old, changed), out, update=True)
    found = run(rewritten(old, more), out, update=True)
    assert_same_bits(found, run(old, tmp_path / "whole"))


def test_an_unfinished_run_is_no_ground_for_an_update(tmp_path, data, more, monkeypatch):
    path, out = store(data, tmp_path / "grid.zarr"), tmp_path / "out"
    stopped_after(monkeypatch, 0)
    with pytest.raises(KeyboardInterrupt):
        run(path, out)
    monkeypatch.undo()
    with pytest.raises(RefusalError, match="a run that was stopped"):
        run(store(more, tmp_path / "more.zarr"), out, update=True)


def test_new_hours_alone_do_not_stand_in_for_lost_work(tmp_path, more, two_years):
    _, out = two_years
    shutil.rmtree(out / "work" / "column-00001")
    with pytest.raises(RefusalError, match="the work of column-00001 is gone"):
        run(store(more.sel(time="2012"), tmp_path / "new.zarr"), out, update=True)


# ------------------------------------------------------------------ damage


def flipped(path: Path) -> None:
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 1
    path.write_bytes(raw)


DAMAGE = {
    "a bit of a year": ("work/column-00001/2010-walls.npy", flipped),
    "a bit of an account": ("work/column-00001/2010-account.npy", flipped),
    "half a year": ("work/column-00001/2010-walls.npy", lambda path: path.write_bytes(path.read_bytes()[:500])),
    "no walls": ("work/column-00001/2010-walls.npy", lambda path: path.unlink()),
    "a bit of the state": ("work/column-00001/state.npz", flipped),
    "no state but text": ("work/column-00001/state.npz", lambda path: path.write_text("PK\x03\x04 not a zip")),
    "an empty state": ("work/column-00001/state.npz", lambda path: path.write_bytes(b"")),
    "settings that are a list": ("work/run.json", lambda path: path.write_text("[1, 2]")),
    "settings that are no text": ("work/run.json", lambda path: path.write_bytes(b"\xff\xfe\0")),
    "settings changed by hand": (
        "work/run.json", lambda path: path.write_text(path.read_text().replace('"wet_hour": 0.1', '"wet_hour": 0.2'))),
    "settings without an end": (
        "work/run.json",
        lambda path: path.write_text(json.dumps({k: v for k, v in json.loads(path.read_text()).items() if k != "end"})),
    ),
}  # fmt: skip


@pytest.mark.parametrize("damage", DAMAGE)
def test_damaged_work_is_told_and_worked_out_again_when_removed(tmp_path, two_years, damage, capsys):
    old, out = two_years
    expected = shutil.copytree(out / "index.zarr", tmp_path / "expected.zarr")
    name, harm = DAMAGE[damage]
    harm(out / name)
    assert main(["map", str(old), "--out", str(out), "--orientations", "8"]) != 0
    told = capsys.readouterr().err
    assert "damaged" in told
    assert "Traceback" not in told
    folder = (out / name).parent
    assert f"Remove the folder {folder}" in told
    shutil.rmtree(folder)
    assert_same_bits(run(old, out), expected)


def test_a_file_mended_after_damage_goes_on_but_no_other_change_does(tmp_path, data, monkeypatch):
    monkeypatch.setattr(column_pass, "CELLS_OF_A_COLUMN", 6)
    path, out = store(data, tmp_path / "grid.zarr"), tmp_path / "out"
    whole = (path / "tp/c/3/1/1").read_bytes()
    (path / "tp/c/3/1/1").write_bytes(whole[:100])
    with pytest.raises(RefusalError, match="tp/c/3/1/1"):
        run(path, out)
    other = (path / "u10/c/0/0/0").read_bytes()
    (path / "tp/c/3/1/1").write_bytes(whole)
    (path / "u10/c/0/0/0").write_bytes((path / "u10/c/1/0/0").read_bytes())
    with pytest.raises(RefusalError, match="holds other values"):
        run(path, out)
    (path / "u10/c/0/0/0").write_bytes(other)
    assert_same_bits(run(path, out), run(path, tmp_path / "fresh"))


# ------------------------------------------------------------------ outputs


def test_the_result_never_takes_the_place_of_its_input(tmp_path, data):
    out = tmp_path / "o"
    out.mkdir()
    store(data, out / "index.zarr")
    with pytest.raises(RefusalError, match="files it is made of"):
        run(out / "index.zarr", out)
    xr.testing.assert_equal(xr.open_zarr(out / "index.zarr").load(), data)
    folder = tmp_path / "ncs"
    folder.mkdir()
    data.to_netcdf(folder / "index.nc", engine="h5netcdf")
    before = (folder / "index.nc").read_bytes()
    for told in ({"netcdf": True}, {}):
        with pytest.raises(RefusalError, match="files it is made of"):
            run(folder, folder, **told)
    assert (folder / "index.nc").read_bytes() == before


@pytest.mark.parametrize("kind", ["a file", "another store", "a folder"])
def test_what_is_no_result_of_ours_is_not_replaced(tmp_path, data, kind):
    out = tmp_path / "out"
    out.mkdir()
    if kind == "a file":
        (out / "index.zarr").write_text("mine")
    elif kind == "a folder":
        (out / "index.zarr").mkdir()
    else:
        xr.Dataset({"mine": ("x", [1.0])}).to_zarr(out / "index.zarr")
    with pytest.raises(RefusalError, match="is not a result of this program"):
        run(store(data, tmp_path / "grid.zarr"), out)
    assert (out / "index.zarr").exists()


def test_one_cell_makes_a_result_without_pictures(tmp_path, data, capsys):
    folder = tmp_path / "files"
    folder.mkdir()
    cell = data.isel(latitude=[2], longitude=[3])
    for year in (2010, 2011):
        cell.sel(time=str(year)).to_netcdf(folder / f"{year}.nc", engine="h5netcdf")
    assert main(["map", str(folder), "--out", str(tmp_path / "out"), "--orientations", "8", "--netcdf"]) == 0
    assert not list((tmp_path / "out").glob("*.tif"))
    with xr.open_dataset(tmp_path / "out" / "index.nc", engine="h5netcdf", mask_and_scale=False) as index:
        assert index.sizes["latitude"] == index.sizes["longitude"] == 1
        for axis in ("latitude", "longitude", "orientation", "year", "record_year"):
            assert "_FillValue" not in index[axis].attrs  # a coordinate has no missing values (CF 2.5.1)


def test_geotiffs_hold_the_facing_and_their_units(tmp_path, data):
    import rasterio

    out = run(store(data, tmp_path / "grid.zarr"), tmp_path / "out")
    index = opened(out)
    with rasterio.open(tmp_path / "out" / "worst_annual_index.tif") as tiff:
        value, facing = tiff.read(1), tiff.read(2)
        assert tiff.units == (index["airfield_annual_index"].attrs["units"], "degree")
    cell = index.isel(latitude=2, longitude=3)["airfield_annual_index"]
    assert value[2, 3] == pytest.approx(float(cell.max()))
    assert float(cell.sel(orientation=facing[2, 3])) == pytest.approx(float(cell.max()))
    assert np.isnan(value[0, 0])  # the sea
    assert np.isnan(facing[0, 0])
