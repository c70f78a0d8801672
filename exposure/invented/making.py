"""Write the invented place: rasters, houses, coast, and the weather of every cell."""

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Lock

import numpy as np
import rasterio
import zarr
from rasterio.transform import from_origin
from tqdm import tqdm
from zarr.codecs import BloscCodec

from exposure.invented.geography import (
    CELL_LATITUDE,
    CELL_LONGITUDE,
    CELLS,
    PIXELS,
    cell_latitudes,
    cell_longitudes,
    coast_outline,
    island,
)
from exposure.invented.ground import cell_means, land_cover, relief
from exposure.invented.houses import houses_text
from exposure.invented.place_files import INVENTED_FLAG, LICENCE, RECIPE, SOURCE, InventedPlace
from exposure.invented.storms import FIRST_YEAR, HOURS, YEARS, large_scale_weather
from exposure.invented.weather import BLOCK, weather_block, weather_from

RELIEF_TAKES = 3  # times as long as a year of weather; measured, for the bar


def make_place(place: InventedPlace, *, progress: bool | Callable[[float], None]) -> None:
    """Write every file of the place into its folder; two of its pieces are worked out at a time."""
    steps = RELIEF_TAKES + 2 + YEARS
    with (
        tqdm(total=steps, desc="Making the invented place", unit="step", disable=progress is not True) as bar,
        ThreadPoolExecutor(2) as beside,
    ):
        done, one_at_a_time = 0, Lock()

        def step(takes: int = 1) -> None:
            nonlocal done
            with one_at_a_time:
                done += takes
                bar.update(takes)
                if callable(progress):
                    progress(done / steps)

        large = beside.submit(large_scale_weather)
        height = relief(beside.map)
        step(RELIEF_TAKES)
        rasters = beside.submit(_write_ground, place, height, step)
        place.houses.write_text(houses_text(), encoding="utf-8")
        _write_json(place.coast, _coast())
        arrays = _empty_climate(place.climate)
        step()
        weather = weather_from(
            large.result(),
            cell_height=cell_means(height),
            cell_land=cell_means((height > 0).astype(float)),
        )

        def store(first: int) -> None:
            block = weather_block(weather, first)
            rows = slice(first, first + BLOCK)
            for name, array in arrays.items():
                array[rows] = getattr(block, name)
            step()

        for done_beside in [rasters, *(beside.submit(store, first) for first in range(0, HOURS, BLOCK))]:
            done_beside.result()
        _write_json(
            place.folder / "made.json", {"recipe": RECIPE, "note": str(INVENTED_FLAG), "source": SOURCE}
        )


def _write_ground(place: InventedPlace, height: np.ndarray, step: Callable[[], None]) -> None:
    """Write relief and land cover."""
    cover = land_cover(height)
    _write_raster(place.height, np.round(height, 1), nodata=None)
    _write_raster(place.cover, cover, nodata=0)
    step()


def _coast() -> dict:
    ring = np.round(coast_outline(), 5).tolist()
    return {
        "type": "FeatureCollection",
        "note": "Invented: this coast does not exist.",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": island()["name"], "invented": True},
                "geometry": {"type": "Polygon", "coordinates": [ring]},
            }
        ],
    }


def _write_json(path: Path, content: dict) -> None:
    path.write_text(json.dumps(content, ensure_ascii=False), encoding="utf-8")


def _write_raster(path: Path, pixels: np.ndarray, *, nodata: int | None) -> None:
    west = cell_longitudes()[0] - CELL_LONGITUDE / 2
    north = cell_latitudes()[-1] + CELL_LATITUDE / 2
    profile = {
        "driver": "GTiff",
        "height": pixels.shape[0],
        "width": pixels.shape[1],
        "count": 1,
        "dtype": pixels.dtype,
        "crs": "EPSG:4326",
        "transform": from_origin(west, north, CELL_LONGITUDE / PIXELS, CELL_LATITUDE / PIXELS),
        "nodata": nodata,
        "compress": "deflate",
        "predictor": 3 if pixels.dtype.kind == "f" else 2,
        "tiled": True,
        "blockxsize": 256,
        "blockysize": 256,
    }
    with rasterio.open(path, "w", **profile) as raster:
        raster.write(pixels, 1)
        raster.update_tags(source="invented island, nothing measured", licence=LICENCE)
        if pixels.dtype.kind == "f":
            raster.units = ("m",)


_VARIABLES = {  # name -> standard name, unit, words
    "u10": ("eastward_wind", "m s-1", "eastward wind at 10 m"),
    "v10": ("northward_wind", "m s-1", "northward wind at 10 m"),
    "tp": ("lwe_thickness_of_precipitation_amount", "mm", "rain and snow in the hour ending at time"),
    "sf": ("lwe_thickness_of_snowfall_amount", "mm", "snow in the hour ending at time, as water"),
    "t2m": ("air_temperature", "K", "air temperature at 2 m"),
    "d2m": ("dew_point_temperature", "K", "dew point at 2 m"),
}


def _empty_climate(path: Path) -> dict:
    """The climate store with its coordinates and attributes; the arrays to fill, by name."""
    group = zarr.create_group(
        store=path,
        attributes={
            "Conventions": "CF-1.11",
            "title": "Invented hourly weather",
            "kind": "invented",
            "source": SOURCE,
            "licence": LICENCE,
            "comment": str(INVENTED_FLAG),
            "recipe": RECIPE,
        },
    )
    axes = {
        "time": (
            np.arange(HOURS, dtype=np.int64),
            {"units": f"hours since {FIRST_YEAR}-01-01 00:00:00", "calendar": "proleptic_gregorian"},
        ),
        "latitude": (cell_latitudes(), {"units": "degrees_north"}),
        "longitude": (cell_longitudes(), {"units": "degrees_east"}),
    }
    for name, (values, attributes) in axes.items():
        group.create_array(
            name,
            data=values,
            chunks=values.shape,
            dimension_names=(name,),
            attributes={"standard_name": name, **attributes},
        )
    arrays = {}
    for name, (standard, unit, words) in _VARIABLES.items():
        arrays[name] = group.create_array(
            name,
            shape=(HOURS, CELLS, CELLS),
            chunks=(BLOCK, 6, 6),
            dtype="float32",
            fill_value=np.nan,
            compressors=BloscCodec(cname="lz4", clevel=5, shuffle="bitshuffle"),
            dimension_names=("time", "latitude", "longitude"),
            attributes={
                "standard_name": standard,
                "units": unit,
                "long_name": words,
                "cell_methods": "time: sum" if unit == "mm" else "time: point",
            },
        )
    return arrays
