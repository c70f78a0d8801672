"""Driving-rain wind pressure: by hand, against SciPy, and what it must never do."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import compared
from scipy import stats

from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.rain.extremes import gumbel_factor, gumbel_value
from exposure.rain.peaks import Tail, estimate
from exposure.rain.pressure import gust_factor, head_of_water, wall_pressures
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
    return xr.Dataset(
        {
            "rain": ("time", rain, {"units": "mm"}),
            "wind_speed": ("time", speed, {"units": "m s-1"}),
            "wind_from_direction": ("time", towards, {"units": "degree"}),
        },
        {"time": time},
        {"kind": kind, "source": "made for a test"},
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
    assert (
        next(one for one in believed.flags if one.key == "rain.pressure_doubtful_wind").numbers["hours"] == 4
    )


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
    assert next(one for one in there.flags if one.key == "rain.pressure_few_days").numbers["days"] == 1


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
