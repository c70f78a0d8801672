"""A list whose rows name records of their own: each site in its own weather, nothing opened for an upload."""

import json
import multiprocessing
import os
import signal
import time
from concurrent.futures import Future
from types import SimpleNamespace

import numpy as np
import pytest

from exposure.assess import processes
from exposure.assess.processes import results_of
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.page.work.compare_work import read_list
from exposure.site.site_list import read_site_list
from exposure.wall.building import wall_shapes

HOURS = 2 * 8760  # 2001 and 2002
NAMES = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"


def record(path, *, times: float = 1.0, names: str = NAMES):
    """Two years of gauge hours from the west, their rain multiplied."""
    rng = np.random.default_rng(7)
    time = np.arange("2001-01-01T01", "2003-01-01T01", dtype="datetime64[h]")
    wet = rng.random(HOURS) < 0.02
    rain = np.round(np.where(wet, rng.gamma(1.0, 1.5, HOURS), 0.0), 1) * times
    speed = np.round(rng.gamma(4.0, 1.6, HOURS), 1)
    way = np.round((270 + 30 * rng.standard_normal(HOURS)) % 360)
    rows = [f"{t}:00Z,{s:g},{w:g},{r:g}" for t, s, w, r in zip(time, speed, way, rain, strict=True)]
    path.write_text("\n".join([f"# kind: gauge\n{names}", *rows]))
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    there = tmp_path_factory.mktemp("list")
    (there / "records").mkdir()
    record(there / "records" / "one.csv")
    record(there / "two.csv", times=2.0)
    (there / "broken.csv").write_text("nothing of the sort\n")
    (there / "sites.csv").write_text(
        "name,latitude,longitude,terrain,record\n"
        "Dry,48.1,-29.1,II,records/one.csv\n"
        f"Wet,48.2,-29.2,II,{there / 'two.csv'}\n"
        "Broken,48.3,-29.3,II,broken.csv\n"
        "Absent,48.4,-29.4,II,absent.csv\n"
        "Silent,48.5,-29.5,II,\n"
    )
    return there


def ranking(folder) -> dict[str, float]:
    told = json.loads((folder / "comparison.json").read_text("utf-8"))
    return {one["place"]: one["spell"] for one in told["places"]}


def test_each_site_gets_its_own_record_and_an_unreadable_one_leaves_its_row_out(folder, capsys, monkeypatch):
    monkeypatch.chdir("/")  # paths start from the list's folder, not from where the command is given
    assert (
        main(
            ["compare", str(folder / "sites.csv"), "--out", str(folder / "out"), "--workers", "0", "--afresh"]
        )
        == 3
    )
    said = capsys.readouterr().out
    values = ranking(folder / "out")
    assert list(values) == ["Wet", "Dry"]
    # rain twice as much in every hour: driving rain goes with rain to the power 8/9
    assert values["Wet"] / values["Dry"] == pytest.approx(2 ** (8 / 9), rel=0.01)
    for row, name in ((4, "Broken"), (5, "Absent"), (6, "Silent")):
        assert f"Left out: row {row}, {name}: " in said
    assert "absent.csv cannot be opened" in said
    assert "row 6 names no record, and no weather was given for all" in said


def test_options_tell_of_all_records(tmp_path, capsys):
    record(tmp_path / "a.csv", names="when,ws,wd,precip")
    (tmp_path / "sites.csv").write_text(
        "name,lat,lon,terrain,record\nA,48,-29,II,a.csv\nB,48.1,-29,III,a.csv\n"
    )
    told = "time=when,wind_speed=ws [m/s],wind_from_direction=wd [degree],rain=precip [mm]"
    given = [
        "compare",
        str(tmp_path / "sites.csv"),
        "--out",
        str(tmp_path / "out"),
        "--workers",
        "0",
        "--afresh",
    ]
    assert main(given) == 2
    assert "none of the 2 sites" in capsys.readouterr().err
    assert main([*given, "--columns", told]) == 0
    assert list(ranking(tmp_path / "out")) == ["A", "B"]


def test_without_any_weather_the_command_says_what_to_give(tmp_path, capsys):
    (tmp_path / "sites.csv").write_text("name,lat,lon\nA,48,-29\n")
    assert main(["compare", str(tmp_path / "sites.csv"), "--out", str(tmp_path / "out")]) == 2
    assert "Option: --climate SOURCE" in capsys.readouterr().err


@pytest.mark.parametrize("named", ["/etc/passwd", "../secret.csv", "a.csv"])
def test_an_upload_may_not_name_files_of_the_server(named):
    content = f"name,lat,lon,record\nA,48,-29,{named}\n".encode()
    with pytest.raises(RefusalError, match="names no files of this machine"):
        read_list(content)


def test_an_empty_record_column_hurts_no_upload_and_an_address_is_refused(tmp_path):
    content = b"name,lat,lon,record\nA,48,-29,\n"
    assert read_site_list(content, shapes=wall_shapes()).sites[0].record is None
    found = read_site_list(
        b"name,lat,lon,record\nA,48,-29,https://example.org/a\n", shapes=[], beside=tmp_path
    )
    assert "the path of a file" in str(found.left_out[0].reason)


class Deadly:
    """A job whose arrival ends the process it is sent to."""

    def __reduce__(self):
        return os._exit, (1,)


def test_a_stop_ends_the_worker_in_the_middle_of_its_part(tmp_path):
    class Stop(Exception):
        pass

    def look():
        if (tmp_path / "begun").exists():
            raise Stop

    part = f"import pathlib, time; pathlib.Path({str(tmp_path / 'begun')!r}).touch(); time.sleep(60)"
    with pytest.raises(Stop):
        list(results_of(exec, [part, part], workers=1, look=look))
    until = time.monotonic() + 20
    while multiprocessing.active_children():
        assert time.monotonic() < until, "it goes on"
        time.sleep(0.05)


def test_a_worker_that_dies_is_told_as_a_refusal():
    with pytest.raises(RefusalError, match="was ended from outside") as told:
        list(results_of(abs, [Deadly()], workers=1, look=lambda: None))
    assert told.value.parameter == "workers"


class Pool:
    """Stands in for the pool of processes: works at once, and keeps how it was made and let go."""

    def __init__(self, workers, *, mp_context, initializer):
        self.made = (workers, mp_context.get_start_method(), initializer)
        self.ended, self.let_go = [], []
        self._processes = {1: SimpleNamespace(terminate=lambda: self.ended.append(1))}
        made.append(self)

    def submit(self, function, job):
        done = Future()
        done.set_result(function(job))
        return done

    def shutdown(self, **how):
        self.let_go.append(how)


made: list[Pool] = []


def test_processes_are_begun_afresh_and_let_go_whatever_happens(monkeypatch):
    monkeypatch.setattr(processes, "ProcessPoolExecutor", Pool)
    made.clear()
    looked = []
    found = list(results_of(abs, [-1, 2, -3], workers=2, look=lambda: looked.append(1)))
    assert sorted(found) == [1, 2, 3]
    assert looked
    (pool,) = made
    assert pool.made == (2, "spawn", processes._start_worker)
    assert (pool.ended, pool.let_go) == ([], [{"wait": False, "cancel_futures": True}])

    def stop():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(results_of(abs, [-1], workers=1, look=stop))
    assert (made[1].ended, len(made[1].let_go)) == ([1], 1)
    list(results_of(abs, [], workers=0, look=stop))  # nothing to do here: nothing is begun
    assert len(made) == 2


def test_a_worker_gives_way_and_ends_with_its_parent(monkeypatch):
    told = []

    class Beside:
        def __init__(self, *, target, daemon):
            self.told = (target, daemon)

        def start(self):
            told.append(self.told)

    monkeypatch.setattr(processes.signal, "signal", lambda *how: told.append(how))
    monkeypatch.setattr(processes, "Thread", Beside)
    monkeypatch.setattr(processes.os, "nice", told.append)
    processes._start_worker()
    assert told == [(signal.SIGINT, signal.SIG_IGN), (processes._end_with_parent, True), 5]
    told.clear()
    monkeypatch.setattr(processes.os, "_exit", lambda code: told.append(("ends", code)))
    for parent, ends in (
        (None, []),
        (SimpleNamespace(join=lambda: told.append("gone")), ["gone", ("ends", 1)]),
    ):
        monkeypatch.setattr(processes, "parent_process", lambda parent=parent: parent)
        processes._end_with_parent()
        assert told == ends
