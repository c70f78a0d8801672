"""A building's outline to scale, north up, with the length of each side: what was told, to be checked by eye."""

from collections.abc import Sequence
from math import atan2, degrees, hypot
from typing import NamedTuple

from exposure.draw.drawing import Point, path, picture, polar, stroke, text
from exposure.draw.lettering import text_width
from exposure.draw.palette import INK, SOFT
from exposure.figures import metres

EDGE, FOOT = 46.0, 30.0  # room round the outline for the lengths, and below for the scale
BARS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)  # m a scale bar may stand for


class Side(NamedTuple):
    """A side of an outline. [m, degree]"""

    length: float
    bearing: float  # the way it runs
    faces: float  # the way its outside looks


def sides_of(corners: Sequence[Point]) -> list[Side]:
    """The sides of an outline given by its corners in order, metres east and north.

    Examples
    --------
    >>> [tuple(round(part) for part in side) for side in sides_of([(0, 0), (0, 12), (8, 12), (8, 0)])]  # clockwise
    [(12, 0, 270), (8, 90, 0), (12, 180, 90), (8, 270, 180)]
    """
    pairs = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    turn = sum(one[0] * other[1] - other[0] * one[1] for one, other in pairs)
    out = 90 if turn > 0 else -90
    found = []
    for (east, north), (to_east, to_north) in pairs:
        bearing = degrees(atan2(to_east - east, to_north - north)) % 360
        found.append(Side(hypot(to_east - east, to_north - north), bearing, (bearing + out) % 360))
    return found


def outline_picture(corners: Sequence[Point], *, size: float = 300, prefix: str = "outline") -> str:
    """The outline with a length beside each side, a scale bar and north.

    Parameters
    ----------
    corners
        In order, metres east and north.

    Examples
    --------
    >>> svg = outline_picture([(0, 0), (12, 0), (12, 8), (0, 8)])
    >>> svg.count(">12.0"), svg.count(">8.0")  # two sides of each length
    (2, 2)
    """
    east, north = zip(*corners, strict=True)
    wide, high = max(east) - min(east), max(north) - min(north)
    scale = (size - 2 * EDGE) / max(wide, high, 1e-6)
    tall = high * scale + 2 * EDGE + FOOT

    def shown(corner: Point) -> Point:
        return (
            size / 2 + (corner[0] - min(east) - wide / 2) * scale,
            EDGE + (max(north) - corner[1]) * scale,
        )

    points = [shown(one) for one in corners]
    sides = sides_of(corners)
    parts = [stroke(path(points, close=True), width=2.5)]
    for one, other, side in zip(points, [*points[1:], points[0]], sides, strict=True):
        parts.append(_length(one, other, side))
    bar = max((one for one in BARS if one * scale <= size / 2), default=BARS[0])
    left, foot = 12.0, tall - 12
    parts.append(
        stroke(
            f"M{left:.1f} {foot - 6:.1f} V{foot:.1f} H{left + bar * scale:.1f} V{foot - 6:.1f}", colour=INK
        )
    )
    parts.append(text(left + bar * scale + 6, foot, f"{bar} m", size=12))
    parts.append(stroke(f"M{size - 18:.1f} {foot:.1f} V{foot - 22:.1f}", colour=SOFT))
    parts.append(text(size - 18, foot - 25, "N", size=13, bold=True, anchor="middle"))
    lengths = sorted({metres(side.length, decimals=1) for side in sides})
    return picture(
        "".join(parts),
        width=size,
        height=tall,
        title="The outline",
        desc=f"An outline of {len(corners)} corners; its sides are {', '.join(lengths[:12])} long.",
        prefix=prefix,
    )


def _length(one: Point, other: Point, side: Side) -> str:
    """A side's length outside its middle."""
    words = metres(side.length, decimals=1)
    across = text_width(words, size=12) / 2
    middle = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
    x, y = polar(middle, 14, side.faces)
    off = (x - middle[0]) / 14
    x += off * across
    return text(x, y + 4, words, size=12, anchor="middle")
