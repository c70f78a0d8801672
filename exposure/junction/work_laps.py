"""What the steps of laps and their tape look like on a bare wall."""

from collections.abc import Callable

from exposure.junction.laps import STUD_WIDE, uprights_taped
from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import HIGH, WIDE, Face, Made, Size, flat, line, measured

TOP = 540.0  # upper edge of the first sheet
JOINT = 480.0  # edge of the sheet that lies outside at an upright lap
APART = 450.0  # between studs


def _stud(numbers: Numbers) -> float:
    """Middle of the stud behind the upright lap, which lies in the lap's middle."""
    return JOINT + numbers.length("lap_v", 0.0) / 2


def _upright(middle: float) -> Face:
    return flat(middle - STUD_WIDE / 2, 0, middle + STUD_WIDE / 2, HIGH, "timber")


def _is_backed(numbers: Numbers) -> bool:
    """Whether a taped upright edge has blocking of its own, as between open studs."""
    return not numbers.boards and uprights_taped(numbers)


def bare_wall(numbers: Numbers) -> list[Face]:
    """Boards, or studs where there are none, and blocking behind the edge that is taped."""
    if numbers.boards:
        return [flat(0, 0, WIDE, HIGH, "board")]
    middles = [_stud(numbers) + way for way in (-APART, 0.0, APART)]
    inside = [middle for middle in middles if middle + STUD_WIDE / 2 < WIDE]
    edge = [JOINT] * _is_backed(numbers)
    return [flat(0, 0, WIDE, HIGH, "room"), *map(_upright, [*inside, *edge])]


def _lower_sheet(numbers: Numbers) -> Made:
    backing = [Size("", (JOINT - 220, 800, 0), ((JOINT, 760, 0),), "blocking")]
    return [flat(0, 0, WIDE, 45, "metal", 0), flat(0, 20, WIDE, TOP, "film"), line([(0, 20, 0), (WIDE, 20, 0)], "edge"),
            line([(0, TOP, 0), (WIDE, TOP, 0)], "edge")], backing * _is_backed(numbers)  # fmt: skip


def _upper_sheet(numbers: Numbers) -> Made:
    low = TOP - numbers.length("lap_h")
    edges = [
        line([(0, low, -3), (WIDE, low, -3)], "edge"),
        line([(0, TOP, -3), (WIDE, TOP, -3)], "hidden edge"),
    ]
    return [flat(0, low, WIDE, HIGH, "film", -3), *edges], [
        measured("lap_h", (70, low, -3), (70, TOP, -3), beside=80)
    ]


def _side_lap(numbers: Numbers) -> Made:
    low, lap = TOP - numbers.length("lap_h"), numbers.length("lap_v")
    edges = [
        line([(JOINT, low, -5), (JOINT, HIGH, -5)], "edge"),
        line([(JOINT + lap, low, -5), (JOINT + lap, HIGH, -5)], "hidden edge"),  # the end of the sheet below
    ]
    stud = _stud(numbers)
    sides = [
        line([(x, low, -6), (x, HIGH, -6)], "cut away") for x in (stud - STUD_WIDE / 2, stud + STUD_WIDE / 2)
    ]
    behind = [Size("", (stud + 180, 600, -6), ((stud, 640, -6),), "stud")]
    return [flat(JOINT, low, WIDE, HIGH, "film", -5), *edges, *sides * (not numbers.boards)], [
        measured("lap_v", (JOINT, 850, -5), (JOINT + lap, 850, -5), above=60),
        *behind * (not numbers.boards),
    ]


def _upright_tape(numbers: Numbers) -> Made:
    """Over the joint down to the sheet's lower edge, its foot over the level tape there."""
    low, bond = TOP - numbers.length("lap_h"), numbers.length("tape_bond")
    edge = line([(JOINT, low, -9.5), (JOINT, HIGH, -9.5)], "cut away")
    return [flat(JOINT - bond, low, JOINT + bond, HIGH, "tape", -9), edge], [
        measured("tape_bond", (JOINT, 760, -9), (JOINT + bond, 760, -9), above=-55)
    ]


def _level_tape(numbers: Numbers) -> Made:
    low, bond = TOP - numbers.length("lap_h"), numbers.length("tape_bond")
    edges = [
        line([(a, low, -6.5), (b, low, -6.5)], "cut away")
        for a, b in ((0, JOINT - bond), (JOINT + bond, WIDE))
    ]
    return [flat(0, low - bond, WIDE, low + bond, "tape", -6), *edges], []


LAPS: dict[str, Callable[[Numbers], Made]] = {
    "lower sheet": _lower_sheet,
    "upper sheet": _upper_sheet,
    "side lap": _side_lap,
    "upright tape": _upright_tape,
    "level tape": _level_tape,
}
