"""A building's file: our TOML or JSON, a model (IFC), a GeoJSON or GeoPackage with footprints, or a result of our own."""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from shapely import Polygon

from exposure.checks import RefusalError, sound_toml
from exposure.site.footprint import (
    HEIGHT_NAMES,
    STOREY_NAMES,
    Footprint,
    Neighbours,
    read_footprint,
    told_height,
)
from exposure.site.plane import DEGREES, LocalPlane
from exposure.site.survey import PlaceInputs
from exposure.wall.building import Building
from exposure.wall.building_words import BuildingFile, building_from_words
from exposure.wall.model_file import words_of_model
from exposure.wall.roof_words import ROOF_KEYS

PLACE_PROPERTIES = ("terrain", "topography", "sea_distance")
LABELS = ("kind", "invented", "note", "source", "licence", "fid", "id")  # say nothing the answer could use
PROPERTIES = {
    "name", "place", "details", "input", *HEIGHT_NAMES, *STOREY_NAMES, *PLACE_PROPERTIES, *ROOF_KEYS, *LABELS,
}  # fmt: skip


def read_building(
    path: str | Path, *, name: str | None = None, neighbours: Neighbours | None = None
) -> BuildingFile:
    """Read one building.

    Parameters
    ----------
    path
        ``.toml`` or ``.json`` of ours (a result of ``exposure building`` too), a model (``.ifc``), else a vector file with
        polygons and properties ``name``, ``height`` [m], ``storeys``, ``roof``, ``gables``, ``ridge_height`` [m],
        ``pitch`` [degree], ``eaves`` [mm], ``terrain``, ``topography``, ``sea_distance`` [m] and ``details``;
        any other is told of as not used.
    name
        Which building, where a vector file holds several.
    neighbours
        In the plane of this building; walls that touch one are left out.

    Raises
    ------
    RefusalError
        For an unknown key, a footprint that cannot be, a missing height, or a value out of bounds.

    Examples
    --------
    >>> import tempfile
    >>> house = '''
    ... name = "House"
    ... height = 5.6
    ... storeys = 2
    ... roof = "gable"
    ... ridge_height = 8.6
    ... eaves = 350
    ... [place]
    ... latitude = 48.4
    ... longitude = -29.7
    ... [footprint]
    ... length = 12
    ... width = 8
    ... bearing = 90
    ... '''
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "house.toml"
    ...     _ = path.write_text(house)
    ...     building = read_building(path).building
    >>> [(wall.name, wall.height, wall.shape) for wall in building.walls][:2]
    [('west', 8.6, 'two-storey gable'), ('south', 5.6, 'two-storey eaves wall')]
    """
    return building_from_words(read_words(path, name=name), neighbours=neighbours)


def read_words(path: str | Path, *, name: str | None = None) -> dict[str, Any]:
    """The file as the table our TOML spells, whatever its format."""
    source = Path(path)
    if source.is_dir():
        raise RefusalError(f"{path} is a folder", "a building's file", "Name the file in it.")
    if not source.is_file():
        raise RefusalError(f"{source.name} is not there", "a building's file", "Check the name.")
    if not os.access(source, os.R_OK):
        raise RefusalError(f"{source.name} cannot be opened", "a file you may read", "Check its permissions.")
    if source.suffix.lower() == ".toml":
        try:
            words = sound_toml(source.read_text("utf-8"))
        except (ValueError, RecursionError) as error:  # no text, no TOML, a number of no end, too deep
            raise RefusalError(
                f"{source.name} is not sound TOML ({error})", "TOML in UTF-8", "Mend that line."
            ) from error
        return _named(words, name, source)
    if source.suffix.lower() == ".json":
        try:
            table = json.loads(source.read_text("utf-8-sig"))
        except (ValueError, RecursionError) as error:
            raise RefusalError(f"{source.name} is not sound JSON ({error})", "JSON", "Mend it.") from error
        if isinstance(table, dict) and table.get("type") not in ("FeatureCollection", "Feature"):
            words = table["input"] if isinstance(table.get("input"), dict) else table
            return _named(words, name, source)
    if source.suffix.lower() == ".ifc":
        return words_of_model(source, name)
    return _words_of_footprint(source, name)


def _named(words: dict[str, Any], name: str | None, source: Path) -> dict[str, Any]:
    """``words``, or a refusal when another building was asked for than the one they describe."""
    if name is not None and name != words.get("name"):
        raise RefusalError(
            f"{source.name} describes {str(words.get('name') or 'a building without a name')[:60]!r}",
            f"the building {name[:60]!r}",
            "Correct the name, or leave it out.",
        )
    return words


def _words_of_footprint(source: Path, name: str | None) -> dict[str, Any]:
    return words_of_footprint(read_footprint(source, name=name), source)


def words_of_footprint(found: Footprint, source: Path) -> dict[str, Any]:
    """What a footprint and its properties in the file ``source`` tell, as the table our TOML spells."""
    told = found.properties
    kept = told.get("input")  # a result of our own holds the words it was made from
    if isinstance(kept, str) and _table_in(kept):
        return _table_in(kept)
    height, storeys = told_height(told)
    words: dict[str, Any] = {
        "name": str(told.get("name") or source.stem),
        "place": {
            "name": str(told.get("place") or source.stem),
            "latitude": found.plane.latitude,
            "longitude": found.plane.longitude,
        },
        "footprint": _rings(found.plane, found.polygon),
        "details": _details_in(told.get("details"), source),
    }
    place = {key: told[key] for key in PLACE_PROPERTIES if told.get(key) is not None}
    words["place"] |= {key: _list_or_table(value) for key, value in place.items()}
    given = {"height": height, "storeys": storeys, **{key: told.get(key) for key in sorted(ROOF_KEYS)}}
    words |= {key: value for key, value in given.items() if value is not None}
    unused = [key for key, value in told.items() if value is not None and key not in PROPERTIES]
    if unused:
        words["not_used"] = unused
    return words


def _details_in(value: object, source: Path) -> dict[str, Any]:
    if value is None or (isinstance(value, str) and not value.strip()):
        return {}
    table = _list_or_table(value)
    if not isinstance(table, Mapping):
        raise RefusalError(
            f"the details of a building in {source.name} are {value!r:.40}",
            "a table",
            "Correct the property.",
        )
    return dict(table)


def _list_or_table(value: object) -> Any:
    """A nested property as it was meant: a GeoPackage holds lists and tables as JSON text."""
    if isinstance(value, str) and value.lstrip()[:1] in ("[", "{"):
        try:
            return json.loads(value)
        except (ValueError, RecursionError):
            return value
    return value


def _table_in(value: object) -> dict[str, Any]:
    """A nested property as a table: readers hand it on as a dict or as JSON text."""
    if isinstance(value, str):
        try:
            value = json.loads(value)
        except (ValueError, RecursionError):
            return {}
    return dict(value) if isinstance(value, Mapping) else {}


def _rings(plane: LocalPlane, polygon: Polygon) -> dict[str, list]:
    """Corners, and courtyards where there are any, in longitude and latitude."""
    outer, *courts = (
        _degrees(plane, *np.asarray(ring.coords)[:-1].T) for ring in (polygon.exterior, *polygon.interiors)
    )
    return {"corners": outer, "courtyards": courts} if courts else {"corners": outer}


def _degrees(plane: LocalPlane, east: np.ndarray, north: np.ndarray) -> list[list[float]]:
    longitude, latitude = plane.to_crs(east, north, crs=DEGREES)
    return np.column_stack([longitude, latitude]).round(9).tolist()


def words_of(building: Building, place: PlaceInputs, *, sector: bool = True) -> dict[str, Any]:
    """The table of a building with its elevations spelled out, so that reading it gives the same walls."""
    words: dict[str, Any] = {
        "name": building.name,
        "height": max(wall.height for wall in building.walls),
        "storeys": building.storeys,
        "place": {"name": place.name, "latitude": place.plane.latitude, "longitude": place.plane.longitude},
        "elevation": [
            {
                key: value
                for key, value in (
                    ("name", wall.name),
                    ("orientation", wall.orientation),
                    ("length", wall.length),
                    ("height", wall.height),
                    ("shape", wall.shape),
                    ("wall_factor", wall.wall_factor),
                    ("obstacle_distance", wall.obstacle_distance),
                    ("start", None if wall.start is None else list(wall.start)),
                    ("end", None if wall.end is None else list(wall.end)),
                    ("eaves_height", wall.eaves_height),
                    ("factor_reason", wall.factor_reason or None),
                    ("not_told", [one.what for one in wall.untold] or None),
                )
                if value is not None
            }
            for wall in building.walls
        ],
        "details": dict(building.details),
    }
    if place.footprint is not None:
        words["footprint"] = _rings(place.plane, place.footprint)
    if sector:
        for key, value in (("terrain", place.terrain), ("topography", place.topography)):
            if value is not None:
                words["place"][key] = dict(value) if isinstance(value, Mapping) else value
        if place.sea_distance is not None:
            words["place"]["sea_distance"] = place.sea_distance
    return words
