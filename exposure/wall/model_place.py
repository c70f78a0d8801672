"""How a building information model lies on the earth: its north, its map grid, its latitude and longitude."""

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
from pyproj import CRS
from pyproj.exceptions import CRSError
from shapely import Polygon

from exposure.checks import RefusalError
from exposure.doubts import Doubt, doubt
from exposure.site.plane import DEGREES, LocalPlane, to_degrees

NORTHS_DIFFER = 5.0  # degrees; a grid's north differs from true north by less


@dataclass(frozen=True)
class Lie:
    """How the model lies on the earth: its axes in east and north, and its origin in a map grid where told."""

    east: np.ndarray
    north: np.ndarray
    crs: str | None = None
    origin: tuple[float, float] = (0.0, 0.0)  # in the map's unit
    unit: float = 1.0  # metres in the map's unit

    def turned(self, points: np.ndarray) -> np.ndarray:
        """Metres east and north from metres of the model."""
        return np.column_stack([points @ self.east, points @ self.north])


def map_of(model: Any, lib: SimpleNamespace, file: str, called: str, told: list[Doubt]) -> Lie:
    """North by the map conversion where told, else by the true north of the drawing, else up the drawing."""
    own = lib.geolocation.get_wcs(model)
    if own is not None and not np.allclose(np.asarray(own)[:2, :2], np.eye(2), atol=1e-4):
        raise RefusalError(
            f"the coordinate system of {file} is turned itself", "true north told by a direction alone",
            "Save the model with its own axes as world axes.",
        )  # fmt: skip
    contexts = model.by_type("IfcGeometricRepresentationContext", include_subtypes=False)
    norths = [one.TrueNorth.DirectionRatios[:2] for one in contexts if one.TrueNorth]
    true = next((np.asarray(one) / np.hypot(*one) for one in norths if np.hypot(*one) > 1e-6), None)
    conversion = lib.geolocation.get_helmert_transformation_parameters(model)
    if conversion is None:
        if true is None:
            told.append(doubt("wall.model_north_untold", called))
            true = np.array([0.0, 1.0])
        return Lie(np.array([true[1], -true[0]]), true)
    along = np.array([conversion.xaa, conversion.xao]) / np.hypot(conversion.xaa, conversion.xao)
    east, north = np.array([along[0], -along[1]]), np.array([along[1], along[0]])
    if true is not None and float(true @ north) < np.cos(np.deg2rad(NORTHS_DIFFER)):
        told.append(doubt("wall.model_norths_differ", called))
    crs = lib.geolocation.get_crs(model) or {}
    code = _code(crs.get("Name"))
    if code is None or not (conversion.e or conversion.n):
        told.append(doubt("wall.model_grid_north", called))
        return Lie(east, north)
    unit = crs.get("MapUnit")
    metre = lib.unit.get_unit_scale(unit) if hasattr(unit, "is_a") else lib.unit.calculate_unit_scale(model)
    return Lie(east, north, code, (conversion.e, conversion.n), float(metre))


def _code(name: object) -> str | None:
    """A projected map grid by its EPSG code; None where the name tells none."""
    try:
        grid = CRS.from_user_input(str(name)[:60]) if str(name)[:5].upper() == "EPSG:" else None
    except CRSError:
        return None
    return f"EPSG:{grid.to_epsg()}" if grid is not None and grid.is_projected else None


def placed(outline: Polygon, lie: Lie, model: Any, lib: SimpleNamespace, file: str) -> tuple[dict, list, Any]:
    """Place, corners, and what turns points of the model [m] into longitude and latitude."""
    middle = np.array([outline.centroid.x, outline.centroid.y])
    if lie.crs is not None:
        factor = CRS.from_user_input(lie.crs).axis_info[0].unit_conversion_factor

        def degrees(points: np.ndarray) -> np.ndarray:
            grid = (lie.turned(points) + np.array(lie.origin) * lie.unit) / factor
            return np.column_stack(to_degrees(*grid.T, crs=str(lie.crs)))

        longitude, latitude = degrees(middle[None])[0]
    else:
        site = next((one for one in model.by_type("IfcSite") if one.RefLatitude and one.RefLongitude), None)
        latitude, longitude = (
            (np.nan, np.nan) if site is None
            else (lib.geolocation.dms2dd(*one) for one in (site.RefLatitude, site.RefLongitude))
        )  # fmt: skip

        def degrees(points: np.ndarray) -> np.ndarray:
            plane = LocalPlane(latitude=float(latitude), longitude=float(longitude))
            return np.column_stack(plane.to_crs(*lie.turned(points - middle).T, crs=DEGREES))

    if not np.isfinite([latitude, longitude]).all() or (latitude == 0 and longitude == 0):
        raise RefusalError(
            f"{file} does not tell where the house stands", "latitude and longitude of the site, or a map grid",
            "Set them in the model and save it again.",
        )  # fmt: skip
    corners = degrees(np.asarray(outline.exterior.coords)[:-1]).round(9).tolist()
    return {"latitude": float(latitude), "longitude": float(longitude)}, corners, degrees
