"""Suspicions: each is planted in invented weather and found, and clean weather gives none of the grave ones."""

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from invented_record import invented_weather, station_csv

import exposure
from exposure import open_climate
from exposure.climate.quality.checks import grave_flags, suspicions
from exposure.climate.quality.clock import direction_offset, warmest_solar_hour
from exposure.climate.quality.validity import convective_share, not_valid_flags, snow_share
from exposure.climate.summary import summary_of
from exposure.doubts import has_doubt


def climate_of(weather, **attrs):
    return xr.Dataset(
        {
            "rain": ("time", weather["rain"].to_numpy(), {"units": "mm"}),
            "wind_speed": ("time", weather["speed"].to_numpy(), {"units": "m s-1"}),
            "wind_from_direction": ("time", weather["direction"].to_numpy(), {"units": "degree"}),
            "air_temperature": ("time", weather["temperature"].to_numpy(), {"units": "degC"}),
        },
        {"time": weather.index.to_numpy()},
        {"kind": "gauge", "flags": [], "source": "invented", "longitude": 0.0, **attrs},
    )


@pytest.fixture
def weather():
    return invented_weather(hours=2 * 8760)


def named(climate, **told):
    return {found.name: found for found in suspicions(climate, **told)}


def test_clean_weather_has_no_grave_doubt(weather):
    weather["speed"] = weather["speed"].clip(
        upper=14
    )  # each invented hour is drawn by itself: real winds jump less
    assert grave_flags(climate_of(weather)) == []


def test_impossible_values_of_a_record_from_elsewhere(weather):
    weather.iloc[5, weather.columns.get_loc("direction")] = 370.0
    weather.iloc[6:8, weather.columns.get_loc("rain")] = -1.0
    found = named(climate_of(weather))["impossible-values"]
    assert found.hours == 3
    assert "2 of rain" in found.sentence


def test_stuck_speed(weather):
    weather.iloc[1000:1200, weather.columns.get_loc("speed")] = 4.4
    found = named(climate_of(weather))["stuck-wind"]
    assert found.hours >= 200
    assert found.mask[1000:1200].all()
    assert found.grave == (found.hours > 0.01 * len(weather))


def test_stuck_direction(weather):
    weather.iloc[1000:1100, weather.columns.get_loc("direction")] = 123.0
    assert (
        named(climate_of(weather))["stuck-wind"].mask[1000:1100][weather["speed"].iloc[1000:1100] > 0].all()
    )


@pytest.mark.parametrize(("step", "grave"), [(10, False), (22.5, False), (45, True), (90, True)])
def test_direction_in_steps(weather, step, grave):
    weather["direction"] = np.round(weather["direction"] / step) * step % 360
    found = named(climate_of(weather))["direction-steps"]
    assert f"steps of {step:g} degrees" in found.sentence
    assert found.grave == grave


def test_calm_with_direction_and_variable_wind(weather):
    weather.iloc[9000:9005, weather.columns.get_loc("speed")] = 0.0
    weather.iloc[9000:9005, weather.columns.get_loc("direction")] = 200.0
    wet = np.flatnonzero(weather["rain"] > 0)[:30]
    weather.iloc[wet, weather.columns.get_loc("direction")] = np.nan
    found = named(climate_of(weather))
    assert found["calm-with-direction"].hours >= 5
    amount = weather["rain"].iloc[wet][weather["speed"].iloc[wet] > 0].sum()
    assert f"{amount:,.0f} of {weather['rain'].sum():,.0f} mm" in found["variable-wind"].sentence


def test_rain_in_steps_of_a_gauge(weather):
    weather["rain"] = np.round(weather["rain"] / 0.254) * 0.254
    assert "steps of 0.254 mm" in named(climate_of(weather))["rain-steps"].sentence


# 1,382 mm a year times 10 and over 50: above 12,000 and below 50 mm, within which the wettest and driest towns lie
@pytest.mark.parametrize("factor", [10, 1 / 50])
def test_unlikely_yearly_totals(weather, factor):
    weather["rain"] *= factor
    found = named(climate_of(weather))["rain-unlikely-total"]
    assert found.grave
    assert f"{weather['rain'].sum() / 2 * 8766 / 8760:,.0f} mm a year" in found.sentence


def test_sentinels(weather):
    weather.iloc[100:110, weather.columns.get_loc("rain")] = 99.9
    found = named(climate_of(weather))["sentinels-left-in"]
    assert found.hours == 10
    assert found.grave


def test_sentinels_in_single_precision_are_seen_and_winds_that_pass_by_are_not(weather):
    speed = weather.columns.get_loc("speed")
    weather.iloc[:2001, speed] = 9.98 + 1e-5 * np.arange(
        2001
    )  # through 9.99 in steps finer than any instrument
    assert "sentinels-left-in" not in named(climate_of(weather))
    weather.iloc[:5, speed] = np.float32(99.9)
    weather.iloc[5:8, weather.columns.get_loc("rain")] = np.float32(0.0999) * np.float32(
        1000
    )  # metres in a grid
    assert named(climate_of(weather))["sentinels-left-in"].hours == 8


def test_same_rain_for_hours(weather):
    weather.iloc[100:112, weather.columns.get_loc("rain")] = 5.7
    assert named(climate_of(weather))["stuck-rain"].hours == 12


def test_running_total(weather):
    weather["rain"] = np.arange(len(weather)) % 24 * 0.2
    assert named(climate_of(weather))["accumulation-not-undone"].grave


@pytest.mark.parametrize("shift", [-8, -5, 0, 2, 6, 12])
def test_time_zone_shift(weather, shift):
    weather.index = weather.index + pd.Timedelta(hours=shift)
    climate = climate_of(weather)
    # the invented temperature peaks at 14.5 h by its own formula (sine from 8.5 h)
    assert warmest_solar_hour(climate) == pytest.approx((14.5 + shift) % 24, abs=0.1)
    assert ("time-zone-shift" in named(climate)) == (abs(shift) > 3.5)


def test_local_solar_hour_uses_the_longitude(weather):
    weather.index = weather.index + pd.Timedelta(hours=5)  # stamps in UTC at 75 degrees west
    assert warmest_solar_hour(climate_of(weather, longitude=-75.0)) == pytest.approx(14.5, abs=0.1)


@pytest.mark.parametrize(
    ("changed", "alike"), [(0.015, True), (0.025, False)]
)  # two in a hundred is the limit
def test_a_year_changed_in_its_first_weeks_alone_is_the_same_year_up_to_the_limit(weather, changed, alike):
    weather["speed"] = weather["speed"] + 1.0  # no calm hour, whose direction is none
    weather.iloc[8760:] = weather.iloc[:8760].to_numpy()
    column = weather.columns.get_loc("speed")
    first = slice(8760, 8760 + round(changed * 8760))
    weather.iloc[first, column] = weather.iloc[first, column] + 3.0
    assert ("duplicated-years" in named(climate_of(weather))) == alike


def test_duplicated_years(weather):
    half = len(weather) // 2
    weather.iloc[half:] = weather.iloc[:half].to_numpy()
    found = named(climate_of(weather))["duplicated-years"]
    assert "2015 and 2016" in found.sentence
    assert found.grave


def test_turned_directions_against_a_reference(weather):
    reference = climate_of(weather)
    rng = np.random.default_rng(4)
    weather["direction"] = (weather["direction"] + 180 + rng.normal(0, 20, len(weather))) % 360
    offset, concentration, _ = direction_offset(climate_of(weather), reference)
    assert offset == pytest.approx(180, abs=2)
    # mean resultant of a normal spread of 20 degrees: exp(-(20 pi / 180)^2 / 2) = 0.941
    assert concentration == pytest.approx(0.941, abs=0.01)
    assert "blows to" in named(climate_of(weather), against=reference)["direction-towards"].sentence
    assert "direction-towards" not in named(reference, against=reference)


def test_thin_months(weather):
    weather.loc["2015-03-01":"2015-03-20", "rain"] = np.nan
    assert "2015-03 (3" in named(climate_of(weather))["thin-months"].sentence


@pytest.mark.parametrize(("every", "told"), [(5, True), (12, True), (25, False)])
def test_missing_rain_is_a_doubt_from_a_twentieth_of_the_hours_on(weather, every, told):
    weather.iloc[::every, weather.columns.get_loc("rain")] = np.nan  # 20, 8.3 and 4 % of the hours
    assert named(climate_of(weather))["rain-missing"].grave == told
    flags = grave_flags(climate_of(weather))
    assert has_doubt(flags, "climate.rain_missing") == told
    assert not told or f"({100 / every:.1f}" in next(
        one for one in flags if one.key == "climate.rain_missing"
    )


@pytest.mark.parametrize(("every", "told"), [(12, True), (25, False)])
def test_hours_without_a_row_are_missing_too(weather, every, told):
    """8.3 and 4 % of the rows taken out; a year without any row is another matter."""
    kept = weather.drop(weather.index[every // 2 :: every])
    opened = open_climate(station_csv(kept))
    assert has_doubt(opened.attrs["flags"], "climate.rain_missing") == told
    later = weather.set_axis(weather.index + pd.Timedelta(days=3 * 366))
    assert "rain-missing" not in named(climate_of(pd.concat([weather, later])))


def test_the_grave_ones_reach_the_flags_of_an_opened_record(weather):
    weather.iloc[100:112, weather.columns.get_loc("rain")] = 5.7
    assert any("the very same rain" in flag for flag in open_climate(station_csv(weather)).attrs["flags"])


# ------------------------------------------------------------------ where the standard does not hold


def test_convective_and_snow_shares_by_hand():
    time = pd.date_range("2020", periods=4, freq="h")
    climate = xr.Dataset(
        {
            "rain": ("time", [1.0, 3.0, 0.0, np.nan]),
            "convective_rain": ("time", [0.0, 2.0, 0.0, 1.0]),
            "snowfall": ("time", [1.0, 0.0, 1.0, 5.0]),
        },
        {"time": time},
    )
    assert convective_share(climate) == pytest.approx(2 / 4)
    assert snow_share(climate) == pytest.approx(2 / 6)
    assert len(not_valid_flags(climate)) == 2
    assert not_valid_flags(climate.drop_vars(["convective_rain", "snowfall"])) == []


def test_cold_rain_is_suspected_to_be_snow():
    time = pd.date_range("2020", periods=4, freq="h")
    climate = xr.Dataset(
        {"rain": ("time", [1.0, 1.0, 0.0, 1.0]), "air_temperature": ("time", [-3.0, -2.0, 5.0, 6.0])},
        {"time": time},
    )
    assert "67% of the recorded precipitation" in not_valid_flags(climate)[0]


# ------------------------------------------------------------------ figures of the real airport year


def test_summary_of_the_airport_year_against_pandas():
    """The data's own table: about 970 mm, 4.8 m/s, wet 6.7 %, rain from 66 degrees (mean of airports, or one of them)."""
    columns = (
        "time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]"
    )
    path = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
    for origin in ("EWR", "JFK", "LGA"):
        summary = summary_of(open_climate(path, columns=columns, where={"origin": origin}))
        frame = pd.read_csv(path).query(
            "origin == @origin and wind_speed < 200 or origin == @origin and wind_speed != wind_speed"
        )
        rain, speed = frame["precip"] * 25.4, frame["wind_speed"] * 0.44704
        assert summary.mean_speed == pytest.approx(speed.mean(), rel=1e-9)
        assert summary.wet_share == pytest.approx((rain > 0.09).mean(), abs=2e-4)
        windy = frame["wind_dir"].notna() & (speed > 0)
        angle = np.radians(frame["wind_dir"][windy])
        east, north = (rain[windy] * np.sin(angle)).sum(), (rain[windy] * np.cos(angle)).sum()
        assert summary.rain_direction == pytest.approx(np.degrees(np.arctan2(east, north)) % 360, abs=1e-6)
        assert summary.sectors == 36
        assert sum(summary.rose_all) == pytest.approx(1)
        assert sum(summary.rose_wet) == pytest.approx(1)
        june = frame[pd.to_datetime(frame["time_hour"]).dt.month == 6]
        share = summary.rain_coverage[2013][5]
        assert summary.monthly_rain[5][0] == pytest.approx(june["precip"].sum() * 25.4 / share, rel=1e-9)


def test_each_picture_of_a_record_stands_under_the_doubt_it_explains(weather):
    record_quality = pytest.importorskip("exposure.page.parts.record_quality")
    say = record_quality.say

    def parts(climate):
        """Of each line: whether a grave doubt stands under it, and whether its picture is open."""
        html = str(record_quality.record_quality(climate))
        pieces = re.split(r"(?=<details)", html)
        before, shown = pieces[:-1], pieces[1:]
        grave = [str(say(one)) for one in grave_flags(climate)]
        return [
            (any(one in a for one in grave), b.startswith("<details open"))
            for a, b in zip(before, shown, strict=True)
        ]

    plain = climate_of(
        weather.assign(speed=weather["speed"].clip(upper=14), direction=weather["direction"] + 0.5)
    )
    assert parts(plain) == [(False, False)] * 3
    rain = weather.columns.get_loc("rain")
    weather["direction"] += 0.5
    missing, codes = weather.copy(), weather.copy()
    missing.iloc[3000:9000, rain] = np.nan
    assert parts(climate_of(missing)) == [(True, True), (False, False), (False, False)]
    codes.iloc[100:110, rain] = 99.9
    assert parts(climate_of(codes)) == [(False, False), (False, False), (True, True)]
    weather["direction"] = 45.0 * np.round(weather["direction"] / 45)
    assert parts(climate_of(weather)) == [(False, False), (True, True), (False, False)]


def test_every_doubt_a_picture_explains_is_one_that_can_be_raised():
    record_quality = pytest.importorskip("exposure.page.parts.record_quality")
    folder = Path(exposure.__file__).parent / "climate" / "quality"
    raised = set(
        re.findall(r'Suspicion\(\s*"([a-z-]+)"', "".join(path.read_text() for path in folder.glob("*.py")))
    )
    explained = [record_quality.KNOWN, record_quality.WAYS, record_quality.AMOUNTS]
    assert set().union(*explained) <= raised
    assert sum(map(len, explained)) == len(set().union(*explained))  # each under one picture
