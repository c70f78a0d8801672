"""Buildings beside the house that the reader drew or typed: each at its own place, so that the house may move.

Derived from the designer's question which elevation is worst: where no map of neighbours is at hand, whoever stands on
the site can still say what stands there and how tall it is.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon

from exposure.checks import RefusalError
from exposure.doubts import doubt
from exposure.draw.outline_sides import sides_of
from exposure.figures import metres
from exposure.page.choices.outline_text import outline_of_ring
from exposure.page.choices.state import MOST_BESIDE, Beside, Box
from exposure.site.footprint import (
    INSIDE,
    NEIGHBOUR_REACH,
    OVERLAP,
    Neighbours,
    check_size,
    inside_another,
    one_polygon,
)
from exposure.site.plane import DEGREES, LocalPlane
from exposure.wall.building import box_building, compass_name

SOURCE = "what you told"


def beside_of_ring(ring: np.ndarray, *, height: float) -> Beside:
    """A building beside from corners drawn on the map, latitude and longitude of each. [degree, m]"""
    at, outline = outline_of_ring(ring)
    return Beside(*at, outline.corners, height)


def beside_of_sizes(
    at: tuple[float, float],
    *,
    away: float,
    towards: float,
    length: float,
    width: float,
    bearing: float,
    height: float,
) -> Beside:
    """A rectangle whose middle lies ``away`` metres from a position, ``towards`` a bearing. [m, degree]

    Examples
    --------
    >>> one = beside_of_sizes((50.0, 8.0), away=20, towards=90, length=12, width=8, bearing=0, height=6)
    >>> one.latitude, round(one.longitude, 5)  # 20 m of a degree of 71.7 km
    (50.0, 8.00028)
    """  # fmt: skip
    turn = np.deg2rad(towards)
    plane = LocalPlane(latitude=at[0], longitude=at[1])
    longitude, latitude = plane.to_crs(
        np.array([away * np.sin(turn)]), np.array([away * np.cos(turn)]), crs=DEGREES
    )
    box = box_building(
        name="", length=length, width=width, bearing=bearing, height=height, storeys=Box().storeys
    )
    ring = [wall.start for wall in sorted(box.walls, key=lambda wall: -wall.orientation)]
    corners = tuple((round(float(one[0]), 2), round(float(one[1]), 2)) for one in ring if one is not None)
    return Beside(round(float(latitude[0]), 5), round(float(longitude[0]), 5), corners, height)


def with_another(beside: Sequence[Beside], new: Beside) -> tuple[Beside, ...]:
    """The buildings beside and one more.

    Raises
    ------
    RefusalError
        When it is no building's outline, or there are as many as an address carries.
    """
    if len(beside) >= MOST_BESIDE:
        raise RefusalError(
            f"a building more than {MOST_BESIDE}", f"at most {MOST_BESIDE} beside", "Take one away first."
        )
    check_size(one_polygon(Polygon(new.corners)))
    return (*beside, new)


def neighbours_told(beside: Sequence[Beside], plane: LocalPlane, *, own: Polygon | None) -> Neighbours:
    """The buildings beside in the plane of a house; those too far to matter are left out.

    Raises
    ------
    RefusalError
        When ``own`` stands inside one of them.
    """
    outlines, heights, over = [], [], 0
    for one in beside:
        outline = _in_plane(one, plane)
        if shapely.distance(outline, shapely.Point(0, 0)) > NEIGHBOUR_REACH:
            continue
        common = 0.0 if own is None else outline.intersection(own).area
        if own is not None and common > INSIDE * own.area:
            raise inside_another(SOURCE)
        over += common > OVERLAP
        outlines.append(outline)
        heights.append(one.height)
    flags = [doubt("site.neighbours_by_hand", count=len(outlines))] if outlines else []
    flags += [doubt("site.overlapping_neighbours", SOURCE, count=over)] if over else []
    told = np.full(len(outlines), "height", dtype=object)
    return Neighbours(np.array(outlines, dtype=object), np.array(heights), told, SOURCE, tuple(flags))


def _in_plane(one: Beside, plane: LocalPlane) -> Polygon:
    there = LocalPlane(latitude=one.latitude, longitude=one.longitude)
    longitude, latitude = there.to_crs(*np.asarray(one.corners, dtype=float).T, crs=DEGREES)
    east, north = plane.to_metres(longitude, latitude, crs=DEGREES)
    return one_polygon(Polygon(np.column_stack([east, north])))


def beside_words(one: Beside, at: tuple[float, float]) -> str:
    """Size, height and where it stands, as the list of the form says it.

    Examples
    --------
    >>> one = beside_of_sizes((50.0, 8.0), away=20, towards=270, length=12, width=8, bearing=0, height=6)
    >>> beside_words(one, (50.0, 8.0)).replace(chr(160), " ")
    '12.0 m by 8.0 m, 6.0 m high, its middle 20 m to the west'
    """
    longest = sorted((side.length for side in sides_of(one.corners)), reverse=True)
    plane = LocalPlane(latitude=at[0], longitude=at[1])
    east, north = (float(value) for value in plane.to_metres(one.longitude, one.latitude, crs=DEGREES))
    way = compass_name(np.rad2deg(np.arctan2(east, north)) % 360)
    size = f"{metres(longest[0])} by {metres(longest[2])}" if len(longest) == 4 else f"{len(longest)} sides"
    return f"{size}, {metres(one.height)} high, its middle {metres(np.hypot(east, north), decimals=0)} to the {way}"
