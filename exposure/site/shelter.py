"""Shelter of each elevation: the nearest obstacles as tall as the wall in its view, and what they may buy, in words."""

import numpy as np
import shapely

from exposure.site.footprint import Neighbours
from exposure.site.sector import View
from exposure.site.sight import (
    AS_TALL,
    FAR,
    LEAST_VIEW,
    RAYS,
    SIGHT,
    Corners,
    Sights,
    are_alike,
    corners_of,
    sights,
)


def views(
    starts: np.ndarray,
    ends: np.ndarray,
    orientations: np.ndarray,
    heights: np.ndarray,
    neighbours: Neighbours,
    *,
    tops: np.ndarray | None = None,
) -> list[View]:
    """View from each elevation of one building.

    An obstacle counts when its top stands as high as the wall's; distances are measured straight in front of the
    wall. The distance that counts is the one within which half the view is filled, from the point that sees most
    sky; see :func:`exposure.site.sight.sights`. Hedges and trees never shelter.

    Parameters
    ----------
    starts, ends
        Corners of the walls, shape (wall, 2). [m east, m north]
    orientations, heights
        Of the walls; shape (wall,). [degree, m]
    neighbours
        Buildings around, without the building itself.
    tops
        Height of each neighbour's top above the ground of the building, where the ground is known. [m]
    """
    tops = neighbours.heights if tops is None else tops
    tall = tops >= np.asarray(heights)[:, None] - AS_TALL  # (wall, neighbour)
    lines = shapely.linestrings(np.stack([starts, ends], axis=1))
    near = shapely.dwithin(lines[:, None], neighbours.polygons[None, :], SIGHT + 1.0)
    used = np.flatnonzero((tall & near).any(axis=0))
    wall, obstacle = np.nonzero((tall & near)[:, used])
    corners = corners_of(neighbours.polygons[used]) if used.size else _NONE
    alike = np.array([are_alike(neighbours.heights[mine]) for mine in tall])
    found = sights(starts, ends, orientations, corners, wall=wall, obstacle=obstacle, alike=alike)
    return [_in_words(found, i, float(facing)) for i, facing in enumerate(orientations)]


_NONE = Corners(np.zeros(0), np.zeros(0), np.zeros(0, dtype=bool), np.zeros(1, dtype=int))


def _in_words(found: Sights, i: int, facing: float) -> View:
    rays = _rays(found.origins[i, 1], found.depth[i, 1], facing)
    nearest, filled, half = float(found.nearest[i]), float(found.filled[i]), float(found.half[i])
    if not np.isfinite(nearest):
        words = f"no building as tall as the wall within {FAR:.0f} m in view"
        return View(None, 0.0, None, False, False, words, rays)
    if filled < LEAST_VIEW or not np.isfinite(half):
        words = f"buildings as tall as the wall fill {filled:.0%} of the view, half is needed"
        return View(nearest, filled, None, False, False, words, rays)
    street, rows = bool(found.street[i]), bool(found.rows[i])
    words = f"buildings as tall as the wall fill half the view within {half:.0f} m"
    if street or rows:
        why = "wind may be led along a street" if street else "rows of similar buildings"
        return View(nearest, filled, None, street, rows, f"{words}, but {why}: no shelter is counted", rays)
    return View(nearest, filled, half, False, False, words, rays)


def _rays(
    origin: np.ndarray, depth: np.ndarray, facing: float
) -> tuple[tuple[float, float, float, float, bool], ...]:
    """Start and end of each ray from the middle of the wall, and whether it was stopped."""
    bearing, stopped = np.deg2rad(facing + RAYS), np.isfinite(depth)
    reach = np.where(stopped, depth, FAR) / np.cos(np.deg2rad(RAYS))
    tips = (origin + np.column_stack([np.sin(bearing), np.cos(bearing)]) * reach[:, None]).round(2)
    x, y = origin.round(2)
    return tuple(
        (float(x), float(y), float(east), float(north), bool(stop))
        for (east, north), stop in zip(tips, stopped, strict=True)
    )
