"""The index of every cell of the invented place, worked out once and kept beside its weather."""

import shutil
import tempfile
from pathlib import Path

import numpy as np
import rasterio
import xarray as xr
import zarr

from exposure.doubts import as_attribute, flags_of
from exposure.invented import InventedPlace
from exposure.invented.geography import cell_latitudes, cell_longitudes
from exposure.invented.ground import cell_means
from exposure.invented.place_files import INVENTED_FLAG, LICENCE, SOURCE
from exposure.invented.storms import FIRST_YEAR, HOURS
from exposure.invented.weather import BLOCK
from exposure.rain.extremes import SPELL_RETURN, gumbel_value, likely_spell, percentile_value
from exposure.rain.hour import wet_hour_threshold
from exposure.rain.index import compass_orientations
from exposure.terms import describe

ORIENTATIONS = 36
_FORM = 3  # goes up when the figures kept would change


def index_invented_place(place: InventedPlace) -> xr.Dataset:
    """Airfield annual and spell index of every cell of the invented place, for walls facing 36 ways.

    Worked out at the first call (some seconds, a compiler among them) and read from the cache after that.

    Returns
    -------
    xarray.Dataset
        ``airfield_annual_index``, ``airfield_spell_index`` (the larger of the two after it),
        ``airfield_spell_index_percentile`` and ``airfield_spell_index_gumbel`` along ``orientation``, ``latitude``, ``longitude``; ``land_share`` of each cell; in memory.
    """
    kept = index_folder(place)
    if not kept.is_dir():
        _keep(_work_out(place), kept)
    with xr.open_zarr(kept, consolidated=False, chunks=None) as index:
        return index.load()


def index_folder(place: InventedPlace) -> Path:
    """Where it is kept; there when it has been worked out."""
    return place.folder / f"index-{ORIENTATIONS}-{_FORM}.zarr"


def _work_out(place: InventedPlace) -> xr.Dataset:
    from exposure.rain.streaming import Streaming  # a compiler comes with it; reading what is kept needs none

    latitudes, longitudes = cell_latitudes(), cell_longitudes()
    threshold = wet_hour_threshold("invented")
    stream = Streaming(
        cells=latitudes.size * longitudes.size,
        orientations=ORIENTATIONS,
        wet_hour=threshold,
        calendar="proleptic_gregorian",
    )
    group = zarr.open_group(place.climate, mode="r")
    start = int(np.datetime64(f"{FIRST_YEAR}-01-01T00", "h").astype(int))

    def read(name: str, rows: slice) -> np.ndarray:
        return np.asarray(group[name][rows], dtype=np.float32).reshape(rows.stop - rows.start, -1)  # type: ignore[index]  # an array, no group

    for first in range(0, HOURS, BLOCK):
        rows = slice(first, first + BLOCK)
        stream.add_hours(
            np.arange(start + first, start + first + BLOCK),
            rain=read("tp", rows) - read("sf", rows),
            eastward_wind=read("u10", rows),
            northward_wind=read("v10", rows),
        )
    years = [*stream.take_finished(), *stream.years_so_far()]
    spells = np.array([year.spell for year in years], dtype=float)
    shape = (latitudes.size, longitudes.size, ORIENTATIONS)
    found = {
        "airfield_annual_index": np.mean([year.annual for year in years], axis=0, dtype=float),
        "airfield_spell_index": likely_spell(spells),
        "airfield_spell_index_percentile": percentile_value(spells),
        "airfield_spell_index_gumbel": gumbel_value(spells, SPELL_RETURN),
    }
    index = xr.Dataset(
        {
            name: (("latitude", "longitude", "orientation"), np.reshape(values, shape))
            for name, values in found.items()
        },
        {
            "latitude": latitudes,
            "longitude": longitudes,
            "orientation": compass_orientations(ORIENTATIONS),
        },
    )
    for name in found:
        index[name].attrs = describe(index[name], name).attrs
    index["land_share"] = (("latitude", "longitude"), _land_share(place), {"units": "1"})
    index.attrs = {
        "kind": "invented",
        "source": SOURCE,
        "licence": LICENCE,
        "wet_hour_mm": threshold,
        "flags": [INVENTED_FLAG],
        "years": f"{years[0].year} to {years[-1].year}",
    }
    return index.transpose("orientation", "latitude", "longitude", missing_dims="ignore")


def _land_share(place: InventedPlace) -> np.ndarray:
    with rasterio.open(place.height) as raster:
        return cell_means((raster.read(1) > 0).astype(float))


def _keep(index: xr.Dataset, kept: Path) -> None:
    part = Path(tempfile.mkdtemp(prefix=f".{kept.name}-", dir=kept.parent))
    try:
        told = index.assign_attrs(flags=as_attribute(flags_of(index.attrs)))
        told.to_zarr(part / "index.zarr", consolidated=False)
        try:
            (part / "index.zarr").rename(kept)
        except OSError:  # someone else was quicker
            if not kept.is_dir():
                raise
    finally:
        shutil.rmtree(part, ignore_errors=True)
