"""Walls cut where they cross from one area into another: each piece, and how much of its wall it is."""

from typing import NamedTuple

import numpy as np
import pandas as pd
import shapely
from shapely import STRtree

DEGREE = 111_200.0  # m of latitude; the step need only be small
INWARD = 1e-4  # m; a wall that runs along an edge stands on the side of its building; our choice
ENDS = ("start_longitude", "start_latitude", "end_longitude", "end_latitude")
SAME = 1e-6  # of a wall; less is no gap and no overlap


class Pieces(NamedTuple):
    """Pieces of walls, in no order.

    Parameters
    ----------
    wall, area
        Places of the wall and of the area.
    start, end
        Where on its wall the piece begins and ends, 0 to 1.
    """

    wall: np.ndarray
    area: np.ndarray
    start: np.ndarray
    end: np.ndarray

    @classmethod
    def of_whole(cls, walls: int) -> "Pieces":
        """Every wall whole, in one area."""
        none = np.zeros(walls)
        return cls(np.arange(walls), none.astype(int), none, none + 1)

    @property
    def part(self) -> np.ndarray:
        """How much of its wall each piece is, 0 to 1."""
        return self.end - self.start

    @property
    def middle(self) -> np.ndarray:
        """Whether the middle of the wall lies on the piece."""
        return (self.start <= 0.5) & (self.end > 0.5)

    def covered(self, walls: int) -> np.ndarray:
        """How much of each of ``walls`` lies in any area; what lies in several counts once."""
        order = np.lexsort((self.start, self.wall))
        wall = self.wall[order]
        start, end = self.start[order] + 2 * wall, self.end[order] + 2 * wall  # walls stay apart
        before = np.concatenate([[-1.0], np.maximum.accumulate(end)])[:-1]
        return np.bincount(wall, np.maximum(end - np.maximum(start, before), 0), minlength=walls)


def cut_by_squares(ends: np.ndarray) -> tuple[Pieces, np.ndarray]:
    """Walls cut at the lines of a net of squares of side 1; the corner of each square to the south-west.

    A wall along a line belongs to the square to its north or east, so that it counts once.

    Parameters
    ----------
    ends
        Both ends of each wall, east and north, in sides of a square; shape (wall, 2, 2).

    Examples
    --------
    >>> pieces, corners = cut_by_squares(np.array([[[0.5, 0.5], [2.0, 0.5]]]))
    >>> corners.tolist(), np.round(pieces.part, 9).tolist()
    ([[0, 0], [1, 0]], [0.333333333, 0.666666667])
    """
    walls, cuts = [np.repeat(np.arange(len(ends)), 2)], [np.tile([0.0, 1.0], len(ends))]
    for axis in (0, 1):
        low, high = ends[:, :, axis].min(axis=1), ends[:, :, axis].max(axis=1)
        first = np.floor(low) + 1
        count = np.maximum(np.ceil(high) - first, 0).astype(int)
        wall = np.repeat(np.arange(len(ends)), count)
        line = first[wall] + np.arange(wall.size) - np.repeat(np.cumsum(count) - count, count)
        begin, stop = ends[wall, 0, axis], ends[wall, 1, axis]
        walls.append(wall)
        cuts.append((line - begin) / (stop - begin))
    wall, cut = np.concatenate(walls), np.concatenate(cuts)
    order = np.lexsort((cut, wall))
    wall, cut = wall[order], cut[order]
    whole = (wall[1:] == wall[:-1]) & (cut[1:] > cut[:-1])
    wall, start, end = wall[1:][whole], cut[:-1][whole], cut[1:][whole]
    spot = ends[wall, 0] + (ends[wall, 1] - ends[wall, 0]) * ((start + end) / 2)[:, None]
    corners, area = np.unique(np.floor(spot).astype(int), axis=0, return_inverse=True)
    return Pieces(wall, area.ravel(), start, end), corners


def cut_by_areas(walls: pd.DataFrame, shapes: np.ndarray) -> Pieces:
    """Walls cut where they enter and leave polygons in degrees; one along an edge stands where its building does.

    Parameters
    ----------
    walls
        As :attr:`exposure.district.District.walls`.
    shapes
        Polygons in degrees of longitude and latitude.
    """
    ends = standing_ends(walls)
    lines = shapely.linestrings(ends)
    tree = STRtree(lines)
    area, wall = tree.query(shapes, predicate="intersects")
    inside = np.unique(np.column_stack(tree.query(shapes, predicate="contains")), axis=0)
    across = ~np.isin(area * len(lines) + wall, inside[:, 0] * len(lines) + inside[:, 1])
    parts, of_pair = shapely.get_parts(
        shapely.intersection(lines[wall[across]], shapes[area[across]]), return_index=True
    )
    drawn = shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING
    drawn &= ~shapely.is_empty(parts)
    parts, of_pair = parts[drawn], of_pair[drawn]
    wall, area = wall[across][of_pair], area[across][of_pair]
    along = ends[wall, 1] - ends[wall, 0]
    reached = [
        np.einsum("ij,ij->i", shapely.get_coordinates(shapely.get_point(parts, place)) - ends[wall, 0], along)
        / np.einsum("ij,ij->i", along, along)
        for place in (0, -1)
    ]
    start, end = np.sort(np.round(reached, 12), axis=0)
    none = np.zeros(len(inside))
    return Pieces(
        np.concatenate([inside[:, 1], wall]),
        np.concatenate([inside[:, 0], area]),
        np.concatenate([none, start]),
        np.concatenate([none + 1, end]),
    )


def with_ends(layer: pd.DataFrame) -> pd.DataFrame:
    """Walls read from a layer of lines, both ends as columns beside their figures."""
    ends = shapely.get_coordinates(layer["geometry"].to_numpy()).reshape(-1, 4)
    told = dict(zip(ENDS, ends.T, strict=True))
    return pd.DataFrame(layer.drop(columns="geometry")).assign(**told)


def standing_ends(walls: pd.DataFrame) -> np.ndarray:
    """Both ends of each wall in degrees, a hair towards its building, so that it stands on no edge; shape (wall, 2, 2)."""
    ends = walls[list(ENDS)].to_numpy()
    facing = np.radians(walls["facing"].to_numpy())
    shrink = np.cos(np.radians(walls["start_latitude"].to_numpy()))
    out = INWARD / DEGREE * np.column_stack([np.sin(facing) / shrink, np.cos(facing)])
    return ends.reshape(-1, 2, 2) - out[:, None]
