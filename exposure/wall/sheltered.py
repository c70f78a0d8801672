"""Walls with what stands in front of them: distances that count, and the view kept for the sheet."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from exposure.checks import RefusalError
from exposure.site.footprint import Neighbours
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster
from exposure.site.shelter import views
from exposure.wall.building import Wall


def sheltered_walls(
    walls: Sequence[Wall],
    neighbours: Neighbours,
    *,
    plane: LocalPlane | None = None,
    ground: Raster | None = None,
) -> tuple[Wall, ...]:
    """``walls`` with the obstacle distance their view gives; a distance set by the user stays.

    Parameters
    ----------
    walls
        With corners in metres of the plane the neighbours are in.
    plane, ground
        Where given, a neighbour on lower ground counts with its top's height above the building's ground.

    Raises
    ------
    RefusalError
        When a wall has no corners.
    """
    for wall in walls:
        if wall.start is None or wall.end is None:
            raise RefusalError(
                f"the {wall.name} elevation has no corners",
                "corners in metres",
                "Give the building's footprint.",
            )
    tops = None
    if ground is not None and plane is not None and neighbours.polygons.size:
        middle = shapely.centroid(neighbours.polygons)
        theirs = ground.sample(plane, shapely.get_x(middle), shapely.get_y(middle))
        own = float(ground.sample(plane, np.zeros(1), np.zeros(1))[0])
        rise = theirs - own
        tops = neighbours.heights + np.where(np.isfinite(rise), rise, 0.0)
    found = views(
        np.array([wall.start for wall in walls]),
        np.array([wall.end for wall in walls]),
        np.array([wall.orientation for wall in walls]),
        np.array([wall.height for wall in walls]),
        neighbours,
        tops=tops,
    )
    return tuple(
        replace(wall, view=view, obstacle_distance=view.distance) if wall.obstacle_distance is None else wall
        for wall, view in zip(walls, found, strict=True)
    )
