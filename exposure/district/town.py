"""The footprints of a town read once: each building's outline and height, and which stand around which."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import STRtree

from exposure.checks import RefusalError
from exposure.climate.grid.marks import mark
from exposure.doubts import Doubt, doubt
from exposure.site.footprint import (
    DEFAULT_HEIGHT,
    INSIDE,
    ITSELF,
    LARGEST,
    NEIGHBOUR_REACH,
    OVERLAP,
    footprint_of,
    inside_another,
    sound_outlines,
    told_height,
    tops_told,
)
from exposure.site.height_raster import heights_from_raster
from exposure.site.plane import LocalPlane, degrees_from, from_degrees, metres_from, readable_crs, to_degrees
from exposure.site.sight import Corners, corners_of, positions
from exposure.site.vector_file import read_shapes
from exposure.wall.building_file import PROPERTIES

MOST_BUILDINGS = 1_000_000  # of one file; our choice
TILE = (0.006, 0.004)  # degrees of longitude and latitude; our choice
MOST_IN_TILE = 200  # buildings; our choice


@dataclass(frozen=True, eq=False)
class Town:
    """Footprints of one file.

    Parameters
    ----------
    source
        File name.
    crs
        As text.
    shapes, rows
        As the file holds them, the height among the properties wherever it was told.
    refused
        Rows that are no building, with the reason.
    sound
        Rows that may stand around others.
    plane, outlines
        Every sound outline in metres of one plane, for finding and overlaps alone.
    corners
        Of the outlines of ``sound``. [degree]
    middles
        Longitude and latitude of each row's middle; shape (row, 2). [degree]
    heights, told_by
        Of the tops of ``sound``; see :class:`exposure.site.footprint.Neighbours`.
    overlaps
        Of each row: how many others lie over it.
    numbers
        Of the rows in the file, from 0.
    assumed
        Rows whose height nobody told.
    notes
        On the file as a whole.
    """

    source: str
    crs: str
    shapes: np.ndarray
    rows: list[dict[str, Any]]
    refused: Mapping[int, RefusalError]
    sound: np.ndarray
    plane: LocalPlane
    outlines: np.ndarray
    corners: Corners
    middles: np.ndarray
    heights: np.ndarray
    told_by: np.ndarray
    overlaps: np.ndarray
    assumed: np.ndarray
    bounds: np.ndarray  # of the shapes, in their own system
    numbers: np.ndarray
    notes: tuple[str, ...] = field(default=())

    def tree(self) -> STRtree:
        """To find outlines in :attr:`plane` by; positions in ``sound``."""
        return STRtree(self.outlines)

    def boxes(self, rows: np.ndarray) -> np.ndarray:
        """Bounds of the square of 1.5 km round each building, in the file's system; shape (building, 4)."""
        side = np.linspace(-NEIGHBOUR_REACH, NEIGHBOUR_REACH, 5)
        east, north = (corner.ravel() for corner in np.meshgrid(side, side))
        middle = self.middles[rows, None, 0], self.middles[rows, None, 1]
        longitude, latitude = degrees_from(east, north, middle=middle)
        x, y = from_degrees(longitude, latitude, crs=self.crs)
        return np.column_stack([np.min(x, 1), np.min(y, 1), np.max(x, 1), np.max(y, 1)])


def read_town(
    path: str | Path,
    *,
    height_column: str | None = None,
    heights: str | Path | None = None,
    default_height: float | None = None,
    weight_column: str | None = None,
    most: int = MOST_BUILDINGS,
) -> Town:
    """Read every building of a vector file.

    Parameters
    ----------
    height_column
        Property that holds the height, where it has another name than those known. [m]
    heights
        Raster of heights above the ground, for buildings that tell none.
    default_height
        Of buildings whose height nobody tells; without it they are left out. As neighbours they shelter nothing. [m]
    weight_column
        Property that buildings are summed by, and so not told of as unused.
    most
        Buildings the file may hold.

    Raises
    ------
    RefusalError
        When the file cannot be read, or has no coordinate system.
    """
    source = Path(path).name
    shapes, crs, rows = read_shapes(path)
    if len(shapes) > most:
        raise RefusalError(
            f"{source} holds {len(shapes):,} buildings", f"at most {most:,}", "Cut it into parts."
        )
    readable_crs(crs)
    shapes = shapely.force_2d(np.asarray(shapes, dtype=object))
    for parameter, column in (("height_column", height_column), ("weight_column", weight_column)):
        _check_column(rows, column, source, parameter=parameter)
    if height_column is not None:
        rows = [{**row, "height": row.get(height_column)} for row in rows]
    measured: dict[int, float] = {}
    if heights is not None:
        flat = np.flatnonzero(sound_outlines(shapes) & _without_height(rows))
        measured = heights_from_raster(heights, shapes, flat.tolist(), crs=crs)
        rows = [{**row, "height": measured[i]} if i in measured else row for i, row in enumerate(rows)]
    tops, assumed = rows, _without_height(rows)
    if default_height is not None:
        rows = [
            {**row, "height": default_height} if none else row
            for row, none in zip(rows, assumed, strict=True)
        ]
    finite, middles = _middles(shapes, crs)
    sound = np.flatnonzero(sound_outlines(shapes) & finite)
    plane = _middle_plane(middles[sound], source)
    outlines = _in_plane(shapes[sound], crs, plane)
    area = shapely.area(outlines)
    sound, outlines = sound[area <= LARGEST], outlines[area <= LARGEST]
    refused = _reasons(shapes, rows, sound[_is_one(shapes[sound])], crs, source)
    high, told_by, strange = tops_told([tops[i] for i in sound], outlines)
    overlaps, inside, again = _overlaps(sound, outlines, len(rows))
    refused |= {row: inside_another(source) for row in inside if row not in refused}
    refused |= {row: _twice(row, first) for row, first in again.items() if row not in refused}
    once = ~np.isin(sound, list(again))  # a building drawn twice is no neighbour of itself
    sound, outlines, high, told_by = sound[once], outlines[once], high[once], told_by[once]
    degrees = shapely.transform(
        shapes[sound], lambda xy: np.column_stack(to_degrees(xy[:, 0], xy[:, 1], crs=crs))
    )
    return Town(
        source=source, crs=crs, shapes=shapes, rows=rows, refused=refused, sound=sound, plane=plane,
        outlines=outlines, corners=corners_of(degrees), middles=middles, heights=high, told_by=told_by,
        overlaps=overlaps, assumed=assumed, bounds=shapely.bounds(shapes), numbers=np.arange(len(rows)),
        notes=tuple(_notes(source, rows, told_by, strange, int(np.sum(area > LARGEST)), measured, weight_column)),
    )  # fmt: skip


def _check_column(
    rows: Sequence[Mapping[str, Any]], column: str | None, source: str, *, parameter: str
) -> None:
    if column is not None and not any(column in row for row in rows):
        names = ", ".join(sorted({str(key) for row in rows[:50] for key in row})[:12]) or "no properties"
        raise RefusalError(
            f"{source} has no property {column[:60]!r}", f"one of {names}", "Correct the name.",
            parameter=parameter,
        )  # fmt: skip


def _without_height(rows: Sequence[Mapping[str, Any]]) -> np.ndarray:
    return np.array([told_height(row) == (None, None) for row in rows], dtype=bool)


def _is_one(shapes: np.ndarray) -> np.ndarray:
    return shapely.get_num_geometries(shapes) == 1


def _reasons(
    shapes: np.ndarray, rows: Sequence[dict[str, Any]], fit: np.ndarray, crs: str, source: str
) -> dict[int, RefusalError]:
    """Why each row that is not among ``fit`` is no building."""
    refused = {}
    for row in np.setdiff1d(np.arange(len(shapes)), fit).tolist():
        try:
            footprint_of(shapes[row], rows[row], crs=crs, source=source)
        except RefusalError as reason:
            refused[row] = reason
    return refused


def _middles(shapes: np.ndarray, crs: str) -> tuple[np.ndarray, np.ndarray]:
    """Whether each shape lies on the earth, and longitude and latitude of its middle. [degree]"""
    x, y = np.full((2, len(shapes)), np.nan)
    middles = shapely.centroid(shapes)
    filled = shapely.get_num_coordinates(middles) > 0  # neither empty nor missing
    x[filled], y[filled] = shapely.get_coordinates(middles).T
    bounds = shapely.bounds(shapes)
    ends = [to_degrees(bounds[:, k], bounds[:, k + 1], crs=crs) for k in (0, 2)]
    sound = np.isfinite(bounds).all(axis=1)
    for longitude, latitude in ends:
        sound &= np.isfinite(longitude) & (np.abs(latitude) <= 90) & (np.abs(longitude) <= 360)
    return sound, np.column_stack(to_degrees(x, y, crs=crs))


def _middle_plane(middles: np.ndarray, source: str) -> LocalPlane:
    if not len(middles):
        raise RefusalError(f"{source} holds no sound polygon", "outlines of buildings", "Check the file.")
    return LocalPlane(latitude=float(np.median(middles[:, 1])), longitude=float(np.median(middles[:, 0])))


def _in_plane(shapes: np.ndarray, crs: str, plane: LocalPlane) -> np.ndarray:
    return shapely.transform(shapes, lambda xy: np.column_stack(plane.to_metres(xy[:, 0], xy[:, 1], crs=crs)))


def _overlaps(
    sound: np.ndarray, outlines: np.ndarray, count: int
) -> tuple[np.ndarray, list[int], dict[int, int]]:
    """Of each row how many lie over it; rows inside a larger one; rows that repeat an earlier one, with that one."""
    one, other = STRtree(outlines).query(outlines, predicate="intersects")
    one, other = one[one != other], other[one != other]
    area = shapely.area(outlines)
    shared = shapely.area(shapely.intersection(outlines[one], outlines[other]))
    union = area[one] + area[other] - shared
    itself = shared > ITSELF * union
    inside = (shared > INSIDE * area[one]) & ~itself
    over = (shared > OVERLAP) & ~itself
    overlaps = np.zeros(count, dtype=int)
    np.add.at(overlaps, sound[one[over]], 1)
    later = itself & (one > other)
    again = dict(zip(sound[one[later]].tolist(), sound[other[later]].tolist(), strict=True))
    return overlaps, np.unique(sound[one[inside]]).tolist(), again


def _twice(row: int, first: int) -> RefusalError:
    return RefusalError(
        f"building {row + 1} lies on building {first + 1}",
        "each building once",
        "Remove one of them; the first is assessed.",
    )


def _notes(
    source: str,
    rows: Sequence[Mapping[str, Any]],
    told_by: np.ndarray,
    strange: int,
    large: int,
    measured: Mapping[int, float],
    weight_column: str | None,
) -> list[Doubt]:
    notes = []
    unknown = int((told_by == "default").sum())
    if unknown:
        notes.append(
            doubt("district.heights_not_told", source, count=unknown, of=told_by.size, assumed=DEFAULT_HEIGHT)
        )
    if strange:
        notes.append(doubt("site.heights_against_storeys", source, count=strange))
    if large:
        notes.append(doubt("site.too_large_outlines", source, count=large))
    if measured:
        notes.append(doubt("district.heights_measured", source, count=len(measured)))
    unused = sorted(
        {key for row in rows for key, value in row.items() if value is not None}
        - PROPERTIES
        - {weight_column}
    )
    if unused:
        more = f" and {len(unused) - 8} more" if len(unused) > 8 else ""
        notes.append(doubt("district.properties_not_used", source, names=", ".join(unused[:8]) + more))
    return notes


def tiles_of(town: Town) -> list[np.ndarray]:
    """Rows of the buildings to assess, in tiles of neighbours, the same for the same places whatever else the file holds."""
    rows = np.array([i for i in range(len(town.rows)) if i not in town.refused], dtype=int)
    place = np.floor(town.middles[rows] / TILE).astype(int)
    order = np.lexsort((rows, place[:, 0], place[:, 1]))
    rows, place = rows[order], place[order]
    cuts = np.flatnonzero(np.any(np.diff(place, axis=0) != 0, axis=1)) + 1
    return [
        tile[first : first + MOST_IN_TILE]
        for tile in np.split(rows, cuts)
        for first in range(0, tile.size, MOST_IN_TILE)
    ]


def marks_of(town: Town, tiles: Sequence[np.ndarray]) -> list[str]:
    """A short name for all that each tile's walls depend on in the file: its buildings, and those within reach."""
    wkb = shapely.to_wkb(town.shapes)
    own = np.array([mark(repr((wkb[i], row))) for i, row in enumerate(town.rows)])
    around = np.array([mark(repr((wkb[i], top))) for i, top in zip(town.sound, town.heights, strict=True)])
    names = []
    for tile in tiles:
        near = np.flatnonzero(_touch(town.bounds[town.sound], _whole(town.boxes(tile))))
        names.append(mark(repr((town.crs, tile.tolist(), own[tile].tolist(), around[near].tolist()))))
    return names


def part_of(town: Town, tile: np.ndarray) -> tuple[Town, np.ndarray]:
    """The buildings of a tile and all within reach of them, as a town of its own, and the tile's rows in it."""
    near = np.flatnonzero(_touch(town.bounds[town.sound], _whole(town.boxes(tile))))
    rows = np.union1d(tile, town.sound[near])
    mine = set(tile.tolist())
    at, _ = positions(town.corners.first, near)
    count = town.corners.first[near + 1] - town.corners.first[near]
    part = replace(
        town,
        shapes=town.shapes[rows],
        rows=[town.rows[row] if row in mine else {} for row in rows.tolist()],
        refused={},
        sound=np.searchsorted(rows, town.sound[near]),
        outlines=town.outlines[near],
        corners=Corners(
            town.corners.x[at],
            town.corners.y[at],
            town.corners.joins[at],
            np.concatenate([[0], np.cumsum(count)]),
        ),
        middles=town.middles[rows],
        heights=town.heights[near],
        told_by=town.told_by[near],
        overlaps=town.overlaps[rows],
        assumed=town.assumed[rows],
        bounds=town.bounds[rows],
        numbers=town.numbers[rows],
        notes=(),
    )
    return part, np.searchsorted(rows, tile)


def _whole(boxes: np.ndarray) -> np.ndarray:
    return np.concatenate([boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)])


def _touch(bounds: np.ndarray, box: np.ndarray) -> np.ndarray:
    """Which of ``bounds`` touch ``box``."""
    return (
        (bounds[:, 0] <= box[2]) & (bounds[:, 2] >= box[0]) & (bounds[:, 1] <= box[3]) & (bounds[:, 3] >= box[1])
    )  # fmt: skip


def in_reach(town: Town, box: np.ndarray, row: int) -> np.ndarray:
    """Positions in ``town.sound`` of the buildings around one, itself and what repeats it left out."""
    near = _touch(town.bounds[town.sound], box)
    return np.flatnonzero(near & (town.sound != row))


def outlines_around(town: Town, chosen: np.ndarray, *, middle: tuple[float, float]) -> np.ndarray:
    """Outlines of buildings, by their position in ``town.sound``, in the plane of ``middle``."""
    shapes = town.shapes[town.sound[chosen]]

    def in_metres(xy: np.ndarray) -> np.ndarray:
        return np.column_stack(metres_from(*to_degrees(xy[:, 0], xy[:, 1], crs=town.crs), middle=middle))

    return shapely.transform(shapes, in_metres)
