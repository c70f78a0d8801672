"""Shelter of each elevation: rays over its view, the nearest obstacles as tall as the wall, and what they may buy."""

import numpy as np
import shapely
from shapely import STRtree

from exposure.site.footprint import Neighbours
from exposure.site.sector import View

VIEW = 60.0  # degrees either side of the wall's normal; our choice
LEAST_VIEW = 0.5  # of the view that must be filled; our choice
FAR = 120.0  # m; farther obstacles shelter nothing, ISO 15927-3 (from memory, not checked)
RAY_STEP = 5.0  # degrees
ORIGINS = (0.1, 0.5, 0.9)  # along the wall; the barest of the three views counts; our choice
STREET_SIDES = 40.0  # m; buildings nearer than this flank a street, and it reaches past them; our choice
STREET = 15.0  # degrees of such a gap that may lead wind to the wall; our choice
ALIKE = 0.25  # of their median height; neighbours within it are a row of similar buildings; our choice
RAYS = np.arange(-VIEW, VIEW + RAY_STEP / 2, RAY_STEP)


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

    An obstacle counts when its top stands as high as the wall's. Rays fan out 60 degrees to both sides of
    the wall's normal from three points of the wall; distances are measured straight in front of the wall.
    The distance that counts is the one within which half the view is filled, from the point that sees most
    sky. Where a gap of 15 degrees between buildings nearer than 40 m reaches farther (a street), or most stopped rays meet one
    similar building behind another (rows), the standard allows no shelter. Hedges and trees never shelter.

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
    tall_for: dict[float, np.ndarray] = {
        float(height): np.flatnonzero(tops >= height - 0.05) for height in np.unique(heights)
    }
    found = []
    for start, end, facing, height in zip(starts, ends, orientations, heights, strict=True):
        tall = tall_for[float(height)]
        found.append(_view(np.asarray(start), np.asarray(end), float(facing), neighbours, tall))
    return found


def _view(
    start: np.ndarray, end: np.ndarray, facing: float, neighbours: Neighbours, tall: np.ndarray
) -> View:
    normal = np.array([np.sin(np.deg2rad(facing)), np.cos(np.deg2rad(facing))])
    origins = np.array([start + (end - start) * along for along in ORIGINS]) + 0.05 * normal
    bearing = np.deg2rad(facing + RAYS)
    reach = FAR / np.cos(np.deg2rad(RAYS))
    way = np.column_stack([np.sin(bearing), np.cos(bearing)])
    tips = origins[:, None, :] + way[None] * reach[None, :, None]
    depth, behind = _depths(origins, tips, normal, neighbours, tall)
    rays = tuple(
        (
            *origins[1].round(2),
            *(
                origins[1]
                + way[i]
                * (reach[i] if not np.isfinite(depth[1, i]) else depth[1, i] / np.cos(np.deg2rad(RAYS[i])))
            ).round(2),
            bool(np.isfinite(depth[1, i])),
        )
        for i in range(RAYS.size)
    )
    filled = float(np.isfinite(depth).mean(axis=1).min())
    if not np.isfinite(depth).any():
        return View(
            None, 0.0, None, False, False, "no building as tall as the wall within 120 m in view", rays
        )
    nearest = float(depth.min())
    half = float(np.quantile(depth, LEAST_VIEW, axis=1, method="higher").max())
    if filled < LEAST_VIEW or not np.isfinite(half):
        return View(
            nearest,
            filled,
            None,
            False,
            False,
            f"buildings as tall as the wall fill {filled:.0%} of the view, half is needed",
            rays,
        )
    stopped = np.isfinite(depth)
    rows = bool((behind & stopped).sum() >= 0.5 * stopped.sum()) and _alike(neighbours.heights[tall])
    street = any(_street(line) for line in depth)
    words = f"buildings as tall as the wall fill half the view within {half:.0f} m"
    if street or rows:
        why = "wind may be led along a street" if street else "rows of similar buildings"
        return View(nearest, filled, None, street, rows, f"{words}, but {why}: no shelter is counted", rays)
    return View(nearest, filled, half, False, False, words, rays)


def _depths(
    origins: np.ndarray, tips: np.ndarray, normal: np.ndarray, neighbours: Neighbours, tall: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Distance in front of the wall at which each ray is stopped, and whether a second building stands behind.

    Infinite where the ray is free. Shapes (origin, ray). [m]
    """
    shape = tips.shape[:2]
    depth, count = np.full(shape, np.inf).ravel(), np.zeros(shape[0] * shape[1], dtype=int)
    if tall.size:
        sight = FAR / np.cos(np.deg2rad(VIEW)) + float(np.hypot(*(origins[-1] - origins[0])))
        near = tall[shapely.distance(neighbours.polygons[tall], shapely.Point(origins[1])) <= sight]
        if near.size:
            ends = np.stack([np.broadcast_to(origins[:, None, :], tips.shape), tips], axis=2)
            lines = np.asarray(shapely.linestrings(ends.reshape(-1, 2, 2)))
            ray, hit = STRtree(neighbours.polygons[near]).query(lines, predicate="intersects")
            pieces = shapely.intersection(lines[ray], neighbours.polygons[near][hit])
            points, of = shapely.get_coordinates(pieces, return_index=True)
            from_origin = (points - np.repeat(origins, shape[1], axis=0)[ray[of]]) @ normal
            np.minimum.at(depth, ray[of], np.maximum(from_origin, 0.0))
            np.add.at(count, ray, 1)
    return depth.reshape(shape), count.reshape(shape) > 1


def _alike(heights: np.ndarray) -> bool:
    middle = float(np.median(heights))
    return bool(np.mean(np.abs(heights - middle) <= ALIKE * middle) >= 0.5)


def _street(depth: np.ndarray) -> bool:
    """Whether a gap of 15 degrees or more that reaches past the near buildings lies between two of them."""
    near = np.flatnonzero(depth <= STREET_SIDES)
    return bool(near.size > 1 and (np.diff(near) - 1).max() >= round(STREET / RAY_STEP))
