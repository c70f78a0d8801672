"""``exposure site`` on real records, against a second way that shares no code, and on input to refuse."""

import gzip
import json
import math
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest
import second_way as second
from outside import compared

from exposure.cli import main
from exposure.cli.site_command import read_orientations

AIRPORT = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
COLUMNS = "time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]"


def run(capsys, *arguments):
    code = main(["site", *map(str, arguments)])
    told = capsys.readouterr()
    return code, told.out, told.err


def second_way(rows, theta, *, hours_in_year):
    """Annual index and largest spell of one year from (hour, rain mm, wind m/s, direction)."""
    dated = [(hour, 0, r, v, d) for hour, r, v, d in rows]
    annual, largest = second.annual_and_spells(dated, theta, {0: hours_in_year})
    return annual[0], largest[0]


def held_against_the_second_way(found, rows, name, place, source):
    """Both indices of all twelve facings, in one comparison each."""
    facing = [30.0 * i for i in range(12)]
    assert found["orientation"] == facing
    ours = zip(*(second_way(rows, theta, hours_in_year=8760) for theta in facing), strict=True)
    for kind, expected in zip(("annual", "spell"), ours, strict=True):
        compared(
            f"{name}-{kind}",
            found[f"airfield_{kind}_index"],
            expected,
            within=1e-6,
            about="real records",
            what=f"airfield {kind} index of {place}, facing 0, 30, 60 and so on to 330 degrees",
            source=source,
            how="by independent code on open data",
            unit="L/m²",
        )


@pytest.mark.parametrize("airport", ["EWR", "JFK", "LGA"])
def test_the_real_airport_year_against_a_second_way(capsys, airport):
    # by a second method: pandas reads the file, plain loops sum it; units by definition of inch and mile
    code, out, err = run(capsys, AIRPORT, "--where", f"origin={airport}", "--columns", COLUMNS, "--json", "-")
    assert code == 0, err
    found = json.loads(out)
    table = pd.read_csv(AIRPORT).query("origin == @airport")
    start = datetime(1970, 1, 1, tzinfo=UTC)
    rows = []
    for row in table.itertuples():
        stamp = datetime.fromisoformat(row.time_hour.replace("Z", "+00:00"))
        speed = row.wind_speed * 1609.344 / 3600
        if stamp.year == 2013:
            speed = speed if speed <= 75 else math.nan
            rows.append(((stamp - start) // timedelta(hours=1), row.precip * 25.4, speed, row.wind_dir))
    assert found["years"] == [2013]
    held_against_the_second_way(
        found,
        rows,
        f"airport-{airport}",
        f"the airport {airport}, 2013",
        "hourly observations of three airports, 2013 (CC0), read by pandas and summed by plain loops",
    )
    assert found["airfield_spell_index_gumbel"] == [None] * 12
    no_direction = sum(r for _, r, v, d in rows if math.isnan(d) and not math.isnan(v))
    assert found["unassigned_rain_mm"] == pytest.approx(no_direction, rel=1e-6)
    assert any("indicative" in flag for flag in found["flags"])
    assert any("468.659" in flag for flag in found["flags"]) == (airport == "EWR")


def test_a_real_typical_year_against_a_second_way(capsys, shared_data):
    # EPW columns as its format describes: direction 21, speed 22, liquid depth 34 (counted from 1)
    weather = shared_data / "mount_shasta_tmyx.epw.gz"
    code, out, err = run(capsys, weather, "--wet-hour", "0", "--json", "-")
    assert code == 0, err
    found = json.loads(out)
    with gzip.open(weather, "rt") as lines:
        fields = [line.split(",") for line in lines][8:]
    rows = [(i, float(f[33]), float(f[21]), float(f[20])) for i, f in enumerate(fields)]
    assert len(rows) == 8760
    rows = [
        (i, r if r < 900 else math.nan, v if v < 900 else math.nan, d if d < 900 else math.nan)
        for i, r, v, d in rows
    ]
    held_against_the_second_way(
        found,
        rows,
        "mountain-year",
        "Mount Shasta, typical year, any rain counted",
        "EPW file of open weather, its columns split and summed by plain loops",
    )
    assert any("indicative" in flag for flag in found["flags"])


def test_a_record_that_never_measured_rain_is_refused(capsys, shared_data):
    code, out, err = run(capsys, shared_data / "amsterdam_iwec.epw.gz")
    assert (code, out) == (2, "")
    assert err.startswith("Refused: ")
    assert "not measured" in err


def test_a_grid_whose_steps_are_not_hourly_is_read_and_its_index_refused(capsys, shared_data):
    from exposure import open_climate

    grid = shared_data / "era5_europe_1deg_24steps.nc"
    climate = open_climate(grid, at=(50.0, 4.0))
    assert climate["rain"].attrs["units"] == "mm"
    code, out, err = run(capsys, grid, "--at", "50,4")
    assert (code, out) == (2, "")
    assert "7 h; expected hourly data" in err


def write_record(
    path, hours=8760, header="time,wind_speed [m/s],wind_from_direction [degree],rain [mm]", row=None
):
    times = pd.date_range("2015-01-01", periods=hours, freq="h")
    # 1 mm each fiftieth hour at 5 m/s from 60 degrees; what varies besides never reaches a wall that faces 60
    speed = lambda i: 5 if i % 50 == 0 else 2 + i * 7 % 11 / 2  # noqa: E731
    rain = {0: 1.0, 1: 0.4}
    row = row or (lambda i: f"{speed(i)},{240 if i % 2 else 60},{rain.get(i % 50, 0.0)}")
    path.write_text(
        "\n".join([header, *(f"{t:%Y-%m-%dT%H:%M},{row(i)}" for i, t in enumerate(times))]) + "\n"
    )
    return path


def test_the_report_names_the_worst_first(capsys, tmp_path):
    code, out, _ = run(capsys, write_record(tmp_path / "a.csv"), "--orientations", "60,240")
    assert code == 0
    assert out.startswith("Worst-facing: 60\N{DEGREE SIGN} (north-east)")
    assert "local codes" in out


def test_json_into_a_file_leaves_the_report_on_the_screen(capsys, tmp_path):
    target = tmp_path / "out.json"
    code, out, _ = run(capsys, write_record(tmp_path / "a.csv"), "--json", target)
    assert code == 0
    assert "Worst-facing" in out
    found = json.loads(target.read_text())
    # by hand: 176 wet hours, all at even rows, so with wind from 60: 2/9 x 5 each
    assert found["airfield_annual_index"][2] == pytest.approx(176 * 10 / 9, rel=1e-9)
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []


def test_json_alone_on_standard_output(tmp_path):
    source = write_record(tmp_path / "a.csv")
    done = subprocess.run(
        [sys.executable, "-m", "exposure.cli", "site", str(source), "--json", "-"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0
    json.loads(done.stdout, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "empty"),
        ("time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n", "header only"),
        ("time,wind_speed,wind_from_direction [degree],rain [mm]\n2015-01-01T00,5,240,1\n", "unit missing"),
        (
            "time,wind_speed [parsec],wind_from_direction [degree],rain [mm]\n2015-01-01T00,5,240,1\n",
            "foreign unit",
        ),
        ("\x00\x01\x02\xff" * 100, "not text"),
        ("<html><body>Not found</body></html>", "a web page"),
    ],
)
def test_a_file_that_is_no_record_is_refused(capsys, tmp_path, text, why):
    path = tmp_path / "bad.csv"
    path.write_text(text, "latin-1")
    code, out, err = run(capsys, path)
    assert (code, out) == (2, ""), why
    assert err.startswith("Refused: "), why
    assert "expected" in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize(
    "row",
    [
        lambda i: f"5,{370 if i % 50 == 0 else 240},1",
        lambda i: f"5,240,{-1 if i % 50 == 0 else 1}",
        lambda i: f"{468 if i % 50 == 0 else 5},240,1",
        lambda i: f"{'strong' if i % 50 == 0 else 5},240,1",
    ],
)
def test_many_impossible_values_are_refused(capsys, tmp_path, row):
    code, out, err = run(capsys, write_record(tmp_path / "a.csv", row=row))
    assert (code, out) == (2, "")
    assert err.startswith("Refused: ")


def test_one_impossible_value_becomes_missing_and_is_told(capsys, tmp_path):
    source = write_record(
        tmp_path / "a.csv",
        row=lambda i: (
            f"{2 + i * 7 % 11 / 2},{370 if i == 50 else 240 + 10 * (i % 3)},{(0.4, 1.2, 0.8)[i % 3] if i % 50 < 2 else 0}"
        ),
    )
    code, out, _ = run(capsys, source)
    assert code == 0
    assert "370" in out
    assert "Doubt: " in out


def test_orientations():
    assert read_orientations("12") == [30.0 * i for i in range(12)]
    assert read_orientations("-45, 405") == [315.0, 45.0]
    assert read_orientations("90,") == [90.0]  # the comma makes it a list
    assert read_orientations("90.0") == [90.0]
    assert read_orientations("90,90,0,360") == [90.0, 0.0]  # one wall is told once
    for wrong in (
        "90",
        "45",
        "360",
        "37",
        "",
        "north",
        "10,x",
        "99999",
        "9" * 5000,
        "\N{SUPERSCRIPT TWO}",
        "nan,inf",
        "1e9",
    ):
        with pytest.raises(ValueError, match="expected"):
            read_orientations(wrong)


@pytest.mark.parametrize("arguments", [["/no/such/file.csv"], ["--wet-hour", "nan"], ["--wet-hour", "-1"]])
def test_other_wrong_arguments_are_refused(capsys, tmp_path, arguments):
    source = [] if arguments[0].startswith("/") else [write_record(tmp_path / "a.csv")]
    code, out, err = run(capsys, *source, *arguments)
    assert (code, out) == (2, "")
    assert err.startswith("Refused: ")


def test_what_is_no_file_is_told_as_such(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, _, told = run(capsys, ".")
    assert code == 2
    assert f"the folder {tmp_path.name} holds no weather" in told
    monkeypatch.setattr("sys.stdin", None)  # closed by who started the command
    code, _, told = run(capsys, "-")
    assert code == 2
    assert "standard input is closed" in told
