"""What the steps at a masonry leaf along a roof look like: flashing and cavity trays that go up with the slope, step by step."""

from collections.abc import Callable

from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import HIGH, WIDE, Face, Made, Size, flat, line, measured
from exposure.junction.work_leaf import (
    LEAF,
    depth_behind,
    leaf_up_to,
    rise_of_tray,
    sheet_over_leg,
    tray_front,
    tray_in_leaf,
    wall_behind,
)

EAVE, PITCH = (200.0, 130.0), 0.5
ROOF = (-20.0, -420.0)  # depth of its edges, at the leaf and before it
LAPPED = 60.0  # of a piece over the one below it, as drawn; no line sizes it
STEP, RISE = 300.0, 150.0  # of one step of the flashing, two courses high
ENDS = (400.0, 700.0, WIDE)  # x of the upper end of each step
TRAYS = ((100.0, 460.0), (340.0, 760.0), (640.0, WIDE))  # x of the ends of each tray
COURSE = 75.0


def _roof(x: float) -> float:
    return EAVE[1] + PITCH * (x - EAVE[0])


def _bed(numbers: Numbers, step: int) -> float:
    """The joint that flashing and tray of a step lie in."""
    return _roof(ENDS[0]) + numbers.length("step_h") + RISE * step


def _before(step: int) -> float:
    """Depth of the flashing of a step, which lies over the one below it and over the front of its tray."""
    return -8.0 - 2 * step


def along_roof(numbers: Numbers) -> list[Face]:
    """The leaf as far as the joint of the lowest step, the wall behind it, and the roof that runs up along it."""
    bed, (x, z), top = _bed(numbers, 0), EAVE, _roof(WIDE)
    return [
        *wall_behind(numbers),
        *leaf_up_to(bed),
        Face(((x, z, ROOF[0]), (WIDE, top, ROOF[0]), (WIDE, top, ROOF[1]), (x, z, ROOF[1])), "stone"),
        *(line([(x, z, d), (WIDE, top, d)], "joint") for d in (-220.0, -320.0)),
    ]


def _flashing(numbers: Numbers, step: int) -> list[Face]:
    """One piece of the step flashing, over the one below it, and its part on the roof."""
    left, right, bed, d = (
        ENDS[step] - STEP - LAPPED if step else EAVE[0],
        ENDS[step],
        _bed(numbers, step),
        _before(step),
    )
    return [
        Face(((left, _roof(left), d), (right, _roof(right), d), (right, bed, d), (left, bed, d)), "metal"),
        Face(((left, _roof(left), -21 - step), (right, _roof(right), -21 - step), (right, _roof(right), -110 - step), (left, _roof(left), -110 - step)),
             "tray"),
    ]  # fmt: skip


def _kick_out(numbers: Numbers) -> Made:
    """Where an eave ends at the leaf, the kick-out below the lowest piece: up the leaf into the same joint, on the roof and out past its end."""
    if not numbers.has("kick_h"):
        return [], []
    out, high, d, (x, z) = numbers.length("kick_proj"), _bed(numbers, 0), _before(0) + 2, EAVE
    mouth, inner, low = x - 70, x + 120, z - 30
    up = _roof(inner)
    faces = [
        Face(((mouth, low, d), (x, z, d), (inner, up, d), (inner, high, d), (mouth, high, d)), "metal"),
        Face(((mouth, low, d), (x, z, d), (x, z, -0.6 * out), (mouth, low - 15, -out)), "tray"),
    ]  # fmt: skip
    return faces, [Size("", (x - 90, high + 110, -out), ((mouth + 20, low + 40, d),), "kick-out")]


def _courses(numbers: Numbers, low: float, high: float) -> list[Face]:
    """The leaf from ``low`` to ``high`` with its cut end."""
    joints = [
        line([(0, z, -5), (WIDE, z, -5)], "joint") for z in range(int(low + COURSE), int(high), int(COURSE))
    ]
    end = Face(((WIDE, low, -5), (WIDE, high, -5), (WIDE, high, LEAF), (WIDE, low, LEAF)), "masonry")
    top = Face(((0, high, -5), (WIDE, high, -5), (WIDE, high, LEAF), (0, high, LEAF)), "masonry")
    return [
        flat(0, low, WIDE, high, "masonry", -5),
        end,
        top,
        line((*end.points, end.points[0]), "edge"),
        line((*top.points, top.points[0]), "edge"),
        *joints,
    ]


def _weep(numbers: Numbers, step: int) -> list[Face]:
    """The open joint at the lower end of a tray, and the tray's edge in the face of the leaf."""
    (left, right), low = TRAYS[step], _bed(numbers, step) + 8
    return [
        flat(left + 40, low, left + 52, low + 65, "fixing", -6),
        line([(left, low - 2, -6), (right, low - 2, -6)], "hidden edge"),
    ]


def _front(numbers: Numbers, step: int) -> Face:
    """What of a tray is seen before the finished leaf: its front, over the flashing it lies on."""
    return tray_front(*TRAYS[step], _bed(numbers, step), _before(step) - 1)


def _sheet(numbers: Numbers, step: int) -> list[Face]:
    """Membrane down over the leg of a tray through its own cut."""
    low = _bed(numbers, step) + 10 + numbers.length("head_tray_mas")
    return sheet_over_leg(numbers, *TRAYS[step], low, depth_behind(numbers) - 6 - 6 * step)


def _first_flashing(numbers: Numbers) -> Made:
    x, bed = ENDS[0], _bed(numbers, 0)
    faces, names = _kick_out(numbers)
    return [*faces, *_flashing(numbers, 0)], [
        measured("step_h", (x, _roof(x), -8), (x, bed, -8), beside=80),
        *names,
    ]


def _lowest_tray(numbers: Numbers) -> Made:
    (left, right), bed = TRAYS[0], _bed(numbers, 0)
    rise = rise_of_tray(numbers, (left + right) / 2, bed)
    end = Size("", (left - 40, rise.at[1] + 130, -4), ((left + 8, bed - 6, -9),), "past the roof")
    return tray_in_leaf(numbers, left, right, bed, front=_before(0) - 1), [rise, end]


def _first_sheet(numbers: Numbers) -> Made:
    edge, up, d = (
        _bed(numbers, 0) + 10 + numbers.length("head_tray_mas"),
        numbers.length("head_up"),
        depth_behind(numbers) - 6,
    )
    return _sheet(numbers, 0), [
        measured("head_up", (300, edge, d), (300, edge + up, d), beside=40, above=140)
    ]


def _next_tray(numbers: Numbers) -> Made:
    bed = _bed(numbers, 1)
    faces = [
        *_courses(numbers, _bed(numbers, 0) + 8, bed),
        *_weep(numbers, 0),
        *_flashing(numbers, 1),
        *tray_in_leaf(numbers, *TRAYS[1], bed, nearer=6, front=_before(1) - 1),
    ]
    if numbers.has("head_up"):
        faces += _sheet(numbers, 1)
    return faces, [Size("", (235, bed + 400, -4), ((TRAYS[1][0] + 8, bed + 4, -4),), "overlap, by its maker")]


def _leaf_on(numbers: Numbers) -> Made:
    return [
        *_courses(numbers, _bed(numbers, 1) + 8, HIGH),
        *_weep(numbers, 1),
        *_flashing(numbers, 2),
        _front(numbers, 2),
        *_weep(numbers, 2),
    ], []


STEPPED_TRAYS: dict[str, Callable[[Numbers], Made]] = {
    "first step of flashing": _first_flashing,
    "lowest tray": _lowest_tray,
    "sheet over the lowest tray": _first_sheet,
    "next tray": _next_tray,
    "leaf along the roof": _leaf_on,
}
