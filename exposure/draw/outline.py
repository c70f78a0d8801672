"""A building's walls as an outline on paper: short codes for the walls, and rings traced through their corners."""

import re
from collections.abc import Sequence
from itertools import count
from math import cos, hypot, radians, sin

from exposure.wall.building import compass_name

Point = tuple[float, float]
LETTERS = "abcdefghijklmnopqrstuvwxyz"
SAME_CORNER = 0.05  # metres between corners taken as one


def wall_codes(walls: Sequence[tuple[str, float]]) -> dict[str, str]:
    """A short code for each wall, from its name where that says which way it faces, else from the way itself.

    ``south-east`` is SE and ``south-east, inner`` SE-i, in whatever order they come; walls with names of their own
    are lettered where several face alike.

    Parameters
    ----------
    walls
        Name and orientation [degree] of each, in the order of lettering.

    Examples
    --------
    >>> wall_codes([("south-east, inner", 142), ("south-east", 142), ("shop front", 140), ("north 2", 3)])
    {'south-east, inner': 'SE-i', 'south-east': 'SE', 'shop front': 'SE-b', 'north 2': 'N2'}
    """
    codes = {name: code for name, orientation in walls if (code := _code_in_name(name, orientation))}
    if len(set(codes.values())) < len(codes):
        codes = {}
    used = set(codes.values())
    for name, orientation in walls:
        if name in codes:
            continue
        letters = _initials(orientation)
        tries = count(1)
        code = letters
        while code in used:
            number = next(tries)
            code = f"{letters}-{LETTERS[number % 26]}" + ("" if number < 26 else str(number // 26))
        codes[name] = code
        used.add(code)
    return {name: codes[name] for name, _ in walls}


def _initials(orientation: float) -> str:
    return "".join(part[0].upper() for part in compass_name(orientation % 360).split("-"))


def _code_in_name(name: str, orientation: float) -> str:
    """The code of a wall named by the way it faces, as the footprint's elevations are; else empty."""
    compass = re.escape(compass_name(orientation % 360))
    found = re.fullmatch(rf"{compass}(?:, (inner|courtyard))?(?: (\d{{1,3}}))?", name.strip().lower())
    if found is None:
        return ""
    place, number = found.groups(default="")
    return _initials(orientation) + (f"-{place[0]}" if place else "") + number


def rings(sides: Sequence[tuple[Point, Point]]) -> list[list[Point]]:
    """Closed rings of corners traced through ``sides`` in whatever order they come; open chains are left out.

    Examples
    --------
    >>> rings([((0, 0), (2, 0)), ((2, 2), (0, 0)), ((2, 0), (2, 2))])
    [[(0, 0), (2, 0), (2, 2)]]
    """
    left = list(sides)
    found = []
    while left:
        start, end = left.pop(0)
        ring = [start]
        while hypot(end[0] - start[0], end[1] - start[1]) > SAME_CORNER:
            ring.append(end)
            following = next(
                (
                    side
                    for side in left
                    if min(hypot(corner[0] - end[0], corner[1] - end[1]) for corner in side) <= SAME_CORNER
                ),
                None,
            )
            if following is None:
                ring = []
                break
            left.remove(following)
            near, far = following
            if hypot(near[0] - end[0], near[1] - end[1]) > SAME_CORNER:
                near, far = far, near
            end = far
        if len(ring) >= 3:
            found.append(ring)
    return found


def sides_by_facing(walls: Sequence[tuple[float, float]]) -> list[tuple[Point, Point]]:
    """Sides for walls of which only orientation [degree] and length [m] are known: each faces outward from a middle.

    They stand on a circle, one for each direction; walls that face alike stand one behind the other.
    """
    if not walls:
        return []
    reach = max(length for _, length in walls) * 0.75
    stacked: dict[int, int] = {}
    sides = []
    for orientation, length in walls:
        key = round(orientation) % 360
        away = reach * (1 + 0.35 * stacked.get(key, 0))
        stacked[key] = stacked.get(key, 0) + 1
        out = (sin(radians(orientation)), cos(radians(orientation)))
        along = (out[1], -out[0])
        half = min(length, 1.2 * reach) / 2
        middle = (out[0] * away, out[1] * away)
        sides.append(
            (
                (middle[0] + along[0] * half, middle[1] + along[1] * half),
                (middle[0] - along[0] * half, middle[1] - along[1] * half),
            )
        )
    return sides
