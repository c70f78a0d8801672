"""What a file may cost before it is refused: size unpacked, rows, time for a header, pipes and devices."""

import gzip
import io
import os
import threading
import time
import zipfile

import pytest
from invented_record import invented_weather, station_csv

from exposure import open_climate
from exposure.checks import RefusalError
from exposure.climate import source_file
from exposure.climate.source_file import MOST_JSON, open_source

HEADER = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"
RECORD = station_csv(invented_weather(hours=200))


def zipped(content):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("answer.json", content)
    return out.getvalue()


class Endless(io.RawIOBase):
    """A file that never ends, and counts what was taken from it."""

    def __init__(self, letter):
        self.letter, self.given = letter, 0

    def read(self, size=-1):
        assert size > 0, "asked for all of a file without end"
        self.given += size
        return self.letter * size


@pytest.mark.parametrize("pack", [bytes, gzip.compress, zipped])
def test_json_is_refused_by_its_unpacked_size_before_it_is_read(pack):
    raw = b'{"hourly_units":{},"hourly":{"time":[' + b"[]," * (MOST_JSON // 3) + b"[]]}}"
    with pytest.raises(RefusalError) as caught:
        open_climate(pack(raw))
    assert "50 MB of JSON" in caught.value.expected
    assert "160 MB of text" in caught.value.expected


@pytest.mark.parametrize(("letter", "most"), [(b"5", 165), (b"\0", 165), (b"[", 55)])
def test_a_file_without_end_is_left_after_its_limit(letter, most):
    endless = Endless(letter)
    with pytest.raises(RefusalError):
        open_source(endless)
    assert endless.given < most * 1_000_000


def test_a_packed_stream_stops_in_the_middle(monkeypatch):
    monkeypatch.setattr(source_file, "MOST_TEXT", 2_000_000)
    read = []
    real = gzip.GzipFile.read
    monkeypatch.setattr(gzip.GzipFile, "read", lambda self, size=-1: (read.append(size), real(self, size))[1])
    with pytest.raises(RefusalError):
        open_source(gzip.compress(RECORD * 3000))  # about 15 MB
    assert sum(read) < 5_000_000


def test_too_many_rows_are_refused(monkeypatch):
    monkeypatch.setattr(source_file, "MOST_ROWS", 100)
    with pytest.raises(RefusalError, match="more than 100 rows"):
        open_climate(RECORD)


def test_a_device_is_refused_at_once():
    begun = time.process_time()
    with pytest.raises(RefusalError, match="device"):
        open_climate("/dev/zero")
    assert time.process_time() - begun < 1


def test_a_pipe_without_a_writer_is_refused_and_one_with_a_writer_is_read(tmp_path, monkeypatch):
    monkeypatch.setattr(source_file, "PIPE_WAIT", 0.3)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(RefusalError, match="nothing writes to"):
        open_climate(tmp_path / "pipe")
    monkeypatch.setattr(source_file, "PIPE_WAIT", 20)
    writer = threading.Thread(target=lambda: (tmp_path / "pipe").write_bytes(RECORD), daemon=True)
    writer.start()
    assert open_climate(tmp_path / "pipe").sizes["time"] == 200
    writer.join(10)


@pytest.mark.parametrize(
    "head",
    [
        b"time,wind" + b" " * 30_000 + b"x,wind_from_direction,rain\n",
        b"[" * 300_000,
        b"time," + b"(" * 30_000 + b",[" * 10_000 + b"\n",
        b"time," + b"[ " * 15_000 + b",rain\n",
    ],
)
def test_a_hostile_header_takes_no_time(head):
    begun = time.process_time()
    with pytest.raises(RefusalError):
        open_climate(head + RECORD)
    assert time.process_time() - begun < 2  # over a minute where it grew with the square or the cube


def test_two_columns_of_one_term_are_refused_until_one_is_chosen():
    rows = [f"2020-01-01T{hour:02d}:00Z,5,240,0.2,0.4" for hour in range(24)]
    raw = "\n".join([f"{HEADER},Rain [mm]", *rows]).encode()
    with pytest.raises(RefusalError, match=r"both 'rain \[mm\]' and 'Rain \[mm\]'"):
        open_climate(raw)
    assert float(open_climate(raw, columns={"rain": "Rain [mm]"})["rain"].sum()) == pytest.approx(24 * 0.4)
