"""Files moved into place: whole or not at all, with ordinary permissions, never over a device, a pipe or a folder."""

import os
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from exposure.checks import RefusalError
from exposure.cli.output import write_text
from exposure.in_place import filled_in_place

AIRPORT = Path(__file__).parents[1] / "data_open" / "airport_weather_2013.csv.gz"
SITE = [
    sys.executable, "-m", "exposure.cli", "site", str(AIRPORT), "--where", "origin=EWR", "--columns",
    "time=time_hour,wind_speed=wind_speed [mph],wind_from_direction=wind_dir [degree],rain=precip [in]",
]  # fmt: skip
needs_full = pytest.mark.skipif(
    not Path("/dev/full").is_char_device(), reason="no device that is always full"
)
needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")


def names(folder):
    return sorted(path.name for path in folder.iterdir())


@pytest.mark.parametrize("stop", [ValueError, KeyboardInterrupt, OSError])
def test_a_stopped_writer_leaves_what_stood_there_and_nothing_else(tmp_path, stop):
    target = tmp_path / "index.json"
    target.write_text("old")

    def fill():
        with filled_in_place(target) as part:
            part.write_text("half")
            raise stop

    with pytest.raises(stop):
        fill()
    assert target.read_text() == "old"
    assert names(tmp_path) == ["index.json"]


KILLED = """
import os, sys
from exposure.in_place import filled_in_place
with filled_in_place(sys.argv[1], ending=".csv") as part:
    part.write_text("half")
    os._exit(9)
"""


def test_what_a_killed_run_left_is_cleared_and_another_runs_is_not(tmp_path):
    target = tmp_path / "walls.csv"
    assert subprocess.run([sys.executable, "-c", KILLED, str(target)], check=False).returncode == 9
    assert len(names(tmp_path)) == 1  # the half, under its own name
    running = tmp_path / f".walls.csv.{os.getppid()}.csv"
    running.write_text("another run is at it")
    with filled_in_place(target, ending=".csv") as part:
        part.write_text("whole")
    assert names(tmp_path) == sorted([running.name, "walls.csv"])
    assert target.read_text() == "whole"


def test_permissions_follow_the_umask(tmp_path):
    before = os.umask(0o027)
    try:
        with filled_in_place(tmp_path / "sheets.html") as part:
            part.write_text("whole")
        write_text(tmp_path / "site.json", "{}")
    finally:
        os.umask(before)
    for name in ("sheets.html", "site.json"):  # 0o666 without 0o027, by hand
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o640


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "kept").mkdir()
    (tmp_path / "link.json").symlink_to(Path("kept", "real.json"))
    write_text(tmp_path / "link.json", "{}")
    assert (tmp_path / "link.json").is_symlink()
    assert (tmp_path / "kept" / "real.json").read_text() == "{}"
    assert names(tmp_path / "kept") == ["real.json"]


@needs_pipes
def test_a_pipe_is_written_to_and_never_replaced(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OSError, match="no ordinary file"), filled_in_place(pipe):
        pass
    read = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_text()), daemon=True)
    reader.start()
    write_text(pipe, "{}")
    reader.join(10)
    assert read == ["{}"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.parametrize("place", ["nowhere/site.json", "a_file/site.json", "a_folder"])
def test_a_place_that_cannot_be_written_is_refused_in_words(tmp_path, place):
    (tmp_path / "a_file").write_text("")
    (tmp_path / "a_folder").mkdir()
    with pytest.raises(RefusalError, match="cannot be written"):
        write_text(tmp_path / place, "{}")
    assert names(tmp_path) == ["a_file", "a_folder"]


def test_a_name_that_is_no_text_is_still_written(tmp_path):
    write_text(tmp_path / "details.json", "Wrack \ud800 House")  # half of a pair, as a JSON file can hold
    assert (tmp_path / "details.json").read_text("utf-8") == "Wrack ? House"


def test_links_in_a_ring_are_refused_and_stay(tmp_path):
    (tmp_path / "one.json").symlink_to("two.json")
    (tmp_path / "two.json").symlink_to("one.json")
    with pytest.raises(RefusalError, match="cannot be written"):
        write_text(tmp_path / "one.json", "{}")
    assert names(tmp_path) == ["one.json", "two.json"]
    assert (tmp_path / "one.json").is_symlink()


def test_a_file_protected_against_writing_is_not_replaced(tmp_path):
    kept = tmp_path / "kept.json"
    kept.write_text("mine")
    kept.chmod(0o444)
    with pytest.raises(RefusalError, match="protected against writing"):
        write_text(kept, "{}")
    assert kept.read_text() == "mine"


@needs_full
@pytest.mark.parametrize("more", [[], ["--json", "-"]])
def test_a_full_screen_is_told_in_one_line(more):
    with Path("/dev/full").open("w") as full:
        done = subprocess.run([*SITE, *more], stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith("Refused: ")
    assert done.stderr.count("\n") == 1


def test_a_reader_that_has_enough_is_no_error():
    with subprocess.Popen(
        [*SITE, "--orientations", ",".join(str(n / 2) for n in range(720)), "--json", "-"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        assert running.stdout.read(1) == "{"
        running.stdout.close()
        assert running.stderr.read() == ""
        assert running.wait() == 0
