"""What commands that work through many places take alike: rasters round each, least rain, processes, kept results."""

import argparse
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from exposure.checks import RefusalError, check_between
from exposure.cli.source_arguments import add_source_arguments, add_wet_hour

DELAY = 2  # seconds before a line of progress is shown


def add_rasters(parser: argparse.ArgumentParser) -> None:
    """Add ``--ground`` and ``--cover``."""
    parser.add_argument("--ground", metavar="RASTER", help="ground height in metres")
    parser.add_argument("--cover", metavar="RASTER", help="land cover, ESA WorldCover classes")


def add_areas(parser: argparse.ArgumentParser, what: str) -> None:
    """Add ``--areas`` and ``--squares``, of which one may be told; ``what`` they are for."""
    group = parser.add_mutually_exclusive_group()
    group.add_argument("--areas", metavar="FILE", help=f"polygons with names, such as districts, {what}")
    group.add_argument(
        "--squares", type=float, metavar="M", help="the same over squares of this side, in metres"
    )


def add_work_arguments(parser: argparse.ArgumentParser) -> None:
    """Add least rain, processes, what is kept, and what may be told about the source."""
    add_wet_hour(parser)
    parser.add_argument(
        "--workers",
        type=int,
        metavar="N",
        help="processes beside this one (default: one a processor, at most 4; 0 for none)",
    )
    parser.add_argument(
        "--afresh", action="store_true", help="work everything out again, and keep nothing for the next run"
    )
    add_source_arguments(parser, positional=False, point=False)


@contextmanager
def progress_line(what: str) -> Iterator[Callable[[float, str], None]]:
    """A line of progress that is gone when the work is done or refused; yields what tells it share and words."""
    from tqdm import tqdm

    look = "{l_bar}{bar}| {postfix}"
    with tqdm(total=100, desc=what, unit="%", delay=DELAY, leave=False, bar_format=look) as bar:

        def tell(share: float, words: str) -> None:
            bar.set_postfix_str(words, refresh=False)  # a line drawn before its delay would not be taken away
            bar.update(100 * share - bar.n)

        yield tell


def workers_and_folder(options: argparse.Namespace) -> tuple[int, Path]:
    """Processes to start and the folder to write into.

    Raises
    ------
    RefusalError
        For a least rain or a number of processes nobody has, and a folder that is a file.
    """
    if options.wet_hour is not None:
        check_between(options.wet_hour, "the wet-hour threshold", 0, 10, "mm")
    workers = min(os.cpu_count() or 1, 4) if options.workers is None else options.workers
    check_between(workers, "--workers", 0, 64, "")
    out = Path(options.out)
    if out.exists() and not out.is_dir():
        raise RefusalError(f"{out} is a file", "a folder", "Name another with --out.")
    return workers, out
