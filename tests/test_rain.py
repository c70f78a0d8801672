"""Airfield indices: each expected number comes by hand, by symmetry, by page or by a second method."""

import statistics

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from builders import climate_of
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import agrees, checks_about, inputs_of

from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.rain.extremes import gumbel_factor, gumbel_value, percentile_value
from exposure.rain.hour import hourly_driving_rain, terrain_sector, wet_hour_threshold
from exposure.rain.index import airfield_index, compass_orientations
from exposure.rain.spells import find_spells


def record(time, rain, speed, direction, kind="gauge"):
    """A climate Dataset from plain arrays; numbers spread over all hours."""
    return climate_of(
        time,
        rain=rain,
        wind_speed=speed,
        wind_from_direction=direction,
        kind=kind,
        source="made in a test",
        licence="none",
    )


def years(first, last, calendar="standard"):
    return xr.date_range(
        f"{first}-01-01T00",
        f"{last}-12-{30 if calendar == '360_day' else 31}T23",
        freq="h",
        calendar=calendar,
    )


def one_hour(*, wind_speed, rain, turn):
    return float(
        hourly_driving_rain(
            rain=rain, wind_speed=wind_speed, wind_from_direction=200.0 + turn, orientation=200.0
        )
    )


@pytest.mark.parametrize("name", checks_about("rain", "hour-"))
def test_one_hour_by_hand(name):
    given = inputs_of(name)
    for turn in (given["turn"], -given["turn"]):  # from either side
        agrees(np.round(one_hour(**given | {"turn": turn}), 12), name)


def test_an_hour_along_the_wall_hits_it_in_neither_sense():
    assert one_hour(wind_speed=10, rain=1, turn=180) == 0
    time = years(2010, 2010)
    index = airfield_index(record(time, np.where(np.arange(len(time)) < 50, 1.0, 0), 10, 90), orientation=[0])
    assert float(index["yearly_spell_maximum"].max()) == 0.0


def test_rain_exponent_by_hand():
    much, little = (one_hour(wind_speed=1, rain=rain, turn=0) for rain in inputs_of("exponent-exact")["rain"])
    agrees(much / little, "exponent-exact")


def test_one_year_by_hand():
    given = inputs_of("year")
    time = years(2010, 2010)
    hour = np.arange(len(time))
    wet = np.where((hour % 80 == 0) & (hour < 80 * given["hours"]), given["rain"], 0.0)
    index = airfield_index(record(time, wet, given["wind_speed"], 240), orientation=[240])
    agrees(index["airfield_annual_index"], "year")


def test_four_wet_years_of_five_by_hand():
    given = inputs_of("year-of-five")
    time = years(2010, 2014)
    stamps = pd.DatetimeIndex(time)
    hour_of_year = (stamps.day_of_year - 1) * 24 + stamps.hour
    wet = np.where((hour_of_year < given["hours"]) & (stamps.year != given["dry_year"]), given["rain"], 0.0)
    index = airfield_index(record(time, wet, given["wind_speed"], 240), orientation=[240])
    agrees(index["airfield_annual_index"], "year-of-five")


@pytest.mark.parametrize("orientation", [0.0, 17.0, 123.4])
def test_wind_from_everywhere_by_symmetry(orientation):
    around = np.arange(0, 360, 0.5)
    hourly = hourly_driving_rain(
        **inputs_of("uniform-rose"), wind_from_direction=around, orientation=orientation
    )
    agrees(hourly.mean(), "uniform-rose")


@pytest.mark.parametrize("name", ["spell-95-dry", "spell-96-dry"])
def test_96_dry_hours_part_spells(name):
    wet = np.array([10, 10 + inputs_of(name)["dry"] + 1])
    agrees(find_spells(wet, np.array([1.0, 2.0])).total.size, name)


@pytest.mark.parametrize("name", checks_about("rain", "new-year-"))
def test_a_spell_belongs_to_the_year_of_its_last_hit(name):
    given = inputs_of(name)
    climate = record(years(2011, 2012), 0, given["wind_speed"], 240)
    for hour, rain in given["rain"].items():
        climate["rain"].loc[{"time": hour}] = rain
    found = airfield_index(climate, orientation=[240])["yearly_spell_maximum"].values[:, 0]
    agrees(found, name)


@pytest.mark.parametrize("name", [name for name in checks_about("rain", "gumbel-") if name != "gumbel-value"])
def test_gumbel_factor(name):
    agrees(gumbel_factor(inputs_of(name)["years"]), name)


def test_gumbel_against_a_general_library():
    stats = pytest.importorskip("scipy.stats")
    mean, deviation, between = inputs_of("gumbel-value").values()
    scale = deviation * np.sqrt(6) / np.pi
    there = stats.gumbel_r.ppf(1 - 1 / between, loc=mean - np.euler_gamma * scale, scale=scale)
    agrees(there, "gumbel-value")
    maxima = np.array(
        [mean - deviation / np.sqrt(2), mean + deviation / np.sqrt(2)]
    )  # mean and deviation as given
    np.testing.assert_allclose(gumbel_value(maxima, between), there, rtol=1e-12)


def test_spell_index_from_ten_maxima():
    agrees(percentile_value(np.array(inputs_of("spell-percentile")["maxima"], float)), "spell-percentile")
    given = inputs_of("spell-gumbel")
    agrees(gumbel_value(np.array(given["maxima"], float), given["years"]), "spell-gumbel")


def test_coverage_scales_annual_sums_and_never_spells():
    given = inputs_of("coverage")
    time = years(2010, 2010)
    rain = np.zeros(len(time))
    speed = np.full(len(time), 5.0)
    rain[: given["wet_hours"]] = 1.0
    speed[given["speed_known"] : given["wet_hours"]] = np.nan
    rain[2000 : 2000 + len(time) - given["known_hours"]] = np.nan
    raw = given["speed_known"] * 2 / 9 * 5
    index = airfield_index(record(time, rain, speed, 240), orientation=[240])
    agrees(float(index["airfield_annual_index"][0]) * given["annual"] / raw, "coverage")
    np.testing.assert_allclose(index["yearly_spell_maximum"].values, raw)
    np.testing.assert_allclose(index["coverage"], [0.95])


def test_variable_wind_is_spread_evenly_and_joins_no_spell():
    time = years(2010, 2010)
    given = inputs_of("variable-wind")
    rain = np.where(np.arange(len(time)) < 10, given["rain"], 0.0)
    index = airfield_index(record(time, rain, given["wind_speed"], np.nan), orientation=[0, 77])
    agrees(index["airfield_annual_index"] / 10, "variable-wind")
    assert float(index["yearly_spell_maximum"].max()) == 0.0
    assert index.attrs["unassigned_rain_mm"] == 10.0
    assert any("no wind direction" in flag for flag in index.attrs["flags"])


def test_threshold_owns_its_edge_and_follows_the_kind_of_record():
    time = years(2010, 2010)
    rain = np.zeros(len(time))
    rain[:20] = 0.1
    rain[100:120] = np.float32(0.0001) * np.float32(1000)  # 0.1 mm kept as float32 metres
    rain[200:220] = 0.09
    everything = airfield_index(record(time, rain, 9, 240), orientation=[240])
    counted = airfield_index(record(time, rain, 9, 240, kind="reanalysis"), orientation=[240])
    hour = 2 * 0.1 ** (8 / 9)
    np.testing.assert_allclose(counted["airfield_annual_index"], 40 * hour, rtol=1e-6)
    np.testing.assert_allclose(
        everything["airfield_annual_index"], 40 * hour + 20 * 2 * 0.09 ** (8 / 9), rtol=1e-6
    )
    assert wet_hour_threshold("invented") == 0.1


def test_a_record_that_does_not_say_its_kind_counts_every_wet_hour():
    # not known is the harder side: the threshold of 0.1 mm would drop this rain (2/9 of 10 m/s times r^(8/9))
    climate = record(years(2001, 2001), 0.05, 10.0, 200.0)
    del climate.attrs["kind"]
    index = airfield_index(climate, orientation=[200.0])
    assert index.attrs["wet_hour_mm"] == 0.0
    expected = 8760 * 2 / 9 * 10 * 0.05 ** (8 / 9)
    np.testing.assert_allclose(index["airfield_annual_index"], expected, rtol=1e-9)


def test_an_hour_too_weak_to_count_joins_no_spell():
    time = years(2010, 2010)
    rain = np.zeros(len(time))
    rain[[0, 150]] = 1.0
    rain[75] = 0.001  # 2/9 x 1 x 0.001^(8/9) = 0.00048 L/m2, below 0.001
    index = airfield_index(record(time, rain, 1, 240), orientation=[240])
    np.testing.assert_allclose(index["yearly_spell_maximum"].values, 2 / 9)
    np.testing.assert_allclose(index["airfield_annual_index"], 4 / 9)


def test_winds_on_ten_degree_steps_do_not_bridge_a_gap():
    time = years(2010, 2010)
    rain = np.zeros(len(time))
    direction = np.full(len(time), 200.0)
    rain[[0, 60, 120]] = 1.0
    direction[60] = 290.0  # exactly along a wall that faces 200
    index = airfield_index(record(time, rain, 9, direction), orientation=[200])
    np.testing.assert_allclose(index["yearly_spell_maximum"].values, 2.0)


def test_a_typical_year_is_one_year_to_its_last_hour():
    time = pd.date_range("2001-01-01T01", periods=8760, freq="h")
    rain = np.zeros(8760)
    rain[-1] = 1.0  # hour 24 of 31 December, stamped in the next year
    index = airfield_index(record(time, rain, 9, 240, kind="typical year"), orientation=[240])
    assert index["year"].values.tolist() == [2001]
    np.testing.assert_allclose(index["airfield_annual_index"], 2.0 * 0 + 2.0)
    assert np.isnan(index["airfield_spell_index_gumbel"].values).all()


def test_a_calendar_without_29_february_misses_nothing():
    noleap = years(2012, 2012, calendar="noleap")
    index = airfield_index(record(noleap, 0.2, 9, 240), orientation=[240])
    np.testing.assert_allclose(index["coverage"], [1.0])
    skipped = [t for t in years(2012, 2012) if not (t.month == 2 and t.day == 29)]
    index = airfield_index(record(pd.DatetimeIndex(skipped), 0.2, 9, 240), orientation=[240])
    np.testing.assert_allclose(index["coverage"], [8760 / 8784])


def test_the_29_february_counts_in_a_gap():
    time = years(2012, 2012)
    climate = record(time, 0, 9, 240)
    climate["rain"].loc[{"time": "2012-02-28T00"}] = 1.0
    climate["rain"].loc[{"time": "2012-03-03T02"}] = 1.0  # 97 h later without 29 February, 121 h with it
    assert float(airfield_index(climate, orientation=[240])["yearly_spell_maximum"].max()) == 2.0
    table = climate.isel(time=~((climate.time.dt.month == 2) & (climate.time.dt.day == 29)).values)
    assert float(airfield_index(table, orientation=[240])["yearly_spell_maximum"].max()) == 2.0


def test_years_that_do_not_count_are_left_out_of_both():
    time = years(2010, 2012)
    rain = np.where(pd.DatetimeIndex(time).year == 2011, np.nan, 0.0)
    rain[100] = 1.0
    rain[9000:9100] = 50.0  # in 2011, the year with missing hours
    index = airfield_index(record(time, rain, 9, 240), orientation=[240])
    assert index["year"].values.tolist() == [2010, 2012]
    np.testing.assert_allclose(index["yearly_spell_maximum"].values[:, 0], [2.0, 0.0])
    np.testing.assert_allclose(index["airfield_annual_index"], 1.0)
    assert any("2011" in flag for flag in index.attrs["flags"])


def test_one_hour_of_the_next_year_is_no_year_left_out_and_a_day_is():
    """Stamps from 01:00 to 00:00 end with one hour in the next year."""

    def left_out(end):
        time = pd.date_range("2001-01-01T01:00", end, freq="h")
        rain = np.where(np.arange(time.size) % 200 == 0, 1.0, 0.0)
        index = airfield_index(record(time, rain, 5.0, 270.0), orientation=[270.0])
        return [
            flag.numbers["years"] for flag in index.attrs["flags"] if has_doubt([flag], "rain.years_left_out")
        ]

    assert left_out("2002-01-01T00:00") == []  # one hour of 2002
    assert left_out("2002-01-01T22:00") == []  # 23 hours
    assert left_out("2002-01-01T23:00") == ["2002"]  # 24 hours


def test_a_year_in_the_middle_with_few_hours_is_told_left_out():
    time = pd.date_range("2001-01-01T01:00", "2004-01-01", freq="h")
    time = time[(time.year != 2002) | (time.day_of_year == 180) & (time.hour < 5)]
    rain = np.where(np.arange(time.size) % 200 == 0, 1.0, 0.0)
    flags = airfield_index(record(time, rain, 5.0, 270.0), orientation=[270.0]).attrs["flags"]
    assert [flag.numbers["years"] for flag in flags if has_doubt([flag], "rain.years_left_out")] == ["2002"]


def test_a_long_gap_beside_the_largest_spell_is_flagged():
    time = years(2010, 2010)
    rain = np.zeros(len(time))
    rain[1000:1010] = 5.0
    rain[5000] = 0.5
    beside, apart = rain.copy(), rain.copy()
    beside[1050:1150] = np.nan
    apart[3000:3100] = np.nan
    flagged = [
        any(
            "may have been larger" in flag
            for flag in airfield_index(record(time, r, 9, 240), orientation=[240]).attrs["flags"]
        )
        for r in (beside, apart)
    ]
    assert flagged == [True, False]


@pytest.mark.parametrize("lost", ["rain", "wind", "row"])
def test_hours_missing_in_the_largest_spell_are_flagged(lost):
    # 20 rainy hours in the one spell of the year: two missing are a tenth of them, one is less
    time = years(2010, 2010)
    rain, wind = np.zeros(len(time)), np.full(len(time), 9.0)
    rain[1000:1020] = 5.0
    rain[5000:5004] = 0.5

    def flagged(at):
        r, v, rows = rain.copy(), wind.copy(), np.ones(len(time), dtype=bool)
        if lost == "rain":
            r[at] = np.nan
        elif lost == "wind":
            v[at] = np.nan
        else:
            rows[at] = False
        index = airfield_index(record(time[rows], r[rows], v[rows], 240), orientation=[240])
        return has_doubt(index.attrs["flags"], "rain.gap_beside_spell")

    assert flagged(slice(1008, 1010))
    assert not flagged(slice(1008, 1009))
    assert not flagged(slice(5001, 5003))  # in a lesser spell


def brute(climate, orientations, wet_hour=0.0):
    """A second way, hour by hour in plain Python: annual sums and yearly largest spells of whole years."""
    annual, largest = {}, {}
    for theta in orientations:
        total, last, kept = 0.0, None, []
        for stamp, r, v, d in zip(
            climate.time.values.astype("datetime64[h]").astype(int),
            climate.rain.values,
            climate.wind_speed.values,
            climate.wind_from_direction.values,
            strict=True,
        ):
            if not r > 0 or r < wet_hour - 1e-4 or 2 / 9 * v * r ** (8 / 9) < 0.001:
                continue
            year = 1970 + int(np.datetime64(int(stamp), "h").astype("datetime64[Y]").astype(int))
            share = 2 / 9 * v * r ** (8 / 9) * max(np.cos(np.radians(d - theta)), 0)
            annual[theta, year] = annual.get((theta, year), 0.0) + share
            if np.cos(np.radians(d - theta)) <= 1e-5:
                continue
            if last is not None and stamp - last - 1 >= 96:
                kept.append(
                    (1970 + int(np.datetime64(int(last), "h").astype("datetime64[Y]").astype(int)), total)
                )
                total = 0.0
            total, last = total + share, stamp
        if last is not None:
            kept.append(
                (1970 + int(np.datetime64(int(last), "h").astype("datetime64[Y]").astype(int)), total)
            )
        for year, amount in kept:
            largest[theta, year] = max(largest.get((theta, year), 0.0), amount)
    return annual, largest


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10**6), share=st.floats(0.002, 0.3), steps=st.sampled_from([1, 10, 45]))
def test_against_a_second_way_hour_by_hour(seed, share, steps):
    rng = np.random.default_rng(seed)
    time = years(2011, 2012)
    rain = np.where(rng.random(len(time)) < share, rng.choice([0.05, 0.1, 0.5, 3.0], len(time)), 0.0)
    direction = np.round(rng.random(len(time)) * 360 / steps) * steps % 360
    climate = record(time, rain, np.round(rng.random(len(time)) * 15, 1), direction)
    facing = [0.0, 90.0, 200.0, 313.7]
    annual, largest = brute(climate, facing)
    index = airfield_index(climate, orientation=facing)
    for w, theta in enumerate(facing):
        for y, year in enumerate((2011, 2012)):
            np.testing.assert_allclose(
                index["yearly_annual_index"][y, w], annual.get((theta, year), 0), rtol=1e-9
            )
            np.testing.assert_allclose(
                index["yearly_spell_maximum"][y, w], largest.get((theta, year), 0), rtol=1e-9
            )


@pytest.fixture(scope="module")
def stormy():
    rng = np.random.default_rng(7)
    time = years(2008, 2011)
    rain = np.where(rng.random(len(time)) < 0.12, rng.exponential(1.0, len(time)), 0.0)
    return record(
        time, rain, rng.weibull(2, len(time)) * 7, (230 + 50 * rng.standard_normal(len(time))) % 360
    )


@settings(max_examples=15, deadline=None)
@given(turn=st.floats(-360, 360))
def test_turning_wind_and_wall_together_changes_nothing(stormy, turn):
    turned = stormy.copy()
    turned["wind_from_direction"] = ((stormy["wind_from_direction"] + turn) % 360).assign_attrs(
        units="degree"
    )
    facing = np.array([10.0, 230.0])
    before, after = (
        airfield_index(stormy, orientation=facing),
        airfield_index(turned, orientation=facing + turn),
    )
    for name in ("airfield_annual_index", "airfield_spell_index", "yearly_spell_maximum"):
        np.testing.assert_allclose(after[name].values, before[name].values, rtol=1e-7, atol=1e-9)


@settings(max_examples=10, deadline=None)
@given(factor=st.floats(1.0, 4.0))
def test_wind_scales_both_indices_in_proportion(stormy, factor):
    windy = stormy.copy()
    windy["wind_speed"] = (stormy["wind_speed"] + 2).assign_attrs(units="m s-1")
    windy["rain"] = stormy["rain"].where((stormy["rain"] == 0) | (stormy["rain"] > 0.01), 0.01)  # all count
    harder = windy.copy()
    harder["wind_speed"] = (windy["wind_speed"] * factor).assign_attrs(units="m s-1")
    before, after = (airfield_index(one, orientation=[230.0, 30.0]) for one in (windy, harder))
    for name in ("airfield_annual_index", "airfield_spell_index", "yearly_spell_maximum"):
        np.testing.assert_allclose(after[name], factor * before[name], rtol=1e-9)


def test_opposite_walls_differ_by_one_cosine(stormy):
    facing = compass_orientations(36)
    annual = airfield_index(stormy, orientation=facing)["airfield_annual_index"].values
    difference = annual - np.roll(annual, 18)
    wave = np.stack([np.cos(np.deg2rad(facing)), np.sin(np.deg2rad(facing))], 1)
    fitted = wave @ np.linalg.lstsq(wave, difference, rcond=None)[0]
    np.testing.assert_allclose(difference, fitted, atol=1e-9 * annual.max())


def test_the_vector_identity(stormy):
    # by a second method: sum of w u and w v over the hours in front of the wall
    rain, speed = stormy["rain"].values, stormy["wind_speed"].values
    toward = np.deg2rad(270 - stormy["wind_from_direction"].values)
    u, v = speed * np.cos(toward), speed * np.sin(toward)
    theta = np.deg2rad(205.0)
    along = -(u * np.sin(theta) + v * np.cos(theta))
    weight = 2 / 9 * rain ** (8 / 9)
    driving = weight * speed >= 0.001
    total = (weight * along)[driving & (along > 0)].sum() / 4
    np.testing.assert_allclose(
        airfield_index(stormy, orientation=[205])["airfield_annual_index"], total, rtol=1e-9
    )


def test_sectors_add_up_and_equal_weights_are_a_plain_product(stormy):
    facing = [0.0, 222.0]
    index = airfield_index(stormy, orientation=facing)
    np.testing.assert_allclose(
        index["airfield_annual_index_by_sector"].sum("terrain_sector"),
        index["airfield_annual_index"],
        rtol=1e-12,
    )
    weighted = airfield_index(stormy, orientation=facing, sector_weight=np.full(12, 0.83))
    for name in ("airfield_annual_index", "airfield_spell_index", "airfield_spell_index_gumbel"):
        np.testing.assert_allclose(weighted[name], 0.83 * index[name], rtol=1e-12)


def test_a_weight_acts_on_the_sector_the_wind_comes_from(stormy):
    only_west = np.zeros(12)
    only_west[9] = 2.0  # 255 to 285 degrees
    index = airfield_index(stormy, orientation=[250], sector_weight=only_west)
    plain = airfield_index(stormy, orientation=[250])
    np.testing.assert_allclose(
        index["airfield_annual_index"], 2 * plain["airfield_annual_index_by_sector"][9], rtol=1e-12
    )
    assert terrain_sector([254.9, 255.0, 284.9, 285.0]).tolist() == [8, 9, 9, 10]


def test_daily_data_is_refused_with_the_reason():
    daily = record(pd.date_range("2010-01-01", "2012-12-31", freq="D"), 1, 5, 240)
    with pytest.raises(RefusalError, match="time steps are 24 h; expected hourly data"):
        airfield_index(daily, orientation=[0])


def test_half_hourly_data_is_refused_with_the_cure():
    half = record(pd.date_range("2010-01-01", "2010-12-31", freq="30min"), 1, 5, 240)
    with pytest.raises(RefusalError, match=r"not on the hour.*Sum the rain"):
        airfield_index(half, orientation=[0])


def test_foreign_units_are_named():
    climate = record(years(2010, 2010), 1, 5, 240)
    climate["rain"].attrs["units"] = "hPa"
    with pytest.raises(RefusalError, match="rain is in 'hPa'; expected a unit of rain"):
        airfield_index(climate, orientation=[0])


def test_unsorted_and_repeated_stamps_are_refused():
    climate = record(years(2010, 2010), 1, 5, 240)
    with pytest.raises(RefusalError, match="out of order"):
        airfield_index(climate.isel(time=[0, 2, 1, 3]), orientation=[0])
    with pytest.raises(RefusalError, match="twice"):
        airfield_index(climate.isel(time=[0, 1, 1, 3]), orientation=[0])


def test_a_record_without_one_good_year_is_refused():
    with pytest.raises(RefusalError, match="no year counts"):
        airfield_index(record(years(2010, 2010)[:5000], 1, 5, 240), orientation=[0])


def test_a_refused_record_tells_of_its_best_year():
    # two years of 8760 hours, rain known in 40 % of the first and 80 % of the second
    climate = record(years(2010, 2011), 1.0, 5.0, 240.0)
    climate["rain"][:5256] = np.nan
    climate["rain"][8760 : 8760 + 1752] = np.nan
    with pytest.raises(RefusalError) as refused:
        airfield_index(climate, orientation=[0])
    assert str(refused.value) == (
        "no year counts; the best, 2011, has rain in 80% of its hours and wind in 100% of its rain; "
        "expected at least one year with 90% of both. Use a longer or more complete record."
    )


@pytest.mark.parametrize("weights", [[1.0] * 11, [np.nan] * 12, [-1.0] * 12])
def test_wrong_sector_weights_are_refused(stormy, weights):
    with pytest.raises(RefusalError, match="twelve numbers"):
        airfield_index(stormy, orientation=[0], sector_weight=weights)


def two_spells_a_wall(rates, *, kind="gauge"):
    """One hour of rain in January of each year, onto a wall that faces 240; millimetres in ``rates``."""
    time = years(2001, 2000 + len(rates))
    rain = np.zeros(len(time))
    for number, rate in enumerate(rates):
        rain[np.flatnonzero(pd.DatetimeIndex(time).year == 2001 + number)[500]] = rate
    return record(time, rain, 9, 240, kind=kind)


@pytest.mark.parametrize("rates", [[1, 1, 1, 1, 1, 1, 1, 1, 1, 30], list(range(1, 11))])
def test_the_larger_estimate_is_the_one_that_is_shown(rates):
    # by the standard library: sorted maxima, mean and n - 1 spread; 2/9 x 9 m/s = 2 for each mm^(8/9)
    index = airfield_index(two_spells_a_wall(rates), orientation=[240])
    largest = sorted(2 * rate ** (8 / 9) for rate in rates)
    percentile = largest[6] + 0.03 * (largest[7] - largest[6])  # 67 % of nine steps is 6.03
    gumbel = statistics.mean(largest) + 0.2538 * statistics.stdev(largest)
    assert float(index["airfield_spell_index_percentile"][0]) == pytest.approx(percentile, rel=1e-6)
    assert float(index["airfield_spell_index_gumbel"][0]) == pytest.approx(gumbel, rel=1e-4)
    assert float(index["airfield_spell_index"][0]) == pytest.approx(max(percentile, gumbel), rel=1e-4)
    assert (gumbel > percentile) == (rates[0] == rates[1])  # one of each way round
    assert index["airfield_spell_index"].attrs["units"] == "L m-2"


def test_light_rain_is_counted_by_the_larger_estimate_too():
    # years of one drizzle hour below the threshold and one year of much more: Gumbel alone lies above the percentile
    rates = [0.05] * 9 + [3.0]
    index = airfield_index(two_spells_a_wall(rates, kind="reanalysis"), orientation=[240], wet_hour=3.5)
    largest = [2 * rate ** (8 / 9) for rate in rates]
    gumbel = statistics.mean(largest) + 0.2538 * statistics.stdev(largest)
    assert float(index["airfield_spell_index"][0]) == 0
    assert float(index["airfield_spell_index_any_rain"][0]) == pytest.approx(gumbel, rel=1e-4)


def drizzle_on_one_side(drizzle):
    """A model record: strong rain onto 180, the same in every year; onto 300 a little, joined by ``drizzle`` [mm]."""
    time = years(2001, 2010)
    hour = np.arange(len(time)) % 8760
    rain = np.where(hour < 20, 5.0, 0.0)
    rain[(hour >= 3000) & (hour < 3010)] = 1.0
    rain[(hour >= 3010) & (hour < 3400)] = drizzle
    direction = np.where(hour < 2000, 180.0, 300.0)
    return record(time, rain, 9, direction, kind="reanalysis")


@pytest.mark.parametrize(("drizzle", "flagged"), [(0.05, True), (0.0, False)])
def test_light_rain_on_any_orientation_is_told_not_on_the_worst_alone(drizzle, flagged):
    index = airfield_index(drizzle_on_one_side(drizzle), orientation=[180, 240, 300])
    worst = index.sel(orientation=180)
    assert float(worst["airfield_spell_index"]) == float(index["airfield_spell_index"].max())
    assert float(worst["airfield_spell_index_any_rain"]) == pytest.approx(
        float(worst["airfield_spell_index"]), rel=1e-9
    )
    assert has_doubt(index.attrs["flags"], "rain.light_rain") == flagged
    if flagged:
        told = next(one for one in index.attrs["flags"] if one.key == "rain.light_rain")
        assert told.numbers["facing"] == 300
        # by hand: 10 hours of 1 mm; with drizzle 390 more of 0.05 mm, 2/9 x 9 m/s = 2
        assert told.numbers["with_it"] == pytest.approx(20)
        assert told.numbers["without"] == pytest.approx(20 + 390 * 2 * 0.05 ** (8 / 9))


@pytest.mark.parametrize(("variable", "flagged"), [(4, False), (6, True), (30, True)])
def test_rain_without_direction_is_told_from_five_percent(variable, flagged):
    # a hundred hours of 1 mm, some of them without direction
    time = years(2010, 2010)
    rain = np.where(np.arange(len(time)) < 100, 1.0, 0.0)
    direction = np.where(np.arange(len(time)) < variable, np.nan, 240.0)
    index = airfield_index(record(time, rain, 5, direction), orientation=[240])
    assert has_doubt(index.attrs["flags"], "rain.no_direction") == flagged


def test_a_typical_year_in_a_leap_year_needs_no_29_february():
    # 8,760 stamps whose stitched February comes from a leap year: the year is whole
    time = pd.date_range("2012-01-01T01", "2013-01-01T00", freq="h")
    time = time[~((time.month == 2) & (time.day == 29))]
    assert len(time) == 8760
    index = airfield_index(record(time, 1.0, 9, 240, kind="typical year"), orientation=[240])
    np.testing.assert_allclose(index["coverage"], [1.0])
    np.testing.assert_allclose(index["airfield_annual_index"], 8760 * 2.0)


@settings(max_examples=15, deadline=None)
@given(turn=st.integers(1, 35), by=st.floats(0.6, 1.6), cut=st.integers(1, 3), seed=st.integers(0, 99))
def test_turning_scaling_and_splitting_a_record(turn, by, cut, seed):
    chance = np.random.default_rng(seed)
    time = pd.DatetimeIndex(years(2001, 2004))
    rain = np.where(chance.random(len(time)) < 0.01, chance.gamma(2.0, 1.0, len(time)) + 0.1, 0.0)
    rain[(time.day_of_year < 6) | (time.day_of_year > 360)] = 0.0  # no spell over a year's end
    speed, way = chance.uniform(3, 12, len(time)), chance.choice(36, len(time)) * 10.0
    whole = airfield_index(record(time, rain, speed, way), orientation=[200.0, 35.0])
    turned = airfield_index(
        record(time, rain, by * speed, (way + 10 * turn) % 360),
        orientation=(np.array([200.0, 35.0]) + 10 * turn) % 360,
    )
    for name in ("airfield_annual_index", "airfield_spell_index", "airfield_spell_index_any_rain"):
        np.testing.assert_allclose(turned[name].values, by * whole[name].values, rtol=1e-9)
    first = time.year <= 2000 + cut
    parts = [
        airfield_index(record(time[rows], rain[rows], speed[rows], way[rows]), orientation=[200.0, 35.0])
        for rows in (first, ~first)
    ]
    for name in ("yearly_annual_index", "yearly_spell_maximum"):
        np.testing.assert_allclose(
            np.vstack([part[name].values for part in parts]), whole[name].values, rtol=1e-9
        )


def test_a_typical_year_and_a_calendar_of_360_days_are_doubted():
    for climate, key in (
        (record(years(2001, 2001), 0.5, 5.0, 200.0, kind="typical year"), "rain.typical_year"),
        (record(years(2001, 2001, calendar="360_day"), 0.5, 5.0, 200.0), "rain.calendar_360"),
        (record(years(2001, 2001), 0.5, 5.0, 200.0), None),
    ):
        flags = airfield_index(climate, orientation=[200.0]).attrs["flags"]
        found = [one for one in ("rain.typical_year", "rain.calendar_360") if has_doubt(flags, one)]
        assert found == ([] if key is None else [key])
