"""Which elevations of a house meet at a corner, how, and whose sheet goes round it."""

from collections.abc import Mapping, Sequence
from math import cos, hypot, radians, sin

from exposure.detail.schedule_parts import Schedule, ScheduleLine
from exposure.detail.take_off_wall import Corners, on_open_studs
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


def corner_sheets(schedules: Sequence[tuple[Wall, Schedule]]) -> list[Corners | None]:
    """What each wall's take-off counts at its corners: the harder wall's sheet goes round, with the lap and its tape; None without a membrane.

    The wide batten between two cavities goes with the milder wall: it stands past the side of the harder one.
    Of walls that ask the same, or where nobody told who stands beside, half is counted with either.
    """
    lines = [{line.key: line for line in (*one.lines, *one.floor)} for _, one in schedules]
    found: list[Corners | None] = []
    for place, (wall, mine) in enumerate(schedules):
        if "lap_v" not in lines[place]:
            found.append(None)
            continue
        lap = _length(lines[place], "lap_v")
        sheet, laps, taped, battens, free = 0.0, 0.0, 0.0, 0.0, 2
        for other, (beside, theirs) in enumerate(schedules):
            if not free or not walls_meet(wall, beside) or "lap_v" not in lines[other]:
                continue
            free -= 1
            row = "icorner" if meet_inside(wall, beside) else "ocorner"
            more = mine.level - theirs.level
            share = 0.5 if not more else float(more > 0)
            battens += (1 - share) * ("batten_sp" in lines[other])  # past the harder wall's side
            laps += share
            taped += share * _tapes(lines[other])
            if more > 0:
                sheet += _length(lines[place], row)
            elif not more:
                sheet += lap / 2
            elif not on_open_studs(lines[place]):  # which run on to the stud of the corner
                sheet -= _length(lines[other], row) - _length(lines[other], "lap_v")
        found.append(Corners(sheet + free * lap / 2, laps + free / 2, taped, battens + free / 2))
    return found


def _length(lines: Mapping[str, ScheduleLine], row: str) -> float:
    return float(lines[row].value)


def _tapes(lines: Mapping[str, ScheduleLine]) -> bool:
    return "seam_tape" in lines and lines["seam_tape"].value != "openings"


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
