"""A grid scaled with a station: invented weather bent in a known way, and bent back on years not seen."""

import numpy as np
import pytest
from invented_record import invented_weather, station_csv
from test_climate_quality import climate_of

from exposure import open_climate
from exposure.checks import RefusalError
from exposure.climate.scaling import held_out_sentence, scale_with

YEARS = 4


@pytest.fixture(scope="module")
def station():
    return climate_of(invented_weather(hours=8760 * YEARS))


@pytest.fixture(scope="module")
def grid_like(station):
    """The same hours with wind 20 % low (high winds lower still), drizzle everywhere and rain 30 % low."""
    rng = np.random.default_rng(5)
    speed, rain = station["wind_speed"].values, station["rain"].values
    bent = station.copy()
    bent["wind_speed"] = ("time", 0.8 * speed - 0.006 * speed**2, station["wind_speed"].attrs)
    drizzle = np.where(rng.random(rain.size) < 0.4, rng.gamma(0.5, 0.03, rain.size), 0.0)
    bent["rain"] = ("time", 0.7 * rain + drizzle, station["rain"].attrs)
    bent.attrs = {**station.attrs, "kind": "reanalysis"}
    return bent


def test_held_out_years_come_closer(grid_like, station):
    scaled = scale_with(grid_like, station)
    assert {row.part for row in scaled.held_out} >= {"2015", "2016", "2017", "2018"}
    for row in scaled.held_out:
        if row.quantity in ("mean wind", "99 % wind", "rain", "wet hours") and row.part != "2019":
            assert abs(row.after / row.station - 1) < 0.08
            assert abs(row.after - row.station) < abs(row.before - row.station)
    assert any("quantile mapping" in flag for flag in scaled.climate.attrs["flags"])
    assert scaled.climate.attrs["kind"] == "reanalysis"


def test_distribution_of_the_station_is_met_and_order_kept(grid_like, station):
    scaled = scale_with(grid_like, station).climate
    for level in (0.1, 0.5, 0.9, 0.99):
        assert np.quantile(scaled["wind_speed"], level) == pytest.approx(
            np.quantile(station["wind_speed"], level), rel=0.02
        )
    assert np.mean(scaled["rain"].values > 0) == pytest.approx(np.mean(station["rain"].values > 0), rel=0.02)
    assert float(scaled["rain"].sum()) == pytest.approx(float(station["rain"].sum()), rel=0.03)
    order = np.argsort(grid_like["wind_speed"].values, kind="stable")
    assert np.all(np.diff(scaled["wind_speed"].values[order]) >= -1e-9)
    np.testing.assert_array_equal(scaled["wind_from_direction"], grid_like["wind_from_direction"])


def test_a_grid_that_is_the_station_stays_as_it_is(station):
    scaled = scale_with(station, station).climate
    np.testing.assert_allclose(scaled["wind_speed"], station["wind_speed"], atol=1e-9)
    np.testing.assert_allclose(scaled["rain"], station["rain"], atol=1e-9)


def test_hours_outside_the_overlap_are_scaled_too(grid_like, station):
    part = scale_with(grid_like, station.isel(time=slice(0, 8760)))
    whole = scale_with(grid_like, station)
    late = slice(20_000, 30_000)
    ratio = float(part.climate["wind_speed"][late].mean() / whole.climate["wind_speed"][late].mean())
    assert ratio == pytest.approx(1, abs=0.02)
    assert {row.part for row in part.held_out} == {"even months", "odd months"}


def test_missing_stays_missing(grid_like, station):
    holed = grid_like.copy(deep=True)
    holed["rain"][5:50] = np.nan
    holed["wind_speed"][100:150] = np.nan
    scaled = scale_with(holed, station).climate
    assert scaled["rain"][5:50].isnull().all()
    assert scaled["wind_speed"][100:150].isnull().all()
    assert int(scaled["rain"].isnull().sum()) == 45


@pytest.mark.parametrize("hours", [0, 100, 4000])
def test_too_short_an_overlap_is_refused(grid_like, station, hours):
    with pytest.raises(RefusalError, match="share"):
        scale_with(grid_like.isel(time=slice(0, 20_000)), station.isel(time=slice(20_000 - hours, None)))


def test_no_held_out_part_is_said():
    assert "not known" in held_out_sentence([])


def test_from_the_terminal(tmp_path, capsys):
    from exposure.cli import main

    weather = invented_weather(hours=8760 * 2)
    (tmp_path / "station.csv").write_bytes(station_csv(weather))
    weather["speed"] = (weather["speed"] * 0.7).round(2)
    (tmp_path / "grid.csv").write_bytes(b"# kind: reanalysis\n" + station_csv(weather))
    source = [str(tmp_path / "grid.csv"), "--scale-with", str(tmp_path / "station.csv")]
    assert main(["inspect", *source]) == 0
    assert "scaled to station.csv" in capsys.readouterr().out
    wind = float(open_climate(tmp_path / "station.csv")["wind_speed"].mean())
    assert main(["inspect", *source, "--json", "-"]) == 0
    import json

    assert json.loads(capsys.readouterr().out)["mean_speed"] == pytest.approx(wind, rel=0.01)
