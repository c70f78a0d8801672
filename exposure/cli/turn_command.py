"""``exposure turn``: a model's rotated or curvilinear grid, or its forecasts, as a regular grid every command reads."""

import argparse
import re
from pathlib import Path

from exposure.checks import RefusalError
from exposure.cli.output import tell

READS = ("grid",)
WRITES = {"out": ()}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "grid", help="NetCDF file or Zarr store with hourly wind and rain on the model's own grid"
    )
    parser.add_argument(
        "--out", required=True, metavar="STORE", help="Zarr store to write, such as regular.zarr"
    )
    parser.add_argument(
        "--winds",
        choices=("grid", "true"),
        help="whether the wind's parts run along the grid's axes or to true east and north, where the file does not tell",
    )
    parser.add_argument(
        "--leads",
        metavar="FIRST-LAST",
        help="of consecutive forecasts: hours of each run that count, e.g. 7-18",
    )
    parser.add_argument(
        "--run-rain",
        choices=("hour", "since start"),
        help="of consecutive forecasts: rain at a step is that of its hour, or all since the run's start",
    )


def run(options: argparse.Namespace) -> None:
    """Turn, write and tell."""
    from tqdm import tqdm

    from exposure.climate.grid.parts import open_grid
    from exposure.region.joined_runs import axis_of_steps, joined_runs
    from exposure.region.turned_grid import write_turned

    out = Path(options.out)
    if out.exists() and not (out / "zarr.json").exists() and not (out / ".zgroup").exists():
        raise RefusalError(
            f"{out} is there and is no Zarr store", "a new name", "Choose another.", parameter="out"
        )
    dataset = open_grid(options.grid)
    if axis_of_steps(dataset) is not None or options.leads:
        dataset = joined_runs(dataset, leads=_leads(options.leads), rain=options.run_rain)
    with tqdm(desc="turning", unit="h", delay=2, leave=False) as bar:

        def progress(done: int, of: int) -> None:
            bar.total = of
            bar.update(done - bar.n)

        write_turned(dataset, out, winds=options.winds, tell=progress)
    tell(f"Written  {out}")


def _leads(text: str | None) -> tuple[int, int] | None:
    """First and last hour from ``7-18``.

    Examples
    --------
    >>> _leads("7-18")
    (7, 18)
    """
    if text is None:
        return None
    found = re.fullmatch(r"\s*(\d{1,3})\s*-\s*(\d{1,3})\s*", text)
    if not found or not 1 <= int(found[1]) <= int(found[2]):
        raise RefusalError(f"the leads are {text[:40]!r}", "hours such as 7-18", "Correct --leads.")
    return int(found[1]), int(found[2])
