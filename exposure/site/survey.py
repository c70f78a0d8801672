"""A site surveyed from open geodata: ground and hills of the twelve sectors, sea, and every doubt on the way."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from exposure.checks import RefusalError, check_between
from exposure.doubts import Doubt, doubt
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.cover import FETCH, SEA_FETCH, terrain_by_sector
from exposure.site.footprint import Neighbours
from exposure.site.place import Site
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster
from exposure.site.relief import Lines, hills_by_sector
from exposure.site.rough_country import high_ground_doubts, rough_country_flags
from exposure.site.scatter import scatter_doubt
from exposure.site.sector import SectorGround, SectorHill

TOWN_SHARE, TOWN_HEIGHT = (
    0.15,
    15.0,
)  # built over, and mean height [m], ISO 15927-3 (from memory, not checked)
HALF_KNOWN = 0.5  # of a sector's ground; less is flagged; our choice
SECTOR_NAMES = tuple(str(k * 360 // TERRAIN_SECTORS) for k in range(TERRAIN_SECTORS))
HARDEST_TERRAIN = "I"  # taken where nobody tells the ground


@dataclass(frozen=True)
class PlaceInputs:
    """What is told of a place, by a building's file or a row of a list.

    Parameters
    ----------
    name
        Of the place.
    plane
        Its middle is the building.
    terrain, topography
        The user's own values: one for all, or by sector (``"0"``, ``"30"``, ... ``"330"``). They win; None where nothing is told.
    sea_distance
        In metres.
    footprint
        In metres of ``plane``; None when only elevations are given.
    notes
        What was assumed on the way, as sentences.
    """

    name: str
    plane: LocalPlane
    terrain: Mapping[str, str] | str | None = None
    topography: Mapping[str, float] | float | None = None
    sea_distance: float | None = None
    footprint: Polygon | None = None
    notes: tuple[str, ...] = ()


def survey_site(
    place: PlaceInputs,
    *,
    height: float,
    ground: Raster | None = None,
    cover: Raster | None = None,
    towns: Mapping[int, bool] | None = None,
    instead: Mapping[int, int] | None = None,
) -> Site:
    """The site of a building, from what is known of it.

    Parameters
    ----------
    place
        What is told of it.
    height
        Of the walls' top, for the hills. [m]
    ground, cover, towns
        What to survey with, ``towns`` from :func:`town_sectors`; without a land-cover raster the ground is open (category I) everywhere, without a
        ground raster it is flat, and both are flagged and kept in ``Site.untold``.
    instead
        Land-cover codes to be read as others (see :func:`exposure.site.cover.terrain_by_sector`).
    """
    plane, terrain, topography = place.plane, place.terrain, place.topography
    flags: list[str] = []
    untold: dict[str, tuple[int, ...]] = {}
    grounds: tuple[SectorGround, ...] = ()
    categories = [HARDEST_TERRAIN] * TERRAIN_SECTORS
    if cover is not None:
        grounds = terrain_by_sector(cover, plane, towns=towns, instead=instead)
        categories = [one.category for one in grounds]
        flags += [*cover.flags, *_cover_flags(grounds)]
    elif len(by_sector(terrain, "terrain")) < TERRAIN_SECTORS:
        untold["terrain"] = _others(by_sector(terrain, "terrain"))
        flags.append(doubt("site.ground_not_told"))
    coefficients = [1.0] * TERRAIN_SECTORS
    hills: tuple[SectorHill, ...] = ()
    ground_height = None
    if ground is not None:
        lines = Lines(ground, plane, height=height)
        hills, doubts = hills_by_sector(ground, plane, height=height, lines=lines)
        coefficients = [hill.coefficient for hill in hills]
        flags += [*doubts, *rough_country_flags(ground, plane)]
        flags += scatter_doubt(ground, plane, hills, height=height, lines=lines)
        middle = float(ground.sample(plane, np.zeros(1), np.zeros(1))[0])
        ground_height = middle if np.isfinite(middle) else None
        flags += high_ground_doubts(ground_height)
        if ground_height is None:
            flags.append(doubt("site.gap_at_building", ground.source))
    elif len(by_sector(topography, "topography")) < TERRAIN_SECTORS:
        untold["hills"] = _others(by_sector(topography, "topography"))
        flags.append(doubt("site.hills_not_told"))
    for k, value in by_sector(terrain, "terrain").items():
        categories[k] = str(value)
        if grounds:
            grounds = _replaced(
                grounds, k, replace(grounds[k], category=str(value), reason="set by the user")
            )
    for k, value in by_sector(topography, "topography").items():
        coefficients[k] = check_between(value, "topography coefficient", 1, 1.6, "")
    shores = [one.sea_distance for one in grounds if one.sea_distance is not None]
    return Site(
        name=place.name,
        latitude=plane.latitude,
        longitude=plane.longitude,
        terrain=tuple(categories),
        topography=tuple(coefficients),
        ground_height=ground_height,
        sea_distance=place.sea_distance if place.sea_distance is not None else min(shores, default=None),
        flags=tuple(dict.fromkeys(flags)),
        grounds=grounds,
        hills=hills,
        untold=untold,
    )


def _others(told: Mapping[int, Any]) -> tuple[int, ...]:
    return tuple(k for k in range(TERRAIN_SECTORS) if k not in told)


def by_sector(given: Mapping | str | float | None, what: str) -> dict[int, Any]:
    """The user's values by sector number; one value goes to all twelve.

    Examples
    --------
    >>> by_sector({"240": "I"}, "terrain")
    {8: 'I'}
    """
    if given is None:
        return {}
    if not isinstance(given, Mapping):
        return dict.fromkeys(range(TERRAIN_SECTORS), given)
    strange = [str(key) for key in given if str(key) not in SECTOR_NAMES]
    if strange:
        raise RefusalError(
            f"{what} is given for {', '.join(strange[:4])}",
            f"sectors {', '.join(SECTOR_NAMES)}",
            "Name the sector the wind comes from, in degrees.",
        )
    return {SECTOR_NAMES.index(str(key)): value for key, value in given.items()}


def town_sectors(neighbours: Neighbours) -> dict[int, bool]:
    """Sectors in which heights prove a town: 15 % of the ground built over within 1 km, mean height above 15 m.

    Only buildings whose height or storeys are told count towards the proof.
    """
    middle = shapely.centroid(neighbours.polygons)
    return towns_by_sector(
        shapely.get_x(middle),
        shapely.get_y(middle),
        shapely.area(neighbours.polygons),
        neighbours.heights,
        told=neighbours.told_by != "default",
    )


def towns_by_sector(
    east: np.ndarray, north: np.ndarray, area: np.ndarray, heights: np.ndarray, *, told: np.ndarray
) -> dict[int, bool]:
    """As :func:`town_sectors`, from the middles [m], areas [m2] and heights [m] of the buildings around."""
    near = (np.hypot(east, north) <= FETCH) & told
    bearing = np.rad2deg(np.arctan2(east, north)) % 360
    width = 360.0 / TERRAIN_SECTORS
    sector = (np.floor((bearing + width / 2) / width) % TERRAIN_SECTORS).astype(int)
    whole = np.pi * FETCH**2 / TERRAIN_SECTORS
    proven = {}
    for k in range(TERRAIN_SECTORS):
        here = near & (sector == k)
        built = area[here].sum()
        mean = float((area[here] * heights[here]).sum() / built) if built else 0.0
        proven[k] = bool(built >= TOWN_SHARE * whole and mean > TOWN_HEIGHT)
    return proven


def _cover_flags(grounds: tuple[SectorGround, ...]) -> list[Doubt]:
    thin = [f"{one.bearing:.0f}" for one in grounds if one.known < HALF_KNOWN]
    short = [
        one for one in grounds if one.reach < SEA_FETCH and one.known >= HALF_KNOWN and one.open_water == 0
    ]
    flags = []
    if short:
        nearest = min(one.reach for one in short)
        flags.append(
            doubt(
                "site.cover_ends",
                away=nearest / 1000,
                bearings=", ".join(f"{one.bearing:.0f}" for one in short),
            )
        )
    if not thin:
        return flags
    return [
        *flags,
        doubt("site.cover_half_known", bearings=", ".join(thin)),
    ]


def _replaced(grounds: tuple[SectorGround, ...], k: int, new: SectorGround) -> tuple[SectorGround, ...]:
    return (*grounds[:k], new, *grounds[k + 1 :])
