"""Invented hours for benchmarks: rain in spells, rounded as gridded data is, wind that turns slowly."""

from pathlib import Path
from statistics import NormalDist

import numpy as np
import pandas as pd
import xarray as xr

ROWS, COLUMNS = 40, 50
WET = {"station": 0.09, "drizzle": 0.31}  # share of hours with any rain


def invented_weather(kind: str, *, hours: int, cells: int, seed: int = 1) -> dict[str, np.ndarray]:
    """Rain [mm] and wind [m s-1], float32, shape (hour, cell).

    ``station`` rains in 9 % of hours and in steps of a gauge; ``drizzle`` in 31 %, mostly traces. Neighbouring
    cells share half of their weather, as in a grid.
    """
    rng = np.random.default_rng(seed)
    normal = lambda: 0.7 * rng.standard_normal() + 0.714 * rng.standard_normal(cells)  # noqa: E731
    rain, east, north = (np.empty((hours, cells), np.float32) for _ in range(3))
    damp, a, b = normal(), normal(), normal()
    limit = NormalDist().inv_cdf(1 - WET[kind])
    for t in range(hours):
        damp = 0.85 * damp + 0.527 * normal()
        a, b = 0.97 * a + 0.243 * normal(), 0.97 * b + 0.243 * normal()
        over = np.maximum(damp - limit, 0)
        rain[t] = (
            np.ceil((over * 1.5) ** 1.5 * 8) / 8
            if kind == "station"
            else np.round(0.9 * over**2.5 * 512) / 512
        )
        east[t], north[t] = np.round((2 + 4 * a) * 64) / 64, np.round((1 + 4 * b) * 64) / 64
    return {"rain": rain, "eastward_wind": east, "northward_wind": north}


def as_grid(weather: dict[str, np.ndarray], *, rows: int = ROWS, columns: int = COLUMNS) -> xr.Dataset:
    """The same hours as a grid named and measured as ERA5 is (rain in metres)."""
    hours = weather["rain"].shape[0]
    axes = ("time", "latitude", "longitude")
    fields = {
        "u10": (weather["eastward_wind"], "m s**-1"),
        "v10": (weather["northward_wind"], "m s**-1"),
        "tp": (weather["rain"] / np.float32(1000), "m"),
    }
    return xr.Dataset(
        {
            name: (axes, value.reshape(hours, rows, columns), {"units": unit})
            for name, (value, unit) in fields.items()
        },
        {
            "time": pd.date_range("2001-01-01", periods=hours, freq="h"),
            "latitude": 60 - 0.25 * np.arange(rows),
            "longitude": 0.25 * np.arange(columns),
        },
        {"source": "invented hours for a benchmark", "kind": "reanalysis"},
    )


def write_grid(
    grid: xr.Dataset, path: Path, form: str, *, chunk: tuple[int, int, int] = (720, 20, 25)
) -> Path:
    """Write a grid as ``zstd`` or ``lz4`` (Zarr) or ``netcdf`` (deflate, shuffle)."""
    from numcodecs import LZ4, Zstd

    if form == "netcdf":
        encoding = {
            name: {"zlib": True, "complevel": 4, "shuffle": True, "chunksizes": chunk}
            for name in grid.data_vars
        }
        grid.to_netcdf(path, engine="h5netcdf", encoding=encoding)
        return path
    codec = Zstd(3) if form == "zstd" else LZ4()
    encoding = {name: {"chunks": chunk, "compressors": codec} for name in grid.data_vars}
    grid.to_zarr(path, zarr_format=2, encoding=encoding, consolidated=True)
    return path
