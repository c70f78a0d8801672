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
    seen = [*walls, *(other for wall in walls for one in wall.untold for _, other in one.answers)]
    found = views(
        np.array([wall.start for wall in seen]),
        np.array([wall.end for wall in seen]),
        np.array([wall.orientation for wall in seen]),
        np.array([wall.height for wall in seen]),
        neighbours,
        tops=tops,
    )
    looked = [
        replace(wall, view=view, obstacle_distance=view.distance) if wall.obstacle_distance is None else wall
        for wall, view in zip(seen, found, strict=True)
    ]
    answers = iter(looked[len(walls) :])
    return tuple(wall.otherwise(lambda _: next(answers)) for wall in looked[: len(walls)])
