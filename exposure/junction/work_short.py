"""What the parts of the short runs look like on a plain wall: laps and their tape, a pipe, a kick-out, the base closer."""

from collections.abc import Callable
from math import atan2, cos, hypot, pi, radians, sin, tan

from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import HIGH, WIDE, Face, Made, Size, Spot, flat, line, measured
from exposure.junction.work_leaf import LEAF_TRAY, over_roof

TOP = 540.0  # upper edge of the first sheet
JOINT = 640.0  # edge of the sheet that lies outside at an upright lap
PIPE, RADIUS, OUT = (540.0, 560.0), 95.0, 230.0
FLANGE, LAPPED = 60.0, 35.0  # of a flange beside its pipe, and of the sheet over its upper edge
CUT = PIPE[1] + RADIUS + FLANGE - LAPPED  # behind which the flange's upper edge goes
EAVE, RIDGE = (400.0, 430.0), (WIDE, 570.0)
PITCH = (RIDGE[1] - EAVE[1]) / (RIDGE[0] - EAVE[0])
MOUTH = 270.0  # x of the kick-out's lower end
PLATE = 320.0  # joint of plate and foundation
FIRST = 150.0  # first batten
HIGHEST = 320.0  # over the roof, what a frame has room for


def _bare(numbers: Numbers) -> list[Face]:
    """Boards, or studs where there are none."""
    if numbers.boards:
        return [flat(0, 0, WIDE, HIGH, "board")]
    return [
        flat(0, 0, WIDE, HIGH, "room"),
        *(flat(x, 0, x + 45, HIGH, "timber") for x in (40, 340, 520, 900)),
    ]


def _round_pipe(numbers: Numbers) -> list[Face]:
    """The wall's membrane; what is above the cut for a flange lies over the flange and its tapes from the first."""
    sheet = [flat(0, 0, WIDE, HIGH, "film")]
    return sheet if _is_taped(numbers) else [*sheet, flat(6, CUT, WIDE, HIGH, "film", -4.5)]


def _roof(_: Numbers) -> list[Face]:
    (x, z), (end, top) = EAVE, RIDGE
    return [
        flat(0, 0, WIDE, HIGH, "film"),
        Face(((x, z, 0), (end, top, 0), (end, top, -340), (x, z, -340)), "stone"),
    ]


def _base(numbers: Numbers) -> list[Face]:
    soil = max(PLATE - numbers.length("plate_lap") - numbers.length("gnd"), 5.0)
    return [
        flat(0, 0, WIDE, PLATE, "stone"),
        flat(0, PLATE, WIDE, HIGH, "film"),
        flat(0, 0, WIDE, soil, "soil", -1),
    ]


GROUNDS: dict[str, Callable[[Numbers], list[Face]]] = {
    "lap and tape": _bare,
    "pipe": _round_pipe,
    "kick-out": _roof,
    "base closer": _base,
    "leaf tray": over_roof,
}


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
        line([(JOINT - lap, low, -5), (JOINT - lap, HIGH, -5)], "hidden edge"),
    ]
    return [flat(JOINT - lap, low, WIDE, HIGH, "film", -5), *edges], [
        measured("lap_v", (JOINT - lap, 850, -5), (JOINT, 850, -5), above=60)
    ]


def _upright_tape(numbers: Numbers) -> Made:
    low, bond = TOP - numbers.length("lap_h"), numbers.length("tape_bond")
    return [flat(JOINT - bond, low, JOINT + bond, HIGH, "tape", -7)], [
        measured("tape_bond", (JOINT, 760, -7), (JOINT + bond, 760, -7), above=-55)
    ]


def _level_tape(numbers: Numbers) -> Made:
    low, bond = TOP - numbers.length("lap_h"), numbers.length("tape_bond")
    return [flat(0, low - bond, WIDE, low + bond, "tape", -8)], []


def _disc(centre: tuple[float, float], radius: float, d: float, material: str) -> Face:
    x, z = centre
    return Face(
        tuple((x + radius * cos(pi * k / 16), z + radius * sin(pi * k / 16), d) for k in range(32)), material
    )


def _pipe(numbers: Numbers) -> Made:
    x, z = PIPE
    low = z - OUT * tan(radians(numbers.length("pen_slope")))
    way = (-0.42 * OUT, low - z - 0.3 * OUT)  # of the pipe as it is seen
    side = (-way[1] * RADIUS / hypot(*way), way[0] * RADIUS / hypot(*way))
    turn = atan2(side[1], side[0])
    round_back = [
        (x + RADIUS * cos(turn + pi * k / 12), z + RADIUS * sin(turn + pi * k / 12), 0.0) for k in range(13)
    ]
    body = (*round_back, (x - side[0], low - side[1], -OUT), (x + side[0], low + side[1], -OUT))
    end = (x, low)
    return [
        Face(body, "frame"),
        _disc(end, RADIUS, -OUT, "frame"),
        _disc(end, RADIUS - 12, -OUT - 1, "room"),
    ], [Size("pen_slope", (x - 230, low - 130, -OUT), ((x - 60, low + 20, -OUT / 2),))]


def _taped_to(numbers: Numbers) -> float:
    """From the middle of the pipe to the edge that is taped: the pipe's own, or that of its flange."""
    return RADIUS + (0.0 if _is_taped(numbers) else FLANGE)


def _is_taped(numbers: Numbers) -> bool:
    return numbers.values.get("pen_form") == "taped"


def _cut_ends(numbers: Numbers) -> tuple[float, float]:
    side = RADIUS + FLANGE + numbers.length("pen_tape") + 25
    return PIPE[0] - side, PIPE[0] + side


def _flange(numbers: Numbers) -> Made:
    """Its upper edge is out of sight behind the sheet above the cut."""
    (x, z), half = PIPE, RADIUS + FLANGE
    start, end = _cut_ends(numbers)
    behind = [(x - half, CUT, -4.6), (x - half, z + half, -4.6), (x + half, z + half, -4.6), (x + half, CUT, -4.6)]  # fmt: skip
    return [
        flat(x - half, z - half, x + half, z + half, "metal", -2),
        _disc(PIPE, RADIUS + 14, -3, "tray"),
        line(behind, "hidden edge"),
        line([(start, CUT, -4.6), (end, CUT, -4.6)], "edge"),
    ], []


def _sheet_over_flange(numbers: Numbers) -> Made:
    start, end = _cut_ends(numbers)
    ends = [flat(at - 28, CUT - 30, at + 28, CUT + 60, "tape", -6) for at in (start, end)]
    return [
        flat(6, CUT, WIDE, HIGH, "film", -5),
        line([(start, CUT, -5.5), (end, CUT, -5.5)], "edge"),
        *ends,
    ], []


def _hood(numbers: Numbers) -> Made:
    x, z = PIPE
    low = z - OUT * tan(radians(numbers.length("pen_slope")))
    left, right, top, out = x - RADIUS - 20, x + RADIUS + 20, low + RADIUS + 35, -OUT - 40
    leaf = numbers.circumstances.wall_type == "masonry veneer"
    joints = (
        [] if leaf else [line([(0, up, -45), (WIDE, up, -45)], "joint") for up in range(130, int(HIGH), 130)]
    )
    return [
        flat(0, 0, WIDE, HIGH, "masonry" if leaf else "cladding", -44),
        *joints,
        Face(((left, top + 25, -60), (right, top + 25, -60), (right, top, out), (left, top, out)), "tray"),
        Face(((left, top + 25, -60), (left, top, out), (left, low - 20, out), (left, low + 40, -60)), "tray"),
        flat(left, low - 20, right, top, "metal", out),
    ], []


def _tape_under(numbers: Numbers) -> Made:
    (x, z), onto, edge = PIPE, numbers.length("pen_tape"), _taped_to(numbers)
    under = z - edge
    high = z - 15 if edge == RADIUS else under + 25
    return [flat(x - edge - onto, under - onto, x + edge + onto, high, "tape", -3)], [
        measured("pen_tape", (x + 20, under - onto, -3), (x + 20, under, -3), beside=140, above=-25)
    ]


def _tape_beside(numbers: Numbers) -> Made:
    (x, z), onto, edge = PIPE, numbers.length("pen_tape"), _taped_to(numbers)
    low, high = z - edge - onto / 2, z + edge + 10
    return [
        flat(a, low, b, high, "tape", -4)
        for a, b in ((x - edge - onto, x - edge + 15), (x + edge - 15, x + edge + onto))
    ], [measured("pen_tape", (x + edge, z, -4), (x + edge + onto, z, -4), beside=115)]


def _tape_over(numbers: Numbers) -> Made:
    (x, z), onto = PIPE, numbers.length("pen_tape")
    over = z + RADIUS
    return [flat(x - RADIUS - onto - 15, z + 15, x + RADIUS + onto + 15, over + onto, "tape", -4)], [
        measured("pen_tape", (x, over, -4), (x, over + onto, -4), beside=85, above=25)
    ]


def _membrane_up(numbers: Numbers) -> Made:
    """The roof's membrane, on the roof and up the wall; broken where it is higher than the frame has room for."""
    high, left = numbers.length("snow_roof"), MOUTH - 20
    shown = min(high, HIGHEST)
    (x, z), (end, top) = EAVE, RIDGE
    faces = [
        Face(((left, z - 40, -2), (x, z, -2), (end, top, -2), (end, top + shown, -2), (x, z + shown, -2), (left, z + shown - 40, -2)), "flap"),
        Face(((x, z + 2, 0), (end, top + 2, 0), (end, top + 2, -342), (x, z + 2, -342)), "flap"),
        *_broken(left, high, -3),
    ]  # fmt: skip
    edge = (800.0, _on_roof(800.0, shown), -2.0)
    return faces, [
        measured("snow_roof", (800, _on_roof(800), -2), edge, beside=80)
        if shown == high
        else Size("snow_roof", (880, edge[1] + 60, -2), (edge,))
    ]


def _broken(left: float, high: float, d: float) -> list[Face]:
    """Two lines that break what goes ``high`` up the wall over the roof; none where the frame has room for it."""
    breaks = []
    for up in (0.5 * HIGHEST, 0.5 * HIGHEST + 25) if high > HIGHEST else ():
        way = [(left, _on_roof(left, up)), (620, _on_roof(620, up)), (635, _on_roof(635, up + 22)), (655, _on_roof(655, up - 22)), (670, _on_roof(670, up)), (WIDE, _on_roof(WIDE, up))]  # fmt: skip
        breaks.append(line([(x, z, d) for x, z in way], "hatching"))
    return breaks


def _kick_out(numbers: Numbers) -> Made:
    high, out = numbers.length("kick_h"), numbers.length("kick_proj")
    (x, z), low = EAVE, EAVE[1] - 30
    faces = [
        Face(((MOUTH, low, -4), (x + 15, z + 5, -4), (x + 15, z + 5 + high, -4), (MOUTH, low + high, -4)), "metal"),
        Face(((MOUTH, low, -4), (x + 15, z + 5, -4), (x + 15, z + 5, -out * 0.6), (MOUTH, low - 15, -out)), "tray"),
        Face(((x + 15, z + 5, -out * 0.6), (MOUTH, low - 15, -out), (MOUTH, low + 35, -out), (x + 15, z + 55, -out * 0.6)), "metal"),
    ]  # fmt: skip
    return faces, [
        measured("kick_h", (MOUTH - 20, low, -4), (MOUTH - 20, low + high, -4), beside=-80, above=20),
        measured("kick_proj", (MOUTH - 15, low - 15, 0), (MOUTH - 15, low - 15, -out), beside=-70, above=-50),
    ]


def _on_roof(x: float, above: float = 0.0) -> float:
    return EAVE[1] + PITCH * (x - EAVE[0]) + above


def _step_flashing(numbers: Numbers) -> Made:
    up = numbers.length("step_h")
    faces = []
    for place in range(4):
        left = EAVE[0] - 40 + place * 170
        right = min(left + 190, WIDE)
        faces.append(Face(((left, _on_roof(left, 6), -6 - place), (right, _on_roof(right, 6), -6 - place), (right, _on_roof(right, up), -6 - place),
                           (left, _on_roof(left, up), -6 - place)), "metal"))  # fmt: skip
    x = 780.0
    return faces, [measured("step_h", (x, _on_roof(x), -10), (x, _on_roof(x, up), -10), beside=75)]


def _sheet_over(_: Numbers) -> Made:
    flap = (
        (MOUTH - 30, 440, -12),
        (EAVE[0] + 20, 480, -12),
        (WIDE, _on_roof(WIDE, 45), -12),
        (WIDE, HIGH, -12),
        (MOUTH - 30, HIGH, -12),
    )
    return [Face(flap, "flap")], []


def _cladding_over(numbers: Numbers) -> Made:
    row = "snow_roof" if numbers.length("snow_roof", 0.0) else "roof_gap"
    high, left = numbers.length(row), MOUTH - 45
    gap = min(high, HIGHEST)
    shape: tuple[Spot, ...] = (
        (0, 0, -40), (left, 0, -40), (left, 460, -40), (EAVE[0], _on_roof(EAVE[0], gap + 25), -40), (EAVE[0] + 40, _on_roof(EAVE[0] + 40, gap), -40),
        (WIDE, _on_roof(WIDE, gap), -40), (WIDE, HIGH, -40), (0, HIGH, -40),
    )  # fmt: skip
    joints = []
    for z in range(130, int(HIGH), 130):
        end = left if z < 460 else min(WIDE, max(EAVE[0], EAVE[0] + (z - gap - EAVE[1]) / PITCH))
        joints.append(line([(0, z, -41), (end, z, -41)], "joint"))
    x = 800.0
    foot, edge = (x, _on_roof(x), -40), (x, _on_roof(x, gap), -40)
    size = (
        measured(row, foot, edge, beside=80, above=-10)
        if gap == high
        else Size(row, (x + 80, edge[1] - 90, -40), (edge,))
    )
    return [Face(shape, "cladding"), *joints], [size]


def _snow_sheet(numbers: Numbers) -> Made:
    """The sheet behind the lower edge of the cladding; broken where it is higher than the frame has room for."""
    high = numbers.length("snow_roof")
    gap, low, left = min(high, HIGHEST), numbers.length("roof_gap"), MOUTH - 45
    sheet = Face(
        ((left, _on_roof(EAVE[0], low), -20), (WIDE, _on_roof(WIDE, low), -20), (WIDE, _on_roof(WIDE, gap + 30), -20), (left, _on_roof(EAVE[0], gap + 30), -20)),
        "tray",
    )  # fmt: skip
    return [sheet, *_broken(left, high, -21)], []


def _base_flashing(numbers: Numbers) -> Made:
    drip = numbers.length("drip")
    faces = [
        flat(0, PLATE - 18, WIDE, PLATE + 60, "metal", -3),
        Face(((0, PLATE - 18, -3), (WIDE, PLATE - 18, -3), (WIDE, PLATE - 18 - drip, -3 - drip), (0, PLATE - 18 - drip, -3 - drip)), "tray"),
        flat(0, PLATE + 8, WIDE, HIGH, "flap", -5),
    ]  # fmt: skip
    return faces, [Size("drip", (170, PLATE - 110, 0), ((120, PLATE - 18 - drip / 2, -3 - drip / 2),))]


def _battens(numbers: Numbers) -> Made:
    apart = numbers.length("batten_sp")
    places = [x for x in (FIRST, FIRST + apart) if x + 45 < WIDE]
    ends = (FIRST + 22, 720.0, -20.0), (FIRST + 22 + apart, 720.0, -20.0)
    return [flat(x, PLATE - 5, x + 45, HIGH, "timber", -20) for x in places], [
        measured("batten_sp", *ends, above=55)
    ]


def _closer(_: Numbers) -> Made:
    low, high = PLATE - 25, PLATE - 5
    slots = [flat(x, low + 5, x + 26, high - 5, "fixing", -26) for x in range(20, int(WIDE) - 30, 48)]
    return [flat(0, low, WIDE, high, "barrier", -25), *slots], []


def _lowest_board(numbers: Numbers) -> Made:
    lap, above = numbers.length("plate_lap"), numbers.length("gnd")
    low = PLATE - lap
    faces = [
        flat(0, low, WIDE, low + 150, "cladding", -44),
        flat(0, low + 140, WIDE, low + 290, "cladding", -46),
    ]
    return faces, [
        measured("plate_lap", (840, low, -44), (840, PLATE, -44), beside=75, above=10),
        measured("gnd", (700, low - above, -44), (700, low, -44), beside=80)
        if above < low
        else Size("gnd", (780, low / 2, -44), ((700, low, -44),)),  # more than the frame has room for
    ]


SHORT: dict[str, Callable[[Numbers], Made]] = {
    "lower sheet": _lower_sheet,
    "upper sheet": _upper_sheet,
    "side lap": _side_lap,
    "upright tape": _upright_tape,
    "level tape": _level_tape,
    "pipe": _pipe,
    "tape under the pipe": _tape_under,
    "tape beside the pipe": _tape_beside,
    "tape over the pipe": _tape_over,
    "roof membrane up the wall": _membrane_up,
    "kick-out": _kick_out,
    "step flashing": _step_flashing,
    "sheet over the flashing": _sheet_over,
    "cladding over the roof": _cladding_over,
    "snow sheet over the roof": _snow_sheet,
    "flange": _flange,
    "sheet over the flange": _sheet_over_flange,
    "hood": _hood,
    "base flashing": _base_flashing,
    "base battens": _battens,
    "closer": _closer,
    "lowest board": _lowest_board,
    **LEAF_TRAY,
}
