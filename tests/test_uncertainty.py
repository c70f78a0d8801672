"""Resampling, trends, comparisons and the other models: by hand, by page and against scipy."""

import re

import numpy as np
import pytest
import scipy.stats
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import agrees, compared
from site_world import weather

from exposure.rain import models
from exposure.rain.counted import counted_hours
from exposure.rain.index import airfield_index
from exposure.rain.seasons import compare_records, monthly_driving_rain, trend
from exposure.rain.uncertainty import (
    band_of,
    band_statement,
    likely_spell,
    resample_years,
    student_quantile,
    widened_tail,
    worst_shares,
)
from exposure.tables import load_table


@pytest.mark.parametrize("name", ["drop-1", "drop-5", "drop-20"])
def test_drop_by_page(name):
    agrees(models.median_drop(float(name.split("-")[1])), name)


@pytest.mark.parametrize("name", ["fall-1", "fall-2", "fall-5"])
def test_fall_speed_by_page(name):
    agrees(models.fall_speed(float(name.split("-")[1])), name)


@pytest.mark.parametrize("name", ["factor-1", "factor-2", "factor-10"])
def test_driving_rain_factor_by_page(name):
    agrees(models.driving_rain_factor(float(name.split("-")[1])), name)


def test_crossover_by_page():
    agrees(models.crossover_rain(), "crossover")


def test_ashrae_by_page():
    agrees(
        models.ashrae_rain(exposure_factor=1.0, deposition_factor=0.35, wind_speed=5, rain=2, turn=0),
        "ashrae-1",
    )
    agrees(
        models.ashrae_rain(exposure_factor=1.3, deposition_factor=0.5, wind_speed=8, rain=3, turn=30),
        "ashrae-2",
    )


@pytest.mark.parametrize(
    ("height", "exposure", "factor"),
    [
        (10, "severe", 1.3),
        (10.01, "medium", 1.1),
        (20, "sheltered", 0.9),
        (45, "severe", 1.5),
        (80, "sheltered", 1.5),
    ],
)
def test_ashrae_exposure_by_the_table_in_method(height, exposure, factor):
    assert models.ashrae_exposure(height=height, exposure=exposure) == factor


def test_published_example_of_the_free_field_method():
    agrees(models.free_field_on_wall(170, height_and_ground=0.7, shelter=0.5, admittance=0.5), "toronto-west")
    agrees(models.free_field_on_wall(380, height_and_ground=1.5, shelter=1.0, admittance=1.0), "toronto-east")
    agrees(models.height_factor(50), "height-factor")


@pytest.mark.parametrize(
    ("name", "wind", "rain"),
    [("screening-2.7", 4.5, 0.6), ("screening-6.6", 5.5, 1.2), ("screening-12.0", 6, 2.0)],
)
def test_screening_by_page(name, wind, rain):
    agrees(models.screening_index(mean_wind_speed=wind, annual_rain=rain), name)


@pytest.mark.parametrize(
    ("index", "sea", "found"),
    [
        (3.0, None, "sheltered"), (3.01, None, "moderate"), (6.99, None, "moderate"), (7.0, None, "severe"),
        (3.0, 8000, "moderate"), (4.99, 8000, "moderate"), (5.0, 8000, "severe"), (5.0, 8001, "moderate"),
    ],
)  # fmt: skip
def test_screening_classes_by_the_limits(index, sea, found):
    assert models.screening_class(index, sea_distance=sea) == found


def test_warming_by_page():
    agrees(models.warming_ratio(2.0), "warming-2k")


def test_other_models_by_hand():
    # 100 hours of 5 m/s and 1 mm square on: 100 x 5 x 0.2348 through a plane, 500 mm m/s of wind and rain
    time = xr.date_range("2010-01-01", "2010-12-31T23:00", freq="h", use_cftime=False)
    rain = np.zeros(time.size)
    rain[:100] = 1.0
    climate = xr.Dataset(
        {
            "rain": ("time", rain, {"units": "mm"}),
            "wind_speed": ("time", np.full(time.size, 5.0), {"units": "m s-1"}),
            "wind_from_direction": ("time", np.full(time.size, 240.0), {"units": "degree"}),
        },
        {"time": time},
        {"kind": "gauge"},
    )
    sums = models.other_model_sums(climate, airfield_index(climate, orientation=[240.0, 180.0, 60.0]))
    np.testing.assert_allclose(sums["wind_rain_annual"], [500, 250, 0], atol=1e-9)
    np.testing.assert_allclose(sums["free_field_annual"], np.array([1, 0.5, 0]) * 500 * 0.2348, atol=0.05)


@given(st.lists(st.floats(1, 500), min_size=2, max_size=30))
@settings(max_examples=50, deadline=None)
def test_likely_spell_is_the_larger_of_both_by_numpy_and_scipy(maxima):
    x = np.array(maxima)
    percentile = np.percentile(x, 67)
    scale = np.std(x, ddof=1) * np.sqrt(6) / np.pi
    gumbel = scipy.stats.gumbel_r.ppf(2 / 3, loc=x.mean() - np.euler_gamma * scale, scale=max(scale, 1e-12))
    assert float(likely_spell(x)) == pytest.approx(max(percentile, gumbel), rel=1e-9)


def test_a_spell_of_ten_known_years_by_numpy_and_scipy():
    x = np.array([42.0, 77, 51, 63, 118, 39, 70, 88, 56, 61])
    scale = np.std(x, ddof=1) * np.sqrt(6) / np.pi
    gumbel = scipy.stats.gumbel_r.ppf(2 / 3, loc=x.mean() - np.euler_gamma * scale, scale=scale)
    compared(
        "spell-of-ten-years",
        float(likely_spell(x)),
        max(np.percentile(x, 67), gumbel),
        within=1e-6,
        about="general libraries",
        what="spell index of the yearly maxima 42, 77, 51, 63, 118, 39, 70, 88, 56, 61",
        source="numpy.percentile and scipy.stats.gumbel_r by moments, the larger",
        how="by a general-purpose library",
        unit="L/m2",
    )


@pytest.mark.parametrize("degrees", [4, 9, 19, 29, 99])
def test_student_quantile_against_scipy(degrees):
    compared(
        f"student-{degrees}",
        student_quantile(0.95, degrees),
        scipy.stats.t.ppf(0.95, degrees),
        within=0.01,
        about="general libraries",
        what=f"Student's 95 % point, {degrees} degrees of freedom",
        source="scipy.stats.t",
        how="by a general-purpose library",
    )
    expected = scipy.stats.norm.cdf(np.sqrt((degrees + 1) / degrees) * scipy.stats.t.ppf(0.05, degrees))
    assert widened_tail(degrees + 1) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize("degrees", [4, 9, 20, 60, 200])
def test_every_term_of_student_quantile_against_scipy(degrees):
    # a series in 1 / degrees cut after the fourth power is out by the fifth, and a wrong term shows in a long record
    error = student_quantile(0.95, degrees) - scipy.stats.t.ppf(0.95, degrees)
    assert abs(error) < 0.25 / degrees**5


def test_band_of_a_mean_against_the_textbook():
    # for a plain mean of normal years the band should be close to Student's, known in closed form
    years = np.random.default_rng(2).normal(400, 60, 30)[:, None]
    drawn = resample_years(years, years, resamples=4000)
    low, high = band_of(drawn.annual, years.mean(0), drawn.years)
    half = scipy.stats.t.ppf(0.95, 29) * years.std(ddof=1) / np.sqrt(30)
    np.testing.assert_allclose([low[0], high[0]], [years.mean() - half, years.mean() + half], rtol=0.01)


def test_same_years_give_the_same_band_and_no_spread_gives_none():
    years = np.random.default_rng(2).gamma(8, 50, (20, 3))
    one, other = resample_years(years, years), resample_years(years, years)
    np.testing.assert_array_equal(one.spell, other.spell)
    flat = np.full((20, 1), 7.0)
    low, high = band_of(resample_years(flat, flat).spell, np.array([7.0]), 20)
    np.testing.assert_allclose([low, high], 7.0)


def test_one_year_has_no_band():
    low, high = band_of(np.ones((10, 2)), np.ones(2), 1)
    assert np.isnan([low, high]).all()
    assert "no band" in band_statement(1)


@pytest.mark.parametrize("years", [2, 3, 4, 5, 9])
def test_a_band_needs_five_years(years):
    low, high = band_of(np.linspace(1, 9, 90).reshape(45, 2), np.array([3.0, 4.0]), years)
    assert np.isfinite([low, high]).all() == (years >= 5)
    assert ("give no band" in band_statement(years)) == (years < 5)


@pytest.mark.parametrize("years", range(5, 40))
def test_the_statement_never_quotes_a_longer_record_than_there_is(years):
    tried = int(re.search(r"truth with (\d+) years", band_statement(years))[1])
    assert tried <= years
    assert tried == max(row["years"] for row in load_table("band_coverage")["row"] if row["years"] <= years)


def test_walls_that_are_equal_but_for_rounding_are_worst_together():
    drawn = np.array([[0.3, 0.1 + 0.2, 0.1], [0.1 + 0.2, 0.3, 0.2]])  # 0.1 + 0.2 is 0.30000000000000004
    np.testing.assert_allclose(worst_shares(drawn), [0.5, 0.5, 0.0])


def test_a_wall_that_is_always_worse_is_the_worst_in_every_resample():
    years = np.random.default_rng(5).gamma(8, 50, (15, 1)) * np.array([1.0, 0.5, 0.9])
    assert worst_shares(resample_years(years, years).spell).tolist() == [1.0, 0.0, 0.0]
    same = np.repeat(years[:, :1], 2, axis=1)
    np.testing.assert_allclose(worst_shares(resample_years(same, same).spell), [0.5, 0.5])


def test_the_statement_quotes_the_measured_shares():
    row = next(row for row in load_table("band_coverage")["row"] if row["years"] == 20)
    words = band_statement(21)
    assert f"{row['annual_share']:.0%}" in words
    assert f"{row['spell_share']:.0%}" in words
    assert "20 years" in words


def test_months_add_up_to_the_year_and_agree_with_pandas():
    climate = weather(4)
    index = airfield_index(climate, orientation=[225.0, 70.0])
    months = monthly_driving_rain(climate, index)
    np.testing.assert_allclose(months.sum("month"), index["airfield_annual_index"], rtol=1e-9)
    variable = climate.copy(deep=True)
    variable["wind_from_direction"][::5] = np.nan  # spread evenly over all walls, in the months too
    spread = airfield_index(variable, orientation=[225.0, 70.0])
    np.testing.assert_allclose(
        monthly_driving_rain(variable, spread).sum("month"), spread["airfield_annual_index"], rtol=1e-9
    )
    frame = climate.to_dataframe()
    amount = 2 / 9 * frame.wind_speed * frame.rain ** (8 / 9)
    amount = amount.where(amount >= 0.001, 0) * np.cos(np.deg2rad(frame.wind_from_direction - 225.0)).clip(
        lower=0
    )
    by_month = amount.groupby(frame.index.month).sum() / 4
    np.testing.assert_allclose(months.sel(orientation=225.0), by_month, rtol=1e-6)


@pytest.mark.parametrize("gap", [slice(3000), slice(-3000, None)], ids=["first", "last"])
def test_counted_hours_leave_out_years_that_do_not_count(gap):
    climate = weather(3)
    climate["rain"][gap] = np.nan
    index = airfield_index(climate, orientation=[225.0])
    assert index.sizes["year"] == 2
    hours = counted_hours(climate, index)
    assert set(hours.year) == {0, 1}
    np.testing.assert_allclose(
        monthly_driving_rain(climate, index).sum("month"), index["airfield_annual_index"], rtol=1e-9
    )


@given(st.lists(st.integers(0, 40), min_size=8, max_size=40))
@settings(max_examples=60, deadline=None)
def test_trend_against_scipy(values):
    years, values = np.arange(len(values)), np.array(values, dtype=float)
    found = trend(years, values)
    slope = scipy.stats.theilslopes(values, years)[0]
    assert found.per_decade == pytest.approx(10 * slope, abs=1e-9)
    # Mann-Kendall by hand from scipy's tau-b: S = tau sqrt((n0 - ties) n0), with the tie-corrected variance
    n = len(values)
    n0 = n * (n - 1) / 2
    counts = np.unique(values, return_counts=True)[1]
    ties = (counts * (counts - 1) / 2).sum()
    if ties == n0:
        assert found.probability == 1.0
        return
    score = round(scipy.stats.kendalltau(years, values).statistic * np.sqrt((n0 - ties) * n0))
    variance = (n * (n - 1) * (2 * n + 5) - (counts * (counts - 1) * (2 * counts + 5)).sum()) / 18
    z = max(abs(score) - 1, 0) / np.sqrt(variance)
    assert found.probability == pytest.approx(2 * scipy.stats.norm.sf(z) if score else 1.0, abs=1e-9)


def test_no_drama_without_a_trend():
    chance = np.random.default_rng(7)
    calm = trend(np.arange(30), chance.normal(400, 50, 30))
    assert calm.sentence.startswith("No clear trend")
    assert trend(np.arange(3), np.arange(3.0)).sentence == "3 years are too few to tell a trend."
    assert trend(np.arange(1), np.arange(1.0)).sentence == "1 year is too few to tell a trend."
    rising = trend(np.arange(1991, 2021), 400 + 8.0 * np.arange(30) + chance.normal(0, 5, 30))
    assert "more per decade" in rising.sentence


def test_comparing_a_record_with_itself_and_with_more_rain():
    climate = weather(12)
    more = climate.copy(deep=True)
    more["rain"] = (more["rain"] * 2).assign_attrs(units="mm")
    same = compare_records(climate, climate, orientation=[225.0])
    np.testing.assert_allclose(same.annual_ratio, 1.0)
    assert "no clear change" in same.sentence
    twice = compare_records(climate, more, orientation=[225.0, 45.0])
    np.testing.assert_allclose(twice.annual_ratio, 2 ** (8 / 9), rtol=1e-3)
    np.testing.assert_allclose(twice.spell_ratio, 2 ** (8 / 9), rtol=1e-3)
    assert twice.annual_band[0][0] < 2 ** (8 / 9) < twice.annual_band[1][0]
    assert "more" in twice.sentence
    model = climate.copy()
    model.attrs["kind"] = "model"
    flags = compare_records(climate, model, orientation=[225.0]).flags
    assert any("spells are not alike" in flag for flag in flags)
    assert any("part of the difference" in flag for flag in flags)


def test_few_years_in_either_record_give_a_comparison_no_band():
    long, short = weather(6), weather(3)
    for pair in ((long, short), (short, long)):
        found = compare_records(*pair, orientation=[225.0])
        assert np.isnan(found.annual_band).all()
        assert np.isnan(found.spell_band).all()
        assert "so few years give no band" in found.sentence
        assert found.sentence.endswith("no clear change.")


@given(
    st.lists(st.floats(1, 500), min_size=2, max_size=30),
    st.floats(0.1, 10),
    st.floats(0, 100),
)
@settings(max_examples=50, deadline=None)
def test_the_larger_of_two_is_no_less_than_either_and_goes_with_the_spells(maxima, by, more):
    x = np.array(maxima)
    found = float(likely_spell(x))
    assert found >= float(np.percentile(x, 67)) * (1 - 1e-12)
    assert found >= (x.mean() + 0.2538 * x.std(ddof=1)) * (1 - 1e-4)
    assert float(likely_spell(by * x + more)) == pytest.approx(by * found + more, rel=1e-9)
