"""``exposure compare`` as someone types it: exit codes, files, rows told, an interruption, a rerun."""

import json

import pytest

from exposure.cli import main

RECORD_HEAD = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n"


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    import numpy as np

    rng = np.random.default_rng(3)
    time = np.arange("2001-01-01T01", "2004-01-01T01", dtype="datetime64[h]")
    rain = np.where(rng.random(time.size) < 0.02, 2.0, 0.0)
    lines = [
        f"{stamp}:00Z,{speed:.1f},{way:.0f},{amount}\n"
        for stamp, speed, way, amount in zip(
            time, rng.gamma(4, 1.6, time.size), rng.integers(180, 300, time.size), rain, strict=True
        )
    ]
    path = tmp_path_factory.mktemp("record") / "record.csv"
    path.write_text(RECORD_HEAD + "".join(lines))
    return path


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("EXPOSURE_CACHE", str(tmp_path / "cache"))


def test_a_good_list_ends_with_0_and_one_bad_row_with_3(record, tmp_path, capsys):
    sites = tmp_path / "sites.csv"
    sites.write_text("name,lat,lon,terrain\nShore,48,-29,I\nTown,48,-29.1,IV\n")
    out = tmp_path / "out"
    asked = ["compare", str(sites), "--climate", str(record), "--out", str(out), "--workers", "0"]
    assert main(asked) == 0
    told = capsys.readouterr().out
    assert told.startswith("Shore comes out hardest hit of 2")
    assert "Caution:" in told
    assert sorted(path.name for path in out.iterdir()) == [
        "comparison.csv",
        "comparison.gpkg",
        "comparison.html",
        "comparison.json",
    ]
    sites.write_text(sites.read_text() + "Bad,95,1,\n")
    assert main(asked) == 3
    assert "Left out: row 4, Bad" in capsys.readouterr().out
    assert (out / "left_out.csv").exists()
    assert [one["place"] for one in json.loads((out / "comparison.json").read_text())["places"]] == [
        "Shore",
        "Town",
    ]


@pytest.mark.parametrize(
    ("text", "more", "words"),
    [
        ("name,lat,lon\nA,95,1\n", [], "row 2"),
        ("name,place\nA,B\n", [], "without latitude and longitude"),
        ("name,lat,lon\nA,1,2\n", ["--at", "1,2"], "--at was given"),
        ("name,lat,lon\nA,1,2\n", ["--wet-hour", "-1"], "wet-hour"),
    ],
)
def test_what_cannot_be_used_is_refused_with_2_and_leaves_nothing(
    record, tmp_path, capsys, text, more, words
):
    sites = tmp_path / "sites.csv"
    sites.write_text(text)
    out = tmp_path / "out"
    assert main(["compare", str(sites), "--climate", str(record), "--out", str(out), *more]) == 2
    assert words in capsys.readouterr().err
    assert not out.exists()


def test_an_interruption_leaves_the_files_before_as_they_were(record, tmp_path, monkeypatch):
    import exposure.paper.ranked_folder as folder

    sites = tmp_path / "sites.csv"
    sites.write_text("name,lat,lon\nA,48,-29\nB,48,-29.1\n")
    out = tmp_path / "out"
    out.mkdir()
    (out / "comparison.csv").write_text("before")

    def interrupted(*_given):
        raise KeyboardInterrupt

    monkeypatch.setattr(folder, "write_ranked_geopackage", interrupted)
    asked = ["compare", str(sites), "--climate", str(record), "--out", str(out), "--workers", "0"]
    assert main(asked) == 130
    assert [path.name for path in out.iterdir()] == ["comparison.csv"]
    assert (out / "comparison.csv").read_text() == "before"
