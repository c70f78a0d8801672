"""Rotated and curvilinear grids made from a known field give the index of the regular one; runs joined by a rule told."""

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from pyproj import Transformer

import exposure
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.doubts import flags_of, has_doubt
from exposure.rain.index import airfield_index
from exposure.region.joined_runs import joined_runs
from exposure.region.turned_grid import turned
from exposure.region.turning import turning_of, unrotated

POLE = (39.25, -162.0)  # of a grid much used over Europe
TO_ROTATED = Transformer.from_crs(
    "+proj=longlat +R=6371229 +no_defs",
    f"+proj=ob_tran +o_proj=longlat +o_lon_p=0 +o_lat_p={POLE[0]} +lon_0={POLE[1] + 180} +R=6371229 +to_meter=0.0174532925199433",
    always_xy=True,
)
FAR_EAST, FAR_NORTH = -17.8, -0.5  # of the pole's grid, where its axes stand a dozen degrees off
LON0, LAT0 = TO_ROTATED.transform(FAR_EAST, FAR_NORTH, direction="INVERSE")
WAYS = [0, 60, 120, 180, 240, 300]


def field(latitude, longitude, time):
    """A known weather: smooth over the ground, storms from the south-west in time; u, v [m/s] and rain [mm]."""
    hour = np.arange(time.size)[:, None, None]
    storm = (np.sin(hour / 31.0) + np.sin(hour / 7.3) > 1.2).astype(float)
    u = 6.0 + 3.0 * np.sin(hour / 53.0) + 0.4 * (latitude - LAT0) + 0.2 * (longitude - LON0)
    v = 3.0 + 5.0 * np.sin(hour / 17.0) - 0.3 * (latitude - LAT0)
    rain = storm * (1.5 + np.sin(hour / 11.0)) * (1.0 + 0.03 * (longitude - LON0) + 0.03 * (latitude - LAT0))
    return u, v, rain


def rotated_grid(time, *, winds="grid", standard=True, fields=False, flip=False):
    """The known field on a rotated grid, its winds along the grid by PROJ, a second method."""
    rlat, rlon = FAR_NORTH + np.arange(-4, 5) * 0.11, FAR_EAST + np.arange(-4, 5) * 0.11
    if flip:
        rlat = rlat[::-1]
    x, y = np.meshgrid(rlon, rlat)
    longitude, latitude = TO_ROTATED.transform(x, y, direction="INVERSE")
    u, v, rain = field(latitude, longitude, time)
    if winds == "grid":
        small = 1e-4
        north_x, north_y = TO_ROTATED.transform(longitude, latitude + small)
        turn = np.arctan2(
            (north_x - x) * np.cos(np.deg2rad(y)), north_y - y
        )  # of true north from the grid's own
        u, v = u * np.cos(turn) + v * np.sin(turn), -u * np.sin(turn) + v * np.cos(turn)
    names = (
        ("grid_eastward_wind", "grid_northward_wind")
        if winds == "grid"
        else ("eastward_wind", "northward_wind")
    )
    dims = ("time", "rlat", "rlon")

    def wind(values, name):
        return (
            dims,
            values,
            {"units": "m s-1", "grid_mapping": "pole"} | ({"standard_name": name} if standard else {}),
        )

    found = {
        "uas": wind(u, names[0]),
        "vas": wind(v, names[1]),
        "tp": (dims, rain / 1000, {"units": "m", "long_name": "rain of the hour"}),
        "pole": ((), 0, {"grid_mapping_name": "rotated_latitude_longitude", "grid_north_pole_latitude": POLE[0],
                         "grid_north_pole_longitude": POLE[1]}),
    }  # fmt: skip
    coords = {"time": time, "rlat": rlat, "rlon": rlon}
    if fields:
        found.pop("pole")
        coords = {"time": time, "lat": (dims[1:], latitude), "lon": (dims[1:], longitude)}
    return xr.Dataset(found, coords, {"source": "a known field", "licence": "none", "kind": "model"})


@pytest.fixture(scope="module")
def year():
    return pd.date_range("2001-01-01T00", "2001-12-31T23", freq="h")


def index_of(u, v, rain, time):
    dims = ("time", "latitude", "longitude")
    return airfield_index(
        xr.Dataset(
            {
                "rain": (dims, rain, {"units": "mm"}),
                "wind_speed": (dims, np.hypot(u, v), {"units": "m s-1"}),
                "wind_from_direction": (dims, (270 - np.rad2deg(np.arctan2(v, u))) % 360, {"units": "degree"}),
            },
            {"time": time}, {"kind": "model"},
        ),
        orientation=WAYS,
    )  # fmt: skip


@pytest.mark.parametrize("form", [{}, {"fields": True}, {"flip": True}, {"winds": "true"}])
def test_a_turned_grid_has_the_index_of_the_regular_one(year, form):
    made = xr.concat(list(turned(rotated_grid(year, **form))), "time")
    assert has_doubt(flags_of(made.attrs), "region.turned")
    known = np.flatnonzero(made["u10"].notnull().all("time").values.ravel())
    assert known.size > 40
    longitude, latitude = np.meshgrid(made["longitude"].values, made["latitude"].values)
    pick = [
        value.reshape(len(year), -1)[:, known][:, :, None]
        for value in (made[name].values for name in ("u10", "v10", "rain"))
    ]
    got = index_of(pick[0], pick[1], pick[2] * 1000, year)
    u, v, rain = field(latitude.ravel()[known][:, None], longitude.ravel()[known][:, None], year)
    expected = index_of(u, v, rain, year)
    for name in ("airfield_annual_index", "airfield_spell_index"):
        # what is left is the half cell between a new cell's middle and its nearest old one
        off = np.abs(got[name] - expected[name]) / expected[name].max("orientation")
        assert float(off.max()) < 0.01, name
        assert abs(got[name].values.mean() / expected[name].values.mean() - 1) < 0.002


def test_at_its_own_cells_a_turned_wind_is_the_true_one(year):
    grid = rotated_grid(year[:3])
    turning, _ = turning_of(grid)
    made = next(turned(grid))
    inside = turning.pick >= 0
    latitude, longitude = unrotated(*np.meshgrid(grid["rlat"], grid["rlon"], indexing="ij"), pole=POLE)
    _, y = TO_ROTATED.transform(longitude, latitude)
    np.testing.assert_allclose(y[:, 0], grid["rlat"], atol=1e-6)  # by PROJ
    u, v, _ = field(latitude, longitude, year[:3])
    np.testing.assert_allclose(
        made["u10"].values[:, inside], u.reshape(3, -1)[:, turning.pick[inside]], atol=0.01
    )
    np.testing.assert_allclose(
        made["v10"].values[:, inside], v.reshape(3, -1)[:, turning.pick[inside]], atol=0.01
    )
    untouched = rotated_grid(year[:3])["uas"].values
    assert np.abs(untouched - u).max() > 0.5  # the turn matters here: a dozen degrees


def test_which_way_winds_run_is_asked_where_nobody_says(year):
    with pytest.raises(RefusalError, match="along the grid or to true east") as told:
        next(turned(rotated_grid(year[:2], standard=False)))
    assert told.value.parameter == "winds"
    along = next(turned(rotated_grid(year[:2], standard=False), winds="grid"))
    np.testing.assert_allclose(along["u10"], next(turned(rotated_grid(year[:2])))["u10"])
    with pytest.raises(RefusalError, match="latitude and longitude of every cell"):
        next(turned(rotated_grid(year[:2]).drop_vars("pole")))


def test_the_command_writes_a_grid_that_others_read(year, tmp_path, capsys):
    path = tmp_path / "rotated.nc"
    rotated_grid(year).to_netcdf(path)
    assert main(["turn", str(path), "--out", str(tmp_path / "regular.zarr")]) == 0
    with xr.open_zarr(tmp_path / "regular.zarr", consolidated=False) as made:
        middle = float(made["latitude"][4]), float(made["longitude"][4])
    record = exposure.open_climate(str(tmp_path / "regular.zarr"), at=middle)
    u, v, rain = field(np.array(middle[0]), np.array(middle[1]), year)
    assert float(record["rain"].sum()) == pytest.approx(rain.sum(), rel=0.01)
    assert float(record["wind_speed"].mean()) == pytest.approx(np.hypot(u, v).mean(), rel=0.01)
    assert has_doubt(flags_of(record.attrs), "region.turned")


def runs(*, rain, every=6, steps=range(1, 13)):
    start = pd.date_range("2001-01-01", periods=4, freq=f"{every}h")
    fell = np.arange(4 * 12.0).reshape(4, 12)
    return xr.Dataset(
        {
            "u10": (("time", "step"), fell),
            "tp": (("time", "step"), np.cumsum(fell, axis=1) if rain == "since start" else fell),
        },
        {"time": start, "step": np.array(list(steps), "m8[h]")},
    )


@pytest.mark.parametrize("rain", ["hour", "since start"])
def test_forecasts_are_joined_by_the_hours_told(rain):
    made = joined_runs(runs(rain=rain), leads=(4, 9), rain=rain)
    # by hand: hours 4 to 9 of each run of twelve
    expected = np.arange(48.0).reshape(4, 12)[:, 3:9].ravel()
    assert made["tp"].values.tolist() == made["u10"].values.tolist() == expected.tolist()
    assert str(made["time"].values[0])[:13] == "2001-01-01T04"
    assert has_doubt(flags_of(made.attrs), "region.joined_runs")


def test_forecasts_that_follow_one_another_are_refused_without_a_rule():
    with pytest.raises(RefusalError, match="4 forecasts of 12 steps") as told:
        joined_runs(runs(rain="hour"), leads=None)
    assert told.value.parameter == "leads"
    with pytest.raises(RefusalError, match="do not follow"):
        joined_runs(runs(rain="hour"), leads=(1, 12), rain="hour")
    with pytest.raises(RefusalError, match="no hour 13"):
        joined_runs(runs(rain="hour"), leads=(8, 13), rain="hour")
    with pytest.raises(RefusalError, match="rain of a run"):
        joined_runs(runs(rain="hour"), leads=(1, 6))
    falling = runs(rain="hour")
    falling["tp"] = falling["tp"] * 0 + np.linspace(5, 0, 12)
    with pytest.raises(RefusalError, match="falls within a run"):
        joined_runs(falling, leads=(1, 6), rain="since start")
