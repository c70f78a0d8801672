"""The way of a drop as a picture of a junction shows it: beside the faces it runs on."""

from collections.abc import Callable, Sequence
from itertools import pairwise

from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from exposure.draw.drawing import Point
from exposure.junction.scene import FILM, Section

BESIDE = 3.5  # picture units off the face it runs on


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


def _free_sides(section: Section, way: Sequence[Point]) -> list[int]:
    """Where each point of a way has air beside it: at the left (-1), or right (1) of a face that looks to the right."""
    parts = [Polygon(layer.outline) for layer in section.layers if layer.cut] if way else []
    found, side = [], -1
    for (ax, ay), (bx, by) in pairwise(way):
        if abs(by - ay) > 2 * abs(bx - ax):
            left, right = (
                any(part.contains(Spot((ax + bx) / 2 + off, (ay + by) / 2)) for part in parts)
                for off in (-FILM / 2, FILM / 2)
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
