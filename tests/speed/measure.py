"""Benchmarks of the grid pass, as one table: ``python tests/speed/measure.py``.

Figures that are compared are taken in turns in the same run, and their medians told. Rates are millions of
cell-hours per second of the clock and per second of processor time; on a machine that does other things at the
same time the second, and the ratios made of it, say more.
"""

import argparse
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from importlib.metadata import version
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from invented_weather import COLUMNS, ROWS, as_grid, invented_weather, write_grid
from other_forms import numpy_form, xarray_form

from exposure.rain.streaming import Streaming, first_hour
from exposure.region.column_pass import columns_of, stretch_of, stretches
from exposure.region.grid import open_region
from exposure.region.weather_block import WeatherReader

CELLS = ROWS * COLUMNS
FEW = 50  # cells for the slow forms, the block size at which they are quickest
WALLS = 36
HOURS = np.arange(8760) + first_hour(2001, "standard")
Measured = tuple[float, float]  # seconds of the clock, seconds of processor time


def taken(work: Callable[[], object]) -> Measured:
    clock, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock, time.process_time() - processor


def in_turns(works: dict[str, Callable[[], object]], rounds: int) -> dict[str, Measured]:
    """Medians over rounds in which each piece of work is done once."""
    times: dict[str, list[Measured]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            times[name].append(taken(work))
    return {
        name: (statistics.median(t for t, _ in all_), statistics.median(p for _, p in all_))
        for name, all_ in times.items()
    }


class Table:
    """Rows told as they come, and kept as Markdown."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def head(self, title: str, *columns: str) -> None:
        self.say("", f"### {title}", "", "| " + " | ".join(columns) + " |", "|" + "---|" * len(columns))

    def row(self, *cells: object) -> None:
        self.say("| " + " | ".join(f"{c:.3g}" if isinstance(c, float) else str(c) for c in cells) + " |")

    def say(self, *lines: str) -> None:
        self.lines += lines
        print(*lines, sep="\n", flush=True)


def stream_in_memory(shares: list[dict[str, np.ndarray]], *, walls: int, wet_hour: float) -> None:
    """One column of cells a thread, each contiguous in memory as a pass over a grid holds it."""

    def share(weather: dict[str, np.ndarray]) -> None:
        cells = weather["rain"].shape[1]
        form = Streaming(cells=cells, orientations=walls, wet_hour=wet_hour, calendar="standard")
        form.add_hours(HOURS, **weather)
        form.years_so_far()

    with ThreadPoolExecutor(len(shares)) as pool:
        list(pool.map(share, shares))


def halves(weather: dict[str, np.ndarray]) -> list[dict[str, np.ndarray]]:
    """The cells in two columns."""
    return [
        {name: np.ascontiguousarray(value[:, here]) for name, value in weather.items()}
        for here in (slice(0, CELLS // 2), slice(CELLS // 2, CELLS))
    ]


def forms(table: Table, weathers: dict[str, dict], rounds: int) -> None:
    table.head(
        f"In memory, {WALLS} orientations, wet hours from 0.1 mm, 2 threads for the streaming form",
        "weather", "form", "M cell-hours/s", "M per processor s", "times NumPy (clock)", "times NumPy (processor)",
    )  # fmt: skip
    for kind, weather in weathers.items():
        two = halves(weather)
        few = {name: np.ascontiguousarray(value[:, :FEW]) for name, value in weather.items()}
        works = {
            "NumPy, one orientation at a time": lambda w=few: numpy_form(w, orientations=WALLS, wet_hour=0.1),
            "xarray on driving hours": lambda w=few: xarray_form(w, orientations=WALLS, wet_hour=0.1),
            "streaming, 1 thread": lambda w=weather: stream_in_memory([w], walls=WALLS, wet_hour=0.1),
            "streaming, 2 threads": lambda w=two: stream_in_memory(w, walls=WALLS, wet_hour=0.1),
        }
        sizes = {name: (CELLS if "streaming" in name else FEW) * HOURS.size / 1e6 for name in works}
        results = in_turns(works, rounds)
        rates = {name: (sizes[name] / c, sizes[name] / p) for name, (c, p) in results.items()}
        base = rates["NumPy, one orientation at a time"]
        for name, (clock, processor) in rates.items():
            table.row(kind, name, clock, processor, clock / base[0], processor / base[1])


def orientations(table: Table, weathers: dict[str, dict], rounds: int) -> None:
    table.head(
        "Number of orientations, in memory, 1 thread",
        "weather",
        "K",
        "M cell-hours/s",
        "M per processor s",
        "time / time at K = 8",
    )
    for kind, weather in weathers.items():
        works = {
            str(walls): lambda w=weather, k=walls: stream_in_memory([w], walls=k, wet_hour=0.1)
            for walls in (8, 12, 36, 72, 180)
        }
        results = in_turns(works, rounds)
        for walls, (clock, processor) in results.items():
            size = CELLS * HOURS.size / 1e6
            table.row(kind, walls, size / clock, size / processor, processor / results["8"][1])


def pass_columns(path: Path, *, threads: int, compute: bool, walls: int = WALLS) -> None:
    """Every column of a grid read, and worked on or not; nothing is written."""
    grid = open_region(path)

    def one(column) -> None:
        reader = WeatherReader(grid, column.rows, column.columns, stretch_of(grid, column))
        if not compute:
            for hours in stretches(grid, 0, reader.shape[0]):
                reader.load(hours, {n: room[: hours.stop - hours.start] for n, room in reader.rooms.items()})
            return
        form = Streaming(cells=column.cells, orientations=walls, wet_hour=0.1, calendar=grid.calendar)
        for hours in stretches(grid, 0, reader.shape[0]):
            block = reader.read(hours)
            form.add_hours(
                grid.hours[hours],
                rain=block.rain,
                eastward_wind=block.eastward_wind,
                northward_wind=block.northward_wind,
            )

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(one, columns_of(grid)))


def decoding(table: Table, stores: dict[tuple[str, str], Path], rounds: int) -> None:
    table.head(
        f"From disk (in the system's cache), {WALLS} orientations",
        "weather", "store", "threads", "decode, M/s", "decode + compute, M/s", "ratio (clock)", "ratio (processor)",
    )  # fmt: skip
    for (kind, form), path in stores.items():
        for threads in (1, 2):
            results = in_turns(
                {
                    "decode": lambda p=path, n=threads: pass_columns(p, threads=n, compute=False),
                    "both": lambda p=path, n=threads: pass_columns(p, threads=n, compute=True),
                },
                rounds,
            )
            size = CELLS * HOURS.size / 1e6
            (c1, p1), (c2, p2) = results["decode"], results["both"]
            table.row(kind, form, threads, size / c1, size / c2, c2 / c1, p2 / p1)


ALONE = """
import sys, time
from pathlib import Path
begin, processor = time.perf_counter(), time.process_time()
from exposure.region.region_index import index_region
import exposure.region.column_pass as column_pass
first = []
read = column_pass.WeatherReader.read
def reading(self, hours):
    block = read(self, hours)
    first.append((time.perf_counter() - begin, time.process_time() - processor))
    return block
column_pass.WeatherReader.read = reading
index_region(sys.argv[1], sys.argv[2], orientations=36, progress=False, threads=2)
status = Path("/proc/self/status").read_text()
peak = float(status.split("VmHWM:")[1].split()[0]) / 1024
print(time.perf_counter() - begin, time.process_time() - processor, peak, *first[0])
"""


def whole_run(path: Path) -> list[float]:
    """A whole run in a process of its own: clock s, processor s, peak MB, clock and processor s to the first block."""
    with tempfile.TemporaryDirectory() as out:
        told = subprocess.run(
            [sys.executable, "-c", ALONE, str(path), out], capture_output=True, text=True, check=True
        ).stdout
    return [float(number) for number in told.split()]


def growing(table: Table, folder: Path, weather: dict[str, np.ndarray]) -> None:
    table.head(
        "Whole runs, index.zarr and GeoTIFFs written, 2 threads",
        "grid", "M cell-hours", "s", "processor s", "peak MB", "s to the first block", "processor s to it",
    )  # fmt: skip
    for name, years, repeat in (
        ("1 year", 1, 1), ("3 years", 3, 1), ("10 years", 10, 1), ("1 year, 4 times the area", 1, 4),
    ):  # fmt: skip
        times = {key: np.tile(value, (years, repeat)) for key, value in weather.items()}
        path = write_grid(as_grid(times, rows=ROWS * repeat), folder / f"{name}.zarr", "zstd")
        clock, processor, peak, start, start_processor = whole_run(path)
        size = CELLS * repeat * HOURS.size * years / 1e6
        table.row(name, size, clock, processor, f"{peak:.0f}", start, start_processor)


def clusters(table: Table, path: Path) -> None:
    from distributed import Client, LocalCluster

    from exposure.region import region_index

    table.head("Dask on this machine, 1 year", "scheduler", "s", "s to start the cluster")
    with tempfile.TemporaryDirectory() as out:
        own, _ = taken(lambda: region_index.index_region(path, Path(out), progress=False, threads=2))
        table.row("own threads, 2", own, 0.0)
    for name, workers, threads, processes in (
        ("Dask, 1 process of 2 threads", 1, 2, False),
        ("Dask, 2 processes", 2, 1, True),
    ):
        begin = time.perf_counter()
        with (
            LocalCluster(
                n_workers=workers, threads_per_worker=threads, processes=processes, dashboard_address=None,
                silence_logs=50,
            ) as cluster,
            Client(cluster) as client,
        ):  # fmt: skip
            started = time.perf_counter() - begin
            with tempfile.TemporaryDirectory() as out:
                clock, _ = taken(
                    lambda o=out, c=client: region_index.index_region(path, Path(o), progress=False, dask=c)
                )
        table.row(name, clock, started)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5, help="rounds of each comparison (5)")
    parser.add_argument("--only", default="forms,orientations,decoding,growing,dask", help="which parts")
    parser.add_argument("--out", help="write the table here too")
    options = parser.parse_args()
    parts = options.only.split(",")
    table = Table()
    libraries = ", ".join(
        f"{name} {version(name)}" for name in ("numpy", "numba", "zarr", "numcodecs", "h5py")
    )
    table.say(
        f"{date.today()}, {processor_name()}, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f} at the start, "
        f"Python {platform.python_version()}, {libraries}."
    )
    weathers = {
        kind: invented_weather(kind, hours=HOURS.size, cells=CELLS) for kind in ("station", "drizzle")
    }
    stream_in_memory([weathers["station"]], walls=4, wet_hour=0.1)  # compiled before anything is timed
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        if "forms" in parts:
            forms(table, weathers, options.rounds)
        if "orientations" in parts:
            orientations(table, weathers, options.rounds)
        stores = {}
        if "decoding" in parts or "dask" in parts:
            for kind, weather in weathers.items():
                for form in ("zstd", "lz4", "netcdf"):
                    stores[kind, form] = write_grid(as_grid(weather), folder / f"{kind}-{form}", form)
        if "decoding" in parts:
            decoding(table, stores, options.rounds)
        if "growing" in parts:
            growing(table, folder, weathers["station"])
        if "dask" in parts:
            clusters(table, stores["station", "zstd"])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    table.say(
        "", f"Load {os.getloadavg()[0]:.1f} at the end; peak memory of the benchmark itself {peak:.0f} MB."
    )
    if options.out:
        Path(options.out).write_text("\n".join(table.lines) + "\n", encoding="utf-8")


def processor_name() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        return next(line.split(":")[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or "unknown processor"


if __name__ == "__main__":
    main()
