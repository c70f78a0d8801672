"""The index of any climate Dataset: many places, lazy arrays, other units, names of directions, and files in between.

Expected values are by hand, from a loop over single places, or from the other form of the sum.
"""

import dask
import numpy as np
import pandas as pd
import pytest
import xarray as xr
from invented_record import grid as invented_grid
from invented_record import invented_weather, station_csv

import exposure
from exposure import RefusalError, airfield_index, with_place_doubts
from exposure.doubts import Doubt, flags_of, has_doubt
from exposure.rain.coverage import LEAST_COVERAGE, account_of_years, whole_year, year_counts
from exposure.rain.doubts import IndexFigures, doubts_of_index, years_left_out
from exposure.rain.extremes import SPELL_RETURN, gumbel_value, percentile_value
from exposure.rain.orientation import compass_orientations, orientations_of
from exposure.rain.record import clock_of, in_our_units, record_of

WALLS = [0.0, 33.3, 225.0]
AXES = ("latitude", "longitude", "orientation")
UNITS = {"rain": "mm", "wind_speed": "m s-1", "wind_from_direction": "degree"}


def steady(*, rain=1.0, speed=4.5, direction=240.0, rainy=100, year=2010) -> xr.Dataset:
    """One year in which the first hours rain; 2/9 x 4.5 x 1 = 1 L/m2 in each of them on the wall facing the wind."""
    time = pd.date_range(f"{year}-01-01", f"{year}-12-31T23:00", freq="h")
    fell = np.where(np.arange(time.size) < rainy, rain, 0.0)
    return dataset(time, fell, np.full(time.size, speed), np.full(time.size, direction))


def dataset(time, rain, speed, direction, kind="gauge") -> xr.Dataset:
    values = {"rain": rain, "wind_speed": speed, "wind_from_direction": direction}
    data = {term: ("time", value, {"units": UNITS[term]}) for term, value in values.items()}
    return xr.Dataset(data, {"time": time}, {"kind": kind, "source": "made up"})


def stormy(seed: int, *, years=3, gaps=False, kind="model") -> xr.Dataset:
    rng = np.random.default_rng(seed)
    time = pd.date_range("2010-01-01", f"{2009 + years}-12-31T23:00", freq="h")
    storm = np.repeat(rng.random(time.size // 10 + 1) < 0.25, 10)[: time.size]
    speed = np.where(storm, rng.gamma(6, 1.4, time.size), rng.gamma(3, 1.2, time.size))
    direction = np.where(storm, rng.normal(230, 40, time.size), rng.uniform(0, 360, time.size))
    direction = np.round(direction % 360 / 10) * 10 % 360
    rain = np.where(storm & (rng.random(time.size) < 0.5), rng.gamma(0.6, 1.2, time.size), 0.02)
    if gaps:
        rain[9000:13000] = np.nan
        speed[20000:20050] = np.nan
        direction[rng.random(time.size) < 0.1] = np.nan
    return dataset(time, rain, speed, direction, kind)


def side_by_side(dim: str, names, records) -> xr.Dataset:
    joined = xr.concat(records, dim).assign_coords({dim: list(names)})
    for term, unit in UNITS.items():
        joined[term].attrs["units"] = unit
    return joined


@pytest.fixture(scope="module")
def three() -> xr.Dataset:
    dead = stormy(3)
    dead["rain"][:] = np.nan
    return side_by_side("place", ["Quay", "Hill", "Sea"], [stormy(1), stormy(2, gaps=True), dead])


def assert_place_is(found: xr.Dataset, alone: xr.Dataset) -> None:
    """Bit for bit the index of the place alone, on the years that count."""
    assert len(alone.data_vars) == 11
    for name, value in alone.items():
        here = found[name].sel(year=alone["year"]) if "year" in value.dims else found[name]
        np.testing.assert_array_equal(here.transpose(*value.dims), value, err_msg=str(name))


def test_many_places_are_each_as_one_alone(three):
    index = airfield_index(three, orientation=WALLS)
    for place in ("Quay", "Hill"):
        assert_place_is(index.sel(place=place), airfield_index(three.sel(place=place), orientation=WALLS))
    assert index["airfield_annual_index"].sel(place="Sea").isnull().all()  # a loop refuses it: no year counts
    with pytest.raises(RefusalError, match="no year counts"):
        airfield_index(three.sel(place="Sea"), orientation=WALLS)
    assert index["yearly_annual_index"].sel(place="Hill", year=2011).isnull().all()  # the year of its gap


def test_two_places_by_hand():
    # 100 hours of 1 L/m2 head-on; the second has twice the wind; 60 degrees off half of it is left
    both = side_by_side("place", "AB", [steady(), steady(speed=9.0)])
    index = airfield_index(both, orientation=[240, 300])
    np.testing.assert_allclose(index["airfield_annual_index"], [[100, 50], [200, 100]])
    np.testing.assert_allclose(index["airfield_spell_index"], [[100, 50], [200, 100]])


def test_flags_of_places_carry_their_place(three):
    flags = flags_of(airfield_index(three, orientation=WALLS).attrs)
    told = {(one.key, one.subject) for one in flags}
    assert {("rain.few_years", "Quay"), ("rain.few_years", "Hill"), ("rain.no_year", "Sea")} <= told
    assert ("rain.no_direction", "Hill") in told
    assert ("rain.no_direction", "Quay") not in told
    assert all(str(one).startswith(f"{one.subject}: ") for one in flags if one.subject)
    for place in ("Quay", "Hill"):  # the same doubts as the place alone, in the same words
        alone = flags_of(airfield_index(three.sel(place=place), orientation=WALLS).attrs)
        here = [str(one) for one in flags if one.subject == place]
        assert sorted(here) == sorted(f"{place}: {one}" for one in alone)


def test_of_very_many_places_twenty_are_told_and_the_rest_counted():
    many = steady().expand_dims(place=30)
    index = airfield_index(many, orientation=240)
    flags = flags_of(index.attrs)
    assert [one.subject for one in flags if one.key == "rain.few_years"] == [f"place {i}" for i in range(20)]
    (more,) = [one for one in flags if one.key == "rain.more_places"]
    assert (more.numbers["more"], more.numbers["of"]) == (10, 30)


def test_a_place_where_it_never_rains_is_doubted():
    both = side_by_side("place", "AB", [steady(), steady(rain=0.0)])
    flags = flags_of(airfield_index(both, orientation=240).attrs)
    assert [one.subject for one in flags if one.key == "rain.never_rains"] == ["B"]


def test_no_place_with_a_year_is_refused():
    dead = side_by_side("place", "AB", [steady(rain=np.nan, rainy=8760)] * 2)
    with pytest.raises(RefusalError, match="no place has a year that counts"):
        airfield_index(dead, orientation=0)


def refuse(*_args, **_kwargs):
    message = "worked out too early"
    raise AssertionError(message)


def test_lazy_places_stay_lazy_and_come_out_the_same(three):
    grid = three.isel(place=[0, 1]).rename(place="latitude").assign_coords(latitude=[48.0, 48.25])
    grid = grid.expand_dims(number=[0, 1]).assign(rain=lambda one: one["rain"] * (1 + one["number"]))
    grid["rain"].attrs["units"] = "mm"
    with dask.config.set(scheduler=refuse):
        lazy = airfield_index(grid.chunk(latitude=1, number=1, time=-1), orientation=WALLS)
    assert lazy["airfield_spell_index"].chunks is not None
    assert has_doubt(flags_of(lazy.attrs), "rain.places_not_judged")
    done = with_place_doubts(lazy)
    xr.testing.assert_identical(done, airfield_index(grid, orientation=WALLS))
    assert not has_doubt(flags_of(done.attrs), "rain.places_not_judged")
    assert "latitude 48.25" in " ".join(one.subject for one in flags_of(done.attrs))
    for member in (0, 1):
        for latitude in (48.0, 48.25):
            here = {"number": member, "latitude": latitude}
            assert_place_is(done.sel(here), airfield_index(grid.sel(here), orientation=WALLS))


def test_time_in_chunks_is_refused_with_the_cure_and_one_place_is_not(three):
    with pytest.raises(RefusalError, match=r"\.chunk\(time=-1, place=1\)"):
        airfield_index(three.chunk(time=5000), orientation=0)
    one = three.sel(place="Quay")
    xr.testing.assert_identical(
        airfield_index(one.chunk(time=5000), orientation=WALLS), airfield_index(one, orientation=WALLS)
    )


def test_weights_of_places_are_their_own():
    both = side_by_side("place", "AB", [steady(), steady()])
    weight = xr.DataArray(np.ones((2, 12)), dims=("place", "terrain_sector"))
    weight[1, 8] = 0.5  # sector 8 holds 240 degrees
    index = airfield_index(both, orientation=240, sector_weight=weight)
    np.testing.assert_allclose(index["airfield_annual_index"][:, 0], [100, 50])
    with pytest.raises(RefusalError, match="terrain_sector"):
        airfield_index(both, orientation=240, sector_weight=weight.rename(terrain_sector="sector"))


@pytest.mark.parametrize(
    ("term", "unit", "scale"),
    [
        ("rain", "kg m-2", 1.0), ("rain", "kg m**-2", 1.0), ("rain", "m", 0.001), ("rain", "mm h-1", 1.0),
        ("rain", "kg m-2 s-1", 1 / 3600), ("wind_speed", "m/s", 1.0), ("wind_speed", "m s**-1", 1.0),
        ("wind_speed", "km h-1", 3.6), ("wind_from_direction", "degrees", 1.0),
        ("wind_from_direction", "degrees_true", 1.0), ("wind_from_direction", "radian", np.pi / 180),
    ],
)  # fmt: skip
def test_usual_units_are_read_by_their_declaration(term, unit, scale):
    climate = steady()
    climate[term] = (climate[term] * scale).assign_attrs(units=unit)
    index = airfield_index(climate, orientation=[240, 300])
    np.testing.assert_allclose(index["airfield_annual_index"], [100, 50], rtol=1e-9)  # by hand, as above


@pytest.mark.parametrize(
    ("term", "unit"), [("rain", "degree"), ("wind_speed", "mm"), ("rain", None), ("wind_from_direction", "")]
)
def test_units_of_something_else_or_none_are_refused(term, unit):
    climate = steady()
    climate[term].attrs = {} if unit is None else {"units": unit}
    with pytest.raises(RefusalError, match=term):
        airfield_index(climate, orientation=240)


@pytest.mark.parametrize(
    ("given", "degrees"),
    [
        ("north", [0]), (["north", "south-west", "NNE"], [0, 225, 22.5]), (["South West", "wsw"], [225, 247.5]),
        (["north_north_east"], [22.5]), (240, [240]), (np.array([10, 20]), [10, 20]), (range(2), [0, 1]),
        (xr.DataArray([np.pi], attrs={"units": "radian"}), [180]), (xr.DataArray(90.0), [90]),
        (xr.DataArray(["east", "west"]), [90, 270]),
    ],
)  # fmt: skip
def test_orientations_as_numbers_names_and_arrays(given, degrees):
    index = airfield_index(steady(), orientation=given)
    np.testing.assert_allclose(index["orientation"], degrees)


@pytest.mark.parametrize(
    "given",
    [["up"], [], [[0, 90]], np.nan, [True], None, xr.DataArray([1.0], attrs={"units": "mm"}), b"north"],
)
def test_orientations_that_are_none_are_refused(given):
    with pytest.raises(RefusalError, match=r"orient|wall faces"):
        airfield_index(steady(), orientation=given)


def test_an_index_comes_back_from_a_file_with_its_doubts(three, tmp_path):
    for climate in (three, three.sel(place="Hill")):
        index = airfield_index(climate, orientation=WALLS)
        index.to_netcdf(tmp_path / "index.nc")
        with xr.open_dataset(tmp_path / "index.nc") as back:
            assert back.attrs["Conventions"].startswith("CF-")
            again = flags_of(back.attrs)
            for name in index.data_vars:
                np.testing.assert_array_equal(back[name], index[name])
                assert back[name].attrs["units"]
                assert back[name].attrs["long_name"]
        before = flags_of(index.attrs)
        assert len(before) > 1
        assert again == before
        assert [(one.key, one.subject, one.numbers) for one in again] == [
            (one.key, one.subject, one.numbers) for one in before
        ]
        (tmp_path / "index.nc").unlink()


def test_a_record_is_checked_once_and_its_cosines_worked_out_once(monkeypatch):
    from exposure.rain import record as module

    asked = []
    whole = module.facing_cosine
    monkeypatch.setattr(
        module, "facing_cosine", lambda winds, facing: asked.append(facing) or whole(winds, facing)
    )
    checked = []
    hourly = module.check_hourly
    monkeypatch.setattr(module, "check_hourly", lambda hours: checked.append(1) or hourly(hours))
    walls = tuple(
        exposure.Wall(
            name=f"wall {i}", orientation=i * 90.0 + 13, length=5, height=6, shape="two-storey gable"
        )
        for i in range(4)
    )
    site = exposure.Site("Field", 48.4, -29.7, terrain=("I", "II", "III") * 4)
    exposure.assess_building(stormy(1), exposure.Building("House", walls), site)
    assert len(checked) == 1
    assert len(asked) == len(set(asked)) == 4 + 36  # the walls' own and those of the rose, each once


def test_one_rule_of_percentile_and_gumbel_whether_or_not_years_are_left_out():
    maxima = np.random.default_rng(5).gamma(3, 20, (17, 4))
    left_out = np.insert(maxima, 3, 1e9, axis=0)  # a year that does not count
    counts = np.arange(18)[:, None] != 3
    np.testing.assert_array_equal(percentile_value(left_out, counts), percentile_value(maxima))
    np.testing.assert_allclose(
        gumbel_value(left_out, SPELL_RETURN, counts), gumbel_value(maxima, SPELL_RETURN), rtol=1e-12
    )
    assert np.isnan(percentile_value(left_out, counts & False)).all()


def test_one_rule_of_coverage_for_index_and_pressure():
    climate = steady(rainy=8760)
    whole = climate["time"].size
    for missing, counts in (
        (round(whole * (1 - LEAST_COVERAGE)), True),
        (round(whole * (1 - LEAST_COVERAGE)) + 1, False),
    ):
        cut = climate.isel(time=slice(None, whole - missing))
        for ask in (airfield_index, exposure.wall_pressures):
            if counts:
                assert ask(cut, orientation=[240])
            else:
                with pytest.raises(RefusalError, match="no year"):
                    ask(cut, orientation=[240])


def test_several_places_are_no_single_record(three):
    with pytest.raises(RefusalError, match=r"several places.*climate\.isel\(place=0\)"):
        record_of(three)
    with pytest.raises(RefusalError, match="several places"):
        exposure.wall_pressures(three, orientation=[0])


def test_every_flag_is_a_doubt_with_a_key(three):
    assert all(isinstance(one, Doubt) for one in flags_of(airfield_index(three, orientation=0).attrs))


# ------------------------------------------------------------------ one way in for an open Dataset


@pytest.fixture(scope="module")
def era5_like() -> xr.Dataset:
    """Two members on a grid of two by two cells, named and measured as ERA5 is; each cell has weather of its own."""
    weather = invented_weather(hours=2 * 8760)
    grid = invented_grid(weather, latitudes=(50.25, 50.0), longitudes=(-10.0, -9.75))
    north, east = xr.DataArray([1.0, 1.3], dims="latitude"), xr.DataArray([1.0, 0.7], dims="longitude")
    members = xr.DataArray([1.0, 1.15], {"number": [0, 1]}, "number")
    units = {name: grid[name].attrs for name in grid}
    grid = grid.assign(
        tp=grid["tp"] * north, u10=grid["u10"] * east * members, v10=grid["v10"] * east * members
    )
    for name, attrs in units.items():
        grid[name].attrs = attrs
    return grid.astype("float32").rename(time="valid_time")


def test_a_grid_in_memory_or_lazy_and_its_single_cells_are_one_answer(era5_like):
    walls = exposure.compass_orientations(12)
    lazy = exposure.open_climate(era5_like.isel(number=0, drop=True).chunk(latitude=1, longitude=1))
    assert lazy["rain"].chunks is not None
    assert has_doubt(flags_of(lazy.attrs), "climate.many_places")
    whole = exposure.open_climate(era5_like)
    assert whole.sizes == {"number": 2, "latitude": 2, "longitude": 2, "time": 17520}
    index = airfield_index(whole, orientation=walls)
    np.testing.assert_array_equal(
        airfield_index(lazy, orientation=walls)["airfield_spell_index"].transpose(*AXES),
        index["airfield_spell_index"].isel(number=0).transpose(*AXES),
    )
    for member in (0, 1):
        for latitude in (50.25, 50.0):
            for longitude in (-10.0, -9.75):
                alone = exposure.open_climate(era5_like.isel(number=member), at=(latitude, longitude))
                assert not has_doubt(flags_of(alone.attrs), "climate.many_places")
                assert_place_is(
                    index.sel(number=member, latitude=latitude, longitude=longitude),
                    airfield_index(alone, orientation=walls),
                )


def test_the_streaming_pass_over_a_store_is_the_same_answer(era5_like, tmp_path):
    pytest.importorskip("zarr")
    from exposure.region.region_index import index_region

    places = era5_like.stack(place=("latitude", "longitude"), create_index=False)
    listed = airfield_index(
        exposure.open_climate(places.drop_vars(["latitude", "longitude"])),
        orientation=exposure.compass_orientations(12),
    )
    lazy = airfield_index(
        exposure.open_climate(era5_like.chunk(number=1, latitude=1, longitude=2)),
        orientation=exposure.compass_orientations(12),
    )
    assert lazy["airfield_spell_index"].chunks is not None
    lazy = lazy.compute()
    for member in (0, 1):
        own = era5_like.isel(number=member, drop=True)
        if member == 0:  # by the name of a file, and as an open lazy Dataset
            own.to_netcdf(tmp_path / "member0.nc")
        store = index_region(
            tmp_path / "member0.nc" if member == 0 else own.chunk(valid_time=5000, latitude=1),
            tmp_path / f"out{member}",
            orientations=12,
            progress=False,
            threads=1,
        )
        with xr.open_zarr(store) as streamed:
            for name in (
                "airfield_annual_index",
                "airfield_spell_index",
                "airfield_spell_index_percentile",
                "airfield_spell_index_gumbel",
            ):
                expected = streamed[name].transpose(*AXES).values
                assert expected.min() >= 0
                assert expected.max() > 10
                slack = {"rtol": 1e-5, "atol": 1e-6 * expected.max()}
                here = lazy[name].sel(
                    number=member, latitude=streamed["latitude"], longitude=streamed["longitude"]
                )
                np.testing.assert_allclose(here.transpose(*AXES), expected, **slack)
                in_row = listed[name].isel(number=member).transpose("place", "orientation")
                np.testing.assert_allclose(
                    in_row.values.reshape(2, 2, 12),
                    lazy[name].sel(number=member).transpose(*AXES),
                    rtol=1e-12,
                )
            assert streamed.attrs["wet_hour_mm"] == lazy.attrs["wet_hour_mm"]
            assert streamed.attrs["kind"] == lazy.attrs["kind"] == "reanalysis"


def test_an_open_dataset_is_passed_over_as_it_is_and_not_as_its_file_was(era5_like, tmp_path):
    from exposure.region.region_index import index_region

    own = era5_like.isel(number=0, drop=True).isel(valid_time=slice(0, 8760))
    own.to_netcdf(tmp_path / "grid.nc", encoding={name: {"chunksizes": (8760, 1, 1)} for name in own})
    with xr.open_dataset(tmp_path / "grid.nc") as opened:
        turned = opened.isel(latitude=slice(None, None, -1))  # xarray still says that it comes from that file
        wetter = turned.assign(tp=(turned["tp"] * 1.5).assign_attrs(turned["tp"].attrs))
        how = {"orientations": 4, "progress": False, "threads": 1}
        by_file = xr.open_zarr(index_region(tmp_path / "grid.nc", tmp_path / "file", **how)).load()
        as_turned = xr.open_zarr(index_region(turned, tmp_path / "turned", **how)).load()
        name = "airfield_annual_index"
        assert by_file[name].isel(latitude=1).max() > 1.2 * by_file[name].isel(latitude=0).max() > 0
        np.testing.assert_array_equal(as_turned[name].sel(latitude=by_file["latitude"]), by_file[name])
        assert as_turned.attrs["source"].endswith("(the Dataset)")
        index_region(turned, tmp_path / "turned", **how)  # finished work is known again by its values
        with pytest.raises(RefusalError, match="the Dataset holds other values"):
            index_region(wetter, tmp_path / "turned", **how)
        with pytest.raises(RefusalError, match="to be worked on by a cluster"):
            index_region(turned, tmp_path / "cluster", dask="tcp://127.0.0.1:1", **how)


def test_totals_since_midnight_are_taken_apart_for_every_place(era5_like):
    grid = era5_like.isel(number=0, drop=True)
    ends = pd.DatetimeIndex(grid["valid_time"].values)
    day = (ends - pd.Timedelta(hours=1)).normalize()  # the stamp at 00 UTC ends the day before
    rain = grid["tp"].values
    totals = np.concatenate([np.cumsum(rain[day == one], axis=0) for one in day.unique()])
    land = grid.assign(tp=grid["tp"].copy(data=totals)).assign_attrs(title="ERA5-Land")
    climate = exposure.open_climate(land)
    expected = exposure.open_climate(grid)["rain"]  # the hours as they were before they were added up
    np.testing.assert_allclose(climate["rain"].transpose(*expected.dims), expected, atol=1e-4)
    assert has_doubt(flags_of(climate.attrs), "climate.rain_since_midnight")


def test_members_at_a_point_say_how_far_the_cell_lies(era5_like):
    climate = exposure.open_climate(era5_like, at=(50.2, -9.8))
    assert climate["rain"].sizes == {"number": 2, "time": 17520}
    assert (climate.attrs["latitude"], climate.attrs["longitude"]) == (50.25, -9.75)
    assert has_doubt(flags_of(climate.attrs), "climate.nearest_cell")


def test_a_grid_of_many_places_split_in_time_is_refused_with_the_cure(era5_like):
    with pytest.raises(RefusalError, match=r"\.chunk\(valid_time=-1, latitude=1, longitude=1, number=1\)"):
        exposure.open_climate(era5_like.chunk(valid_time=5000))


@pytest.mark.parametrize("given", [xr.Dataset(), xr.Dataset({"u10": 1.0})])
def test_a_dataset_without_weather_is_refused(given):
    with pytest.raises(RefusalError, match="wind at 10 m"):
        exposure.open_climate(given)


def test_a_climate_comes_back_from_a_file_as_it_was(tmp_path):
    weather = invented_weather(hours=8760)
    weather.iloc[300:310, 0] = np.nan
    bare = exposure.open_climate(station_csv(weather))
    placed = exposure.open_climate(invented_grid(weather), mast_height=20)  # corrected once, never again
    for climate in (bare, placed):
        path = tmp_path / f"{climate.attrs['format']}.nc"
        climate.to_netcdf(path)
        climate.to_zarr(path.with_suffix(".zarr"))
        assert len(flags_of(climate.attrs)) > 0
        for again in (
            exposure.open_climate(path),
            exposure.open_climate(path.with_suffix(".zarr")),
            exposure.open_climate(xr.open_zarr(path.with_suffix(".zarr"))),
            exposure.open_climate(xr.open_dataset(path)),
            exposure.open_climate(climate),
        ):
            again.attrs.pop("file", None)  # the name of the file it was read from now
            xr.testing.assert_identical(again, climate)
            assert [one.key for one in flags_of(again.attrs)] == [one.key for one in flags_of(climate.attrs)]
            assert [one.numbers for one in flags_of(again.attrs)] == [
                one.numbers for one in flags_of(climate.attrs)
            ]


def said(call, *given, **more):
    """What a refusal says in full."""
    with pytest.raises(RefusalError) as refused:
        call(*given, **more)
    return str(refused.value)


NO_WALL = "; expected degrees clockwise from north, or a point of the compass such as 'north', 'south-west' or 'NNE'. Correct the orientation."  # fmt: skip


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["up"], "a wall faces 'up'" + NO_WALL),
        ("z" * 50, f"a wall faces {'z' * 40!r}" + NO_WALL),
        (b"north", "a wall faces \"b'north'\"" + NO_WALL),
        ([np.True_], "a wall faces 'True'" + NO_WALL),
        (np.inf, "a wall faces 'inf'" + NO_WALL),
        ([[0, 90]], "orientations along 2 dimensions; expected one orientation a wall, in one row. Give a list of them; the same walls are taken for every place."),
        ([], "no orientation; expected one a wall. Give the way each wall faces, such as 240."),
    ],
)  # fmt: skip
def test_why_an_orientation_is_refused_is_said_in_full(given, words):
    assert said(orientations_of, given) == words


def test_every_point_of_the_compass_is_known_by_letters_and_by_name():
    names = ["north", "north-north-east", "north-east", "east-north-east", "east", "east-south-east", "south-east", "south-south-east", "south", "south-south-west", "south-west", "west-south-west", "west", "west-north-west", "north-west", "north-north-west"]  # fmt: skip
    letters = ["".join(part[0] for part in name.split("-")) for name in names]
    degrees = (np.arange(16) * 22.5).tolist()
    for given in (names, letters, [name.upper().replace("-", "_") for name in names], [f"  {name.replace('-', ' ')} " for name in names]):  # fmt: skip
        assert orientations_of(given).tolist() == degrees
    assert orientations_of(["240", 1, np.float32(2.5)]).tolist() == [240.0, 1.0, 2.5]
    assert compass_orientations(36).tolist() == list(range(0, 360, 10))
    assert orientations_of(xr.DataArray([0.5 * np.pi, np.pi], attrs={"units": "radian"})) == pytest.approx(
        [90, 180]
    )


NAMED = "; expected hourly stamps along a dimension time. Name it time, as climate.rename(valid_time='time') does."


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda one: one.drop_vars("rain"), "the record holds wind_speed, wind_from_direction; expected rain, wind_speed and wind_from_direction (rain is missing). Name the columns or variables that hold them."),
        (lambda one: one.drop_vars(list(one.data_vars)), "the record holds nothing; expected rain, wind_speed and wind_from_direction (rain is missing). Name the columns or variables that hold them."),
        (lambda one: one.rename(time="valid_time"), "rain lies along valid_time; expected hourly values along a dimension time. Name it time, as climate.rename(valid_time='time') does."),
        (lambda one: one.isel(time=0), "rain lies along nothing; expected hourly values along a dimension time. Name it time, as climate.rename(valid_time='time') does."),
        (lambda one: one.drop_vars("time"), "the record has no axis of time" + NAMED),
        (lambda one: one.expand_dims(number=2), "the record holds several places (along number); expected one place. Choose one, such as climate.isel(number=0)."),
    ],
)  # fmt: skip
def test_why_a_dataset_is_no_record_is_said_in_full(change, words):
    assert said(record_of, change(steady())) == words


def test_a_record_holds_its_hours_as_they_came():
    climate = steady(rainy=3, year=2012).assign(wind_doubtful=("time", np.arange(8784) % 2))
    climate["wind_speed"][1] = np.nan
    climate["wind_from_direction"][2] = np.nan
    found = record_of(climate)
    assert (found.kind, found.calendar, found.attrs["source"]) == ("gauge", "proleptic_gregorian", "made up")
    assert found.wind_doubtful.dtype == bool
    assert found.wind_doubtful[:4].tolist() == [False, True, False, True]
    assert record_of(steady()).wind_doubtful is None
    assert record_of(found) is found
    clock = clock_of(climate)
    assert [part.size for part in (clock.rain, clock.wind_speed, clock.wind_from_direction)] == [0, 0, 0]
    assert clock.hours.tolist() == found.hours.tolist()
    assert found.wet.tolist() == [0, 2]  # a wind speed is needed, a direction is not
    assert found.head_on == pytest.approx([1.0, 1.0])
    assert found.steady.tolist() == [True, False]
    assert found.driving(0.0).tolist() == [0, 1]
    assert found.driving(1.0001).tolist() == [0, 1]  # within the slack of a tenth of a micrometre
    assert found.driving(1.001).tolist() == []
    assert found.cosine(300.0) == pytest.approx([0.5, 0.0])
    assert found.cosine(60.0).tolist() == [0.0, 0.0]
    assert found.hours_of_years.tolist() == [8784]
    both = record_of(xr.concat([steady(year=2010), steady(year=2011)], "time"))
    assert both.rows_of_years == {2010: slice(0, 8760), 2011: slice(8760, 17520)}
    assert both.hours_of_years.tolist() == [8760, 8760]
    for degrees in range(100):
        both.cosine(float(degrees))
    assert len(both._cosines) == 64
    assert both.cosine(99.0) == pytest.approx(np.full(200, np.cos(np.deg2rad(141))).clip(min=0))
    del climate.attrs["kind"]
    assert record_of(climate).kind == "gauge"


def test_units_come_out_as_ours_and_attributes_stay():
    climate = steady()
    climate["rain"] = (climate["rain"] / 1000).assign_attrs(units="m")
    found = in_our_units(climate)
    assert {name: one.attrs["units"] for name, one in found.items()} == UNITS
    assert found.attrs == climate.attrs
    assert list(found) == ["rain", "wind_speed", "wind_from_direction"]
    assert float(found["rain"][0]) == pytest.approx(1.0)


def test_what_an_index_says_of_itself():
    climate = steady().assign_attrs(licence="free", file="a.csv")
    index = airfield_index(climate, orientation=[240.0], wet_hour=0.5)
    plain = {name: index.attrs[name] for name in ("kind", "source", "licence", "file", "wet_hour_mm", "unassigned_rain_mm", "Conventions")}  # fmt: skip
    assert plain == {"kind": "gauge", "source": "made up", "licence": "free", "file": "a.csv", "wet_hour_mm": 0.5, "unassigned_rain_mm": 0.0, "Conventions": "CF-1.8"}  # fmt: skip
    bare = dataset(steady().time.values, steady()["rain"].values, 4.5 + 0 * steady()["rain"].values, 240 + 0 * steady()["rain"].values)  # fmt: skip
    bare.attrs = {}
    told = airfield_index(bare, orientation=[240.0]).attrs
    assert (told["kind"], told["source"], told["licence"], "file" in told) == (
        "gauge",
        "not named",
        "not named",
        False,
    )
    assert [one.key for one in told["flags"]] == ["rain.few_years"]
    assert told["flags"][0].numbers == {"years": "1 year counts", "needed": 10}


def test_every_variable_and_axis_has_its_unit_and_meaning():
    many = airfield_index(side_by_side("place", "AB", [steady(), steady()]), orientation=[240.0])
    units = {name: one.attrs["units"] for name, one in many.items()}
    depth, yearly, share = "L m-2", "L m-2 year-1", "1"
    assert units == {
        "airfield_annual_index": yearly, "airfield_spell_index": depth, "airfield_spell_index_percentile": depth,
        "airfield_spell_index_gumbel": depth, "airfield_spell_index_any_rain": depth, "airfield_annual_index_by_sector": yearly,
        "yearly_annual_index": units["yearly_annual_index"], "yearly_spell_maximum": depth, "hours_scaling": share, "rain_scaling": share,
        "coverage": share, "counted_rain": "mm", "unassigned_rain": "mm", "gap_beside_spell": share, "record_hours": "h",
    }  # fmt: skip
    meanings = {name: many[name].attrs["long_name"] for name in ("hours_scaling", "counted_rain", "unassigned_rain", "year", "record_year", "terrain_sector", "record_hours")}  # fmt: skip
    assert meanings == {
        "hours_scaling": "factor on a year's driving rain for hours whose rain is not known",
        "counted_rain": "rain of all years that count, where known",
        "unassigned_rain": "the part of it that fell with a wind speed and no direction",
        "year": "years of the record; missing where one does not count for a place",
        "record_year": "years of the record",
        "terrain_sector": "sector of 30 degrees the wind comes from, by its middle",
        "record_hours": "stamps in the year",
    }  # fmt: skip
    assert many["airfield_spell_index_any_rain"].attrs["long_name"].endswith(", counting every trace of rain")
    assert (
        many["airfield_spell_index_any_rain"]
        .attrs["long_name"]
        .startswith("rain driven onto a wall in an open")
    )
    assert many["terrain_sector"].attrs["units"] == many["orientation"].attrs["units"] == "degree"
    assert many["terrain_sector"].values.tolist() == [30.0 * k for k in range(12)]
    assert many["record_hours"].values.tolist() == [8760]
    assert (many.attrs["kind"], many.attrs["source"], many.attrs["licence"], many.attrs["wet_hour_mm"]) == ("gauge", "made up", "not named", 0.0)  # fmt: skip
    one = airfield_index(steady(), orientation=[240.0])
    assert one["year"].attrs["long_name"] == "years that count"
    assert one["orientation"].attrs["long_name"] == many["orientation"].attrs["long_name"] != ""


WEIGHTS = "; expected twelve numbers of zero or more{}. Give one for each 30 degrees."


@pytest.mark.parametrize(
    ("weight", "words"),
    [
        ([1.0] * 11, f"sector weights are {[1.0] * 11}" + WEIGHTS.format("")),
        ([-0.1] + [1.0] * 11, f"sector weights are {[-0.1] + [1.0] * 11}" + WEIGHTS.format("")),
        ([np.inf] + [1.0] * 11, f"sector weights are {[np.inf] + [1.0] * 11}" + WEIGHTS.format("")),
    ],
)
def test_why_weights_are_refused_is_said_in_full(weight, words):
    for climate in (steady(), steady().expand_dims(place=2)):
        assert said(airfield_index, climate, orientation=240, sector_weight=weight) == words
    assert (
        airfield_index(steady(), orientation=240, sector_weight=[0.0] * 12)["airfield_annual_index"][0] == 0
    )


def test_weights_of_places_are_refused_in_full_and_their_labels_do_not_matter():
    both = steady().expand_dims(place=["A", "B"])
    weight = xr.DataArray(np.ones((2, 12)), dims=("place", "terrain_sector"))
    tail = WEIGHTS.format(" along terrain_sector, for each place")
    short = weight.isel(terrain_sector=slice(11))
    assert said(airfield_index, both, orientation=240, sector_weight=short) == f"sector weights of shape {dict(short.sizes)}" + tail  # fmt: skip
    for wrong in (-1.0, np.nan):
        assert said(airfield_index, both, orientation=240, sector_weight=weight * wrong) == f"sector weights of shape {dict(weight.sizes)}, one missing or below zero" + tail  # fmt: skip
    labelled = (0 * weight).assign_coords(terrain_sector=np.arange(12))  # labels of its own, as numbers
    assert (airfield_index(both, orientation=240, sector_weight=labelled)["airfield_annual_index"] == 0).all()
    one_row = xr.DataArray(np.full(12, 0.5), dims="terrain_sector")
    index = airfield_index(both, orientation=240, sector_weight=one_row)
    np.testing.assert_allclose(index["airfield_annual_index"], 50)


def test_variable_winds_take_the_mean_of_all_weights():
    weight = np.arange(12.0)  # mean 5.5; sector 8 holds 240 degrees
    climate = steady(rainy=2)
    climate["wind_from_direction"][1] = np.nan
    index = airfield_index(climate, orientation=[240.0], sector_weight=weight)
    assert float(index["airfield_annual_index"][0]) == pytest.approx(8 + 5.5 / np.pi)
    assert float(index["airfield_annual_index_by_sector"][8, 0]) == pytest.approx(8)
    assert float(index["yearly_spell_maximum"][0, 0]) == pytest.approx(8)
    assert index.attrs["unassigned_rain_mm"] == 1.0


def test_no_place_with_a_year_is_refused_in_full():
    dead = side_by_side("place", "AB", [steady(rain=np.nan, rainy=8760)] * 2)
    assert said(airfield_index, dead, orientation=0) == (
        "no place has a year that counts; expected at least one with rain known in 90% of a year's hours and wind in as "
        "much of its rain. Use a longer or more complete record."
    )


def test_places_are_named_by_their_labels_and_doubts_carry_their_figures():
    dead = steady(rain=np.nan, rainy=8760)
    dead["rain"][:4380] = 0.0
    four = side_by_side("latitude", [48.25, -3.5, 7.0, 8.0], [steady(), dead, steady(rain=0.0), steady(direction=np.nan)])  # fmt: skip
    index = airfield_index(four.expand_dims(member=["a"]), orientation=[240.0])
    told = {(one.key, one.subject): one.numbers for one in flags_of(index.attrs)}
    assert told[("rain.few_years", "a, latitude 48.25")] == {"years": "1 year counts", "needed": 10}
    assert told[("rain.no_year", "a, latitude -3.5")] == {"least": 0.9, "best": 0.5}
    assert told[("rain.never_rains", "a, latitude 7")] == {}
    assert told[("rain.no_direction", "a, latitude 8")] == {"share": 1.0, "rain": 100.0}
    assert len(told) == 6
    bare = airfield_index(four.drop_vars("latitude"), orientation=[240.0])
    assert {one.subject for one in flags_of(bare.attrs)} == {f"latitude {k}" for k in range(4)}
    days = four.assign_coords(latitude=np.array(["2001-01-01", "2002-01-01", "2003-01-01", "2004-01-01"], dtype="datetime64[ns]"))  # fmt: skip
    assert any(one.subject.startswith("latitude 2001-01-01T00") for one in flags_of(airfield_index(days, orientation=240).attrs))  # fmt: skip
    np.testing.assert_array_equal(index["counted_rain"].values.ravel(), [100, np.nan, 0, 100])
    typical = airfield_index(
        steady(rain=0.0).expand_dims(place=1).assign_attrs(kind="typical year"), orientation=240
    )
    assert [one.key for one in flags_of(typical.attrs)] == ["rain.typical_year"]


def test_of_twenty_places_all_are_told():
    flags = flags_of(airfield_index(steady().expand_dims(place=20), orientation=240).attrs)
    assert len(flags) == 20
    more = flags_of(airfield_index(steady().expand_dims(place=21), orientation=240).attrs)[-1]
    assert more.numbers == {"more": 1, "of": 21, "example": str(flags[0])}


@pytest.mark.parametrize("calendar", ["360_day", "standard"])
def test_a_calendar_of_360_days_is_told_once_for_all_places(calendar):
    last = 30 if calendar == "360_day" else 31
    time = xr.date_range("2001-01-01T00", f"2001-12-{last}T23", freq="h", calendar=calendar, use_cftime=True)
    one = dataset(time, np.ones(len(time)), np.full(len(time), 4.5), np.full(len(time), 240.0))
    keys = [flag.key for flag in flags_of(airfield_index(one.expand_dims(place=2), orientation=240).attrs)]
    assert keys == (["rain.calendar_360"] if calendar == "360_day" else []) + ["rain.few_years"] * 2


FIGURES = {
    "kind": "gauge", "calendar": "standard", "counted": range(2001, 2011), "left_out": [], "rain": 1000.0, "unassigned": 0.0,
    "near_gap": [], "orientation": np.array([10.0, 20.0, 30.0]), "spell": np.array([10.0, 20.0, 40.0]),
    "any_rain": np.array([10.0, 20.0, 40.0]), "threshold": 0.1,
}  # fmt: skip


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({}, {}),
        ({"kind": "typical year", "counted": [2001]}, {"rain.typical_year": {}}),
        ({"counted": range(9)}, {"rain.few_years": {"years": "9 years count", "needed": 10}}),
        ({"counted": [2001]}, {"rain.few_years": {"years": "1 year counts", "needed": 10}}),
        ({"left_out": [2003, 2005]}, {"rain.years_left_out": {"years": "2003, 2005", "least": 0.9}}),
        ({"unassigned": 50.0}, {}),
        ({"unassigned": 51.0}, {"rain.no_direction": {"share": 0.051, "rain": 51.0}}),
        ({"near_gap": [2001, 2002]}, {"rain.gap_beside_spell": {"gap": 96, "years": "2001, 2002"}}),
        ({"any_rain": np.array([11.0, 22.0, 44.0])}, {}),
        ({"any_rain": np.array([11.1, 22.3, 40.0])}, {"rain.light_rain": {"facing": 20.0, "without": 22.3, "with_it": 20.0, "threshold": 0.1, "share": pytest.approx(2 / 3)}}),
        ({"any_rain": np.array([11.1, 20.0, 43.9])}, {"rain.light_rain": {"facing": 10.0, "without": 11.1, "with_it": 10.0, "threshold": 0.1, "share": pytest.approx(1 / 3)}}),
        ({"any_rain": np.array([99.0, 99.0, 99.0]), "threshold": 0.0}, {}),
        ({"calendar": "360_day"}, {"rain.calendar_360": {}}),
    ],
)  # fmt: skip
def test_what_a_record_leaves_open_by_its_figures(change, told):
    assert {one.key: one.numbers for one in doubts_of_index(IndexFigures(**{**FIGURES, **change}))} == told


def test_years_left_out_are_told_where_they_matter():
    years = np.array([2010, 2011, 2012, 2013])
    none = np.zeros(4, dtype=bool)
    assert years_left_out(years, none, np.array([23, 1, 24, 23])) == [2011, 2012]
    assert years_left_out(years, none, np.array([24, 1, 24, 24])) == [2010, 2011, 2012, 2013]
    assert years_left_out(years, ~none, np.array([24, 1, 24, 24])) == []


@pytest.mark.filterwarnings("error")
def test_the_account_of_years_by_hand():
    account = account_of_years(
        years=[2011, 2012, 2013], calendar="standard", hours_known=np.array([7884.0, 9000.0, 0.0]),
        rain=np.array([100.0, 0.0, 50.0]), rain_with_wind=np.array([80.0, 0.0, 0.0]),
    )  # fmt: skip
    assert account.coverage.tolist() == [0.9, 1.0, 0.0]  # never more than the whole year
    assert account.rain_known_with_wind.tolist() == [0.8, 1.0, 0.0]
    np.testing.assert_allclose(account.hours_scaling, [1 / 0.9, 1.0, np.nan])
    np.testing.assert_allclose(account.rain_scaling, [1.25, 1.0, np.nan])
    assert account.counts.tolist() == [False, True, False]
    cells = account_of_years(years=[2012, 2013], calendar="noleap", hours_known=np.array([[8760.0, 8000.0, 4380.0]] * 2), rain=np.ones((2, 3)), rain_with_wind=np.ones((2, 3)))  # fmt: skip
    np.testing.assert_allclose(cells.coverage, [[1, 8000 / 8760, 0.5]] * 2)
    assert cells.counts.tolist() == [[True, True, False]] * 2
    typical = account_of_years(years=[2012], calendar="standard", hours_known=np.array([8760.0]), rain=np.ones(1), rain_with_wind=np.ones(1), kind="typical year")  # fmt: skip
    assert typical.coverage.tolist() == [1.0]
    assert year_counts(0.9, 0.9)
    assert not year_counts(0.9, 0.8999)
    assert whole_year(2011, "standard") == 8760
    assert whole_year(2012, "360_day") == 8640
