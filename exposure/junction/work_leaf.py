"""What the steps at a masonry leaf over a roof or deck look like: what is let into it, the tray on that, and the leaf over it."""

from collections.abc import Callable
from itertools import pairwise

from exposure.junction.leaf import CHASE, LAP
from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import HIGH, INNER_SET, LEAN, WIDE, Face, Made, Size, flat, line, measured
from exposure.junction.work_round_leaf import stop_ends_in_face

ROOF, BED = 230.0, 430.0  # heights of the roof and of the joint over it
LEAF = 100.0
FRONT = -8.0  # depth of the front of a tray, before what is let in
START, END = 26.0, WIDE - 26.0  # x of the stop-ends, past the weep holes and hidden by the leaf to come
ROOF_ENDS = (START + 25.0, END - 25.0)  # x of roof and flashing, which the tray covers from end to end


def _is_insulated(numbers: Numbers) -> bool:
    """Whether insulation stands between the cavity and an inner leaf."""
    return numbers.circumstances.wall_type == "cavity masonry"


def _cavity_back(numbers: Numbers) -> float:
    """Depth of the back of the cavity."""
    return LEAF + numbers.length("cav_mas")


def depth_behind(numbers: Numbers) -> float:
    """Depth of the wall behind the leaf, that trays go up to."""
    return _cavity_back(numbers) + (INNER_SET if _is_insulated(numbers) else 0.0)


def patch_behind(numbers: Numbers) -> tuple[float, float, float, float]:
    """The piece of wall behind the leaf that is seen in the frame; it ends with the leaf."""
    behind = depth_behind(numbers)
    return -LEAN[0] * behind, 0.0, WIDE, HIGH - LEAN[1] * behind


def wall_behind(numbers: Numbers) -> list[Face]:
    """Inner leaf or membrane, seen over the leaf."""
    wall = "masonry" if _is_insulated(numbers) else "film"
    (x0, z0, x1, z1), d = patch_behind(numbers), depth_behind(numbers)
    return [flat(x0, z0, x1, z1, wall, d), line([(x0, z1, d), (x1, z1, d), (x1, z0, d)], "edge")]


def insulation(numbers: Numbers, *, over: float | None = None, under: float | None = None) -> list[Face]:
    """Insulation of a cavity wall from the tray on the joint ``over``, or the foot of the wall, up to that on the joint ``under``, or its top, cut for both."""
    if not _is_insulated(numbers):
        return []
    face, back = _cavity_back(numbers), depth_behind(numbers)
    rise = numbers.length("head_tray_mas")

    def edge(bed: float | None, end: float) -> tuple[float, float]:
        """Heights at face and back."""
        if bed is None:
            return max(end - LEAN[1] * face, 0.0), max(end - LEAN[1] * back, 0.0)
        low = bed + 2
        return low + rise * numbers.length("cav_mas") / (back - LEAF), low + rise

    (low, low_back), (high, high_back) = edge(over, 0.0), edge(under, HIGH)
    left, far = -LEAN[0] * face, -LEAN[0] * back
    top = ((left, high, face), (WIDE, high, face), (WIDE, high_back, back), (far, high_back, back))
    end = ((WIDE, low, face), (WIDE, high, face), (WIDE, high_back, back), (WIDE, low_back, back))
    return [
        flat(left, low, WIDE, high, "insulation", face),
        Face(end, "insulation"),
        Face(top, "insulation"),
        line([*top, top[0]], "arris"),
        line([end[0], end[1]], "arris"),
    ]


def leaf_up_to(bed: float) -> list[Face]:
    """The leaf as far as the joint at ``bed``, its top and its cut end."""
    top = ((0.0, bed, 0.0), (WIDE, bed, 0.0), (WIDE, bed, LEAF), (0.0, bed, LEAF))
    end = ((WIDE, 0.0, 0.0), (WIDE, bed, 0.0), (WIDE, bed, LEAF), (WIDE, 0.0, LEAF))
    edges = [line(pair, "edge") for way in (top, end) for pair in pairwise((*way, way[0]))]
    return [flat(0, 0, WIDE, bed, "masonry"), Face(top, "masonry"), Face(end, "masonry"), *edges]


def _on_roof(out: float, material: str, d: float = 0.0) -> Face:
    """What lies on the roof, or the roof itself, from a depth out to another."""
    left, right = ROOF_ENDS
    return Face(((left, ROOF, d), (right, ROOF, d), (right, ROOF, out), (left, ROOF, out)), material)


def over_roof(numbers: Numbers) -> list[Face]:
    """The leaf as far as the joint over the roof, and the wall behind it."""
    return [
        *wall_behind(numbers),
        *insulation(numbers, under=BED),
        *leaf_up_to(BED),
        _on_roof(-230, "stone"),
    ]


def turned_in(start: float, end: float, bed: float, d: float, material: str = "tray") -> Face:
    """The upper edge of what is let into the joint at ``bed``, on the leaf."""
    return Face(((start, bed, d), (end, bed, d), (end, bed, CHASE), (start, bed, CHASE)), material)


def _let_in(numbers: Numbers) -> Made:
    """A flashing, or the membrane of a deck where no roof or saddle meets the leaf."""
    left, right = ROOF_ENDS
    flashed = any(map(numbers.has, ("step_h", "step_flat", "saddle_up")))
    up, on = ("metal", "tray") if flashed else ("flap", "flap")
    leg, edge = (right - 120, ROOF, -90.0), (left + 120, BED, CHASE / 2)
    faces = [
        flat(left, ROOF, right, BED, up, -3),
        _on_roof(-120 if flashed else -230, on, -3),
        turned_in(left, right, BED, -3, on),
    ]
    return faces, [
        Size("", (right - 150, ROOF - 130, -90), (leg,), "its leg on roof or deck" if flashed else "deck's membrane"),
        Size("", (left + 180, BED + 150, 0), (edge,), "into the joint"),
    ]  # fmt: skip


def joint_behind(numbers: Numbers, x: float, bed: float, *, beside: float = 0.0) -> Made:
    """In a cavity wall the joint of the inner leaf that the back edge of a tray lies in, named at ``x``, so far ``beside`` it."""
    if not _is_insulated(numbers):
        return [], []
    (left, _, right, _), d = patch_behind(numbers), depth_behind(numbers)
    high = bed + 4 + numbers.length("head_tray_mas")
    return [line([(left, high, d), (right, high, d)], "edge")], [
        Size("", (x + beside, high + 130, d), ((x, high, d),), "built into a joint")
    ]


def tray_front(start: float, end: float, bed: float, front: float = FRONT) -> Face:
    """The edge of a tray on the joint at ``bed``, turned down before the leaf and what is let in there."""
    return flat(start, bed + 4 - LAP, end, bed + 4, "tray", front)


def tray_in_leaf(
    numbers: Numbers, start: float, end: float, bed: float, *, nearer: float = 0.0, front: float = FRONT
) -> list[Face]:
    """A cavity tray on the joint at ``bed``, a stop-end at each end, its leg up the wall behind; ``nearer`` where membrane hangs there already."""
    rise, behind = numbers.length("head_tray_mas"), depth_behind(numbers) - 3
    low, high = bed + 4, bed + 4 + rise
    up, stop = numbers.length("head_up", 0.0), numbers.length("tray_stop")
    faces = [
        Face(((start, low, LEAF), (end, low, LEAF), (end, high, behind), (start, high, behind)), "tray"),
        Face(((start, low, front), (end, low, front), (end, low, LEAF - 4), (start, low, LEAF - 4)), "tray"),
        tray_front(start, end, bed, front),
    ]
    for x in (start, end):  # in the leaf, and in the cavity, where a tray above may cover it
        faces += [
            Face(((x, low, -4), (x, low, LEAF), (x, low + stop, LEAF), (x, low + stop, -4)), "metal"),
            Face(
                (
                    (x, low, LEAF),
                    (x, high, behind),
                    (x, high + max(up, stop), behind),
                    (x, low + stop, LEAF),
                ),
                "metal",
            ),
        ]
    if up:
        faces.append(flat(start, high, end, high + up, "metal", behind - nearer))
    return faces


def rise_of_tray(numbers: Numbers, x: float, bed: float) -> Size:
    """How far a tray rises to the wall behind, its number over the tray, clear of both ends."""
    low, rise, behind = bed + 4, numbers.length("head_tray_mas"), depth_behind(numbers) - 3
    over = max(numbers.length("head_up", 0.0), numbers.length("tray_stop")) + 70
    return measured("head_tray_mas", (x, low, behind), (x, low + rise, behind), above=rise / 2 + over)


def _leaf_tray(numbers: Numbers) -> Made:
    joint, named = joint_behind(numbers, END - 170, BED)
    tray = tray_in_leaf(numbers, START, END, BED)
    return [*joint, *tray], [rise_of_tray(numbers, START + 250, BED), *named]


def sheet_over_leg(numbers: Numbers, start: float, end: float, edge: float, d: float) -> list[Face]:
    """The membrane above a level cut at ``edge``, down over the leg of a tray from ``start`` to ``end``; tape over the cut's ends."""
    up = numbers.length("head_up")
    return [
        flat(start, edge, end, edge + up + 10, "flap", d),
        line([(start, edge + up, d), (end, edge + up, d)], "hidden edge"),
        *(flat(x - 20, edge - 15, x + 20, edge + up + 15, "tape", d - 1) for x in (start, end)),
    ]


def _sheet_over_tray(numbers: Numbers) -> Made:
    edge, up = BED + 10 + numbers.length("head_tray_mas"), numbers.length("head_up")
    d = depth_behind(numbers) - 6
    return sheet_over_leg(numbers, START, END, edge, d), [
        measured("head_up", (300, edge, d), (300, edge + up, d), beside=80)
    ]


def _leaf_over_tray(numbers: Numbers) -> Made:
    low, apart = BED + 8, numbers.length("weep_sp")
    first = (START + END - apart) / 2
    weeps = [flat(x - 6, low, x + 6, low + 65, "fixing", -6) for x in (first, first + apart)]
    joints = [line([(0, z, -5), (WIDE, z, -5)], "joint") for z in range(int(low) + 75, int(HIGH), 75)]
    end = Face(
        ((WIDE, low, -5), (WIDE, HIGH, -5), (WIDE, HIGH, LEAF), (WIDE, low, LEAF)), "masonry"
    )  # before the stop-end
    outline = line((*end.points, end.points[0]), "edge")
    return [
        *insulation(numbers, over=BED),
        flat(0, low, WIDE, HIGH, "masonry", -5),
        end,
        outline,
        *joints,
        *weeps,
        *stop_ends_in_face(numbers, (START, END), BED + 4, -6),
    ], [measured("weep_sp", (first, low + 110, -6), (first + apart, low + 110, -6), above=55)]


LEAF_TRAY: dict[str, Callable[[Numbers], Made]] = {
    "let in": _let_in,
    "leaf tray": _leaf_tray,
    "sheet over the tray": _sheet_over_tray,
    "leaf over the tray": _leaf_over_tray,
}
