"""Heights of buildings from a raster of heights above the ground."""

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import shapely

from exposure.site.plane import from_degrees, readable_crs, to_degrees
from exposure.site.raster import FOOT, opened_raster

UPPER = 0.9  # of a building's pixels that lie below its height: chimneys and trees over it do not count; our choice
LOW, HIGH = 2.0, 200.0  # m; what lies outside is no height of a building


def heights_from_raster(
    path: str | Path, shapes: np.ndarray, rows: Iterable[int], *, crs: str
) -> dict[int, float]:
    """Height above the ground of the buildings in ``rows``, where the raster tells one. [m]

    Parameters
    ----------
    path
        GeoTIFF of heights above the ground (a surface model less the terrain), in metres, or in feet where it says so.
    shapes
        Outlines in ``crs``.

    Raises
    ------
    RefusalError
        When it cannot be read, or has no coordinate system.
    """
    from rasterio.windows import Window

    with opened_raster(path, holds="a GeoTIFF of heights above the ground", parameter="heights") as source:
        grid = readable_crs(None if source.crs is None else source.crs.to_wkt()).to_wkt()
        unit = FOOT if (source.units[0] or "").lower() in ("ft", "feet", "foot", "us survey foot") else 1.0
        back, found = ~source.transform, {}
        for row in rows:
            outline = shapely.transform(
                shapes[row],
                lambda xy: np.column_stack(from_degrees(*to_degrees(xy[:, 0], xy[:, 1], crs=crs), crs=grid)),
            )
            x, y = shapely.get_coordinates(outline).T
            if not np.isfinite(x).all():
                continue
            across, down = back.a * x + back.b * y + back.c, back.d * x + back.e * y + back.f
            left, top = max(int(across.min()), 0), max(int(down.min()), 0)
            right, foot = min(int(across.max()) + 1, source.width), min(int(down.max()) + 1, source.height)
            if right <= left or foot <= top or (right - left) * (foot - top) > 10_000_000:
                continue
            values = source.read(1, window=Window(left, top, right - left, foot - top), masked=True)
            column, line = np.meshgrid(np.arange(left, right) + 0.5, np.arange(top, foot) + 0.5)
            told = source.transform
            inside = shapely.contains_xy(
                outline,
                told.a * column + told.b * line + told.c,
                told.d * column + told.e * line + told.f,
            )
            known = np.ma.filled(values.astype(float), np.nan)[inside] * unit
            known = known[np.isfinite(known)]
            height = float(np.quantile(known, UPPER)) if known.size else 0.0
            if LOW <= height <= HIGH:
                found[int(row)] = round(height, 2)
    return found
