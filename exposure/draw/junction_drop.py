"""The way of a drop as a picture of a junction shows it: beside the faces it runs on."""

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby, pairwise, takewhile
from math import hypot

from shapely import LineString, box, contains_xy, unary_union
from shapely import Point as Spot
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from exposure.draw.drawing import Point, filled, path, stroke
from exposure.draw.junction_sight import polygons
from exposure.draw.palette import PAPER, RAIN
from exposure.junction.scene import FILM, Section

BESIDE = 3.5  # picture units off the face it runs on
WITHIN, SHORT = 24.0, 8.0  # picture units of a way inside a part, and between two, that are left out
EDGE = 0.6  # picture units, half of an outline
# picture units across a dot, across one in a narrow gap, from one to the next, and long
DOT, SMALL, APART, DASH = 2.8, 2.0, 5.3, 0.1
TOUCHES = DOT / 2 + EDGE  # from the middle of a dot to a part whose outline it touches
ON_IT = 1.3  # picture units off the face it runs on, where another part lies close over that
HEAD, BROAD = 9.0, 9.0  # picture units, length and breadth of the arrow
RIM = 0.4  # picture units of a dark part that a white dot leaves beside it
SHEER = 0.3  # picture units, by which a falling stretch may lean
# picture units a falling row stands further out than it runs, nearest first
ASIDE = (0.0, -0.5, 0.5, -1.0, 1.0, 1.5, 2.0, 2.5, 3.0)


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


def under_parts(way: Sequence[Point], over: BaseGeometry) -> list[Point]:
    """A way whose level stretches lie down on their face where dots would else touch what is ``over`` them.

    Examples
    --------
    >>> frame = Polygon([(0, 0), (40, 0), (40, 20), (0, 20)])
    >>> under_parts([(30, 20), (10, 21), (10, 60)], frame)
    [(30, 22.2), (10, 23.2), (10, 60)]
    """
    found, down = list(way), BESIDE - ON_IT
    for place, ((ax, ay), (bx, by)) in enumerate(pairwise(way)):
        lower = [(ax, ay + down), (bx, by + down)]
        near = over.distance(LineString([(ax, ay), (bx, by)]))
        if abs(by - ay) < abs(bx - ax) / 2 and near < min(TOUCHES, over.distance(LineString(lower))):
            found[place : place + 2] = lower
    return found


def beside_dark(way: Sequence[Point], dark: BaseGeometry, solid: BaseGeometry) -> list[Point]:
    """A way whose falling stretches stand so that few dots lie astride the edge of a ``dark`` part or touch a ``solid`` one.

    Examples
    --------
    >>> strap = Polygon([(0, 0), (9, 0), (9, 80), (0, 80)])
    >>> beside_dark([(20, 0), (0.5, 2), (0.5, 60)], strap, Polygon())
    [(20, 0), (-2.0, 2), (-2.0, 60)]
    >>> beside_dark([(20, 0), (4.5, 2), (4.5, 60)], strap, Polygon())
    [(20, 0), (4.5, 2), (4.5, 60)]
    """
    if dark.is_empty:
        return list(way)
    found, place = list(way), 0
    while place < len(way):
        x, top = way[place]
        fallen = _sheer(way[place:])
        low = fallen[-1][1]
        if low - top > HEAD:
            heights = [top + APART * part for part in range(int((low - top) / APART) + 1)]
            rows = [[Spot(x - aside, y) for y in heights] for aside in ASIDE]
            misread = [sum(_is_misread(spot, dark, solid) for spot in row) for row in rows]
            aside = ASIDE[misread.index(min(misread))]
            found[place : place + len(fallen)] = [(one - aside, y) for one, y in fallen]
        place += len(fallen)
    return found


def _sheer(way: Sequence[Point]) -> list[Point]:
    """What of a way stands over its first point."""
    return list(takewhile(lambda point: abs(point[0] - way[0][0]) < SHEER, way))


def _is_misread(spot: Spot, dark: BaseGeometry, solid: BaseGeometry) -> bool:
    """Whether a dot lies over the edge of a dark part, or touches one part or the other from outside."""
    within = dark.intersects(spot)
    astride = dark.boundary.distance(spot) < (DOT / 2 + RIM if within else TOUCHES)
    return astride or 0 < solid.distance(spot) < TOUCHES


def past_dark(way: Sequence[Point], dark: BaseGeometry, foot: float) -> float:
    """How far down the arrow of a way goes: to ``foot``, or lower, past the dark part it would else end on.

    Examples
    --------
    >>> strap = Polygon([(0, 0), (9, 0), (9, 80), (0, 80)])
    >>> [past_dark([(-2, 0), (-2, low)], strap, 76) for low in (120, 85)], past_dark([(-2, 0), (-2, 120)], strap, 95)
    ([89.0, 85], 95)
    """
    if len(way) < 2 or dark.is_empty:
        return foot
    x, low = way[-1]
    tip = box(x - BROAD / 2, foot - HEAD, x + BROAD / 2, foot)
    lowest = max(
        (one.bounds[3] for one in getattr(dark, "geoms", [dark]) if one.intersects(tip)), default=0.0
    )
    return max(foot, min(low, lowest + HEAD))


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


def drop_mark(
    seen: Sequence[Sequence[Point]],
    whole: Sequence[Point],
    *,
    foot: float,
    solid: BaseGeometry,
    dark: BaseGeometry,
) -> str:
    """What is ``seen`` of the ``whole`` way of a drop, dotted, with an arrow where that ends, at ``foot`` at the lowest.

    Dots are small where full ones would touch a ``solid`` part, and white on ``dark`` ones.
    """
    drawn = []
    for one in seen:
        way, head = above(one, foot), ""
        if one[-1] == whole[-1]:
            way, head = _with_arrow(way)
        drawn += [*_dotted(way, solid, dark), head]
    return "".join(drawn)


def _with_arrow(way: list[Point]) -> tuple[list[Point], str]:
    """A way as far as the arrow at its end, and that arrow."""
    (ax, ay), (bx, by) = way[-2:]
    length = hypot(bx - ax, by - ay) or 1.0
    ux, uy = (bx - ax) / length, (by - ay) / length
    end = (bx - HEAD * ux, by - HEAD * uy)
    side = (BROAD / 2 * uy, BROAD / 2 * ux)
    head = filled([(bx, by), (end[0] - side[0], end[1] + side[1]), (end[0] + side[0], end[1] - side[1])], RAIN)  # fmt: skip
    return [*way[:-1], (bx - 8 * ux, by - 8 * uy)], head


def _dotted(way: Sequence[Point], solid: BaseGeometry, dark: BaseGeometry) -> list[str]:
    """The dots of a way, those beside one another that look alike in one stroke."""
    line = LineString(way)
    spots = [APART * place for place in range(int(line.length / APART) + 1)]

    def look(along: float) -> tuple[str, float]:
        spot = Spot(line.interpolate(along))
        narrow = 0 < solid.distance(spot) < TOUCHES
        return PAPER if dark.intersects(spot) else RAIN, SMALL if narrow else DOT

    found = []
    for (colour, wide), group in groupby(spots, look):
        alike = list(group)
        run = path(list(substring(line, alike[0], min(alike[-1] + DASH, line.length)).coords))
        dashes = f"{DASH} {APART - DASH:.1f}"
        found.append(stroke(run, colour=colour, width=wide, dashes=dashes, ends="round"))
    return found


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
