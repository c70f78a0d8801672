"""Vector files opened with care: GeoJSON read as the text it is, GeoPackage by its own driver, nothing else.

Which of the two a file is, its first bytes tell, never its name: other formats can name further files and addresses,
which whoever made the file would then have read on this machine.
"""

import json
import os
import warnings
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import shapely
from shapely import STRtree

from exposure.checks import RefusalError
from exposure.site.plane import DEGREES, LocalPlane, readable_crs

GEOPACKAGE = b"SQLite format 3\0"
GEOPACKAGE_MARK, MARK_AT = (b"GPKG", b"GP10", b"GP11"), 68  # application id of the file's header
LARGEST = 500_000_000  # bytes of a GeoJSON


class Shapes(NamedTuple):
    """What a vector file holds: shapes, their coordinate system as text, and the properties of each."""

    shapes: np.ndarray
    crs: str
    rows: list[dict[str, Any]]


def read_shapes(
    path: str | Path, *, layer: str | None = None, around: tuple[LocalPlane, float] | None = None
) -> Shapes:
    """Shapes of a GeoJSON or GeoPackage.

    Parameters
    ----------
    layer
        Of a GeoPackage, where it has one of this name; else its first.
    around
        A plane and a reach [m]: only shapes that touch the square round its middle.

    Raises
    ------
    RefusalError
        When the file is neither, is damaged, holds no shape, or has a coordinate system nobody knows.
    """
    file, name = Path(path), Path(path).name
    if not file.is_file():
        raise RefusalError(f"{name} is not there", "a file of footprints", "Check the name.")
    try:
        with file.open("rb") as opened:
            head = opened.read(100)
            stamp = os.fstat(opened.fileno())
    except OSError as error:
        raise RefusalError(
            f"{name} cannot be opened ({error.strerror})", "a file you may read", "Check its permissions."
        ) from error
    if head.startswith(GEOPACKAGE):
        found = _geopackage(file, layer, around, head)
    elif around is None:
        found = _geojson(file)
    else:
        seen = (stamp.st_dev, stamp.st_ino, stamp.st_mtime_ns, stamp.st_size)
        return _near(*_with_tree(file, seen), around)
    if around is not None:
        return _near(found, _tree(found), around)
    if not len(found.shapes):
        raise RefusalError(f"{name} holds no footprint", "one polygon or more", "Check the file.")
    return found


@lru_cache(maxsize=1)
def _with_tree(file: Path, seen: tuple[int, ...]) -> tuple[Shapes, STRtree]:
    """A GeoJSON kept for the next place that asks for what stands around it; ``seen`` tells it from a later edition."""
    del seen
    found = _geojson(file)
    return found, _tree(found)


def _tree(found: Shapes) -> STRtree:
    """To find shapes by their bounds; one with a corner that is no number is nowhere."""
    finite = np.isfinite(shapely.bounds(found.shapes)).all(axis=1)
    told = found.shapes.copy()
    told[~finite] = None
    return STRtree(told)


def _near(found: Shapes, tree: STRtree, around: tuple[LocalPlane, float]) -> Shapes:
    """Those whose bounds touch the square round a place, in the order of the file."""
    picked = np.sort(tree.query(shapely.box(*_box_around(*around, crs=found.crs))))
    return Shapes(found.shapes[picked], found.crs, [found.rows[i] for i in picked])


def _unreadable(name: str, why: str = "") -> RefusalError:
    return RefusalError(
        f"{name} cannot be read as footprints{f' ({why})' if why else ''}",
        "GeoJSON or GeoPackage with polygons",
        "Check the file, or export it so.",
    )


def _geojson(file: Path) -> Shapes:
    if file.stat().st_size > LARGEST:
        raise RefusalError(
            f"{file.name} holds {file.stat().st_size:,} bytes", f"at most {LARGEST:,}", "Cut it to the place."
        )
    try:
        table = json.loads(file.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise _unreadable(file.name, "its text is not UTF-8") from error
    except (ValueError, RecursionError) as error:
        raise _unreadable(file.name) from error
    features = _features(table)
    if features is None:
        raise _unreadable(file.name, "no GeoJSON features")
    shapes = np.array([_shape(one.get("geometry"), file.name) for one in features], dtype=object)
    rows = [dict(one["properties"]) if isinstance(one.get("properties"), Mapping) else {} for one in features]
    return Shapes(shapes, _system(table, file.name), rows)


def _features(table: Any) -> list[Mapping] | None:
    """Features of a GeoJSON of any kind; None when it is none."""
    if not isinstance(table, Mapping):
        return None
    if table.get("type") == "FeatureCollection":
        found = table.get("features")
        return [one for one in found if isinstance(one, Mapping)] if isinstance(found, list) else None
    if table.get("type") == "Feature":
        return [table]
    return [{"geometry": table}] if "coordinates" in table else None


def _shape(given: Any, name: str) -> Any:
    if given is None:
        return shapely.Polygon()
    try:
        return shapely.from_geojson(json.dumps(given, allow_nan=False))
    except (ValueError, RecursionError, shapely.errors.ShapelyError) as error:
        raise _unreadable(name, "a shape in it is damaged") from error


def _system(table: Mapping, name: str) -> str:
    """The coordinate system a GeoJSON names the old way; degrees where it names none (RFC 7946)."""
    given = table.get("crs")
    if given is None:
        return DEGREES
    told = given.get("properties") if isinstance(given, Mapping) else None
    system = told.get("name") if isinstance(told, Mapping) else None
    if not isinstance(system, str) or len(system) > 200:
        raise RefusalError(
            f"{name} names its coordinate system in a way nobody reads",
            "a name such as EPSG:4326",
            "Export it so.",
        )
    return readable_crs(system).to_wkt()


def _geopackage(
    file: Path, layer: str | None, around: tuple[LocalPlane, float] | None, head: bytes
) -> Shapes:
    import pyogrio

    if head[MARK_AT : MARK_AT + 4] not in GEOPACKAGE_MARK:
        raise _unreadable(file.name, "a database that is no GeoPackage")
    place = str(file.resolve())
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # a column of mixed types comes as text: fine
            warnings.simplefilter("ignore", RuntimeWarning)  # a damaged file is told by the refusal
            layers = [str(one[0]) for one in pyogrio.list_layers(place)]
            chosen = layer if layer in layers else layers[0]
            told = pyogrio.read_info(place, layer=chosen)
            if told["driver"] != "GPKG":
                raise _unreadable(file.name, f"opened as {told['driver']}")
            box = None if around is None else _box_around(*around, crs=told["crs"])
            frame = pyogrio.read_dataframe(place, layer=chosen, bbox=box)
    except (
        pyogrio.errors.DataSourceError,
        pyogrio.errors.DataLayerError,
        pyogrio.errors.FieldError,
        shapely.errors.ShapelyError,
        UnicodeError,
        IndexError,
    ) as error:
        raise _unreadable(file.name) from error
    if "geometry" not in frame:
        raise RefusalError(f"{file.name} holds no footprint", "one polygon or more", "Check the file.")
    crs = None if frame.crs is None else frame.crs.to_wkt()
    readable_crs(crs)
    plain = frame.drop(columns="geometry")
    rows = (
        json.loads(plain.to_json(orient="records", date_format="iso"))
        if plain.columns.size
        else [{} for _ in range(len(frame))]
    )
    return Shapes(np.asarray(frame.geometry.array, dtype=object), str(crs), rows)


def _box_around(plane: LocalPlane, reach: float, *, crs: str | None) -> tuple[float, float, float, float]:
    """Bounds in ``crs`` of the square of ``reach`` [m] round the middle of ``plane``."""
    readable_crs(crs)
    side = np.linspace(-reach, reach, 5)
    east, north = (corner.ravel() for corner in np.meshgrid(side, side))
    x, y = plane.to_crs(east, north, crs=str(crs))
    return float(np.min(x)), float(np.min(y)), float(np.max(x)), float(np.max(y))
