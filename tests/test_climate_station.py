"""A station's CSV: units from the header, times, and everything that can be wrong with such a file."""

import gzip
import io
import os
import threading
import time
import zipfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_record import invented_weather, station_csv

from exposure import airfield_index, open_climate
from exposure.checks import RefusalError
from exposure.climate.mast import mast_factor

AIRPORT = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
HEADER = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"


def record(rows, header=HEADER):
    return "\n".join([header, *rows]).encode()


def hours(number, *, start="2020-01-01T00:00", values="5,240,0.2", step="h", zone="Z"):
    return [
        f"{stamp:%Y-%m-%dT%H:%M}{zone},{values}" for stamp in pd.date_range(start, periods=number, freq=step)
    ]


def refusal(source, **told):
    with pytest.raises(RefusalError) as caught:
        open_climate(source, **told)
    error = caught.value
    assert error.came
    assert error.expected
    assert error.cure
    return error


# ------------------------------------------------------------------ what is read


def test_numbers_that_are_names_and_dates_are_read_as_they_are_written():
    rows = [
        f"{station},20200101,{hour:02d}00,5,240,{hour / 10}"
        for hour in range(24)
        for station in ("0123", "123")
    ]
    table = record(rows, f"station,day,hour,{HEADER.removeprefix('time,')}")
    climate = open_climate(table, where={"station": "0123"}, columns={"time": "day+hour"})
    assert climate["rain"].values.tolist() == [hour / 10 for hour in range(24)]  # by hand, from the rows
    assert str(climate["time"].values[5])[:16] == "2020-01-01T05:00"


@pytest.mark.parametrize(
    ("unit", "factor"),
    # by definition: mile 1609.344 m, nautical mile 1852 m, foot 0.3048 m
    [
        ("m/s", 1),
        ("mph", 1609.344 / 3600),
        ("kn", 1852 / 3600),
        ("km/h", 1 / 3.6),
        ("ft/s", 0.3048),
        ("m s**-1", 1),
    ],
)
def test_wind_units_are_converted_because_they_are_declared(unit, factor):
    climate = open_climate(record(hours(30, values="10,240,0"), HEADER.replace("m/s", unit)))
    np.testing.assert_allclose(climate["wind_speed"], 10 * factor, rtol=1e-12)
    assert climate["wind_speed"].attrs["units"] == "m s-1"


@pytest.mark.parametrize(
    ("unit", "factor"), [("mm", 1), ("in", 25.4), ("m", 1000), ("kg m-2", 1), ("0.1 mm", 0.1), ("mm/h", 1)]
)
def test_rain_units(unit, factor):
    climate = open_climate(record(hours(30, values="5,240,0.004"), HEADER.replace("[mm]", f"[{unit}]")))
    np.testing.assert_allclose(climate["rain"], 0.004 * factor, rtol=1e-12)


def test_temperature_in_fahrenheit_by_hand():
    climate = open_climate(record(hours(30, values="5,240,0,50"), HEADER + ",air_temperature [degF]"))
    np.testing.assert_allclose(climate["air_temperature"], 10.0)  # (50 - 32) x 5 / 9


def test_foreign_headers_are_mapped_and_rows_are_picked():
    # counted with pandas by hand: 8703 rows of EWR, one wind of 1048.36 mph = 468.66 m/s, 47.2 mm with variable wind
    climate = open_climate(
        AIRPORT,
        columns="time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]",
        where="origin=EWR",
    )
    assert climate.sizes["time"] == 8703
    assert climate["wind_speed"].isnull().sum() == 2  # one blank, one impossible
    assert any("468.659 m s-1" in flag for flag in climate.attrs["flags"])
    frame = pd.read_csv(AIRPORT).query("origin == 'EWR'")
    np.testing.assert_allclose(float(climate["rain"].sum()), frame["precip"].sum() * 25.4, rtol=1e-12)
    lost = (
        climate["rain"].where(climate["wind_speed"].notnull() & climate["wind_from_direction"].isnull()).sum()
    )
    assert 13 <= float(lost) <= 81  # as the data's own notes say


def test_three_stations_in_one_file_need_a_choice():
    both = record([f"{row},{name}" for name in "AB" for row in hours(30)], HEADER + ",origin")
    assert refusal(both).parameter == "where"
    assert open_climate(both, where={"origin": "B"}).sizes["time"] == 30
    assert "'C'" in refusal(both, where="origin=C").came


def test_a_foreign_table_is_told_how_to_map_its_columns():
    error = refusal(AIRPORT)
    assert "wind_dir" in error.came
    assert error.parameter == "columns"


def test_zones_and_no_zone():
    utc = open_climate(record(hours(30)))
    plain = open_climate(record(hours(30, zone="")))
    assert any("UTC" in flag for flag in plain.attrs["flags"])
    assert not any("UTC" in flag for flag in utc.attrs["flags"])
    np.testing.assert_array_equal(plain["time"], utc["time"])
    east = open_climate(record(hours(30, zone="+02:00")))
    assert east["time"].values[2] == utc["time"].values[0]
    told = open_climate(record(hours(30, zone="")), time_zone=-5)
    assert told["time"].values[0] == np.datetime64("2020-01-01T05:00")


def test_time_from_parts():
    rows = [f"2020,1,{1 + i // 24},{i % 24},5,240,0.2" for i in range(48)]
    climate = open_climate(
        record(rows, "y,m,d,h,wind_speed [m/s],wind_from_direction [deg],rain [mm]"),
        columns={"time": "y+m+d+h"},
    )
    assert climate["time"].values[-1] == np.datetime64("2020-01-02T23:00")


def test_a_record_knows_the_name_of_its_file_and_bytes_know_none(tmp_path):
    given = tmp_path / "met mast, north field.csv"
    given.write_bytes(station_csv(invented_weather()))
    climate = open_climate(given)
    assert climate.attrs["file"] == given.name
    assert airfield_index(climate, orientation=[0.0]).attrs["file"] == given.name
    assert "file" not in open_climate(given.read_bytes()).attrs


def test_notes_before_the_header_are_kept():
    notes = (
        b"# source: a gauge on a hut\n# licence: CC0\n# kind: invented\n# latitude: 51.5\n# longitude: -9\n"
    )
    climate = open_climate(notes + record(hours(30)))
    assert climate.attrs["source"] == "a gauge on a hut"
    assert (climate.attrs["licence"], climate.attrs["kind"], climate.attrs["latitude"]) == (
        "CC0",
        "invented",
        51.5,
    )


@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_other_delimiters(delimiter):
    text = record(hours(30)).decode().replace(",", delimiter)
    assert open_climate(text.encode()).sizes["time"] == 30


def test_decimal_commas_between_semicolons():
    rows = [row.replace(",", ";").replace("0.2", "0,2") for row in hours(30)]
    climate = open_climate(record(rows, HEADER.replace(",", ";")))
    np.testing.assert_allclose(climate["rain"], 0.2)


def test_missing_is_not_zero():
    rows = hours(20) + hours(20, start="2020-01-01T20:00", values=",,NA")
    climate = open_climate(record(rows))
    assert climate["rain"].isnull().sum() == 20
    assert climate["wind_speed"].isnull().sum() == 20


def test_trace_counts_as_no_rain_and_is_told():
    climate = open_climate(record(hours(30) + hours(2, start="2020-01-02T06:00", values="5,240,T")))
    assert climate["rain"].values[-1] == 0
    assert any("trace" in flag for flag in climate.attrs["flags"])


@pytest.mark.parametrize("pack", ["gzip", "zip", "utf-16", "bom", "crlf", "file"])
def test_packed_and_encoded_the_usual_ways(pack, tmp_path):
    raw = record(hours(30))
    if pack == "gzip":
        raw = gzip.compress(raw)
    elif pack == "zip":
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            archive.writestr("folder/weather.csv", raw)
        raw = out.getvalue()
    elif pack == "utf-16":
        raw = raw.decode().encode("utf-16")
    elif pack == "bom":
        raw = b"\xef\xbb\xbf" + raw
    elif pack == "crlf":
        raw = raw.replace(b"\n", b"\r\n")
    else:
        (tmp_path / "weather.epw").write_bytes(raw)  # not what its name says: content decides
        assert open_climate(tmp_path / "weather.epw").attrs["format"] == "station-csv"
    assert open_climate(raw).sizes["time"] == 30
    assert open_climate(io.BytesIO(raw)).sizes["time"] == 30


# ------------------------------------------------------------------ steps other than an hour


def test_half_hours_are_summed_and_averaged_by_hand():
    # 00:30 and 01:00 end in hour 01: rain 0.2 + 0.4; winds 4 m/s from 350 and from 10 degrees: mean from north,
    # scalar speed kept
    rows = ["2020-01-01T00:30Z,4,350,0.2", "2020-01-01T01:00Z,4,10,0.4"]
    rows += hours(40, start="2020-01-01T01:30", step="30min")
    climate = open_climate(record(rows))
    assert climate["time"].values[0] == np.datetime64("2020-01-01T01:00")
    np.testing.assert_allclose(climate["rain"].values[0], 0.6)
    np.testing.assert_allclose(climate["wind_speed"].values[0], 4.0)
    assert (
        min(climate["wind_from_direction"].values[0], 360 - climate["wind_from_direction"].values[0]) < 1e-6
    )
    assert any("30 min" in flag for flag in climate.attrs["flags"])


@settings(max_examples=25, deadline=None)
@given(st.sampled_from([1, 5, 10, 15, 20, 30]), st.integers(0, 10_000))
def test_any_step_below_an_hour_keeps_the_rain(step, seed):
    rng = np.random.default_rng(seed)
    count = 6 * 60 // step
    rain = np.round(rng.random(count), 2)
    stamps = pd.date_range("2020-01-01T00:00", periods=count + 1, freq=f"{step}min")[1:]
    rows = [f"{stamp:%Y-%m-%dT%H:%M}Z,5,240,{amount}" for stamp, amount in zip(stamps, rain, strict=True)]
    climate = open_climate(record(rows))
    np.testing.assert_allclose(climate["rain"].sum(), rain.sum())
    np.testing.assert_allclose(climate["rain"].values, rain.reshape(6, -1).sum(1))  # whole hours of readings


@pytest.mark.parametrize(("unit", "an_hour"), [("mm/h", 1), ("mm/d", 24), ("mm/s", 1 / 3600)])
@pytest.mark.parametrize("minutes", [1, 10, 30, 60])
def test_a_rate_is_the_same_rain_whatever_the_step(minutes, unit, an_hour):
    # 2.4 mm fall in every hour: by hand, whether it is read once or sixty times
    header = f"time,wind_speed [m/s],wind_from_direction [degree],rain [{unit}]"
    rows = hours(300, start="2020-01-01T00:00", step=f"{minutes}min", values=f"5,240,{2.4 * an_hour!r}")
    climate = open_climate(record(rows, header))
    assert np.nanmax(climate["rain"]) == pytest.approx(2.4)
    assert np.nanmin(climate["rain"]) == pytest.approx(2.4)
    [told] = [one for one in climate.attrs["flags"] if one.key == "climate.rain_rate_of_step"]
    assert told.numbers["step"] == minutes


def test_a_rate_over_three_hours_is_shared_as_it_is():
    header = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm/h]"
    climate = open_climate(record(hours(60, step="3h", values="5,240,0.5"), header), spread_rain="evenly")
    np.testing.assert_allclose(climate["rain"].values, 0.5)


def test_an_hour_with_a_reading_short_has_no_rain_total():
    rows = hours(40, step="30min", start="2020-01-01T00:30")
    climate = open_climate(record(rows[:10] + rows[11:]))
    assert climate["rain"].isnull().sum() == 1


def test_start_stamps_move_to_the_end():
    climate = open_climate(record(hours(30)), stamp="start")
    assert climate["time"].values[0] == np.datetime64("2020-01-01T01:00")


def test_readings_shortly_before_the_hour_belong_to_it():
    climate = open_climate(record(hours(30, start="2020-01-01T00:51")))
    assert climate["time"].values[0] == np.datetime64("2020-01-01T01:00")
    assert any("before the hour" in flag for flag in climate.attrs["flags"])


@pytest.mark.parametrize("step", ["3h", "6h", "1D"])
def test_long_steps_are_refused(step):
    assert "hourly" in refusal(record(hours(60, step=step))).expected


def test_three_hour_rain_is_shared_only_when_asked():
    rows = hours(60, step="3h", start="2020-01-01T03:00", values="5,240,0.9")
    climate = open_climate(record(rows), spread_rain="evenly")
    np.testing.assert_allclose(climate["rain"], 0.3)  # 0.9 mm over three hours
    assert climate.sizes["time"] == 180
    assert any("shared evenly" in flag for flag in climate.attrs["flags"])


# ------------------------------------------------------------------ what is refused


BAD = {
    "empty file": b"",
    "header only": HEADER.encode(),
    "header and blank lines": HEADER.encode() + b"\n\n\n",
    "missing unit": record(hours(30), "time,wind_speed,wind_from_direction [degree],rain [mm]"),
    "foreign unit": record(hours(30), HEADER.replace("m/s", "furlong/fortnight")),
    "unit of another quantity": record(hours(30), HEADER.replace("[mm]", "[degC]")),
    "no rain column": record([row.rsplit(",", 1)[0] for row in hours(30)], HEADER.rsplit(",", 1)[0]),
    "text where numbers belong": record([*hours(30), "2020-01-02T06:00Z,5,west,0.2"]),
    "no time": record([*hours(30), ",5,240,0.2"]),
    "time that is none": record([*hours(30), "yesterday,5,240,0.2"]),
    "year that no clock tells": record([*hours(30), "9999-12-31T00:00Z,5,240,0.2"]),
    "month before day": record(["13/01/2020 00:00,5,240,0"] * 3),
    "same time twice": record([*hours(30), *hours(1, start="2020-01-02T05:00")]),
    "times out of order": record(hours(30)[::-1]),
    "some zones": record([*hours(30), "2020-01-02T06:00,5,240,0.2"]),
    "too few columns": record([*hours(30), "2020-01-02T06:00Z,5,240,0.2,9,9,9,9"]),
    "column named twice": record(hours(30, values="5,240,0.2,3"), HEADER + ",rain [mm]"),
    "many impossible directions": record(hours(30, values="5,370,0.2")),
    "many negative rains": record(hours(30, values="5,240,-1")),
    "many storms of 468 m/s": record(hours(30, values="468,240,0.2")),
    "infinite wind": record(hours(30, values="inf,240,0.2")),
    "off the hour": record(hours(30, start="2020-01-01T00:30")),
    "irregular": record([f"2020-01-01T{h:02d}:{m:02d}Z,5,240,0" for h in range(12) for m in (1, 8, 31)]),
    "one row": record(hours(1)),
    "all rain missing": record(hours(3000, values="5,240,")),
    "never any rain": record(hours(3000, values="5,240,0")),
    "running total": record(
        [f"{row},{(i - 1) % 24 * 0.1:.1f}" for i, row in enumerate(hours(480, values="5,240"))]
    ),
    "spreadsheet": b"PK\x03\x04 not really",
    "web page": b"<!doctype html><html><body>Not found</body></html>",
    "binary": bytes(range(256)) * 10,
    "another table": b"name,age\nAda,36\n",
}


@pytest.mark.parametrize("name", BAD)
def test_bad_records_are_refused_in_three_parts(name):
    refusal(BAD[name])


def test_a_stamp_among_others_is_named():
    assert "row 31 has the time 'yesterday'" in refusal(BAD["time that is none"]).came
    assert "9999-12-31" in refusal(BAD["year that no clock tells"]).came


def test_a_file_that_is_not_what_its_name_says_is_told(tmp_path):
    for name, told in (
        ("weather.nc", True),
        ("weather.epw", True),
        ("weather.csv", False),
        ("weather.txt", False),
    ):
        (tmp_path / name).write_bytes(record(hours(30)))
        flags = open_climate(tmp_path / name).attrs["flags"]
        assert any("not what its name says" in flag for flag in flags) is told


def test_absent_file_and_folder(tmp_path):
    assert "exists" in refusal(tmp_path / "absent.csv").expected
    refusal(tmp_path)
    refusal("\0")
    refusal("x" * 5000)


def test_a_single_impossible_value_becomes_missing_and_is_counted():
    rows = hours(2000, values="5,240,0.2")
    rows[700] = rows[700].replace("5,240", "468,240")
    climate = open_climate(record(rows))
    assert climate["wind_speed"].isnull().sum() == 1
    assert any("1 of wind_speed" in flag for flag in climate.attrs["flags"])
    rows[701] = rows[701].replace("240", "370")
    rows[702] = rows[702].replace("0.2", "-3")
    assert "0.15%" in refusal(record(rows)).came  # three of 2000 hours: above 0.1 %


def test_packing_noise_below_zero_becomes_zero_and_is_told():
    climate = open_climate(record(hours(40) + hours(2, start="2020-01-02T16:00", values="5,240,-0.000001")))
    assert climate["rain"].values[-1] == 0
    assert any("hair below zero" in flag for flag in climate.attrs["flags"])


def test_named_codes_for_missing():
    rows = hours(100) + hours(50, start="2020-01-05T04:00", values="5,-999,-999")
    assert refusal(record(rows)).parameter == "missing"
    climate = open_climate(record(rows), missing=[-999])
    assert climate["rain"].isnull().sum() == 50
    miles = open_climate(
        record(rows, HEADER.replace("m/s", "mph")), missing=[-999, 5]
    )  # codes are in the file's unit
    assert miles["wind_speed"].isnull().all()


@pytest.mark.parametrize(
    "told",
    [
        {"columns": "nonsense"},
        {"columns": "speed=wind [m/s]"},
        {"columns": "rain=snowfall [mm]"},
        {"columns": "rain=rain [in]"},  # the header says mm
        {"where": "origin"},
        {"format": "papyrus"},
        {"kind": "guess"},
        {"spread_rain": "somehow"},
        {"stamp": "middle"},
        {"time_zone": 99},
        {"mast_height": -3},
        {"at": (91, 0)},
        {"missing": ["much"]},
    ],
)
def test_wrong_arguments_are_refused(told):
    with pytest.raises((RefusalError, ValueError)) as caught:
        open_climate(record(hours(30)), **told)
    assert isinstance(caught.value, RefusalError) or "missing" in told


# ------------------------------------------------------------------ mast, speed


def test_mast_height_by_hand():
    # ln(10/0.05) / ln(6/0.05) = 5.29832 / 4.78749
    np.testing.assert_allclose(mast_factor(6.0, roughness_length=0.05), 1.10670, atol=1e-5)
    climate = open_climate(b"# mast_height: 6\n" + record(hours(30)))
    np.testing.assert_allclose(climate["wind_speed"], 5 * 1.10670, atol=1e-4)
    assert any("logarithmic law" in flag for flag in climate.attrs["flags"])


def test_thirty_years_are_read_in_about_a_second():
    weather = invented_weather(start="1991-01-01T01:00", hours=24 * 365 * 30)[["speed", "direction", "rain"]]
    body = weather.to_csv(header=False, date_format="%Y-%m-%dT%H:%M:%SZ")
    raw = f"{HEADER}\n{body}".encode()
    begun = time.process_time()
    climate = open_climate(raw)
    assert time.process_time() - begun < 6  # about one second on an idle core; a slow machine is no failure
    assert climate.sizes["time"] == len(weather)


def test_the_index_of_a_read_record_equals_the_index_by_hand():
    # 100 hours of 5 m/s and 1 mm square on: 100 x 2/9 x 5 (METHOD: 111.111), the other hours dry
    rows = hours(100, values="5,240,1") + hours(8684, start="2020-01-05T04:00", values="5,240,0")
    index = airfield_index(open_climate(record(rows)), orientation=[240])
    np.testing.assert_allclose(index["airfield_annual_index"], 111.111, atol=1e-3)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_a_pipe_gives_its_content_once_and_all_of_it_is_read(tmp_path):
    rows = hours(8784)
    rows[-1] = rows[-1].replace("0.2", "0.4")  # rain that never changes is refused
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=lambda: pipe.write_bytes(record(rows)), daemon=True)
    writer.start()
    climate = open_climate(pipe)
    writer.join(10)
    assert climate.sizes["time"] == 8784  # far more than the first look takes
    assert float(climate["rain"].sum()) == pytest.approx(0.2 * 8785)
