"""What the steps at a masonry leaf along a roof look like: flashing and cavity trays that go up with the slope, step by step."""

from collections.abc import Callable
from typing import NamedTuple

from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import HIGH, WIDE, Face, Made, Size, flat, line, measured
from exposure.junction.work_leaf import (
    LEAF,
    depth_behind,
    insulation,
    joint_behind,
    leaf_up_to,
    rise_of_tray,
    sheet_over_leg,
    tray_front,
    tray_in_leaf,
    turned_in,
    wall_behind,
)
from exposure.junction.work_round_leaf import stop_ends_in_face

EAVE, PITCH = (330.0, 130.0), 0.5
ROOF = (
    -20.0,
    -260.0,
)  # depth of its edges, at the leaf and before it, no nearer, so that its end is not seen past the lowest tray
LAPPED = 60.0  # of a piece over the one below it, and of a tray past its piece, as drawn; no line sizes it
FIRST, RISE = 200.0, 150.0  # length of the first piece of flashing, and height of a step, two courses
COURSE = 75.0
MOUTH, INNER = EAVE[0] - 90, EAVE[0] + 15  # x of the ends of a kick-out
LOWEST = EAVE[0] - 130  # x of the lower end of the lowest tray


class Step(NamedTuple):
    """A joint of the leaf, the piece let into it from its lower to its upper end, and the ends of the tray on that."""

    bed: float
    start: float
    end: float
    tray: tuple[float, float]


def _roof(x: float) -> float:
    return EAVE[1] + PITCH * (x - EAVE[0])


def _steps(numbers: Numbers) -> list[Step]:
    """From the eave up as far as the picture: the lowest is a kick-out where an eave ends, else the first piece of flashing."""
    kicks, up = numbers.has("kick_h"), numbers.length("step_h")
    bed = EAVE[1] + (numbers.length("kick_h") if kicks else PITCH * FIRST + up)
    steps: list[Step] = []
    while not steps or steps[-1].end < WIDE - LAPPED:
        start = steps[-1].end - LAPPED if steps else EAVE[0]
        end = INNER if kicks and not steps else EAVE[0] + (bed - up - EAVE[1]) / PITCH
        tray = (start if steps else LOWEST, min(end + LAPPED, WIDE))
        steps.append(Step(bed, start, min(end, WIDE), tray))
        bed += RISE
    return steps


def _before(step: int) -> float:
    """Depth of the flashing of a step, which lies over the one below it and over the front of its tray."""
    return -8.0 - 2 * step


def along_roof(numbers: Numbers) -> list[Face]:
    """The leaf as far as the joint of the lowest step, the wall behind it, and the roof that runs up along it."""
    bed, (x, z), top = _steps(numbers)[0].bed, EAVE, _roof(WIDE)
    return [
        *wall_behind(numbers),
        *insulation(numbers, under=bed),
        *leaf_up_to(bed),
        Face(((x, z, ROOF[0]), (WIDE, top, ROOF[0]), (WIDE, top, ROOF[1]), (x, z, ROOF[1])), "stone"),
        *(line([(x, z, d), (WIDE, top, d)], "joint") for d in (-140.0, -200.0)),
    ]


def _flashing(numbers: Numbers, step: int) -> list[Face]:
    """One piece of the step flashing, over the one below it, its upper edge in the joint, and its part on the roof."""
    bed, left, right, _ = _steps(numbers)[step]
    d = _before(step)
    return [
        turned_in(left, right, bed, d),
        Face(((left, _roof(left), d), (right, _roof(right), d), (right, bed, d), (left, bed, d)), "metal"),
        Face(((left, _roof(left), -21 - step), (right, _roof(right), -21 - step), (right, _roof(right), -110 - step), (left, _roof(left), -110 - step)),
             "tray"),
    ]  # fmt: skip


def _kick_out(numbers: Numbers) -> Made:
    """Where an eave ends at the leaf: up the leaf into the joint of the lowest tray, and out past the end of the roof."""
    out, bed, d, (x, z) = numbers.length("kick_proj"), _steps(numbers)[0].bed, _before(0), EAVE
    low = _roof(MOUTH)
    faces = [
        turned_in(MOUTH, INNER, bed, d),
        Face(((MOUTH, low, d), (INNER, _roof(INNER), d), (INNER, bed, d), (MOUTH, bed, d)), "metal"),
        Face(((MOUTH, low, d), (x, z, d), (x, z, -0.6 * out), (MOUTH, low - 15, -out)), "tray"),
    ]  # fmt: skip
    return faces, [
        measured("kick_h", (x, z, d), (x, bed, d), beside=260, above=120),
        measured(
            "kick_proj", (MOUTH - 15, low - 15, 0), (MOUTH - 15, low - 15, -out), beside=-100, above=290
        ),
    ]


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


def _in_face(numbers: Numbers, step: int) -> list[Face]:
    """What is seen of a tray in the finished leaf: the open joint at its lower end, and its stop-ends but for the one that a flashing hides."""
    bed, _, _, tray = _steps(numbers)[step]
    left = tray[0]
    return [
        flat(left + 40, bed + 8, left + 52, bed + 73, "fixing", -6),
        *stop_ends_in_face(numbers, [x for x in tray if x < WIDE], bed + 4, -6),
    ]


def _end_below(numbers: Numbers, step: int) -> Made:
    """Of the tray below a step what the flashing of the step hides, and how far the trays lap."""
    below, above = _steps(numbers)[step - 1 : step + 1]
    left, right, low, d = above.tray[0], below.tray[1], below.bed + 4, _before(step) - 0.5
    high = low + numbers.length("tray_stop")
    middle = (low + high) / 2
    ends = (left, middle, d), (right, middle, d)
    return [line([(left, low, d), (right, low, d), (right, high, d)], "cut away")], [
        Size("", (30, above.bed + 90, d), ends, "overlap")
    ]


def _front(numbers: Numbers, step: int) -> Face:
    """What of a tray is seen before the finished leaf: its front, over the flashing it lies on."""
    bed, _, _, tray = _steps(numbers)[step]
    return tray_front(*tray, bed, _before(step) - 1)


def _sheet(numbers: Numbers, step: int) -> list[Face]:
    """Membrane down over the leg of a tray through its own cut."""
    bed, _, _, tray = _steps(numbers)[step]
    low = bed + 10 + numbers.length("head_tray_mas")
    return sheet_over_leg(numbers, *tray, low, depth_behind(numbers) - 6 - 6 * step)


def _leg_of(numbers: Numbers, step: int, **label: float) -> Size:
    """How high a piece of flashing stands over the roof at its upper end."""
    bed, _, x, _ = _steps(numbers)[step]
    return measured("step_h", (x, _roof(x), _before(step)), (x, bed, _before(step)), **label)


def _first_piece(numbers: Numbers) -> Made:
    if numbers.has("kick_h"):
        return _kick_out(numbers)
    return _flashing(numbers, 0), [_leg_of(numbers, 0, beside=80)]


def _lowest_tray(numbers: Numbers) -> Made:
    bed, _, _, (left, right) = _steps(numbers)[0]
    rise = rise_of_tray(numbers, (left + right) / 2, bed)
    end = Size("", (left - 40, rise.at[1] + 130, -4), ((left + 8, bed - 6, -9),), "past the roof")
    joint, named = joint_behind(numbers, right - 30, bed, beside=250)
    return [*joint, *tray_in_leaf(numbers, left, right, bed, front=_before(0) - 1)], [rise, end, *named]


def _first_sheet(numbers: Numbers) -> Made:
    edge, up, d = (
        _steps(numbers)[0].bed + 10 + numbers.length("head_tray_mas"),
        numbers.length("head_up"),
        depth_behind(numbers) - 6,
    )
    x = sum(_steps(numbers)[0].tray) / 2
    return _sheet(numbers, 0), [measured("head_up", (x, edge, d), (x, edge + up, d), beside=40, above=140)]


def _next_tray(numbers: Numbers) -> Made:
    below, step = _steps(numbers)[:2]
    dashed, named = _end_below(numbers, 1)
    faces = [
        *insulation(numbers, over=below.bed, under=step.bed),
        *_courses(numbers, below.bed + 8, step.bed),
        *_in_face(numbers, 0),
        *_flashing(numbers, 1),
        *joint_behind(numbers, step.tray[1], step.bed)[0],
        *tray_in_leaf(numbers, *step.tray, step.bed, nearer=6, front=_before(1) - 1),
        *dashed,
    ]
    if numbers.has("head_up"):
        faces += _sheet(numbers, 1)
    return faces, [_leg_of(numbers, 1, beside=240, above=-110), *named]


def _leaf_on(numbers: Numbers) -> Made:
    steps = _steps(numbers)
    faces = [
        *insulation(numbers, over=steps[1].bed),
        *_courses(numbers, steps[1].bed + 8, HIGH),
        *_in_face(numbers, 1),
    ]
    for step in range(2, len(steps)):
        faces += [*_flashing(numbers, step), _front(numbers, step), *_in_face(numbers, step)]
    return faces, []


STEPPED_TRAYS: dict[str, Callable[[Numbers], Made]] = {
    "first step of flashing": _first_piece,
    "lowest tray": _lowest_tray,
    "sheet over the lowest tray": _first_sheet,
    "next tray": _next_tray,
    "leaf along the roof": _leaf_on,
}
