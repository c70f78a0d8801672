"""Stop ends the work itself: the process that reads is gone within a second, and so is what it had written."""

import tempfile
import threading
import time
from pathlib import Path

import pandas as pd
import pytest
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.opening import open_climate
from exposure.page.forms.record_form import ToldOfFile, read_record
from exposure.page.work import beside
from exposure.page.work.long_work import Progress, Stopped, Work, _do
from exposure.page.work.reading import READ, read_written, write_record

HEAD = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n"


def record(hours: int) -> bytes:
    times = pd.date_range("1990-01-01", periods=hours, freq="h").strftime("%Y-%m-%dT%H:%MZ")
    rows = (  # rain at all hours of the day in turn: seven shares no factor with 24
        f"{stamp},{3 + place % 11},{place * 37 % 360},{0.4 if place % 7 == 0 else 0}"
        for place, stamp in enumerate(times)
    )
    return (HEAD + "\n".join(rows)).encode()


def test_what_is_read_in_its_own_process_is_what_is_read_here():
    content = record(8760)
    there = read_record(content, "x.csv", ToldOfFile(), None, lambda *_: None)
    assert there.climate.attrs.pop("file") == "x.csv"  # bytes alone know no name
    xr.testing.assert_identical(there.climate, open_climate(content))
    assert there.climate["time"].dtype == open_climate(content)["time"].dtype
    assert there.line == "gauge, 1990, one year"


def test_a_refusal_comes_back_in_its_three_parts():
    with pytest.raises(RefusalError) as here:
        open_climate(b"time,rain\n1,2\n")
    with pytest.raises(RefusalError) as there:
        read_record(b"time,rain\n1,2\n", "x", ToldOfFile(), None, lambda *_: None)
    assert (there.value.came, there.value.expected, there.value.cure) == (
        here.value.came,
        here.value.expected,
        here.value.cure,
    )


def test_stop_in_the_middle_of_a_long_file_ends_its_process_and_its_folder(monkeypatch, tmp_path):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))  # where no other process makes its folders
    started, asked = [], []
    plain = beside.subprocess.Popen

    def kept(*given, **named):
        started.append(plain(*given, **named))
        return started[-1]

    monkeypatch.setattr(beside.subprocess, "Popen", kept)

    def tell(share, _words):
        if share > 0:  # the library is in the middle of the file
            time.sleep(0.3)
            assert list(tmp_path.glob(f"{beside.FOLDER}*"))
            asked.append(time.monotonic())
            raise Stopped

    content = record(350_000)
    content += content[len(HEAD) :] * 3  # seconds of reading
    with pytest.raises(Stopped):
        beside.record_beside({"do": READ, "columns": None, "at": None}, content, tell)
    assert time.monotonic() - asked[0] < 1.0
    assert started[0].poll() is not None
    assert started[0].returncode != 0  # ended, not finished
    assert not list(tmp_path.iterdir())


def test_a_process_that_waits_does_one_piece_of_work_as_one_started_for_it(monkeypatch):
    spare = beside.Spare()
    monkeypatch.setattr(beside, "SPARE", spare)
    spare.make()
    waiting = spare._process
    spare.make()
    assert spare._process is waiting  # one is enough
    content = record(9_000)
    first, _ = beside.record_beside({"do": READ, "columns": None, "at": None}, content, lambda *_: None)
    assert waiting.returncode == 0  # it did the work and ended
    xr.testing.assert_equal(first, open_climate(content))
    following = spare._process
    assert following is not waiting
    following.stdin.close()  # as when the server goes
    assert following.wait(60) == 0
    assert spare.take("exposure.page.work.reading", Path("nowhere")) is None  # one that ended is not asked


def test_a_process_that_will_not_leave_is_ended(monkeypatch):
    process = beside.subprocess.Popen(
        [
            "python3",
            "-c",
            "import signal, time; signal.signal(15, signal.SIG_IGN); print(1, flush=True); time.sleep(60)",
        ],
        stdout=beside.subprocess.PIPE,
    )
    process.stdout.read(1)
    start = time.monotonic()
    beside.end_process(process)
    assert time.monotonic() - start < 1.0
    assert process.poll() == -9
    process.stdout.close()


def test_a_process_that_breaks_off_is_told_not_waited_for(monkeypatch):
    monkeypatch.setattr(beside.sys, "executable", "/bin/false")
    with pytest.raises(RefusalError) as refused:
        beside.record_beside({"do": READ, "columns": None, "at": None}, b"x", lambda *_: None)
    assert "without a result" in refused.value.came


def test_attributes_of_every_kind_come_back(tmp_path):
    time_ = pd.date_range("2001-01-01", periods=3, freq="h")
    climate = xr.Dataset(
        {"rain": ("time", [0.0, 1.0, float("nan")], {"units": "mm"})},
        {"time": time_},
        {"flags": ["one", "two"], "latitude": 50.5, "none": None, "typical": True, "kind": "gauge"},
    )
    write_record(tmp_path / "r.nc", climate, line="a line")
    again, line = read_written(tmp_path / "r.nc")
    xr.testing.assert_identical(again, climate)
    assert line == "a line"


def test_work_whose_reader_is_gone_stops_where_it_next_tells():
    work = Work("Reading")
    told, future, turns = work.progress, work.future, threading.Semaphore(1)
    waiting = threading.Event()

    def call(tell):
        waiting.set()
        while True:
            tell(0.5, "")
            time.sleep(0.02)

    thread = threading.Thread(target=_do, args=(call, told, future, turns), daemon=True)
    thread.start()
    waiting.wait(5)
    del work  # the session of its reader ends
    thread.join(2)
    assert not thread.is_alive()
    with pytest.raises(Stopped):
        future.result(0)
    assert turns.acquire(blocking=False)  # the turn is free for others


def test_work_that_waits_for_its_turn_can_be_stopped():
    progress, work = Progress(), Work("x")
    turns = threading.Semaphore(0)
    thread = threading.Thread(target=_do, args=(lambda _tell: 1, progress, work.future, turns), daemon=True)
    thread.start()
    time.sleep(0.6)
    assert "other work" in progress.words
    progress.stop.set()
    thread.join(2)
    assert not thread.is_alive()
    with pytest.raises(Stopped):
        work.future.result(0)


def test_the_first_screen_shows_how_far_the_place_is(monkeypatch):
    from streamlit.testing.v1 import AppTest

    from exposure.page.work import first_time

    go_on = threading.Event()

    def make(progress):
        progress(0.5)
        go_on.wait(20)

    monkeypatch.setattr(first_time, "is_made", lambda: False)
    monkeypatch.setattr(first_time, "invented_place", make)
    monkeypatch.setattr(first_time, "make_region", lambda: None)
    first_time._making.clear()
    app = AppTest.from_file(str(Path(__file__).parents[1] / "app.py"), default_timeout=60)
    app.run()
    time.sleep(0.1)
    app.run()
    go_on.set()
    first_time._making.clear()
    assert not app.exception
    bar = app.get("progress")[0]
    assert bar.proto.value == 50
    assert "50% made" in bar.proto.text.replace("\u00a0", "")
