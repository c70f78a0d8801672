"""Many places of one grid, and day chunks on a cluster, as one table: ``python tests/speed/many_places.py``.

*places*: a comparison of 200 places against the pass over the whole grid they lie in, both from monthly NetCDF.
*days*: a region from a store in day chunks of its whole field, on one Dask worker of one thread and on two.
Compiled code is read before anything is timed. Processor time counts this process and those beside it.
"""

import argparse
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from invented_weather import as_grid, invented_weather, write_grid

from exposure.assess.compare_sites import compare_sites
from exposure.assess.reference_wall import reference_wall
from exposure.assess.site_weather import GridWeather
from exposure.region.region_index import index_region
from exposure.site.site_list import ListedSite, SiteList

ROWS, COLUMNS = 60, 80
GOAL_PLACES, GOAL_WORKERS = 1.3, 1.6


def taken(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds of the clock and of processor time, processes that have ended among them."""
    before, clock = os.times(), time.perf_counter()
    work()
    after = os.times()
    return time.perf_counter() - clock, sum(after[:4]) - sum(before[:4])


def monthly(folder: Path, hours: int) -> Path:
    """A grid as one NetCDF file a month."""
    grid = as_grid(invented_weather("station", hours=hours, cells=ROWS * COLUMNS), rows=ROWS, columns=COLUMNS)
    home = folder / "months"
    home.mkdir()
    for month, part in grid.groupby("time.month"):
        write_grid(part, home / f"{month:02d}.nc", "netcdf", chunk=(168, 12, 16))
    return home


def places_of(number: int) -> SiteList:
    """Sites in cells of their own, spread over the grid."""
    cells = np.linspace(0, ROWS * COLUMNS - 1, number).astype(int)
    sites = [
        ListedSite(
            row=k + 2,
            name=f"site {k}",
            latitude=60 - 0.25 * (cell // COLUMNS),
            longitude=0.25 * (cell % COLUMNS),
        )
        for k, cell in enumerate(cells.tolist())
    ]
    return SiteList(tuple(sites), (), ())


def places(folder: Path, number: int, rounds: int) -> None:
    """Time the comparison against the pass, in turns."""
    source = monthly(folder, 8760)
    wall, listed = reference_wall("two-storey gable"), places_of(number)
    warm = places_of(2)
    compare_sites(warm, GridWeather(source), wall=wall)
    index_region(source, folder / "warm", progress=False, threads=1)
    for k in range(rounds):
        one = taken(lambda: compare_sites(listed, GridWeather(source), wall=wall))
        other = taken(lambda k=k: index_region(source, folder / f"pass{k}", progress=False, threads=1))
        print(
            f"places: {number} of {ROWS} x {COLUMNS} cells, one year: compare {one[0]:.1f} s (cpu {one[1]:.1f}), "
            f"pass {other[0]:.1f} s (cpu {other[1]:.1f}); ratio {one[0] / other[0]:.2f}, cpu {one[1] / other[1]:.2f} "
            f"(goal {GOAL_PLACES})",
            flush=True,
        )


def days(folder: Path, years: int, rounds: int) -> None:
    """Time one worker against two."""
    from distributed import Client, LocalCluster

    weather = invented_weather("station", hours=8760 * years, cells=ROWS * COLUMNS)
    store = write_grid(
        as_grid(weather, rows=ROWS, columns=COLUMNS), folder / "days.zarr", "zstd", chunk=(24, ROWS, COLUMNS)
    )
    del weather
    for k in range(rounds):
        clock = {}
        for workers in (1, 2):
            with (
                LocalCluster(
                    n_workers=workers, threads_per_worker=1, dashboard_address=None, silence_logs=50
                ) as running,
                Client(running) as client,
            ):
                index_region(
                    store,
                    folder / f"warm{k}{workers}",
                    dask=client,
                    progress=False,
                    orientations=4,
                    bbox=(0, 59, 1, 60),
                )  # imports and compiled code of each worker
                out = folder / f"out{k}{workers}"
                clock[workers] = taken(
                    lambda out=out, client=client: index_region(store, out, dask=client, progress=False)
                )[0]
        print(
            f"days: {ROWS} x {COLUMNS} cells, {years} years in day chunks: one worker {clock[1]:.1f} s, two "
            f"{clock[2]:.1f} s; {clock[1] / clock[2]:.2f} times (goal {GOAL_WORKERS})",
            flush=True,
        )  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--places", type=int, default=200)
    parser.add_argument("--years", type=int, default=3, help="of the store in day chunks (3)")
    parser.add_argument("--rounds", type=int, default=2)
    parser.add_argument("--only", default="places,days")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        if "places" in options.only.split(","):
            places(Path(name), options.places, options.rounds)
        if "days" in options.only.split(","):
            days(Path(name), options.years, options.rounds)
    print(f"Largest memory here: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6:.2f} GB.")


if __name__ == "__main__":
    main()
