"""The way of a drop as a picture of a junction shows it: beside the faces it runs on."""

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from math import hypot

from shapely import LineString, contains_xy, unary_union
from shapely.geometry import Polygon

from exposure.draw.drawing import Point, filled, path, stroke
from exposure.draw.junction_sight import polygons
from exposure.draw.palette import RAIN
from exposure.junction.scene import FILM, Section

BESIDE = 3.5  # picture units off the face it runs on
WITHIN, SHORT = 24.0, 8.0  # picture units of a way inside a part, and between two, that are left out
EDGE = 0.6  # picture units, half of an outline


def drop_way(
    section: Section, way: Sequence[Point], at: Callable[[Point], Point], left: float
) -> list[Point]:
    """The way in the picture, as far as its ``left`` edge, or beside what ends there; ``at`` turns millimetres into picture units."""
    sides, faces = _free_sides(section, way), list(map(at, way))
    shown = [(x + BESIDE * side, y - BESIDE) for (x, y), side in zip(faces, sides, strict=True)]
    if section.cut_off is None:
        beside = [x for (x, _), (face, _) in zip(shown, faces, strict=True) if face >= left]
        left = min([left, *beside])
    return _up_to(shown, left)


def in_the_open(way: Sequence[Point], parts: Iterable[Polygon]) -> list[list[Point]]:
    """What of a way in the picture is left without what runs inside a part for long.

    Examples
    --------
    >>> board = Polygon([(-5, 40), (5, 40), (5, 90), (-5, 90)])
    >>> [(one[0][1], one[-1][1]) for one in in_the_open([(0, 0), (0, 200)], [board])]
    [(0.0, 40.6), (89.4, 200.0)]
    """
    if len(way) < 2:
        return []
    line = LineString(way)
    within = [part.buffer(-EDGE).intersection(line) for part in parts if part.intersects(line)]
    left = line.difference(unary_union([one for one in within if one.length > WITHIN]))
    pieces = getattr(left, "geoms", [left])
    return [list(one.coords) for one in pieces if one.length > SHORT or left is one]


def above(way: Sequence[Point], foot: float) -> list[Point]:
    """A way as far down as ``foot``.

    Examples
    --------
    >>> above([(0, 0), (0, 50), (9, 90), (9, 99)], 60)
    [(0, 0), (0, 50), (9, 60)]
    """
    kept = list(way)
    while len(kept) > 2 and kept[-2][1] > foot:  # or the arrow would point back up
        kept.pop()
    x, y = kept[-1]
    return [*kept[:-1], (x, min(y, foot))]


def drop_mark(seen: Sequence[Sequence[Point]], whole: Sequence[Point], *, foot: float) -> str:
    """What is ``seen`` of the ``whole`` way of a drop, dotted, with an arrow where that ends, at ``foot`` at the lowest."""
    return "".join(_dotted(list(way), foot, arrow=way[-1] == whole[-1]) for way in seen)


def _dotted(way: list[Point], foot: float, *, arrow: bool) -> str:
    way = above(way, foot)
    head = ""
    if arrow:
        (ax, ay), (bx, by) = way[-2], way[-1]
        length = hypot(bx - ax, by - ay) or 1.0
        ux, uy = (bx - ax) / length, (by - ay) / length
        way[-1] = (bx - 8 * ux, by - 8 * uy)
        end = (bx - 9 * ux, by - 9 * uy)
        side = (4.5 * uy, 4.5 * ux)
        head = filled([(bx, by), (end[0] - side[0], end[1] + side[1]), (end[0] + side[0], end[1] - side[1])], RAIN)  # fmt: skip
    return stroke(path(way), colour=RAIN, width=2.8, dashes="0.1 5.2", ends="round") + head


def _free_sides(section: Section, way: Sequence[Point]) -> list[int]:
    """Where each point of a way has air beside it: at the left (-1), or right (1) of a face that looks to the right."""
    parts = polygons([layer.outline for layer in section.layers if layer.cut])
    found, side = [], -1
    for (ax, ay), (bx, by) in pairwise(way):
        if abs(by - ay) > 2 * abs(bx - ax):
            left, right = (
                contains_xy(parts, (ax + bx) / 2 + off, (ay + by) / 2).any() for off in (-FILM / 2, FILM / 2)
            )
            side = 1 if left and not right else -1 if right and not left else side
        found.append(side)
    return [*found, *found[-1:]] if found else [side for _ in way]


def _up_to(way: list[Point], left: float) -> list[Point]:
    """A way as far as the left edge of the picture, where a roof that runs on is cut off."""
    for place, ((ax, ay), (bx, by)) in enumerate(pairwise(way)):
        if ax > left > bx:
            share = (ax - left) / (ax - bx)
            return [*way[: place + 1], (left, ay + share * (by - ay))]
    return way
