"""Bulletins of routine and special reports: an invented year keeps its yearly rain, hour by hour."""

import numpy as np
import pandas as pd
import pytest
from invented_record import invented_weather

from exposure import open_climate
from exposure.doubts import has_doubt

WEATHER = invented_weather()
GLOBAL_HEAD = "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,REPORT_TYPE,WND,AA1"
GHCNH_HEAD = (
    "STATION|Station_name|DATE|LATITUDE|LONGITUDE|ELEVATION|wind_direction|wind_speed|precipitation|"
    "precipitation_Quality_Code|precipitation_Report_Type"
)


def reports_of(weather, *, seed=1):
    """Reports at minute 51 with the hour's rain; specials before it, and after it, with what fell since the last 51.

    Rain falls evenly, so a special made k minutes after a routine report holds k/60 of the next hour's rain.
    """
    rng = np.random.default_rng(seed)
    made = []
    for stamp, row in zip(weather.index, weather.itertuples(), strict=True):
        routine = stamp - pd.Timedelta(minutes=9)
        made.append((routine, "FM-15", row.speed, row.direction, row.rain, "5"))
        if row.rain > 0:
            for minute in rng.choice([1, 3, 6, 20, 40], 2, replace=False):
                when = routine - pd.Timedelta(minutes=60 - int(minute))
                made.append(
                    (when, "FM-16", row.speed + 5, row.direction, round(row.rain * minute / 60, 1), "5")
                )
    return sorted(made)


def as_global_hourly(made):
    rows = [
        f'9,{when:%Y-%m-%dT%H:%M:%S},50,-10,5,X,{kind},"{round(towards):03d},5,N,{round(speed * 10):04d},5",'
        f'"01,{round(rain * 10):04d},9,{quality}"'
        for when, kind, speed, towards, rain, quality in made
    ]
    return "\n".join([GLOBAL_HEAD, *rows]).encode()


def as_ghcnh(made):
    rows = [
        f"9|X|{when:%Y-%m-%dT%H:%M:%S}|50|-10|5|{round(towards):03d}|{speed:.1f}|{rain}|{quality}|{kind}"
        for when, kind, speed, towards, rain, quality in made
    ]
    return "\n".join([GHCNH_HEAD, *rows]).encode()


WRITERS = pytest.mark.parametrize("write", [as_global_hourly, as_ghcnh])


@WRITERS
@pytest.mark.parametrize("typed", [True, False])
def test_a_year_with_specials_keeps_the_rain_and_wind_of_its_routine_reports(write, typed):
    made = reports_of(WEATHER)
    assert len(made) > 1.2 * len(WEATHER)
    if not typed:
        made = [(when, "", *rest) for when, _, *rest in made]
    climate = open_climate(write(made))
    np.testing.assert_allclose(climate["rain"].sum(), WEATHER["rain"].sum(), rtol=1e-9)
    np.testing.assert_allclose(climate["rain"], WEATHER["rain"], atol=1e-9)
    np.testing.assert_allclose(climate["wind_speed"], WEATHER["speed"], atol=1e-9)
    assert has_doubt(climate.attrs["flags"], "climate.reports_gathered")


@WRITERS
def test_specials_fill_an_hour_whose_routine_report_is_missing(write):
    made = [
        (pd.Timestamp("2020-01-01T00:51") + pd.Timedelta(hours=h), "FM-15", 5.0, 240, 0.4, "5")
        for h in range(40)
    ]
    del made[10]
    made += [
        (pd.Timestamp("2020-01-01T10:20"), "FM-16", 6.0, 250, 0.3, "5"),
        (pd.Timestamp("2020-01-01T10:40"), "FM-16", 7.0, 260, 0.5, "5"),
        (
            pd.Timestamp("2020-01-01T10:55"),
            "FM-16",
            8.0,
            270,
            0.1,
            "5",
        ),  # of the next hour, which 11:51 reports
    ]
    climate = open_climate(write(sorted(made)))
    hour = climate.sel(time="2020-01-01T11:00")
    assert (float(hour["rain"]), float(hour["wind_speed"])) == (0.5, 7.0)
    assert float(climate["rain"].sel(time="2020-01-01T12:00")) == 0.4
    filled = [
        one for one in climate.attrs["flags"] if getattr(one, "key", "") == "climate.filled_from_specials"
    ]
    assert filled[0].numbers["hours"] == 1


@WRITERS
@pytest.mark.parametrize("quality", ["2", "3", "6", "7"])
def test_rain_dropped_for_its_quality_is_counted_in_hours_and_mm(write, quality):
    made = [
        (pd.Timestamp("2020-01-01T00:51") + pd.Timedelta(hours=h), "FM-15", 5.0, 240, 0.2, "5")
        for h in range(60)
    ]
    for hour, rain in ((5, 2.5), (6, 3.0), (7, 0.0)):
        made[hour] = (*made[hour][:4], rain, quality)
    climate = open_climate(write(made))
    assert np.isnan(climate["rain"].values[5:8]).all()
    lost = next(one for one in climate.attrs["flags"] if getattr(one, "key", "") == "climate.rain_dropped")
    # by hand: two wet hours, 2.5 + 3.0 mm; the dry one loses no rain
    assert (lost.numbers["hours"], lost.numbers["amount"]) == (2, 5.5)
    assert "6 mm of rain in 2 hours" in lost
