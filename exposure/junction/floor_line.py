"""Floor line, upright section: the cavity behind a cladding or a leaf is stopped and drained over a barrier, or left open."""

from dataclasses import replace
from math import sqrt

from exposure.junction.build_up import (
    BEHIND,
    CLOSE_UNDER,
    MESH,
    Wall,
    battens,
    cladding,
    core,
    lining,
    membrane,
    wall_of,
)
from exposure.junction.leaf import BARRIER, WEEP, bed_on_lintel, weep_over_tray
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import NotDrawnError

BEYOND = 130.0
LIP = 20.0
JOIST = 220.0
AT_WINDOW = "Over the window the barrier stands above the head flashing, under it below the tray and what carries the window; uprights beside the window join both."


def _behind_cladding(numbers: Numbers) -> Wall:
    """The wall, which has a cavity behind light cladding."""
    wall = wall_of(numbers)
    if wall.masonry or not wall.cavity:
        message = "there is no cavity behind light cladding at the floor"
        raise NotDrawnError(message)
    return wall


def _flashing(
    foot: float, lip: float, bend: float, top: float, drip: float, hang: float = LIP
) -> tuple[Point, ...]:
    """The flashing out from ``foot`` over the face at ``lip``, which it hangs down before, its leg up to ``top``."""
    return sheet([(foot, top), (foot, bend), (lip, 0), (lip, -hang), (lip - drip, -hang - drip)], SHEET)


def _tip(plate: tuple[Point, ...]) -> Point:
    """The lowest point of a flashing, at the tip of its drip."""
    return min(plate, key=lambda point: point[1])


def _gap_below(wall: Wall, plate: tuple[Point, ...], free: float) -> Dimension:
    """How far the cladding below ends under the lowest of the metal."""
    tip = _tip(plate)
    return Dimension("floor_gap", (wall.face, tip[1] - free), tip, free, "y", "left")


def floor_line(numbers: Numbers) -> Section:
    """The stop across the cavity at a floor.

    Raises
    ------
    NotDrawnError
        For a wall without a cavity behind light cladding.
    """
    wall = _behind_cladding(numbers)
    each = "floor" if numbers.length("cav_run") == 1 else "second floor"
    free = numbers.length("floor_gap", 12.0)
    made = _stopped(
        numbers, wall, ("floor-line", "Floor line with the cavity stopped, upright section"), free=free,
        flashing=(f"Flashing across the cavity at every {each}, as over a window", "cav_run"), barrier="Cavity barrier where the fire rules ask for one",
    )  # fmt: skip
    if not numbers.has("floor_gap"):
        return made
    foot = min(y for _, y in made.layer("barrier").outline)
    below = max(y for _, y in made.layer("cladding below").outline)
    mesh = Layer("gap mesh", "mesh", rectangle(wall.leaf_back - MESH, below, wall.leaf_back, foot + MESH), f"Mesh behind the gap, fixed to the barrier's face; without one on the lower battens, which then end {free:g} mm under the flashing", ("floor_gap", "mesh"),
                 "cladding below", cut=False, order=9)  # fmt: skip
    size = _gap_below(wall, made.layer("flashing").outline, free)
    return replace(made, layers=(*made.layers, mesh), dimensions=(*made.dimensions, size))


def barrier_at_window(numbers: Numbers) -> Section:
    """A level cavity barrier over or under a window, with the tray that leads water out over it.

    Raises
    ------
    NotDrawnError
        For a wall without a cavity behind light cladding.
    """
    wall = _behind_cladding(numbers)
    made = _stopped(
        numbers, wall, ("cavity-barrier", "Level cavity barrier at a window, upright section"), free=None,
        flashing=("Tray over the barrier, as a head flashing: as long as the barrier, ends up, out over the cladding", "cav_fire"),
        barrier="Cavity barrier, level, where the fire rules ask for one",
    )  # fmt: skip
    under = replace(made.layer("cladding below"), name=CLOSE_UNDER)
    layers = tuple(under if one.key == under.key else one for one in made.layers)
    return replace(made, layers=layers, notes=(AT_WINDOW,))


def _stopped(
    numbers: Numbers,
    wall: Wall,
    named: tuple[str, str],
    *,
    free: float | None,
    flashing: tuple[str, str],
    barrier: str,
) -> Section:
    """The cavity stopped over a barrier, by a flashing whose leg goes up behind the membrane.

    Parameters
    ----------
    named
        Key and title.
    free
        How far the cladding below ends under the tip of the drip, which is at a floor: it hangs down past the barrier, so that the gap vents the cavity under that.
        Without it the cladding goes up under the flashing.
    flashing
        Its name and the row that orders it.
    barrier
        Name of the barrier.
    """
    slope, up = numbers.length("head_slope") / 100, numbers.length("head_up")
    gap, drip = numbers.length("clad_gap"), numbers.length("head_drip")
    lip, foot = wall.face - SHEET, -SHEET
    bend = slope * (foot - lip)
    edge, top = bend + BEHIND, bend + BEHIND + up
    high, low = top + BEYOND, -BARRIER - BEYOND - 40
    under = SHEET * sqrt(1 + slope * slope)
    clad = slope * (wall.leaf_back - lip) + gap
    jog = top + 8
    film = sheet([(-FILM, high), (-FILM, jog), (-SHEET - FILM, jog - 5), (-SHEET - FILM, edge)], FILM)
    ceiling = slope * (wall.leaf_back - lip) - under
    filled = (
        (wall.leaf_back, ceiling - BARRIER), (-FILM, ceiling - BARRIER), (-FILM, bend - under - slope * (foot + FILM) - 0.1),
        (wall.leaf_back, ceiling),
    )  # fmt: skip
    name, row = flashing
    at_floor = free is not None
    hang = LIP if free is None else max(LIP, BARRIER - ceiling + MESH)
    plate = _flashing(foot, lip, bend, top, drip, hang)
    end = -under - 1 if free is None else _tip(plate)[1] - free
    behind = _floor(wall, low, high) if at_floor else [*core(wall, low, high), lining(wall, low, high)]
    holder = ("rim board" if wall.board else "rim") if at_floor else "core board" if wall.board else "core"
    parts = [
        *behind,
        Layer("membrane", "membrane", film, "Membrane, over the flashing" if at_floor else "Membrane, over the tray's leg through a slit with taped ends", ("head_up",), "flashing", water=True, order=2),
        membrane(wall, low, bend - under - 4, key="membrane below", rows=("mem_class",)),
        Layer("flashing", "metal", plate, name, (row,), holder, water=True, order=8),
        Layer("barrier", "barrier", filled, barrier, ("cav_fire",), "membrane below", order=8),
        cladding(wall, clad, high, carrier="battens"),
        battens(wall, clad + 12, high),
        cladding(wall, low, end, key="cladding below", carrier="battens below"),
        battens(wall, low, min(end, ceiling - BARRIER), key="battens below", carrier="membrane below"),
    ]  # fmt: skip
    sizes = (
        Dimension("head_up", (-SHEET - FILM, edge), (foot, top), up, "y", "right"),
        Dimension("head_slope", (foot, bend), (lip, 0), slope * 100, "fall %"),
        Dimension("clad_gap", (wall.leaf_back, clad - gap), (wall.leaf_back, clad), gap, "y", "left"),
        Dimension(wall.cavity_row, (wall.leaf_back, high - 20), (wall.skin, high - 20), wall.cavity, "x", "top"),
    )  # fmt: skip
    air: tuple[Point, ...] = (
        (wall.face - 60, high - 5), ((wall.leaf_back - SHEET - FILM) / 2, high - 3), ((wall.leaf_back + wall.skin) / 2, low + 3),
    )  # fmt: skip
    key, title = named
    return Section(
        key, title, "upright", (wall.face - 75, low, wall.room + 55, high), tuple(parts), sizes, outdoors=air, drop=(-FILM, high - 20),
        water_ends=("flashing", "membrane"),
    )  # fmt: skip


def floor_line_open(numbers: Numbers) -> Section:
    """The gap in the cladding at a floor where the cavity runs past it, over a flashing on the battens.

    Raises
    ------
    NotDrawnError
        For a wall without a cavity behind light cladding.
    """
    wall = _behind_cladding(numbers)
    slope, up = numbers.length("head_slope") / 100, numbers.length("head_up")
    gap, drip, free = numbers.length("clad_gap"), numbers.length("head_drip"), numbers.length("floor_gap")
    foot, lip = wall.leaf_back, wall.face - SHEET
    bend = slope * (foot - lip)
    clad, under, top = bend + gap, bend - SHEET * sqrt(1 + slope * slope), bend + up
    plate = _flashing(foot, lip, bend, top, drip)
    below = _tip(plate)[1] - free
    high, low = top + BEYOND, -BARRIER - BEYOND - 40
    parts = [
        *_floor(wall, low, high),
        membrane(wall, low, high, rows=("mem_class",), carrier="rim board" if wall.board else "rim"),
        battens(wall, below + free, high),
        Layer("flashing", "metal", plate,
              "Flashing on the battens, its leg behind the cladding; the cavity runs past it", ("floor_gap",), "battens", order=9),
        cladding(wall, clad, high, carrier="battens"),
        battens(wall, low, below, key="battens below"),
        cladding(wall, low, below, key="cladding below", carrier="battens below"),
        Layer("gap mesh", "mesh", rectangle(foot - MESH, below, foot, under), "Mesh behind the gap", ("floor_gap", "mesh"), "cladding below",
              cut=False, order=9),
    ]  # fmt: skip
    dimensions = (
        Dimension("head_up", (foot, bend), (foot, top), up, "y", "right"),
        Dimension("head_slope", (foot, bend), (lip, 0), slope * 100, "fall %"),
        Dimension("clad_gap", (foot, clad - gap), (foot, clad), gap, "y", "left"),
        _gap_below(wall, plate, free),
        Dimension(wall.cavity_row, (foot, high - 20), (wall.skin, high - 20), wall.cavity, "x", "top"),
    )
    middle = (wall.leaf_back + wall.skin) / 2
    return Section(
        "floor-open", "Floor line with the cavity left open, upright section", "upright", (wall.face - 75, low, wall.room + 55, high),
        tuple(parts), dimensions, outdoors=((wall.face - 60, high - 5), (middle, high - 3), (middle, low + 3)), drop=(-2 * FILM, high - 20),
        water_ends=("membrane",),
    )  # fmt: skip


def floor_line_direct(numbers: Numbers) -> Section:
    """The gap at a floor in cladding that lies straight on the membrane, over a flashing whose leg goes up behind that.

    Raises
    ------
    NotDrawnError
        For a leaf, or a wall with a cavity.
    """
    wall = wall_of(numbers)
    if wall.masonry or wall.cavity:
        message = "its cladding does not lie on the membrane"
        raise NotDrawnError(message)
    slope, up = numbers.length("head_slope") / 100, numbers.length("head_up")
    gap, drip, free = numbers.length("clad_gap"), numbers.length("head_drip"), numbers.length("floor_gap")
    foot, lip = -SHEET, wall.face - SHEET
    bend = slope * (foot - lip)
    edge, top = bend + BEHIND, bend + BEHIND + up
    plate = _flashing(foot, lip, bend, top, drip)
    below = _tip(plate)[1] - free
    clad = slope * (wall.leaf_back - lip) + gap
    high, low = top + BEYOND, below - BEYOND
    film = sheet([(-FILM, high), (-FILM, top + 8), (foot - FILM, top + 3), (foot - FILM, edge)], FILM)
    parts = [
        *_floor(wall, low, high),
        membrane(wall, low, bend - SHEET * sqrt(1 + slope * slope), key="membrane below", rows=("mem_class",), carrier="rim board" if wall.board else "rim"),
        Layer("flashing", "metal", plate,
              "Flashing over the gap, its leg behind the membrane through a slit", ("floor_gap",), "rim board" if wall.board else "rim", water=True, order=9),
        Layer("membrane", "membrane", film, "Membrane, over the leg, the ends of the slit taped", ("head_up",), "flashing", water=True, order=9),
        cladding(wall, clad, high, carrier="membrane"),
        cladding(wall, low, below, key="cladding below", carrier="membrane below"),
    ]  # fmt: skip
    dimensions = (
        Dimension("head_up", (foot - FILM, edge), (foot, top), up, "y", "right"),
        Dimension("head_slope", (foot, bend), (lip, 0), slope * 100, "fall %"),
        Dimension("clad_gap", (wall.face, clad - gap), (wall.face, clad), gap, "y", "left"),
        _gap_below(wall, plate, free),
    )
    return Section(
        "floor-direct", "Floor line, cladding on the membrane, upright section", "upright", (wall.face - 75, low, wall.room + 55, high),
        tuple(parts), dimensions, outdoors=((wall.face - 60, high - 5),), drop=(lip + 3, slope * 3), water_ends=("membrane below", "membrane"),
    )  # fmt: skip


def floor_line_in_leaf(numbers: Numbers) -> Section:
    """The stop across the cavity of a veneer at a floor, under its tray in the leaf.

    Raises
    ------
    NotDrawnError
        For any other wall.
    """
    wall = wall_of(numbers)
    if not (wall.masonry and wall.film):
        message = "there is no cavity between a leaf and a membrane to stop"
        raise NotDrawnError(message)
    rise, up = numbers.length("head_tray_mas"), numbers.length("head_up")
    start, leg = BARRIER / 2 + 2 * FILM, -FILM
    out, fall = bed_on_lintel(numbers, wall)
    shelf = start + rise
    edge, top = shelf + BEHIND, shelf + BEHIND + up
    high, low = top + BEYOND, -BARRIER - BEYOND - 40
    bed = fall / wall.leaf
    under = start - FILM * sqrt(1 + bed * bed)
    film = sheet([(-FILM, high), (-FILM, top + 8), (leg - FILM, top), (leg - FILM, edge)], FILM)
    leaf = ((wall.face, low), (wall.leaf_back, low), (wall.leaf_back, under), (wall.face, under - fall))  # fmt: skip
    each = "floor" if numbers.length("cav_run_leaf") == 1 else "second floor"
    beside = ", stop-ends up beside doors" if numbers.has("door_sill") else ""
    parts = [
        *_floor(wall, low, high),
        Layer("leaf", "masonry", leaf, "Masonry leaf", (wall.cavity_row,)),
        Layer("tray", "damp course", sheet([(leg, top), (leg, shelf), (wall.leaf_back, start), (out, start - bed * (wall.leaf_back - out))], FILM),
              f"Cavity tray at every {each}, as over a window, on round corners{beside}", ("cav_run_leaf",), "leaf", water=True, order=5),
        Layer("barrier", "barrier", rectangle(wall.leaf_back, -BARRIER / 2, -FILM, BARRIER / 2),
              "Cavity barrier where the fire rules ask for one", ("cav_fire",), "membrane below", order=5),
        *weep_over_tray(numbers, wall, start, "Open upright joint: weep hole over the tray"),
        cladding(wall, start + WEEP, high, key="leaf above", carrier="weep brick"),
        Layer("membrane", "membrane", film, "Membrane, over the tray's leg through a level cut", ("head_up",), "tray", water=True, order=5),
        membrane(wall, low, shelf - BEHIND, key="membrane below", rows=("mem_class",)),
    ]  # fmt: skip
    dimensions = (
        Dimension("head_tray_mas", (wall.leaf_back, start), (leg, shelf), rise, "y", "right"),
        Dimension("head_up", (leg - FILM, edge), (leg, top), up, "y", "right"),
        Dimension(wall.cavity_row, (wall.leaf_back, high - 20), (wall.skin, high - 20), wall.cavity, "x", "top"),
    )  # fmt: skip
    middle = (wall.leaf_back + wall.skin) / 2
    return Section(
        "floor-leaf", "Floor line with the cavity of a leaf stopped, upright section", "upright", (wall.face - 75, low, wall.room + 55, high),
        tuple(parts), dimensions, outdoors=((wall.face - 60, high - 5), (middle, high - 3), (middle, low + 3)), drop=(leg - FILM, high - 20),
        water_ends=("tray", "membrane"),
    )  # fmt: skip


def _floor(wall: Wall, low: float, high: float) -> list[Layer]:
    """Framing from ``low`` to ``high`` with the edge of the floor between, and its linings."""
    parts = [
        *core(wall, JOIST / 2, high, key="core above"),
        Layer("rim", "timber", rectangle(wall.core_face, -JOIST / 2, wall.core_back, JOIST / 2), "Floor, edge", (), "core above"),
        *core(wall, low, -JOIST / 2),
        lining(wall, JOIST / 2, high, key="lining above", carrier="core above"),
        lining(wall, low, -JOIST / 2),
        Layer("floor", "timber", rectangle(wall.core_back, JOIST / 2 - 25, wall.room + 60, JOIST / 2), "Floor boards", (), "rim"),
    ]  # fmt: skip
    if wall.board:
        edge = rectangle(0, -JOIST / 2, wall.board, JOIST / 2)
        parts.append(Layer("rim board", "board", edge, "Boards on the studs", (), "rim"))
    return parts
