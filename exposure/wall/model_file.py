"""A house from a building information model (IFC): its outer walls, north, place, storeys, roof, windows and doors."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from exposure.checks import RefusalError
from exposure.doubts import Doubt, as_attribute, doubt
from exposure.site.plane import DEGREES
from exposure.site.site_list import one_line
from exposure.wall.building import nearest_wall
from exposure.wall.building_words import building_from_words
from exposure.wall.model_parts import building_in, is_external, metre_of, open_model, outer_walls, shape_of
from exposure.wall.model_place import map_of, placed

GAP = 0.3  # m; half of the widest gap between walls that is closed
THINNEST = 1.0  # m; an outline thinner than twice this is a row of walls, no house
TOPS_DIFFER = 0.6  # m; tops that differ less are one height
BELOW = 1.0  # m above the building's zero; a storey whose walls end lower is a basement
TALLEST_STOREY = 4.0  # m; beyond, the model's storeys are not all there
REACH = 0.6  # m; a window or door farther inside the outline stands in no outer wall
ALONG = 0.9  # cosine between an opening's width and its wall
LONGEST = 60  # characters of a name
SMALL, LARGE = 100, 20_000  # mm of an opening
BROKEN = (  # what a reference to nothing, or a value of another kind, ends in
    ArithmeticError, AssertionError, AttributeError, LookupError, RuntimeError, TypeError, ValueError, shapely.GEOSException
)  # fmt: skip
FORMS = {"FLAT_ROOF": "flat", "HIP_ROOF": "hip", "GABLE_ROOF": "gable"}


@dataclass(frozen=True)
class _Piece:
    """One outer wall: its plan, its storey, bottom and top [m]."""

    plan: Any
    storey: int | None  # the storey's own number in the file
    bottom: float
    top: float


def words_of_model(source: Path, name: str | None = None) -> dict[str, Any]:
    """What a model tells of a house, as the table our TOML spells, with ``openings`` and ``doubts``.

    Parameters
    ----------
    source
        File of IFC text (``.ifc``).
    name
        Which building, where the model holds several.

    Raises
    ------
    RefusalError
        For no library, no IFC, a damaged or too large file, no unit, no place, or outer walls that close no ring.
    """
    model, lib = open_model(source)
    try:
        with np.errstate(all="ignore"):  # numbers of no size are refused where they are used
            return _words(model, lib, source, name)
    except RefusalError:
        raise
    except BROKEN as error:
        raise RefusalError(
            f"{source.name} cannot be read through ({one_line(error)[:80]})",
            "a sound model",
            "Save it again; a program that checks models names the fault.",
        ) from error


def _words(model: Any, lib: SimpleNamespace, source: Path, name: str | None) -> dict[str, Any]:
    building, inside = building_in(model, lib, name, source.name)
    lib.metre = metre_of(model, lib, source.name)
    called = (one_line(building and building.Name) or one_line(source.stem) or "Building")[:LONGEST]
    told: list[Doubt] = [doubt("wall.model_faults", called, count=lib.faults)] if lib.faults else []
    walls = outer_walls(inside, lib, called, told)
    pieces = _above_ground(_pieces(walls, lib, called, told), building, lib, called, told)
    outline = _outline(pieces, called, source.name, told)
    lie = map_of(model, lib, source.name, called, told)
    place, corners, degrees = placed(outline, lie, model, lib, source.name)
    words: dict[str, Any] = {
        "name": called,
        "place": {"name": called, **place},
        "footprint": {"corners": corners},
    }
    _heights(words, pieces, inside, degrees, called, told)
    words["openings"] = _openings(inside, walls, outline, degrees, lib, called, told)
    words["doubts"] = as_attribute(told)
    return words


def _pieces(walls: list[Any], lib: SimpleNamespace, called: str, told: list[Doubt]) -> list[_Piece]:
    found, unread = [], 0
    for wall in walls:
        shape = shape_of(wall, lib)
        plans = shapely.polygons(np.empty((0, 3, 2)) if shape is None else shape[0][shape[1]][:, :, :2])
        plans = plans[shapely.area(plans) > 1e-6]
        if shape is None or not len(plans):
            unread += 1
            continue
        storey = lib.element.get_container(wall, ifc_class="IfcBuildingStorey")
        bottom, top = float(shape[0][:, 2].min()), float(shape[0][:, 2].max())
        plan = shapely.union_all(plans, grid_size=1e-3)
        found.append(_Piece(plan, None if storey is None else storey.id(), bottom, top))
    if unread:
        told.append(doubt("wall.model_walls_unread", called, count=unread))
    if not found:
        raise RefusalError(
            f"{called} has no wall with a shape that can be read",
            "outer walls",
            "Save the model with its walls.",
        )
    return found


def _above_ground(
    pieces: list[_Piece], building: Any, lib: SimpleNamespace, called: str, told: list[Doubt]
) -> list[_Piece]:
    """Walls without those of basements: storeys that end hardly above the building's own zero."""
    zero = 0.0
    if building is not None and building.ObjectPlacement:
        zero = float(lib.placement.get_local_placement(building.ObjectPlacement)[2, 3]) * lib.metre
    tops: dict[int | None, float] = {}
    for one in pieces:
        tops[one.storey] = max(tops.get(one.storey, -np.inf), one.top)
    kept = [one for one in pieces if tops[one.storey] > zero + BELOW]
    if not kept or len(kept) == len(pieces):
        return pieces
    told.append(doubt("wall.model_basement", called, count=len(tops) - len({one.storey for one in kept})))
    return kept


def _ring(pieces: Iterable[_Piece]) -> list[Polygon]:
    """Outlines of walls with small gaps closed and the inside filled, the largest first; none where no ring closes."""
    whole = shapely.union_all([one.plan for one in pieces], grid_size=1e-3)
    whole = whole.buffer(GAP, join_style="mitre").buffer(-GAP, join_style="mitre")
    rings = [Polygon(part.exterior) for part in shapely.get_parts(whole) if isinstance(part, Polygon)]
    rings = [ring for ring in rings if not ring.buffer(-THINNEST).is_empty]
    return sorted(rings, key=lambda ring: -ring.area)


def _outline(pieces: list[_Piece], called: str, file: str, told: list[Doubt]) -> Polygon:
    rings = _ring(pieces)
    if not rings:
        raise RefusalError(
            f"the outer walls of {called} in {file} close no ring", "walls all round",
            "Mark every outer wall as external and close the gaps.",
        )  # fmt: skip
    outline = rings[0].simplify(0.01)
    if any(not outline.buffer(GAP).contains(ring) for ring in rings[1:]):
        raise RefusalError(
            f"{called} in {file} stands in {len(rings)} parts", "one outline", "Save each part alone."
        )
    if len(rings) > 1:
        told.append(doubt("wall.model_court", called))
    for storey in {one.storey for one in pieces}:
        own = _ring(one for one in pieces if one.storey == storey)
        if not own or abs(own[0].area - outline.area) > 0.05 * outline.area:
            told.append(doubt("wall.model_storeys_differ", called))
            break
    return outline


def _heights(
    words: dict[str, Any],
    pieces: list[_Piece],
    inside: list[Any],
    degrees: Any,
    called: str,
    told: list[Doubt],
) -> None:
    """Put height, storeys and roof into ``words``."""
    ground = min(one.bottom for one in pieces)
    top = max(one.top for one in pieces)
    bottoms = sorted(
        min(one.bottom for one in pieces if one.storey == storey)
        for storey in {one.storey for one in pieces} - {None}
    )
    storeys = sum(low - below > BELOW for below, low in zip([-np.inf, *bottoms], bottoms, strict=False))
    words["height"] = round(top - ground, 2)
    if storeys and words["height"] / storeys <= TALLEST_STOREY:
        words["storeys"] = storeys
    roofs = [one for one in inside if one.is_a("IfcRoof")]
    forms = {str(getattr(one, "PredefinedType", None) or getattr(one, "ShapeType", None)) for one in roofs}
    form = FORMS.get(forms.pop()) if len(forms) == 1 else None
    highest = [one for one in pieces if one.bottom >= max([ground, *bottoms]) - BELOW]
    low = min(one.top for one in highest)
    if form == "gable" and top - low > TOPS_DIFFER:
        words |= {"height": round(low - ground, 2), "ridge_height": round(top - ground, 2)}
        house = building_from_words(words)
        raised = [one.plan.centroid for one in highest if one.top > low + TOPS_DIFFER]
        ends = degrees(np.array([(one.x, one.y) for one in raised]))
        points = np.column_stack(house.place.plane.to_metres(*ends.T, crs=DEGREES))
        gables = {nearest_wall(house.building.walls, point)[0].name for point in points}
        words |= {"roof": "gable", "gables": sorted(gables)}
        told.append(doubt("wall.model_gables", called, eaves=words["height"], ridge=words["ridge_height"]))
        return
    if top - low > TOPS_DIFFER:
        told.append(doubt("wall.model_tops_differ", called, low=low - ground, top=top - ground))
    if form in ("flat", "hip"):
        words["roof"] = form


def _openings(
    inside: list[Any], walls: list[Any], outline: Polygon, degrees: Any, lib: SimpleNamespace,
    called: str, told: list[Doubt],
) -> list[dict[str, Any]]:  # fmt: skip
    """Windows and doors that stand in the outline, each where it stands and with its name and size."""
    outer = {one.id() for one in walls}
    found, off, unsized = [], 0, 0
    for part in inside:
        if not (part.is_a("IfcWindow") or part.is_a("IfcDoor")) or is_external(part, lib) is False:
            continue
        matrix = np.asarray(lib.placement.get_local_placement(part.ObjectPlacement), dtype=float)
        width, height = ((value or 0.0) * lib.metre for value in (part.OverallWidth, part.OverallHeight))
        shape = shape_of(part, lib)
        at = matrix[:2, 3] * lib.metre + matrix[:2, 0] * width / 2
        if shape is not None:
            at = (shape[0].min(axis=0) + shape[0].max(axis=0))[:2] / 2
        hosts = [one.RelatingOpeningElement.VoidsElements[0].RelatingBuildingElement.id() for one in part.FillsVoids or () if one.RelatingOpeningElement.VoidsElements]  # fmt: skip
        if (hosts and hosts[0] not in outer) or not _in_outline(outline, at, matrix[:2, 0]):
            off += part.is_a("IfcWindow")
            continue
        size = {"width": round(1000 * width), "height": round(1000 * height)}
        if not all(SMALL <= value <= LARGE for value in size.values()):
            unsized += 1
            continue
        spot = degrees(at[None])[0].round(9).tolist()
        found.append(
            {"name": one_line(part.Name)[:LONGEST], "at": spot, **size, "door": part.is_a("IfcDoor")}
        )
    for key, count in (("wall.model_windows_off", off), ("wall.model_openings_unsized", unsized)):
        if count:
            told.append(doubt(key, called, count=count))
    return found


def _in_outline(outline: Polygon, at: np.ndarray, along: np.ndarray) -> bool:
    """Whether a side of the outline runs past a point, the way the opening is wide."""
    corners = np.asarray(outline.exterior.coords)
    sides = shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))
    runs = np.diff(corners, axis=0)
    level = np.abs(runs @ along) >= ALONG * np.hypot(*runs.T) * np.hypot(*along)
    return bool((level & (shapely.distance(sides, shapely.Point(*at)) <= REACH)).any())
