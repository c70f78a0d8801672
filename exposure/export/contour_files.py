"""Lines of equal rain over a region for other programs: a GeoPackage with a layer for the year and one for the worst spell."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
import xarray as xr

from exposure.draw.raster_picture import round_scale
from exposure.export.geopackage import layers_in_place
from exposure.map.map_layers import WORST, field_of
from exposure.site.plane import DEGREES

if TYPE_CHECKING:
    import geopandas

CONTOURS = "contours.gpkg"
LAYERS = {
    "annual": ("airfield_annual_index", "L/m2 per year"),
    "spell": ("airfield_spell_index", "L/m2 in the worst spell"),
}


def contour_lines(index: xr.Dataset, quantity: str) -> tuple[np.ndarray, np.ndarray]:
    """Lines of equal ``quantity`` through the middles of the cells, each facing its worst way, at round figures.

    Parameters
    ----------
    index
        As :func:`exposure.region.region_index.index_region` writes it.

    Returns
    -------
    lines
        In degrees of longitude and latitude; none runs through a cell without a figure.
    levels
        Figure of each. [L m-2]

    Examples
    --------
    >>> dims = ("orientation", "latitude", "longitude")
    >>> rising = np.array([[[100.0, 300.0], [100.0, 300.0]]])
    >>> index = xr.Dataset({"airfield_annual_index": (dims, rising)}, {"orientation": [0.0], "latitude": [50.0, 51.0], "longitude": [8.0, 9.0]})
    >>> lines, levels = contour_lines(index, "airfield_annual_index")
    >>> sorted(shapely.get_coordinates(lines[levels == 200.0]).round(9).tolist())
    [[8.5, 50.0], [8.5, 51.0]]
    """
    from contourpy import contour_generator  # only when lines are asked for

    values, _ = field_of(index, quantity, WORST)
    made = contour_generator(
        index["longitude"].values.astype(float), index["latitude"].values.astype(float), np.ma.masked_invalid(values)
    )  # fmt: skip
    found = [
        (level, shapely.linestrings(np.asarray(line)))
        for level in round_scale(values).steps
        for line in made.lines(level)
        if len(line) > 1
    ]
    return np.array([line for _, line in found], dtype=object), np.array([level for level, _ in found])


def write_contours(folder: str | Path, index: xr.Dataset) -> Path:
    """Write ``contours.gpkg`` into ``folder``; a layer without a line is left empty.

    Raises
    ------
    RefusalError
        When something else stands there.
    """
    target = Path(folder) / CONTOURS
    with layers_in_place(target) as part:
        for layer, (quantity, unit) in LAYERS.items():
            _layer(index, quantity, unit).to_file(
                part, layer=layer, driver="GPKG", geometry_type="LineString"
            )
    return target


def _layer(index: xr.Dataset, quantity: str, unit: str) -> "geopandas.GeoDataFrame":
    import geopandas

    lines, levels = contour_lines(index, quantity)
    told = {
        "value": levels,
        "unit": unit,
        "ground": "open field, the worst facing of each cell",
        "kind": str(index.attrs.get("kind", "")),
    }
    return geopandas.GeoDataFrame(told, geometry=lines, crs=DEGREES, index=range(len(lines)))
