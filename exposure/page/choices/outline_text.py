"""An outline as typed: each side by its length and bearing, or each corner in metres; and as drawn on a map.

Derived from the designer's question which elevation is worst: a house is taped round side by side, and whoever draws
with the keyboard alone needs the same outline as whoever draws on the map.
"""

from collections.abc import Sequence
from math import cos, hypot, radians, sin

import numpy as np

from exposure.checks import RefusalError, check_between
from exposure.draw.outline_sides import sides_of
from exposure.page.choices.state import MOST_CORNERS, Outline
from exposure.site.plane import DEGREES, LocalPlane

Corners = tuple[tuple[float, float], ...]
CLOSED = 0.3  # m between the last corner and the first that a tape loses on its way round; our choice
TURNS = {"right": 90.0, "r": 90.0, "left": -90.0, "l": -90.0}


def read_sides(text: str) -> Corners:
    """Corners from sides as typed: ``length, bearing`` a line, or ``length, right`` and ``length, left``.

    The last side may be left out: the outline closes by itself. Its middle lies at the place.

    Raises
    ------
    RefusalError
        When a line is not a length and a way, or there are too few or too many.

    Examples
    --------
    >>> read_sides("12, 90" + chr(10) + "8, right" + chr(10) + "12, right" + chr(10) + "8 right")
    ((-6.0, 4.0), (6.0, 4.0), (6.0, -4.0), (-6.0, -4.0))
    """
    corners, bearing = [(0.0, 0.0)], None
    lines = [one for one in text.splitlines() if one.strip()]
    for number, line in enumerate(lines, start=1):
        length, bearing = _side(line, number, bearing)
        east, north = corners[-1]
        corners.append((east + length * sin(radians(bearing)), north + length * cos(radians(bearing))))
    if len(corners) > 3 and hypot(*corners[-1]) <= CLOSED:
        corners.pop()
    _check_count(len(corners))
    middle = np.mean(corners, axis=0)
    return _rounded(np.asarray(corners) - middle)


def _side(line: str, number: int, before: float | None) -> tuple[float, float]:
    parts = line.replace(";", " ").replace(",", " ").lower().replace("°", "").split()
    words = f"side {number}"
    if len(parts) != 2:
        raise RefusalError(
            f"{words} reads {line[:40]!r}", "a length in metres and a bearing in degrees", "Correct it."
        )
    length = check_between(_number(parts[0], words), f"length of {words}", 0.1, 500, "m")
    turn = TURNS.get(parts[1])
    if turn is None:
        return length, check_between(_number(parts[1], words), f"bearing of {words}", -360, 360, "degrees")
    if before is None:
        raise RefusalError(
            f"{words} turns {parts[1][:10]}, and nothing goes before it", "its bearing in degrees", "Type it."
        )
    return length, (before + turn) % 360


def sides_text(corners: Sequence[tuple[float, float]]) -> str:
    """The sides of an outline as :func:`read_sides` takes them.

    Examples
    --------
    >>> sides_text([(-6, 4), (6, 4), (6, -4), (-6, -4)]).splitlines()
    ['12, 90', '8, 180', '12, 270', '8, 0']
    """
    return "\n".join(
        f"{_tidy(side.length):g}, {round(side.bearing, 1) % 360:g}" for side in sides_of(corners)
    )


def _tidy(length: float) -> float:
    """A length to the decimetre where it is one but for the rounding of its corners. [m]"""
    whole = round(length, 1)
    return whole if abs(whole - length) < 0.02 else round(length, 2)


def corners_text(corners: Sequence[tuple[float, float]]) -> str:
    """The corners of an outline as :func:`read_corners` takes them."""
    return "\n".join(f"{east:g}, {north:g}" for east, north in corners)


def read_corners(text: str) -> Corners:
    """Corners as typed, metres east and north.

    Raises
    ------
    RefusalError
        When a line is not two numbers, or there are too few or too many.

    Examples
    --------
    >>> read_corners("0, 0" + chr(10) + "12 0" + chr(10) + "12; 8")
    ((0.0, 0.0), (12.0, 0.0), (12.0, 8.0))
    """
    corners = []
    for number, line in enumerate((one for one in text.splitlines() if one.strip()), start=1):
        parts = line.replace(";", " ").replace(",", " ").split()
        if len(parts) != 2:
            raise RefusalError(
                f"corner {number} reads {line[:40]!r}",
                "two numbers, metres east and metres north",
                "Correct it.",
            )
        words = f"corner {number}"
        east, north = (check_between(_number(part, words), words, -5000, 5000, "m") for part in parts)
        corners.append((round(east, 2), round(north, 2)))
    _check_count(len(corners))
    return tuple(corners)


def _check_count(corners: int) -> None:
    if not 3 <= corners <= MOST_CORNERS:
        raise RefusalError(f"{corners} corners", f"3 to {MOST_CORNERS} corners", "Add or leave out corners.")


def _number(text: str, what: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise RefusalError(f"{what} holds {text[:20]!r}", "a number", "Correct it.") from error


def _rounded(corners: np.ndarray) -> Corners:
    return tuple((round(float(east), 2) + 0.0, round(float(north), 2) + 0.0) for east, north in corners)


def outline_of_ring(ring: np.ndarray) -> tuple[tuple[float, float], Outline]:
    """A place and an outline round it from corners drawn on the map, latitude and longitude of each. [degree]"""
    if len(ring) > MOST_CORNERS:
        raise RefusalError(
            f"an outline of {len(ring)} corners", f"at most {MOST_CORNERS}", "Draw it with fewer."
        )
    latitude, longitude = (round(float(value), 5) for value in ring.mean(axis=0))
    longitude = round((longitude + 180) % 360 - 180, 5)
    plane = LocalPlane(latitude=latitude, longitude=longitude)
    east, north = plane.to_metres(ring[:, 1], ring[:, 0], crs=DEGREES)
    return (latitude, longitude), Outline(_rounded(np.column_stack([east, north])))
