"""What the steps of laps and their tape look like on a bare wall."""

from collections.abc import Callable

from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import HIGH, WIDE, Face, Made, flat, line, measured

TOP = 540.0  # upper edge of the first sheet
JOINT = 480.0  # edge of the sheet that lies outside at an upright lap


def bare_wall(numbers: Numbers) -> list[Face]:
    """Boards, or studs where there are none."""
    if numbers.boards:
        return [flat(0, 0, WIDE, HIGH, "board")]
    studs = (40.0, JOINT - 22, 900.0)  # one behind the upright joint
    return [flat(0, 0, WIDE, HIGH, "room"), *(flat(x, 0, x + 45, HIGH, "timber") for x in studs)]


def _lower_sheet(_: Numbers) -> Made:
    return [flat(0, 0, WIDE, 45, "metal", 0), flat(0, 20, WIDE, TOP, "film"), line([(0, 20, 0), (WIDE, 20, 0)], "edge"),
            line([(0, TOP, 0), (WIDE, TOP, 0)], "edge")], []  # fmt: skip


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
    return [flat(JOINT, low, WIDE, HIGH, "film", -5), *edges], [
        measured("lap_v", (JOINT, 850, -5), (JOINT + lap, 850, -5), above=60)
    ]


def _upright_tape(numbers: Numbers) -> Made:
    """Over the joint down to the sheet's lower edge, its foot over the level tape there."""
    low, bond = TOP - numbers.length("lap_h"), numbers.length("tape_bond")
    return [flat(JOINT - bond, low, JOINT + bond, HIGH, "tape", -9)], [
        measured("tape_bond", (JOINT, 760, -9), (JOINT + bond, 760, -9), above=-55)
    ]


def _level_tape(numbers: Numbers) -> Made:
    low, bond = TOP - numbers.length("lap_h"), numbers.length("tape_bond")
    return [flat(0, low - bond, WIDE, low + bond, "tape", -6)], []


LAPS: dict[str, Callable[[Numbers], Made]] = {
    "lower sheet": _lower_sheet,
    "upper sheet": _upper_sheet,
    "side lap": _side_lap,
    "upright tape": _upright_tape,
    "level tape": _level_tape,
}
