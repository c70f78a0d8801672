"""Rain on the bare membrane, by hand on made-up years."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from builders import climate_of
from hypothesis import given, settings
from hypothesis import strategies as st

from exposure.checks import RefusalError
from exposure.detail.bare_wrap import WEEK, _driest_starts, bare_wrap, clad_first
from exposure.detail.wall_hours import wall_hours
from exposure.doubts import has_doubt
from exposure.draw.bare_wrap import bare_wrap as bare_wrap_picture
from exposure.draw.bare_wrap import bare_wrap_caption

HOUR = 2 / 9 * 9.0  # L/m2 of 1 mm at 9 m/s square on: 2


def years_of(first, last, events, *, kind="gauge"):
    """Dry years with wet hours (stamp, mm, m/s, direction)."""
    time = pd.date_range(f"{first}-01-01", f"{last}-12-31T23:00", freq="h")
    rain, speed, way = np.zeros(time.size), np.full(time.size, 3.0), np.full(time.size, 225.0)
    for stamp, amount, wind, direction in events:
        row = time.get_loc(pd.Timestamp(stamp))
        rain[row], speed[row], way[row] = amount, wind, direction
    return climate_of(time, rain=rain, wind_speed=speed, wind_from_direction=way, kind=kind)


def of(climate, *, start, weeks, facing=(225.0,), factor=1.0, **others):
    hours = wall_hours(climate, orientation=list(facing), factor=factor)
    return bare_wrap(
        hours, elevations=[f"wall {way:.0f}" for way in facing], start=start, weeks=weeks, **others
    )


def test_expected_and_one_in_ten_by_hand():
    # in year k of ten, k + 1 hours of 2 L/m2 on 8 January (week 1 begins then): 2, 4, ... 20 L/m2
    events = [
        (f"{2000 + k}-01-08T{hour:02d}:00", 1.0, 9.0, 225.0) for k in range(10) for hour in range(k + 1)
    ]
    (one,) = of(years_of(2000, 2009, events), start=1, weeks=1)
    assert one.years == 10
    assert one.expected[1] == pytest.approx(11.0)  # mean of 2 to 20
    assert one.tenth[1] == pytest.approx(18.2)  # 90 % between the ninth and tenth: 18 + 0.1 x 2
    assert one.wet_hours[1] == pytest.approx(5.5)
    assert one.expected[0] == one.expected[2] == 0
    assert one.spell_expected == pytest.approx(11.0)
    assert one.spell_tenth == pytest.approx(18.2)
    assert one.pressure_tenth == pytest.approx(0.5 * 1.225 * 81)


def test_pressure_takes_the_speed_factor_squared_and_the_angle():
    events = [(f"{2000 + k}-01-02T05:00", 1.0, 10.0, 285.0) for k in range(10)]
    (one,) = of(years_of(2000, 2009, events), start=0, weeks=1, speed_factor=[0.8])
    assert one.pressure_expected == pytest.approx(0.5 * 1.225 * (10 * 0.5 * 0.8) ** 2)  # 60 degrees off


def test_two_spells_in_one_window_are_not_one():
    # four dry days and more between them: the larger of 2 and 4 L/m2
    events = [("2000-01-01T05:00", 1.0, 9.0, 225.0)]
    events += [("2000-01-12T05:00", 1.0, 9.0, 225.0), ("2000-01-12T06:00", 1.0, 9.0, 225.0)]
    (one,) = of(years_of(2000, 2000, events), start=0, weeks=2)
    assert one.expected[0] == pytest.approx(3 * HOUR)
    assert one.spell_expected == pytest.approx(2 * HOUR)


def test_factor_and_facing_scale_the_rain_by_hand():
    events = [(f"{2000 + k}-01-02T05:00", 1.0, 9.0, 225.0) for k in range(3)]
    west, lee = of(years_of(2000, 2002, events), start=0, weeks=1, facing=(285.0, 45.0), factor=0.5)
    assert west.expected[0] == pytest.approx(HOUR * 0.5 * 0.5)
    assert lee.expected[0] == 0


def test_clad_first_is_the_wettest_wall():
    events = [(f"{2000 + k}-01-02T05:00", 1.0, 9.0, 225.0) for k in range(3)]
    walls = of(years_of(2000, 2002, events), start=0, weeks=1, facing=(285.0, 225.0, 45.0))
    assert clad_first(walls) == ("wall 225", "wall 285", "wall 45")


def test_a_window_over_new_year_is_taken_from_the_next_year():
    events = [("2001-01-03T05:00", 1.0, 9.0, 225.0)]
    (one,) = of(years_of(2000, 2002, events), start=51, weeks=2)
    # 23 or 24 December to 6 January: 2000 and 2001 have such a window, 2002 runs off the record
    assert one.years == 2
    assert one.expected[51] == pytest.approx(HOUR / 2)


def test_what_no_year_knows_is_missing_not_zero():
    record = years_of(2000, 2001, [("2000-01-03T05:00", 1.0, 9.0, 225.0)])
    record["rain"][np.isin(record["time"].dt.month, [5, 6])] = np.nan
    (one,) = of(record, start=18, weeks=6)
    assert np.isnan(one.expected[18])
    assert one.years == 0
    assert "nothing can be said" in one.in_words
    assert any("nothing is said of those starts" in flag for flag in one.flags)
    assert np.isfinite(one.expected[:10]).all()
    unknown = set(np.flatnonzero(~np.isfinite(one.tenth)).tolist())
    for first, last in one.driest:
        assert not unknown & set(
            range(first, last + 1) if first <= last else [*range(first, 52), *range(last + 1)]
        )


def test_a_single_year_runs_round_and_is_told():
    (one,) = of(years_of(2001, 2001, [("2001-01-03T05:00", 1.0, 9.0, 225.0)]), start=51, weeks=2)
    assert one.expected[51] == pytest.approx(HOUR)
    assert any("runs on into its own January" in flag for flag in one.flags)
    # one year has no wettest of several, and no one in ten is told of it
    assert has_doubt(one.flags, "detail.one_window")
    assert not has_doubt(one.flags, "detail.few_windows")


def test_a_record_from_one_o_clock_keeps_its_first_week():
    record = years_of(2001, 2001, [("2001-01-03T05:00", 1.0, 9.0, 225.0)]).isel(time=slice(1, None))
    (one,) = of(record, start=0, weeks=1)
    assert one.expected[0] == pytest.approx(HOUR)


@pytest.mark.parametrize(("late", "years"), [(16, 2), (17, 1)])
def test_a_first_week_may_lack_a_tenth_before_the_record(late, years):
    # a week is 168 hours, a tenth of it 16.8
    record = years_of(2001, 2002, [("2001-01-03T05:00", 1.0, 9.0, 225.0)]).isel(time=slice(late, None))
    (one,) = of(record, start=0, weeks=1)
    assert one.years == years
    assert one.expected[0] == pytest.approx(HOUR / 2 if years == 2 else 0.0)


@pytest.mark.parametrize(
    ("years", "tenth", "high"), [(9, 18.0, "in the hardest of 9 years"), (10, 18.2, "in one year of ten")]
)
def test_fewer_than_ten_years_take_the_largest_and_say_so(years, tenth, high):
    # in year k of nine or ten k + 1 hours of 2 L/m2: the largest of nine is 18, 90 % of ten 18 + 0.1 x 2
    events = [
        (f"{2000 + k}-01-08T{hour:02d}:00", 1.0, 9.0, 225.0) for k in range(years) for hour in range(k + 1)
    ]
    (one,) = of(years_of(2000, 1999 + years, events), start=1, weeks=1)
    assert one.tenth[1] == one.spell_tenth == pytest.approx(tenth)
    assert has_doubt(one.flags, "detail.few_windows") == (years < 10)
    assert not has_doubt(one.flags, "detail.start_runs_round")
    assert not has_doubt(one.flags, "detail.starts_unknown")
    assert one.in_words.replace("\u00a0", " ").startswith(
        f"Bare for 1 week from 8 January, the wall 225 elevation takes {years + 1} L/m² of driving rain in a mean year "
        f"and 18 L/m² {high}, in {(years + 1) / 2:.0f} h; largest spell 18 L/m² and highest pressure 50 Pa {high}. "
    )


def test_one_year_gives_no_mean_year_and_no_year_of_ten():
    # three hours of 2 L/m2; 9 m/s at 1.225 kg/m3: 49.6 Pa
    events = [(f"2001-01-08T{hour:02d}:00", 1.0, 9.0, 225.0) for hour in range(3)]
    (one,) = of(years_of(2001, 2001, events), start=1, weeks=1)
    told = one.in_words.replace("\u00a0", " ")
    assert (
        "takes 6 L/m² of driving rain in the one year of this record, in 3 h; "
        "largest spell 6 L/m² and highest pressure 50 Pa in it. "
    ) in told
    for words in (told, bare_wrap_caption(one), bare_wrap_picture(one)):
        assert "mean year" not in words
        assert "year of ten" not in words


def test_the_weeks_that_are_not_known_are_named():
    record = years_of(2000, 2000, [])
    record["rain"][:24] = np.nan  # a day of the first week: 86 % known; no other week is touched
    (one,) = of(record, start=3, weeks=1)
    (told,) = [flag for flag in one.flags if getattr(flag, "key", "") == "detail.starts_unknown"]
    assert (told.numbers["weeks"], told.numbers["starts"]) == (1, "1")
    (whole,) = of(years_of(2000, 2000, []), start=3, weeks=1)
    assert whole.driest == ((0, 51),)  # no week is better than another


def test_driest_starts_are_a_tenth_of_the_way_up_and_run_over_new_year():
    def driest(**rain):
        """Driest starts of a year with so many hours of 2 L/m2 in a week; every other week has twenty."""
        hours = {week: rain.get(f"w{week}", 20) for week in range(52)}
        begin = pd.Timestamp("2001-01-01")
        events = [
            (begin + pd.Timedelta(hours=168 * week + hour), 1.0, 9.0, 225.0)
            for week, many in hours.items()
            for hour in range(many)
        ]
        return of(years_of(2001, 2001, events), start=0, weeks=1)[0].driest

    assert driest(w20=0, w21=2, w22=3, w19=2, w18=3) == (
        (19, 21),
    )  # the least is 0, the most 40 L/m2: up to 4
    assert driest(w0=0, w1=1, w51=2, w50=2) == ((50, 1),)
    assert driest(w10=0, w30=1, w40=3) == ((10, 10), (30, 30))  # as dry elsewhere: both are named
    assert driest(w51=0, w2=1, w30=2) == ((2, 2), (30, 30), (51, 51))


def test_weeks_less_than_a_litre_apart_are_alike():
    tenth = np.full(52, 0.9)
    tenth[49] = 0.0
    assert _driest_starts(tenth) == ((0, 51),)
    tenth[:10] = 2.0
    assert _driest_starts(tenth) == ((10, 51),)


@given(tenth=st.lists(st.floats(0, 300), min_size=52, max_size=52))
def test_no_start_drier_than_a_named_one_goes_unnamed(tenth):
    """Whoever reads 'driest starts' never finds a start beside it, unnamed, that was drier."""
    named = {
        week % 52
        for first, last in _driest_starts(np.array(tenth))
        for week in range(first, (last if last >= first else last + 52) + 1)
    }
    worst_named = max(tenth[week] for week in named)
    assert named
    assert all(tenth[week] > worst_named for week in set(range(52)) - named)


def test_walls_alike_in_one_year_of_ten_are_clad_by_the_mean():
    # ten years of one hour each on a wall, against one that takes the hours of the two hardest years alone
    most = [(f"{2000 + k}-01-02T05:00", 1.0, 9.0, 225.0) for k in range(9)]
    walls = of(years_of(2000, 2008, most), start=0, weeks=1, facing=(225.0, 226.0))
    seldom = replace(walls[1], tenth=walls[0].tenth, expected=walls[0].expected * 2)
    assert clad_first([walls[0], seldom]) == ("wall 226", "wall 225")
    assert clad_first([seldom, replace(walls[0], tenth=walls[0].tenth * 1.1)]) == ("wall 225", "wall 226")


def test_a_typical_year_runs_round():
    events = [("2001-01-03T05:00", 1.0, 9.0, 225.0)]
    (one,) = of(years_of(2001, 2001, events, kind="typical year"), start=51, weeks=2)
    assert one.expected[51] == pytest.approx(HOUR)


def test_missing_hours_scale_a_window_and_many_drop_it():
    events = [("2000-01-01T05:00", 1.0, 9.0, 225.0), ("2001-01-01T05:00", 1.0, 9.0, 225.0)]
    record = years_of(2000, 2001, events)
    record["rain"][100:108] = np.nan  # 8 of 168 hours: 95 % known
    (few,) = of(record, start=0, weeks=1)
    assert few.expected[0] == pytest.approx((HOUR / (160 / 168) + HOUR) / 2)
    record["rain"][100:140] = np.nan  # 76 % known: the year drops out
    (many,) = of(record, start=0, weeks=1)
    assert many.years == 1
    assert many.expected[0] == pytest.approx(HOUR)


def test_best_weeks_lie_where_it_is_dry():
    events = [
        (stamp, 1.0, 9.0, 225.0)
        for year in range(2000, 2010)
        for stamp in pd.date_range(f"{year}-01-01", f"{year}-04-30", freq="37h")
    ]
    (one,) = of(years_of(2000, 2009, events), start=10, weeks=4)
    ((first, last),) = one.driest
    assert first >= 17
    assert one.tenth[first] == 0
    # 36 L/m2 at most; from 10 December (week 49) four weeks hold six days of January, 8 L/m2 and over a tenth of that
    assert (first, last) == (17, 48)
    # week 17, counted from 0, begins on day 120, 30 April; week 48 ends on day 343, 9 December
    assert "30 April to 9 December" in one.in_words


def test_a_start_in_frost_is_not_the_first_that_is_advised():
    """Dry from 10 December to 27 January (week 49 to 3) and from 4 June to 1 July (week 22 to 25), rain in every other week."""
    dry = {*range(49, 52), *range(4), *range(22, 26)}
    events = [
        (f"2001-{day:%m-%d}T05:00", 1.0, 9.0, 225.0)
        for week in sorted(set(range(52)) - dry)
        for day in [pd.Timestamp("2001-01-01") + pd.Timedelta(days=7 * week)]
    ]
    record = years_of(2001, 2001, events)

    def advised(warmth):
        (one,) = of(record, start=38, weeks=1, warmth=warmth)
        assert one.driest_by_rain == ((49, 3), (22, 25))
        return one.driest, one.in_words.partition("Driest starts")[2].strip(", ").replace("\u00a0", " ")

    winter, alone = np.full(52, 12.0), "10 December to 28 January, or 4 June to 1 July"
    winter[[*range(44, 52), *range(13)]] = -2.0
    assert advised(winter) == (
        ((22, 25),),
        "in weeks of 5 °C or warmer on average, as tape needs, by the rain of past years, not by snow or a forecast: "
        f"4 June to 1 July. By rain alone, frost and snow left aside: {alone}.",
    )
    assert advised(np.full(52, 5.0))[1].endswith(f"not by snow or a forecast: {alone}.")
    plain = f"by the rain of past years, not by frost, snow or a forecast: {alone}."
    assert advised(None) == (((49, 3), (22, 25)), plain)
    assert advised(np.full(52, 4.9))[1] == f"{plain} No week is 5 °C on average, which tape needs."


def test_longer_than_the_schedule_allows_is_told():
    events = [("2000-01-01T05:00", 1.0, 9.0, 225.0)]
    (one,) = of(years_of(2000, 2000, events), start=0, weeks=6, most_days=[28])
    assert any("6 weeks bare is more than the 28 days" in flag for flag in one.flags)
    (other,) = of(years_of(2000, 2000, events), start=0, weeks=4, most_days=[28])
    assert not any("more than the" in flag for flag in other.flags)
    (short,) = of(years_of(2000, 2000, events), start=0, weeks=1, most_days=[1])
    assert any("1 week bare is more than the 1 day the" in flag for flag in short.flags)


def test_impossible_starts_are_refused():
    record = years_of(2000, 2000, [])
    for start, weeks, sentence in (
        (52, 1, "starting week is 52; expected a number from 0 to 51. Correct starting week."),
        (-1, 1, "starting week is -1; expected a number from 0 to 51. Correct starting week."),
        (0, 0, "weeks bare is 0; expected a number from 1 to 52 weeks. Correct weeks bare."),
        (0, 53, "weeks bare is 53; expected a number from 1 to 52 weeks. Correct weeks bare."),
    ):
        with pytest.raises(RefusalError) as refused:
            of(record, start=start, weeks=weeks)
        assert str(refused.value) == sentence


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 99), start=st.integers(0, 40), weeks=st.integers(1, 9))
def test_windows_by_a_second_method(seed, start, weeks):
    # the same sums by pandas, hour by hour and year by year
    rng = np.random.default_rng(seed)
    record = years_of(2001, 2004, [])
    rain = np.where(rng.random(record.sizes["time"]) < 0.05, rng.exponential(1.0, record.sizes["time"]), 0.0)
    record["rain"][:] = rain
    record["wind_from_direction"][:] = rng.uniform(0, 360, rain.size)
    (one,) = of(record, start=start, weeks=weeks)
    frame = record.to_dataframe()
    turn = np.cos(np.deg2rad(frame["wind_from_direction"] - 225)).clip(lower=0)
    driving = 2 / 9 * frame["wind_speed"] * frame["rain"] ** (8 / 9)
    frame["wall"] = np.where(driving >= 0.001, driving * turn, 0.0)
    totals = []
    for year in range(2001, 2005):
        begin = pd.Timestamp(f"{year}-01-01") + pd.Timedelta(hours=WEEK * start)
        end = begin + pd.Timedelta(hours=WEEK * weeks - 1)
        if end <= frame.index[-1]:
            totals.append(frame.loc[begin:end, "wall"].sum())
    assert one.expected[start] == pytest.approx(np.mean(totals))
    assert one.tenth[start] == pytest.approx(np.max(totals))  # fewer than ten years: the wettest
