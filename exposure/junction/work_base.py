"""What the steps at the base of a clad wall look like: flashing, battens, closer, the lowest board."""

from collections.abc import Callable

from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import (
    HIGH,
    LEAN,
    WIDE,
    Face,
    Made,
    Size,
    broken,
    flat,
    is_rendered,
    line,
    measured,
    rendered,
)

PLATE = 320.0  # joint of plate and foundation
BELOW_FOOT, CLOSER = (
    10.0,
    18.0,
)  # bend of the drip below the boards, and the closer under the feet of the battens
FIRST = 150.0  # first batten
SKIN = -44.0  # face of the cladding
SOIL = 60.0  # shown under a foundation that is broken


def at_base(numbers: Numbers) -> list[Face]:
    """Foundation, the wall's membrane, and soil out to the cladding; the foundation broken where it is higher than the frame has room for."""
    soil, out = _ground(numbers), (LEAN[0] * -SKIN, SKIN)
    top = ((0.0, soil, -1.0), (WIDE, soil, -1.0), (WIDE + out[0], soil, SKIN), (out[0], soil, SKIN))
    is_high = _foot(numbers) - soil < numbers.length("gnd")
    return [
        flat(0, 0, WIDE, PLATE, "stone"),
        flat(0, PLATE, WIDE, HIGH, "film"),
        *(broken(0, lambda _: (soil + _foot(numbers)) / 2 - 25, -1, "arris") if is_high else []),
        Face(top, "soil"),
        flat(out[0], LEAN[1] * -SKIN, WIDE + out[0], soil, "soil", SKIN),
    ]


def _foot(numbers: Numbers) -> float:
    """Lower edge of the boards."""
    return PLATE - numbers.length("plate_lap")


def _ground(numbers: Numbers) -> float:
    """Height of the soil in the frame."""
    soil = _foot(numbers) - numbers.length("gnd")
    return soil if soil > LEAN[1] * -SKIN else SOIL


def _base_flashing(numbers: Numbers) -> Made:
    drip, bend = numbers.length("drip"), _foot(numbers) - BELOW_FOOT
    faces = [
        flat(0, bend, WIDE, PLATE + 60, "metal", -3),
        Face(((0, bend, -3), (WIDE, bend, -3), (WIDE, bend - drip, -3 - drip), (0, bend - drip, -3 - drip)), "tray"),
        flat(0, PLATE + 8, WIDE, HIGH, "flap", -5),
    ]  # fmt: skip
    return faces, [Size("drip", (170, bend - 75, 0), ((120, bend - drip / 2, -3 - drip / 2),))]


def _battens(numbers: Numbers) -> Made:
    apart = numbers.length("batten_sp")
    places = [x for x in (FIRST, FIRST + apart) if x + 45 < WIDE]
    ends = (FIRST + 22, 720.0, -20.0), (FIRST + 22 + apart, 720.0, -20.0)
    return [flat(x, _foot(numbers) + CLOSER, x + 45, HIGH, "timber", -20) for x in places], [
        measured("batten_sp", *ends, above=55)
    ]


def _closer(numbers: Numbers) -> Made:
    low, high = _foot(numbers), _foot(numbers) + CLOSER
    slots = [flat(x, low + 5, x + 26, high - 5, "fixing", -26) for x in range(20, int(WIDE) - 30, 48)]
    return [flat(0, low, WIDE, high, "barrier", -25), *slots], []


def _lowest_board(numbers: Numbers) -> Made:
    low = _foot(numbers)
    faces = [
        flat(0, low, WIDE, low + 150, "cladding", SKIN),
        flat(0, low + 140, WIDE, low + 290, "cladding", -46),
    ]
    joint = line([(0, PLATE, -47), (WIDE, PLATE, -47)], "hidden edge")
    if is_rendered(numbers):
        faces = [*rendered(0, low, WIDE, low + 290, SKIN), line([(0, low, SKIN), (WIDE, low, SKIN)], "edge")]
    return [*faces, joint], [
        measured("plate_lap", (840, low, -47), (840, PLATE, -47), beside=75, above=10),
        measured("gnd", (190, _ground(numbers), SKIN), (190, low, SKIN)),
    ]


AT_THE_BASE: dict[str, Callable[[Numbers], Made]] = {
    "base flashing": _base_flashing,
    "base battens": _battens,
    "closer": _closer,
    "lowest board": _lowest_board,
}
