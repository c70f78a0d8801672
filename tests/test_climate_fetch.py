"""Fetching against a server on this machine that answers in the documented format, and misbehaves."""

import hashlib
import json
import os
import signal
import subprocess
import sys
import threading
import time
import types
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlparse

import numpy as np
import pytest
from invented_record import grid, hourly_json, invented_weather, power_json

from exposure import open_climate
from exposure.checks import RefusalError
from exposure.climate.services import download as downloading
from exposure.climate.services.catalogue import open_sources
from exposure.climate.services.fetching import fetch_point
from exposure.climate.services.service import SERVICES, find_service

AT = {"latitude": 50.0, "longitude": -10.0}


@cache
def weather_of(year):
    return invented_weather(start=f"{year}-01-01T01:00", hours=8760, seed=year)


@cache
def answer_of(year, power):
    return power_json(weather_of(year)) if power else hourly_json(weather_of(year))


class Server:
    """A service whose next answers can be spoiled; counts what it was asked for."""

    def __init__(self):
        self.asked = []
        self.spoil = {}  # year -> list of misdeeds still to come
        self.delay = 0.0
        server = self

        class Answer(BaseHTTPRequestHandler):
            def log_message(self, *_):
                pass

            def do_GET(self):
                query = parse_qs(urlparse(self.path).query)
                power = "start" in query
                year = int((query["start"] if power else query["start_date"])[0][:4])
                server.asked.append(year)
                time.sleep(server.delay)
                misdeeds = server.spoil.get(year, [])
                misdeed = misdeeds.pop(0) if misdeeds else "none"
                body = answer_of(year, power)
                if isinstance(misdeed, int):
                    self.send_response(misdeed)
                    if misdeed == 429:
                        self.send_header("Retry-After", "7")
                    self.send_header("Content-Length", "0")
                    self.end_headers()
                    return
                if misdeed == "hang up":
                    self.connection.close()
                    return
                if misdeed == "html":
                    body = b"<html><body>Scheduled maintenance</body></html>"
                if misdeed == "half":
                    body = body[: len(body) // 2]
                if misdeed == "other year":
                    body = answer_of(year + 1, True)
                if misdeed == "other place":
                    body = power_json(weather_of(year), latitude=-50.0)
                if misdeed == "empty":
                    body = b"{}"
                self.send_response(200)
                self.send_header("Content-Type", "application/json")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                if misdeed == "cut":
                    body = body[: len(body) // 2]
                self.wfile.write(body)
                self.wfile.flush()
                if misdeed == "cut":
                    self.connection.close()

        self.http = ThreadingHTTPServer(("127.0.0.1", 0), Answer)
        self.address = f"http://127.0.0.1:{self.http.server_port}/api"
        threading.Thread(target=self.http.serve_forever, daemon=True).start()

    def close(self):
        self.http.shutdown()
        self.http.server_close()


@pytest.fixture
def server():
    running = Server()
    yield running
    running.close()


@pytest.fixture
def waits(monkeypatch):
    """Waits are noted and not waited for."""
    noted = []
    monkeypatch.setattr(downloading, "time", types.SimpleNamespace(sleep=noted.append))
    return noted


def fetched(server, tmp_path, years, name="nasa-power"):
    return fetch_point(find_service(name, server.address), **AT, years=years, folder=tmp_path)


@pytest.mark.parametrize("name", ["nasa-power", "open-meteo"])
def test_two_years_are_fetched_joined_and_kept(server, tmp_path, name):
    climate = fetched(server, tmp_path, [2010, 2011], name)
    assert server.asked == [2010, 2011]
    for year in (2010, 2011):
        weather = weather_of(year)
        mine = climate.sel(time=weather.index.to_numpy())
        np.testing.assert_allclose(mine["rain"], weather["rain"])
        np.testing.assert_allclose(mine["wind_speed"], weather["speed"])
    manifest = json.loads(next(tmp_path.rglob("manifest.json")).read_text())
    assert manifest["attribution"]
    assert manifest["licence"]
    for piece in manifest["pieces"].values():
        kept = next(tmp_path.rglob(piece["file"]))
        assert hashlib.sha256(kept.read_bytes()).hexdigest() == piece["sha256"]
    assert not list(tmp_path.rglob("*.part"))


def test_what_is_here_is_not_asked_for_again_unless_harmed(server, tmp_path):
    fetched(server, tmp_path, [2010, 2011])
    fetched(server, tmp_path, [2010, 2011, 2012])
    assert server.asked == [2010, 2011, 2012]
    next(tmp_path.rglob("2011.json")).write_bytes(b"{}")
    fetched(server, tmp_path, [2010, 2011, 2012])
    assert server.asked == [2010, 2011, 2012, 2011]
    next(tmp_path.rglob("manifest.json")).write_bytes(b"\xff not json")
    fetched(server, tmp_path, [2010])
    assert server.asked[-1] == 2010


@pytest.mark.parametrize(
    "misdeeds",
    [[429], [500, 503], ["cut"], ["hang up"], ["html", "html"], ["half"], [502, "cut", "html", 429]],
)
def test_failures_are_tried_again_with_longer_waits(server, tmp_path, waits, misdeeds):
    server.spoil = {2010: list(misdeeds)}
    climate = fetched(server, tmp_path, [2010])
    assert climate.sizes["time"] == 8760
    assert len(server.asked) == len(waits) + 1 == len(misdeeds) + 1
    for number, (misdeed, wait) in enumerate(zip(misdeeds, waits, strict=True)):
        assert wait == (7.0 if misdeed == 429 else 2.0**number)  # the service's own word goes first


@pytest.mark.parametrize("misdeed", [500, "html", "cut", "hang up"])
def test_a_service_that_stays_down_is_refused_and_nothing_is_kept(server, tmp_path, waits, misdeed):
    server.spoil = {2011: [misdeed] * 50}
    with pytest.raises(RefusalError, match="tries"):
        fetched(server, tmp_path, [2010, 2011, 2012])
    assert len(server.asked) == 1 + downloading.TRIES  # 2010 came, 2012 was never asked for
    assert [path.name for path in tmp_path.rglob("20*.json")] == ["2010.json"]
    server.spoil = {}
    server.asked.clear()
    fetched(server, tmp_path, [2010, 2011, 2012])
    assert server.asked == [2011, 2012]


@pytest.mark.parametrize("misdeed", [404, 422, "other year"])
def test_a_missing_year_is_told_and_the_others_come(server, tmp_path, misdeed):
    server.spoil = {2011: [misdeed]}
    climate = fetched(server, tmp_path, [2010, 2011, 2012])
    assert set(np.unique(climate["time"].dt.year)) >= {2010, 2012}
    assert not np.any((climate["time"].dt.year == 2011) & (climate["time"].dt.month == 6))
    assert any("no data for 2011" in flag for flag in climate.attrs["flags"])


@pytest.mark.parametrize("misdeed", [400, 401, 403, "other place", "empty"])
def test_answers_that_are_wrong_are_refused_at_once(server, tmp_path, waits, misdeed):
    server.spoil = {2010: [misdeed] * 20}
    with pytest.raises(RefusalError):
        fetched(server, tmp_path, [2010])
    assert len(server.asked) == 1
    assert not list(tmp_path.rglob("2010.json"))


def test_no_year_at_all_and_years_before_the_service(server, tmp_path):
    server.spoil = {2010: [404]}
    with pytest.raises(RefusalError, match="none of the years"):
        fetched(server, tmp_path, [2010])
    with pytest.raises(RefusalError, match="or later"):
        fetched(server, tmp_path, [1899])
    with pytest.raises(RefusalError):
        fetched(server, tmp_path, [])


def test_a_silent_service_is_given_up(server, waits):
    server.delay = 2.0
    begun = time.monotonic()
    with pytest.raises(RefusalError, match="connection failed"):
        downloading.download(f"{server.address}?start=2010", timeout=0.2, tries=2)
    assert time.monotonic() - begun < 5


@pytest.mark.parametrize("address", ["file:///etc/passwd", "ftp://127.0.0.1/x", "javascript:1"])
def test_only_the_web_is_asked(address):
    with pytest.raises(RefusalError):
        downloading.download(address)


def test_an_answer_without_end_is_stopped(monkeypatch, server):
    monkeypatch.setattr(downloading, "MOST_BYTES", 1000)
    with pytest.raises(RefusalError, match="larger than"):
        downloading.download(f"{server.address}?start=2010")


def run_fetch(server, tmp_path, years, **told):
    command = [sys.executable, "-m", "exposure.cli", "fetch", "nasa-power", "--at=50,-10", f"--years={years}"]
    command += [
        "--cache",
        str(tmp_path / "cache"),
        "--out",
        str(tmp_path / "out.csv"),
        "--address",
        server.address,
    ]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **told)


@pytest.mark.slow
def test_killed_and_resumed(server, tmp_path):
    server.delay = 0.3
    running = run_fetch(server, tmp_path, "2001-2006")
    deadline = time.monotonic() + 60
    while len(list((tmp_path / "cache").rglob("20*.json"))) < 2 and time.monotonic() < deadline:
        time.sleep(0.05)
    os.kill(running.pid, signal.SIGKILL)
    running.communicate()
    kept = len(json.loads(next((tmp_path / "cache").rglob("manifest.json")).read_text())["pieces"])
    assert 2 <= kept < 6
    assert not (tmp_path / "out.csv").exists()
    server.asked.clear()
    server.delay = 0.0
    again = run_fetch(server, tmp_path, "2001-2006")
    out, err = again.communicate(timeout=120)
    assert again.returncode == 0, err
    assert len(server.asked) == 6 - kept
    climate = open_climate(tmp_path / "out.csv")
    assert climate.attrs["kind"] == "reanalysis"
    assert climate.attrs["latitude"] == 50.0
    assert "Licence" in out
    june = climate.sel(time=slice("2005-06-01", "2005-06-30"))
    expected = weather_of(2005).loc["2005-06-01":"2005-06-30"]
    np.testing.assert_allclose(june["rain"], expected["rain"])


def test_era5_through_the_store_s_own_client(monkeypatch, tmp_path):
    """The client is a stand-in: what it is asked for is checked, and that its file is read at the point."""
    asked = []

    class Client:
        def __init__(self, **_):
            pass

        def retrieve(self, name, request, target):
            asked.append((name, request))
            weather = weather_of(int(request["year"][0]))
            area = request["area"]
            dataset = grid(weather, latitudes=(50.25, 50.0, 49.75), longitudes=(-10.25, -10.0, -9.75))
            assert area[0] > 50 > area[2]
            assert area[1] < -10 < area[3]
            dataset.to_netcdf(target, engine="h5netcdf")

    monkeypatch.setitem(sys.modules, "cdsapi", types.SimpleNamespace(Client=Client))
    climate = fetch_point(find_service("era5"), **AT, years=[2010], folder=tmp_path)
    np.testing.assert_allclose(climate["rain"], weather_of(2010)["rain"], atol=1e-6)
    assert asked[0][0] == "reanalysis-era5-single-levels"
    assert "total_precipitation" in asked[0][1]["variable"]

    def fail(*_):
        raise ConnectionError("licence not accepted")

    monkeypatch.setattr(Client, "retrieve", fail)
    with pytest.raises(RefusalError, match="licence not accepted"):
        fetch_point(find_service("era5"), **AT, years=[2011], folder=tmp_path)


def test_era5_without_the_client_names_the_extra(monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "cdsapi", None)
    with pytest.raises(RefusalError, match="cds"):
        fetch_point(find_service("era5"), **AT, years=[2010], folder=tmp_path)


def test_catalogue_is_complete():
    names = [source.name for source in open_sources()]
    assert len(set(names)) == len(names)
    assert set(SERVICES) <= set(names)
    for source in open_sources():
        for text in (
            source.what,
            source.licence,
            source.attribution,
            source.how,
            source.bias,
            source.accumulation,
        ):
            assert text


def test_addresses_stand_in_the_catalogue_only():
    folder = Path(downloading.__file__).parents[1]
    hosts = {urlparse(source.address).hostname for source in open_sources() if source.address}
    assert hosts
    for path in folder.rglob("*.py"):
        text = path.read_text("utf-8")
        assert not any(host in text for host in hosts), path


@pytest.mark.parametrize(
    "arguments",
    [
        ["--at", "95,0", "--years", "2010"],
        ["--at", "x", "--years", "2010"],
        ["--at", "50,0", "--years", "2012-2010"],
        ["--at", "50,0", "--years", "soon"],
    ],
)
def test_wrong_arguments_leave_with_two(arguments, capsys):
    from exposure.cli import main

    assert main(["fetch", "nasa-power", *arguments]) == 2
    assert "Refused" in capsys.readouterr().err
    assert main(["fetch", "elsewhere", "--at", "50,0", "--years", "2010"]) == 2
