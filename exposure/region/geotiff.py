"""Two maps of the result as cloud-optimised GeoTIFF: the worst-facing spell and annual index of each cell."""

import os
from pathlib import Path

import numpy as np
import rasterio
import xarray as xr
from rasterio.transform import from_origin

from exposure.checks import RefusalError

MAPS = {"worst_spell_index.tif": "airfield_spell_index", "worst_annual_index.tif": "airfield_annual_index"}
EVEN = 1e-3  # share of a step by which steps may differ and still be called even; our choice


def write_geotiffs(index: xr.Dataset, folder: Path) -> list[Path]:
    """Write the largest value among the orientations of each cell, and the facing; none where no even grid of cells is.

    Parameters
    ----------
    index
        As written by :mod:`exposure.region.index_store`; cells are centred on ``latitude`` and ``longitude``.

    Returns
    -------
    list of pathlib.Path
        The files, EPSG:4326, north up, float32, missing as NaN.
    """
    latitude, longitude = (np.asarray(index[axis].values, dtype=float) for axis in ("latitude", "longitude"))
    if latitude.size * longitude.size == 1 or not (is_even(latitude) and is_even(longitude)):
        for name in MAPS:
            (folder / name).unlink(missing_ok=True)
        return []
    up = latitude[::-1] if latitude[0] < latitude[-1] else latitude
    height = abs(latitude[1] - latitude[0]) if latitude.size > 1 else abs(longitude[1] - longitude[0])
    width = abs(longitude[1] - longitude[0]) if longitude.size > 1 else height
    written = []
    for name, variable in MAPS.items():
        worst = index[variable].max("orientation", skipna=True)
        values = np.asarray(worst.transpose("latitude", "longitude").values, dtype=np.float32)
        facing = _facing_of(index[variable])
        if latitude[0] < latitude[-1]:
            values, facing = values[::-1], facing[::-1]
        part = folder / f".{name}.{os.getpid()}.part.tif"
        try:
            with rasterio.open(
                part,
                "w",
                driver="COG",
                width=longitude.size,
                height=latitude.size,
                count=2,
                dtype="float32",
                crs="EPSG:4326",
                transform=from_origin(longitude[0] - width / 2, up[0] + height / 2, width, height),
                nodata=float("nan"),
                compress="deflate",
            ) as tiff:
                tiff.write(values, 1)
                tiff.write(facing, 2)
                tiff.set_band_description(1, f"{variable}, worst orientation")
                tiff.set_band_description(2, "orientation of that value, degrees clockwise from north")
                tiff.units = (str(index[variable].attrs.get("units", "")), "degree")
                tiff.update_tags(
                    units=str(index[variable].attrs.get("units", "")),
                    method=str(index.attrs.get("method", "")),
                    source=str(index.attrs.get("source", "")),
                    licence=str(index.attrs.get("licence", "")),
                    version=str(index.attrs.get("version", "")),
                    kind=str(index.attrs.get("kind", "")),
                )
            part.replace(folder / name)
        except rasterio.errors.RasterioIOError as error:
            raise RefusalError(
                f"{name} cannot be written ({str(error)[:80]})",
                "a folder with room",
                "Make room and give the same command again: what was finished is kept.",
            ) from error
        finally:
            part.unlink(missing_ok=True)
        written.append(folder / name)
    return written


def _facing_of(values: xr.DataArray) -> np.ndarray:
    """Orientation of the largest value of each cell [degree], float32, missing where the cell is."""
    ordered = values.transpose("orientation", "latitude", "longitude")
    largest = np.nan_to_num(ordered.values, nan=-1.0).argmax(0)
    known = np.isfinite(ordered.values).any(0)
    return np.where(known, ordered["orientation"].values[largest], np.nan).astype(np.float32)


def is_even(axis: np.ndarray) -> bool:
    """Whether an axis has even steps (a single cell has none to differ).

    Examples
    --------
    >>> is_even(np.array([50.0, 49.75, 49.5])), is_even(np.array([50.0, 49.7, 49.5]))
    (True, False)
    """
    steps = np.diff(axis)
    return bool(steps.size == 0 or np.allclose(steps, steps[0], rtol=EVEN, atol=0))
