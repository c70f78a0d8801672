"""Time, memory and growth of a town, as one table: ``python tests/speed/district.py [--most 10000] [--workers 2]``.

Towns are made by the recipe of :mod:`exposure.invented.town`. Each is worked out twice: with nothing kept, and with the
index of the ways its walls face kept but no tile. Processor time counts this process and those beside it.
"""

import argparse
import json
import os
import resource
import sys
import tempfile
import time
from pathlib import Path

SIZES = (10, 100, 1000, 10_000)


def taken(work) -> tuple[float, float, object]:
    before, clock = os.times(), time.perf_counter()
    made = work()
    after = os.times()
    used = sum(after[:4]) - sum(before[:4])
    return time.perf_counter() - clock, used, made


def main() -> None:
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from site_world import weather

    from exposure.district import assess_district
    from exposure.invented.town import town_footprints

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int, default=10_000)
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    climate = weather(years=12)
    print(
        f"{'buildings':>10}{'walls':>8}{'first s':>9}{'cpu':>8}{'index kept s':>14}{'cpu':>8}{'cpu ms/wall':>13}"
    )
    for size in (one for one in SIZES if one <= options.most):
        with tempfile.TemporaryDirectory() as folder:
            path, keep = Path(folder) / "town.geojson", Path(folder) / "kept"
            path.write_text(json.dumps(town_footprints(size)))

            def work(path=path, keep=keep):
                return assess_district(path, climate, keep=keep, workers=options.workers)

            clock, used, _ = taken(work)
            for tile in keep.glob("tile-*"):
                tile.unlink()
            again, used_again, found = taken(work)
            walls = len(found.walls)
            print(
                f"{size:>10,}{walls:>8,}{clock:>9.1f}{used:>8.1f}{again:>14.1f}{used_again:>8.1f}"
                f"{1000 * used_again / walls:>13.2f}",
                flush=True,
            )
    own, beside = (
        resource.getrusage(who).ru_maxrss / 1e6 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    print(f"Largest memory: {own:.2f} GB here, {beside:.2f} GB in each process beside.")


if __name__ == "__main__":
    main()
