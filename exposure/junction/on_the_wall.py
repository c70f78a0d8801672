"""What is set on the wall, upright sections: a meter box under its flashing, and a block that carries a light or bracket."""

from dataclasses import replace
from math import sqrt

from exposure.junction.build_up import (
    BEHIND,
    WITHOUT_MESH,
    Wall,
    battens,
    cladding,
    core,
    lining,
    membrane,
    wall_of,
)
from exposure.junction.leaf import bed_on_lintel, weep_over_tray
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Held, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import NotDrawnError

BOX = 200.0  # mm, height of the box, of no size in the schedule
BOX_OUT = 25.0  # mm, box before the face of the wall
OVER, UNDER = 80.0, 110.0  # mm of wall shown above and below
CLEAR = 10.0  # mm, lintel of a leaf over the box, and battens behind the edge of the cladding
LEAF_LINTEL, WEEP = 65.0, 65.0
BLOCK = 110.0
BLOCK_FALL = 0.12
BLOCK_OUT = 12.0  # mm, block before the face of the cladding, so that it drips clear
LAMP = (30.0, 62.0, 80.0, 70.0)  # mm, its foot and the tops of nose and back over the block's foot; its depth
LET_IN = 1.0  # mm, its back in the front of the block, so that water runs over it
LEG = -SHEET  # outer face of the flashing's leg, through a slit behind the membrane


def _film_wall(numbers: Numbers) -> Wall:
    wall = wall_of(numbers)
    if not wall.film:
        message = "a cavity wall of masonry has no membrane"
        raise NotDrawnError(message)
    return wall


def meter_box(numbers: Numbers) -> Section:
    """A box on the membrane, through cladding or leaf, and the flashing over it."""
    wall = _film_wall(numbers)
    out = wall.face - BOX_OUT
    box = Layer(
        "box",
        "box",
        rectangle(out, -BOX, -FILM, 0),
        "Meter box or other box, set on the membrane",
        ("box_flash",),
        "membrane",
        order=4,
    )
    flashing, sizes, over, edge, slit = (_tray if wall.masonry else _flashing)(numbers, wall, out)
    up = numbers.length("head_up")
    top = edge + up
    roof, low = top + OVER, -BOX - UNDER
    jog = top + 8
    flap = sheet([(-FILM, roof), (-FILM, jog), (LEG - FILM, jog - 5), (LEG - FILM, edge)], FILM)
    parts = [
        *core(wall, low, roof),
        lining(wall, low, roof),
        membrane(wall, low, slit, rows=("mem_class",)),
        Layer("upper sheet", "membrane", flap, "Membrane, over the leg through a slit with taped ends", ("box_flash",), "flashing", water=True, order=4),
        box,
        *flashing,
        cladding(wall, low, -BOX - (0 if wall.masonry else WITHOUT_MESH), key="cladding below", carrier="" if wall.masonry else "battens below"
                 if wall.cavity else "membrane"),
        cladding(wall, over, roof, carrier="weep brick" if wall.masonry else "battens" if wall.cavity else "upper sheet"),
    ]  # fmt: skip
    parts = [
        one
        for part in parts
        for one in (_round_timber(wall, part, -BOX, 0, "box") if part.key == "core" else [part])
    ]
    if wall.cavity:
        parts.append(battens(wall, low, -BOX - 2 * CLEAR, key="battens below"))
        if not wall.masonry:
            parts.append(battens(wall, over + CLEAR, roof, carrier="upper sheet"))
    sizes = [*sizes, Dimension("head_up", (LEG - FILM, edge), (LEG, top), up, "y", "right")]
    air: list[Point] = [(out - 40, roof - 5)]
    if wall.cavity:
        row = wall.cavity_row
        sizes.append(Dimension(row, (wall.leaf_back, low), (wall.skin, low), wall.cavity, "x", "bottom"))
        air += [((wall.leaf_back + LEG - FILM) / 2, roof - 3), ((wall.leaf_back + wall.skin) / 2, low + 3)]
    return Section(
        "meter-box", "Meter box in the wall, upright section", "upright", (out - 60, low, wall.room + 45, roof), tuple(parts), tuple(sizes),
        outdoors=tuple(air), indoors=((wall.room + 30, low + 5),), held=(Held("flashing", "head_up", (LEG, edge), (LEG, top), numbers.head),),
        drop=(LEG - FILM, roof - 20) if wall.cavity else None, water_ends=("membrane", "upper sheet"),
        notes=("The box is 200 mm high for the drawing only.",),
    )  # fmt: skip


def _flashing(
    numbers: Numbers, wall: Wall, out: float
) -> tuple[list[Layer], list[Dimension], float, float, float]:
    """Flashing over a box in cladding: its parts and sizes, where the cladding over it begins, the edge of the sheet above, and the slit in that below its bend."""
    slope, lap = numbers.length("head_slope") / 100, numbers.length("head_lap")
    drip, gap = numbers.length("head_drip"), numbers.length("clad_gap")
    lip = out - SHEET
    under = SHEET * sqrt(1 + slope * slope)
    low = under + 1
    bend = low + slope * (LEG - lip)
    over = low + slope * (wall.leaf_back - lip) + gap
    way = [
        (LEG, bend + BEHIND + numbers.length("head_up")),
        (LEG, bend),
        (lip, low),
        (lip, -lap),
        (lip - drip, -lap - drip),
    ]
    part = Layer(
        "flashing",
        "metal",
        sheet(way, SHEET),
        "Flashing over the box, as over a window",
        ("box_flash",),
        "core board" if wall.board else "core",
        water=True,
        order=4,
    )
    sizes = [
        Dimension("head_slope", (LEG, bend), (lip, low), slope * 100, "fall %"),
        Dimension("head_lap", (out, 0), (lip, -lap), lap, "y", "left"),
        Dimension("clad_gap", (wall.leaf_back, over - gap), (wall.leaf_back, over), gap, "y", "left"),
    ]
    return [part], sizes, over, bend + BEHIND, bend - under


def _tray(numbers: Numbers, wall: Wall, _: float) -> tuple[list[Layer], list[Dimension], float, float, float]:
    """Tray over a box in a masonry leaf, on a lintel."""
    rise = numbers.length("head_tray_mas")
    out, fall = bed_on_lintel(numbers, wall)
    bed = fall / wall.leaf
    under = FILM * sqrt(1 + bed * bed)
    start = CLEAR + LEAF_LINTEL + fall + under
    shelf = start + rise
    steep = rise / (LEG - wall.leaf_back)
    way = [
        (LEG, shelf + BEHIND + numbers.length("head_up")),
        (LEG, shelf),
        (wall.leaf_back, start),
        (out, start - bed * (wall.leaf_back - out)),
    ]
    lintel = (
        (wall.face, CLEAR), (wall.leaf_back, CLEAR), (wall.leaf_back, start - under),
        (wall.face, start - under - fall),
    )  # fmt: skip
    parts = [
        Layer("leaf lintel", "concrete", lintel, "Lintel of the outer leaf", ()),
        Layer("flashing", "damp course", sheet(way, FILM), "Cavity tray over the box, stop-ends up", ("box_flash", "head_tray_mas"), "leaf lintel",
              water=True, order=4),
        *weep_over_tray(numbers, wall, start, "Open upright joint: weep hole", carrier="flashing"),
    ]  # fmt: skip
    return (
        parts,
        [Dimension("head_tray_mas", (wall.leaf_back, start), (LEG, shelf), rise, "y", "right")],
        start + WEEP,
        shelf + BEHIND,
        shelf - FILM * sqrt(1 + steep * steep),
    )


def block(numbers: Numbers) -> Section:
    """A solid block on the membrane that carries a light, a tap or a bracket.

    Raises
    ------
    NotDrawnError
        For a wall without membrane, or with a masonry leaf, which carries such things itself.
    """
    wall = _film_wall(numbers)
    if wall.masonry:
        message = "lights, taps and brackets are fixed to the masonry leaf itself"
        raise NotDrawnError(message)
    bond = numbers.length("tape_bond")
    front = wall.face - BLOCK_OUT

    def crown(x: float) -> float:
        return BLOCK - BLOCK_FALL * (-FILM - x)

    thick = FILM * sqrt(1 + BLOCK_FALL * BLOCK_FALL)
    over = crown(wall.leaf_back) + thick + WITHOUT_MESH
    roof, low = BLOCK + bond + OVER, -UNDER
    end = max(wall.face, -FILM - bond)  # of the tape on the block
    told = " as far as the face of the cladding" if end == wall.face else ""
    way = [(-FILM, BLOCK + bond), (-FILM, BLOCK), (end, crown(end))]
    foot, nose, top, out = LAMP
    back, seat = front + LET_IN, top + (top - nose) / out * LET_IN
    held = ((front, crown(front)), (front, seat), (back, seat), (back, foot), (front, foot))
    lamp = ((front - out, foot), (back, foot), (back, seat), (front - out, nose))
    parts = [
        *core(wall, low, roof),
        lining(wall, low, roof),
        membrane(wall, low, roof, rows=("mem_class",)),
        Layer("block", "packer", ((front, 0), (-FILM, 0), (-FILM, BLOCK), *held), "Solid block, its top falling outward, fixed through to the frame",
              ("block_fix",), "membrane", order=4),
        Layer("block tape", "tape", sheet(way, -FILM), f"Tape at top and sides of the block{told}, and onto the membrane; its bottom open",
              ("block_fix", "tape_bond"), "block", water=True, order=4),
        Layer("lamp", "box", lamp, "Light, tap or bracket, on the block alone, its joint as its maker says", ("block_fix",), "block", order=8),
        cladding(wall, over, roof, carrier="battens" if wall.cavity else "membrane"),
        cladding(wall, low, -WITHOUT_MESH, key="cladding below", carrier="battens below" if wall.cavity else "membrane"),
    ]  # fmt: skip
    parts = [
        one
        for part in parts
        for one in (_round_timber(wall, part, 0, BLOCK, "block") if part.key == "core" else [part])
    ]
    sizes = [Dimension("tape_bond", (-2 * FILM, BLOCK), (-2 * FILM, BLOCK + bond), bond, "y", "right")]
    air: list[Point] = [(front - 80, roof - 5)]
    if wall.cavity:
        parts += [battens(wall, over + CLEAR, roof), battens(wall, low, -CLEAR, key="battens below")]
        row = wall.cavity_row
        sizes.append(Dimension(row, (wall.leaf_back, low), (wall.skin, low), wall.cavity, "x", "bottom"))
        air += [((wall.leaf_back - 2 * FILM) / 2, roof - 3), ((wall.leaf_back + wall.skin) / 2, low + 3)]
    return Section(
        "block", "Light or bracket on its block, upright section", "upright", (front - 90, low, wall.room + 45, roof), tuple(parts), tuple(sizes),
        outdoors=tuple(air), indoors=((wall.room + 30, low + 5),), drop=(-FILM, roof - 20) if wall.cavity else None, water_ends=("membrane",),
        notes=("The block is 110 mm high for the drawing only.",),
    )  # fmt: skip


def _round_timber(wall: Wall, core: Layer, low: float, high: float, on: str) -> list[Layer]:
    """The insulation above and below the timber that the screws of what is set ``on`` the membrane go into, and that."""
    (left, foot), *_, (right, top) = sorted(core.outline)
    name = f"Blocking or a stud behind the {on}, for its screws"
    return [
        replace(core, outline=rectangle(left, high, right, top)),
        replace(core, key="core below", name="", outline=rectangle(left, foot, right, low)),
        Layer("timber", "timber", rectangle(wall.core_face, low, wall.core_back, high), name, ("fix_holes",), "core", order=2),
    ]  # fmt: skip
