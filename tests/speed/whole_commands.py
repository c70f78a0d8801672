"""Whole commands, from the shell to the answer, as one table: ``python tests/speed/whole_commands.py``.

Each command runs in a process of its own on thirty invented years of hours and a house of eight walls, in turns with the
others. Told are medians of processor time (this says more beside other work) and of the clock, and the largest memory.
With ``--against FOLDER`` another checkout takes turns with this one.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parents[2]
RECORD = """import sys
from invented_record import invented_weather, station_csv
open(sys.argv[1], "wb").write(station_csv(invented_weather(hours=30 * 8766)))
"""
CORNERS = ((0, 0), (16, 0), (16, 8), (11, 8), (11, 14), (5, 14), (5, 8), (0, 8))  # m, eight walls
CALL = ["-m", "exposure.cli"]


class Command(NamedTuple):
    """A command and the seconds it may take on a quiet machine."""

    name: str
    call: Sequence[str]
    goal: float


class Taken(NamedTuple):
    """What one run took."""

    processor: float  # s
    clock: float  # s
    memory: float  # MB


def commands(folder: Path) -> list[Command]:
    """The commands, and what they read written into ``folder``."""
    record, house = folder / "record.csv", folder / "house.geojson"
    beside = {
        **os.environ,
        "PYTHONPATH": str(HERE / "tests"),
    }  # a small process here, whose memory a child's begins with
    subprocess.run([sys.executable, "-c", RECORD, record], env=beside, check=True)
    ring = [[-1 + east / 68_000, 52 + north / 111_200] for east, north in (*CORNERS, CORNERS[0])]
    feature = {
        "type": "Feature",
        "properties": {"name": "Eight walls", "height": 6.0},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    house.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}), "utf-8")
    return [
        Command("import exposure", ["-c", "import exposure"], 0.3),
        Command("exposure --help", [*CALL, "--help"], 0.3),
        Command("exposure site --help", [*CALL, "site", "--help"], 0.3),
        Command("exposure site, 30 years", [*CALL, "site", str(record)], 1.5),
        Command("exposure building, 8 walls", [*CALL, "building", str(house), "--climate", str(record)], 1.5),
        Command("exposure details, 8 walls", [*CALL, "details", str(house), "--climate", str(record)], 1.5),
    ]


def run(call: Sequence[str], checkout: Path, cache: Path) -> Taken:
    """Run Python with ``call`` on the code of ``checkout``; what it prints is dropped."""
    settings = {**os.environ, "PYTHONPATH": str(checkout), "EXPOSURE_CACHE": str(cache)}
    settings.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed package is compiled
    clock = time.perf_counter()
    silent = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    own_path = [sys.executable, "-P", *call]  # nothing from the folder the benchmark is started in
    child = os.posix_spawn(sys.executable, own_path, settings, file_actions=silent)
    _, status, used = os.wait4(child, 0)
    if status:
        raise SystemExit(f"{' '.join(call)} ended with {os.waitstatus_to_exitcode(status)}")
    return Taken(used.ru_utime + used.ru_stime, time.perf_counter() - clock, used.ru_maxrss / 1000)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--against", type=Path, help="another checkout, measured in turns with this one")
    options = parser.parse_args()
    checkouts = [HERE, *([options.against] if options.against else [])]
    with tempfile.TemporaryDirectory() as name:
        listed = commands(Path(name))
        took: dict[tuple[str, Path], list[Taken]] = {}
        for round_ in range(options.rounds + 1):
            for one in listed:
                for where in checkouts:
                    taken = run(one.call, where, Path(name) / f"cache{checkouts.index(where)}")
                    if round_:  # the first compiles Python's own files
                        took.setdefault((one.name, where), []).append(taken)
    print("| command | goal, s | processor, s | clock, s | memory, MB |\n|---|---|---|---|---|")
    for one in listed:
        for where in checkouts:
            runs = took[one.name, where]
            processor, clock = (statistics.median(figures) for figures in list(zip(*runs, strict=True))[:2])
            beside = "" if where == HERE else f" ({where.name})"
            print(
                f"| {one.name}{beside} | {one.goal:g} | {processor:.2f} | {clock:.2f} | {max(t.memory for t in runs):.0f} |"
            )
    print(f"\nprocessors: {os.cpu_count()}; load of the last minute: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
