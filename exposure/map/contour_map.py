"""The region on paper: index over the map in tones, with contour lines and their figures, which a site printer keeps."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, hypot, radians
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.draw.drawing import Box, Point, box_corners, filled, is_free, path, picture, stroke, text
from exposure.draw.lettering import clean, fit, text_width
from exposure.draw.palette import HAIR, INK, PAPER, SOFT, raster_colours
from exposure.draw.rose import round_step
from exposure.figures import litres
from exposure.invented.geography import Place

MOST_CELLS = 48  # a side; finer fields are thinned for the tones, never for the contours
SEA = "#FFFFFF"
KM_PER_DEGREE = 111.2


@dataclass(frozen=True)
class RegionField:
    """An index over a region: ascending latitudes and longitudes [degree], values (latitude, longitude), NaN at sea."""

    latitude: np.ndarray
    longitude: np.ndarray
    values: np.ndarray  # [L m-2]
    what: str = "L/m² a year, open field, worst facing"
    places: Sequence[tuple[str, float, float]] = field(default=())  # name, latitude, longitude
    coast: Sequence[Sequence[tuple[float, float]]] = field(default=())  # rings of (longitude, latitude)


def region_field(
    index: xr.Dataset,
    *,
    places: Sequence[Place] = (),
    coast: dict | None = None,
    quantity: str = "airfield_annual_index",
) -> RegionField:
    """A region's index (dimensions orientation, latitude, longitude) as the map draws it: each cell's worst facing.

    Parameters
    ----------
    places
        Things with ``name``, ``latitude`` and ``longitude``.
    coast
        GeoJSON of the land, drawn as a heavy line.
    """
    from exposure.map.map_layers import WORST, field_of

    values, facing = field_of(index, quantity, WORST)
    unit = "L/m² a year" if "annual" in quantity else "L/m² in the worst spell"
    return RegionField(
        latitude=np.asarray(index["latitude"].values, dtype=float),
        longitude=np.asarray(index["longitude"].values, dtype=float),
        values=values,
        what=f"{unit}, open field, {facing}",
        places=[(one.name, one.latitude, one.longitude) for one in places],
        coast=_rings(coast) if coast else (),
    )


def _rings(geometry: dict) -> list[list[tuple[float, float]]]:
    """Outer rings of GeoJSON of any nesting."""
    if "features" in geometry:
        return [ring for feature in geometry["features"] for ring in _rings(feature)]
    if "geometry" in geometry:
        return _rings(geometry["geometry"])
    parts = geometry["coordinates"] if geometry["type"] == "MultiPolygon" else [geometry["coordinates"]]
    return [[(float(x), float(y)) for x, y, *_ in part[0]] for part in parts]


def contour_map(
    region: RegionField,
    *,
    chosen: tuple[float, float] | None = None,
    width: int = 380,
    most_height: int = 600,
    title: str = "Driving rain over the region",
    prefix: str = "map",
) -> str:
    """Draw the region; ``chosen`` is the latitude and longitude of the building.

    It is ``width`` wide, or less where it would be higher than ``most_height``.

    Raises
    ------
    RefusalError
        When the field is smaller than two by two or holds no figure.

    Examples
    --------
    >>> field = RegionField(np.array([50.0, 50.1]), np.array([0.0, 0.1]), np.array([[100.0, 200.0], [100.0, 200.0]]))
    >>> "from 100 to 200" in contour_map(field)
    True
    """
    values = np.asarray(region.values, dtype=float)
    if min(values.shape) < 2 or not np.isfinite(values).any():
        raise RefusalError(
            f"a region of {values.shape[0]} by {values.shape[1]} cells",
            "two by two or more, some with figures",
            "Choose a larger region.",
        )
    lat, lon = np.asarray(region.latitude, dtype=float), np.asarray(region.longitude, dtype=float)
    if lat[0] > lat[-1]:
        lat, values = lat[::-1], values[::-1]
    half_lat, half_lon = (lat[1] - lat[0]) / 2, (lon[1] - lon[0]) / 2
    south, north, west, east = lat[0] - half_lat, lat[-1] + half_lat, lon[0] - half_lon, lon[-1] + half_lon
    across = cos(radians((south + north) / 2))
    scale = width / ((east - west) * across)
    height = round((north - south) * scale)
    if height > most_height:
        width = max(round(width * most_height / height), 120)
        scale = width / ((east - west) * across)
        height = round((north - south) * scale)

    def place(longitude: float, latitude: float) -> Point:
        return (longitude - west) * across * scale, (north - latitude) * scale

    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    step = round_step(high - low, most_rings=6) if high > low else 1.0
    parts = [_tones(_Cells(values, lat, lon), place, low, high)]
    parts += [
        stroke(path([place(x, y) for x, y in ring], close=True), width=2.2)
        for ring in region.coast
        if len(ring) > 2
    ]
    taken: list[Box] = []
    marks = _places(region.places, chosen, place, width, height, taken)
    parts += _contours(_Cells(values, lat, lon), place, step, low, high, taken)
    parts += marks
    parts.append(_scale_bar(width, height, scale))
    parts.append(stroke(path(box_corners((0.5, 0.5, width - 0.5, height - 0.5)), close=True), colour=HAIR))
    desc = f"{clean(region.what)}, from {litres(low)} to {litres(high)}; contour lines every {step:g}."
    return picture("".join(parts), width=width, height=height, title=title, desc=desc, prefix=prefix)


def contour_caption(region: RegionField) -> str:
    """The sentence under the map."""
    high, low = float(np.nanmax(region.values)), float(np.nanmin(region.values))
    step = round_step(high - low, most_rings=6) if high > low else 1.0
    return f"Region: {clean(region.what)}; lines every {step:g}, darker is more. Filled disc: this building."


class _Cells(NamedTuple):
    """The region's figures, south first, with the middles of rows and columns. [degree]"""

    values: np.ndarray
    latitude: np.ndarray
    longitude: np.ndarray


def _tones(cells: _Cells, place, low: float, high: float) -> str:
    values, lat, lon = cells
    skip = max(1, int(np.ceil(max(values.shape) / MOST_CELLS)))
    colours = raster_colours(64)
    dlat, dlon = (lat[1] - lat[0]) * skip / 2, (lon[1] - lon[0]) * skip / 2
    span = high - low or 1.0
    out = []
    for row in range(0, values.shape[0], skip):
        for column in range(0, values.shape[1], skip):
            block = values[row : row + skip, column : column + skip]
            known = block[np.isfinite(block)]
            if known.size == 0:
                continue
            middle_lat = lat[row : row + skip].mean()
            middle_lon = lon[column : column + skip].mean()
            left, top = place(middle_lon - dlon, middle_lat + dlat)
            right, foot = place(middle_lon + dlon, middle_lat - dlat)
            colour = colours[min(int(63 * (known.mean() - low) / span), 63)]
            out.append(filled(box_corners((left, top, right + 0.3, foot + 0.3)), colour))
    return "".join(out)


def _contours(cells: _Cells, place, step: float, low: float, high: float, taken: list[Box]) -> list[str]:
    from contourpy import contour_generator  # only when a map is drawn

    lines = contour_generator(cells.longitude, cells.latitude, np.ma.masked_invalid(cells.values))
    out, words = [], []
    level = np.ceil(low / step + 1e-9) * step
    while level < high:
        found: Any = lines.lines(float(level))
        for line in found:
            points = [place(x, y) for x, y in line]
            length = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points))
            if length < 18:
                continue
            out.append(stroke(path(points), width=0.9))
            label = f"{level:,.0f}"
            half = text_width(label, size=12) / 2
            for at in (len(points) // 2, len(points) // 3, 2 * len(points) // 3):
                x, y = points[min(at, len(points) - 1)]
                box = (x - half - 2, y - 8, x + half + 2, y + 6)
                if length > 60 and is_free(box, taken):
                    taken.append(box)
                    words.append(
                        filled(box_corners(box), PAPER) + text(x, y + 3.5, label, size=12, anchor="middle")
                    )
                    break
        level += step
    return out + words


def _places(places, chosen, place, width: float, height: float, taken: list[Box]) -> list[str]:
    out = []
    if chosen is not None:
        x, y = place(chosen[1], chosen[0])
        if 0 <= x <= width and 0 <= y <= height:
            out.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7" fill="{INK}" stroke="{PAPER}" stroke-width="2"/>'
            )
            taken.append((x - 9, y - 9, x + 9, y + 9))
    dots = [
        (words, x, y)
        for words, latitude, longitude in places
        for x, y in [place(longitude, latitude)]
        if 4 <= x <= width - 4 and 4 <= y <= height - 4
    ]
    here = taken[:1]
    taken += [(x - 4, y - 4, x + 4, y + 4) for _, x, y in dots]  # no name lies over another's dot
    for words, x, y in dots:
        label = fit(words, width=width * 0.4, size=12)
        wide = text_width(label, size=12)
        for left, middle in ((x + 7, y), (x - 7 - wide, y), (x - wide / 2, y - 13), (x - wide / 2, y + 13)):
            box = (left - 2, middle - 8, left + wide + 2, middle + 7)
            inside = box[0] >= 0 and box[2] <= width and box[1] >= 0 and box[3] <= height
            if inside and is_free(box, taken):
                taken.append(box)
                out.append(filled(box_corners(box), PAPER) + text(left, middle + 4, label, size=12))
                break
        if all(hypot(x - (b[0] + b[2]) / 2, y - (b[1] + b[3]) / 2) > 3 for b in here):
            out.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{PAPER}" stroke="{INK}" stroke-width="1.5"/>'
            )
    return out


def _scale_bar(width: float, height: float, scale: float) -> str:
    """A round number of kilometres at the lower right."""
    per_km = scale / KM_PER_DEGREE
    length = next((km for km in (500, 200, 100, 50, 20, 10, 5, 2, 1) if km * per_km <= width * 0.3), 1)
    right, y = width - 10, height - 10
    left = right - length * per_km
    return (
        filled(box_corners((left - 5, y - 20, right + 5, y + 6)), PAPER)
        + stroke(f"M{left:.1f} {y} H{right} M{left:.1f} {y - 4} v8 M{right} {y - 4} v8", width=1.25)
        + text((left + right) / 2, y - 6, f"{length} km", size=12, anchor="middle", colour=SOFT)
    )
