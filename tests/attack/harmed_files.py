"""Harmed files over every reader: ``python tests/attack/harmed_files.py --files 10000 --seed 1``.

Each file is a sound one with one of the usual harms (cut short, bits turned, bytes put in or taken out, lines shuffled, a
number replaced by an odd one, another coding). It has to be read or refused: any other exception, more than
2 GB above what the program holds, more than 20 s of processor time, a record of impossible weather, or a value that
a cut or a shuffle has moved to another hour, is a finding. Files are made in turn from the seed, so that a finding is met
again by ``--only NUMBER``.
"""

import argparse
import contextlib
import gzip
import io
import json
import multiprocessing
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
import tomllib
import traceback
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import NamedTuple

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

BATCH = 500
MEMORY = 2 * 10**9  # bytes above what the process holds once its libraries are loaded
SLOWEST = 20.0  # s of processor time for one file of some kB
ODD = [
    b"-1",
    b"0",
    b"1e308",
    b"-1e400",
    b"9" * 30,
    b"nan",
    b"1e12",
    b"null",
    b"[]",
    b"{}",
    b'""',
    b"\xd9\xa1",
    b"0x10",
    b"1,5",
    b"",
]
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")


class Sample(NamedTuple):
    """A sound file, and how it is read."""

    kind: str
    ending: str
    raw: bytes
    read: Callable[[Path], object]


class Moved(AssertionError):
    """A value stands at another hour, or a record holds what weather cannot be."""


def harmed(raw: bytes, rng: np.random.Generator) -> tuple[str, bytes]:
    """``raw`` with one harm, and its name."""
    letters = bytearray(raw)
    at = int(rng.integers(0, len(letters)))
    harm = str(
        rng.choice(
            [
                "cut",
                "bits",
                "put in",
                "taken out",
                "numbers",
                "odd number",
                "shuffled",
                "coded",
                "tail twice",
                "zeros",
            ]
        )
    )
    if harm == "cut":
        return harm, bytes(letters[:at])
    if harm == "bits":
        for _ in range(int(rng.integers(1, 6))):
            letters[int(rng.integers(0, len(letters)))] ^= 1 << int(rng.integers(0, 8))
    elif harm == "put in":
        letters[at:at] = rng.bytes(int(rng.integers(1, 60)))
    elif harm == "taken out":
        del letters[at : at + int(rng.integers(1, 200))]
    elif harm == "zeros":
        letters[at : at + 64] = bytes(len(letters[at : at + 64]))
    elif harm in ("numbers", "odd number"):
        found = list(NUMBER.finditer(raw))
        for match in sorted(
            rng.choice(len(found), min(len(found), 1 if harm == "odd number" else 5), replace=False)
        )[::-1]:
            one = found[int(match)]
            letters[one.start() : one.end()] = ODD[int(rng.integers(0, len(ODD)))]
    elif harm == "shuffled":
        lines = raw.split(b"\n")
        body = lines[1:-1] if not lines[-1] else lines[1:]
        rng.shuffle(body)
        return harm, b"\n".join([lines[0], *body, b""])
    elif harm == "coded":
        return harm, raw.decode("latin-1").encode(str(rng.choice(["utf-16", "utf-32", "utf-7", "cp500"])))
    else:
        letters += raw[at:]
    return harm, bytes(letters)


def samples(folder: Path) -> list[Sample]:
    """A small sound file of every kind that is read."""
    return [
        *_records(),
        *_grids(folder),
        *_houses(folder),
        *_lists(folder),
        *_rasters(folder),
        *_kept(folder),
    ]


def _records() -> Iterator[Sample]:
    import invented_record as made

    from exposure import open_climate

    def read(path: Path) -> object:
        return open_climate(path, at=(50.0, -10.0))

    weather = made.invented_weather(hours=72)
    forms = [
        made.station_csv,
        made.epw,
        made.power_json,
        made.power_csv,
        made.hourly_json,
        made.isd_lite,
        made.global_hourly,
        made.ghcnh,
        made.knmi,
    ]
    for write in forms:
        yield Sample(write.__name__, ".txt", write(weather), read)
    table = made.station_csv(weather)
    yield Sample("gzip", ".gz", gzip.compress(table), read)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("weather.csv", table)
    yield Sample("zip", ".zip", packed.getvalue(), read)


def _grids(folder: Path) -> Iterator[Sample]:
    import invented_record as made

    from exposure import open_climate
    from exposure.region.grid import open_region

    def read(path: Path) -> object:
        return open_climate(path, at=(50.0, -10.0))

    field = made.grid(made.invented_weather(hours=72), latitudes=(50.0, 49.0), longitudes=(-10.0, -9.0))
    for engine in ("h5netcdf", "scipy"):
        field.to_netcdf(folder / f"{engine}.nc", engine=engine)
        raw = (folder / f"{engine}.nc").read_bytes()
        yield Sample(f"netcdf {engine}", ".nc", raw, read)
        yield Sample(f"netcdf {engine}, map", ".nc", raw, open_region)
    script = ROOT / "tests" / "write_grib.py"
    subprocess.run([sys.executable, str(script), str(folder / "six.grib"), "hour", "0", "48"], check=True)
    yield Sample("grib", ".grib", (folder / "six.grib").read_bytes(), read)


def _houses(folder: Path) -> Iterator[Sample]:
    import geopandas

    from exposure import survey_building
    from exposure.cli import main
    from exposure.district.town import read_town
    from exposure.site.footprint import read_footprint
    from exposure.wall.building_file import read_building

    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        main(["example", "--out", str(folder / "example")])
    house = (folder / "example" / "house.toml").read_bytes()
    outlines = (folder / "example" / "houses.geojson").read_bytes()
    yield Sample("house", ".toml", house, read_building)
    yield Sample("house, surveyed", ".toml", house, survey_building)
    name = json.loads(outlines)["features"][0]["properties"]["name"]
    yield Sample("footprint", ".geojson", outlines, lambda path: read_footprint(path, name=name))
    yield Sample("town", ".geojson", outlines, read_town)
    geopandas.read_file(folder / "example" / "houses.geojson").to_file(folder / "houses.gpkg")
    yield Sample("town, geopackage", ".gpkg", (folder / "houses.gpkg").read_bytes(), read_town)


def _lists(folder: Path) -> Iterator[Sample]:
    from exposure.assess.prices import read_prices
    from exposure.detail.openings import read_openings
    from exposure.detail.rule_file import read_rule_text
    from exposure.page.choices.own_files import read_own
    from exposure.page.choices.project_file import open_project, write_project
    from exposure.page.choices.state import PageState
    from exposure.site.site_list import read_site_list
    from exposure.wall.building import wall_shapes

    example = folder / "example"
    own = {
        "openings": "openings.csv",
        "prices": "prices.csv",
        "rule": "office_rule.toml",
        "building": "house.toml",
    }
    for kind, name in own.items():
        raw = (example / name).read_bytes()
        if kind == "building":  # the page keeps the words of a house
            raw = json.dumps(tomllib.loads(raw.decode()), default=str).encode()
        yield Sample(
            f"page, {kind}", ".txt", raw, lambda path, kind=kind: read_own(kind, path.read_bytes(), "a file")
        )
    texts = {"openings.csv": read_openings, "prices.csv": read_prices}
    for name, read in texts.items():
        yield Sample(
            name,
            ".csv",
            (example / name).read_bytes(),
            lambda path, read=read: read(path.read_text("utf-8", "replace")),
        )
    rule = (example / "office_rule.toml").read_bytes()
    yield Sample(
        "office rule", ".toml", rule, lambda path: read_rule_text(path.read_text("utf-8", "replace"))
    )
    table = b"name,latitude,longitude,ground height,terrain\nMill,48.44,-29.68,210,II\nFerry,48.2,-29.5,4,I\nTop,48.3,-29.4,620,III\n"
    yield Sample("places", ".csv", table, lambda path: read_site_list(path, shapes=wall_shapes()))
    points = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": name},
                "geometry": {"type": "Point", "coordinates": [x, 48.4]},
            }
            for name, x in (("Mill", -29.68), ("Ferry", -29.5))
        ],
    }
    yield Sample(
        "places",
        ".geojson",
        json.dumps(points).encode(),
        lambda path: read_site_list(path, shapes=wall_shapes()),
    )
    project = write_project(PageState(), record_title="invented", made=date(2026, 1, 1)).encode()
    yield Sample("project", ".toml", project, lambda path: open_project(path.read_bytes()))


def _rasters(folder: Path) -> Iterator[Sample]:
    import rasterio
    from rasterio.transform import from_origin

    from exposure.site.plane import LocalPlane
    from exposure.site.raster import read_cover, read_ground

    plane = LocalPlane(latitude=48.4, longitude=-29.7)
    heights = np.add.outer(np.arange(60.0), np.arange(60.0))
    for kind, values, read in (
        ("ground", heights.astype("float32"), read_ground),
        ("cover", (heights % 9 + 10).astype("uint8"), read_cover),
    ):
        path = folder / f"{kind}.tif"
        with rasterio.open(path, "w", driver="GTiff", width=60, height=60, count=1, dtype=values.dtype, crs="EPSG:4326",
                           transform=from_origin(-29.73, 48.43, 0.001, 0.001), compress="deflate") as out:  # fmt: skip
            out.write(values, 1)
        yield Sample(
            kind, ".tif", path.read_bytes(), lambda path, read=read: read(path, plane=plane, reach=1000.0)
        )


def _kept(folder: Path) -> Iterator[Sample]:
    import test_site_record as made

    from exposure.assess.site_record import read_record

    whole = made.sealed(made.record(made.opening("SW1", made.step(1)), photos=[made.photo(made.png())]))
    path = made.written(folder, whole if isinstance(whole, str) else json.dumps(whole))
    yield Sample("site record", ".json", path.read_bytes(), lambda file: read_record(file, key=made.KEY))


def check_weather(harm: str, kind: str, found: object, whole: object) -> None:
    """Stop at weather that cannot be, and at a value that a cut or a shuffle has moved."""
    import xarray as xr

    from exposure.terms import TERMS

    if not isinstance(found, xr.Dataset):
        return
    for term in ("rain", "wind_speed", "wind_from_direction"):
        values = found[term].values
        values = values[np.isfinite(values)]
        if np.any((values < TERMS[term]["low"]) | (values > TERMS[term]["high"])):
            raise Moved(f"{term} beyond what can be")
    time = found["time"].values  # beyond the year 2262 no datetime64
    if not np.all(time[1:] > time[:-1]):
        raise Moved("hours that do not ascend")
    if (
        harm not in ("cut", "shuffled", "coded")
        or not isinstance(whole, xr.Dataset)
        or kind in ("gzip", "zip")
    ):
        return
    _, here, there = np.intersect1d(found["time"].values, whole["time"].values, return_indices=True)
    for term in ("rain", "wind_speed"):
        a, b = (
            found[term].values[here][:-2],
            whole[term].values[there][:-2],
        )  # the last line may be cut within a number
        wrong = np.isfinite(a) & ~np.isclose(a, b, rtol=1e-6, atol=1e-6)
        if wrong.any():
            raise Moved(f"{term} of {int(wrong.sum())} hours is another hour's, or another value")


def try_batch(seed: int, numbers: range, folder: str, results: "multiprocessing.Queue") -> None:
    """Read the files of ``numbers`` and put an outcome for each on ``results``."""
    warnings.simplefilter("ignore")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # what the readers say of progress
    os.dup2(os.open(str(Path(folder) / "told"), os.O_WRONLY | os.O_CREAT), 2)
    here = Path(folder)
    found = samples(here)
    from exposure.checks import RefusalError

    whole: dict[str, object] = {}
    for one in found:
        path = here / f"whole{one.ending}"
        path.write_bytes(one.raw)
        whole[one.kind] = one.read(path)
    held = int(Path("/proc/self/statm").read_text().split()[5]) * resource.getpagesize()  # data and stack
    resource.setrlimit(resource.RLIMIT_DATA, (held + MEMORY, held + MEMORY))
    for number in numbers:
        rng = np.random.default_rng([seed, number])
        one = found[int(rng.integers(0, len(found)))]
        harm, raw = harmed(one.raw, rng)
        path = here / f"{number}{one.ending}"
        path.write_bytes(raw)
        results.put((number, one.kind, harm, "begun", ""))
        begun, outcome, why = time.process_time(), "read", ""
        try:
            check_weather(harm, one.kind, one.read(path), whole[one.kind])
        except RefusalError as error:
            outcome = "refused" if str(error).strip() else "refused without a word"
        except BaseException as error:
            outcome, why = f"{type(error).__name__}", "".join(traceback.format_exception(error))[-1800:]
        spent = time.process_time() - begun
        if spent > SLOWEST:
            outcome, why = "slow", f"{spent:.0f} s"
        results.put((number, one.kind, harm, outcome, why))
        path.unlink()


def run(files: int, seed: int, only: int | None) -> int:
    """Try the files, print the table, and give the number of findings."""
    counts: Counter[tuple[str, str]] = Counter()
    findings = []
    first, last = (0, files) if only is None else (only, only + 1)
    at = first
    while at < last:
        numbers = range(at, min(at + BATCH, last))
        with tempfile.TemporaryDirectory(prefix="attack-") as folder:
            results: multiprocessing.Queue = multiprocessing.Queue()
            child = multiprocessing.Process(target=try_batch, args=(seed, numbers, folder, results))
            child.start()
            open_one, done = None, 0
            until = time.monotonic() + 180
            while done < len(numbers):
                try:
                    number, kind, harm, outcome, why = results.get(timeout=5)
                except Exception:
                    if child.is_alive() and time.monotonic() < until:
                        continue
                    child.kill()
                    break
                until = time.monotonic() + 180
                if outcome == "begun":
                    open_one = (number, kind, harm)
                    continue
                open_one, done = None, done + 1
                counts[kind, outcome] += 1
                at = number + 1
                if outcome not in ("read", "refused"):
                    findings.append((number, kind, harm, outcome, why))
                    told = why.strip().splitlines()[-3:]
                    print(f"--only {number}: {kind}, {harm}: {outcome}", *told, sep="\n    ", flush=True)
            child.join(5)
            if done < len(numbers):
                if open_one is None:
                    told = (Path(folder) / "told").read_text("utf-8", "replace")[-2000:]
                    raise SystemExit(f"the reader of files ended by itself before {at}\n{told}")
                findings.append((*open_one, f"ended with {child.exitcode}", "the process died or hung"))
                counts[open_one[1], "died"] += 1
                at = open_one[0] + 1
        print(
            f"\r{at - first:,} of {last - first:,} files, {len(findings)} findings",
            end="",
            file=sys.stderr,
            flush=True,
        )
    print(file=sys.stderr)
    for kind in sorted({kind for kind, _ in counts}):
        print(
            f"{kind:28}",
            ", ".join(f"{outcome} {n}" for (of, outcome), n in sorted(counts.items()) if of == kind),
        )
    print(f"{sum(counts.values()):,} files, {len(findings)} findings; seed {seed}")
    for number, kind, harm, outcome, why in findings:
        print(f"\n--only {number}: {kind}, {harm}: {outcome}\n{why}")
    return len(findings)


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--files", type=int, default=10_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", type=int, metavar="NUMBER", help="one file of the run again")
    told = asked.parse_args()
    sys.exit(1 if run(told.files, told.seed, told.only) else 0)
