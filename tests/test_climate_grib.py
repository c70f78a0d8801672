"""GRIB fields written by ecCodes itself, in the layouts of ERA5 and ERA5-Land."""

import numpy as np
import pandas as pd
import pytest
from invented_record import invented_weather

from exposure import open_climate
from exposure.checks import RefusalError

eccodes = pytest.importorskip("eccodes")
WEATHER = invented_weather(hours=48, start="2015-01-01T07:00")
LATITUDES, LONGITUDES = (51.0, 50.5, 50.0), (-10.0, -9.5, -9.0, -8.5)


def message(file, name, field, *, base, start, end, positive=False):
    handle = eccodes.codes_grib_new_from_samples("regular_ll_sfc_grib1")
    keys = {
        "Ni": len(LONGITUDES), "Nj": len(LATITUDES), "jScansPositively": int(positive),
        "latitudeOfFirstGridPointInDegrees": LATITUDES[-1 if positive else 0],
        "latitudeOfLastGridPointInDegrees": LATITUDES[0 if positive else -1],
        "longitudeOfFirstGridPointInDegrees": LONGITUDES[0] % 360,
        "longitudeOfLastGridPointInDegrees": LONGITUDES[-1] % 360,
        "iDirectionIncrementInDegrees": 0.5, "jDirectionIncrementInDegrees": 0.5,
        "dataDate": int(f"{base:%Y%m%d}"), "dataTime": base.hour * 100, "shortName": name,
    }  # fmt: skip
    for key, value in keys.items():
        eccodes.codes_set(handle, key, value)
    if start is not None:
        eccodes.codes_set(handle, "stepType", "accum")
        eccodes.codes_set(handle, "stepRange", f"{start}-{end}")
    else:
        eccodes.codes_set(handle, "stepRange", str(end))
    eccodes.codes_set(handle, "bitsPerValue", 24)
    eccodes.codes_set_values(handle, np.asarray(field, dtype=float).ravel())
    eccodes.codes_write(handle, file)
    eccodes.codes_release(handle)


def written(path, *, totals, positive=False, hours=WEATHER):
    """Rain in its own cell only; wind everywhere. ``totals``: 'hour', 'day' or 'six'."""
    with path.open("wb") as file:
        running = 0.0
        for stamp, row in hours.iterrows():
            angle = np.radians(row["direction"])
            for name, value in (
                ("10u", -row["speed"] * np.sin(angle)),
                ("10v", -row["speed"] * np.cos(angle)),
            ):
                message(file, name, np.full((3, 4), value), base=stamp, start=None, end=0, positive=positive)
            running = row["rain"] if stamp.hour == 1 else running + row["rain"]
            field = np.zeros((3, 4))
            field[1, 2] = (running if totals == "day" else row["rain"]) / 1000
            if totals == "hour":  # forecasts from 06 and 18 UTC, as ERA5
                base = (stamp - pd.Timedelta(hours=1)).floor("12h") - pd.Timedelta(hours=6)
                base = base if stamp - base <= pd.Timedelta(hours=12) else base + pd.Timedelta(hours=12)
                step = int((stamp - base).total_seconds() // 3600)
                message(file, "tp", field, base=base, start=step - 1, end=step, positive=positive)
            elif totals == "day":  # since 00 UTC, as ERA5-Land
                base = (stamp - pd.Timedelta(hours=1)).floor("D")
                message(
                    file,
                    "tp",
                    field,
                    base=base,
                    start=0,
                    end=int((stamp - base).total_seconds() // 3600),
                    positive=positive,
                )
            else:
                message(
                    file, "tp", field, base=stamp - pd.Timedelta(hours=6), start=0, end=6, positive=positive
                )
    return path


@pytest.mark.parametrize("positive", [False, True])
def test_hourly_amounts_of_the_cell_asked_for(tmp_path, positive):
    climate = open_climate(
        written(tmp_path / "era5.grib", totals="hour", positive=positive), at=(50.45, -9.04)
    )
    assert (climate.attrs["latitude"], climate.attrs["longitude"]) == (50.5, -9.0)
    np.testing.assert_allclose(climate["rain"], WEATHER["rain"], atol=1e-3)
    np.testing.assert_allclose(climate["wind_speed"], WEATHER["speed"], atol=1e-3)
    turn = (climate["wind_from_direction"].values - WEATHER["direction"].to_numpy() + 180) % 360 - 180
    assert np.abs(turn[WEATHER["speed"] > 0.5]).max() < 0.1


def test_totals_since_midnight_are_taken_apart(tmp_path):
    climate = open_climate(written(tmp_path / "land.grib", totals="day"), at=(50.5, -9.0))
    assert np.isnan(climate["rain"].values[0])  # 07 UTC: the hour before is not in the file
    np.testing.assert_allclose(climate["rain"][1:], WEATHER["rain"][1:], atol=1e-3)


def test_six_hour_amounts_are_refused(tmp_path):
    with pytest.raises(RefusalError, match="0 to 6"):
        open_climate(written(tmp_path / "six.grib", totals="six", hours=WEATHER[:3]), at=(50.5, -9.0))


def test_a_point_is_needed_and_must_lie_inside(tmp_path):
    path = written(tmp_path / "era5.grib", totals="hour", hours=WEATHER[:3])
    with pytest.raises(RefusalError, match="--at"):
        open_climate(path)
    with pytest.raises(RefusalError, match="outside the grid"):
        open_climate(path, at=(40, 0))


def test_a_cut_file_is_refused(tmp_path):
    path = written(tmp_path / "era5.grib", totals="hour", hours=WEATHER[:3])
    path.write_bytes(path.read_bytes()[:-20])
    with pytest.raises(RefusalError, match="damaged"):
        open_climate(path, at=(50.5, -9.0))
