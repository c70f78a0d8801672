"""What a map shows, as plain data: raster, coast, places, building, neighbours, rays, ground.

Each function gives one part of the state that :mod:`exposure.map.folium_map` draws, where names become harmless
text. Positions are [latitude, longitude] in degrees.
"""

from base64 import b64encode
from collections.abc import Iterable, Sequence
from math import cos, radians, sin
from typing import Any

import numpy as np
import xarray as xr

from exposure.assess.assessment import Assessment
from exposure.checks import RefusalError
from exposure.draw.lettering import clean
from exposure.draw.palette import CLASS_LOOKS, raster_colours
from exposure.draw.raster_picture import Scale, raster_picture, round_scale
from exposure.figures import LITRES, THOUSAND, litres, metres
from exposure.rain.coverage import FEW_YEARS
from exposure.rain.extremes import spell_label
from exposure.site.place import Site
from exposure.wall.building import compass_name

QUANTITIES = {
    "airfield_annual_index": "A year",
    "airfield_spell_index": "Worst spell",
    "annual_member_spread": "A year, between members",
    "spell_member_spread": "Worst spell, between members",
}  # of the index Dataset
WORST = "worst"  # in place of an orientation: each cell's own worst
NOTE = "open field, nearest cell; classes are not read here"
MOST_FIGURES = 250_000  # cells whose figures travel with a picture
NO_FIGURE = 65_535  # stands for a cell without one where figures are packed
MOST_TICKS = 5  # figures under the legend's bar
LONGEST_NAME = 60
CATEGORY_COLOURS = {"I": "#BFD5DC", "II": "#E7E6C9", "III": "#C4CDB4", "IV": "#A9A6A0"}
TALL, LOW = "#9AA5A8", "#D5DADC"  # neighbours that may shelter, and those that cannot
RING = 1000.0  # radius of the ground ring [m]; the fetch that decides a category


def field_of(index: xr.Dataset, quantity: str, orientation: float | str) -> tuple[np.ndarray, str]:
    """Figures of a region's index for one orientation or each cell's worst, and the facing in words.

    Raises
    ------
    RefusalError
        For a quantity or orientation the index does not hold.
    """
    if quantity not in index or quantity not in QUANTITIES:
        held = ", ".join(name for name in QUANTITIES if name in index) or "none that a map shows"
        raise RefusalError(f"quantity {quantity!r}", f"one the result holds ({held})", "Name another.")
    values = index[quantity].transpose("orientation", "latitude", "longitude").values
    if orientation == WORST:
        unknown = np.all(~np.isfinite(values), axis=0)
        return np.where(unknown, np.nan, np.max(np.nan_to_num(values, nan=-1.0), axis=0)), (
            "facing the worst way, cell by cell"
        )
    angles = index["orientation"].values
    if isinstance(orientation, str):
        raise RefusalError(f"orientation {orientation!r}", f"degrees, or {WORST!r}", "Give one of them.")
    off = np.abs((angles - orientation + 180) % 360 - 180)
    nearest = int(np.argmin(off))
    words = f"facing {compass_name(float(angles[nearest]) % 360)} ({angles[nearest]:.0f}°)"
    if off[nearest] > 0.5:
        words += f", {off[nearest]:.0f}° off the {orientation:.0f}° asked"
    return values[nearest], words


def raster_layer(
    index: xr.Dataset, *, quantity: str, orientation: float | str = WORST, scale: Scale | None = None
) -> dict:
    """Raster, legend and figures of a region's index, ready for :class:`exposure.map.place_map.MapState`.

    Parameters
    ----------
    index
        ``airfield_annual_index`` or ``airfield_spell_index`` along ``orientation``, ``latitude``,
        ``longitude``.
    quantity, orientation
        Which of them, for walls facing which way [degree], or ``"worst"``.
    scale
        Figures of the first and last colour, when several maps are to share one.
    """
    field, facing = field_of(index, quantity, orientation)
    latitudes, longitudes = index["latitude"].values, index["longitude"].values
    used = scale or round_scale(field)
    picture = raster_picture(field, latitudes=latitudes, longitudes=longitudes, scale=used)
    unit = unit_of(index, quantity)
    layer = {
        "raster": {"uri": picture.uri, "bounds": picture.bounds},
        "legend": legend(title=unit, note=f"{facing}; {NOTE}", scale=used),
        "facing": facing,
    }
    if field.size <= MOST_FIGURES:
        figures: dict[str, Any] = {
            "latitudes": np.round(latitudes, 5).tolist(),
            "longitudes": np.round(longitudes, 5).tolist(),
            "packed": packed_figures(field),
            "unit": unit,
        }
        if orientation == WORST:
            figures |= _worst_ways(index, quantity)
        layer["figures"] = figures
    return layer


def unit_of(index: xr.Dataset, quantity: str) -> str:
    """Unit of a quantity on the map; the spell is called what the years of the grid can carry.

    Examples
    --------
    >>> grid = xr.Dataset(coords={"year": [2003]}, attrs={"kind": "reanalysis"})
    >>> unit_of(grid, "airfield_spell_index").replace("\N{NO-BREAK SPACE}", " ")
    'L/m² in the worst spell of the one year of this record'
    """
    if quantity.endswith("_member_spread"):
        return f"{LITRES} between the members"
    if quantity == "airfield_annual_index":
        return f"{LITRES} a year"
    return (
        f"{LITRES} {spell_label(index.sizes.get('year', FEW_YEARS), kind=str(index.attrs.get('kind', '')))}"
    )


def packed_figures(field: np.ndarray) -> str:
    """Figures as litres are worded (whole, from 1,000 to the nearest ten), two bytes each, least first, in base64.

    Examples
    --------
    >>> from base64 import b64decode
    >>> np.frombuffer(b64decode(packed_figures(np.array([[7.4, np.nan], [1234.0, 999.4]]))), "<u2").tolist()
    [7, 65535, 1230, 999]
    """
    whole = np.where(field < THOUSAND - 0.5, np.round(field), 10 * np.round(field / 10))
    known = np.isfinite(whole)
    shown = np.where(known, np.clip(whole, 0, NO_FIGURE - 1), NO_FIGURE).astype("<u2")
    return b64encode(shown.tobytes()).decode("ascii")


def _worst_ways(index: xr.Dataset, quantity: str) -> dict:
    """Which way the worst wall of each cell faces, one byte each in base64, and the words for each way."""
    values = index[quantity].transpose("orientation", "latitude", "longitude").values
    facing = np.argmax(np.nan_to_num(values, nan=-1.0), axis=0).astype(np.uint8)
    words = [f"facing {compass_name(float(angle) % 360)}" for angle in index["orientation"].values]
    return {"ways": b64encode(facing.tobytes()).decode("ascii"), "way_words": words}


def legend(*, title: str, note: str, scale: Scale) -> dict:
    """The colour bar of a raster with its round steps."""
    span = scale.high - scale.low
    every = -(-len(scale.steps) // MOST_TICKS)
    named = list(scale.steps[::every])
    if scale.high - named[-1] > 0.5 * every * (scale.steps[1] - scale.low):
        named.append(scale.high)
    else:
        named[-1] = scale.high
    return {
        "title": title,
        "note": note,
        "colours": raster_colours(16),
        "ticks": [{"place": round((step - scale.low) / span, 4), "words": f"{step:,.10g}"} for step in named],
    }


def coast_layer(outline: dict, *, hide_sea: bool = True) -> dict:
    """The coast of a GeoJSON FeatureCollection of polygons; ``hide_sea`` covers what lies outside it."""
    rings: list[list[list[float]]] = []
    for feature in outline["features"]:
        shape = feature["geometry"]
        polygons = shape["coordinates"] if shape["type"] == "MultiPolygon" else [shape["coordinates"]]
        rings.extend(
            _turned(polygon[0][::2] if len(polygon[0]) > 900 else polygon[0]) for polygon in polygons
        )
    return {"rings": rings, "hide_sea": hide_sea}


def _turned(ring: Iterable[Sequence[float]]) -> list[list[float]]:
    """Longitude, latitude as a map script wants them: latitude first."""
    return [[round(float(point[1]), 6), round(float(point[0]), 6)] for point in ring]


def place_marks(places: Iterable, *, chosen: str | None = None) -> list[dict]:
    """Numbered discs for things with ``name``, ``latitude``, ``longitude`` and perhaps ``note``."""
    marks = [
        {
            "label": str(number),
            "name": _name(place.name),
            "note": _name(getattr(place, "note", "")),
            "latitude": float(place.latitude),
            "longitude": float(place.longitude),
            "chosen": place.name == chosen,
        }
        for number, place in enumerate(places, 1)
    ]
    if len(marks) > 1:
        east = [mark["longitude"] for mark in marks]
        edge = max(east) - 0.22 * (max(east) - min(east))
        for mark in marks:
            mark["west"] = bool(mark["longitude"] > edge)
    return marks


def _name(words: object) -> str:
    return clean(words, most=LONGEST_NAME)


class Spot:
    """Turns metres east and north of a point into latitude and longitude, good to a metre within two kilometres.

    Lengths of a degree on the WGS 84 ellipsoid, by the usual series in the latitude.

    Examples
    --------
    >>> Spot(0.0, 0.0).at(0, 110_574)
    [0.9999975, 0.0]
    """

    def __init__(self, latitude: float, longitude: float) -> None:
        self.latitude, self.longitude = latitude, longitude
        angle = radians(latitude)
        self.north_degree = 111_132.95 - 559.85 * cos(2 * angle) + 1.175 * cos(4 * angle)  # [m]
        self.east_degree = 111_412.88 * cos(angle) - 93.50 * cos(3 * angle) + 0.118 * cos(5 * angle)  # [m]

    def at(self, east: float, north: float) -> list[float]:
        """[latitude, longitude] of a spot. [degree]"""
        return [
            round(self.latitude + north / self.north_degree, 7),
            round(self.longitude + east / self.east_degree, 7),
        ]


def building_layer(assessment: Assessment, middle: Spot) -> dict | None:
    """Footprint with each elevation in the colour of its class; None when its corners are not known."""
    walls, ring = [], []
    for place, one in enumerate(assessment.elevations):
        wall = one.wall
        if wall.start is None or wall.end is None:
            return None
        look = CLASS_LOOKS[one.exposure_class]
        walls.append(
            {
                "from": middle.at(*wall.start),
                "to": middle.at(*wall.end),
                "colour": look.fill,
                "worst": place == 0,
                "words": f"{_name(wall.name)}: {look.name}, {litres(one.wall_spell_index)} {LITRES} in the worst spell",
            }
        )
    for wall in assessment.building.walls:
        if wall.start is not None:
            ring.append(middle.at(*wall.start))
    return {"name": _name(assessment.building.name), "ring": ring, "walls": walls}


def close_up_legend(building: dict | None) -> dict:
    """What the colours and lines of a building seen from above mean."""
    shown = {wall["colour"] for wall in building["walls"]} if building else set()
    keys = [
        {"colour": look.fill, "words": f"{name} elevation"}
        for name, look in CLASS_LOOKS.items()
        if look.fill in shown
    ]
    keys += [
        {"colour": TALL, "words": "building as tall as the wall"},
        {"colour": LOW, "words": "lower building, no shelter"},
    ]
    note = "widest edge: worst elevation; lines: what it sees, full where a building stops the view; ring: ground"
    return {"title": "The building from above", "keys": keys, "note": note}


def neighbours_layer(
    shapes: Iterable[tuple[Sequence[Sequence[float]], float, str]], middle: Spot, *, wall_height: float
) -> list[dict]:
    """Buildings around as (corners in metres east and north, height [m], name); those as tall as the wall stand out."""
    found = []
    for corners, height, name in shapes:
        tall = height >= wall_height
        words = f"{_name(name) or 'building'}, {metres(height)}: " + (
            "as tall as the wall" if tall else "lower than the wall, no shelter"
        )
        ring = [middle.at(*corner[:2]) for corner in corners]
        found.append({"ring": ring, "counts": tall, "colour": TALL if tall else LOW, "words": words})
    return found


def rays_layer(rays: Iterable[tuple[float, float, float, float, bool]], middle: Spot) -> list[dict]:
    """Lines of sight from a wall: start and end in metres east and north, and whether something stopped it."""
    return [
        {"from": middle.at(x, y), "to": middle.at(to_x, to_y), "hit": bool(hit)}
        for x, y, to_x, to_y, hit in rays
    ]


def ground_ring(site: Site, *, radius: float = RING) -> dict:
    """The ground of the twelve sectors the wind comes from, as a ring round the site."""
    middle = Spot(site.latitude, site.longitude)
    terrain, topography = site.categories, site.hill_coefficients
    width = 360 / len(terrain)
    sectors = []
    for number, (category, hill) in enumerate(zip(terrain, topography, strict=True)):
        bearing = number * width
        edge = [bearing - width / 2 + width * part / 6 for part in range(7)]
        outer = [_away(middle, angle, radius) for angle in edge]
        inner = [_away(middle, angle, 0.72 * radius) for angle in reversed(edge)]
        hilly = f", hill factor {hill:.2f}" if hill > 1 else ""
        sectors.append(
            {
                "outline": outer + inner,
                "middle": _away(middle, bearing, 0.86 * radius),
                "label": category,
                "colour": CATEGORY_COLOURS[category],
                "words": f"wind from {bearing:.0f}°: ground {category}{hilly}",
            }
        )
    return {"sectors": sectors}


def _away(middle: Spot, bearing: float, distance: float) -> list[float]:
    return middle.at(distance * sin(radians(bearing)), distance * cos(radians(bearing)))
