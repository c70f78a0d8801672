"""GRIB fields written by ecCodes itself, in the layouts of ERA5 and ERA5-Land."""

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from invented_record import invented_weather

from exposure import open_climate
from exposure.checks import RefusalError
from exposure.climate.formats.grib_fields import _validity

pytestmark = pytest.mark.skipif(find_spec("eccodes") is None, reason="ecCodes is not installed")
WEATHER = invented_weather(hours=48, start="2015-01-01T07:00")


def written(path, *, totals, positive=False, hours=48):
    """Rain in its own cell only; wind everywhere. ``totals``: 'hour', 'day' or 'six'."""
    script = Path(__file__).with_name("write_grib.py")
    subprocess.run([sys.executable, str(script), str(path), totals, str(positive), str(hours)], check=True)
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
        open_climate(written(tmp_path / "six.grib", totals="six", hours=3), at=(50.5, -9.0))


def test_a_point_is_needed_and_must_lie_inside(tmp_path):
    path = written(tmp_path / "era5.grib", totals="hour", hours=3)
    with pytest.raises(RefusalError, match="latitude and longitude"):
        open_climate(path)
    with pytest.raises(RefusalError, match="outside the grid"):
        open_climate(path, at=(40, 0))


def test_a_cut_file_is_refused(tmp_path):
    path = written(tmp_path / "era5.grib", totals="hour", hours=3)
    path.write_bytes(path.read_bytes()[:-20])
    with pytest.raises(RefusalError, match="damaged"):
        open_climate(path, at=(50.5, -9.0))


def test_the_library_stays_out_of_the_process_that_asks(tmp_path):
    """Its projection library cannot live beside the one of the raster packages (both end in a crash)."""
    path = written(tmp_path / "era5.grib", totals="hour", hours=3)
    code = (
        "import sys; from exposure import open_climate; "
        f"open_climate({str(path)!r}, at=(50.5, -9.0)); "
        "import pyproj; print('eccodes' in sys.modules)"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stdout.strip()) == (0, "False"), ended.stderr


def dated(date, clock=600):
    """What the library says of a field of that day and time."""
    return SimpleNamespace(
        codes_get=lambda _handle, key, _kind: {"validityDate": date, "validityTime": clock}[key]
    )


@pytest.mark.parametrize("date", [20200230, 20201301, 0, -20200101, 16000101, 23000101])
def test_a_date_that_cannot_be_counted_is_refused(date):
    """No such day, or one that no count of nanoseconds in 64 bits reaches: by hand, 292 years either side of 1970."""
    with pytest.raises(RefusalError, match="is dated"):
        _validity(dated(date), None)
    assert _validity(dated(20200229, 2330), None).isoformat() == "2020-02-29T23:30:00"
