"""Which elevations of a house meet at a corner, how, and whose sheet goes round it."""

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import cos, hypot, radians, sin

from exposure.detail.ladder import RIGID_BOARDS, ladder_rows, rank
from exposure.detail.schedule_parts import Schedule, ScheduleLine
from exposure.detail.take_off_wall import Corners, on_open_studs
from exposure.wall import Wall

Pairs = tuple[tuple[str, str], ...]

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


def corners_of(walls: Sequence[Wall]) -> tuple[Pairs, Pairs]:
    """Elevations that meet round the plan, in its order, and those of them that make an inside corner; none where one of them stands nobody knows where."""
    if any(wall.start is None or wall.end is None for wall in walls):
        return (), ()
    met = [(one, other) for one, other in combinations(walls, 2) if walls_meet(one, other)]
    all_of_them, inside = (
        tuple((one.name, other.name) for one, other in pairs)
        for pairs in (met, [pair for pair in met if meet_inside(*pair)])
    )
    return all_of_them, inside


def corner_rank(values: Mapping[str, float | str], level: int) -> tuple[float, ...]:
    """How hard a wall is at a corner, by its schedule: the class of its membrane, whether it has battens, its level, its boards, how deep its cavity is.

    The sheet of the harder one goes round, its batten splits the cavity, its drawing holds.

    Examples
    --------
    >>> corner_rank({"mem_class": "W1"}, 3) > corner_rank({"mem_class": "W2"}, 4)
    True
    """
    row = next(one for one in ladder_rows() if one.key == "mem_class")
    asked = str(values.get("mem_class", row.values[0]))
    film = "W1" if asked == RIGID_BOARDS else asked  # its boards make the sheet no tighter
    deep = max(float(values.get(key, 0)) for key in ("cav_depth", "cav_render"))
    return rank(row, film), "batten_sp" in values, level, rank(row, asked), deep


def harder_first(pair: Sequence[str], ranks: Mapping[str, tuple[float, ...]]) -> list[str]:
    """Two walls of a corner as they are named: the harder one, whose sheet goes round, first; of two alike the house's first.

    Examples
    --------
    >>> harder_first(("east", "north"), {"east": (1,), "north": (2,)})
    ['north', 'east']
    >>> harder_first(("east", "north"), {"east": (1,), "north": (1,)})
    ['east', 'north']
    """
    return sorted(pair, key=lambda name: ranks.get(name, ()), reverse=True)


def corner_sheets(schedules: Sequence[tuple[Wall, Schedule]]) -> list[Corners | None]:
    """What each wall's take-off counts at its corners: the harder wall's sheet goes round, with the lap and its tape; None without a membrane.

    Over boards the milder wall's sheet ends before the corner; over open studs its layers reach the corner stud, and lie under the
    other as far as that goes. The wide batten between two cavities goes with the milder wall: it stands past the side of the harder one.
    Of walls that ask the same the one the sheets name first counts as the harder; where nobody told who stands beside, half is either's.
    """
    lines = [{line.key: line for line in (*one.lines, *one.floor)} for _, one in schedules]
    found: list[Corners | None] = []
    ranks = {
        wall.name: corner_rank({key: line.value for key, line in mine.items()}, schedule.level)
        for mine, (wall, schedule) in zip(lines, schedules, strict=True)
    }
    for place, (wall, _) in enumerate(schedules):
        if "lap_v" not in lines[place]:
            found.append(None)
            continue
        own = _length(lines[place], "ocorner" if on_open_studs(lines[place]) else "lap_v")
        sheet, laps, taped, battens, free, stops = 0.0, 0.0, 0.0, 0.0, 2, 2
        for other, (beside, _) in enumerate(schedules):
            if not free or not walls_meet(wall, beside) or "lap_v" not in lines[other]:
                continue
            free -= 1
            stops -= "cav_run_leaf" in lines[other]
            row = "icorner" if meet_inside(wall, beside) else "ocorner"
            past, lap = (max(_length(lines[at], key) for at in (place, other)) for key in (row, "lap_v"))
            pair = [schedules[at][0].name for at in sorted((place, other))]
            if harder_first(pair, ranks)[0] == wall.name:
                sheet += past
                laps += 1
                taped += _tapes(lines[other])
                continue
            battens += row == "ocorner" and "batten_sp" in lines[other]  # past the harder wall's side
            if not on_open_studs(lines[place]):
                sheet -= past - lap
        found.append(Corners(sheet + free * own / 2, laps + free / 2, taped, battens + free / 2, stops))
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
