"""Seconds to draw every junction of a house of eight elevations, SVG and DXF: ``python tests/speed/drawings.py``.

Each round is a process of its own, as the command is: what one round remembers helps no other.
"""

import multiprocessing
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

ROUNDS = 5


def one_round(_: int) -> tuple[int, float, float]:
    """Files written, seconds by the clock, seconds of processor time."""
    from test_junction_files import (
        JUNCTIONS,
        WALLS,
        drawings_of,
        junction_dxf,
        junction_picture,
        ladder_numbers,
        section_of,
        write_drawings,
    )

    numbers = [(f"side {place}", ladder_numbers(1 + place % 4, WALLS[0])) for place in range(8)]
    small = section_of(JUNCTIONS[0], ladder_numbers(1, WALLS[1]))
    junction_dxf(small), junction_picture(small, lines={})  # libraries are read in before the clock starts
    with tempfile.TemporaryDirectory() as folder:
        began, used = time.perf_counter(), time.process_time()
        drawings, left_out = drawings_of(numbers)
        written = write_drawings(drawings, left_out, Path(folder))
        return len(written), time.perf_counter() - began, time.process_time() - used


def main() -> None:
    with multiprocessing.get_context("spawn").Pool(1, maxtasksperchild=1) as pool:
        rounds = [pool.apply(one_round, (place,)) for place in range(ROUNDS)]
    written, clock, spent = zip(*rounds, strict=True)
    print(
        f"{written[0]} files: {statistics.median(clock):.2f} s by the clock, {statistics.median(spent):.2f} s of processor "
        f"time, medians of {ROUNDS}; slowest {max(clock):.2f} s"
    )


if __name__ == "__main__":
    main()
