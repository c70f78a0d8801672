"""A building from the table our TOML spells: every key known, every value checked, every assumption told."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import shapely
from shapely import Polygon

from exposure.checks import RefusalError, check_between
from exposure.doubts import Doubt, doubt, flags_of
from exposure.site.footprint import (
    STOREY,
    Neighbours,
    check_coordinates,
    check_height,
    check_size,
    metres,
    one_polygon,
)
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.survey import PlaceInputs
from exposure.wall.building import Building, Wall, box_building
from exposure.wall.eaves import with_overhang
from exposure.wall.elevation_words import ELEVATION_KEYS, check_keys, table_at, wall_of, with_own_words
from exposure.wall.elevations import elevations_of
from exposure.wall.name_list import names_listed
from exposure.wall.roof import Roof, ridge_doubt
from exposure.wall.roof_words import ROOF_KEYS, roof_told

TOP_KEYS = {
    "name",
    "height",
    "storeys",
    "place",
    "footprint",
    "wall",
    "elevation",
    "details",
    "not_used",
    "openings",
    "doubts",
} | ROOF_KEYS
PLACE_KEYS = {"name", "latitude", "longitude", "terrain", "topography", "sea_distance", "sector"}
SECTOR_KEYS = {"terrain", "topography"}
LOW_STOREY = 2.4  # m; a lower storey is hardly built; our choice
WIDEST_DEGREES = 0.1  # of a footprint; corners farther apart are metres
LONG_HOUSE, NARROW_HOUSE, LARGE_HOUSE = 60.0, 2.5, 1500.0  # m, m, m2; beyond is doubted; our choice
FOOTPRINT_KEYS = {"length", "width", "bearing", "corners", "courtyards"}


class BuildingFile(NamedTuple):
    """A building as read, what its file says of the place, and the file's own words for a round trip."""

    building: Building
    place: PlaceInputs
    words: dict[str, Any]


def building_from_words(words: dict[str, Any], *, neighbours: Neighbours | None = None) -> BuildingFile:
    """A building from the table our TOML spells."""
    check_keys(words, TOP_KEYS, "the file")
    name = str(words.get("name") or "Building")
    place = words.get("place", {})
    check_keys(place, PLACE_KEYS, "[place]")
    for key in ("latitude", "longitude"):
        if key not in place:
            raise RefusalError(f"{name} has no {key}", "its place", f"Write {key} under [place].")
    plane = LocalPlane(
        latitude=check_between(place["latitude"], "latitude", -90, 90, "degrees"),
        longitude=check_between(place["longitude"], "longitude", -180, 360, "degrees"),
    )
    notes = _doubts_told(words.get("doubts"))
    height, storeys = _height_of(words, name, notes)
    roof = roof_told(words)
    walls, outline = _walls(words, _Body(name, plane, height, storeys, roof), neighbours, notes)
    own = table_at(words.get("wall", {}), "[wall]")
    strange = set(own) - {wall.name for wall in walls}
    if strange:
        raise RefusalError(
            f"walls {names_listed(sorted(map(repr, strange)))} are described",
            f"elevations {names_listed(wall.name for wall in walls)}",
            "Use these names under [wall].",
        )
    walls = tuple(with_own_words(wall, own) for wall in walls)
    notes.extend(ridge_doubt(walls, roof))
    details = words.get("details", {})
    if not isinstance(details, Mapping):
        raise RefusalError("details is no table", "a table", "Write [details] and its entries.")
    if words.get("not_used"):
        unused = [str(one)[:40] for one in words["not_used"]]
        more = f" and {len(unused) - 8} more" if len(unused) > 8 else ""
        notes.append(doubt("wall.properties_not_used", name, names=names_listed(unused[:8]) + more))
    inputs = PlaceInputs(
        name=str(place.get("name") or name),
        plane=plane,
        terrain=_merged(place, "terrain"),
        topography=_merged(place, "topography"),
        sea_distance=None
        if place.get("sea_distance") is None
        else check_between(place["sea_distance"], "sea_distance", 0, 1e7, "m"),
        footprint=outline,
        notes=tuple(notes),
    )
    return BuildingFile(Building(name, walls, storeys, _with_eaves(details, roof)), inputs, words)


def _doubts_told(text: object) -> list[str]:
    """Doubts that a model was read with, as :func:`exposure.doubts.as_attribute` keeps them."""
    if text is None:
        return []
    try:
        return [one for one in flags_of({"flags": text}) if isinstance(text, str)]
    except (TypeError, ValueError) as error:
        raise RefusalError(
            "doubts is no text of ours", "doubts as they were written", "Leave it out."
        ) from error


def _with_eaves(details: Mapping[str, Any], roof: Roof) -> dict[str, Any]:
    """The details with what is told of the eaves elsewhere in the file, so that it need be said once only."""
    found = dict(details) if roof.eaves is None else {**details, "eaves": roof.eaves}
    if roof.own_eaves:
        own = table_at(found.get("elevations", {}), "[details.elevations]")
        found["elevations"] = {
            **own,
            **{
                name: {**table_at(own.get(name, {}), f"[details.elevations.{name!r}]"), "eaves": wide}
                for name, wide in roof.own_eaves.items()
            },
        }
    return found


def _height_of(words: dict[str, Any], name: str, notes: list[str]) -> tuple[float, int]:
    storeys = words.get("storeys")
    if storeys is not None:
        storeys = check_between(storeys, "storeys", 1, 60, "")
        if storeys % 1:
            raise RefusalError(
                f"storeys is {storeys:g}", "a whole number", "Give the number of full storeys, rounded up."
            )
        storeys = int(storeys)
    height = metres(words.get("height"))
    if height is None and words.get("height") is not None:
        raise RefusalError(
            f"height is {words['height']!r}", "metres, or a text such as '20 ft'", "Correct the height."
        )
    if height is None and storeys is None:
        raise RefusalError(f"{name} has no height", "height in metres, or storeys", "Write one of them.")
    if height is None:
        assert storeys is not None
        height = storeys * STOREY
        notes.append(doubt("wall.storey_height_taken", storey=f"{STOREY:g}"))
    if storeys is None:
        storeys = max(
            int(height / LOW_STOREY + 1e-9), 1
        )  # the most there may be: more are harder in every table
        notes.append(doubt("wall.storeys_taken", name, storeys=storeys, height=height, storey=LOW_STOREY))
    return check_height(height, storeys), storeys


class _Body(NamedTuple):
    """What the file says of the building as a whole."""

    name: str
    plane: LocalPlane
    height: float
    storeys: int
    roof: Roof


def _walls(
    words: dict[str, Any], body: _Body, neighbours: Neighbours | None, notes: list[str]
) -> tuple[tuple[Wall, ...], Polygon | None]:
    """Elevations from a list of them, from length, width and bearing, or from corners."""
    name, plane, height, storeys, roof = body
    given, outline = words.get("elevation"), words.get("footprint", {})
    if given:
        if not isinstance(given, list):
            raise RefusalError(
                f"elevation is {given!r:.40}", "a list of elevations", "Write each under [[elevation]]."
            )
        for one in given:
            check_keys(one, ELEVATION_KEYS, "an elevation")
        beside = sorted(
            ({"roof", "gables", "ridge_height", "pitch"} & set(words)) | set(map(str, roof.own_ridges))
        )
        if beside:
            raise RefusalError(
                f"{', '.join(beside)} beside a list of elevations",
                "height and shape under each [[elevation]]",
                "Say it there: a gable's height is that of its ridge.",
            )
        walls = tuple(wall_of(one, height, storeys) for one in given)
        told = {wall.name: roof.own_eaves.get(wall.name, roof.eaves) for wall in walls}
        walls = tuple(
            wall if (wide := told[wall.name]) is None else with_overhang(wall, wide) for wall in walls
        )
        return walls, _polygon(outline, plane) if "corners" in outline else _outline_of(walls)
    check_keys(outline, FOOTPRINT_KEYS, "[footprint]")
    touching = None if neighbours is None else neighbours.polygons
    if "corners" in outline:
        polygon = _polygon(outline, plane)
    elif {"length", "width", "bearing"} <= set(outline):
        check_between(outline["bearing"], "bearing", -360, 360, "degrees")
        box = box_building(
            name=name,
            length=check_between(outline["length"], "length", 1, 500, "m"),
            width=check_between(outline["width"], "width", 1, 500, "m"),
            bearing=float(outline["bearing"]),
            height=height,
            storeys=storeys,
        )
        ring = [wall.start for wall in sorted(box.walls, key=lambda wall: -wall.orientation)]
        polygon = check_size(Polygon([corner for corner in ring if corner is not None]))
    else:
        raise RefusalError(
            f"{name} has no footprint",
            "corners, or length, width and bearing, under [footprint], or a list [[elevation]]",
            "Write one of them.",
        )
    notes.extend(_size_doubt(polygon, name))
    near = touching
    if touching is not None and len(touching):
        near = touching[shapely.distance(touching, polygon) < 1.0]
    walls, left = elevations_of(polygon, height=height, storeys=storeys, roof=roof, touching=near)
    notes.extend(left)
    return walls, polygon


def _size_doubt(polygon: Polygon, name: str) -> list[Doubt]:
    """That an outline is larger or smaller than houses are; nothing where it is not."""
    sides = np.hypot(*np.diff(shapely.get_coordinates(polygon.minimum_rotated_rectangle)[:3], axis=0).T)
    long, short = float(sides.max()), float(sides.min())
    if long <= LONG_HOUSE and short >= NARROW_HOUSE and polygon.area <= LARGE_HOUSE:
        return []
    size = {"length": f"{long:.0f}", "width": f"{short:.0f}", "area": f"{polygon.area:,.0f}"}
    return [doubt("wall.unlikely_size", name, **size)]


def _polygon(outline: Mapping, plane: LocalPlane) -> Polygon:
    try:
        rings = [np.asarray(outline["corners"], dtype=float)]
        rings += [np.asarray(ring, dtype=float) for ring in outline.get("courtyards", [])]
    except (TypeError, ValueError) as error:
        raise RefusalError(
            "corners are no pairs of numbers", "[longitude, latitude] pairs", "Correct them."
        ) from error
    if any(ring.ndim != 2 or ring.shape[1] not in (2, 3) or len(ring) < 3 for ring in rings):
        raise RefusalError(
            "corners are too few or no pairs", "three or more [longitude, latitude]", "Correct them."
        )
    wide, deep = np.ptp(rings[0][:, :2], axis=0)
    if max(wide, deep) > WIDEST_DEGREES and np.abs(rings[0][:, 0]).max() <= 360:
        raise RefusalError(
            f"the corners span {wide:g} by {deep:g} degrees",
            "corners as [longitude, latitude] in degrees",
            "Where these are metres, turn them to degrees, or give length, width and bearing in metres instead.",
        )
    shape = one_polygon(Polygon(rings[0], rings[1:]))
    check_coordinates(shape.bounds, DEGREES, "the footprint")
    local = shapely.transform(
        shape, lambda xy: np.column_stack(plane.to_metres(xy[:, 0], xy[:, 1], crs=DEGREES))
    )
    away = float(np.hypot(local.centroid.x, local.centroid.y))
    if away > 2000:
        raise RefusalError(
            f"the footprint lies {away / 1000:.1f} km from its latitude and longitude",
            "one place",
            "Correct one of them.",
        )
    return check_size(local)


def _outline_of(walls: Sequence[Wall]) -> Polygon | None:
    """Polygon through the corners when the elevations close a ring, else None."""
    starts = [wall.start for wall in walls if wall.start is not None]
    ends = [wall.end for wall in walls if wall.end is not None]
    if not len(starts) == len(ends) == len(walls) >= 3:
        return None
    return Polygon(starts) if np.allclose(ends, [*starts[1:], starts[0]], atol=0.01) else None


def _merged(place: Mapping, key: str) -> Any:
    """The value for all sectors with those of single sectors laid over it."""
    sectors = table_at(place.get("sector", {}), "[place.sector]")
    for bearing, table in sectors.items():
        check_keys(table, SECTOR_KEYS, f"[place.sector.{bearing}]")
    own = {bearing: table[key] for bearing, table in sectors.items() if key in table}
    whole = place.get(key)
    if isinstance(whole, list):
        if len(whole) != 12:
            raise RefusalError(
                f"{key} is a list of {len(whole)}",
                "twelve values, from north round by east",
                "Write twelve, or one for all.",
            )
        whole = {str(i * 30): value for i, value in enumerate(whole)}
    if not own:
        return whole
    if isinstance(whole, Mapping) or whole is None:
        return {**(whole or {}), **own}
    return {**{str(k * 30): whole for k in range(12)}, **own}
