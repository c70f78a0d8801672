"""Resampling, trends, comparisons and the other models: by hand, by page and against scipy."""

import re

import numpy as np
import pytest
import scipy.stats
import xarray as xr
from builders import climate_of
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import agrees, checks_about, compared, inputs_of
from site_world import weather

from exposure.checks import RefusalError
from exposure.rain import extremes, models, seasons
from exposure.rain.counted import counted_hours
from exposure.rain.index import airfield_index
from exposure.rain.seasons import compare_records, monthly_driving_rain, trend
from exposure.rain.uncertainty import (
    band_of,
    band_statement,
    has_band,
    likely_spell,
    resample_years,
    same,
    student_quantile,
    widened_tail,
    worst_shares,
)
from exposure.tables import load_table

THREE_YEARS = (
    np.sqrt(6) / np.pi * (-np.log(-np.log(2 / 3)) - np.euler_gamma)
)  # spreads above the mean, Gumbel by moments


@pytest.mark.parametrize("name", checks_about("site", "drop-"))
def test_drop_by_page(name):
    agrees(models.median_drop(inputs_of(name)["rain"]), name)


@pytest.mark.parametrize("name", checks_about("site", "fall-"))
def test_fall_speed_by_page(name):
    agrees(models.fall_speed(inputs_of(name)["diameter"]), name)


@pytest.mark.parametrize("name", checks_about("site", "factor-"))
def test_driving_rain_factor_by_page(name):
    agrees(models.driving_rain_factor(inputs_of(name)["rain"]), name)


def test_crossover_by_page():
    agrees(models.crossover_rain(), "crossover")


@pytest.mark.parametrize("name", checks_about("site", "ashrae-"))
def test_ashrae_by_page(name):
    agrees(models.ashrae_rain(**inputs_of(name)), name)


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
    for name in ("toronto-west", "toronto-east"):
        agrees(models.free_field_on_wall(**inputs_of(name)), name)
    agrees(models.height_factor(**inputs_of("height-factor")), "height-factor")


@pytest.mark.parametrize("name", checks_about("site", "screening-"))
def test_screening_by_page(name):
    agrees(models.screening_index(**inputs_of(name)), name)


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
    agrees(models.warming_ratio(**inputs_of("warming-2k")), "warming-2k")


def test_other_models_by_hand():
    # 100 hours of 5 m/s and 1 mm square on: 100 x 5 x 0.2348 through a plane, 500 mm m/s of wind and rain
    time = xr.date_range("2010-01-01", "2010-12-31T23:00", freq="h", use_cftime=False)
    rain = np.zeros(time.size)
    rain[:100] = 1.0
    climate = climate_of(time, rain=rain, wind_speed=5.0, wind_from_direction=240.0, kind="gauge")
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
        unit="L/m²",
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
        because="a series here, cut after its fourth term",
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


def test_every_term_of_the_other_models_by_hand():
    # drops of 0.3 to 6 mm; beyond, the nearer end: 0.3 mm fall at 1.231 m/s, 6 mm at 9.232 m/s, by the polynomial
    assert models.fall_speed(np.array([0.1, 0.3, 6.0, 9.0])) == pytest.approx([1.23106, 1.23106, 9.23184, 9.23184], abs=1e-4)  # fmt: skip
    assert models.median_drop(np.array([1.0, 32.0])) == pytest.approx([1.105, 1.105 * 32**0.232])
    assert models.height_factor(160.0) == pytest.approx(2.0)
    assert models.height_factor(160.0, exponent=0.5) == pytest.approx(4.0)
    assert models.free_field_on_wall(100, height_and_ground=2, shelter=0.3, admittance=0.5) == pytest.approx(
        30
    )
    hours = models.ashrae_rain(exposure_factor=2.0, deposition_factor=0.5, wind_speed=np.array([1.0, 2, 3]), rain=np.array([10.0, 10, 10]), turn=np.array([60.0, 120, 0]))  # fmt: skip
    assert hours == pytest.approx([1.0, 0.0, 6.0])
    assert models.crossover_rain(2 / 9) == pytest.approx(1.0)
    assert models.crossover_rain(1 / 9) == pytest.approx(512.0)  # two to the ninth
    assert models.warming_ratio(9 / 8) == pytest.approx(1.07)
    assert [models.ashrae_deposition(place) for place in ("steep roof", "low-slope roof", "runoff")] == [
        0.35,
        0.5,
        1.0,
    ]
    for height in (-0.1, 1000.1):
        with pytest.raises(RefusalError) as refused:
            models.ashrae_exposure(height=height, exposure="severe")
        assert (
            str(refused.value) == f"height is {height}; expected a number from 0 to 1000 m. Correct height."
        )
    assert models.ashrae_exposure(height=0, exposure="severe") == models.ashrae_exposure(
        height=10, exposure="severe"
    )
    assert models.ashrae_exposure(height=1000, exposure="severe") > 0


def hand_made():
    """Two years; in each a steady, an oblique, a variable and an uncounted hour; the second lacks a twentieth of its hours."""
    time = xr.date_range("2010-01-01", "2011-12-31T23:00", freq="h", use_cftime=False)
    rain, way = np.zeros(time.size), np.full(time.size, 240.0)
    for year in range(2):
        for number, (month_hour, turned) in enumerate(((0, 240.0), (800, 300.0), (1500, np.nan))):
            rain[8760 * year + month_hour], way[8760 * year + month_hour] = number + 1.0, turned
    rain[8760 + 4000 : 8760 + 4438] = np.nan
    return climate_of(time, rain=rain, wind_speed=4.5, wind_from_direction=way, kind="gauge")


def test_the_hours_behind_an_index_by_hand():
    climate = hand_made()
    index = airfield_index(climate, orientation=[240.0, 60.0])
    hours = counted_hours(climate, index)
    assert hours.rain.tolist() == [1, 2, 3, 1, 2, 3]
    assert hours.wind_speed.tolist() == [4.5] * 6
    np.testing.assert_array_equal(hours.wind_from_direction, [240, 300, np.nan] * 2)
    assert hours.month.tolist() == [1, 2, 3] * 2  # hour 800 is 3 February, hour 1500 is 4 March
    assert hours.year.tolist() == [0, 0, 0, 1, 1, 1]
    assert hours.scale == pytest.approx([1, 1, 1, 1 / 0.95, 1 / 0.95, 1 / 0.95])
    assert hours.years == 2
    assert hours.share_facing(240.0) == pytest.approx([1, 0.5, 1 / np.pi] * 2)
    assert hours.share_facing(60.0) == pytest.approx([0, 0, 1 / np.pi] * 2)
    # in a mean year: 2/9 x 4.5 = 1 L/m2 for 1 mm, the years weighted by 1 and 1 / 0.95
    both = (1 + 1 / 0.95) / 2
    months = monthly_driving_rain(climate, index)
    expected = np.zeros((12, 2))
    expected[:3, 0] = np.array([1, 0.5 * 2 ** (8 / 9), 3 ** (8 / 9) / np.pi]) * both
    expected[2, 1] = 3 ** (8 / 9) / np.pi * both
    np.testing.assert_allclose(months, expected, atol=1e-12)
    assert (months.dims, months.name, months.attrs) == (("month", "orientation"), "monthly_driving_rain", {"units": "L m-2"})  # fmt: skip
    assert (months["month"].values.tolist(), months["orientation"].values.tolist()) == (
        list(range(1, 13)),
        [240, 60],
    )
    sums = models.other_model_sums(climate, index)
    wind_rain = 4.5 * np.array([1 + 2 * 0.5 + 3 / np.pi, 3 / np.pi]) * both
    np.testing.assert_allclose(sums["wind_rain_annual"], wind_rain)
    fall = [float(models.driving_rain_factor(rain)) for rain in (1.0, 2.0, 3.0)]
    free = 4.5 * np.array([fall[0] + fall[1] + 3 * fall[2] / np.pi, 3 * fall[2] / np.pi]) * both
    np.testing.assert_allclose(sums["free_field_annual"], free)
    assert sums["free_field_annual"].attrs == {"units": "L m-2 year-1"}
    assert sums["wind_rain_annual"].attrs == {"units": "mm m s-1 year-1"}
    given = models.other_model_sums(climate, index, hours=hours)
    xr.testing.assert_identical(given, sums)
    xr.testing.assert_identical(monthly_driving_rain(climate, index, hours=hours), months)


@pytest.mark.parametrize(
    ("slope", "chance", "years", "mean", "sentence"),
    [
        (5.0, 0.05, 40, 100.0, "No clear trend over 40 years (such a slope comes by chance in 5% of cases)."),
        (5.0, 0.049, 30, 100.0, "5 L/m2 more per decade over 30 years, 5% of the mean; hardly chance."),
        (-7.4, 0.01, 29, 148.0, "7 L/m2 less per decade over 29 years, 5% of the mean; hardly chance. The record is short for this."),
        (3.0, 0.01, 30, 0.0, "3 L/m2 more per decade over 30 years; hardly chance."),
    ],
)  # fmt: skip
def test_a_trend_in_words(slope, chance, years, mean, sentence):
    assert seasons._trend_sentence(slope, chance, years, mean) == sentence


def test_trends_of_few_years_and_of_none():
    three = trend(np.arange(3), np.arange(3.0))
    assert np.isnan([three.per_decade, three.probability]).all()
    assert three.years == 3
    four = trend(
        np.array([2000, 2001, 2003, 2004]), np.array([1.0, 2, 4, 5])
    )  # all six steps rise by one a year
    assert (four.per_decade, four.years) == (pytest.approx(10.0), 4)
    # S = 6, variance 4 x 3 x 13 / 18: z = 5 / 2.944
    assert four.probability == pytest.approx(2 * scipy.stats.norm.sf(5 / np.sqrt(156 / 18)))
    # 15 pairs, four of them ties: S = 11; variance (6 x 5 x 17 - 2 x 1 x 9 - 3 x 2 x 11) / 18 = 426 / 18
    tied = trend(np.arange(6), np.array([1.0, 1, 2, 3, 3, 3]))
    assert tied.probability == pytest.approx(2 * scipy.stats.norm.sf(10 / np.sqrt(426 / 18)))
    flat = trend(np.arange(9), np.full(9, 3.0))
    assert (flat.per_decade, flat.probability) == (0.0, 1.0)
    assert trend([1, 2, 3, 4, 5], [1, 0, 0, 0, 1]).probability == 1.0  # as many steps up as down


@pytest.mark.filterwarnings("error")
def test_ratios_and_quantiles_of_a_comparison():
    ratio = seasons._ratio(np.array([2.0, 0.0, 3.0]), np.array([4.0, 5.0, 0.0]))
    np.testing.assert_array_equal(ratio, [0.5, 0.0, np.nan])
    drawn = np.stack([np.linspace(0, 1, 101), np.where(np.arange(101) == 3, np.nan, 7.0)], axis=1)
    low, high = seasons._quantiles(drawn, 0.05)
    assert (low.tolist(), high.tolist()) == ([pytest.approx(0.05), 7.0], [pytest.approx(0.95), 7.0])
    for part in seasons._quantiles(drawn, np.nan):
        assert part.shape == (2,)
        assert np.isnan(part).all()


def yearly(rates, kind="gauge", first=2001):
    """One hour of ``rates`` mm onto a wall that faces 240 in each year: 2 L/m2 for 1 mm, to the power of 8/9."""
    time = xr.date_range(
        f"{first}-01-01", f"{first + len(rates) - 1}-12-31T23:00", freq="h", use_cftime=False
    )
    rain = np.zeros(time.size)
    starts = np.flatnonzero((time.month == 3) & (time.day == 1) & (time.hour == 0))
    rain[starts] = rates
    values = {"rain": (rain, "mm"), "wind_speed": (np.full(time.size, 9.0), "m s-1"), "wind_from_direction": (np.full(time.size, 240.0), "degree")}  # fmt: skip
    return xr.Dataset({name: ("time", value, {"units": unit}) for name, (value, unit) in values.items()}, {"time": time}, {"kind": kind, "source": "made in a test"})  # fmt: skip


def test_a_comparison_of_two_records_by_a_second_drawing():
    chance = np.random.default_rng(6)
    one, two = chance.gamma(4, 2, 12), chance.gamma(4, 3.2, 9)
    found = compare_records(yearly(one), yearly(two), orientation=[60.0, 240.0, 300.0], names=("A", "B"))
    a, b = 2 * one ** (8 / 9), 2 * two ** (8 / 9)

    def spell(maxima):
        return np.fmax(
            np.quantile(maxima, 0.67, axis=0), maxima.mean(0) + THREE_YEARS * maxima.std(0, ddof=1)
        )

    assert found.orientation.tolist() == [60, 240, 300]
    np.testing.assert_allclose(
        found.annual_ratio, [np.nan, b.mean() / a.mean(), b.mean() / a.mean()], rtol=1e-9
    )
    np.testing.assert_allclose(found.spell_ratio[1:], spell(b) / spell(a), rtol=1e-5)
    again = np.random.default_rng(77)
    drawn_a, drawn_b = again.choice(a, (12, 20_000)), again.choice(b, (9, 20_000))
    tail = scipy.stats.norm.cdf(np.sqrt(9 / 8) * scipy.stats.t.ppf(0.05, 8))  # of the shorter record
    for band, ratio in (
        (found.annual_band, drawn_b.mean(0) / drawn_a.mean(0)),
        (found.spell_band, spell(drawn_b) / spell(drawn_a)),
    ):
        expected = np.quantile(ratio, [tail, 1 - tail])
        assert [band[0][1], band[1][1]] == pytest.approx(expected, rel=0.04)
    low, high = found.annual_band[0][1], found.annual_band[1][1]
    assert found.sentence == (
        f"On the wall facing 240 degrees B has {b.mean() / a.mean():.2f} times the driving rain of A in a year "
        f"(90% band {low:.2f} to {high:.2f}): more."
    )
    assert [flag.key for flag in found.flags] == ["rain.few_years"]
    back = compare_records(yearly(two), yearly(one), orientation=240.0)
    assert back.sentence.startswith("On the wall facing 240 degrees the second has ")
    assert back.sentence.endswith(": less.")


def test_what_parts_two_records_is_told_once():
    gauge, model = yearly([5.0] * 6), yearly([5.0] * 6, kind="model")
    found = compare_records(gauge, model, orientation=[240.0])
    assert {one.key: one.numbers for one in found.flags} == {
        "rain.few_years": {"years": "6 years count", "needed": 10},
        "rain.thresholds_differ": {"one": 0.0, "other": 0.1},
        "rain.kinds_differ": {"one": "gauge", "other": "model"},
    }
    assert len(found.flags) == 3  # few years are told of both in one
    alike = compare_records(gauge, model, orientation=[240.0], wet_hour=0.5)
    assert [one.key for one in alike.flags] == ["rain.few_years", "rain.kinds_differ"]
    assert "(90% band 1.00 to 1.00): no clear change." in alike.sentence


def test_resamples_draw_whole_years_for_all_walls_together():
    annual = np.arange(12.0).reshape(6, 2) + 1
    maxima = 10 * annual
    drawn = resample_years(annual, maxima, resamples=500)
    assert (drawn.annual.shape, drawn.spell.shape, drawn.years) == ((500, 2), (500, 2), 6)
    np.testing.assert_allclose(drawn.annual[:, 1] - drawn.annual[:, 0], 1.0)  # the same years for both walls
    assert set(np.round(6 * drawn.annual[:, 0]).astype(int)) <= set(range(6, 67))
    assert drawn.annual.mean() == pytest.approx(annual.mean(), rel=0.02)
    assert drawn.annual.std(0) == pytest.approx(annual.std(0) / np.sqrt(6), rel=0.1)
    assert resample_years(annual, maxima).annual.shape == (1000, 2)
    other = resample_years(annual, maxima, resamples=500, seed=1)
    assert not np.array_equal(other.annual, drawn.annual)


def test_the_band_holds_its_estimate_and_is_cut_at_the_widened_tail():
    drawn = np.stack([np.linspace(0, 1, 1001), np.linspace(5, 6, 1001)], axis=1)
    low, high = band_of(drawn, np.array([0.5, 5.5]), 20)
    tail = scipy.stats.norm.cdf(np.sqrt(20 / 19) * scipy.stats.t.ppf(0.05, 19))
    assert [*low, *high] == pytest.approx([tail, 5 + tail, 1 - tail, 6 - tail], abs=2e-4)
    low, high = band_of(drawn, np.array([-1.0, 9.0]), 20)
    assert (low[0], high[1]) == (-1.0, 9.0)
    assert widened_tail(20, band=0.5) == pytest.approx(scipy.stats.norm.cdf(np.sqrt(20 / 19) * scipy.stats.t.ppf(0.25, 19)), abs=1e-4)  # fmt: skip
    assert np.isnan(widened_tail(1))
    assert np.isfinite(widened_tail(2))


def test_what_is_said_of_a_band_in_full():
    assert band_statement(1) == "One year gives no band: nothing says how much another year would differ."
    assert band_statement(4) == "4 years give no band: tried on made-up weather, bands of so few years held the truth too seldom."  # fmt: skip
    assert band_statement(6) == (
        "Bands: whole years drawn again, 90% meant. Tried on made-up weather of known truth with 5 years, the band held it "
        "in 88% (a year) and 86% (worst spell) of 1,000 repeats. They tell of the years alone, not of the weather source, "
        "the ground or the method."
    )
    assert [has_band(years) for years in (4, 5)] == [False, True]
    assert [same(1.0, 1 + 0.9e-9), same(1.0, 1 + 1.1e-9), same(-1.0, 1.0), same(0.0, 0.0), same(-2.0, -2.0 - 1e-9)] == [True, False, False, True, True]  # fmt: skip


@pytest.mark.parametrize(
    ("years", "kind", "label"),
    [
        (1, "typical year", "in the worst spell of the one stitched year of this record"),
        (30, "typical year", "in the worst spell of the one stitched year of this record"),
        (1, "gauge", "in the worst spell of the one year of this record"),
        (2, "gauge", "in the worst spell judged from the 2 years of this record"),
        (3, "gauge", "in the worst spell in three years, judged from 3 years"),
        (9, "gauge", "in the worst spell in three years, judged from 9 years"),
        (10, "gauge", "in the worst spell in three years"),
    ],
)
def test_a_spell_is_called_by_the_years_it_is_judged_from(years, kind, label):
    assert extremes.spell_label(years, kind=kind) == label


@pytest.mark.filterwarnings("error")
def test_estimates_with_years_left_out_are_those_of_the_others_by_numpy():
    chance = np.random.default_rng(12)
    maxima = chance.gamma(3, 20, (9, 40))
    counts = chance.random((9, 40)) < 0.6
    counts[:, 0], counts[:, 1], counts[1:, 1] = False, True, False
    counts[:2, 2], counts[2:, 2] = True, False
    percentile, gumbel = extremes.percentile_value(maxima, counts), extremes.gumbel_value(maxima, 5, counts)
    mean, both = extremes.mean_of_years(maxima, counts), likely_spell(maxima, counts)
    for k in range(40):
        mine = maxima[counts[:, k], k]
        if not mine.size:
            assert np.isnan([percentile[k], gumbel[k], mean[k], both[k]]).all()
            continue
        assert percentile[k] == pytest.approx(np.percentile(mine, 67))
        assert mean[k] == pytest.approx(mine.mean())
        if mine.size == 1:
            assert np.isnan(gumbel[k])
            assert both[k] == mine[0]
            continue
        assert gumbel[k] == pytest.approx(mine.mean() + 0.719457 * mine.std(ddof=1), rel=1e-5)
        assert both[k] == pytest.approx(max(np.percentile(mine, 67), mine.mean() + THREE_YEARS * mine.std(ddof=1)), rel=1e-5)  # fmt: skip
    assert np.isnan(extremes.gumbel_value(np.array([[3.0, 4.0]]), 5)).tolist() == [True, True]
