"""What a wall takes by itself: membrane with the tape of its laps, battens, flashing and courses at the base, trays at its floors."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil, cos, hypot, radians, tan
from typing import Any, NamedTuple

from exposure.detail.ladder import RIGID_BOARDS, STUD_LAYERS
from exposure.detail.openings import Opening
from exposure.wall import Wall
from exposure.wall.building import HIGHEST, STEEP

ON_DECKS = {"deck_up", "deck_slats"}  # rows of decks: a door may open on one, high above the base


class Corners(NamedTuple):
    """What is counted with a wall of the sheets and laps at its two corners."""

    sheet: float  # mm that its sheets are longer than the wall
    laps: float  # upright laps there
    taped: float  # those of them that the walls beside it tape
    battens: float  # wide battens there, between two cavities
    stops: float = 2.0  # those where a tray over a stop of its leaf's cavity has none to lap


def value_of(lines: Mapping, key: str, default: float = 0.0) -> float:
    """The figure of a row, else what is taken where it does not stand."""
    return float(lines[key].value) if key in lines else default


def largest(wall: Wall) -> Wall:
    """The wall as the largest gable it may be: a ridge nobody told of may run across it, as high as a steep roof reaches."""
    untold = {one.what for one in wall.untold}
    if wall.eaves_height is None or "ridge height" not in untold or not untold & {"roof", "ridges"}:
        return wall
    across = wall.eaves_height + wall.length / 2 * tan(radians(STEEP))
    return replace(wall, height=max(wall.height, min(across, HIGHEST)))


def lowest_cladding(values: Mapping[str, Any], floor: float = 0.0) -> float:
    """How high above the ground the cladding begins, as the drawings of the base have it; the membrane of a veneer on its course. [mm]

    At soil or at paving, whichever asks less, since what lies before the wall is not known: so it takes more rather than less.

    Parameters
    ----------
    values
        Of the schedule's rows, by their keys.
    floor
        The highest that a listed door of the house asks. Only where snow asks it does the base surely go up with it: paving may step down instead.

    Examples
    --------
    >>> lowest_cladding({"gnd": 175, "paved": 100, "low_timber": 200, "plate_lap": 50})
    100.0
    >>> lowest_cladding({"low_timber": 150, "dpc_up": 150, "snow_open": 520}, 691)
    691.0
    """
    timber, snow, lap = (float(values.get(key, 0)) for key in ("low_timber", "snow_open", "plate_lap"))
    plate = float(floor) if snow and snow >= float(values.get("paved", 0)) else 0.0
    clad = [float(values[key]) for key in ("gnd", "paved") if key in values]
    if clad:
        return min(max(one, plate - max(lap, timber - one)) for one in clad)
    return max(timber, snow, plate, float(values.get("dpc_up", 0))) if timber else 0.0


def membrane_and_tape(
    wall: Wall, lines: Mapping, tall: float, low: float, corners: Corners | None, roll: tuple[float, float]
) -> tuple[float, float]:
    """Membrane [m2] and tape of its laps and top edge [m]; none on a wall without membrane.

    Parameters
    ----------
    tall, low
        Its mean height, and that of its lowest edge above the ground. [m]
    corners
        Without them, of a wall by itself, half of each lap is its own.
    """
    if "lap_h" not in lines:
        return 0.0, 0.0
    width, length = roll
    lap_h, lap_v = value_of(lines, "lap_h"), value_of(lines, "lap_v")
    height = tall * 1000
    courses = 1 if height <= width else 1 + ceil(round((height - width) / (width - lap_h), 9))
    joints = max(ceil(round(wall.length / length, 9)) - 1, 0)
    round_them, laps, taped, *_ = corners or Corners(lap_v, 1, 0, 1)
    course_length = wall.length + (joints * lap_v + round_them) / 1000
    layers = 1.0 if on_boards(lines) else value_of(lines, STUD_LAYERS, 1.0)
    area = layers * course_length * (height + (courses - 1) * lap_h) / 1000
    corner = corner_height(wall, low)
    asked = lines["seam_tape"].value if "seam_tape" in lines else "openings"
    tape = top_edge(wall) + (taped * corner if asked == "openings" else joints * tall + laps * corner)
    if asked not in ("openings", "openings and upright laps"):
        tape += (courses - 1) * wall.length
    return area, tape


def on_boards(lines: Mapping) -> bool:
    """Whether the membrane lies on rigid boards."""
    return "mem_class" in lines and lines["mem_class"].value == RIGID_BOARDS


def on_open_studs(lines: Mapping) -> bool:
    """Whether the membrane lies over open studs."""
    return STUD_LAYERS in lines and not on_boards(lines)


def top_edge(wall: Wall) -> float:
    """Length of the top edge [m]: along the eaves, or both rakes of a gable, as steep as roofs are taken where its eaves are not known."""
    if wall.eaves_height is not None:
        return 2 * hypot(wall.length / 2, wall.height - wall.eaves_height)
    return wall.length / cos(radians(STEEP)) if "gable" in wall.shape else wall.length


def corner_height(wall: Wall, low: float) -> float:
    """Height of its corners from its lowest edge up. [m]"""
    return max((wall.eaves_height or wall.height) - low, 0.0)


def battens(
    wall: Wall,
    lines: Mapping,
    tall: float,
    low: float,
    corners: Corners | None,
    openings: Sequence[Opening],
) -> tuple[float, float]:
    """One for each spacing and one each side of an opening; and those at corners in place of the last one there, as wide as a batten and the cavity together. [m]

    Parameters
    ----------
    tall, low, corners
        As of :func:`membrane_and_tape`.
    """
    if "batten_sp" not in lines:
        return 0.0, 0.0
    rows = ceil(round(1000 * wall.length / value_of(lines, "batten_sp"), 9)) + 1
    wide = (corners.battens if corners else 1) * corner_height(wall, low)
    beside = sum(2 * one.count * one.height for one in openings) / 1000
    return rows * tall - wide + beside, wide


def base_parts(wall: Wall, lines: Mapping, openings: Sequence[Opening]) -> tuple[float, float]:
    """Base flashing, turned up at doors, and base closer of a cavity behind cladding: along the wall but for its doors; where a deck is, they may open on that. [m]"""
    if "slot" not in lines:
        return 0.0, 0.0
    along = beside_doors(wall, lines, openings)
    ends = along and not ON_DECKS & lines.keys()  # there is wall beside doors, and they open on no deck
    doors = sum(one.count for one in openings if one.door) if ends else 0
    return along + 2 * doors * value_of(lines, "lap_h") / 1000, along


def beside_doors(wall: Wall, lines: Mapping, openings: Sequence[Opening]) -> float:
    """The base of a wall but for its doors; all of it where they may open on a deck. [m]"""
    doors = sum(one.count * one.width for one in openings if one.door) / 1000
    return wall.length if ON_DECKS & lines.keys() else max(wall.length - doors, 0.0)


def courses(wall: Wall, lines: Mapping, openings: Sequence[Opening]) -> dict[str, float]:
    """Damp-proof courses along the base by their kind: one under the plate, turned up where neither base flashing nor tray stands, also at doors, and those of leaves but for doors; in snow they run on below those with a step. [m]"""
    found = {}
    tray, doors = "base_tray" in lines, sum(one.count for one in openings if one.door)
    snow = bool(value_of(lines, "snow_open"))
    if "low_timber" in lines:
        up = 0.0 if tray or "slot" in lines else value_of(lines, "lap_h")
        ends = 2 * up * doors / 1000
        kind = f"under the plate, turned up {up:g} mm" if up else "under the plate"
        found[kind] = beside_doors(wall, lines, openings) + ends
    if tray:
        ends = 2 * doors * value_of(lines, "tray_stop") / 1000
        found["in the leaf, a tray across the cavity"] = beside_doors(wall, lines, openings) + ends
        past = 2 * value_of(lines, "sill_past")
        below = sum(one.count * (one.width + past) for one in openings if one.door and not one.level) / 1000
        found |= {"in the leaf below doors": below} if snow and below else {}
    elif "dpc_up" in lines:
        ended = [one for one in openings if one.level or not snow]
        leaves = ("in the leaf",) if found else ("in the outer leaf", "in the inner leaf")
        found |= dict.fromkeys(leaves, beside_doors(wall, lines, ended))
    return found


def floor_trays(
    wall: Wall, lines: Mapping, storeys: int, openings: Sequence[Opening], corners: Corners | None
) -> float:
    """Cavity trays in a leaf over the stops of its cavity at floors, with stop-ends where they lap no other wall's at a corner, two more at a door that may stand on one. [m]"""
    if "cav_run_leaf" not in lines or not storeys:
        return 0.0
    stops = max(ceil(storeys / value_of(lines, "cav_run_leaf")) - 1, 0)
    doors = sum(one.count for one in openings if one.door) if stops and ON_DECKS & lines.keys() else 0
    ends = stops * (corners.stops if corners else 2) + 2 * doors
    return stops * wall.length + ends * value_of(lines, "tray_stop") / 1000
