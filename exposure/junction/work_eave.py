"""What the steps where an eave ends look like: kick-out, step flashing, what comes down over them, snow or none."""

from collections.abc import Callable

from exposure.junction.numbers import Numbers
from exposure.junction.work_faces import (
    HIGH,
    WIDE,
    Face,
    Made,
    Spot,
    broken,
    flat,
    is_rendered,
    line,
    measured,
)

EAVE, RIDGE = (400.0, 430.0), (WIDE, 570.0)
PITCH = (RIDGE[1] - EAVE[1]) / (RIDGE[0] - EAVE[0])
MOUTH = 270.0  # x of the kick-out's lower end
BEHIND_BOARDS = 30.0  # of the sheet's upright edge beside the kick-out
UNDER_METAL = 8.0  # cladding below the metal of the kick-out
HIGHEST = 320.0  # over the roof, what a frame has room for


def at_roof(_: Numbers) -> list[Face]:
    """The wall's membrane, and a roof that leans against it."""
    (x, z), (end, top) = EAVE, RIDGE
    return [
        flat(0, 0, WIDE, HIGH, "film"),
        Face(((x, z, 0), (end, top, 0), (end, top, -340), (x, z, -340)), "stone"),
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
    return faces, [measured("snow_roof", (800, _on_roof(800), -2), edge, beside=80)]


def _broken(left: float, high: float, d: float) -> list[Face]:
    """What breaks a part that goes ``high`` up the wall over the roof; nothing where the frame has room for it."""
    return broken(left, lambda x: _on_roof(x, 0.5 * HIGHEST), d) if high > HIGHEST else []


def _kick_out(numbers: Numbers) -> Made:
    high, out = numbers.length("kick_h"), numbers.length("kick_proj")
    (x, z), low = EAVE, EAVE[1] - 30
    faces = [
        Face(((MOUTH, low, -4), (x + 15, z + 5, -4), (x + 15, z + 5 + high, -4), (MOUTH, low + high, -4)), "metal"),
        Face(((MOUTH, low, -4), (x + 15, z + 5, -4), (x + 15, z + 5, -out * 0.6), (MOUTH, low - 15, -out)), "tray"),
    ]  # fmt: skip
    return faces, [
        measured("kick_h", (MOUTH - 20, low, -4), (MOUTH - 20, low + high, -4), beside=-210, above=20),
        measured(
            "kick_proj", (MOUTH - 15, low - 15, 0), (MOUTH - 15, low - 15, -out), beside=-190, above=-60
        ),
    ]


def _on_roof(x: float, above: float = 0.0) -> float:
    return EAVE[1] + PITCH * (x - EAVE[0]) + above


def _step_flashing(numbers: Numbers) -> Made:
    up, on = numbers.length("step_h"), numbers.length("step_on")
    faces = []
    for place in range(4):
        left = EAVE[0] - 40 + place * 170
        right = min(left + 190, WIDE)
        d, foot = -6.0 - place, -6.0 - on
        faces += [
            Face(((left, _on_roof(left, 6), d), (right, _on_roof(right, 6), d), (right, _on_roof(right, up), d), (left, _on_roof(left, up), d)), "metal"),
            Face(((left, _on_roof(left, 6), d), (right, _on_roof(right, 6), d), (right, _on_roof(right, 4), foot), (left, _on_roof(left, 4), foot)), "tray"),
        ]  # fmt: skip
    x, near = 780.0, 690.0
    return faces, [
        measured("step_h", (x, _on_roof(x), -10), (x, _on_roof(x, up), -10), beside=75),
        measured("step_on", (near, _on_roof(near, 6), -6), (near, _on_roof(near, 6), -6 - on), above=-110),
    ]


def _sheet_over(_: Numbers) -> Made:
    """The sheet of the wall, on past the end of the eave, its lower edge stepped round the kick-out."""
    flap = (
        (0, 340, -12),
        (MOUTH - 30, 340, -12),
        (MOUTH - 30, 440, -12),
        (EAVE[0] + 20, 480, -12),
        (WIDE, _on_roof(WIDE, 45), -12),
        (WIDE, HIGH, -12),
        (0, HIGH, -12),
    )
    return [Face(flap, "flap")], []


def _cladding_over(numbers: Numbers) -> Made:
    row = "snow_roof" if numbers.length("snow_roof", 0.0) else "roof_gap"
    high, left = numbers.length(row), MOUTH - 45
    gap = min(high, HIGHEST)
    snow = row == "snow_roof"  # full height past the mouth, where boards go on down
    eave = _on_roof(EAVE[0], gap + (0 if snow else 25))
    beside, under = (
        eave if snow else 460.0,
        EAVE[1] - 45 - UNDER_METAL,
    )  # boards go on under the kick-out to the roof's end
    shape: tuple[Spot, ...] = (
        (0, 0, -40), (EAVE[0], 0, -40), (EAVE[0], EAVE[1] - UNDER_METAL, -40), (MOUTH, under, -40), (left, under, -40), (left, beside, -40), (EAVE[0], eave, -40), (EAVE[0] + 40, _on_roof(EAVE[0] + 40, gap), -40),
        (WIDE, _on_roof(WIDE, gap), -40), (WIDE, HIGH, -40), (0, HIGH, -40),
    )  # fmt: skip
    joints, dotted = [], is_rendered(numbers)
    for z in range(40, int(HIGH), 40) if dotted else range(130, int(HIGH), 130):
        end = (
            EAVE[0]
            if z < under
            else left
            if z < beside
            else min(WIDE, max(EAVE[0], EAVE[0] + (z - gap - EAVE[1]) / PITCH))
        )
        start, end, material = (12 + z % 80 / 4, end - 10, "dots") if dotted else (0, end, "joint")
        joints.append(line([(start, z, -41), (end, z, -41)], material))
    x = 800.0
    foot, edge = (x, _on_roof(x), -40), (x, _on_roof(x, gap), -40)
    size = measured(row, foot, edge, beside=80, above=-10)
    if dotted:
        return [Face(shape, "render"), line([*shape, shape[0]], "edge"), *joints], [size]
    return [Face(shape, "cladding"), *joints], [size]


def _snow_sheet(numbers: Numbers) -> Made:
    """The sheet behind the lower edge of the cladding; broken where it is higher than the frame has room for."""
    high = numbers.length("snow_roof")
    gap, low, left = min(high, HIGHEST), numbers.length("roof_gap"), MOUTH - 45 - BEHIND_BOARDS
    sheet = Face(
        ((left, _on_roof(left, low), -20), (WIDE, _on_roof(WIDE, low), -20), (WIDE, _on_roof(WIDE, gap + 30), -20), (EAVE[0], _on_roof(EAVE[0], gap + 30), -20), (left, _on_roof(EAVE[0], gap + 30), -20)),
        "tray",
    )  # fmt: skip
    x = 640.0
    size = measured("roof_gap", (x, _on_roof(x), -20), (x, _on_roof(x, low), -20), beside=60, above=-110)
    return [sheet, *_broken(left, high, -21)], [size]


AT_AN_EAVE: dict[str, Callable[[Numbers], Made]] = {
    "roof membrane up the wall": _membrane_up,
    "kick-out": _kick_out,
    "step flashing": _step_flashing,
    "sheet over the flashing": _sheet_over,
    "cladding over the roof": _cladding_over,
    "snow sheet over the roof": _snow_sheet,
}
