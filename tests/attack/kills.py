"""Runs stopped at random moments: ``python tests/attack/kills.py --kills 50 --seed 1``.

A run over a grid and a run over a town are killed, or interrupted, at random moments, one to three times, and then go on to the
end; what they give has to be the same bits as a run that was left alone, with no half-written file beside it. After that the
same two runs meet a full disk, a second run in the same folder, kept files dated tomorrow, and a cache that cannot be written.
"""

import argparse
import hashlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

GRID = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)
from exposure.checks import RefusalError
from exposure.region import checkpoint, column_pass
from exposure.region.region_index import index_region
from exposure.region.weather_block import WeatherReader
column_pass.CELLS_OF_A_COLUMN = 6
read = WeatherReader.read
def slowly(self, hours):
    time.sleep(0.02)  # so that a run lasts long enough to be met in the middle
    return read(self, hours)
WeatherReader.read = slowly
print("go", flush=True)
try:
    index_region(sys.argv[1], sys.argv[2], orientations=12, progress=False, threads=2, checkpoint_seconds=0.0)
except KeyboardInterrupt:
    sys.exit(130)
except RefusalError as error:
    sys.exit(str(error))
"""
TOWN = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from exposure.cli import main
import exposure.district.run, exposure.export.district_files, exposure.map.district_map, exposure.paper.district_page
print("go", flush=True)
sys.exit(main(["district", sys.argv[1] + "/town.geojson", "--climate", sys.argv[1] + "/weather.nc",
               "--out", sys.argv[2], "--workers", "0"]))
"""

HALF = re.compile(r"\.\d+\.\w+$")  # the name of a file that is being filled


def bits_of(folder: Path, chosen: tuple[str, ...]) -> str:
    """One digest of what a run gave: names and content of the files that hold figures."""
    found = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file() and any(path.relative_to(folder).match(one) for one in chosen):
            found.update(str(path.relative_to(folder)).encode() + b"\0" + path.read_bytes())
    return found.hexdigest()


class Job:
    """A run to be stopped: its script, its source, and the files that have to come out the same."""

    def __init__(self, name: str, script: str, source: Path, chosen: tuple[str, ...]) -> None:
        self.name, self.script, self.source, self.chosen = name, script, source, chosen
        self.lasted = 0.0

    def start(self, out: Path, **told: str) -> subprocess.Popen:
        """The run begun, with its libraries loaded."""
        call = [sys.executable, "-c", self.script, str(self.source), str(out)]
        environment = os.environ | {"PYTHONPATH": str(ROOT)} | told
        process = subprocess.Popen(
            call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
        )
        assert process.stdout is not None
        assert process.stdout.readline() == "go\n", process.communicate()[1][-2000:]
        return process

    def finish(self, out: Path, **told: str) -> tuple[int, str]:
        """The run taken to its end: its exit code and what it said."""
        process = self.start(out, **told)
        begun = time.monotonic()
        _, said = process.communicate(timeout=600)
        self.lasted = self.lasted or time.monotonic() - begun
        return process.returncode, said

    def bits(self, out: Path) -> str:
        """Digest of the result in ``out``."""
        return bits_of(out, self.chosen)


def jobs(folder: Path) -> list[Job]:
    """The two runs, with invented sources."""
    import test_region_index as made
    from site_world import weather

    from exposure.invented.town import town_footprints

    grid = made.store(made.invented_grid(), folder / "grid.zarr")
    town = folder / "town"
    town.mkdir()
    (town / "town.geojson").write_text(json.dumps(town_footprints(150)))
    record = weather(years=6)
    record.attrs.update(latitude=48.44, longitude=-29.15)
    record.to_netcdf(town / "weather.nc", engine="h5netcdf")
    return [
        Job("grid", GRID, grid, ("index.zarr/**", "*.tif")),
        Job("town", TOWN, town, ("*.csv", "*.parquet", "*.html")),
    ]


def kill_at_random(job: Job, kills: int, rng: np.random.Generator, folder: Path, whole: str) -> list[str]:
    """Findings of ``kills`` blows spread over as many runs as they need."""
    findings, given, done = [], 0, 0
    while given < kills:
        out = folder / f"{job.name}-{done}"
        blows = min(int(rng.integers(1, 4)), kills - given)
        moments = []
        for _ in range(blows):
            blow = signal.SIGKILL if rng.random() < 0.7 else signal.SIGINT
            moment = float(rng.uniform(0, job.lasted))
            process = job.start(out)
            time.sleep(moment)
            process.send_signal(blow)
            process.communicate(timeout=120)
            moments.append(f"{blow.name} at {moment:.2f} s (ended {process.returncode})")
        given, done = given + blows, done + 1
        code, said = job.finish(out)
        left = [path.name for path in out.rglob(".*") if HALF.search(path.name)]
        if code or job.bits(out) != whole or left:
            findings.append(f"{job.name}: {', '.join(moments)}: then {code}, left {left}\n{said[-1500:]}")
        shutil.rmtree(out, ignore_errors=True)
        print(
            f"\r{job.name}: {given} of {kills} blows, {len(findings)} findings",
            end="",
            file=sys.stderr,
            flush=True,
        )
    print(f"\n{job.name}: {given} blows over {done} runs, {len(findings)} findings", flush=True)
    return findings


def hard_places(job: Job, folder: Path, whole: str) -> list[str]:
    """Findings of a full disk, two runs at once, files from tomorrow, and a cache that cannot be written."""
    findings = []

    def told(name: str, right: bool, said: str) -> None:
        print(f"{job.name}, {name}: {'right' if right else 'WRONG'}", flush=True)
        if not right:
            print(said[-1500:], flush=True)
            findings.append(f"{job.name}, {name}: {said[-1500:]}")

    out = folder / "two at once"
    first, second = job.start(out), job.start(out)
    ends = [one.communicate(timeout=900)[1] for one in (first, second)]
    codes = sorted([first.returncode, second.returncode])
    last, said = job.finish(out)
    told(
        "two at once",
        codes[0] == 0 and last == 0 and job.bits(out) == whole and "Traceback" not in "".join(ends),
        f"{codes} {ends} {said}",
    )

    out = folder / "tomorrow"
    process = job.start(out)
    time.sleep(job.lasted / 2)
    process.kill()
    process.communicate()
    for path in out.rglob("*"):
        os.utime(path, (time.time() + 86400, time.time() + 86400))
    code, said = job.finish(out)
    told("files dated tomorrow", code == 0 and job.bits(out) == whole, said)

    code, said = job.finish(folder / "no cache", EXPOSURE_CACHE="/proc/no such folder")
    told("no cache to write", code == 0 and job.bits(folder / "no cache") == whole, said)

    small = folder / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=160k", "tmpfs", str(small)], capture_output=True, check=False
    )
    if mounted.returncode:
        print(f"{job.name}, full disk: not tried, a small disk cannot be mounted here", flush=True)
        return findings
    try:
        code, said = job.finish(small / "out")
        plain = code not in (0, -9) and "Traceback" not in said
        subprocess.run(["mount", "-o", "remount,size=200m", str(small)], check=True)
        again, more = job.finish(small / "out")
        told(
            "full disk, then room",
            plain and again == 0 and job.bits(small / "out") == whole,
            f"{code} {said} {again} {more}",
        )
    finally:
        subprocess.run(["umount", str(small)], check=False)
    return findings


def main(kills: int, seed: int, only: Callable[[str], bool]) -> int:
    """Try all, print, and give the number of findings."""
    rng = np.random.default_rng(seed)
    findings = []
    with tempfile.TemporaryDirectory(prefix="attack-") as name:
        folder = Path(name)
        for job in filter(lambda one: only(one.name), jobs(folder)):
            code, said = job.finish(folder / f"{job.name}-whole")
            assert code == 0, said[-2000:]
            whole = job.bits(folder / f"{job.name}-whole")
            code, said = job.finish(folder / f"{job.name}-again")
            assert job.bits(folder / f"{job.name}-again") == whole, "two runs left alone differ"
            print(f"{job.name}: left alone it takes {job.lasted:.1f} s", flush=True)
            room = folder / f"{job.name}-places"
            room.mkdir()
            findings += kill_at_random(job, kills, rng, folder, whole) + hard_places(job, room, whole)
    print("\n".join(["", f"{len(findings)} findings, seed {seed}", *findings]))
    return len(findings)


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--kills", type=int, default=50, help="blows for each of the two runs")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", choices=["grid", "town"])
    wanted = asked.parse_args()
    sys.exit(1 if main(wanted.kills, wanted.seed, lambda name: wanted.only in (None, name)) else 0)
