"""Base of the wall, upright section, at soil and at paving: how far cladding and timber stay above the ground."""

from dataclasses import replace
from math import ceil, sqrt
from typing import Literal

from exposure.junction.build_up import CLOSER, Wall, battens, cladding, core, lining, wall_of, weep_hole
from exposure.junction.leaf import bed_on_lintel, weep_over_tray
from exposure.junction.numbers import Numbers
from exposure.junction.scene import (
    FILM,
    SHEET,
    Dimension,
    Layer,
    Point,
    Section,
    rectangle,
    sheet,
)
from exposure.junction.window import NotDrawnError

PLATE = 45.0
UNDER = 160.0  # mm of foundation shown under the ground
OVER = 210.0  # mm of wall shown above the plate
ABOVE = 60.0  # mm of wall shown above that upstand
OVER_FLOOR = 150.0  # mm of wall shown above a floor that stands higher than its courses
BELOW_JOINT = 15.0
BELOW_FOOT = 10.0  # mm, bend of the drip below the cladding and its closer, so that the cavity stays free
BELOW_TRAY = 225.0  # mm of filled cavity shown under a tray
EDGE = 5.0  # mm, lower edge of the lowest sheet over the bend of a tray, so that it drains
UNDER_PLATE = 15.0  # mm, bend of a tray below the course under the plate, whose edge it passes
OFF_LEAF = 40.0  # mm, line of the snow short of a tray as high as it
GROUND_FALL = 0.05
WEEP = (75.0, 140.0)
OUT_AT_DOOR = ", at a door out over this wall to the cavity"
LIFTED_AT_A_DOOR = "Where a door with a step asks the floor of this house {:.0f} mm above ground or paving, {}."  # fmt: skip
SNOW_TOO = "cladding/snow"  # one size where both rows ask the same height
ALL_OF_IT = "all of this base goes up with it"
BESIDE_A_DOOR = (
    "Beside a level door this holds over the paving there: the plate on an upstand as high, in to the jambs."
)
IN_A_LEAF = "Beside a level door this holds over the paving there: the leaf's course, and the plate on an upstand {} mm high, in to the jambs; where the paving ends the course steps down, lapped."


def base_at_soil(numbers: Numbers) -> Section:
    """The base of a wall that stands in soil."""
    wall = wall_of(numbers)
    if wall.masonry:
        return _masonry(numbers, wall)
    return _clad(numbers, wall, "gnd", "soil", "Soil, falling away from the wall")


def base_at_paving(numbers: Numbers) -> Section:
    """The base of a wall that stands in paving."""
    wall = wall_of(numbers)
    if wall.masonry:
        message = "the schedule asks nothing of a masonry leaf at paving"
        raise NotDrawnError(message)
    return _clad(numbers, wall, "paved", "paving", "Paving, falling away from the wall")


def ground_before(material: str, name: str, row: str, left: float, bottom: float, right: float) -> Layer:
    """The ground before a wall, falling away from ``right``."""
    low = -GROUND_FALL * (right - left)
    outline: tuple[Point, ...] = ((left, bottom), (right, bottom), (right, 0), (left, low))
    return Layer("ground", material, outline, name, (row,) if row else (), order=1)


def _limit(key: str, height: float, row: str, name: str, left: float, right: float) -> Layer:
    """A level that something stays above, as a line."""
    return Layer(key, "level", rectangle(left, height, right, height + 0.5), name, (row,), cut=False, order=1)


def snow_level(numbers: Numbers, left: float, right: float) -> list[Layer]:
    """The level that what is open stays above where snow lies, as a line before the wall."""
    snow = numbers.length("snow_open", 0.0)
    return (
        [
            _limit(
                "snow level", snow, "snow_open", "Where snow lies, nothing open below this level", left, right
            )
        ]
        if snow
        else []
    )


def snow_size(numbers: Numbers, foot: Point, side: Literal["left", "right"]) -> list[Dimension]:
    """How high snow closes what is open, where it lies."""
    snow = numbers.length("snow_open", 0.0)
    return [Dimension("snow_open", foot, (foot[0], snow), snow, "y", side)] if snow else []


def floor_size(foot: Point, floor: float) -> Dimension:
    """How high the floor lies over the ground so that the sills of doors stand above the snow."""
    return Dimension("door_snow", foot, (foot[0], foot[1] + floor), floor, "y", "right", name="floor")


def _beside_a_door(numbers: Numbers, said: str = BESIDE_A_DOOR) -> tuple[str, ...]:
    """How the base of a framed wall goes on where paving comes up to a level door."""
    return (said,) if numbers.has("door_side") else ()


def _lifted(numbers: Numbers, floor: float, what: str = ALL_OF_IT) -> tuple[str, ...]:
    """That of a base whose ``floor`` is drawn lower ``what`` follows the floor that a door of the house asks."""
    return (LIFTED_AT_A_DOOR.format(numbers.door_floor, what),) if numbers.door_floor > floor else ()


def _of_a_leaf(numbers: Numbers, wall: Wall) -> str:
    """What goes up behind a leaf: in snow its course runs on below a door as high as it is drawn, but where it is a tray up the framing."""
    if not numbers.length("snow_open", 0.0) or numbers.has("base_tray"):
        return ALL_OF_IT
    up, course = ("floor and plate go up with it", "the leaf's course") if wall.film else ("the floor is drawn there", "both courses")  # fmt: skip
    but = ", but beside a level door" if numbers.has("door_level") else ""
    return f"{up}; {course} and the foot of the cavity stay as drawn{but}"


def floor_over_paving(numbers: Numbers, below: float) -> tuple[float, tuple[str, ...]]:
    """How high the floor at a door lies over paving, where its cover ends ``below`` mm under it and snow asks less, and that in words."""
    clear = numbers.length("paved", 0.0)
    if numbers.length("snow_open", 0.0) >= clear:
        return 0.0, ()
    high = ceil(below + clear - 1e-6)
    return high, (f"So that the cover ends {clear:.0f} mm above paving this floor lies at least {high} mm above it, or the paving steps down before the door; the highest such floor holds for the house.",)  # fmt: skip


def plate_at(numbers: Numbers, row: str) -> float:
    """How high the bottom plate lies where light cladding begins as ``row`` asks: its lap above that, more where framing asks it."""
    return max(numbers.length(row) + numbers.length("plate_lap"), numbers.length("low_timber"))


def _turned_up(wall: Wall, out: float, level: float, upstand: float) -> tuple[Point, ...]:
    """The damp-proof course under a plate from ``out`` inward, turned up before the framing for the lowest sheet to lap."""
    low, high = level - FILM, level + upstand
    end = min(out, -FILM)
    flat: tuple[Point, ...] = ((end, low), (wall.core_back, low), (wall.core_back, level), (0, level), (0, high), (-FILM, high))  # fmt: skip
    return (*flat, (-FILM, level), (end, level)) if end < -FILM else flat


def _lowest_sheet(wall: Wall, top: float, lap: tuple[float, float], thick: float, over: str) -> Layer:
    """The lowest sheet of the membrane, down outside an upstand ``thick`` thick: ``lap`` has its top and the sheet's lower edge."""
    jog = lap[0] + 10
    film = sheet([(-FILM, top), (-FILM, jog), (-thick - FILM, jog - 5), (-thick - FILM, lap[1])], FILM)
    carrier = "core board" if wall.board else "core"
    return Layer("membrane", "membrane", film, f"Membrane, over the upstand of the {over}", ("mem_class", "mem_foot", "lap_h"), carrier, water=True, order=2)  # fmt: skip


def _lap_size(edge: float, upstand: float, thick: float) -> Dimension:
    """How far the lowest sheet laps the upstand that it comes down over."""
    x = -thick - 2 * FILM
    return Dimension("lap_h", (x, edge), (x, edge + upstand), upstand, "y", "left", name="lapped")


def _clad(numbers: Numbers, wall: Wall, row: str, material: str, ground: str) -> Section:
    least, drip = numbers.length(row), numbers.length("drip")
    plate, timber = plate_at(numbers, row), numbers.length("low_timber")
    beside = _beside_a_door(numbers) if row == "paved" else ()
    snow = 0.0 if beside else numbers.length("snow_open", 0.0)
    joint = max(plate, numbers.door_floor) if snow else plate  # all of the base goes up with the floor
    low = least + joint - plate
    deep = bool(
        wall.cavity
    )  # a flashing has the drip, below the cavity; else the cladding's own edge is the drip
    stone = 0.0 if deep else wall.leaf_back + drip
    upstand = numbers.length("lap_h")  # what the lowest sheet laps
    top = joint + max(PLATE + OVER, upstand + ABOVE)
    left, right, bottom = wall.face - 110, wall.room + 50, -UNDER
    parts = [
        ground_before(material, ground, row, left, bottom, stone),
        Layer(
            "foundation", "concrete", rectangle(stone, bottom, right, joint - FILM), "Foundation and floor", water=True,
        ),
        Layer(
            "plate dpc", "dpc",
            rectangle(min(0, stone), joint - FILM, wall.core_back, joint) if deep else _turned_up(wall, min(0, stone), joint, upstand),
            "Damp-proof course under the plate" + ("" if deep else ", turned up"), ("low_timber",), "foundation", water=True, order=1,
        ),
        Layer("plate", "timber", rectangle(wall.core_face, joint, wall.core_back, joint + PLATE), "Bottom plate", ("plate_lap",), "plate dpc",
              order=1),
        *core(wall, joint + PLATE, top),
        lining(wall, joint, top),
        cladding(wall, low, top, carrier="battens" if wall.cavity else "packers"),
        *snow_level(numbers, left, wall.face),
        _limit("timber level", timber, "low_timber", "No framing below this level", wall.core_face, right),
    ]  # fmt: skip
    if wall.board:
        parts.append(
            Layer(
                "low board",
                "board",
                rectangle(0, joint, wall.board, joint + PLATE),
                "Boards on the studs",
                (),
                "plate",
            )
        )
    if wall.cavity:
        parts.append(battens(wall, low + CLOSER, top))
        parts.append(
            Layer(
                "closer",
                "mesh",
                rectangle(wall.leaf_back, low, wall.skin, low + CLOSER),
                "Base closer with slots, fixed under the feet of the battens",
                ("slot", "cav_vent"),
                "battens",
                cut=False,
                order=8,
            )
        )
    else:
        parts.append(
            Layer("packers", "thin packer", rectangle(wall.leaf_back, joint, wall.skin - FILM, joint + PLATE), f"Short packers behind the lowest board, gaps between: they hold its foot {drip:g} mm off the foundation",
                  ("drip",), "membrane", cut=False, order=8)
        )  # fmt: skip
    if deep:
        foot = low - BELOW_FOOT
        edge = joint + 5
        parts += [
            _lowest_sheet(wall, top, (edge + upstand, edge), SHEET, "flashing"),
            Layer(
                "base flashing", "metal",
                sheet([(-SHEET, edge + upstand), (-SHEET, foot), (-drip, foot - (drip - SHEET))], SHEET),
                "Base flashing, its drip below cladding and closer", ("drip",), "plate dpc", water=True, order=1,
            ),
        ]  # fmt: skip
        tip = foot - (drip - SHEET)
        drip_size = Dimension("drip", (-drip, tip - 10), (0, tip - 10), drip, "x", "within")
    else:
        edge = joint
        parts.append(_lowest_sheet(wall, top, (edge + upstand, joint - BELOW_JOINT), FILM, "course"))
        drip_size = Dimension("drip", (wall.leaf_back, low - 8), (stone, low - 8), drip, "x", "within")
    both = numbers.length("snow_open", 0.0) == least
    said = SNOW_TOO if both else "cladding, least" if low > least else ""
    dimensions = [
        Dimension(row, (wall.face, 0), (wall.face, least), least, "y", "left", name=said),
        Dimension("plate_lap", (wall.face, low), (wall.face, joint), joint - low, "y", "left"),
        Dimension("low_timber", (right - 40, 0), (right - 40, timber), timber, "y", "right"),
        _lap_size(edge, upstand, SHEET if deep else FILM),
        drip_size,
        *([] if both else snow_size(numbers, (wall.face, 0), "left")),
        *([floor_size((right - 20, 0), joint)] if joint > plate else []),
    ]
    if wall.cavity:
        dimensions.append(
            Dimension(
                wall.cavity_row, (wall.leaf_back, top - 30), (wall.skin, top - 30), wall.cavity, "x", "top"
            )
        )
    return Section(
        "base-soil" if row == "gnd" else "base-paving",
        f"Base of wall at {material}, upright section",
        "upright",
        (left, bottom, right, top),
        tuple(parts),
        tuple(dimensions),
        outdoors=((left + 5, 20), *(((wall.leaf_back + wall.skin - SHEET - FILM) / 2, top - 5),) * bool(wall.cavity)),
        indoors=((right - 10, top - 5),),
        drop=(-2 * FILM, top - 60) if wall.cavity else None,
        water_ends=("foundation", "membrane"),
        notes=_lifted(numbers, plate, ALL_OF_IT + (", as drawn" if joint > plate else "")),
        warnings=beside,
    )  # fmt: skip


def _course_of_leaf(wall: Wall, shelf: float, level: float, top: float, snow: float) -> list[Layer]:
    """The leaf from the foundation at ``shelf`` up, its lowest course at ``level``, as high as ``snow`` or higher, and the weep holes on that."""
    course = rectangle(wall.face, level - FILM, wall.leaf_back, level)
    name = "Damp-proof course of the leaf" + f", {level:.0f} mm up for the snow" * (0 < snow == level)
    return [
        cladding(wall, shelf, level - FILM, key="low leaf", carrier="footing"),
        Layer("leaf dpc", "dpc", course, name, ("dpc_up",), "low leaf", order=1),
        cladding(wall, level + WEEP[0], top, carrier="weep brick"),
        *weep_hole(wall, level, level + WEEP[0], "Open upright joint: weep hole", "weep_sp", "cav_vent", carrier="leaf dpc"),
    ]  # fmt: skip


def _tray_across(
    numbers: Numbers, wall: Wall, shelf: float, level: float, ends: tuple[float, float]
) -> list[Layer]:
    """The same where the course is a tray, up the framing from ``level`` and out over the filled cavity and the leaf.

    Parameters
    ----------
    ends
        Upper ends of the tray's leg and of the wall.
    """
    high, top = ends
    slope = numbers.length("tray_fall") / 100
    under = FILM * sqrt(1 + slope * slope)
    out, _ = bed_on_lintel(numbers, wall)

    def on_tray(x: float) -> float:
        return level - UNDER_PLATE - slope * (-FILM - x)

    def up_to_it(left: float, right: float, low: float) -> tuple[Point, ...]:
        return (
            (left, low),
            (right, low),
            (right, on_tray(min(right, -FILM)) - under),
            (left, on_tray(left) - under),
        )

    tray = sheet([(-FILM, high), (-FILM, on_tray(-FILM)), (out, on_tray(out))], FILM)
    brick, mesh = weep_over_tray(numbers, wall, on_tray(wall.leaf_back), "Open upright joint: weep hole")
    return [
        Layer("low leaf", "masonry", up_to_it(wall.face, wall.leaf_back, shelf), "", (), "footing", order=1),
        Layer("filling", "concrete", up_to_it(wall.leaf_back, 0.0, shelf), "Cavity filled up to the tray", ("base_tray",), "footing", order=1),
        Layer("tray", "damp course", tray, f"Lowest damp-proof course as a tray, from {numbers.length('tray_out'):g} mm past the leaf up behind the membrane", ("base_tray", "tray_out", "dpc_up"), "low leaf",
              water=True, order=1),
        replace(brick, rows=("weep_sp", "cav_vent", "mesh")),
        mesh,
        cladding(wall, max(y for _, y in brick.outline), top, carrier="weep brick"),
    ]  # fmt: skip


def _foundation(numbers: Numbers, *, at_door: bool) -> str:
    """What the foundation under a leaf is called, and how low it lies ``at_door``."""
    deep = numbers.length("cav_base", 0.0)
    return "Foundation" + (f", at a door {deep:g} mm below its course" if at_door and deep else "")


def _masonry(numbers: Numbers, wall: Wall) -> Section:
    tray = wall.film and numbers.has("base_tray")
    deep = BELOW_TRAY if tray else numbers.length("cav_base")
    timber = numbers.length("low_timber", 150.0)
    course = numbers.length("dpc_up", 150.0)
    falls = UNDER_PLATE + numbers.length("tray_fall") / 100 * (-FILM - wall.face) if tray else 0.0
    level = max(timber, falls + max(course, numbers.length("snow_open", 0.0)))  # weep holes stand on it
    bottom = min(level - deep, 0) - UNDER
    upstand = numbers.length("lap_h") if wall.film else 0.0  # what the lowest sheet laps
    upstand = max(upstand, numbers.length("base_tray")) if tray else upstand
    lifted = not wall.film and numbers.length("snow_open", 0.0) > 0 and numbers.door_floor > level
    floor = numbers.door_floor if lifted else level
    top = max(level + max(PLATE + OVER, upstand + ABOVE), floor + OVER_FLOOR)
    left, right = wall.face - 110, wall.room + 50
    shelf = level - deep
    at_door = numbers.has("door_sill") and (tray or not numbers.length("snow_open", 0.0))  # its course too
    back = wall.skin + FILM if wall.film else 0.0
    parts: list[Layer] = [
        ground_before("soil", "Soil, falling away from the wall", "", left, bottom, wall.face),
        Layer("footing", "concrete", rectangle(wall.face, bottom, wall.core_back, shelf), _foundation(numbers, at_door=at_door),
              ("cav_base",) if at_door or not tray else (), order=1),
        *(_tray_across(numbers, wall, shelf, level, (level + EDGE + upstand, top)) if tray else _course_of_leaf(wall, shelf, level, top, numbers.length("snow_open", 0.0))),
        Layer(
            "low wall", "masonry", rectangle(wall.core_face if not wall.film else back, shelf, wall.core_back, level - FILM),
            "Inner wall up to the damp-proof course", (), "footing", water=True, order=1,
        ),
        Layer(
            "plate dpc", "dpc",
            _turned_up(wall, back, level, upstand) if wall.film and not tray else rectangle(0 if tray else wall.core_face, level - FILM, wall.core_back, level),
            "Damp-proof course under the plate" + ", turned up" * (not tray) if wall.film else "Damp-proof course of the inner leaf", ("low_timber",) if wall.film else (), "low wall", water=True, order=1,
        ),
        Layer(
            "floor", "concrete", rectangle(wall.core_back, floor - 100, right, floor), "Floor" + OUT_AT_DOOR * numbers.has("door_sill"), (), "core" if lifted else "low wall", order=1,
        ),
        lining(wall, floor, top),
        *snow_level(numbers, left, wall.face - OFF_LEAF * tray),
    ]  # fmt: skip
    dimensions = [
        *snow_size(numbers, (wall.face, 0), "left"),
        *(
            [Dimension("dpc_up", (wall.face, 0), (wall.face, level - falls), course, "y", "left")]
            if abs(level - falls - course) < 1e-6
            else []
        ),
        *(
            []
            if tray
            else [Dimension("cav_base", (wall.leaf_back, shelf), (wall.leaf_back, level), deep, "y", "left")]
        ),
        Dimension(
            wall.cavity_row, (wall.leaf_back, top - 30), (wall.skin, top - 30), wall.cavity, "x", "top"
        ),
    ]
    if wall.film:
        parts += [
            Layer("plate", "timber", rectangle(wall.core_face, level, wall.core_back, level + PLATE), "Bottom plate", ("low_timber",),
                  "plate dpc", order=1),
            *core(wall, level + PLATE, top),
            _lowest_sheet(wall, top, (level + upstand + EDGE * tray, level + EDGE if tray else level - BELOW_JOINT), FILM, "tray" if tray else "course"),
        ]  # fmt: skip
        if level > timber:
            parts.append(
                _limit(
                    "timber level", timber, "low_timber", "No framing below this level", wall.core_back, right
                )
            )
        if wall.board:
            parts.append(
                Layer(
                    "low board",
                    "board",
                    rectangle(0, level, wall.board, level + PLATE),
                    "Boards on the studs",
                    (),
                    "plate",
                )
            )
        lapped = _lap_size(level + EDGE * tray, upstand, FILM)
        sized = tray and upstand == numbers.length("base_tray")
        dimensions.append(replace(lapped, key="base_tray", name="") if sized else lapped)
        dimensions.append(
            Dimension("low_timber", (wall.core_back, 0), (wall.core_back, timber), timber, "y", "right")
        )
    else:
        leaf, slab = core(wall, level, top)
        parts += [
            leaf,
            replace(slab, outline=rectangle(0, shelf, wall.board, top)),
        ]  # its sheets meet anywhere, not at the course
    return Section(
        "base-soil", "Base of wall at soil, upright section", "upright", (left, bottom, right, top), tuple(parts), tuple(dimensions),
        outdoors=((left + 5, 20), ((wall.leaf_back + wall.skin) / 2, top - 5)),
        indoors=((right - 10, top - 5),),
        drop=(-2 * FILM, top - 60) if wall.film else None,
        water_ends=("low wall", "membrane") if wall.film else (),
        notes=_lifted(numbers, level, _of_a_leaf(numbers, wall)),
        warnings=_beside_a_door(numbers, IN_A_LEAF.format(ceil(level - 1e-6))),
    )  # fmt: skip
