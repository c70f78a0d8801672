"""``exposure compare`` as someone types it: exit codes, files, rows told, an interruption, a rerun."""

import json
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from invented_record import grid, invented_weather

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


@pytest.mark.parametrize(
    ("option", "value"), [("where", "a=b"), ("missing", "9"), ("time-zone", "2"), ("spread-rain", "evenly")]
)
def test_an_option_that_a_grid_has_no_use_for_is_refused(tmp_path, capsys, option, value):
    grid(invented_weather(hours=72), latitudes=(50.0, 49.0), longitudes=(-10.0, -9.0)).to_netcdf(
        tmp_path / "g.nc"
    )
    for weather, place in ((str(tmp_path / "g.nc"), "50,-10"), ("invented", "48.5,-29.5")):
        sites = tmp_path / "sites.csv"
        sites.write_text(f"name,lat,lon\nA,{place}\n")
        asked = ["compare", str(sites), "--climate", weather, f"--{option}={value}"]
        assert main([*asked, "--out", str(tmp_path / "out")]) == 2
        told = capsys.readouterr().err
        if option == "where" and weather != "invented":
            assert (
                "a was told to choose by, and g.nc holds no ensemble" in told
            )  # of an ensemble it names the member
        else:
            assert f"--{option} was given, and" in told


def test_the_help_offers_no_point_that_would_be_refused(capsys):
    with pytest.raises(SystemExit):
        main(["compare", "--help"])
    assert "--at" not in capsys.readouterr().out


def test_a_record_with_names_of_its_own_is_ranked_as_the_readme_reads_it(tmp_path, capsys):
    readme = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    words = shlex.split(readme.split("exposure site data_open/")[1].split("```")[0].replace("\\\n", " "))
    record = Path(__file__).parents[1] / "data_open" / words[0]
    sites = tmp_path / "sites.csv"
    sites.write_text("name,lat,lon,terrain\nTown,40.7,-74.1,IV\nField,40.7,-74.2,I\n")
    out = tmp_path / "out"
    assert main(["compare", str(sites), "--climate", str(record), *words[1:], "--out", str(out)]) == 0
    assert capsys.readouterr().out.startswith("Field comes out hardest hit of 2")  # I is smoother than IV


def test_a_list_that_never_ends_is_refused_at_once(record, tmp_path, capsys):
    if not Path("/dev/zero").is_char_device():
        pytest.skip("no endless device")
    out = tmp_path / "out"
    assert main(["compare", "/dev/zero", "--climate", str(record), "--out", str(out)]) == 2
    assert "is a device" in capsys.readouterr().err


def _children(pid):
    try:
        return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    except OSError:
        return []


def _running(pid):
    """Whether the process lives; one that has ended and waits for its parent to hear of it does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are looked up in /proc")
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGHUP, signal.SIGKILL])
def test_however_it_is_ended_no_worker_stays(record, tmp_path, how):
    sites = tmp_path / "sites.csv"
    rows = [f"P{n},48,{-29 - n / 1000},{['I', 'II', 'III', 'IV'][n % 4]}\n" for n in range(4000)]
    sites.write_text("name,lat,lon,terrain\n" + "".join(rows))
    call = [sys.executable, "-m", "exposure.cli", "compare", str(sites), "--climate", str(record)]
    with subprocess.Popen(
        [*call, "--out", str(tmp_path / "out"), "--workers", "2", "--afresh"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as running:
        until = time.monotonic() + 60
        while len(_children(running.pid)) < 3:  # two workers and the one that counts what they share
            assert running.poll() is None
            assert time.monotonic() < until
            time.sleep(0.05)
        workers = _children(running.pid)
        time.sleep(2)  # they have begun to work
        assert all(_running(one) for one in workers)
        running.send_signal(how)
        assert running.wait(20) == (-how if how == signal.SIGKILL else 128 + how)
    until = time.monotonic() + 20
    while any(_running(one) for one in workers):
        assert time.monotonic() < until, "a worker stays"
        time.sleep(0.1)
    assert not (tmp_path / "out").exists()
