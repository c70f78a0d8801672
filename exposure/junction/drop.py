"""The way of a drop over the parts of a section.

It runs down the outline of the part it is on, also into a joint whose mouth lies open upward, falls where the outline
turns under, and must end in the open air or in a drained cavity, never behind the membrane.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import hypot

import numpy as np
from shapely import Point as Spot
from shapely import Polygon, linestrings, unary_union
from shapely.ops import nearest_points

from exposure.junction.measured import BONDED, CLOSED, SHRINK, TRUE, Proven
from exposure.junction.scene import FILM, GROUND, SHEDDING, Layer, Point, Section

CATCHING = ("tray", "damp course")  # parts made to catch what came in: tried everywhere
CAUGHT = "is caught between two parts"
LEDGE = 4.0  # mm; a level ledge narrower than this sheds its drop
LEVEL = 0.002  # a fall of less than this holds water
STEP = 12.0  # mm between drops
STEEP = 0.05  # a face that hangs over by more than this lets a drop go
CLEAR = 0.02  # mm a falling drop is clear of the part it left
MOST_MOVES = 200


def starts(proven: Proven, layer: Layer) -> list[tuple[Point, int]]:
    """Points of ``layer`` that rain reaches, each with its side; none where it looks down or is stuck on; of a tray all that air reaches."""
    ring = proven.rings[layer.key]
    bonds = [
        shape
        for key, shape in proven.shrunk.items()
        if key != layer.key and proven.material[key] in BONDED and shape.intersects(proven.shrunk[layer.key])
    ]
    spots, sides, places = [], [], []
    for place in range(len(ring)):
        a, b = _side(ring, place)
        if _looks_down(a, b):
            continue
        for first, last in _free_of(bonds, a, b):
            number = max(int(hypot(last[0] - first[0], last[1] - first[1]) // STEP), 2)
            for part in range(number):
                share = (part + 0.5) / number
                spots.append(
                    (first[0] + share * (last[0] - first[0]), first[1] + share * (last[1] - first[1]))
                )
                sides.append((a, b))
                places.append(place)
    if not spots:
        return []
    wanted = proven.reached(spots)
    if layer.material not in CATCHING:
        wanted = wanted & _in_sight(proven, spots, sides)
    return [(spot, place) for spot, place, hit in zip(spots, places, wanted, strict=True) if hit]


def _free_of(bonds: list[Polygon], a: Point, b: Point) -> list[tuple[Point, Point]]:
    """What of the side from ``a`` to ``b`` lies under no bond; pieces that air does not get to are left out."""
    if not bonds:
        return [(a, b)]
    side = linestrings([a, b])
    under = [shape for shape in bonds if shape.intersects(side)]
    if not under:
        return [(a, b)]
    free = side.difference(unary_union(under))
    pieces = [piece for piece in getattr(free, "geoms", [free]) if piece.length > 2 * CLOSED]
    return [(piece.coords[0], piece.coords[-1]) for piece in pieces]


def _in_sight(proven: Proven, spots: list[Point], sides: list[tuple[Point, Point]]) -> np.ndarray:
    """Which spots, each of its side, rain reaches: from straight above or straight from outside."""
    spot, (a, b) = np.array(spots), np.array(sides).transpose(1, 0, 2)
    along = b - a
    clear = spot + CLOSED * np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, None]
    left, _, _, top = proven.section.box
    above = np.column_stack([clear[:, 0], np.full(len(spot), top)])
    before = np.column_stack([np.full(len(spot), left), clear[:, 1]])
    ways = linestrings(np.stack([np.stack([clear, above], 1), np.stack([clear, before], 1)]))
    return np.logical_not(proven.meets_any(ways).all(axis=0))


@lru_cache(maxsize=256)  # one section is drawn in several sizes
def shown_path(section: Section) -> tuple[Point, ...]:
    """The way of the drop that the section shows; empty where it shows none."""
    if section.drop is None:
        return ()
    proven = Proven(section)
    spot = Spot(section.drop)
    key = min(proven.shrunk, key=lambda one: proven.shrunk[one].distance(spot))
    start, _ = nearest_points(proven.shrunk[key].exterior, spot)
    path = follow(proven, key, (start.x, start.y))[-1][0]
    return _as_far_as((*path, *_down_the_roof(proven, path[-1])), section.box[2])


def _as_far_as(path: tuple[Point, ...], right: float) -> tuple[Point, ...]:
    """A way up to the right edge of the view, where a roof on that side is cut off.

    Examples
    --------
    >>> _as_far_as(((0.0, 9.0), (0.0, 2.0), (8.0, 1.0), (8.0, -5.0)), 4.0)
    ((0.0, 9.0), (0.0, 2.0), (4.0, 1.5))
    """
    for place, ((ax, ay), (bx, by)) in enumerate(pairwise(path)):
        if ax < right < bx:
            return (*path[: place + 1], (right, ay + (right - ax) / (bx - ax) * (by - ay)))
    return path


def _down_the_roof(proven: Proven, spot: Point) -> list[Point]:
    """The way on over a roof on which the drop has come down: shown, not proven."""
    for key, shape in proven.shrunk.items():
        if proven.material[key] == "roof" and shape.distance(Spot(spot)) < TRUE:
            ring = proven.rings[key]
            sides = [_side(ring, place) for place in _nearest_sides(proven, key, spot)]
            return [
                min(a, b, key=lambda one: one[1]) for a, b in sides if abs(b[0] - a[0]) > abs(b[1] - a[1])
            ]
    return []


def follow(proven: Proven, key: str, start: Point) -> list[tuple[list[Point], str]]:
    """Ways of a drop from ``start`` on the part ``key``, each with why its end is wrong, or an empty text."""
    found = [_run(proven, way, [start]) for way in _ways_down(proven, key, start)]
    away = [one for one in found if not one[1] or one[1] != CAUGHT or _far(one[0])]
    return away or found  # caught at once on a narrow ledge, a drop goes the other way


def runs_freely(proven: Proven, key: str, side: int, start: Point) -> bool:
    """Whether a drop that was followed from ``start`` ran down to the end of its side: one that starts lower on it goes the same way."""
    a, b = _side(proven.rings[key], side)
    if abs(b[1] - a[1]) <= LEVEL * abs(b[0] - a[0]):
        return False
    target = min(a, b, key=lambda end: end[1])
    ahead = hypot(target[0] - start[0], target[1] - start[1])
    return proven.clear.get(Way(key, side, 1 if target == b else -1), 0.0) >= ahead


def _far(path: list[Point]) -> bool:
    return max(hypot(x - path[0][0], y - path[0][1]) for x, y in path) > LEDGE


@dataclass(frozen=True)
class Way:
    """A drop on a side of a part's outline: 1 along it, -1 against it, 0 falling off."""

    key: str
    side: int
    turn: int


def _side(ring: list[Point], place: int) -> tuple[Point, Point]:
    return ring[place % len(ring)], ring[(place + 1) % len(ring)]


def _nearest_sides(proven: Proven, key: str, spot: Point) -> list[int]:
    """The side of a part's ring on which ``spot`` lies; both sides at a corner."""
    x, y = spot
    away = []
    for ax, ay, along, up, square in proven.sides[key]:
        share = min(max(((x - ax) * along + (y - ay) * up) / square, 0.0), 1.0)
        away.append(hypot(x - ax - share * along, y - ay - share * up))
    nearest = min(away) + TRUE
    return [place for place, one in enumerate(away) if one < nearest]


def _looks_down(a: Point, b: Point) -> bool:
    """Whether the side from ``a`` to ``b``, its body on the left, faces down so that a drop lets go."""
    return b[0] - a[0] > STEEP * abs(b[1] - a[1])


def _ways_down(proven: Proven, key: str, spot: Point) -> list[Way]:
    """Where a drop can go from ``spot``: down its side, both ways where that is level, off where it looks down."""
    ring = proven.rings[key]
    ways, off = [], []
    for place in _nearest_sides(proven, key, spot):
        a, b = _side(ring, place)
        if _looks_down(a, b):
            off.append(Way(key, place, 0))
        elif abs(b[1] - a[1]) <= LEVEL * abs(b[0] - a[0]):
            ways += [Way(key, place, 1), Way(key, place, -1)]
        else:
            ways.append(Way(key, place, 1 if b[1] < a[1] else -1))
    moving = [way for way in ways if _goes_on(ring, way, spot)]
    return moving or off or ways


def _goes_on(ring: list[Point], way: Way, spot: Point) -> bool:
    """Whether the side still has a way to go from ``spot``."""
    a, b = _side(ring, way.side)
    target = b if way.turn > 0 else a
    return hypot(target[0] - spot[0], target[1] - spot[1]) > TRUE


def _run(proven: Proven, way: Way, path: list[Point]) -> tuple[list[Point], str]:
    """Follow a drop to its end; where another came by on the same way, it goes where that one went."""
    came_by = []
    for _ in range(MOST_MOVES):
        known = proven.ends.get((way, path[-1]))
        if known is not None:
            path += known[0]
            why = known[1]
            break
        came_by.append((way, len(path)))
        onward = _move(proven, way, path)
        if isinstance(onward, str):
            why = onward
            break
        way = onward
    else:
        why = "goes round and round"
    for one, place in came_by:
        proven.ends[one, path[place - 1]] = (path[place:], why)
    return path, why


def _move(proven: Proven, way: Way, path: list[Point]) -> Way | str:
    """One move of a drop: the way on, or words when it comes to rest, empty for well."""
    if way.turn:
        return _slide(proven, way, path)
    landed = _fall(proven, way, path)
    if landed is None:
        end = (path[-1][0], proven.section.box[1])
        path.append(end)
        return "" if _outside(proven, end) or _grounded(proven, end) else "ends behind the membrane line"
    return "" if proven.material[landed] in GROUND else _ways_down(proven, landed, path[-1])[-1]


def _slide(proven: Proven, way: Way, path: list[Point]) -> Way | str:
    """Move to the next corner or onto the part in the way; words when the drop comes to rest, empty for well."""
    ring = proven.rings[way.key]
    a, b = _side(ring, way.side)
    spot, target = path[-1], b if way.turn > 0 else a
    if spot[1] - target[1] <= LEVEL * abs(target[0] - spot[0]) and abs(target[0] - spot[0]) > LEDGE:
        return _standing(proven, way.key, path, "stands on a level part")
    ahead = hypot(target[0] - spot[0], target[1] - spot[1])
    hit = None
    if ahead > proven.clear.get(way, 0.0):
        hit = _blocked(proven, way.key, spot, target)
        proven.clear[way] = ahead if hit is None else proven.clear.get(way, 0.0)
    if hit is not None:
        other, at = hit
        path.append(at)
        for onward in reversed(_ways_down(proven, other, at)):
            if not onward.turn or not _leads_into(proven, onward, at, way.key):
                return onward
        return _standing(proven, way.key, path, CAUGHT)
    path.append(target)
    side = (way.side + way.turn) % len(ring)
    c, d = _side(ring, side)
    if _looks_down(c, d):
        return Way(way.key, way.side, 0)
    after = d if way.turn > 0 else c
    if after[1] - target[1] > LEVEL * abs(after[0] - target[0]):
        return _standing(proven, way.key, path, "stands in a hollow")
    return Way(way.key, side, way.turn)


def _outside(proven: Proven, spot: Point) -> bool:
    return proven.wet.distance(Spot(spot)) < 0.8


def _grounded(proven: Proven, spot: Point) -> bool:
    """Whether a drop went down along the ground's own edge."""
    return any(
        shape.distance(Spot(spot)) < 2 * SHRINK
        for key, shape in proven.shapes.items()
        if proven.material[key] in GROUND
    )


def _leads_into(proven: Proven, way: Way, spot: Point, other: str) -> bool:
    """Whether the part a drop came to leads straight back into the one it came from."""
    a, b = _side(proven.rings[way.key], way.side)
    target = b if way.turn > 0 else a
    length = hypot(target[0] - spot[0], target[1] - spot[1])
    share = min(0.5 / length, 1) if length else 0
    probe = Spot(spot[0] + share * (target[0] - spot[0]), spot[1] + share * (target[1] - spot[1]))
    return proven.shrunk[other].distance(probe) < 1e-9


def _standing(proven: Proven, key: str, path: list[Point], words: str) -> str:
    """Water that stands is wrong on what must shed it, and behind the membrane; not on cladding, ground or a pipe outside."""
    held = proven.material[key] in SHEDDING and not _on_pipe(proven, path[-1])
    return words if held or not _outside(proven, path[-1]) else ""


def _on_pipe(proven: Proven, spot: Point) -> bool:
    """Whether a drop lies on a pipe or on tape round it, off which it runs at the sides."""
    return any(
        shape.distance(Spot(spot)) < 2 * FILM
        for key, shape in proven.shapes.items()
        if proven.material[key] == "pipe"
    )


def _blocked(proven: Proven, key: str, spot: Point, target: Point) -> tuple[str, Point] | None:
    way = linestrings([spot, target])
    found: tuple[str, Point] | None = None
    nearest = float("inf")
    for other in proven.met_by(way):
        if other == key:
            continue
        met = proven.shrunk[other].intersection(way)
        at, _ = nearest_points(met, Spot(spot))
        away = hypot(at.x - spot[0], at.y - spot[1])
        if away < TRUE and met.length < TRUE:
            continue  # it only touches the corner the drop leaves
        if away < nearest:
            found, nearest = (other, (at.x, at.y)), away
    return found


def _fall(proven: Proven, way: Way, path: list[Point]) -> str | None:
    """Let the drop go off its side and down; the part it lands on, or None when it leaves the view."""
    a, b = _side(proven.rings[way.key], way.side)
    length = hypot(b[0] - a[0], b[1] - a[1])
    x = path[-1][0] + CLEAR * (b[1] - a[1]) / length
    down = linestrings([(x, path[-1][1] - 1e-6), (x, proven.section.box[1] - 1)])
    best, height = None, -float("inf")
    for key in proven.met_by(down):
        top = proven.shrunk[key].intersection(down).bounds[3]
        if top > height:
            best, height = key, top
    path.append((x, path[-1][1] if best is None else height))
    return best
