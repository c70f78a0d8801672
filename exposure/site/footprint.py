"""Footprints of buildings from GeoJSON and GeoPackage, brought to the local plane."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely
from shapely import Polygon
from shapely.validation import explain_validity

from exposure.checks import RefusalError, check_between
from exposure.doubts import doubt
from exposure.site.plane import LocalPlane, readable_crs, to_degrees
from exposure.site.vector_file import read_shapes

SMALLEST, LARGEST = 4.0, 200_000.0  # m2 of a building
ITSELF, INSIDE = (
    0.5,
    0.9,
)  # of both outlines together, of its own: an overlap beyond is the same, a larger one
OVERLAP = 1.0  # m2; less is drawing
STOREY = 3.0  # m; height of a storey where only storeys are known; our choice
DEFAULT_HEIGHT = 5.0  # m, where nothing is known: too low to shelter a house; our choice
TALL_STOREY = 8.0  # m; a height above this for each storey looks like feet; our choice
FOOT = 0.3048
LONGEST_FIGURE = 60  # characters of a height with its unit
STEEPEST = 75.0  # degrees; a roof's pitch beyond is none
NEIGHBOUR_REACH = 1500.0  # m around the building
HEIGHT_NAMES = ("height", "height_m", "building:height", "measured_height")
STOREY_NAMES = ("storeys", "levels", "building:levels", "num_floors", "floors")


@dataclass(frozen=True)
class Footprint:
    """One building as a polygon of the local plane, and what the file says of it."""

    polygon: Polygon  # metres east and north of the plane's middle
    plane: LocalPlane
    properties: Mapping[str, object]


@dataclass(frozen=True)
class Neighbours:
    """Buildings around, in the local plane.

    Parameters
    ----------
    polygons
        Array of shapely polygons.
    heights
        Of their tops above their own ground. [m]
    told_by
        For each: ``height``, ``storeys`` or ``default``.
    source
        File name.
    flags
        Doubts, as sentences.
    """

    polygons: np.ndarray
    heights: np.ndarray
    told_by: np.ndarray
    source: str
    flags: tuple[str, ...] = field(default=())

    def without(self, removed: np.ndarray) -> "Neighbours":
        """The same with the buildings where ``removed`` is true pulled down, or not built yet."""
        keep = ~np.asarray(removed, dtype=bool)
        return Neighbours(
            self.polygons[keep], self.heights[keep], self.told_by[keep], self.source, self.flags
        )

    def also(self, other: "Neighbours") -> "Neighbours":
        """These and ``other``, in the same plane."""
        polygons, heights, told_by = (
            np.concatenate([getattr(one, name) for one in (self, other)])
            for name in ("polygons", "heights", "told_by")
        )
        source = f"{self.source} and {other.source}"
        return Neighbours(polygons, heights, told_by, source, (*self.flags, *other.flags))


def read_footprint(path: str | Path, *, name: str | None = None) -> Footprint:
    """One building's footprint from a vector file.

    Parameters
    ----------
    name
        Which building, where the file holds several (property ``name``).

    Raises
    ------
    RefusalError
        For no CRS, degrees given as metres or the other way, a crossing, empty, tiny, huge or many-part
        polygon, several buildings without ``name``, or none of that name.

    Examples
    --------
    >>> import json, tempfile
    >>> ring = [[8.0, 50.0], [8.0002, 50.0], [8.0002, 50.0001], [8.0, 50.0001], [8.0, 50.0]]
    >>> shape = {"type": "Polygon", "coordinates": [ring]}
    >>> feature = {"type": "Feature", "properties": {"name": "House", "height": 5.6}, "geometry": shape}
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "house.geojson"
    ...     _ = path.write_text(json.dumps(feature))
    ...     found = read_footprint(path)
    >>> round(found.polygon.area), found.properties["height"]
    (159, 5.6)
    """
    shapes, crs, rows = read_shapes(path, layer="building")
    which = _choose(rows, name, Path(path).name)
    return footprint_of(shapes[which], rows[which], crs=crs, source=Path(path).name)


def footprint_of(shape: object, properties: Mapping[str, object], *, crs: str, source: str) -> Footprint:
    """The footprint that a shape of a vector file is; refusals as :func:`read_footprint`."""
    polygon = one_polygon(shape)
    check_coordinates(polygon.bounds, crs, source)
    plane = _plane_at(polygon.centroid.x, polygon.centroid.y, crs)
    local = shapely.transform(
        polygon, lambda xy: np.column_stack(plane.to_metres(xy[:, 0], xy[:, 1], crs=crs))
    )
    return Footprint(check_size(local), plane, properties)


def one_polygon(shape: object) -> Polygon:
    """A sound, flat, single polygon, or a refusal that says what is wrong with it.

    Examples
    --------
    >>> one_polygon(shapely.Polygon([(0, 0), (4, 0), (4, 3)])).area
    6.0
    """
    if shape is None or not shapely.is_geometry(shape) or shapely.is_empty(shape):
        raise RefusalError("the footprint is empty", "a polygon", "Draw the outline of the building.")
    parts = shapely.get_parts(shapely.force_2d(shape))
    if len(parts) != 1:
        raise RefusalError(
            f"the footprint has {len(parts)} parts",
            "one polygon a building",
            "Give each part a name and a row of its own.",
        )
    flat = parts[0]
    if not isinstance(flat, Polygon):
        raise RefusalError(
            f"the footprint is a {flat.geom_type}", "a polygon", "Close the outline of the building."
        )
    if not np.isfinite(shapely.get_coordinates(flat)).all():
        raise RefusalError("the footprint has a corner that is no number", "numbers", "Draw it again.")
    if not flat.is_valid:
        raise RefusalError(
            f"the footprint is not sound ({explain_validity(flat)[:80]})",
            "an outline that does not cross or touch itself",
            "Draw it again without crossing lines.",
        )
    return flat


def check_size(polygon: Polygon) -> Polygon:
    """Return ``polygon`` (in metres), or stop when no building has its size."""
    if not SMALLEST <= polygon.area <= LARGEST:
        raise RefusalError(
            f"the footprint covers {polygon.area:.3g} m2",
            f"a building of {SMALLEST:g} to {LARGEST:,.0f} m2",
            "Check its coordinates: are they degrees given as metres, or the reverse?",
        )
    return polygon


def check_coordinates(bounds: tuple[float, float, float, float], crs: str, source: str) -> None:
    """Stop when degrees are given as metres or metres as degrees."""
    x0, y0, x1, y1 = bounds
    in_degrees = readable_crs(crs).is_geographic
    if in_degrees and (x0 < -180 or x1 > 360 or y0 < -90 or y1 > 90):
        raise RefusalError(
            f"{source} says degrees, but a corner lies at {x0:.6g}, {y0:.6g}",
            "longitudes from -180 to 180 and latitudes from -90 to 90",
            "These look like metres: name their grid as the file's CRS.",
        )
    if not in_degrees and max(abs(x0), abs(x1)) <= 180 and max(abs(y0), abs(y1)) <= 90 and x1 - x0 < 0.1:
        raise RefusalError(
            f"{source} says metres, but the footprint is {x1 - x0:.2g} wide at {x0:.6g}, {y0:.6g}",
            "metres of a grid",
            "These look like degrees: set the file's CRS to EPSG:4326.",
        )


def read_neighbours(
    path: str | Path, plane: LocalPlane, *, own: Polygon, reach: float = NEIGHBOUR_REACH
) -> Neighbours:
    """Buildings within ``reach`` [m] of the middle of ``plane``, without the building itself.

    A footprint that covers most of ``own`` and little else is the building itself, and is left out. Heights
    come from an attribute in metres (or with a unit, ``25 ft``), else from storeys at 3 m, else 5 m.

    Raises
    ------
    RefusalError
        For no CRS, or when ``own`` stands inside another building.
    """
    source = Path(path).name
    shapes, crs, rows = read_shapes(path, around=(plane, reach))
    if not len(shapes):
        note = doubt("site.no_building_near", source, reach=reach / 1000)
        return Neighbours(shapes, np.zeros(0), np.zeros(0, dtype=object), source, (note,))
    picked = np.arange(len(shapes))
    flags = []
    flat = shapely.force_2d(shapes[picked])
    sound = sound_outlines(flat)
    if not sound.all():
        flags.append(doubt("site.unsound_footprints", source, count=int((~sound).sum())))
    picked, flat = picked[sound], flat[sound]
    local = shapely.transform(flat, lambda xy: np.column_stack(plane.to_metres(xy[:, 0], xy[:, 1], crs=crs)))
    large = shapely.area(local) > LARGEST
    if large.any():
        flags.append(doubt("site.too_large_outlines", source, count=int(large.sum())))
        picked, local = picked[~large], local[~large]
    heights, told_by, strange = tops_told([rows[i] for i in picked], local)
    overlap = shapely.area(shapely.intersection(local, own))
    union = shapely.area(local) + own.area - overlap
    itself = overlap > ITSELF * union
    around = (overlap > INSIDE * own.area) & ~itself
    if around.any():
        raise inside_another(source)
    part = (overlap > OVERLAP) & ~itself
    if part.any():
        flags.append(doubt("site.overlapping_neighbours", source, count=int(part.sum())))
    keep = ~itself
    unknown = int((told_by[keep] == "default").sum())
    if unknown:
        flags.append(
            doubt(
                "site.neighbours_without_height",
                source,
                count=unknown,
                of=int(keep.sum()),
                assumed=DEFAULT_HEIGHT,
            )
        )
    if strange:
        flags.append(doubt("site.heights_against_storeys", source, count=strange))
    return Neighbours(local[keep], heights[keep], told_by[keep], source, tuple(flags))


def sound_outlines(flat: np.ndarray) -> np.ndarray:
    """Which of flat shapes are sound polygons that are not empty, of one part or many."""
    return shapely.is_valid(flat) & ~shapely.is_empty(flat) & np.isin(shapely.get_type_id(flat), (3, 6))


def inside_another(source: str) -> RefusalError:
    """That a building stands inside another one's outline."""
    return RefusalError(
        f"the footprint stands inside another building of {source}",
        "a footprint of its own",
        "Remove the larger outline from the neighbours, or assess that building.",
    )


def tops_told(
    rows: Sequence[Mapping[str, object]], outlines: np.ndarray
) -> tuple[np.ndarray, np.ndarray, int]:
    """Height of each building's top [m], what told it, and how many heights go with no storeys.

    Parameters
    ----------
    rows
        Properties of each.
    outlines
        In metres, for ridges of which only the pitch is told.
    """
    heights, told_by, strange = _heights(rows)
    return np.fmax(heights, _ridges(rows, outlines, heights)), told_by, strange


def metres(value: object) -> float | None:
    """A height in metres from a number or a text with a unit; None when it tells nothing.

    Examples
    --------
    >>> metres(6), metres("6.5 m"), round(metres("20 ft"), 3), metres("tall")
    (6.0, 6.5, 6.096, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    text = str(value).strip()[: LONGEST_FIGURE + 1]
    if len(text) > LONGEST_FIGURE:
        return None
    found = re.fullmatch(r"([0-9]+(?:[.,][0-9]+)?)\s*(m|metres?|meters?|ft|feet|foot|')?", text)
    if found is None:
        return None
    number = float(found[1].replace(",", "."))
    return number * FOOT if found[2] in ("ft", "feet", "foot", "'") else number


def told_height(properties: Mapping[str, object]) -> tuple[float | None, int | None]:
    """Height [m] and storeys as a file's properties tell them; None where they do not."""
    height = next((metres(properties[name]) for name in HEIGHT_NAMES if metres(properties.get(name))), None)
    levels = next((metres(properties[name]) for name in STOREY_NAMES if metres(properties.get(name))), None)
    return height, None if levels is None else max(round(levels), 1)


def check_height(height: float, storeys: int | None) -> float:
    """Return ``height`` [m], or stop when it does not go with the storeys (feet without a unit).

    Examples
    --------
    >>> check_height(6.0, 2)
    6.0
    """
    check_between(height, "height of the building", 2, 200, "m")
    if storeys and height / storeys > TALL_STOREY:
        raise RefusalError(
            f"the building is {height:g} m tall with {storeys} storeys",
            f"at most {TALL_STOREY:g} m a storey",
            f"If these are feet, write '{height:g} ft'; else correct the storeys.",
        )
    return height


def _heights(rows: Sequence[Mapping[str, object]]) -> tuple[np.ndarray, np.ndarray, int]:
    heights, told_by, strange = (
        np.full(len(rows), DEFAULT_HEIGHT),
        np.full(len(rows), "default", dtype=object),
        0,
    )
    for i, row in enumerate(rows):
        height, storeys = told_height(row)
        if height is not None and (height > 900 or (storeys and height / storeys > TALL_STOREY)):
            strange, height = strange + 1, None
        if height is not None:
            heights[i], told_by[i] = height, "height"
        elif storeys is not None:
            heights[i], told_by[i] = storeys * STOREY, "storeys"
    return heights, told_by, strange


def _ridges(rows: Sequence[Mapping[str, object]], shapes: np.ndarray, heights: np.ndarray) -> np.ndarray:
    """Tops of the roofs where a ridge's height or a pitch is told, NaN elsewhere. [m]"""
    found = np.full(len(rows), np.nan)
    for i, row in enumerate(rows):
        ridge, pitch = metres(row.get("ridge_height")), metres(row.get("pitch"))
        if ridge is not None and ridge < 2 * TALL_STOREY + heights[i]:
            found[i] = ridge
        elif pitch is not None and pitch <= STEEPEST:
            box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapes[i]))
            span = np.hypot(*np.diff(box[:3], axis=0).T).min()
            found[i] = heights[i] + span / 2 * np.tan(np.deg2rad(pitch))
    return found


def _plane_at(x: float, y: float, crs: str) -> LocalPlane:
    longitude, latitude = to_degrees(x, y, crs=crs)
    if not (np.isfinite(longitude) and np.isfinite(latitude)):
        raise RefusalError(
            f"the footprint at {x:.6g}, {y:.6g}", "a place inside its coordinate system", "Correct its CRS."
        )
    return LocalPlane(latitude=float(latitude), longitude=float(longitude))


def _choose(rows: list[dict], name: str | None, source: str) -> int:
    names = [str(row.get("name") or "") for row in rows]
    if name is None and len(rows) == 1:
        return 0
    known = ", ".join(repr(one) for one in names[:8] if one) or "no names"
    if name is None:
        raise RefusalError(f"{source} holds {len(rows)} buildings", "one, or a name", f"Name one of {known}.")
    if names.count(name) != 1:
        raise RefusalError(
            f"{source} holds {names.count(name)} buildings named {name!r}", "one", f"It holds {known}."
        )
    return names.index(name)
