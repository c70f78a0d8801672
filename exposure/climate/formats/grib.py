"""GRIB fields of wind and rain on a regular grid, one point out of them, through ecCodes (extra ``grib``).

What each amount covers is read from its own step range: an amount of one hour is taken as it is, a running total since
00 UTC (ERA5-Land) is taken apart, any other is refused.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import xarray as xr

import exposure
from exposure.checks import RefusalError
from exposure.climate.formats.cf_grid import climate_of
from exposure.climate.grid.parts import part_of
from exposure.climate.request import Request
from exposure.climate.source_file import Source


def recognises(source: Source) -> bool:
    """Whether the first bytes are a GRIB message."""
    return source.head[:4] == b"GRIB"


def read_climate(source: Source, request: Request) -> xr.Dataset:
    """The point of a GRIB file nearest to ``request.at`` as the climate Dataset.

    Raises
    ------
    RefusalError
        When ecCodes is not installed, the grid is turned or reduced, rain covers several hours, or wind or
        rain is missing.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = source.file()
        if not isinstance(path, Path):
            path = Path(folder) / "unpacked.grib"
            path.write_bytes(source.read())
        fields = _fields(path.resolve(), Path(folder) / "fields.npz", source.name, request.at)
    part = part_of(
        source.name, fields, columns=request.columns, rain_rule=request.rain_rule, stamp=request.stamp
    )
    return climate_of([part], request, source.name)


def _fields(path: Path, out: Path, name: str, at: tuple[float, float] | None) -> xr.Dataset:
    """Fields around the point as a small grid with CF names, read in a process of their own."""
    from tqdm import tqdm

    home = str(Path(exposure.__file__).parents[1])
    paths = os.pathsep.join(filter(None, [home, os.environ.get("PYTHONPATH")]))
    place = f"{at[0]!r},{at[1]!r}" if at is not None else "-"
    command = [sys.executable, "-m", "exposure.climate.formats.grib_fields", str(path), str(out), name, place]
    with (
        subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env={**os.environ, "PYTHONPATH": paths},
        ) as child,
        tqdm(desc=f"reading {name}", unit="field", delay=2, leave=False) as bar,
    ):
        assert child.stdout is not None  # it is a pipe
        for line in child.stdout:
            if line.strip().isdigit():
                bar.update(int(line) - bar.n)
    refused = Path(f"{out}.json")
    if refused.exists():
        raise RefusalError(**json.loads(refused.read_text("utf-8")))
    if not out.exists():
        raise RefusalError(
            f"{name} stopped the GRIB library (it ended with {child.returncode})",
            "whole GRIB messages",
            "Get it again.",
        )
    with np.load(out, allow_pickle=False) as arrays:
        told = json.loads(str(arrays["told"]))
        data = {
            key.removeprefix("field_"): (
                ("time", "latitude", "longitude"),
                arrays[key],
                {"units": told["units"][key.removeprefix("field_")]},
            )
            for key in arrays.files
            if key.startswith("field_")
        }
        time = arrays["time"].astype("datetime64[m]").astype("datetime64[ns]")
        axes = {"time": time, "latitude": arrays["latitude"], "longitude": arrays["longitude"]}
    title = "ERA5-Land" if told["rule"] == "since 00 UTC" else "GRIB"
    return xr.Dataset(data, axes, attrs={"title": title, "institution": told["institution"]})
