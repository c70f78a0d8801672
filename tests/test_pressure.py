"""Driving-rain wind pressure: by hand, against SciPy, and what it must never do."""

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from exposure.checks import RefusalError
from exposure.rain.extremes import gumbel_factor, gumbel_value
from exposure.rain.pressure import gust_factor, head_of_water, wall_pressures


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
    assert any("fewer than two years" in flag for flag in behind.flags)
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
    assert wall_pressures(light, orientation=[240])[0].airfield_any_rain > plain.airfield_any_direction + 50


def test_years_without_heavy_rain_are_left_out_and_told():
    (wall,) = wall_pressures(climate(range(2000, 2012), TEN), orientation=[240])
    assert (wall.years_used, wall.years_left_out) == (10, 2)
    assert any("2 of 12 years have no hour of 1.8 mm" in flag for flag in wall.flags)
    (ten,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall.airfield_any_direction == pytest.approx(ten.airfield_any_direction)


def test_a_grid_is_called_low_and_indicative():
    (wall,) = wall_pressures(climate(range(2000, 2010), TEN, kind="reanalysis"), orientation=[240])
    assert wall.indicative
    assert any("is low" in flag for flag in wall.flags)


def test_without_heavy_rain_every_wet_hour_counts():
    drizzle = [(stamp, 0.5, wind, way) for stamp, _, wind, way in TEN]
    (wall,) = wall_pressures(climate(range(2000, 2010), drizzle), orientation=[240])
    (heavy,) = wall_pressures(climate(range(2000, 2010), TEN), orientation=[240])
    assert wall.airfield_any_direction == pytest.approx(heavy.airfield_any_direction)
    assert any("errs on the high side" in flag for flag in wall.flags)


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
    assert any("2010" in flag for flag in wall.flags)


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
    assert gumbel_factor(years) == pytest.approx(unit.ppf(1 - 1 / years), abs=1e-9)


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


def test_one_year_alone_gives_its_own_highest_pressure_by_hand():
    (there, aside) = wall_pressures(climate([2000], TEN[:1]), orientation=[240, 300])
    assert there.airfield_any_direction == pytest.approx(0.5 * 1.225 * 64)
    assert aside.airfield_facing == pytest.approx(0.5 * 1.225 * 64 / 4)
    assert there.indicative
    assert any("rests on 1 year with" in flag for flag in there.flags)
