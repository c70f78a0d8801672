"""What is set into an opening and round it on the wall: window, seals, support, trims, outer sill, hood."""

from collections.abc import Callable
from itertools import pairwise

from exposure.detail.order import hood_clear
from exposure.junction.jamb import CLEAR, FIN
from exposure.junction.numbers import Numbers
from exposure.junction.over_frame import over_the_edge
from exposure.junction.window import BOX, DEPTH, ON_CLADDING, flange_past
from exposure.junction.work_faces import (
    CAVITY_SET,
    CLAD_FACE,
    FRAME_FOOT,
    INNER_SET,
    LEAF_FACE,
    LIP,
    MIDDLE,
    X0,
    X1,
    Z0,
    Z1,
    Face,
    Made,
    Size,
    behind_leaf,
    core_face,
    flat,
    line,
    lip_foot,
    measured,
    plate_at,
    window_face,
)
from exposure.junction.work_under import blocking_behind, clad_under_sill, meshed, support_foot

BRACKETS = (X0 + 30, X0 + 155, X1 - 195, X1 - 70)  # x of the left edge of each bracket under a window
FOOT_CLEAR = 14.0  # mm, gap below a trim or lining, wider than it is
STRAP = (55.0, 24.0)  # mm, a strap or bracket of a frame, as drawn
TRIM_TOP = Z1 - 2  # of trim or lining, at the head of the opening, behind the lip of the flashing
TRIM_PAST = 30.0  # mm, trim past the edge of the opening at most


def _sealant(numbers: Numbers) -> Made:
    way = [(X0 - 12, Z0 + 40, 0.0), (X0 - 12, Z1 + 12, 0.0), (X1 + 12, Z1 + 12, 0.0), (X1 + 12, Z0 + 40, 0.0)]
    window, named = _tried_dry(numbers)
    packers, name = _packers()
    return [line(way, "sealant"), *packers, *window], [*named, *name]


def _packers() -> Made:
    """Two packers under the frame, over the tray."""
    faces = [flat(x, Z0 + 10, x + 40, FRAME_FOOT, "timber", 40) for x in (X0 + 60, X1 - 100)]
    return faces, [Size("", (MIDDLE - 30, Z0 - 90, 40), ((X0 + 80, Z0 + 16, 40),), "packers")]


def _tried_dry(numbers: Numbers) -> Made:
    """The window that is tried in its opening and taken out again, dashed: its frame, and its flange where it has one."""
    low, d = FRAME_FOOT, window_face(numbers)
    places = [(X0 + CLEAR, low, X1 - CLEAR, Z1 - CLEAR)]
    if numbers.circumstances.frame != BOX:
        places.append((X0 - FIN, low - FIN - CLEAR, X1 + FIN, Z1 + FIN))
    spot = (MIDDLE + 40, places[-1][3], d)
    return [_dashed(*place, d) for place in places], [
        Size("", (MIDDLE + 100, Z1 + 110, d), (spot,), "window, tried dry")
    ]


def _dashed(x0: float, z0: float, x1: float, z1: float, d: float) -> Face:
    """The outline of what is out of sight, in its own frame alone."""
    return line([(x0, z0, d), (x1, z0, d), (x1, z1, d), (x0, z1, d), (x0, z0, d)], "cut away")


def _window(numbers: Numbers) -> Made:
    """The window with its sides; a flange lies on the membrane, or on the cladding whose edge it covers."""
    low, face, sizes = FRAME_FOOT, window_face(numbers), []
    left, right, top = X0 + CLEAR, X1 - CLEAR, Z1 - CLEAR
    faces = [
        flat(left, low, right, top, "frame", face),
        Face(((right, low, face), (right, low, face + DEPTH), (right, top, face + DEPTH), (right, top, face)), "frame"),
        flat(left + 65, low + 50, MIDDLE - 15, top - 50, "glass", face - 1),
        flat(MIDDLE + 15, low + 50, right - 65, top - 50, "glass", face - 1),
    ]  # fmt: skip
    mine = numbers.circumstances
    if core_face(numbers):  # whole before the inner leaf
        at = face + 20
        faces = [
            *(flat(x, Z0 + 13, x + 40, low, "timber", at) for x in BRACKETS),
            Face(((left, top, face), (right, top, face), (right, top, face + DEPTH), (left, top, face + DEPTH)), "frame"),
            *faces,
        ]  # fmt: skip
        spot = (BRACKETS[-1] + 25, low - 8, at)
        sizes = [Size("", (X1 + 90, Z0 - 90, at), (spot,), "packers")]
    if mine.frame != BOX and not behind_leaf(numbers):
        if mine.window_position == "over the cavity":
            cover = numbers.length("jamb_cover", 10)
            foot, at = low - flange_past(numbers), Z0 + 120
            faces.insert(0, flat(X0 - cover, foot, X1 + cover, Z1 + cover, "frame", face + 1))
            sizes.append(measured("jamb_cover", (X0 - cover, at, face), (X0, at, face), beside=-90, above=40))
        else:
            faces.insert(0, flat(X0 - FIN, low - FIN - CLEAR, X1 + FIN, Z1 + FIN, "frame", -1))
    return faces, sizes


def _flange_bead(numbers: Numbers) -> Made:
    """The sealant between cladding and flange at both jambs, along its edges; none at the bottom."""
    cover, face = numbers.length("jamb_cover", ON_CLADDING), window_face(numbers)
    faces = [line([(x, FRAME_FOOT, face), (x, Z1, face)], "sealant") for x in (X0 - cover, X1 + cover)]
    spot = (X1 + cover, Z0 + 70, face)
    return faces, [Size("", (X1 + 130, Z0 + 20, face), (spot,), "bead of sealant")]


def _straps(numbers: Numbers) -> Made:
    """Straps at the jambs on the room side, dashed where the far jamb hides them, and packers under the frame."""
    window, named = _tried_dry(numbers)
    straps = [flat(x, z, x + STRAP[0], z + STRAP[1], "metal", 120) for x, z in _fixings()]
    hidden = [_dashed(x, z, x + STRAP[0], z + STRAP[1], 120) for x, z in _fixings() if x > MIDDLE]
    packers, name = _packers()
    spot = (X0 + 20, (Z0 + Z1) / 2, 120.0)
    inside = Size("", (X0 - 110, (Z0 + Z1) / 2 + 60, 120), (spot,), "straps inside")
    return [*straps, *packers, *window, *hidden], [*named, inside, *name]


def _fixings(left: float = X0 - 12, right: float = X1 - 45) -> list[tuple[float, float]]:
    """Left lower corner of what holds the frame at both jambs."""
    return [(x, z) for z in (Z0 + 110, (Z0 + Z1) / 2 - 12, Z1 - 130) for x in (left, right)]


def _held_inside(numbers: Numbers) -> Made:
    """The same behind the window that hides it, dashed on its frame alone; in a cavity wall from the frame's back into the reveal of the inner leaf."""
    if core_face(numbers):
        near, far = window_face(numbers) + DEPTH - 10, INNER_SET + 60
        heights = [z for z, _ in sorted({(z, 0) for _, z in _fixings()})]
        straps = [
            line([(x, z, near), (x, z, far), (x, z + 24, far), (x, z + 24, near), (x, z, near)], "cut away")
            for x in (X0 + 5, X1 - 5)
            for z in heights
        ]
        return straps, [Size("", (X1 + 130, Z0 + 190, far), ((X1 - 5, Z0 + 122, far - 10),), "straps inside")]
    d, edge = window_face(numbers), CLEAR + 4  # on the frame's face, where they are seen within its sides
    fixings = _fixings(X0 + edge, X1 - edge - STRAP[0])
    faces = [_dashed(x, z, x + STRAP[0], z + STRAP[1], d) for x, z in fixings]
    mine = numbers.circumstances
    what = "straps" if mine.frame == BOX or mine.wall_type == "cavity masonry" else "brackets"
    x, z = fixings[3]
    spot = (x + STRAP[0] / 2, z + STRAP[1] / 2, d)
    return faces, [Size("", (X1 + 150, z + 30, d), (spot,), f"{what} inside")]


def _on_sill(numbers: Numbers, d: float) -> float:
    """Height of the face of the outer sill at a depth."""
    back, out = window_face(numbers) - 2, CLAD_FACE - 30
    return Z0 + 4 + 28 * (d - out) / (back - out)


def _foot(numbers: Numbers, x: float, front: float) -> tuple[Callable[[float], float], Size]:
    """Foot of trim or lining at a depth, clear of the outer sill so far that it is seen, and that gap at ``x``."""
    drawn = max(numbers.length("clad_gap", 5.0), FOOT_CLEAR)
    spot = (x, _on_sill(numbers, front) + drawn / 2, front)
    return lambda d: _on_sill(numbers, d) + drawn, Size(
        "clad_gap", (x + 150, Z0 + 110, front), (spot,), word="foot clear"
    )


def _trim(numbers: Numbers) -> Made:
    """Trims over the joint of a box frame at both jambs."""
    cover = numbers.length("jamb_cover")
    edge = X0 + 8 + cover
    front = LEAF_FACE - 2 if "masonry" in numbers.circumstances.wall_type else CLAD_FACE - 8
    top, past = TRIM_TOP, over_the_edge(numbers, TRIM_PAST)
    foot, clear = _foot(numbers, X1, front)
    faces = [
        flat(X0 - past, foot(front), edge, top, "timber", front),
        flat(X1 - 8 - cover, foot(front), X1 + past, top, "timber", front),
    ]
    at = Z0 + 120
    cover_size = measured("jamb_cover", (edge - cover, at, front), (edge, at, front), beside=-110, above=40)
    return faces, [cover_size, clear]


def _head_trim(numbers: Numbers) -> Made:
    """The trim along the head of a box frame over the cavity, dashed behind the lip of the flashing that hides it."""
    if numbers.circumstances.frame != BOX:
        return [], []
    cover, d = numbers.length("jamb_cover"), CLAD_FACE - 8
    left, right, low, high = X0 + 8 + cover, X1 - 8 - cover, Z1 - CLEAR - cover, Z1 - CLEAR + 8
    hidden = line(
        [(left, low, d), (right, low, d), (right, high, d), (left, high, d), (left, low, d)], "cut away"
    )
    return [hidden], [Size("", (X0 + 90, Z1 - 130, d), ((X0 + 120, low, d),), "trim under it")]


def _reveal_lining(numbers: Numbers) -> Made:
    """Linings at both jambs beside a flange behind the cladding's face."""
    mine = numbers.circumstances
    if mine.frame == BOX or mine.window_position != "at the sheathing":
        return [], []
    if "masonry" in mine.wall_type or not numbers.has("batten_sp"):
        return [], []
    front, edge, top = CLAD_FACE - 8, CLEAR + ON_CLADDING, TRIM_TOP
    left, right, near = X0 + edge, X1 - edge, window_face(numbers)
    past = over_the_edge(numbers, TRIM_PAST)
    foot, clear = _foot(numbers, X1, front)
    faces = [
        Face(((right, foot(front), front), (right, top, front), (right, top, near), (right, foot(near), near)), "timber"),
        flat(X0 - past, foot(front), left, top, "timber", front),
        flat(right, foot(front), X1 + past, top, "timber", front),
    ]  # fmt: skip
    name = Size("", (X0 - 110, Z0 + 190, front), ((X0 - 5, Z0 + 120, front),), "reveal lining")
    gap = Size("", clear.at, clear.ends, f"foot clear {numbers.length('clad_gap', 5.0):g}")
    return faces, [name, gap]


def _sill_mesh(numbers: Numbers) -> Made:
    """Mesh in the gap under a frame or its outer sill, dotted on what hides it, where the section of the sill has it."""
    if not meshed(numbers):
        return [], []
    mine = numbers.circumstances
    low, z, d = clad_under_sill(numbers), FRAME_FOOT - CLEAR / 2, window_face(numbers)
    if "masonry" not in mine.wall_type and mine.window_position == "over the cavity" and mine.frame != BOX:
        z = (low + FRAME_FOOT) / 2
    elif "masonry" not in mine.wall_type:
        z, d = low + 5, CLAD_FACE + 2
    left, right = X0 + CLEAR, X1 - CLEAR
    spot = (X0 + 100, z, d)
    return [line([(left, z, d), (right, z, d)], "mesh")], [Size("", (X0 + 160, Z0 - 150, d), (spot,), "mesh inside")]  # fmt: skip


def _inner_seal(numbers: Numbers) -> Made:
    d = window_face(numbers)
    spot = (MIDDLE, Z1 - CLEAR - 22, d)
    name = Size("", (MIDDLE, Z1 - 190, d), (spot,), "inside, behind the frame")
    return [_round_frame(d, 22, "inner seal")], [name]


def _round_frame(d: float, inward: float, material: str) -> Face:
    """A line all round, within the outline of the frame."""
    a, b, low, high = X0 + CLEAR + inward, X1 - CLEAR - inward, FRAME_FOOT + inward, Z1 - CLEAR - inward
    return line([(a, low, d), (b, low, d), (b, high, d), (a, high, d), (a, low, d)], material)


def _spray(_: Numbers) -> Made:
    drops = []
    for row in range(6):
        for column in range(5):
            x, z = X0 - 10 + column * 110 + row % 2 * 45, Z0 + 60 + row * 85
            drops.append(line([(x, z + 34, -120), (x + 26, z, -120)], "drop"))
    return drops, []


def _support(numbers: Numbers) -> Made:
    """Brackets before the tray, below it in cavity masonry: foot on blocking in the frame, dashed, or on the inner leaf, none on a batten, arm under the window."""
    foot, top, out = support_foot(numbers), Z0 + 16, window_face(numbers) + 2
    on = core_face(numbers) - 6
    if numbers.has("sill_bracket"):
        top, out = Z0 - 2, CAVITY_SET + 14
    faces = []
    for x in BRACKETS:
        arm = ((x, top, on), (x + 40, top, on), (x + 40, top, out), (x, top, out))
        faces += [
            flat(x, foot, x + 40, top, "metal", on),
            Face(arm, "tray"),
            flat(x + 14, foot + 4, x + 26, foot + 16, "frame", on - 1),
        ]
    if numbers.has("sill_bracket"):
        return faces, []
    low, high = blocking_behind(numbers)
    studs = [(MIDDLE - 22, MIDDLE + 23)] if numbers.has("batten_sp") else []  # as the batten there tells
    pieces = pairwise((X0, *(x for stud in studs for x in stud), X1))
    behind = [
        line([(a, low, -3), (b, low, -3), (b, high, -3), (a, high, -3), (a, low, -3)], "cut away")
        for a, b in pieces
        if (a, b) not in studs
    ]
    names = [
        Size("", (X0 - 70, low - 70, 0), ((X0 + 15, low, -3),), "blocking behind"),
        Size("", (X1 + 110, Z0 + 90, out), ((BRACKETS[-1] + 30, Z0 - 30, on),), "support"),
    ]
    return [*faces, *behind], names


def _outer_sill(numbers: Numbers) -> Made:
    """The sill before the window, from its frame out over the edge of the cladding, and before that out under trims or linings."""
    back, out = window_face(numbers) - 2, CLAD_FACE - 30
    trimmed = numbers.circumstances.frame == BOX and numbers.has("jamb_cover")
    closed = trimmed or bool(_reveal_lining(numbers)[0])
    end = 4 + (over_the_edge(numbers, TRIM_PAST) if closed else 0)
    face = min(CLAD_FACE, back)
    corners = [(X0 - 4, back), (X1 + 4, back), (X1 + 4, face), (X1 + end, face), (X1 + end, out)]
    corners += [(X0 - end, out), (X0 - end, face), (X0 - 4, face)]
    top = tuple((x, _on_sill(numbers, d), d) for x, d in corners)
    name = Size("", (X0 + 20, Z0 - 150, out), ((X0 + 40, Z0 - 9, out),), "outer sill")  # on its front
    return [Face(top, "tray"), flat(X0 - end, Z0 - 22, X1 + end, Z0 + 4, "metal", out)], [name]


def _hood(numbers: Numbers) -> Made:
    """The hood over a window whose flange lies on the cladding, where one is ordered; dashed where it is cut away to show what it covers."""
    clear = hood_clear(str(numbers.values.get("reveal_face", "")))
    if clear is None:
        return [], []
    left, right, top, foot = X0 - 60, X1 - 150, Z1 + 70, lip_foot(numbers)
    out = min(window_face(numbers) - clear, LIP - 3)  # before the flashing it covers
    faces = [
        flat(left, top, right, top + 45, "metal", CLAD_FACE - 1),
        Face(((left, top, CLAD_FACE), (right, top, CLAD_FACE), (right, top - 0.3 * clear, out), (left, top - 0.3 * clear, out)), "tray"),
        flat(left, foot, right, top - 0.3 * clear, "metal", out),
        line([(left, top + 45, CLAD_FACE - 2), (right, top + 45, CLAD_FACE - 2)], "sealant"),
        line([(right, foot, out), (X1 + 60, foot, out), (X1 + 60, top + 45, CLAD_FACE - 1), (right, top + 45, CLAD_FACE - 1)], "cut away"),
    ]  # fmt: skip
    spot = (X0 + 20, (top + foot) / 2, out)
    return faces, [Size("", (X0 - 70, Z1 + 170, out), (spot,), f"hood, {clear:g} clear")]


def _head_closer(numbers: Numbers) -> Made:
    """The strip with slots that closes the cavity over the head flashing."""
    left, right = X0 - numbers.length("head_past") + 10, X1 + numbers.length("head_past") - 10
    low = plate_at(-39) + 1
    return [
        flat(left, low, right, low + 17, "stone", -39),
        line([(left + 20, low + 8, -40), (right - 20, low + 8, -40)], "slots"),
    ], [Size("", (X1 + 60, Z1 - 110, -39), ((X1 - 60, low + 14, -39),), "closer")]


COVERING: dict[str, Callable[[Numbers], Made]] = {
    "sealant": _sealant,
    "window": _window,
    "flange bead": _flange_bead,
    "straps": _straps,
    "held inside": _held_inside,
    "trim": _trim,
    "head trim": _head_trim,
    "reveal lining": _reveal_lining,
    "sill mesh": _sill_mesh,
    "inner seal": _inner_seal,
    "spray": _spray,
    "support": _support,
    "outer sill": _outer_sill,
    "head closer": _head_closer,
    "window hood": _hood,
}
