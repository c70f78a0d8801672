"""Every format: the same weather gives the same index, and each real file is read or refused as it should be."""

import csv
import gzip
import json
import math
from pathlib import Path

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
    power_csv,
    power_json,
    station_csv,
)

from exposure import airfield_index, open_climate
from exposure.checks import RefusalError
from exposure.climate.formats.register import FORMATS, format_module

WEATHER = invented_weather()
OPEN = Path(__file__).parents[1] / "data_open"
WALLS = np.arange(0, 360, 15)
TEXT = {
    "station-csv": station_csv, "epw": epw, "power": power_json, "hourly-json": hourly_json, "isd-lite": isd_lite,
    "global-hourly": global_hourly, "ghcnh": ghcnh, "knmi": knmi,
}  # fmt: skip


def index_by_loops(weather, walls, *, threshold):
    """The annual index with plain loops, straight from the formula (METHOD section 2), sharing no code."""
    sums = [0.0] * len(walls)
    for v, d, r in zip(weather["speed"], weather["direction"], weather["rain"], strict=True):
        head_on = 2 / 9 * v * r ** (8 / 9) if r > 0 else 0.0
        if r < threshold - 1e-4 or head_on < 0.001:
            continue
        for place, wall in enumerate(walls):
            cosine = math.cos(math.radians(d - wall))
            sums[place] += head_on * cosine if cosine > 1e-5 else 0.0
    return sums


@pytest.fixture(scope="module")
def by_loops():
    return np.array(index_by_loops(WEATHER, WALLS, threshold=0.1))


@pytest.mark.parametrize("name", TEXT)
def test_the_same_weather_as_text_gives_the_same_index(name, by_loops):
    raw = TEXT[name](WEATHER)
    climate = open_climate(raw)
    assert climate.attrs["format"] == name  # told from the content
    index = airfield_index(climate, orientation=WALLS, wet_hour=0.1)
    scale = float(index["hours_scaling"][0])  # the last hour of a year is stamped in the next one
    counted = 1 if climate.attrs["kind"] == "typical year" else scale
    lost = np.array(index_by_loops(WEATHER.iloc[-1:], WALLS, threshold=0.1)) if counted != 1 else 0
    np.testing.assert_allclose(
        index["airfield_annual_index"], (by_loops - lost) * counted, rtol=1e-6, atol=1e-9
    )
    assert climate.attrs["licence"]
    assert climate["time"].values[0] == (
        np.datetime64("2001-01-01T01:00") if name == "epw" else np.datetime64("2015-01-01T01:00")
    )


@pytest.mark.parametrize("components", [True, False])
@pytest.mark.parametrize("store", ["netcdf", "zarr"])
def test_the_same_weather_as_a_grid_gives_the_same_index(components, store, by_loops, tmp_path):
    dataset = grid(WEATHER, components=components)
    path = tmp_path / "grid"
    dataset.to_netcdf(path, engine="h5netcdf") if store == "netcdf" else dataset.to_zarr(path)
    index = airfield_index(open_climate(path), orientation=WALLS)
    lost = np.array(index_by_loops(WEATHER.iloc[-1:], WALLS, threshold=0.1))
    scale = float(index["hours_scaling"][0])
    np.testing.assert_allclose(
        index["airfield_annual_index"], (by_loops - lost) * scale, rtol=1e-6, atol=1e-9
    )


def test_power_csv_and_json_are_the_same_record():
    one, other = open_climate(power_csv(WEATHER)), open_climate(power_json(WEATHER))
    for term in ("rain", "wind_speed", "wind_from_direction"):
        np.testing.assert_array_equal(one[term], other[term])
    assert one.attrs["latitude"] == other.attrs["latitude"] == 50.0


def test_power_fill_values_and_local_solar_time():
    answer = json.loads(power_json(WEATHER, standard="LST", longitude=-75.0))
    answer["properties"]["parameter"]["PRECTOTCORR"]["2015010103"] = -999.0
    answer["properties"]["parameter"]["WS10M"]["2015010104"] = -999.0
    climate = open_climate(json.dumps(answer).encode())
    assert climate["time"].values[0] == np.datetime64("2015-01-01T06:00")  # 75 degrees west: 5 h behind UTC
    assert np.isnan(climate["rain"].values[3])
    assert np.isnan(climate["wind_speed"].values[4])
    assert int(climate["rain"].isnull().sum()) == 1
    assert not any(
        "Impossible" in flag for flag in climate.attrs["flags"]
    )  # a code for missing is no impossible value


def test_hourly_json_in_local_time_goes_to_utc():
    raw = hourly_json(WEATHER).replace(b'"utc_offset_seconds": 0', b'"utc_offset_seconds": 3600')
    assert open_climate(raw)["time"].values[0] == np.datetime64("2015-01-01T00:00")


def test_every_format_is_registered_with_a_reader():
    for entry in FORMATS:
        module = format_module(entry)
        assert callable(module.recognises)
        assert hasattr(module, "read_columns") != hasattr(module, "read_climate")


def test_only_one_format_recognises_each_file():
    for name, write in TEXT.items():
        source_names = []
        from exposure.climate.source_file import open_source

        opened = open_source(write(WEATHER.iloc[:100]))
        source_names = [entry.name for entry in FORMATS if format_module(entry).recognises(opened)]
        assert source_names == [name]


# ------------------------------------------------------------------ codes of the formats


def test_codes_of_global_hourly_by_its_documentation():
    header = (
        '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","REPORT_TYPE","WND","TMP","DEW","AA1"'
    )
    rows = [
        '"9","2020-01-01T00:51:00","50","-10","5","X","FM-15","230,5,V,0046,5","+0100,5","+0050,5","01,0010,9,5"',
        '"9","2020-01-01T01:20:00","50","-10","5","X","FM-16","230,5,N,0077,5","+0100,5","+0050,5","01,0020,9,5"',
        '"9","2020-01-01T01:51:00","50","-10","5","X","FM-15","240,5,N,0051,5","+0100,5","+0050,5","01,0030,9,5"',
        '"9","2020-01-01T02:51:00","50","-10","5","X","FM-15","240,3,N,0051,5","+9999,9","+9999,9","01,0000,2,5"',
        '"9","2020-01-01T03:51:00","50","-10","5","X","FM-15","000,5,C,0000,5","+0100,5","+0050,5","06,0120,9,5"',
        '"9","2020-01-01T04:51:00","50","-10","5","X","FM-15","240,5,N,9999,9","+0100,5","+0050,5","01,9999,9,9"',
        '"9","2020-01-01T23:59:00","50","-10","5","X","SOD  ","240,5,N,0400,5","+0100,5","+0050,5","24,0990,9,5"',
    ]
    rows += [
        f'"9","2020-01-02T{h:02d}:51:00","50","-10","5","X","FM-15","240,5,N,0050,5","+0100,5","+0050,5","01,0000,9,5"'
        for h in range(12)
    ]
    climate = open_climate("\n".join([header, *rows]).encode())
    first = climate.isel(time=slice(0, 5))
    assert first["time"].dt.hour.values.tolist() == [
        1,
        2,
        3,
        4,
        5,
    ]  # 00:51 reports the hour that ends at 01:00
    np.testing.assert_allclose(
        first["rain"], [1.0, 3.0, 0.0, np.nan, np.nan]
    )  # the routine report ends the hour
    np.testing.assert_allclose(first["wind_speed"], [4.6, 5.1, 5.1, 0.0, np.nan])
    np.testing.assert_allclose(first["wind_from_direction"], [np.nan, 240, np.nan, 0, np.nan])
    assert any("trace" in flag for flag in climate.attrs["flags"])
    assert any("left out: hourly rain is there" in flag for flag in climate.attrs["flags"])
    assert float(climate["wind_speed"].max()) < 10  # the daily summary's 40 m/s is no hour


def test_six_hour_totals_of_isd_lite_are_refused_and_shared_on_request():
    text = isd_lite(WEATHER.iloc[:240]).decode().splitlines()
    rows = [f"{line[:49]}{-9999:6d}{(60 if i % 6 == 5 else -9999):6d}" for i, line in enumerate(text)]
    raw = "\n".join(rows).encode()
    with pytest.raises(RefusalError, match="totals over 6 h") as refused:
        open_climate(raw)
    assert refused.value.parameter == "spread_rain"
    climate = open_climate(raw, spread_rain="evenly")
    np.testing.assert_allclose(climate["rain"], 1.0)  # 6.0 mm over six hours
    assert climate.sizes["time"] == 240


def test_isd_lite_missing_and_trace():
    rows = [
        f"2020 01 {1 + h // 24:02d} {h % 24:02d}   100    50 -9999   230    51 -9999 {'   -1' if h == 5 else '-9999' if h == 6 else '   12'} -9999"
        for h in range(48)
    ]
    climate = open_climate("\n".join(rows).encode())
    assert climate["rain"].values[5] == 0
    assert np.isnan(climate["rain"].values[6])
    assert climate["rain"].values[7] == 1.2


def test_codes_of_ghcnh():
    head = "Station_ID|Station_name|Year|Month|Day|Hour|Minute|Latitude|Longitude|Elevation|wind_direction|wind_direction_Quality_Code|wind_speed|wind_speed_Quality_Code|precipitation|precipitation_Measurement_Code|precipitation_Quality_Code"
    rows = [f"X|Nowhere|2020|1|{1 + h // 24}|{h % 24}|0|50|-10|5|240|5|5.1|5|0.3||5" for h in range(48)]
    rows[3] = rows[3].replace("|240|5|", "|999|5|")
    rows[4] = rows[4].replace("|5.1|5|", "|5.1|3|")
    rows[5] = rows[5].replace("|0.3||5", "|0.0|T|5")
    rows[6] = rows[6].replace("|0.3||5", "||T|")
    climate = open_climate("\n".join([head, *rows]).encode())
    assert np.isnan(climate["wind_from_direction"].values[3])
    assert climate["wind_speed"].values[3] == 5.1
    assert np.isnan(climate["wind_speed"].values[4])
    assert climate["rain"].values[5] == climate["rain"].values[6] == 0


def test_codes_of_knmi():
    lines = knmi(WEATHER.iloc[:48]).decode().splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("  999"))
    for row, direction, rain in ((0, 990, -1), (1, 0, 0)):
        parts = lines[start + row].split(",")
        parts[3], parts[6] = f"{direction}", f"{rain}"
        lines[start + row] = ",".join(parts)
    climate = open_climate("\n".join(lines).encode())
    assert np.isnan(climate["wind_from_direction"].values[0])
    assert climate["rain"].values[0] == 0
    assert any("0.05 mm" in flag for flag in climate.attrs["flags"])
    assert climate.attrs["latitude"] == 50.0
    assert climate.attrs["longitude"] == -10.0


# ------------------------------------------------------------------ real files, as the data's notes say


def rows_of_epw(path):
    with gzip.open(path, "rt", encoding="latin-1") as file:
        return [row for row in csv.reader(file) if row and row[0].isdigit()]


def test_epw_of_mount_shasta_against_a_reading_of_its_own(shared_data):
    climate = open_climate(shared_data / "mount_shasta_tmyx.epw.gz")
    rows = rows_of_epw(shared_data / "mount_shasta_tmyx.epw.gz")
    weather = pd.DataFrame(
        {
            "speed": [float(r[21]) for r in rows],
            "direction": [float(r[20]) for r in rows],
            "rain": [float(r[33]) for r in rows],
        }
    )
    assert climate.sizes["time"] == len(rows) == 8760
    assert climate.attrs["kind"] == "typical year"
    assert climate.attrs["time_zone"] == -8
    index = airfield_index(climate, orientation=WALLS)
    np.testing.assert_allclose(
        index["airfield_annual_index"], index_by_loops(weather, WALLS, threshold=0.1), rtol=1e-9
    )
    assert any("indicative" in flag for flag in index.attrs["flags"])


def test_epw_of_amsterdam_is_refused_with_the_reason(shared_data):
    """Its precipitation is 0 in every row, which stands for missing (data notes)."""
    with pytest.raises(RefusalError, match="not measured"):
        open_climate(shared_data / "amsterdam_iwec.epw.gz")


def test_tmy3_of_greensboro_holds_tenths():
    """The sum of the column is 8345 (pandas); as mm that were 8.3 m of rain a year, as tenths 834.5 mm."""
    climate = open_climate(OPEN / "greensboro_tmy3.csv.gz")
    assert float(climate["rain"].sum()) == pytest.approx(834.5)
    assert any("tenths" in flag for flag in climate.attrs["flags"])
    assert (climate.attrs["latitude"], climate.attrs["time_zone"]) == (36.1, -5.0)
    assert climate["time"].values[-1] == np.datetime64("2002-01-01T00:00")  # hour 24 ends the year


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("gfs_2p5deg_f072.nc", "time axis"),  # one step, nothing along time
        ("gfs_2011100800_f072_10u10v_tp_prate_orog_lsm.grib2", "66 to 72"),  # rain over six hours
        ("metview_oper_10u_sfc.grib", "wind at 10 m"),
        ("metview_oper_10v_sfc.grib", "wind at 10 m"),
        ("metview_oper_tp_sfc.grib", "covers hours"),
        ("regular_gg_sfc.grib", "wind at 10 m"),
        ("rotated_wind_20x20.grib", "rotated_ll"),
        ("tp_on_different_grid_resolutions.grib", "covers hours"),
        ("land-110m.json", "none of the known formats"),
        ("land-50m.json", "none of the known formats"),
        ("countries-110m.json", "none of the known formats"),
        ("rmnp-dem.tif", "none of the known formats"),
        ("topobathy.npz", "none of the known formats|files"),
        ("SHA256SUMS", "none of the known formats"),
    ],
)
def test_files_that_hold_no_record_are_refused_by_name(shared_data, name, reason):
    with pytest.raises(RefusalError, match=reason):
        open_climate(shared_data / name, at=(50, 5))


@pytest.mark.parametrize("origin", ["EWR", "JFK", "LGA"])
def test_the_airport_year_passes_with_its_one_impossible_wind(origin):
    climate = open_climate(
        OPEN / "airport_weather_2013.csv.gz",
        columns="time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]",
        where={"origin": origin},
    )
    assert airfield_index(climate, orientation=[0]).sizes["year"] == 1
    assert any("468.659" in flag for flag in climate.attrs["flags"]) == (origin == "EWR")


# ------------------------------------------------------------------ epw and tmy3 in detail


def test_epw_missing_codes_are_missing():
    lines = epw(WEATHER).decode().splitlines()
    for row, field, code in ((20, 20, "999"), (21, 21, "999"), (22, 33, "999"), (23, 33, "-9900")):
        parts = lines[row].split(",")
        parts[field] = code
        lines[row] = ",".join(parts)
    climate = open_climate("\n".join(lines).encode())
    first = int(sum(not line[:4].isdigit() for line in lines[:12]))
    assert np.isnan(climate["wind_from_direction"].values[20 - first])
    assert np.isnan(climate["wind_speed"].values[21 - first])
    assert np.isnan(climate["rain"].values[[22 - first, 23 - first]]).all()


def test_epw_with_rain_mostly_missing_gives_no_index():
    lines = epw(WEATHER).decode().splitlines()
    out = []
    for number, line in enumerate(lines):
        parts = line.split(",")
        if len(parts) == 35 and number % 3:
            parts[33] = "999"
        out.append(",".join(parts))
    climate = open_climate("\n".join(out).encode())
    assert any("Rain is missing" in flag for flag in climate.attrs["flags"])
    with pytest.raises(RefusalError, match="no year counts"):
        airfield_index(climate, orientation=[0])


def test_epw_of_a_real_year_goes_to_utc_when_told():
    raw = epw(WEATHER).replace(b"50.0,-10.0,0.0,12.0", b"50.0,-75.0,-5.0,12.0")
    climate = open_climate(raw, kind="gauge")
    assert climate["time"].values[0] == np.datetime64("2015-01-01T06:00")
    assert climate.attrs["kind"] == "gauge"


@pytest.mark.parametrize(
    "harm",
    [
        lambda text: text[: len(text) // 2 + 7],
        lambda text: text.replace("DATA PERIODS", "DATA"),
        lambda text: text.replace("DATA PERIODS,1,1", "DATA PERIODS,1,4"),
        lambda text: text.replace("2015,2,28,", "2015,2,31,"),
        lambda text: "\n".join(",".join(line.split(",")[:32]) for line in text.splitlines()),
        lambda text: text.replace("50.0,-10.0,0.0,12.0", "north,-10.0,0.0,12.0"),
        lambda text: text + text[text.index("\n2015") :],
        lambda text: text[: text.index("\n2015")],
    ],
)
def test_harmed_epw_files_are_refused(harm):
    with pytest.raises(RefusalError):
        open_climate(harm(epw(WEATHER).decode()).encode())
