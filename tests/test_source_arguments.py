"""What may be told about a source: taken by every command, said when it did nothing; clocks of half-hour zones."""

import argparse
import json
from importlib import import_module

import numpy as np
import pandas as pd
import pytest
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
from exposure.cli import COMMANDS, main, with_negatives_joined
from exposure.climate.summary import summary_of
from exposure.doubts import has_doubt

WEATHER = invented_weather()
SHORT = WEATHER.iloc[:240]


def told(climate, key):
    return [one for one in climate.attrs["flags"] if getattr(one, "key", "") == key]


# ------------------------------------------------------------------ positions that start with a minus


def parser_of(command):
    parser = argparse.ArgumentParser(exit_on_error=False)
    import_module(f"exposure.cli.{command}_command").add_arguments(parser)
    return parser


def with_a_place():
    return [
        name for name in COMMANDS if any("--at" in one.option_strings for one in parser_of(name)._actions)
    ]


def test_a_place_in_the_south_is_taken_by_every_command_that_has_one():
    commands = with_a_place()
    assert {"site", "inspect", "building", "compare", "fetch"} <= set(commands)
    for command in commands:
        parser = parser_of(command)
        needed = []
        for one in parser._actions:
            word = str(next(iter(one.choices))) if one.choices else "2020"
            if one.required:
                needed += [one.option_strings[0], word] if one.option_strings else [word]
        if "--at" in needed:
            needed[needed.index("--at") + 1] = "-45,170"
        else:
            needed += ["--at", "-45,170"]
        assert parser.parse_args(with_negatives_joined(needed)).at == "-45,170", command


def test_the_cell_in_the_south_is_the_one_asked_for(tmp_path, capsys):
    world = grid(WEATHER, latitudes=(-45.0, 45.0), longitudes=(170.0, 171.0))
    world.to_netcdf(tmp_path / "south.nc", engine="h5netcdf")
    assert main(["inspect", str(tmp_path / "south.nc"), "--at", "-45,170", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["latitude"] == -45.0
    assert main(["site", str(tmp_path / "south.nc"), "--at", "-45,170"]) == 0


# ------------------------------------------------------------------ told in vain


@pytest.mark.parametrize("write", [epw, isd_lite, ghcnh, hourly_json])
@pytest.mark.parametrize(("name", "value"), [("where", "origin=EWR"), ("time_zone", -5.0)])
def test_what_a_format_has_no_use_for_is_said(write, name, value):
    weather = WEATHER if write is epw else SHORT
    climate = open_climate(write(weather), **{name: value})
    assert told(climate, "climate.told_in_vain")[0].numbers["names"] == [name]
    assert not told(open_climate(write(weather)), "climate.told_in_vain")


@pytest.mark.parametrize("write", [knmi, global_hourly])
def test_rows_of_a_station_that_is_not_there_are_refused(write):
    key = "STN" if write is knmi else "STATION"
    station = "999" if write is knmi else "99999999999"
    assert open_climate(write(SHORT), where={key: station}).sizes["time"] == 240
    for where in ({key: "other"}, {"origin": "EWR"}):
        with pytest.raises(RefusalError):
            open_climate(write(SHORT), where=where)


def test_codes_for_missing_are_said_and_rows_refused_for_a_grid(tmp_path):
    grid(SHORT).to_netcdf(tmp_path / "grid.nc", engine="h5netcdf")
    climate = open_climate(tmp_path / "grid.nc", missing=[-999], at=(50, -10))
    assert told(climate, "climate.told_in_vain")[0].numbers["names"] == ["missing"]
    with pytest.raises(RefusalError, match="origin was told to choose by, and grid"):
        open_climate(tmp_path / "grid.nc", where="origin=EWR", at=(50, -10))
    assert not told(open_climate(tmp_path / "grid.nc", at=(50, -10)), "climate.told_in_vain")


def test_sharing_rain_and_a_zone_are_said_when_there_was_nothing_to_share_or_move():
    raw = station_csv(SHORT)  # hourly, with a zone in each stamp
    assert told(open_climate(raw, spread_rain="evenly"), "climate.told_in_vain")[0].numbers["names"] == [
        "spread_rain"
    ]
    assert told(open_climate(raw, time_zone=5), "climate.told_in_vain")[0].numbers["names"] == ["time_zone"]
    plain = raw.replace(b"Z,", b",")
    assert not told(open_climate(plain, time_zone=5), "climate.told_in_vain")


def test_a_point_asked_of_a_record_is_said_unless_it_is_the_records_own():
    raw = station_csv(SHORT)
    assert told(open_climate(raw, at=(50, -10)), "climate.place_not_told")
    placed = b"# latitude: 50\n# longitude: -10\n" + raw
    assert not told(open_climate(placed, at=(50.1, -10)), "climate.far_from_point")
    far = told(open_climate(placed, at=(-50, -10)), "climate.far_from_point")[0]
    assert far.numbers["distance"] == pytest.approx(
        100 / 360 * 40_030, rel=1e-3
    )  # a hundred degrees of a meridian


def test_a_rule_of_grids_is_refused_for_a_table_and_a_running_total_is_never_silent():
    total = SHORT.copy()
    total["rain"] = np.round(np.arange(240) % 24 * 0.3, 1)
    raw = station_csv(total)
    for rule in ("since 00 UTC", "rate"):
        with pytest.raises(RefusalError, match="rain rule"):
            open_climate(raw, rain_rule=rule)
    with pytest.raises(RefusalError, match="running total"):
        open_climate(raw)
    assert any("running total" in flag for flag in open_climate(raw, rain_rule="hour").attrs["flags"])


def test_columns_of_a_station_without_a_station_are_refused(tmp_path, capsys):
    (tmp_path / "record.csv").write_bytes(station_csv(SHORT))
    assert main(["inspect", str(tmp_path / "record.csv"), "--scale-columns", "rain=r [mm]"]) == 2
    assert "no station to scale with" in capsys.readouterr().err


# ------------------------------------------------------------------ half-hour zones


def local_csv(zone_text, stamps):
    rows = [
        f"{stamp:%Y-%m-%dT%H:%M}{zone_text},{row.speed},{row.direction},{row.rain}"
        for stamp, row in zip(stamps, WEATHER.itertuples(), strict=True)
    ]
    return "\n".join(["time,wind_speed [m/s],wind_from_direction [degree],rain [mm]", *rows]).encode()


@pytest.mark.parametrize(
    ("zone", "text", "moved"),
    # local midnight is 18:30 or 18:15 the day before, 03:30, 14:30; the nearest whole hour, a half goes later
    [(5.5, "+05:30", 5.0), (-3.5, "-03:30", -4.0), (9.5, "+09:30", 9.0), (5.75, "+05:45", 6.0)],
)
def test_whole_local_hours_of_half_hour_zones_are_read(zone, text, moved):
    for climate in (
        open_climate(local_csv(text, WEATHER.index)),
        open_climate(local_csv("", WEATHER.index), time_zone=zone),
    ):
        first = WEATHER.index[0] - pd.Timedelta(hours=moved)
        assert climate["time"].values[0] == np.datetime64(first)
        np.testing.assert_allclose(climate["rain"], WEATHER["rain"])
        np.testing.assert_allclose(climate["wind_speed"], WEATHER["speed"])
        assert told(climate, "climate.half_hour_zone")


def test_the_index_of_such_a_record_is_that_of_the_same_hours_in_utc():
    shifted = open_climate(local_csv("+05:30", WEATHER.index + pd.Timedelta(hours=5)))
    index = airfield_index(shifted, orientation=[230])["airfield_annual_index"]
    expected = airfield_index(open_climate(station_csv(WEATHER)), orientation=[230])["airfield_annual_index"]
    np.testing.assert_allclose(index, expected, rtol=1e-12)


def test_an_archive_in_a_half_hour_zone_is_read():
    raw = hourly_json(SHORT).replace(b'"utc_offset_seconds": 0', b'"utc_offset_seconds": 19800')
    climate = open_climate(raw)
    assert climate["time"].values[0] == np.datetime64(SHORT.index[0] - pd.Timedelta(hours=5))
    assert told(climate, "climate.half_hour_zone")


def test_stamps_in_the_middle_of_an_hour_are_still_refused():
    with pytest.raises(RefusalError, match="past the hour"):
        open_climate(local_csv("Z", WEATHER.index + pd.Timedelta(minutes=30)))


# ------------------------------------------------------------------ what inspect says


def test_a_full_year_is_known_in_all_its_hours():
    summary = summary_of(open_climate(station_csv(WEATHER)))  # 01:00 on 1 January to 00:00 a year later
    assert (summary.rain_known, summary.wind_known) == (1.0, 1.0)
    half = WEATHER.copy()
    half.iloc[:2190, half.columns.get_loc("rain")] = np.nan
    summary = summary_of(open_climate(station_csv(half).replace(b",nan\n", b",\n")))
    assert summary.rain_known == pytest.approx(0.75)  # 2190 of 8760 hours by hand


def test_a_full_year_has_no_thin_month():
    from exposure.climate.quality.checks import suspicions

    assert "thin-months" not in {found.name for found in suspicions(open_climate(station_csv(WEATHER)))}


def test_inspect_prints_both_shares_of_wet_hours(tmp_path, capsys):
    light = WEATHER.copy()
    rng = np.random.default_rng(1)
    dry = light["rain"] == 0
    light["rain"] = np.where(dry & (rng.random(len(light)) < 0.3), 0.02, light["rain"])
    (tmp_path / "record.csv").write_bytes(station_csv(light))
    assert main(["inspect", str(tmp_path / "record.csv")]) == 0
    out = capsys.readouterr().out
    assert f"{(light['rain'] > 0).mean():.1%} of the hours have some" in out
    assert f"{(light['rain'] >= 0.1).mean():.1%} have 0.1 mm or more" in out


@pytest.mark.parametrize("step", [3, 7])
def test_inspect_says_that_site_will_refuse_longer_steps(step, tmp_path, capsys):
    made = grid(WEATHER.iloc[::step])
    made.to_netcdf(tmp_path / "steps.nc", engine="h5netcdf")
    assert main(["inspect", str(tmp_path / "steps.nc"), "--at", "50,-10"]) == 0
    out = capsys.readouterr().out
    assert f"Time steps are {step} h" in out
    assert "it will be refused" in out
    assert "mm a year" not in out
    assert main(["site", str(tmp_path / "steps.nc"), "--at", "50,-10"]) == 2
    assert has_doubt(open_climate(tmp_path / "steps.nc", at=(50, -10)).attrs["flags"], "climate.not_hourly")


def test_the_help_names_the_parts_a_time_may_be_joined_from(capsys):
    with pytest.raises(SystemExit):
        main(["site", "--help"])
    assert "year+month+day+hour" in " ".join(capsys.readouterr().out.split())
