"""The walls of one tile: read, surveyed and looked at as a building of its own each, and laid into arrays."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
import shapely

from exposure.checks import RefusalError
from exposure.district.town import Town, in_reach, outlines_around
from exposure.doubts import as_attribute, doubt
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.cover import COVER_REACH
from exposure.site.footprint import Neighbours, footprint_of, told_height
from exposure.site.place import Site
from exposure.site.plane import DEGREES, LocalPlane, degrees_from, metres_from
from exposure.site.raster import Raster, covering, read_cover, read_ground
from exposure.site.relief import RELIEF_REACH
from exposure.site.sight import AS_TALL, FAR, VIEW, Corners, Sights, are_alike, positions, sights
from exposure.site.survey import survey_site, towns_by_sector
from exposure.wall.building import Wall
from exposure.wall.building_file import words_of_footprint
from exposure.wall.building_words import BuildingFile, building_from_words
from exposure.wall.index import wall_factor
from exposure.wall.roof import RIDGE_TAKEN

Arrays = dict[str, np.ndarray]
TOUCHING = 2.0  # m; a neighbour farther off shares no wall
RELIEF_CUT, COVER_CUT = RELIEF_REACH * 1.1, COVER_REACH * 1.02  # m of raster round a building
SLACK = 2.0  # m of the plane that neighbours are found in, against that of each building


@dataclass(frozen=True)
class Ground:
    """What all buildings of a town are surveyed with."""

    ground: str | None = None  # raster of ground height
    cover: str | None = None  # raster of land cover
    terrain: str | None = None  # category of buildings that tell none


class _Shared(NamedTuple):
    """Rasters cut once for a whole tile; a building takes a cut of its own where that would be finer."""

    ground: Ground
    relief: Raster | None
    cover: Raster | None

    @classmethod
    def of(cls, town: Town, rows: np.ndarray, ground: Ground) -> "_Shared":
        middles = town.middles[rows]
        longitude, latitude = map(float, np.median(middles, axis=0))
        plane = LocalPlane(latitude=latitude, longitude=longitude)
        wide = float(np.hypot(*metres_from(middles[:, 0], middles[:, 1], middle=(longitude, latitude))).max())

        def cut(path: str | None, read: Callable[..., Raster], reach: float) -> Raster | None:
            try:
                return None if path is None else read(path, plane=plane, reach=reach + wide)
            except RefusalError:
                return None  # of this tile's middle; each building is told for itself

        return cls(
            ground,
            cut(ground.ground, read_ground, RELIEF_CUT),
            cut(ground.cover, read_cover, COVER_CUT),
        )

    def at(self, plane: LocalPlane) -> tuple[Raster | None, Raster | None]:
        """Relief and land cover for one building."""
        found = []
        for path, cut, read, reach in (
            (self.ground.ground, self.relief, read_ground, RELIEF_CUT),
            (self.ground.cover, self.cover, read_cover, COVER_CUT),
        ):
            one = None if path is None or cut is None else covering(path, cut, plane)
            found.append(read(path, plane=plane, reach=reach) if one is None and path is not None else one)
        return found[0], found[1]


class _Read(NamedTuple):
    """A building read, and those around it: positions in ``town.sound``, and their tops above its ground [m]."""

    row: int
    file: BuildingFile
    site: Site
    notes: list[str]
    around: np.ndarray
    tops: np.ndarray

    @property
    def middle(self) -> tuple[float, float]:
        plane = self.file.place.plane
        return plane.longitude, plane.latitude


def tile_of(town: Town, rows: np.ndarray, ground: Ground) -> Arrays:
    """Every wall of the buildings in ``rows`` with what its factors hang on, as named arrays.

    Names that begin with ``wall_`` have one entry a wall, ``house_`` one a building. A building that cannot be used
    is set aside: its row in ``left_row``, why in ``left_why``.
    """
    tree = town.tree()
    boxes = town.boxes(rows)
    shared = _Shared.of(town, rows, ground)
    read: list[_Read] = []
    left_out: list[tuple[int, RefusalError]] = []
    for row, box, near in zip(rows.tolist(), boxes, _touching(town, tree, rows), strict=True):
        around = in_reach(town, box, row)
        try:
            file, notes = _building(town, row, near, ground)
            site, tops = _surveyed(town, file, around, shared)
        except RefusalError as reason:
            left_out.append((row, reason))
            continue
        read.append(_Read(int(town.numbers[row]), file, site, notes, around, tops))
    return {
        **_wall_arrays(town, tree, read),
        **_house_arrays(read),
        "left_row": town.numbers[np.array([row for row, _ in left_out], dtype=int)],
        "left_why": np.array([[one.came, one.expected, one.cure] for _, one in left_out], dtype=str).reshape(-1, 3),
    }  # fmt: skip


def _building(town: Town, row: int, touching: np.ndarray, ground: Ground) -> tuple[BuildingFile, list[str]]:
    """One building as its file tells it, walls that touch a neighbour left out; and what was taken for granted."""
    found = footprint_of(town.shapes[row], town.rows[row], crs=town.crs, source=town.source)
    words = words_of_footprint(found, Path(town.source))
    words.pop("not_used", None)  # said once of the file
    words["name"] = str(town.rows[row].get("name") or f"building {town.numbers[row] + 1}")
    notes: list[str] = []
    if ground.terrain is not None and "terrain" not in words["place"]:
        words["place"]["terrain"] = ground.terrain
        notes.append(doubt("district.terrain_stated", category=ground.terrain))
    if town.assumed[row]:
        height = told_height(town.rows[row])[0]
        if height is not None:
            notes.append(doubt("district.height_assumed", height=height))
    if town.overlaps[row]:
        notes.append(doubt("district.overlapped", count=int(town.overlaps[row])))
    plane = found.plane
    near = outlines_around(town, touching, middle=(plane.longitude, plane.latitude))
    neighbours = Neighbours(near, town.heights[touching], town.told_by[touching], town.source)
    file = building_from_words(words, neighbours=neighbours)
    notes += _of_walls(file.building.walls)
    untold = dict.fromkeys(one.what for wall in file.building.walls for one in wall.untold)
    if untold:
        notes.append(doubt("district.untold", what=", ".join(untold)))
    told = [
        one for one in file.place.notes if getattr(one, "key", "") != RIDGE_TAKEN
    ]  # of each roof: too many
    return file, [*told, *notes]


def _of_walls(walls: Sequence[Wall]) -> list[str]:
    """Doubts about single walls, those alike told of the first and the others counted."""
    alike: dict[str, list[str]] = {}
    for wall in walls:
        for flag in wall.flags:
            alike.setdefault(getattr(flag, "key", flag), []).append(flag)
    return [
        first if not more else doubt("district.more_walls", first=str(first), more=len(more))
        for first, *more in alike.values()
    ]


def _touching(town: Town, tree: shapely.STRtree, rows: np.ndarray) -> list[np.ndarray]:
    """Of each building, the neighbours that may share a wall with it."""
    place = np.searchsorted(town.sound, rows)
    mine, other = tree.query(town.outlines[place], predicate="dwithin", distance=TOUCHING)
    apart = place[mine] != other
    mine, other = mine[apart], other[apart]
    order = np.argsort(mine, kind="stable")
    return np.split(other[order], np.searchsorted(mine[order], np.arange(1, rows.size)))


def _surveyed(town: Town, file: BuildingFile, around: np.ndarray, shared: _Shared) -> tuple[Site, np.ndarray]:
    """The site, and the tops of those around above its ground. [m]"""
    place, plane = file.place, file.place.plane
    tops = town.heights[around]
    relief, cover = shared.at(plane)
    towns: Mapping[int, bool] | None = None
    middle = town.middles[town.sound[around]]
    if relief is not None or cover is not None:
        east, north = metres_from(middle[:, 0], middle[:, 1], middle=(plane.longitude, plane.latitude))
    if relief is not None:
        rise = relief.sample(plane, east, north) - relief.sample(plane, np.zeros(1), np.zeros(1))[0]
        tops = tops + np.where(np.isfinite(rise), rise, 0.0)
    if cover is not None:
        area, told = shapely.area(town.outlines[around]), town.told_by[around] != "default"
        towns = towns_by_sector(east, north, area, town.heights[around], told=told)
    site = survey_site(
        place,
        height=min(wall.height for wall in file.building.walls),
        ground=relief,
        cover=cover,
        towns=towns,
    )
    return site, tops


def _wall_arrays(town: Town, tree: shapely.STRtree, read: list[_Read]) -> Arrays:
    walls = [wall for one in read for wall in one.file.building.walls]
    house = np.repeat(np.arange(len(read)), [len(one.file.building.walls) for one in read])
    starts = np.array([wall.start for wall in walls], dtype=float).reshape(-1, 2)
    ends = np.array([wall.end for wall in walls], dtype=float).reshape(-1, 2)
    middle = np.array([one.middle for one in read], dtype=float).reshape(-1, 2)[house]
    facing = np.array([wall.orientation for wall in walls])
    height = np.array([wall.height for wall in walls])
    found = _sights(town, tree, read, _Walls(house, starts, ends, facing, height))
    told = np.array([np.nan if wall.obstacle_distance is None else wall.obstacle_distance for wall in walls])
    return {
        "wall_house": house,
        "wall_name": np.array([wall.name for wall in walls], dtype=str),
        "wall_facing": facing,
        "wall_length": np.array([wall.length for wall in walls]),
        "wall_height": height,
        "wall_area": np.array([wall.area for wall in walls]),
        "wall_shape": np.array([wall.shape for wall in walls], dtype=str),
        "wall_factor": np.array([_factor(wall) for wall in walls]),
        "wall_obstacle": np.where(np.isnan(told), found.distance, told),
        "wall_start": np.column_stack(degrees_from(*starts.T, middle=(middle[:, 0], middle[:, 1]))),
        "wall_end": np.column_stack(degrees_from(*ends.T, middle=(middle[:, 0], middle[:, 1]))),
    }


def _factor(wall: Wall) -> float:
    return wall_factor(shape=wall.shape) if wall.wall_factor is None else wall.wall_factor


class _Walls(NamedTuple):
    """The walls of the buildings read."""

    house: np.ndarray  # its building's place among those read
    starts: np.ndarray  # (wall, 2), metres east and north of its building's middle
    ends: np.ndarray
    facing: np.ndarray  # [degree]
    height: np.ndarray  # [m]


def _sights(town: Town, tree: shapely.STRtree, read: list[_Read], each: _Walls) -> Sights:
    """What each wall sees."""
    house, starts, ends, facing, height = each
    middle = np.array([one.middle for one in read], dtype=float).reshape(-1, 2)
    fans = _fans(town, starts, ends, facing, middle[house])
    wall, obstacle = tree.query(fans, predicate="intersects")
    order = np.argsort(wall, kind="stable")
    wall, obstacle = wall[order], obstacle[order]
    tall = np.zeros(wall.size, dtype=bool)
    alike = np.zeros(house.size, dtype=bool)
    pairs = np.searchsorted(house[wall], np.arange(len(read) + 1))
    walls = np.searchsorted(house, np.arange(len(read) + 1))
    for k, one in enumerate(read):
        tops = np.full(len(town.sound), -np.inf)
        tops[one.around] = one.tops
        own = slice(pairs[k], pairs[k + 1])
        tall[own] = tops[obstacle[own]] >= height[wall[own]] - AS_TALL
        for high in np.unique(height[walls[k] : walls[k + 1]]):
            same = are_alike(town.heights[one.around[one.tops >= high - AS_TALL]])
            alike[walls[k] : walls[k + 1]] |= same & (height[walls[k] : walls[k + 1]] == high)
    wall, obstacle = wall[tall], obstacle[tall]
    pair, which = np.unique(house[wall] * len(town.sound) + obstacle, return_inverse=True)
    of_house, of_town = pair // len(town.sound), pair % len(town.sound)
    at, mine = positions(town.corners.first, of_town)
    east, north = metres_from(town.corners.x[at], town.corners.y[at], middle=tuple(middle[of_house[mine]].T))
    count = town.corners.first[of_town + 1] - town.corners.first[of_town]
    corners = Corners(east, north, town.corners.joins[at], np.concatenate([[0], np.cumsum(count)]))
    return sights(starts, ends, facing, corners, wall=wall, obstacle=which, alike=alike)


def _fans(
    town: Town, starts: np.ndarray, ends: np.ndarray, facing: np.ndarray, middle: np.ndarray
) -> np.ndarray:
    """The ground that the rays of each wall may run over, in the town's plane, with some slack."""
    turn = np.deg2rad(facing)[:, None]
    ahead = np.column_stack([np.sin(turn), np.cos(turn)])
    right = np.column_stack([np.cos(turn), -np.sin(turn)])
    off = (ends - starts) * right
    left, far = (
        np.where(off.sum(axis=1, keepdims=True) > 0, starts, ends),
        np.where(off.sum(axis=1, keepdims=True) > 0, ends, starts),
    )
    wide = SLACK + (FAR + 2 * SLACK) * np.tan(np.deg2rad(VIEW))
    ring = np.stack(
        [
            left - SLACK * right - SLACK * ahead,
            far + SLACK * right - SLACK * ahead,
            far + wide * right + (FAR + SLACK) * ahead,
            left - wide * right + (FAR + SLACK) * ahead,
        ],
        axis=1,
    )
    longitude, latitude = degrees_from(ring[..., 0], ring[..., 1], middle=(middle[:, :1], middle[:, 1:]))
    x, y = town.plane.to_metres(longitude, latitude, crs=DEGREES)
    return shapely.polygons(np.stack([x, y], axis=-1))


def _house_arrays(read: list[_Read]) -> Arrays:
    sites = [one.site for one in read]
    return {
        "house_row": np.array([one.row for one in read], dtype=int),
        "house_name": np.array([one.file.building.name for one in read], dtype=str),
        "house_storeys": np.array([one.file.building.storeys for one in read], dtype=int),
        "house_middle": np.array([one.middle for one in read], dtype=float).reshape(-1, 2),
        "house_terrain": np.array([site.categories for site in sites], dtype=str).reshape(-1, TERRAIN_SECTORS),
        "house_hills": np.array([site.hill_coefficients for site in sites], dtype=float).reshape(-1, TERRAIN_SECTORS),
        "house_guessed": np.array(
            [[k in site.untold.get("terrain", ()) for k in range(TERRAIN_SECTORS)] for site in sites], dtype=bool
        ).reshape(-1, TERRAIN_SECTORS),
        "house_ground": np.array([np.nan if site.ground_height is None else site.ground_height for site in sites]),
        "house_doubts": np.array(
            [as_attribute(dict.fromkeys([*one.notes, *one.site.flags])) for one in read], dtype=str
        ),
    }  # fmt: skip
