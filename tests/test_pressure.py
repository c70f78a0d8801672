"""Driving-rain wind pressure: by hand, against SciPy, and what it must never do."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from builders import climate_of
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import compared
from scipy import stats

from exposure.checks import RefusalError
from exposure.climate.quality.kind_of_record import doubts_on_kind
from exposure.doubts import has_doubt
from exposure.rain.extremes import gumbel_factor, gumbel_value
from exposure.rain.peaks import Tail, estimate, least_rain, tail_of
from exposure.rain.pressure import WallPressure, wall_pressures
from exposure.rain.wind_pressure import gust_factor, head_of_water, velocity_pressure, wind_of_pressure
from exposure.tables import load_table


def climate(years, heavy, *, kind="gauge", base_speed=3.0, direction=240.0):
    """Dry years of light wind, with ``heavy`` hours as (stamp, rain mm, wind m/s, direction)."""
    time = pd.date_range(f"{years[0]}-01-01", f"{years[-1]}-12-31T23:00", freq="h")
    rain = np.zeros(time.size)
    speed = np.full(time.size, base_speed)
    towards = np.full(time.size, float(direction))
    for stamp, amount, wind, way in heavy:
        row = time.get_loc(pd.Timestamp(stamp))
        rain[row], speed[row], towards[row] = amount, wind, way
    return climate_of(
        time, rain=rain, wind_speed=speed, wind_from_direction=towards, kind=kind, source="made for a test"
    )


TEN = [(f"{year}-03-05T06:00", 3.0, 8.0 + year % 10, 240.0) for year in range(2000, 2010)]


def test_five_year_value_by_hand():
    # yearly maxima of the speed 8, 9, ... 17 m/s; Gumbel by moments with n - 1, factor 0.7194 (the row gumbel-5)
    pressures = 0.5 * 1.225 * np.arange(8, 18) ** 2.0
    by_hand = pressures.mean() + 0.7194 * pressures.std(ddof=1)
    (wall,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall.airfield_any_direction == pytest.approx(by_hand, abs=0.01)
    assert wall.airfield_facing == pytest.approx(by_hand, abs=0.01)  # the wind is square on
    assert (wall.years_used, wall.years_left_out, wall.indicative) == (10, 0, False)


def test_at_the_wall_by_hand():
    # pressure goes with the square of the speed factor, a gust times 1 + 7 / ln(z/z0), head P / (rho g)
    gust = gust_factor(height=8, roughness_length=0.3)
    assert gust == pytest.approx(1 + 7 / np.log(8 / 0.3))
    (open_field,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    (wall,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240], speed_factor=0.75, gust=gust)
    assert wall.facing == pytest.approx(open_field.airfield_facing * 0.5625)
    assert wall.facing_gust == pytest.approx(wall.facing * gust)
    assert wall.facing_head == pytest.approx(wall.facing / 9.80665)
    assert wall.any_direction_gust_head == pytest.approx(float(head_of_water(wall.any_direction_gust)))


def test_a_wall_turned_away_by_60_degrees_gets_a_quarter_by_hand():
    # cosine of 60 degrees squared
    there, aside, behind = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240, 300, 60])
    assert aside.airfield_facing == pytest.approx(there.airfield_facing / 4)
    assert (
        behind.airfield_facing == behind.airfield_any_direction
    )  # never blown onto it: taken as any direction
    assert has_doubt(behind.flags, "rain.pressure_seldom_facing")
    assert {wall.airfield_any_direction for wall in (there, aside, behind)} == {there.airfield_any_direction}


def test_light_rain_does_not_count_by_hand():
    # a storm of 30 m/s with 1.7 mm stays out, one with 1.8 mm comes in
    light = climate(range(2000, 2010), [*TEN, ("2005-06-01T00:00", 1.7, 30.0, 240.0)])
    heavy = climate(range(2000, 2010), [*TEN, ("2005-06-01T00:00", 1.8, 30.0, 240.0)])
    (plain,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall_pressures(light, orientation=[240])[0].airfield_any_direction == plain.airfield_any_direction
    assert (
        wall_pressures(heavy, orientation=[240])[0].airfield_any_direction > plain.airfield_any_direction + 50
    )


def test_years_without_heavy_rain_are_left_out_and_told():
    (wall,) = wall_pressures(climate(range(2000, 2012), TEN), orientation=[240])
    assert (wall.years_used, wall.years_left_out) == (10, 2)
    told = next(flag for flag in wall.flags if flag.key == "rain.pressure_dry_years")
    assert (told.numbers["left_out"], told.numbers["years"]) == (2, 12)
    (ten,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall.airfield_any_direction == pytest.approx(ten.airfield_any_direction)


def test_a_grid_is_lifted_by_what_gauges_measured_and_told():
    (gauge,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    (grid,) = wall_pressures(climate(range(2000, 2010), TEN, kind="reanalysis"), orientation=[240])
    assert grid.indicative
    assert grid.airfield_any_direction == pytest.approx(2.3 * gauge.airfield_any_direction)
    assert grid.airfield_facing == pytest.approx(2.3 * gauge.airfield_facing)
    told = next(flag for flag in grid.flags if flag.key == "rain.pressure_grid")
    assert told.numbers["raw"] == pytest.approx(gauge.airfield_any_direction)
    # the range runs from what the grid says by itself to the lifted upper end
    assert grid.airfield_range == pytest.approx((gauge.airfield_range[0], 2.3 * gauge.airfield_range[1]))
    assert grid.any_direction_range[0] < gauge.airfield_any_direction < grid.airfield_any_direction
    scaled = climate(range(2000, 2010), TEN, kind="reanalysis").assign_attrs(wind_scaled_to="a station")
    assert wall_pressures(scaled, orientation=[240])[0].airfield_any_direction == gauge.airfield_any_direction


def test_the_factor_on_a_grid_is_what_the_airports_measured():
    # pandas on the open file, by hand: mph to m/s, inches to mm, hours of 1.8 mm and more, impossible winds out
    table = pd.read_csv(Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz")
    speed = 0.44704 * table["wind_speed"].where(table["wind_speed"] < 200)
    heavy = table[25.4 * table["precip"] >= 1.8].index
    largest = (0.5 * 1.225 * speed[heavy] ** 2).groupby(table["origin"][heavy]).max()
    row = load_table("grid_wind")["row"][0]
    assert sorted(largest.round()) == sorted(row["gauges"])
    assert row["pressure_factor"] == pytest.approx(np.median(row["gauges"]) / row["grid"], abs=0.05)
    assert row["speed_factor"] == pytest.approx(np.sqrt(row["pressure_factor"]), abs=0.05)


def test_where_few_hours_are_heavy_lighter_ones_count_and_it_is_told():
    drizzle = [(stamp, 0.5, wind, way) for stamp, _, wind, way in TEN]
    (wall,) = wall_pressures(climate(range(2000, 2010), drizzle), orientation=[240])
    (heavy,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall.airfield_any_direction == pytest.approx(heavy.airfield_any_direction)
    assert wall.heavy_rain == 0.5
    assert has_doubt(wall.flags, "rain.pressure_lighter_rain")
    assert not has_doubt(heavy.flags, "rain.pressure_lighter_rain")


def one_year(days, *, ramp=(), kind="typical year", seed=5):
    """One year with an hour of 2 mm on each of ``days`` days, winds Weibull of shape 2; ``ramp`` are drizzle hours."""
    chance = np.random.default_rng(seed)
    speeds = 6 * np.sqrt(chance.exponential(1.0, days))
    heavy = [
        (pd.Timestamp("2001-01-02T06:00") + pd.Timedelta(days=1.5 * number), 2.0, speed, 240.0)
        for number, speed in enumerate(speeds)
    ]
    heavy = [(stamp.floor("h"), *rest) for stamp, *rest in heavy]
    late = pd.Timestamp("2001-12-20T06:00")
    heavy += [(late + pd.Timedelta(hours=number), 0.3, speed, 240.0) for number, speed in enumerate(ramp)]
    return climate([2001], heavy, kind=kind), 0.5 * 1.225 * speeds**2


@pytest.mark.parametrize("days", [6, 15, 40])
def test_a_ramp_of_wind_in_drizzle_does_not_design_the_house(days):
    # a gap filled by a straight line: 36.0, 27.5, 19.0, 10.6 m/s, the first of 794 Pa
    bad, _ = one_year(days, ramp=(36.0, 27.5, 19.0, 10.6))
    plain, _ = one_year(days)
    (wall,), (without,) = (wall_pressures(record, orientation=[240]) for record in (bad, plain))
    assert wall.airfield_any_direction < 300  # the ladder stops at 450 Pa; E classes begin above 600 Pa
    assert wall.airfield_any_direction <= 1.6 * without.airfield_any_direction
    marked = bad.assign(wind_doubtful=("time", bad["wind_speed"].values > 10.5))
    marked["wind_doubtful"] &= bad["rain"] == 0.3
    (believed,) = wall_pressures(marked, orientation=[240])
    assert believed.airfield_any_direction == pytest.approx(without.airfield_any_direction)
    [told] = [one for one in believed.flags if one.key == "rain.pressure_doubtful_wind"]
    assert told.numbers["hours"] == 4
    assert told.numbers["most"] == pytest.approx(0.5 * 1.225 * 36.0**2)
    assert "press with 794 Pa" in told
    (colder,) = wall_pressures(marked, orientation=[240], air_density=1.29)
    [told] = [one for one in colder.flags if one.key == "rain.pressure_doubtful_wind"]
    assert told.numbers["most"] == pytest.approx(0.5 * 1.29 * 36.0**2)
    cell = marked.assign_attrs(
        kind="reanalysis"
    )  # lifted as the pressures it is told beside, by the table grid_wind
    (lifted,) = wall_pressures(cell, orientation=[240])
    [told] = [one for one in lifted.flags if one.key == "rain.pressure_doubtful_wind"]
    assert told.numbers["most"] == pytest.approx(2.3 * 0.5 * 1.225 * 36.0**2)


def test_a_short_record_finds_the_five_year_value_of_a_known_distribution():
    # 60 days a year of exponential pressure, mean m: passed once in five years by one day in 300: m ln 300
    mean = 0.5 * 1.225 * 36
    found = [
        wall_pressures(one_year(60, seed=seed)[0], orientation=[240])[0].airfield_any_direction
        for seed in range(40)
    ]
    assert np.median(found) == pytest.approx(mean * np.log(300), rel=0.12)
    assert np.mean(np.abs(np.log(np.array(found) / (mean * np.log(300)))) < np.log(1.6)) > 0.9


def rainy_years(chance, years, shape):
    """Peaks of about 45 rainy days a year, winds Weibull of ``shape``, windy and calm years; and their year."""
    days = chance.poisson(45, years)
    year = np.repeat(np.arange(years), days)
    windy = np.exp(0.1 * chance.standard_normal(years))
    return windy[year] * 22 * chance.weibull(shape, days.sum()) ** 2, year


@pytest.mark.parametrize("shape", [1.6, 2.0])
def test_the_range_beside_a_pressure_holds_a_known_truth(shape):
    # truth by counting: passed in one of five of 20,000 years, with NumPy alone
    chance = np.random.default_rng(11)
    peaks, year = rainy_years(chance, 20_000, shape)
    largest = np.zeros(20_000)
    np.maximum.at(largest, year, peaks)
    truth = np.quantile(largest, 0.8)
    for years in (1, 3, 9, 10, 30):
        held, ratio = [], []
        for _ in range(200):
            peaks, year = rainy_years(chance, years, shape)
            found = estimate(peaks, np.arange(peaks.size), year, years=years, return_period=5)
            held.append(found.low <= truth <= found.high)
            ratio.append(found.value / truth)
        assert np.mean(held) > 0.74, (years, np.mean(held))
        assert 0.78 < np.median(ratio) < 1.1, (years, np.median(ratio))
        if years >= 10:
            assert np.median(ratio) == pytest.approx(1, abs=0.05)


def test_what_the_pressure_is_called_is_what_the_record_can_carry():
    (ten,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    (one,) = wall_pressures(one_year(40)[0], orientation=[240])
    (few,) = wall_pressures(climate([2000], TEN[:1]), orientation=[240])
    assert ten.likelihood == "once in five years"
    assert one.likelihood == "once in five years, from the one year of this record"
    assert few.likelihood == "at most in this record"
    assert has_doubt(one.flags, "rain.pressure_few_years")
    assert one.airfield_range[0] < one.airfield_any_direction < one.airfield_range[1]
    assert np.isnan(few.airfield_range[1])


def test_no_rain_at_all_is_no_pressure():
    (wall,) = wall_pressures(climate([2000, 2001], []), orientation=[240])
    assert wall.airfield_any_direction == 0
    assert wall.indicative


def test_a_year_with_many_missing_hours_is_left_out():
    record = climate(range(2000, 2011), [*TEN, ("2010-03-05T06:00", 3.0, 40.0, 240.0)])
    record["rain"][record["time"].dt.year.values == 2010] = np.where(
        np.arange(8760) % 5 == 0, np.nan, record["rain"][record["time"].dt.year.values == 2010]
    )
    (wall,) = wall_pressures(record, orientation=[240])
    (ten,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall.airfield_any_direction == pytest.approx(ten.airfield_any_direction)
    told = next(flag for flag in wall.flags if flag.key == "rain.pressure_years_missing")
    assert told.numbers["years"] == "2010"


def test_nothing_known_is_refused():
    record = climate([2000], [])
    record["rain"][:] = np.nan
    with pytest.raises(RefusalError, match="no year of the record is known well enough"):
        wall_pressures(record, orientation=[240])


@pytest.mark.parametrize("years", [3, 5, 10, 50])
def test_gumbel_factor_against_scipy(years):
    # SciPy's right-skewed Gumbel with mean 0 and standard deviation 1, read at the same probability
    scale = np.sqrt(6) / np.pi
    unit = stats.gumbel_r(loc=-np.euler_gamma * scale, scale=scale)
    assert (unit.mean(), unit.std()) == (pytest.approx(0, abs=1e-12), pytest.approx(1))
    compared(
        f"gumbel-factor-{years}",
        gumbel_factor(years),
        unit.ppf(1 - 1 / years),
        within=1e-9,
        about="general libraries",
        what=f"Gumbel factor of moments, once in {years} years",
        source="scipy.stats.gumbel_r",
        how="by a general-purpose library",
    )


def test_gumbel_value_finds_a_known_distribution_again():
    # 4,000 sets of 40 years drawn by SciPy; by moments the five-year value comes back within one in a hundred
    drawn = stats.gumbel_r.rvs(loc=120, scale=25, size=(40, 4000), random_state=7)
    truth = stats.gumbel_r.ppf(0.8, loc=120, scale=25)
    assert gumbel_value(drawn, 5).mean() == pytest.approx(truth, rel=0.01)


@settings(max_examples=30, deadline=None)
@given(
    speeds=st.lists(st.floats(1, 40), min_size=3, max_size=6),
    turn=st.floats(-180, 180),
    factor=st.floats(0.5, 1.9),
)
def test_facing_never_above_any_direction_and_the_head_never_falls(speeds, turn, factor):
    years = range(2000, 2000 + len(speeds))
    heavy = [(f"{year}-03-05T06:00", 3.0, speed, 240.0) for year, speed in zip(years, speeds, strict=True)]
    (wall,) = wall_pressures(climate(years, heavy), orientation=[240 + turn], speed_factor=factor)
    assert 0 <= wall.facing <= wall.any_direction + 1e-9
    assert wall.facing_gust_head >= wall.facing_head
    (faster,) = wall_pressures(climate(years, heavy), orientation=[240 + turn], speed_factor=factor * 1.1)
    assert faster.facing >= wall.facing


def test_two_strong_years_do_not_put_a_wall_above_any_direction():
    # ten years of 8 m/s from 240; two of them with 20 and 21 m/s from 60, the only ones that reach the lee wall
    heavy = [(f"{year}-03-05T06:00", 3.0, 8.0, 240.0) for year in range(2000, 2010)]
    heavy += [("2003-05-05T06:00", 3.0, 20.0, 60.0), ("2007-05-05T06:00", 3.0, 21.0, 60.0)]
    (lee,) = wall_pressures(climate(range(2000, 2010), heavy), orientation=[60])
    alone = gumbel_value(0.5 * 1.225 * np.array([20.0, 21.0]) ** 2, 5)
    assert alone > lee.airfield_any_direction  # the fit to two years alone would be higher
    assert lee.airfield_facing == lee.airfield_any_direction
    assert lee.facing_years_used == 2


def test_the_value_of_a_tail_by_hand():
    # an exponential tail of scale 5 above 10 is passed once in t days at 10 + 5 ln t, and never below its start
    tail = Tail(start=10.0, scale=5.0, days=8, sized=4)
    assert tail.value(1.5) == pytest.approx(10 + 5 * 0.405465)
    assert tail.value(np.e**2) == pytest.approx(20)
    assert tail.value(1.0) == tail.value(0.2) == 10.0


def test_thin_air_presses_less_and_is_told_with_the_pressure():
    # pressure goes with the density: by hand 1.0 / 1.225
    (usual,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    (thin,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240], air_density=1.0)
    assert thin.airfield_facing == pytest.approx(usual.airfield_facing / 1.225)
    assert (usual.air_density, thin.air_density) == (1.225, 1.0)


def test_one_year_alone_gives_its_own_highest_pressure_by_hand():
    (there, aside) = wall_pressures(climate([2000], TEN[:1]), orientation=[240, 300])
    assert there.airfield_any_direction == pytest.approx(0.5 * 1.225 * 64)
    assert aside.airfield_facing == pytest.approx(0.5 * 1.225 * 64 / 4)
    assert there.indicative
    few = next(one for one in there.flags if one.key == "rain.pressure_few_days")
    assert few.numbers["days"] == 1
    assert "the largest of all rainy days (1 in 1 year)" in few


@settings(max_examples=25, deadline=None)
@given(
    speeds=st.lists(st.floats(2, 30), min_size=10, max_size=30),
    turn=st.integers(0, 23),
    by=st.floats(0.5, 1.5),
)
def test_turning_wind_and_wall_together_changes_nothing_and_pressure_goes_with_the_square(speeds, turn, by):
    def wall(angle, scale):
        days = pd.date_range("2001-02-01T06:00", periods=len(speeds), freq="D")
        hours = [(str(day), 2.0, scale * speed, (200 + angle + 7 * n) % 360)
                 for n, (day, speed) in enumerate(zip(days, speeds, strict=True))]  # fmt: skip
        return wall_pressures(climate([2001], hours), orientation=[220 + angle, 300 + angle])

    for before, after in zip(wall(0, 1), wall(15 * turn, by), strict=True):
        assert after.airfield_any_direction == pytest.approx(by**2 * before.airfield_any_direction)
        assert after.airfield_facing == pytest.approx(by**2 * before.airfield_facing)
        assert after.facing <= after.any_direction * (1 + 1e-12)


def said(call, *given, **more):
    """What a refusal says in full."""
    with pytest.raises(RefusalError) as refused:
        call(*given, **more)
    return str(refused.value)


def told(flags):
    """Key and numbers of each doubt."""
    return {one.key: one.numbers for one in flags}


def test_wind_pressure_and_head_by_hand():
    assert velocity_pressure(np.array([0.0, 10.0, -20.0])) == pytest.approx([0, 61.25, 245])
    assert velocity_pressure(10.0, air_density=1.0) == pytest.approx(50)
    assert wind_of_pressure(61.25) == pytest.approx(10)
    assert wind_of_pressure(50.0, air_density=1.0) == pytest.approx(10)
    assert head_of_water(np.array([0.0, 98.0665])) == pytest.approx([0, 10])
    assert gust_factor(height=2, roughness_length=0.3, least_height=5) == pytest.approx(
        1 + 7 / np.log(5 / 0.3)
    )
    assert gust_factor(height=6, roughness_length=0.3, least_height=5) == pytest.approx(1 + 7 / np.log(20))
    assert gust_factor(height=0.5, roughness_length=0.3) == pytest.approx(1 + 7 / np.log(5 / 3))
    for height in (0.2, 0.3):
        assert said(gust_factor, height=height, roughness_length=0.3) == (
            f"a height of {height} m over ground of roughness 0.3 m; expected a height above the roughness length. "
            "Give the height of the top of the wall and its ground."
        )


def test_every_pressure_at_the_wall_by_hand():
    wall = WallPressure(
        orientation=240, airfield_any_direction=100.0, airfield_facing=64.0, airfield_range=(50.0, 200.0),
        speed_factor=0.5, gust_factor=3.0, any_speed_factor=0.6, any_gust_factor=2.0, years_used=4, years_left_out=1, facing_years_used=3,
    )  # fmt: skip
    # from any side over the hardest ground round the house (0.6 squared is 0.36, gusts 2), square on over its own (0.25, gusts 3)
    told = (wall.any_direction, wall.facing, *wall.any_direction_range)
    assert told == pytest.approx((36, 16, 18, 72))
    assert (wall.any_direction_gust, wall.facing_gust) == pytest.approx((72, 48))
    heads = (wall.any_direction_head, wall.facing_head, wall.any_direction_gust_head, wall.facing_gust_head)
    assert heads == pytest.approx(tuple(part / 9.80665 for part in (36, 16, 72, 48)))


@pytest.mark.parametrize(
    ("found_by", "used", "left_out", "period", "words"),
    [
        ("yearly maxima", 10, 0, 5.0, "once in five years"),
        ("yearly maxima", 10, 0, 12.5, "once in 12.5 years"),
        ("rainy days", 1, 0, 5.0, "once in five years, from the one year of this record"),
        ("rainy days", 1, 1, 10.0, "once in 10 years, from 2 years of this record"),
        ("rainy days", 3, 2, 5.0, "once in five years, from 5 years of this record"),
        ("largest", 3, 2, 5.0, "at most in this record"),
        ("none", 0, 2, 5.0, "at most in this record"),
    ],
)
def test_how_likely_a_pressure_is_said_to_be(found_by, used, left_out, period, words):
    wall = WallPressure(
        orientation=0, airfield_any_direction=1, airfield_facing=1, airfield_range=(1, 1), speed_factor=1, gust_factor=1,
        any_speed_factor=1, any_gust_factor=1, years_used=used, years_left_out=left_out, facing_years_used=1, found_by=found_by, return_period=period,
    )  # fmt: skip
    assert wall.likelihood == words


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"air_density": 0.69}, "density of air is 0.69; expected a number from 0.7 to 1.6 kg/m3. Correct density of air."),
        ({"air_density": 1.61}, "density of air is 1.61; expected a number from 0.7 to 1.6 kg/m3. Correct density of air."),
        ({"heavy_rain": 0.09}, "least rain of an hour that counts is 0.09; expected a number from 0.1 to 50 mm. Correct least rain of an hour that counts."),
        ({"heavy_rain": 50.1}, "least rain of an hour that counts is 50.1; expected a number from 0.1 to 50 mm. Correct least rain of an hour that counts."),
        ({"return_period": 1.09}, "return period is 1.09; expected a number from 1.1 to 1000 years. Correct return period."),
        ({"return_period": 1001}, "return period is 1001; expected a number from 1.1 to 1000 years. Correct return period."),
    ],
)  # fmt: skip
def test_what_a_pressure_cannot_be_asked_for(change, words):
    record = climate([2000], TEN[:1])
    assert said(wall_pressures, record, orientation=[240], **change) == words
    for edge in ({"air_density": 0.7, "heavy_rain": 0.1, "return_period": 1.1}, {"air_density": 1.6, "heavy_rain": 50, "return_period": 1000}):  # fmt: skip
        assert wall_pressures(record, orientation=[240], **edge)


def test_a_record_that_is_not_known_well_enough_is_refused_in_full():
    record = climate([2000], [])
    record["rain"][:] = np.nan
    assert said(wall_pressures, record, orientation=[240]) == (
        "no year of the record is known well enough for a yearly maximum; expected rain in 90% of a year's hours and "
        "wind in 90% of its heavy rain. Use a longer or more complete record."
    )


@pytest.mark.parametrize(("unknown", "kept"), [(1, True), (2, False)])
def test_the_wind_is_known_in_nine_tenths_of_the_heavy_hours_of_a_year_that_counts(unknown, kept):
    # ten hours of exactly 1.8 mm; hours of 1.7 mm without wind do not matter
    hours = [(f"2000-03-{day:02}T06:00", 1.8, 10.0, 240.0) for day in range(1, 11)]
    record = climate(
        [2000], [*hours, *[(f"2000-04-{day:02}T06:00", 1.7, 9.0, 240.0) for day in range(1, 11)]]
    )
    at = np.flatnonzero(record["rain"].values == 1.8)[:unknown]
    light = np.flatnonzero(record["rain"].values == 1.7)
    for missing in ("nan", "doubtful"):
        changed = record.copy(deep=True)
        changed["wind_speed"][light] = np.nan
        if missing == "nan":
            changed["wind_speed"][at] = np.nan
        else:
            changed = changed.assign(wind_doubtful=("time", np.isin(np.arange(changed.sizes["time"]), at)))
        if kept:
            assert wall_pressures(changed, orientation=[240])[0].years_used == 1
        else:
            assert "no year of the record" in said(wall_pressures, changed, orientation=[240])


@pytest.mark.parametrize(
    ("peaks", "tail"),
    [  # by hand: half of the days make the tail, above the strongest day below it; a tenth counts by number alone
        ([1, 2, 3, 4, 5, 6, 7, 8, 9, 10], (5, (1 + 2 + 3 + 4 + 4) / 4, 5, 4)),
        ([10, 9, 8, 7, 6, 5, 4, 3, 2, 100], (6, (1 + 2 + 3 + 4 + 4) / 4, 5, 4)),
        ([3, 1, 2, 9, 5], (2, (1 + 3 + 3) / 2, 3, 2)),
        ([4, 7], (0, 8, 2, 1)),
        (list(range(1, 22)), (10, (sum(range(1, 9)) + 3 * 8) / 8, 11, 8)),
    ],
)
def test_the_tail_of_rainy_days_by_hand(peaks, tail):
    assert tail_of(np.array(peaks, dtype=float)) == pytest.approx(tail)


def test_a_short_record_is_read_off_its_tail_by_hand():
    # ten days in two years: 10 / 2 days of the tail over 2 years, in five years 12.5; one scale is 14 / 4 above 5
    peaks = np.arange(1.0, 11.0)
    found = estimate(peaks, np.arange(10), np.repeat([2000, 2001], 5), years=2, return_period=5)
    assert (found.found_by, found.years, found.days) == ("rainy days", 2, 10)
    assert found.value == pytest.approx(5 + 3.5 * np.log(12.5))
    # nine in ten: the scale is known to exp(1.645 / 2) either way, and the shape of the tail to 1.25
    assert found.low == pytest.approx((5 + 3.5 / np.exp(0.8225) * np.log(12.5)) / 1.25)
    assert found.high == pytest.approx((5 + 3.5 * np.exp(0.8225) * np.log(12.5)) * 1.25)
    # hours of one day count by their strongest; hours without pressure do not count as days
    hours = estimate(np.repeat(peaks, 2) * np.tile([1, 0.5], 10), np.repeat(np.arange(10), 2), np.repeat([2000, 2001], 10), years=2, return_period=5)  # fmt: skip
    assert hours == found
    idle = estimate(np.append(peaks, 0.0), np.arange(11), np.append(np.repeat([2000, 2001], 5), 2002), years=2, return_period=5)  # fmt: skip
    assert idle == found


@pytest.mark.parametrize(
    ("days", "found_by", "value", "high"),
    [(0, "none", 0, 0), (1, "largest", 1, np.nan), (4, "largest", 4, np.nan), (5, "rainy days", None, None)],
)
def test_fewer_than_five_days_give_their_largest(days, found_by, value, high):
    found = estimate(np.arange(1.0, days + 1), np.arange(days), np.full(days, 2000), years=1, return_period=5)
    assert (found.found_by, found.days, found.years) == (found_by, days, min(days, 1))
    if value is not None:
        assert (found.value, found.low) == (value, value)
        np.testing.assert_equal(found.high, high)


def test_ten_years_are_a_fit_to_their_maxima_and_its_range_by_redrawing_them():
    maxima = np.random.default_rng(3).gumbel(100, 20, 14)
    nine = estimate(maxima[:9], np.arange(9), np.arange(9), years=9, return_period=5)
    assert nine.found_by == "rainy days"
    found = estimate(maxima, np.arange(14), np.arange(14), years=20, return_period=5)
    assert (found.found_by, found.years, found.days) == ("yearly maxima", 14, 14)
    assert found.value == pytest.approx(float(gumbel_value(maxima, 5)))
    # a second drawing with other chances: the same range within the noise of a thousand draws
    drawn = np.random.default_rng(99).choice(maxima, (14, 4000))
    fits = drawn.mean(0) + 0.7194 * drawn.std(0, ddof=1)
    tail = stats.norm.cdf(np.sqrt(14 / 13) * stats.t.ppf(0.05, 13))
    low, high = np.quantile(fits, [tail, 1 - tail])
    assert (found.low, found.high) == pytest.approx((low, high), rel=0.03)
    assert estimate(np.full(12, 7.0), np.arange(12), np.arange(12), years=12, return_period=5)[:3] == pytest.approx((7, 7, 7))  # fmt: skip


@pytest.mark.parametrize(
    ("rain", "days", "years", "least"),
    [  # how many hours of which rain, on how many days of how many years
        (1.8, 20, 1, 1.8), (1.8, 19, 1, 1.0), (1.8, 10, 10, 1.8), (1.8, 9, 9, 1.0), (1.79, 20, 1, 1.0),
        (1.79995, 20, 1, 1.8), (0.5, 20, 1, 0.5), (0.49, 20, 1, None),
    ],
)  # fmt: skip
def test_the_least_rain_is_lowered_until_ten_years_or_twenty_days_reach_it(rain, days, years, least):
    amounts = np.array([rain] * days + [1.2] * (20 if rain > 1 else 0))
    day = np.arange(amounts.size)
    year = np.where(day < days, 2000 + day * years // max(days, 1), 2000)
    found, step = least_rain(amounts, day, year, steps=(1.8, 1.0, 0.5), lowest=lambda: "every wet hour")
    assert step == least
    if least is None:
        assert found == "every wet hour"
    else:
        assert found.tolist() == [one >= least - 1e-3 for one in amounts]


def by_pandas(record, facing=None, *, density=1.225, heavy=1.8):
    """Largest pressure of each year in its hours of heavy rain, by pandas."""
    frame = record.to_dataframe()
    frame = frame[frame["rain"] >= heavy]
    speed = frame["wind_speed"]
    if facing is not None:
        speed = speed * np.cos(np.deg2rad(frame["wind_from_direction"] - facing)).clip(lower=0)
    return (0.5 * density * speed**2).groupby(frame.index.year).max()


def test_a_whole_record_by_pandas_wall_by_wall():
    chance = np.random.default_rng(21)
    stamps = pd.date_range("2000-01-01", "2011-12-31T23:00", freq="h")
    heavy = [(stamps[k], 2.5, chance.weibull(2) * 12, chance.uniform(0, 360)) for k in sorted(chance.choice(stamps.size, 500, replace=False))]  # fmt: skip
    record = climate(range(2000, 2012), heavy)
    facing = [0.0, 133.0, 250.0]
    found = wall_pressures(record, orientation=facing, speed_factor=[0.5, 1.0, 1.2], gust=[1.5, 2.0, 3.0], return_period=10, air_density=1.1)  # fmt: skip

    def once(maxima):
        return maxima.mean() + maxima.std() * np.sqrt(6) / np.pi * (-np.log(-np.log(0.9)) - np.euler_gamma)

    for wall, way, factor, gust in zip(found, facing, (0.5, 1.0, 1.2), (1.5, 2.0, 3.0), strict=True):
        assert wall.airfield_any_direction == pytest.approx(once(by_pandas(record, density=1.1)))
        assert wall.airfield_facing == pytest.approx(once(by_pandas(record, way, density=1.1)))
        assert (wall.orientation, wall.speed_factor, wall.gust_factor) == (way, factor, gust)
        assert (wall.years_used, wall.years_left_out, wall.facing_years_used) == (12, 0, 12)
        assert (wall.found_by, wall.heavy_rain, wall.grid_factor) == ("yearly maxima", 1.8, 1.0)
        assert (wall.return_period, wall.air_density, wall.indicative, wall.short) == (10, 1.1, False, False)
        assert wall.flags == ()
    (usual,) = wall_pressures(record, orientation="north")
    assert usual.gust_factor == pytest.approx(1 + 7 / np.log(10 / 0.05))
    assert (usual.return_period, usual.speed_factor) == (5.0, 1.0)


def test_doubts_of_a_short_record_by_their_figures():
    record, _ = one_year(40)
    (wall,) = wall_pressures(record, orientation=[240])
    low, high = wall.airfield_range
    assert told(wall.flags) == {
        "rain.pressure_few_years": {"years": "1 year", "days": 40, "low": low, "high": high}
    }
    assert (wall.short, wall.indicative, wall.found_by) == (True, True, "rainy days")
    (few,) = wall_pressures(climate([2000, 2001], TEN[:2]), orientation=[240])
    assert told(few.flags) == {
        "rain.pressure_few_days": {"days": 2, "years": "2 years"},
        "rain.pressure_lighter_rain": {"heavy": 1.8, "counts": "every wet hour"},
    }
    assert few.heavy_rain == 0.0
    (none,) = wall_pressures(climate([2000, 2001], []), orientation=[240])
    assert set(told(none.flags)) == {"rain.pressure_no_rain", "rain.pressure_seldom_facing"}
    assert told(none.flags)["rain.pressure_seldom_facing"] == {"facing": 240.0, "days": 0}


def test_doubts_of_a_grid_and_of_lighter_rain_by_their_figures():
    drizzle = [(stamp, 0.5, wind, way) for stamp, _, wind, way in TEN]
    (wall,) = wall_pressures(climate(range(2000, 2012), drizzle, kind="model"), orientation=[240])
    raw = by_pandas(climate(range(2000, 2010), drizzle), heavy=0.5)
    value = raw.mean() + 0.7194 * raw.std()
    flags = told(wall.flags)
    assert flags["rain.pressure_lighter_rain"] == {"heavy": 1.8, "counts": "hours from 0.5 mm"}
    assert flags["rain.pressure_grid"] == {
        "kind": "model", "factor": 2.3, "raw": pytest.approx(value, rel=1e-4), "lifted": pytest.approx(2.3 * value, rel=1e-4),
    }  # fmt: skip
    assert flags["rain.pressure_dry_years"] == {"left_out": 2, "years": 12, "heavy": 0.5}
    assert set(flags) == {"rain.pressure_lighter_rain", "rain.pressure_grid", "rain.pressure_dry_years"}
    assert (wall.grid_factor, wall.indicative, wall.short) == (2.3, True, False)
    guess = doubts_on_kind(np.tile([0.0, 0.0, 0.004, 0.031, 0.37], 100), None)
    like = climate(range(2000, 2010), TEN).assign_attrs(flags=guess)
    assert told(wall_pressures(like, orientation=[240])[0].flags)["rain.pressure_grid"]["kind"] == "grid-like"


@pytest.mark.parametrize(("unknown", "doubted"), [(1, False), (2, True)])
def test_heavy_hours_without_direction_are_doubted_above_a_twentieth(unknown, doubted):
    hours = [(f"{2000 + n % 10}-{1 + n // 10:02}-05T06:00", 3.0, 8.0 + n % 7, np.nan if n < unknown else 240.0) for n in range(20)]  # fmt: skip
    flags = told(wall_pressures(climate(range(2000, 2010), hours), orientation=[240])[0].flags)
    assert flags == ({"rain.pressure_no_direction": {"share": pytest.approx(0.1)}} if doubted else {})


def test_a_wall_few_rainy_winds_reach_takes_the_pressure_from_any_direction():
    heavy = [(f"2000-03-{day:02}T06:00", 3.0, 5.0 + day, 60.0 if day <= 4 else 240.0) for day in range(1, 25)]
    lee, front = wall_pressures(climate([2000], heavy), orientation=[60, 240])
    assert lee.airfield_facing == lee.airfield_any_direction
    assert told(lee.flags)["rain.pressure_seldom_facing"] == {"facing": 60.0, "days": 4}
    assert "rain.pressure_seldom_facing" not in told(front.flags)
    assert lee.facing_years_used == front.facing_years_used == 1
    five = [(stamp, rain, wind, 60.0 if wind <= 10 else 240.0) for stamp, rain, wind, _ in heavy]
    assert "rain.pressure_seldom_facing" not in told(
        wall_pressures(climate([2000], five), orientation=[60])[0].flags
    )
    # of two days in all, one onto a wall is not enough, two are
    two = climate([2000], [("2000-03-01T06:00", 3.0, 10.0, 240.0), ("2000-04-01T06:00", 3.0, 20.0, 60.0)])
    assert told(wall_pressures(two, orientation=[60])[0].flags)["rain.pressure_seldom_facing"]["days"] == 1
    assert any("on too few days (1)" in one for one in wall_pressures(two, orientation=[60])[0].flags)
    (aside,) = wall_pressures(two, orientation=[150.0 + 0.001])
    assert aside.airfield_facing == aside.airfield_any_direction
    both = climate([2000], [("2000-03-01T06:00", 3.0, 10.0, 240.0), ("2000-04-01T06:00", 3.0, 20.0, 300.0)])
    (between,) = wall_pressures(both, orientation=[240])
    assert between.airfield_facing == pytest.approx(0.5 * 1.225 * 100)  # both are 10 m/s onto it
    assert "rain.pressure_seldom_facing" not in told(between.flags)
