"""``exposure inspect`` and its pictures."""

import json
import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from invented_record import epw, invented_weather, station_csv

from exposure.cli import main
from exposure.draw.record_pictures import coverage_strip, monthly_rain, wind_and_rain_roses


@pytest.fixture
def record(tmp_path):
    weather = invented_weather(hours=8760 * 2)
    weather.iloc[1500:2600, weather.columns.get_loc("rain")] = np.nan
    text = station_csv(weather).replace(b",nan\n", b",\n")
    (tmp_path / "record.csv").write_bytes(b"# kind: invented\n# latitude: 50\n# longitude: -10\n" + text)
    return tmp_path / "record.csv"


def test_report_pictures_and_json(record, tmp_path, capsys):
    assert (
        main(["inspect", str(record), "--out", str(tmp_path / "seen"), "--json", str(tmp_path / "seen.json")])
        == 0
    )
    out = capsys.readouterr().out
    assert out.startswith("INVENTED DATA")
    for words in ("Rain by month", "Note (", "Known", "50, -10"):
        assert words in out
    told = json.loads((tmp_path / "seen.json").read_text())
    assert told["hours"] == 17520
    known = invented_weather(hours=8760 * 2)["rain"].drop(invented_weather(hours=8760 * 2).index[1500:2600])
    assert told["rain_year"] == pytest.approx(known.mean() * 8766)
    assert told["wet_share"] == pytest.approx((known >= 0.1).mean())
    assert told["rain_known"] == pytest.approx(1 - 1100 / 17520, abs=1e-3)
    assert told["rain_coverage"]["2015"][2] == pytest.approx((1500 - 59 * 24) / 744, abs=0.01)
    assert {found["name"] for found in told["suspicions"]} >= {"rain-missing", "thin-months"}
    files = sorted(path.name for path in (tmp_path / "seen").iterdir())
    assert files == ["coverage.svg", "monthly-rain.svg", "roses.svg"]
    for path in (tmp_path / "seen").iterdir():
        svg = ET.fromstring(path.read_text("utf-8"))
        assert svg.find("{http://www.w3.org/2000/svg}desc").text
        assert "INVENTED" in svg.find("{http://www.w3.org/2000/svg}title").text
        sizes = [float(text.get("font-size")) for text in svg.iter("{http://www.w3.org/2000/svg}text")]
        assert min(sizes) >= 12


def test_only_json_on_standard_output(record, capsys):
    assert main(["inspect", str(record), "--json", "-"]) == 0
    told = json.loads(
        capsys.readouterr().out, parse_constant=lambda _: pytest.fail("a number JSON does not know")
    )
    assert told["kind"] == "invented"


def test_a_typical_year(tmp_path, capsys):
    (tmp_path / "year.epw").write_bytes(epw(invented_weather()))
    assert main(["inspect", str(tmp_path / "year.epw"), "--out", str(tmp_path)]) == 0
    assert "local standard time" in capsys.readouterr().out
    assert ">typical<" in (tmp_path / "coverage.svg").read_text()


def test_turned_directions_are_found_from_the_terminal(record, tmp_path, capsys):
    weather = invented_weather(hours=8760 * 2)
    weather["direction"] = (weather["direction"] + 180) % 360
    (tmp_path / "turned.csv").write_bytes(station_csv(weather))
    assert main(["inspect", str(tmp_path / "turned.csv"), "--against", str(record)]) == 0
    out = capsys.readouterr().out
    assert "180\N{DEGREE SIGN} off, steady to 1.00" in out
    assert "blows to" in out


def test_refused_with_two_and_one_line(tmp_path, capsys):
    assert main(["inspect", str(tmp_path / "absent")]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert "Traceback" not in told.err
    assert main(["sources", "nowhere"]) == 2


def test_sources_are_listed_and_told(capsys):
    assert main(["sources"]) == 0
    assert "nasa-power" in capsys.readouterr().out
    assert main(["sources", "era5", "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["sources"][0]["name"] == "era5"
    assert main(["sources", "era5"]) == 0
    assert "not be reached" in capsys.readouterr().out


# ------------------------------------------------------------------ pictures by themselves


def petals(svg, colour):
    """Lengths of the filled wedges of one colour, from the picture's own path data."""
    found = []
    for data in re.findall(rf'<path d="M([^"]*)Z" fill="{colour}"/>', svg):
        points = [tuple(map(float, pair.split())) for pair in data.split(" L")]
        if len(points) == 5:
            found.append(max(math.dist(points[0], point) for point in points[1:]))
    return found


def test_both_roses_are_drawn_to_one_scale():
    svg = wind_and_rain_roses(
        [0.1, 0.2, 0.3, 0.4], [0.8, 0.1, 0.1, 0.0], rain_direction=10, rain_concentration=0.7
    )
    wind, rain = petals(svg, "#55606A"), petals(svg, "#2F6570")
    assert len(wind) == 4
    assert len(rain) == 3
    # lengths are in proportion to shares, across both: 0.4 against 0.8
    assert max(wind) / max(rain) == pytest.approx(0.5, abs=0.01)


def test_no_rain_and_no_coverage_are_drawn_without_error():
    nothing = [math.nan] * 12
    assert "No whole month" in monthly_rain([(math.nan, math.nan, math.nan)] * 12, years=1)
    assert "<svg" in coverage_strip({2000: nothing}, {2000: nothing})
    assert "no rain" in wind_and_rain_roses(
        [0.0] * 8, [0.0] * 8, rain_direction=math.nan, rain_concentration=math.nan
    )


def test_a_hundred_years_keep_a_page():
    full = dict.fromkeys(range(1900, 2001), [1.0] * 12)
    height = float(ET.fromstring(coverage_strip(full, full)).get("height"))
    assert height < 1200


def test_hostile_titles_stay_text():
    svg = monthly_rain([(1.0, 1.0, 1.0)] * 12, years=1, title='<script>alert(1)</script>" onload="x')
    assert "<script" not in svg
    ET.fromstring(svg)
