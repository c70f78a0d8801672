"""Harmed files of every kind: a refusal of ours or a plain record, in bounded time and memory, nothing else."""

import gzip
import io
import resource
import subprocess
import sys
import time
import zipfile

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_record import (
    epw,
    ghcnh,
    global_hourly,
    grid,
    hourly_json,
    invented_weather,
    isd_lite,
    knmi,
    power_csv,
    power_json,
    station_csv,
)

from exposure import open_climate
from exposure.checks import RefusalError
from exposure.terms import TERMS

WEATHER = invented_weather(hours=72)
FILES = {
    write.__name__: write(WEATHER)
    for write in (station_csv, epw, power_json, power_csv, hourly_json, isd_lite, global_hourly, ghcnh, knmi)
}
SLOWEST = 20.0  # s for one harmed file of a few kB, on a busy machine


def opened_or_refused(raw, **told):
    """Open ``raw``; any exception but a refusal fails the test, and a record that comes is possible weather."""
    begun = time.process_time()
    try:
        climate = open_climate(raw, **told)
    except RefusalError:
        climate = None
    assert time.process_time() - begun < SLOWEST
    if climate is not None:
        for term in ("rain", "wind_speed", "wind_from_direction"):
            values = climate[term].values
            values = values[np.isfinite(values)]
            assert np.all((values >= TERMS[term]["low"]) & (values <= TERMS[term]["high"]))
        time_axis = climate["time"].values
        assert np.all(np.diff(time_axis) > np.timedelta64(0, "ns"))
    return climate


def harmed(raw, rng):
    """``raw`` with one of the usual harms, chosen by ``rng``."""
    letters = bytearray(raw)
    kind = rng.integers(0, 9)
    at = int(rng.integers(0, len(letters)))
    if kind == 0:
        return bytes(letters[:at])
    if kind == 1:
        for _ in range(int(rng.integers(1, 6))):
            letters[int(rng.integers(0, len(letters)))] ^= 1 << int(rng.integers(0, 8))
        return bytes(letters)
    if kind == 2:
        return bytes(letters[:at] + rng.bytes(int(rng.integers(1, 60))) + letters[at:])
    if kind == 3:
        return bytes(letters[:at] + letters[at + int(rng.integers(1, 200)) :])
    if kind == 4:
        return raw.replace(b",", b";", int(rng.integers(1, 40)))
    if kind == 5:
        return raw.replace(
            rng.choice(np.array([b"0", b"1", b"2", b"."])),
            rng.choice(np.array([b"9" * 30, b"1e308", b"-", b"nan", b"\x00"])),
            3,
        )
    if kind == 6:
        lines = raw.split(b"\n")
        rng.shuffle(lines)
        return b"\n".join(lines)
    if kind == 7:
        return raw.decode("latin-1").encode(str(rng.choice(["utf-16", "utf-32", "utf-7", "cp500"])))
    return raw + raw[at:]


@pytest.mark.parametrize("name", FILES)
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 2**32 - 1))
def test_harmed_text_is_read_or_refused(name, seed):
    opened_or_refused(harmed(FILES[name], np.random.default_rng(seed)))


@pytest.mark.parametrize("name", FILES)
def test_a_file_forced_into_another_format_is_refused_or_read(name):
    for other in (
        "epw",
        "tmy3",
        "isd-lite",
        "global-hourly",
        "ghcnh",
        "knmi",
        "power",
        "hourly-json",
        "station-csv",
        "cf-grid",
        "grib",
    ):
        opened_or_refused(FILES[name], format=other, at=(50, -10))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=3000))
def test_random_bytes_are_refused(raw):
    assert opened_or_refused(raw) is None


@settings(max_examples=100, deadline=None)
@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=300))
def test_random_cells_after_a_good_header_are_refused_or_missing(text):
    header = b"time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n"
    opened_or_refused(header + text.encode())


@pytest.mark.parametrize(
    "cell",
    [
        "1e400",
        "-1e400",
        "9" * 400,
        "0x10",
        "1_000",
        "١٢",
        "1,5",
        "'5",
        "=1+1",
        "5 m/s",
        "NaN",
        "+-3",
        "\x00",
        '"5"',
        "1e",
        "true",
    ],
)
def test_odd_numbers_are_refused_missing_or_what_they_say(cell):
    rows = [
        f"2020-01-{1 + h // 24:02d}T{h % 24:02d}:00Z,5,240,{cell if h == 7 else '0.2'}" for h in range(48)
    ]
    climate = opened_or_refused(
        ("time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n" + "\n".join(rows)).encode()
    )
    if climate is not None:
        value = climate["rain"].values[7]
        assert np.isnan(value) or (cell == '"5"' and value == 5) or (cell == "1_000" and value == 1000)


@pytest.mark.parametrize("columns", [3_000, 10_000_000])
def test_a_table_of_many_columns_is_refused_quickly(columns):
    header = b"time,wind_speed [m/s],wind_from_direction [degree],rain [mm]" + b",x" * columns
    begun = time.process_time()
    with pytest.raises(RefusalError):
        open_climate(header + b"\n2020-01-01T00:00Z,5,240,0.2" + b",1" * columns)
    assert time.process_time() - begun < 10


def test_a_deep_json_is_refused():
    raw = b'{"properties": {"parameter": {"WS10M": ' + b"[" * 100_000 + b"]" * 100_000 + b"}}}"
    assert opened_or_refused(raw) is None


# ------------------------------------------------------------------ archives


def test_a_gzip_bomb_stops_early():
    bomb = gzip.compress(bytes(300_000_000), compresslevel=9)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(RefusalError, match="more than a record"):
        open_climate(bomb)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 250_000  # kB; it stopped near 64 MB


def test_a_zip_bomb_stops_early():
    out = io.BytesIO()
    with (
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive,
        archive.open("weather.csv", "w") as file,
    ):
        for _ in range(200):
            file.write(bytes(1_000_000))
    with pytest.raises(RefusalError, match="more than a record"):
        open_climate(out.getvalue())


def zipped(**files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, raw in files.items():
            archive.writestr(name, raw)
    return out.getvalue()


ODD_ARCHIVES = {  # named, because archives carry the time and would call the tests otherwise in every process
    "zip of nothing": zipped(),
    "zip of two": zipped(a=b"1", b=b"2"),
    "zip in a zip": zipped(a=zipped(b=FILES["station_csv"])),
    "gzip in a gzip": gzip.compress(gzip.compress(FILES["station_csv"])),
    "gzip of nothing": gzip.compress(b""),
    "zip of an empty file": zipped(a=b""),
    "zip of sixty": zipped(**{f"f{i}": b"x" for i in range(60)}),
    "zip without its end": zipped(a=FILES["station_csv"])[:-30],
    "gzip without its end": gzip.compress(FILES["station_csv"])[:-9],
    "start of a gzip": gzip.compress(FILES["station_csv"])[:20],
    "bzip2": b"BZh9 and so on",
    "xz": b"\xfd7zXZ\x00",
}


@pytest.mark.parametrize("raw", ODD_ARCHIVES.values(), ids=ODD_ARCHIVES)
def test_odd_archives_are_refused(raw):
    with pytest.raises(RefusalError):
        open_climate(raw)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_harmed_archives_are_read_or_refused(seed):
    rng = np.random.default_rng(seed)
    raw = gzip.compress(FILES["station_csv"]) if seed % 2 else zipped(a=FILES["station_csv"])
    opened_or_refused(harmed(raw, rng))


def test_names_inside_an_archive_touch_no_disk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    climate = open_climate(zipped(**{"../../outside.csv": FILES["station_csv"]}))
    assert climate.sizes["time"] == 72
    assert list(tmp_path.iterdir()) == []


# ------------------------------------------------------------------ binary formats, each try in a process of its own

CHILD = """
import sys, warnings
warnings.simplefilter("ignore")
from pathlib import Path
from exposure import open_climate
from exposure.checks import RefusalError
read = refused = 0
for path in sorted(Path(sys.argv[1]).iterdir()):
    print(path.name, end=" ", flush=True)
    try:
        open_climate(path, at=(50, -10))
        read += 1
    except RefusalError:
        refused += 1
print("\\ndone", read, refused)
"""


def tried_in_a_process(folder, number):
    """Try every file of ``folder``; the process must end by itself, whatever the libraries below it do."""
    ended = subprocess.run(
        [sys.executable, "-c", CHILD, str(folder)], capture_output=True, text=True, timeout=240, check=False
    )
    assert "done" in ended.stdout, (
        f"ended with {ended.returncode} at {ended.stdout[-60:]}: {ended.stderr[-800:]}"
    )
    read, refused = map(int, ended.stdout.split("done")[1].split())
    assert read + refused == number
    return read, refused


@pytest.mark.parametrize("kind", ["h5netcdf", "scipy"])
def test_harmed_netcdf_is_read_or_refused(kind, tmp_path):
    dataset = grid(WEATHER, latitudes=(50.0, 49.0), longitudes=(-10.0, -9.0))
    dataset.to_netcdf(tmp_path / "good.nc", engine=kind)
    raw = (tmp_path / "good.nc").read_bytes()
    folder = tmp_path / "harmed"
    folder.mkdir()
    rng = np.random.default_rng(11)
    for number in range(80):
        (folder / f"{number:03d}.nc").write_bytes(harmed(raw, rng))
    _, refused = tried_in_a_process(folder, 80)
    assert refused > 10


def test_harmed_grib_is_read_or_refused(tmp_path, shared_data):
    raw = (shared_data / "gfs_2011100800_f072_10u10v_tp_prate_orog_lsm.grib2").read_bytes()
    small = (shared_data / "metview_oper_10u_sfc.grib").read_bytes()
    folder = tmp_path / "harmed"
    folder.mkdir()
    rng = np.random.default_rng(12)
    for number in range(40):
        (folder / f"{number:03d}.grib").write_bytes(harmed(raw if number % 4 == 0 else small, rng))
    tried_in_a_process(folder, 40)


def test_object_and_text_types_in_netcdf(tmp_path):
    import h5py

    dataset = grid(WEATHER)
    dataset["note"] = ("time", np.array(["x"] * 72, dtype=object))
    dataset.to_netcdf(tmp_path / "text.nc", engine="h5netcdf")
    assert open_climate(tmp_path / "text.nc").sizes["time"] == 72  # text that is not asked for does no harm
    with h5py.File(tmp_path / "objects.nc", "w") as file:
        for name in ("u10", "v10", "tp"):
            values = file.create_dataset(name, (72,), dtype=h5py.special_dtype(vlen=np.float64))
            values.attrs["units"] = "m"
        file.create_dataset("time", data=np.arange(72.0)).attrs["units"] = "hours since 2020-01-01"
        compound = np.zeros(72, dtype=[("a", "f8"), ("b", "i4")])
        file.create_dataset("tp2", data=compound)
    opened_or_refused(tmp_path / "objects.nc")


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 2**32 - 1))
def test_harmed_zarr_is_read_or_refused(seed, tmp_path_factory):
    folder = tmp_path_factory.mktemp("zarr")
    grid(WEATHER).to_zarr(folder / "store", zarr_format=2 + seed % 2)
    rng = np.random.default_rng(seed)
    files = sorted(path for path in (folder / "store").rglob("*") if path.is_file())
    path = files[int(rng.integers(0, len(files)))]
    path.write_bytes(harmed(path.read_bytes() or b"0", rng))
    opened_or_refused(folder / "store")
