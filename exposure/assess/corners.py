"""Which elevations of a house meet at a corner, how, and where its upright lap is taped."""

from collections.abc import Sequence
from math import cos, hypot, radians, sin

from exposure.detail.schedule_parts import Schedule
from exposure.wall import Wall

MEET = 0.05  # m between the ends of two elevations that share a corner; our choice


def meet_inside(one: Wall, other: Wall) -> bool:
    """Whether two elevations that share a corner stand before one another there: the second runs out from the face of the first.

    Examples
    --------
    >>> south = Wall("south", 180, 10, 5, start=(0, 0), end=(10, 0))
    >>> meet_inside(south, Wall("east", 90, 5, 5, start=(10, 0), end=(10, 5)))
    False
    >>> meet_inside(south, Wall("west of a wing", 270, 5, 5, start=(10, 0), end=(10, -5)))
    True
    """
    if one.start is None or one.end is None or other.start is None or other.end is None:
        return False
    shared = one.end if hypot(one.end[0] - other.start[0], one.end[1] - other.start[1]) <= MEET else one.start
    far = max((other.start, other.end), key=lambda end: hypot(end[0] - shared[0], end[1] - shared[1]))
    faces = radians(one.orientation)
    return (far[0] - shared[0]) * sin(faces) + (far[1] - shared[1]) * cos(faces) > MEET


def taped_beside(schedules: Sequence[tuple[Wall, Schedule]]) -> list[int]:
    """Of how many corners of each wall the other wall tapes its upright laps; none where positions are not known."""
    tapes = [
        any(line.key == "seam_tape" and line.value != "openings" for line in (*one.lines, *one.floor))
        for _, one in schedules
    ]
    return [
        sum(taped and walls_meet(wall, other) for taped, (other, _) in zip(tapes, schedules, strict=True))
        for wall, _ in schedules
    ]


def walls_meet(one: Wall, other: Wall) -> bool:
    """Whether two elevations share a corner; False where nobody told where they stand.

    Examples
    --------
    >>> wall = Wall(name="east", orientation=90, length=8, height=5)
    >>> walls_meet(wall, wall)
    False
    """
    ends = [(one.end, other.start), (other.end, one.start)]
    return any(
        a is not None and b is not None and abs(a[0] - b[0]) <= MEET and abs(a[1] - b[1]) <= MEET
        for a, b in ends
    )
