"""A gauge and a model told apart by their rain, asked at the one door every table comes through."""

from pathlib import Path

import numpy as np
import pytest
from invented_record import invented_weather, station_csv

from exposure import open_climate
from exposure.cli import main
from exposure.climate.quality.kind_of_record import likely_kind, rain_signs
from exposure.doubts import has_doubt

AIRPORT = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
COLUMNS = "time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]"


def model_rain(hours=8760, seed=5):
    """Rain as of a cell: 38 % of the hours carry some, 14 % a tenth of a mm or more (shares of a real reanalysis)."""
    rng = np.random.default_rng(seed)
    order = rng.permutation(hours)
    rain = np.zeros(hours)
    light, wet = order[: round(0.24 * hours)], order[round(0.24 * hours) : round(0.38 * hours)]
    rain[light] = rng.uniform(0.0005, 0.0949, light.size)
    rain[wet] = 0.1 + rng.gamma(0.6, 1.3, wet.size)
    return rain


def weather_with(rain):
    weather = invented_weather()
    weather["rain"] = np.round(rain, 4)
    return weather


def test_the_shares_are_counted_as_they_were_planted():
    signs = rain_signs(np.concatenate([model_rain(), [np.nan]]))
    assert signs.wet_share == pytest.approx(0.38, abs=1e-3)
    assert signs.trace_share == pytest.approx(0.24 / 0.38, abs=1e-3)
    assert signs.step == 0.0


@pytest.mark.parametrize("origin", ["EWR", "JFK", "LGA"])
def test_a_real_airport_gauge_is_plainly_a_gauge(origin):
    climate = open_climate(AIRPORT, columns=COLUMNS, where={"origin": origin})
    likely = likely_kind(climate["rain"].values)
    assert (likely.kind, likely.sure) == ("gauge", True)
    assert "0.254 mm" in likely.reason  # a hundredth of an inch, by definition
    assert not has_doubt(climate.attrs["flags"], "climate.kind_guessed")


def test_a_model_in_an_untold_table_is_doubted_and_taken_on_the_safe_side():
    climate = open_climate(station_csv(weather_with(model_rain())))
    guessed = next(one for one in climate.attrs["flags"] if getattr(one, "key", "") == "climate.kind_guessed")
    assert climate.attrs["kind"] == "gauge"
    assert guessed.numbers["likely"] == "reanalysis"
    assert "38%" in guessed
    assert "63%" in guessed


def test_the_side_taken_is_the_one_that_gives_the_higher_index():
    from exposure import airfield_index

    raw = station_csv(weather_with(model_rain()))
    spells = {
        kind: airfield_index(open_climate(raw, kind=kind), orientation=[230])["airfield_spell_index"].item()
        for kind in (None, "gauge", "reanalysis", "model")
    }
    assert spells[None] == max(spells.values())
    assert spells[None] > spells["reanalysis"]


@pytest.mark.parametrize("told", ["file", "argument"])
def test_a_told_kind_that_the_rain_contradicts_is_doubted_and_a_right_one_is_not(told):
    def flags(weather, kind):
        raw = station_csv(weather)
        if told == "file":
            return open_climate(f"# kind: {kind}\n".encode() + raw).attrs["flags"]
        return open_climate(raw, kind=kind).attrs["flags"]

    bucket = invented_weather()
    bucket["rain"] = np.round(bucket["rain"] / 0.2).to_numpy() * 0.2
    model = weather_with(model_rain())
    assert has_doubt(flags(model, "gauge"), "climate.kind_contradicted")
    assert has_doubt(flags(bucket, "reanalysis"), "climate.kind_contradicted")
    for weather, kind in ((model, "reanalysis"), (model, "model"), (bucket, "gauge"), (bucket, "invented")):
        assert not any("kind" in getattr(one, "key", "") for one in flags(weather, kind)), kind


def test_steps_survive_the_rounding_of_a_table():
    # hundredths of an inch written with two decimals of a millimetre: 0.25, 0.51, 0.76, 1.02 ...
    rain = np.round(np.repeat(np.arange(1, 61), 3) * 0.254, 2)
    signs = rain_signs(np.concatenate([rain, np.zeros(5000)]))
    assert signs.step == pytest.approx(0.254, abs=0.005)


def test_few_wet_hours_tell_nothing():
    assert not likely_kind(np.array([0.0, 0.4, 0.2])).sure
    assert likely_kind(np.full(10, np.nan)).kind == "gauge"


def test_both_names_of_a_typical_year_are_taken(tmp_path, capsys):
    raw = station_csv(invented_weather(start="2001-01-01T01:00"))
    for named in ("typical", "typical year", "Typical Year"):
        assert open_climate(raw, kind=named).attrs["kind"] == "typical year"
        assert open_climate(f"# kind: {named}\n".encode() + raw).attrs["kind"] == "typical year"
    (tmp_path / "year.csv").write_bytes(raw)
    for named in ("typical", "typical year"):
        assert main(["inspect", str(tmp_path / "year.csv"), "--kind", named]) == 0
        assert "Kind      typical year" in capsys.readouterr().out


def test_the_terminal_tells_the_doubt(tmp_path, capsys):
    (tmp_path / "cell.csv").write_bytes(station_csv(weather_with(model_rain())))
    assert main(["inspect", str(tmp_path / "cell.csv")]) == 0
    assert "does not say what kind of record it is" in capsys.readouterr().out


def test_pressures_of_a_guessed_record_take_the_harder_side_too():
    from exposure.rain.pressure import wall_pressures

    raw = station_csv(weather_with(model_rain()))
    pressure = {
        kind: wall_pressures(open_climate(raw, kind=kind), orientation=[230])[0].airfield_any_direction
        for kind in (None, "gauge", "reanalysis")
    }
    assert pressure[None] >= 0.99 * max(pressure.values())
    assert pressure[None] > 1.5 * pressure["gauge"]
