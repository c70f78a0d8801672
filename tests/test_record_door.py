"""The door of every record: faults planted in an invented year are refused or told, and real weather passes."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from invented_record import (
    epw,
    ghcnh,
    global_hourly,
    grid,
    hourly_json,
    invented_weather,
    isd_lite,
    knmi,
    station_csv,
)

from exposure import airfield_index, open_climate
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.climate.quality.clock import warm_from_the_pole
from exposure.climate.quality.refusals import rain_at_few_hours
from exposure.climate.quality.wind import doubtful, wind_in_other_unit
from exposure.doubts import doubt, has_doubt

AIRPORT = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
COLUMNS = "time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]"
WRITERS = [station_csv, epw, isd_lite, global_hourly, ghcnh, knmi, hourly_json]


@pytest.fixture
def weather():
    made = invented_weather()
    made["speed"] = made["speed"].clip(
        upper=14
    )  # each invented hour is drawn by itself: real winds jump less
    return made


def climate_of_rain(weather):
    return xr.Dataset({"rain": ("time", weather["rain"].to_numpy())}, {"time": weather.index.to_numpy()})


def keys(climate):
    return {getattr(one, "key", "") for one in climate.attrs["flags"]}


def refused(weather, write=station_csv):
    with pytest.raises(RefusalError) as caught:
        open_climate(write(weather))
    return caught.value


# ------------------------------------------------------------------ refused


@pytest.mark.parametrize("write", WRITERS)
def test_no_wind_in_any_hour_is_refused_whatever_the_format(weather, write):
    weather["speed"] = 0.0
    assert "wind is 0 in 100.0%" in refused(weather, write).came


@pytest.mark.parametrize("write", WRITERS)
def test_no_rain_in_any_hour_is_refused_whatever_the_format(weather, write):
    weather["rain"] = 0.0
    assert "rain is 0" in refused(weather, write).came


def test_a_cell_of_a_grid_passes_the_same_door(weather, tmp_path):
    weather["speed"] = 0.0
    grid(weather).to_netcdf(tmp_path / "calm.nc", engine="h5netcdf")
    with pytest.raises(RefusalError, match="wind is 0"):
        open_climate(tmp_path / "calm.nc", at=(50, -10))


def test_hardly_any_wind_is_refused_and_half_calm_is_not(weather):
    rng = np.random.default_rng(2)
    weather["speed"] = np.where(rng.random(len(weather)) < 0.97, 0.0, weather["speed"])
    assert "anemometer" in refused(weather).cure
    weather["speed"] = np.where(rng.random(len(weather)) < 0.55, 0.0, 3.0)
    assert open_climate(station_csv(weather)).sizes["time"] == 8760


@pytest.mark.parametrize(("factor", "unit"), [(np.pi / 180, "radian"), (0.1, "10 degree")])
def test_directions_in_another_unit_are_refused(weather, factor, unit):
    weather["direction"] = np.round(weather["direction"] * factor, 4)
    assert unit in refused(weather).cure
    header = f"time,wind_speed [m/s],wind_from_direction [{unit}],rain [mm]"
    assert float(open_climate(station_csv(weather, header))["wind_from_direction"].max()) == pytest.approx(
        350, abs=0.1
    )


@pytest.mark.parametrize(("factor", "unit"), [(np.pi / 180, "radian"), (0.1, "10 degree")])
def test_codes_among_directions_do_not_hide_their_unit(weather, factor, unit):
    weather["direction"] = np.round(weather["direction"] * factor, 4)
    weather.iloc[::50, weather.columns.get_loc("direction")] = 99.0  # as some networks write variable wind
    told = refused(weather)
    assert unit in told.cure
    assert "but for 99)" in told.came


def test_the_same_rain_in_every_hour_is_refused(weather):
    weather["rain"] = 0.2
    assert "0.2 mm in all 8760 hours" in refused(weather).came


@pytest.mark.parametrize("period", [2, 3, 6, 12, 24])
def test_totals_of_several_hours_among_dry_hours_are_refused_as_what_they_are(weather, period):
    """Such rain meets the wind of one hour. Not told of as a running total, whose cure would make it worse."""
    totals = weather["rain"].rolling(period, min_periods=1).sum()
    weather["rain"] = totals.where(weather.index.hour % period == 0, 0.0).round(1)
    assert f"totals of {period} h" in refused(weather).came


def test_a_hundredth_of_the_rain_at_other_hours_is_weather(weather):
    totals = weather["rain"].rolling(6, min_periods=1).sum()
    mizzle = 0.1 * (weather.index.hour % 6 == 1)
    weather["rain"] = totals.where(weather.index.hour % 6 == 0, 0.0) + mizzle
    assert mizzle.sum() > 0.01 * weather["rain"].sum()
    assert rain_at_few_hours(climate_of_rain(weather)) is None
    assert (
        rain_at_few_hours(climate_of_rain(weather[weather.index.hour % 6 == 0])) is None
    )  # no hours between


# ------------------------------------------------------------------ told


def test_a_dead_anemometer_gives_no_calm_and_its_year_does_not_count(weather):
    weather.iloc[3000:, weather.columns.get_loc("speed")] = 0.0
    climate = open_climate(station_csv(weather))
    assert has_doubt(climate.attrs["flags"], "climate.wind_dead")
    assert climate["wind_speed"][3000:].isnull().all()
    assert climate["wind_speed"].attrs["units"] == "m s-1"
    with pytest.raises(RefusalError):
        airfield_index(climate, orientation=[230])


def test_nine_days_of_calm_are_weather(weather):
    weather.iloc[3000:3216, weather.columns.get_loc("speed")] = 0.0
    climate = open_climate(station_csv(weather))
    assert not has_doubt(climate.attrs["flags"], "climate.wind_dead")
    assert (climate["wind_speed"][3000:3216] == 0).all()


def test_an_anemometer_stuck_to_the_end_is_told(weather):
    weather.iloc[3000:, weather.columns.get_loc("speed")] = 4.4
    assert has_doubt(open_climate(station_csv(weather)).attrs["flags"], "climate.wind_stops")


def test_a_dead_gauge_is_told_and_a_long_summer_is_not(weather):
    rain = weather.columns.get_loc("rain")
    weather.iloc[3000:5500, rain] = 0.0  # 104 dry days, then rain again
    assert not has_doubt(open_climate(station_csv(weather)).attrs["flags"], "climate.rain_stops")
    weather = invented_weather()
    weather.iloc[3000:, rain] = 0.0
    dry = (8760 - np.flatnonzero(weather["rain"])[-1] - 1) // 24
    told = [
        one
        for one in open_climate(station_csv(weather)).attrs["flags"]
        if getattr(one, "key", "") == "climate.rain_stops"
    ]
    assert told[0].numbers["days"] == dry


def doubted(weather):
    return {getattr(one, "key", "") for one in open_climate(station_csv(weather)).attrs["flags"]}


@pytest.mark.parametrize("key", ["climate.rain_stops", "climate.rain_pauses"])
def test_a_dry_spell_of_one_day_is_no_days(key):
    said = doubt(key, first="2001-02-03", days=70, longest=1, times="1 such pause")
    assert "70 days" in said
    assert "1 days" not in said


def test_a_gauge_dead_in_the_middle_is_told_and_a_dry_season_is_not():
    weather = invented_weather(hours=3 * 8760)
    rain = weather.columns.get_loc("rain")
    assert "climate.rain_pauses" not in doubted(weather)
    dead, season = weather.copy(), weather.copy()
    dead.iloc[9000:12000, rain] = 0.0
    [told] = [
        one
        for one in open_climate(station_csv(dead)).attrs["flags"]
        if getattr(one, "key", "") == "climate.rain_pauses"
    ]
    wet = np.flatnonzero(dead["rain"])
    assert told.numbers["days"] == (np.diff(wet).max() - 1) // 24
    season.iloc[np.flatnonzero(season.index.month.isin([6, 7, 8])), rain] = 0.0
    assert "climate.rain_pauses" not in doubted(season)


def test_nought_beside_three_hundred_and_sixty_is_told(weather):
    direction = weather.columns.get_loc("direction")
    assert "climate.north_told_twice" not in doubted(weather)  # north is 0 throughout
    weather.iloc[np.flatnonzero(weather["direction"] == 0), direction] = 360.0
    assert "climate.north_told_twice" not in doubted(weather)
    weather.iloc[::9, direction] = 0.0  # variable, as some networks write it
    assert "climate.north_told_twice" in doubted(weather)


def test_whole_millimetres_may_be_tenths(weather):
    weather["rain"] = np.round(weather["rain"] / 0.2) * 2.0  # a bucket of 0.2 mm, in tenths
    told = doubted(weather)
    assert "climate.rain_steps_coarse" in told


def test_inches_declared_as_millimetres_are_told():
    climate = open_climate(AIRPORT, columns=COLUMNS.replace("precip [in]", "precip [mm]"), where="origin=JFK")
    assert keys(climate) >= {"climate.rain_like_inches", "climate.rain_unlikely_total"}
    right = open_climate(AIRPORT, columns=COLUMNS, where="origin=JFK")
    assert not keys(right) & {"climate.rain_like_inches", "climate.rain_unlikely_total"}


@pytest.mark.parametrize(("mean", "doubted"), [(11.8, False), (12.2, True)])
def test_a_mean_wind_that_hardly_any_place_has(weather, mean, doubted):
    weather["speed"] *= mean / weather["speed"].mean()
    assert ("climate.wind_unlikely_mean" in keys(open_climate(station_csv(weather)))) is doubted


def test_kilometres_an_hour_declared_as_metres_a_second_are_told(tmp_path):
    """A real airport's year in km/h; its mean of 18.5 km/h is the 11.5 miles an hour of the file."""
    year = pd.read_csv(AIRPORT)
    year = year[year["origin"] == "JFK"].assign(wind_speed=year["wind_speed"] * 1.609344)
    assert year["wind_speed"].mean() == pytest.approx(18.46, abs=0.01)
    year.to_csv(tmp_path / "kmh.csv", index=False)
    columns = COLUMNS.replace("wind_speed [mph]", "wind_speed [{}]")
    wrong, right = (
        open_climate(tmp_path / "kmh.csv", columns=columns.format(unit), where="origin=JFK")
        for unit in ("m/s", "km/h")
    )
    assert "climate.wind_unlikely_mean" in keys(wrong)
    assert "climate.wind_unlikely_mean" not in keys(right)


@pytest.fixture(scope="module")
def airport():
    """A real year of airfield reports: whole knots, in the file as miles an hour; the place is told here."""
    columns = COLUMNS + ",air_temperature=temp [degF]"
    climate = open_climate(AIRPORT, columns=columns, where="origin=EWR")
    return climate.assign_attrs(latitude=40.7)


def with_wind(climate, speed=None, direction=None):
    told = {"wind_speed": speed, "wind_from_direction": direction}
    return climate.assign(
        {k: ("time", np.asarray(v), climate[k].attrs) for k, v in told.items() if v is not None}
    )


IN_M_S = {"m/s": 1.0, "km/h": 1 / 3.6, "miles an hour": 0.44704, "knots": 1852 / 3600}  # by definition


@pytest.mark.parametrize("decimals", [0, 1, 4])
@pytest.mark.parametrize("told", IN_M_S)
@pytest.mark.parametrize("held", IN_M_S)
def test_winds_in_another_unit_than_told_show_by_the_steps_of_knots(airport, held, told, decimals):
    """Each unit's figures taken for each other's. Too fine or too coarse for a step: those are not told."""
    knots = np.round(airport["wind_speed"] / IN_M_S["knots"])
    column = np.round(knots * IN_M_S["knots"] / IN_M_S[held], decimals)
    found = wind_in_other_unit(with_wind(airport, column * IN_M_S[told]))
    if held == "knots":
        shows = told in ("m/s", "km/h")
    elif decimals == 0:
        shows = held == "miles an hour" and told in ("m/s", "km/h")
    else:
        shows = (held, told) in {
            ("km/h", "m/s"), ("km/h", "knots"), ("km/h", "miles an hour"),
            ("miles an hour", "m/s"), ("miles an hour", "knots"), ("miles an hour", "km/h"),
        }  # fmt: skip
    if held == "km/h" and told == "m/s" and decimals == 0:
        shows = True  # no whole km/h below the six of three knots
    assert (found is not None) is (shows and held != told)
    if found is not None:
        assert found.sentence.numbers["told"] == told
        assert held in found.sentence.numbers["unit"]


@pytest.mark.parametrize("step", [0.1, 0.5, 1.0, 1 / 3.6, 0.44704, 1852 / 3600])
@pytest.mark.parametrize("mean", [2.0, 5.0, 9.0])
def test_winds_on_the_steps_of_their_own_unit_are_not_doubted(airport, step, mean):
    speed = np.random.default_rng(1).weibull(2, airport.sizes["time"]) * mean * 1.13  # 2 / sqrt(pi)
    assert wind_in_other_unit(with_wind(airport, np.round(speed / step) * step)) is None


def test_air_from_the_pole_is_cold_so_directions_turned_round_show(airport):
    """A real year as it is, turned round, and both again mirrored into the southern half of the earth."""
    direction = airport["wind_from_direction"]
    table = airport.to_dataframe().dropna(subset="air_temperature")
    warmth = table["air_temperature"]
    above = warmth - warmth.groupby([table.index.month, table.index.hour]).transform("mean")
    south, north = (
        above[
            (table["wind_speed"] > 2) & ((table["wind_from_direction"] - way + 180) % 360 - 180).abs().lt(45)
        ].mean()
        for way in (180, 360)
    )
    apart = south - north  # by pandas; 2.9 K
    for mirrored in (False, True):
        for turned in (False, True):
            told = (180 - direction if mirrored else direction) + 180 * turned
            climate = with_wind(airport, direction=told % 360).assign_attrs(
                latitude=-40.7 if mirrored else 40.7
            )
            found = warm_from_the_pole(climate)
            assert (found is not None) is turned
            assert found is None or found.sentence.numbers["apart"] == pytest.approx(apart)


@pytest.mark.parametrize("change", [{"latitude": 20.0}, {"latitude": None}])
def test_where_air_from_the_pole_need_not_be_cold_directions_are_not_doubted(airport, change):
    turned = with_wind(airport, direction=(airport["wind_from_direction"] + 180) % 360)
    assert warm_from_the_pole(turned) is not None
    assert warm_from_the_pole(turned.assign_attrs(change)) is None
    assert warm_from_the_pole(turned.drop_vars("air_temperature")) is None


@pytest.mark.parametrize(("kind", "doubted"), [("gauge", True), ("reanalysis", True), ("model", False)])
def test_hours_still_to_come_are_doubted_but_in_a_model(weather, kind, doubted):
    end = pd.Timestamp.now("UTC").tz_localize(None).floor("h") + pd.Timedelta(days=11)
    weather.index = pd.date_range(end=end, periods=len(weather), freq="h")
    flags = open_climate(station_csv(weather), kind=kind).attrs["flags"]
    told = [one for one in flags if getattr(one, "key", "") == "climate.hours_to_come"]
    assert bool(told) is doubted
    assert not told or told[0].numbers["spell"] == "240 hours"  # ten days; one is granted


@pytest.mark.parametrize(("yearly", "doubted"), [(40, True), (60, False), (11_800, False), (12_500, True)])
def test_yearly_rain_outside_belief(weather, yearly, doubted):
    weather["rain"] = np.round(weather["rain"] * yearly / weather["rain"].sum(), 4)
    assert ("climate.rain_unlikely_total" in keys(open_climate(station_csv(weather)))) is doubted


# ------------------------------------------------------------------ spikes and ramps of wind


def test_a_straight_line_across_a_gap_is_marked_and_stays_on_the_record(weather):
    at = weather.columns.get_loc("speed")
    weather.iloc[4000:4008, at] = [
        2.0,
        1.5,
        36.0,
        27.5,
        19.0,
        10.6,
        2.1,
        2.6,
    ]  # as a real typical year has it
    for write in WRITERS[:5]:
        climate = open_climate(write(weather))
        assert climate["wind_doubtful"].dtype == bool
        assert climate["wind_doubtful"].dims == ("time",)
        assert np.flatnonzero(climate["wind_doubtful"]).tolist() == [4002, 4003, 4004, 4005, 4006]
        told = next(
            one for one in climate.attrs["flags"] if getattr(one, "key", "") == "climate.wind_doubtful"
        )
        assert (told.numbers["hours"], told.numbers["strongest"]) == (5, 36.0)
    np.testing.assert_array_equal(climate["wind_speed"], weather["speed"])  # marked, never mended


def test_inspect_shows_them(weather, tmp_path, capsys):
    weather.iloc[4002, weather.columns.get_loc("speed")] = 40.0
    (tmp_path / "spike.csv").write_bytes(station_csv(weather))
    assert main(["inspect", str(tmp_path / "spike.csv")]) == 0
    assert "Doubt (1 h): Hours whose wind is likelier a fault than weather: 1 (" in capsys.readouterr().out


@pytest.mark.parametrize("origin", ["EWR", "JFK", "LGA"])
def test_no_hour_of_three_real_airports_is_marked_but_a_wind_of_1048_mph_is_missing(origin):
    climate = open_climate(AIRPORT, columns=COLUMNS, where={"origin": origin})
    assert int(climate["wind_doubtful"].sum()) == 0
    assert float(climate["wind_speed"].max()) < 20  # the year's gales, 18 to 19 m/s, stay


def test_a_gale_that_rises_within_hours_is_weather():
    # an invented storm: 5 to 30 m/s in four hours, unequal steps, and down again
    speed = np.array([5.0, 9.3, 15.8, 24.9, 30.2, 29.1, 26.4, 19.7, 15.2, 11.8, 9.9, 8.1])
    assert not doubtful(speed, np.arange(speed.size)).any()


def test_hours_beside_a_gap_are_not_compared_across_it():
    assert not doubtful(np.array([2.0, 25.0, 24.0]), np.array([0, 5, 6])).any()
    assert not doubtful(np.array([2.0, np.nan, 25.0, 24.0]), np.arange(4)).any()


def test_the_real_typical_year_with_a_ramp(shared_data):
    climate = open_climate(shared_data / "mount_shasta_tmyx.epw.gz")
    marked = climate["wind_speed"].values[climate["wind_doubtful"].values]
    assert marked.tolist() == [36.0, 27.5, 19.0, 10.6, 2.1]  # as read in the file by eye
