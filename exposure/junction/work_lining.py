"""What lines and drains an opening, step by step: fall, membrane, tapes, tray, head flashing."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TypeAlias

from exposure.junction.build_up import wall_of
from exposure.junction.jamb import CLEAR
from exposure.junction.lining_tape import tape_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM
from exposure.junction.window import BOX, BOX_IN, Frame, NotDrawnError, frame_of, side_tape
from exposure.junction.window_board import strip_asked
from exposure.junction.work_cladding import barrier_places, slit_tapes
from exposure.junction.work_faces import (
    BELOW_SILL,
    BOX_SET,
    CAVITY_SET,
    CLAD_FACE,
    DEPTH,
    FLAP_FOOT,
    FRAME_FOOT,
    HIGH,
    INNER_SET,
    LEAF_FACE,
    LEAN,
    LINTEL_TOP,
    LIP,
    MIDDLE,
    PAST_HEAD,
    PLATE,
    TAPE,
    WIDE,
    X0,
    X1,
    Z0,
    Z1,
    Face,
    Made,
    Size,
    core_face,
    flat,
    insulated,
    leg_at_head,
    line,
    lip_foot,
    measured,
    plate_at,
    round_opening,
)
from exposure.junction.work_round_leaf import leaf_lap, tray_ends

# lower edge of the upper sheet at the one level lap of a frame, clear of every cut and slit, and x where two stand side by side
LAP_EDGE, UPRIGHT_LAP = 225.0, 820.0
ALL_LAPS, UPRIGHT_LAPS = "all laps", "upright laps"  # as the row seam_tape words them
BEHIND_IT = 14.0  # the edge of a second layer below what is seen at the lap of the first
ON_TAPES = -10.8  # depth of straps over tape and flap
SILL_EDGE = 6.5  # height of the front edge of what lies on the sill
Place: TypeAlias = tuple[float, float, float, float]  # left, lower, right and upper edge
STUD, SPARE = 45.0, 10.0  # width of a stud, and blocking past the edge of a tape
LINTEL = 140.0  # height of the timber over an opening in open studs
STRAP, STRAP_FOOT = 12.0, 70.0  # width of a strap, and height of the lowest
BESIDE = 31.0  # mm, from the opening to the ends of straps, fixed to its studs beside the flange
OFF_BARRIER = 8.0  # mm, from a strap to a barrier
OVER_BARRIER = 75.0  # mm over a level barrier, its tray and the taped ends of the slit for that
BACK_AT = 0.85  # of the depth of the opening, where a strip stands behind the tray
HELD = 35.0  # mm, tape that holds a folded flap, below its end and to either side of its edge
ROOM = HIGH + 30 - Z1  # mm over the opening, what a frame has room for


def _check(numbers: Numbers) -> Made:
    """Diagonals, a level on the sill, another at the jamb, a square in the corner."""
    d = core_face(numbers)
    square = (
        (X1, Z1),
        (X1 - 130, Z1),
        (X1 - 130, Z1 - 20),
        (X1 - 20, Z1 - 20),
        (X1 - 20, Z1 - 130),
        (X1, Z1 - 130),
    )
    faces = [
        line([(X0, Z0, d), (X1, Z1, d)], "check"),
        line([(X0, Z1, d), (X1, Z0, d)], "check"),
        flat(X0 + 130, Z0 + 8, X0 + 350, Z0 + 40, "frame", d - 1),
        flat(X0 + 222, Z0 + 15, X0 + 258, Z0 + 33, "glass", d - 2),
        flat(X0, Z0 + 140, X0 + 32, Z0 + 360, "frame", d - 1),
        flat(X0 + 7, Z0 + 232, X0 + 25, Z0 + 268, "glass", d - 2),
        Face(tuple((x, z, d - 1.0) for x, z in square), "metal"),
    ]
    middle = (X0 + X1) / 2
    return faces, [
        Size("", (middle, Z1 + 110, d), ((X0 + 340, Z0 + 0.708 * (Z1 - Z0), d),), "diagonals equal"),
        Size("", (X0 + 240, Z0 - 90, d), ((X0 + 180, Z0 + 24, d - 1),), "level"),
        Size("", (X0 - 150, Z0 + 250, d), ((X0 + 16, Z0 + 200, d - 1),), "plumb"),
        Size("", (X1 + 120, Z1 - 150, d), ((X1 - 10, Z1 - 90, d - 1),), "square"),
    ]


def _fall(numbers: Numbers) -> Made:
    rise = 1.5 * numbers.length("sill_slope")
    top = Face(
        ((X0, Z0 + 6, 0), (X1, Z0 + 6, 0), (X1, Z0 + 6 + rise, DEPTH), (X0, Z0 + 6 + rise, DEPTH)), "timber"
    )
    faces = [top, flat(X0, Z0, X1, Z0 + 6, "timber")]
    sizes = [
        Size("sill_slope", (X1 - 130, Z0 - 90, 0), ((X1 - 80, Z0 + 6 + rise / 2, DEPTH / 2),), word="fall")
    ]
    return faces, sizes


def _blocking(numbers: Numbers) -> Made:
    """Solid blocking on open studs behind the edges of the tape to come, and behind the ends of straps; the bays stay open between the pieces."""
    if numbers.boards:
        return [], []
    bays = [(STUD, X0 - STUD, 0.0, HIGH), (X1 + STUD, WIDE - STUD, 0.0, HIGH)]
    for left, right in ((X0, MIDDLE - 22), (MIDDLE + 23, X1)):
        bays += [(left, right, 0.0, Z0 - STUD), (left, right, Z1 + LINTEL, HIGH)]
    level, upright = _to_be_backed(numbers)
    pieces = [(a, c, b, d) for a, b, c, d, _ in _within(bays, upright)]
    from_stud_to_stud = [(bay[0], c, bay[1], d) for _, _, c, d, bay in _within(bays, level)]
    faces = [flat(*piece, "timber") for piece in (*_joined(from_stud_to_stud), *pieces)]
    return faces, [Size("", (X0 - 130, Z0 - 190, 0), ((X0 - 130, Z0 - TAPE, 0),), "blocking")]


def _within(bays: list[Place], places: list[Place]) -> Iterator[tuple[float, float, float, float, Place]]:
    """What of each place lies in each bay (left, right, foot, top), and the bay; bays go by their sides first."""
    for left, low, right, high in places:
        for bay in bays:
            a, b, c, d = max(left, bay[0]), min(right, bay[1]), max(low, bay[2]), min(high, bay[3])
            if b > a and d > c:
                yield a, b, c, d, bay


def _to_be_backed(numbers: Numbers) -> tuple[list[Place], list[Place]]:
    """Where blocking belongs, level and upright: behind the edges of the opening's tape, all of a taped lap, the joint of an inner layer, the taped ends of slits and the ends of straps."""
    out = max(_beside(numbers) if numbers.circumstances.window_position == "at the sheathing" else TAPE, TAPE)
    left, right, low, high, half = X0 - out, X1 + out, Z0 - TAPE, Z1 + out, STUD / 2
    level = [(left, z - half, right, z + half) for z in (low, high)]
    upright = [(x - half, low, x + half, high) for x in (left, right)]
    for face in _lap_tape(numbers)[0]:
        if not face.line:
            (a, foot, _), _, (b, head, _), _ = face.points
            (level if b - a == WIDE else upright).append((a, foot, b, head))
    level += [(a, foot - SPARE, b, head + SPARE) for a, foot, b, head in slit_tapes(numbers)]
    level += [(0.0, z - half, WIDE, z + half) for z in _inner_joint(numbers)]
    if numbers.has("film_straps"):
        level += [
            (x - half, z + STRAP / 2 - half, x + half, z + STRAP / 2 + half)
            for z in _strap_heights(numbers)
            for piece in _strap_pieces(numbers, z)
            for x in piece
        ]
    return level, upright


def _joined(pieces: list[Place]) -> list[Place]:
    """Level pieces of one bay, those that meet as one."""
    found: list[Place] = []
    for left, low, right, high in sorted(pieces, key=lambda one: (one[0], one[1])):
        if found and found[-1][0] == left and found[-1][3] >= low:
            _, low, _, below = found.pop()
            high = max(high, below)
        found.append((left, low, right, high))
    return found


def _on_fall(numbers: Numbers, material: str, left: float = X0, right: float = X1, deep: float = 1.0) -> Face:
    """What lies on the sill, along its fall, to a share of the opening's depth."""
    front, back = Z0 + SILL_EDGE, Z0 + SILL_EDGE + deep * 1.5 * numbers.length("sill_slope")
    far = deep * DEPTH
    return Face(((left, front, 0), (right, front, 0), (right, back, far), (left, back, far)), material)


def _back_strip(numbers: Numbers) -> Made:
    """What a back of film is folded up against."""
    if not strip_asked(numbers, wall_of(numbers)):
        return [], []
    low, at = Z0 + 6 + 1.5 * numbers.length("sill_slope") * BACK_AT, DEPTH * BACK_AT
    strip = flat(X0, low, X1, low + numbers.length("back_dam"), "timber", at)
    beside = (Z0 + Z1) / 2 - 23  # between the tapes at the corners
    return [strip], [Size("", (X1 + 130, beside, 0), ((X1 - 150, low + 10, at),), "strip")]


def _membrane(numbers: Numbers) -> Made:
    faces = round_opening("film")
    sizes = []
    top = _under_lap(numbers)
    faces += [
        line([(0, LAP_EDGE, 0), (WIDE, LAP_EDGE, 0)], "edge"),
        *(line([(a, top, 0), (b, top, 0)], "hidden edge") for a, b in ((0, X0), (X1, WIDE))),
    ]
    names = []
    for below in _inner_joint(numbers):
        faces.append(line([(0, below, 0), (WIDE, below, 0)], "hidden edge"))
        layers = f"{numbers.length('stud_layers'):g} layers"
        names = [Size("", (X1 + 110, Z0 + 190, 0), ((X1 + 170, below, 0),), layers)]
    lapped = measured("lap_h", (40, LAP_EDGE, 0), (40, top, 0))
    sizes.append(replace(lapped, at=(130, HIGH - 80, 0)))  # clear of all tape round the opening
    upright = numbers.length("lap_v", 155)
    at, high = UPRIGHT_LAP, LAP_EDGE
    faces.append(line([(at, 0, 0), (at, high, 0)], "edge"))
    faces.append(line([(at - upright, 0, 0), (at - upright, high, 0)], "hidden edge"))
    sizes.append(measured("lap_v", (at - upright, 70, 0), (at, 70, 0), beside=110, above=70))
    return faces, [*sizes, *names]


def _inner_joint(numbers: Numbers) -> list[float]:
    """Height of the level joint of the layer behind the membrane, where there is one on open studs; drawn as if it hung lower."""
    if numbers.length("stud_layers", 1) <= 1 or numbers.boards:
        return []
    tapes = [z for face in _lap_tape(numbers)[0] for _, z, _ in face.points if z > 0]
    return [min([LAP_EDGE, *tapes]) - BEHIND_IT]


def _under_lap(numbers: Numbers) -> float:
    """Upper edge of the lower sheet, out of sight behind the upper one."""
    return LAP_EDGE + numbers.length("lap_h", 100)


def _lap_tape(numbers: Numbers) -> Made:
    """Tape over the laps that the schedule has taped: the upright one, then the level one over its end; on it the edges that it covers, dashed."""
    asked = str(numbers.values.get("seam_tape", ""))
    bond = numbers.length("tape_bond", 50)
    upright = flat(UPRIGHT_LAP - bond, 0, UPRIGHT_LAP + bond, LAP_EDGE, "tape")
    edges = [
        line([(UPRIGHT_LAP, 0, -0.5), (UPRIGHT_LAP, LAP_EDGE, -0.5)], "cut away"),
        line([(0, LAP_EDGE, -0.5), (WIDE, LAP_EDGE, -0.5)], "cut away"),
    ]
    if ALL_LAPS in asked:
        return [upright, flat(0, LAP_EDGE - bond, WIDE, LAP_EDGE + bond, "tape"), *edges], []
    return ([upright, edges[0]] if UPRIGHT_LAPS in asked else []), []


def _film_straps(numbers: Numbers) -> Made:
    """Straps across the studs that hold a film back, at most as far apart as ordered; beside the opening they end on its studs, beside a barrier to come on the blocking there."""
    each, d, heights = numbers.length("film_straps"), ON_TAPES, _strap_heights(numbers)
    faces = [
        flat(left, z, right, z + STRAP, "fixing", d)
        for z in heights
        for left, right in _strap_pieces(numbers, z)
    ]
    low = next(z for z, above in pairwise(heights) if above - z == each)
    x = min(130.0, *(_strap_pieces(numbers, z)[0][1] / 2 for z in (low, low + each)))
    measures = measured("film_straps", (x, low, d), (x, low + each, d))
    return faces, [replace(measures, at=(130.0, low + each / 2, d), word="straps")]


def _strap_heights(numbers: Numbers) -> list[float]:
    """Heights of the straps: as few as the order lets, none behind a level barrier, on the tray over that, or where the film is still to be lifted."""
    bare = [(low - OFF_BARRIER, top + OVER_BARRIER) for _, low, _, top in barrier_places(numbers)[2:]]
    bare += _lifted_later(numbers)
    each = numbers.length("film_straps")
    ways = [_heights_from(start, each, bare) for start in range(10, int(each), 10)]
    whole = [way for way in ways if way and HIGH - way[-1] < each] or [_heights_from(STRAP_FOOT, each, [])]
    return min(whole, key=lambda way: (len(way), abs(way[0] - STRAP_FOOT)))


def _heights_from(start: float, each: float, bare: list[tuple[float, float]]) -> list[float]:
    """Straps from ``start`` up, each as far above the one below as may be and clear of what stays bare; none where it cannot be kept."""

    def under(z: float) -> float:
        return next((under(low - STRAP) for low, top in bare if low < z + STRAP and z < top), z)

    heights, z = [], under(start)
    if z != start:
        return []
    while z < HIGH - STRAP:
        heights.append(z)
        z = under(z + each)
        if z <= heights[-1]:
            return []
    return heights


def _lifted_later(numbers: Numbers) -> list[tuple[float, float]]:
    """Between which heights the film over an opening is lifted for what is set after the straps."""
    if numbers.has("head_tray_mas"):
        cut = LINTEL_TOP + numbers.length("head_tray_mas")
        return [(cut - OFF_BARRIER, cut + numbers.length("head_up", 40) + OFF_BARRIER)]
    if numbers.circumstances.window_position != "over the cavity":
        return []
    leg = leg_at_head(numbers)
    cut = leg - numbers.length("head_up") if numbers.cut_over_head else Z1
    return [(cut - OFF_BARRIER, leg + OFF_BARRIER)]


def _strap_pieces(numbers: Numbers, z: float) -> list[tuple[float, float]]:
    """Ends of the straps at a height: none behind a barrier, nor between those beside an opening, where they and its tape hold the film."""
    gaps = [
        (left - OFF_BARRIER, right + OFF_BARRIER)
        for left, low, right, top in barrier_places(numbers)
        if low < z + STRAP and z < top
    ]
    if z + STRAP > Z0 - 45 and z < Z1 + 45:
        sides = [*gaps, (X0 - BESIDE, X1 + BESIDE)]
        gaps = [(min(left for left, _ in sides), max(right for _, right in sides))]
    starts, ends = [0.0, *(right for _, right in sorted(gaps))], [left for left, _ in sorted(gaps)]
    return list(zip(starts, [*ends, WIDE], strict=True))


def _uncut(numbers: Numbers) -> Made:
    top = _under_lap(numbers)
    return [flat(X0, Z0, X1, Z1, "film"), line([(X0, top, 0), (X1, top, 0)], "hidden edge")], []


def _turned_in(numbers: Numbers) -> Made:
    deep = DEPTH
    faces = [
        _on_fall(numbers, "flap"),
        flat(X0, Z0, X1, Z0 + SILL_EDGE, "flap"),
        Face(((X0, Z0, 0), (X0, Z1, 0), (X0, Z1, deep), (X0, Z0, deep)), "flap"),
    ]
    each = numbers.length("fix_mm", 150)
    z = Z0 + 40
    while z < Z1:
        faces += [flat(x - 7, z - 7, x + 7, z + 7, "fixing") for x in (X0 - 30, X1 + 30)]
        z += each
    return faces, [
        measured("fix_mm", (X0 - 65, Z0 + 40 + each, 0), (X0 - 65, Z0 + 40 + 2 * each, 0), beside=-75)
    ]


def _hinge(numbers: Numbers) -> float:
    """How high over the opening the head flap is folded, as far as a frame has room for it."""
    return min(numbers.flap_height, ROOM)


def _flap_up(numbers: Numbers) -> Made:
    """The flap folded up flat along its hinge, as long as it is cut or out of the picture, tape at its edges, and the boards or framing that it leaves bare."""
    up = _hinge(numbers)
    left, right, high = X0 - up, X1 + up, Z1 + up
    tip = min(high + up, HIGH)
    end = tip - high  # of it in the picture, as far in from its corners
    bare = ((X0, Z1, 0.0), (X1, Z1, 0.0), (right, high, 0.0), (left, high, 0.0))
    edge = [(left + end, tip, -5.0), (left, high, -5.0), (right, high, -5.0), (right - end, tip, -5.0)]
    if tip == high + up:
        edge.append(edge[0])
    held = tip - HELD
    tapes = [
        flat(x - HELD, held - 20, x + HELD, held + 20, "tape", -6)
        for x in (left + held - high, right - held + high)
    ]
    spot = (X1 + 0.6 * up, Z1 + 0.6 * up, 0.0)
    name = Size("", (X1 + 130, Z1 - 60, 0), (spot,), f"cut {numbers.flap_height:g} up, 45°")
    return [
        Face(bare, "board" if numbers.boards else "timber"),
        Face(tuple(edge[:4]), "film"),
        line(edge, "edge"),
        *tapes,
    ], [name]  # fmt: skip


def _corner_tape(numbers: Numbers) -> Made:
    """Stretch tape in one piece round each corner: on boards the lower ones, on open studs all four, there on what a folded flap leaves bare."""
    each = numbers.length("corner_tape")
    corners = [(Z0, 1), *([] if numbers.boards else [(Z1, -1)])]
    faces = []
    for z, up in corners:
        for x, way in ((X0, 1), (X1, -1)):
            shape = (
                (x - way * TAPE, z - up * TAPE), (x + way * each, z - up * TAPE), (x + way * each, z), (x, z), (x, z + up * each),
                (x - way * TAPE, z + up * each),
            )  # fmt: skip
            faces.append(Face(tuple((a, b, 0.0) for a, b in shape), "tape"))
        end, deep = z + up * each, DEPTH * 0.7
        faces.append(Face(((X0, z, 0), (X0, end, 0), (X0, end, deep), (X0, z, deep)), "tape"))
    for a, b in ((X0, X0 + each), (X1 - each, X1)):  # in over the front of what gives the sill its fall
        faces += [flat(a, Z0, b, Z0 + SILL_EDGE, "tape"), _on_fall(numbers, "tape", a, b, 0.7)]
    return faces, [
        measured("corner_tape", (X0, Z0 - TAPE - 25, 0), (X0 + each, Z0 - TAPE - 25, 0), above=-80)
    ]


def _opening_tape(numbers: Numbers) -> Made:
    """Tape that lines the opening, of which sill and one jamb are seen."""
    deep = DEPTH
    spot = (X0, (Z0 + Z1) / 2, deep / 2)  # between the tapes of two corners
    wall = wall_of(numbers)
    try:
        out = tape_over(numbers, wall, frame_of(numbers, wall))
    except NotDrawnError:
        out = 0.0
    rim = [
        (X0 - out, Z0, X0, Z1),
        (X1, Z0, X1 + out, Z1),
        (X0 - out, Z1, X1 + out, Z1 + out),
    ]  # on the membrane
    return [
        *(flat(*each, "tape") for each in rim if out),
        _on_fall(numbers, "tape"),
        Face(((X0, Z0, 0), (X0, Z1, 0), (X0, Z1, deep), (X0, Z0, deep)), "tape"),
    ], [Size("", (X1 + 60, Z1 + 190, 0), (spot,), "tape lining")]


def _tray_on_brackets(numbers: Numbers) -> Made:
    """The tray of a cavity wall: over the brackets from behind the frame, before the inner leaf, out over the back of the sill to come, its ends up all the way; notched at the back of the leaf to come, between whose jambs its front lies."""
    back, end = numbers.length("back_dam"), numbers.length("end_dam")
    deep, out, high, low = INNER_SET - 15, CAVITY_SET - 30, Z0 + 22, Z0 + 8
    face = CAVITY_SET - 3  # where the jamb's course will stand: behind the tray's front, before the rest
    step = low + (high - low) * (face - out) / (deep - out)
    left, right = X0 + leaf_lap(numbers), X1 - leaf_lap(numbers)
    pieces = (((X0, X1), (high, deep), (step, face)), ((left, right), (step, face), (low, out)))
    ends = [
        Face(((x, z, d), (x, z + end, d), (x, foot + end, near), (x, foot, near)), "metal")
        for sides, (z, d), (foot, near) in pieces
        for x in sides
    ]
    plate = [
        Face(((a, foot, near), (b, foot, near), (b, z, d), (a, z, d)), "tray")
        for (a, b), (z, d), (foot, near) in pieces
    ]
    notches = [flat(a, step, b, step + end, "metal", face - 0.5) for a, b in ((X0, left), (right, X1))]
    at, mid = X1 - 110, (low + high) / 2
    sizes = [
        Size("sill_slope", (MIDDLE - 40, low - 105, 0), ((MIDDLE, mid, (deep + out) / 2),)),
        measured("back_dam", (at, high, deep), (at, high + back, deep), above=back / 2 + 45),
        measured("end_dam", (left, low, out), (left, low + end, out), beside=95, above=back + 200),
    ]
    return [
        flat(X0, high, X1, high + back, "metal", deep),
        *plate,
        *ends,
        *notches,
        flat(left, low - 8, right, low, "metal", out),
    ], sizes


def _insulation(numbers: Numbers) -> Made:
    """Insulation as far as the outer leaf will first come: under the tray, up to the barriers to come beside and over the opening."""
    sides, head = (X0 - 60, X1 + 60), Z1 + 53
    spot = (120.0, Z0 + 120, 0.0)
    return insulated(Z0 - 4, LINTEL_TOP + 10, sides, head), [
        Size("", (150.0, Z0 + 30, 0), (spot,), "insulation"),
    ]


def _tray(numbers: Numbers) -> Made:
    if numbers.has("sill_bracket"):
        return _tray_on_brackets(numbers)
    back, end = numbers.length("back_dam"), numbers.length("end_dam")
    down = numbers.length("tray_down", 30)
    deep, rise = DEPTH * 0.8, 14.0
    low = Z0 + 8
    faces = [
        Face(
            (
                (X0, low + rise, deep),
                (X1, low + rise, deep),
                (X1, low + rise + back, deep),
                (X0, low + rise + back, deep),
            ),
            "metal",
        ),
        Face(((X0, low, 0), (X1, low, 0), (X1, low + rise, deep), (X0, low + rise, deep)), "tray"),
        Face(
            ((X0, low, 0), (X0, low + end, 0), (X0, low + rise + end, deep), (X0, low + rise, deep)), "metal"
        ),
    ]
    faces.append(flat(X0 - 25, low - down, X1 + 25, low, "metal"))
    if numbers.has("jamb_up"):
        up = numbers.length("jamb_up")
        faces.insert(
            0, Face(((X0, low, 0), (X0, low + up, 0), (X0, low + up, deep), (X0, low, deep)), "tape")
        )
    middle = (X0 + X1) / 2
    sizes = [
        Size("sill_slope", (middle - 40, low - down - 75, 0), ((middle, low + rise / 2, deep / 2),)),
        measured(
            "back_dam", (X1 - 110, low + rise, deep), (X1 - 110, low + rise + back, deep), above=back / 2 + 45
        ),
        measured("end_dam", (X0, low, 0), (X0, low + end, 0), beside=170, above=back + 200),
        measured("tray_down", (X1 + 45, low - down, 0), (X1 + 45, low, 0), beside=60, above=-down / 2 - 90),
        measured(
            "jamb_up",
            (X0 - 45, low, 0),
            (X0 - 45, low + numbers.length("jamb_up", 100), 0),
            beside=-110,
            above=numbers.length("jamb_up", 100) / 2 + 110,
        ),
    ]
    return faces, sizes


def _beside(numbers: Numbers) -> float:
    """How far the tape at a jamb reaches beside the opening."""
    wide = numbers.length("tape_w")
    if numbers.circumstances.frame != BOX:
        return wide - CLEAR + 1
    _, way = side_tape(Frame(BOX_IN), wide, start=FILM, side=CLEAR, face=-FILM)
    return max(-way[-1][1], 20.0)


def _jamb_tape(numbers: Numbers) -> Made:
    wide = numbers.length("tape_w")
    middle = (Z0 + Z1) / 2
    if numbers.circumstances.frame == BOX:
        out, deep = _beside(numbers), BOX_SET + 10
        faces = [
            flat(X0 - out, Z0 - BELOW_SILL, X0, Z1 + PAST_HEAD, "tape", -2),
            Face(((X0, Z0, -2), (X0, Z1, -2), (X0, Z1, deep), (X0, Z0, deep)), "tape"),
            flat(X0, FRAME_FOOT, X0 + 10, Z1, "tape", BOX_SET - 1),
            flat(X1, Z0 - BELOW_SILL, X1 + out, Z1 + PAST_HEAD, "tape", -2),
        ]
        return faces, [Size("tape_w", (X0 - out - 80, middle, 0), ((X0 - out / 2, middle, -2),))]
    edge = CLEAR - 1  # tape over the flange, up to the side of the frame
    left = X0 + edge - wide
    faces = [
        flat(left, Z0 - BELOW_SILL, X0 + edge, Z1 + PAST_HEAD, "tape", -2),
        flat(X1 - edge, Z0 - BELOW_SILL, X1 - edge + wide, Z1 + PAST_HEAD, "tape", -2),
    ]
    return faces, [measured("tape_w", (left, middle, -2), (X0 + edge, middle, -2), above=55)]


def _head_tape(numbers: Numbers) -> Made:
    """Over the jamb tapes to their outer edges, so that its ends show beside the flashing that covers it; dashed under a tray that hides it."""
    low = Z1 if numbers.circumstances.frame == BOX else Z1 - CLEAR + 1
    past = max(_beside(numbers), numbers.length("head_past", 0.0) + TAPE)
    up = (
        _beside(numbers)
        if numbers.circumstances.frame == BOX
        else numbers.length("tape_w", 150.0) - CLEAR / 2
    )
    left, right, high = max(X0 - past, 0), min(X1 + past, WIDE), Z1 + up
    tape = flat(left, low, right, high, "tape", -4)
    if not (numbers.boards and numbers.cut_over_head):
        return [tape], []
    edge = [(left, low, -4.0), (right, low, -4.0), (right, high, -4.0), (left, high, -4.0), (left, low, -4.0)]
    name = Size("", (X0 + 210, Z1 - 120, -4), ((X0 + 130, Z1 + 25, -4),), "head tape under tray")
    return [tape, line(edge, "cut away")], [name]  # the tray of a leaf is set over it in the same step


def _head_flashing(numbers: Numbers) -> Made:
    up, past, lap = numbers.length("head_up"), numbers.length("head_past"), numbers.length("head_lap")
    left, right = X0 - past, X1 + past
    low, lip, foot, edge = PLATE, plate_at(LIP), lip_foot(numbers), leg_at_head(numbers) - up
    faces = [
        flat(left, low, right, edge + up, "metal", -6),
        Face(((left, low, -6), (right, low, -6), (right, lip, LIP), (left, lip, LIP)), "tray"),
        flat(left, foot, right, lip, "metal", LIP),
        *(_stop_end(x, numbers.length("head_stop", 30)) for x in (left, right)),
    ]
    names = []
    if numbers.boards and not numbers.cut_over_head:  # where its flap is brought down by a step of its own
        faces.append(line([(left, edge, -7), (right, edge, -7)], "cut away"))
        names = [Size("", (MIDDLE, Z1 - 90, -7), ((MIDDLE, edge, -7),), "flap to here")]
    at = right + 25 if numbers.cut_over_head else X1 - 50  # clear of the tape on the cuts of a flap
    leg = measured("head_up", (at, edge, -6), (at, edge + up, -6), beside=65, above=20)
    beyond = measured("head_past", (left, edge + up + 25, -6), (X0, edge + up + 25, -6), above=50)
    if not numbers.cut_over_head:
        leg = replace(leg, at=(at + 20, edge + up + 95, -6))
        if not numbers.boards:  # the flap comes down in the same step
            beyond = replace(beyond, at=(X0, Z1 + _hinge(numbers) + 75, -6))
    sizes = [
        leg,
        beyond,
        measured("head_lap", (left - 20, foot, LIP), (left - 20, foot + lap, LIP), beside=-75, above=-45),
    ]
    return faces, [*sizes, *names]


def _stop_end(x: float, high: float) -> Face:
    """The turned-up end of the flashing, from its leg out to the face of the cladding and no farther."""
    low, out = plate_at(-6), plate_at(CLAD_FACE)
    ends = ((x, low, -6.0), (x, low + high, -6.0), (x, out + high, CLAD_FACE), (x, out, CLAD_FACE))
    return Face(ends, "metal")


def _cavity_tray(numbers: Numbers) -> Made:
    """Level through the leaf and up from its back to the wall, as in the section."""
    rise = numbers.length("head_tray_mas")
    (left, right), low, out, back = tray_ends(numbers), LINTEL_TOP, LEAF_FACE, core_face(numbers) - 4
    top, up, stop = low + rise, numbers.length("head_up", 0.0), numbers.length("tray_stop")
    bend, x, leg = CAVITY_SET, left - 45, X1 - 30  # beside the tray's end, and clear of the weep holes
    faces = [
        Face(((left, top, back), (right, top, back), (right, low, bend), (left, low, bend)), "tray"),
        Face(((left, low, bend), (right, low, bend), (right, low, out), (left, low, out)), "tray"),
        *(
            Face(((at, top, back), (at, top + max(up, stop), back), (at, low + stop, bend), (at, low + stop, out), (at, low, out), (at, low, bend)), "metal")
            for at in (left, right)
        ),
        line([(x, low, bend), (left, low, bend)], "cut away"),  # on from its bend, and from its back edge
        line([(x, top, bend), (x, top, back), (left, top, back)], "cut away"),
    ]  # fmt: skip
    sizes = [measured("head_tray_mas", (x, low, bend), (x, top, bend), above=rise / 2 + 90)]
    if up:
        faces.insert(0, flat(left, top, right, top + up, "metal", back))
        sizes.append(measured("head_up", (leg, top, back), (leg, top + up, back), beside=-200, above=10))
    else:  # its back edge lies in a joint of the inner leaf
        edges = (-LEAN[0] * back, WIDE - LEAN[0] * back)
        faces.insert(0, line([(edges[0], top, back), (edges[1], top, back)], "edge"))
        sizes.append(Size("", (X1 - 80, top + 90, back), ((X1 - 60, top, back),), "built in or held"))
    return faces, sizes


def _flap_down(numbers: Numbers) -> Made:
    """Down over the leg to just above its bend, the leg's upper edge dashed on it, tape over its cuts."""
    past, top, low = numbers.length("head_past"), leg_at_head(numbers), FLAP_FOOT
    up = _hinge(numbers)
    near, high, half = low - Z1, Z1 + up, TAPE / 2
    flap = Face(
        ((X0 - near, low, -9), (X1 + near, low, -9), (X1 + up, high, -9), (X0 - up, high, -9)), "flap"
    )
    ends = ((X0 - near, X0 - up), (X1 + near, X1 + up))
    cuts = [
        Face(
            ((a - half, low, -10), (a + half, low, -10), (b + half, high, -10), (b - half, high, -10)), "tape"
        )
        for a, b in ends
    ]
    leg = line([(X0 - past, top, -9.5), (X1 + past, top, -9.5)], "hidden edge")
    return [flap, leg, *cuts], []


def _cut_over_leg(numbers: Numbers) -> Made:
    """The membrane above a level cut, which comes down over the leg pushed up behind it; tape over the cut's ends."""
    up, sizes = numbers.length("head_up", 40), []
    if numbers.has("head_past"):
        past, top = numbers.length("head_past"), leg_at_head(numbers)
        left, right, wide = X0 - past, X1 + past, numbers.length("tape_bond")
        at = (X0 + 120, top - up, -10.0)
        sizes.append(replace(measured("tape_bond", (X0 + 120, Z1, -10), at, beside=90, above=-10), word="cut"))  # fmt: skip
    else:
        wide = 30.0
        (left, right), top = tray_ends(numbers), LINTEL_TOP + numbers.length("head_tray_mas") + up
    cut, high = top - up, top + 10
    ends = [flat(x - wide, cut - 15, x + wide, high + 15, "tape", -10) for x in (left, right)]
    leg = line([(left, top, -10.5), (right, top, -10.5)], "hidden edge")
    return [flat(left, cut, right, high, "flap", -9), leg, *ends], sizes


LINING: dict[str, Callable[[Numbers], Made]] = {
    "check": _check,
    "fall": _fall,
    "membrane": _membrane,
    "uncut": _uncut,
    "turned in": _turned_in,
    "flap up": _flap_up,
    "blocking": _blocking,
    "insulation": _insulation,
    "lap tape": _lap_tape,
    "film straps": _film_straps,
    "corner tape": _corner_tape,
    "opening tape": _opening_tape,
    "back strip": _back_strip,
    "tray": _tray,
    "jamb tape": _jamb_tape,
    "head tape": _head_tape,
    "head flashing": _head_flashing,
    "cavity tray": _cavity_tray,
    "flap down": _flap_down,
    "cut over leg": _cut_over_leg,
}
