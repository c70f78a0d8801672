"""Seconds to draw every junction of a house of eight elevations, SVG and DXF: ``python tests/speed/drawings.py``."""

import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

ROUNDS = 5


def main() -> None:
    from test_junction_files import (
        JUNCTIONS,
        WALLS,
        drawings_of,
        junction_dxf,
        ladder_numbers,
        section_of,
        write_drawings,
    )

    numbers = [(f"side {place}", ladder_numbers(1 + place % 4, WALLS[0])) for place in range(8)]
    junction_dxf(section_of(JUNCTIONS[0], numbers[0][1]))  # libraries are read in before the clock starts
    clock, spent = [], []
    for _ in range(ROUNDS):
        with tempfile.TemporaryDirectory() as folder:
            began, used = time.perf_counter(), time.process_time()
            drawings, left_out = drawings_of(numbers)
            written = write_drawings(drawings, left_out, Path(folder))
            clock.append(time.perf_counter() - began)
            spent.append(time.process_time() - used)
    print(
        f"{len(written)} files: {statistics.median(clock):.2f} s by the clock, {statistics.median(spent):.2f} s of processor "
        f"time, medians of {ROUNDS}; slowest {max(clock):.2f} s"
    )


if __name__ == "__main__":
    main()
