"""Top of the wall, upright sections: under eaves, and at a gable, where the roof runs level in the cut."""

from dataclasses import replace

from exposure.junction.build_up import Wall, battens, cladding, core, lining, wall_of
from exposure.junction.leaf import BARRIER, WEEP, gap_over_leaf, leaf_with_barrier, vented_leaf
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Dimension, Layer, Point, Section, rectangle, sheet

PLATE = 90.0  # mm, two plates on one another
WALL_PLATE = 75.0  # mm, one plate on an inner leaf
UNDER = 230.0  # mm of wall shown under the plate
OVERHANG = 260.0
RAFTER, COVER = 120.0, 30.0
PITCH, SEAT = 0.36, 60.0  # of the rafters; mm of the plate that they are notched to lie on; no line sizes it
SOFFIT = 10.0
BEARER, ON_FRAME, OFF_WALL = (
    45.0,
    30.0,
    10.0,
)  # mm, least height of what the soffit is fixed to, on the roof frame of a gable, and off membrane or leaf
DROP = 45.0  # mm, soffit under the top of a plate on framing; before a leaf it lies level with the foot of the plate
GAP = 12.0  # mm over a leaf or a baffled cladding
BOARD = 20.0
SHUT = 40.0  # mm, what closes the top of a cavity under a soffit
OVER_PLATE = 60.0  # mm, membrane over the plate
DRY_ABOVE = "Roof and soffit keep the barrier at the top dry: it needs no tray."
EITHER = "Drawn under eaves and at a gable: build the one that the roof has here."
TOPS = ("closed", "closed or baffled", "baffled to the outside")
NAMES = (
    "Top of the cavity closed",
    "Top of the cavity closed, or baffled to the outside",
    "Baffle with slots, {deep:.0f} mm deep, as open per metre as the base, in a gap of {gap:g} mm (our choice): air leaves under the soffit",
)


def wall_under_eaves(numbers: Numbers) -> Section:
    """The top of a wall on which rafters stand."""
    return _top(numbers, "wall-top-eaves", "Top of wall under eaves, upright section", PITCH)


def wall_at_gable(numbers: Numbers) -> Section:
    """The top of a gable wall under the edge of the roof."""
    return _top(numbers, "wall-top-gable", "Top of wall at a gable, upright section", 0.0)


def _top(numbers: Numbers, key: str, title: str, pitch: float) -> Section:
    wall = wall_of(numbers)
    plate = PLATE if wall.film else WALL_PLATE
    tip, right = wall.face - OVERHANG, wall.room + 60
    top = plate + (FILM if wall.film else 0.0)
    heel, seat = (-FILM if wall.film else wall.core_face), wall.core_face + SEAT * bool(pitch)

    def rafter(x: float) -> float:
        return top + pitch * (x - seat)

    low, high = -UNDER, rafter(right) + RAFTER + COVER + 20
    under = min(rafter(tip) - SOFFIT, top - DROP if wall.film else 0.0)
    high = max(high, under + 60)
    beam = (
        (tip, max(rafter(tip), under + SOFFIT)),
        *(((heel, rafter(heel)), (heel, top)) if pitch else ()),
        (seat, top),
        (right, rafter(right)),
        (right, rafter(right) + RAFTER),
        (tip, rafter(tip) + RAFTER),
    )
    deck = tuple(
        (x, rafter(x) + RAFTER + up)
        for x, up in ((tip - BOARD - 15, 0), (right, 0), (right, COVER), (tip - BOARD - 15, COVER))
    )
    soffit_end, soffit = (
        (-FILM, "Soffit on bearers, up to the membrane")
        if wall.film
        else (wall.face, "Soffit on bearers, up to the outer leaf")
    )
    bearer = under + SOFFIT + BEARER if pitch else max(under + SOFFIT + BEARER, top + ON_FRAME)
    parts = [
        replace(lining(wall, low, 0), order=9),
        Layer("ceiling", "lining", rectangle(wall.core_back, 0, right, 13), "Ceiling, joined to the airtight lining", (), "lining", air=True, order=9),
        *([*plated(wall, low, 0, PLATE), *_membrane(wall, low)] if wall.film else _leaves(numbers, wall, low, min(rafter(wall.face), top) - GAP, under)),
        Layer("rafter", "batten", beam, "Rafter" if pitch else "Roof frame at the gable", (), "plate", cut=False, order=1),
        Layer("roof", "roof", deck, "Roof covering", (), "rafter", order=2),
        Layer("board", "timber", rectangle(tip - BOARD, under - 15, tip, rafter(tip - BOARD) + RAFTER), "Fascia" if pitch else "Barge board", (), "rafter", order=3),
        Layer("soffit bearer", "batten", rectangle(tip, under + SOFFIT, soffit_end - OFF_WALL, bearer), "", (), "rafter", cut=False, order=3),
        Layer("soffit", "lining", rectangle(tip, under, soffit_end, under + SOFFIT), soffit, (), "board", order=8),
        *(_outside(numbers, wall, low, under) if wall.film else ()),
    ]  # fmt: skip
    dimensions = []
    air: list[Point] = [(tip - 20, low + 10)]
    if wall.cavity:
        dimensions.append(
            Dimension(wall.cavity_row, (wall.leaf_back, low), (wall.skin, low), wall.cavity, "x", "bottom")
        )
        air.append(((wall.leaf_back + wall.skin) / 2, low + 3))
        if wall.film and not wall.masonry and _is_baffled(numbers):
            edge = wall.face
            dimensions.append(
                Dimension("cav_top", (edge, under - GAP), (edge, under), GAP, "y", "left", name="gap")
            )
    return Section(
        key, title, "upright", (tip - 60, low, right, high), tuple(parts), tuple(dimensions), outdoors=tuple(air),
        indoors=((right - 20, low + 10), *(() if wall.film else ((right - 20, top - 20),))),
        water_ends=("membrane", "plate tape") if wall.film else (), air_ends=("lining", "ceiling"),
        notes=(*(() if wall.film else (DRY_ABOVE,)), "Overhang, pitch and seat are for the drawing only."), warnings=(EITHER,) if len(numbers.tops) > 1 else (),
    )  # fmt: skip


def plated(wall: Wall, low: float, foot: float, top: float, *, key: str = "plate") -> list[Layer]:
    """The framing and its top plate from ``foot`` to ``top``, and the boards before both."""
    plate = rectangle(wall.core_face, foot, wall.core_back, top)
    parts = [*core(wall, low, foot), Layer(key, "timber", plate, "Top plate", ("mem_top",), "core", order=2)]
    if wall.board:
        board = rectangle(0, foot, wall.board, top)
        parts.append(Layer("top board", "board", board, "Boards on the studs", (), key))
    return parts


def tape_on_plate(end: float, face: float) -> tuple[Point, ...]:
    """Tape over the ``end`` of a membrane that lies on the ``face`` of a plate."""
    top = face + FILM
    return (
        (end - 25, top), (end, top), (end, face), (end + 30, face), (end + 30, top), (end, top + FILM), (end - 25, top + FILM),
    )  # fmt: skip


def _leaves(numbers: Numbers, wall: Wall, low: float, top: float, soffit: float) -> list[Layer]:
    """Both leaves of a cavity wall, the outer one up to ``top``, and what closes the cavity between them over its insulation.

    Parameters
    ----------
    soffit
        Its lower face, under which open joints of the outer leaf lie.
    """
    inner, slab = core(wall, low, 0)
    foot = top - BARRIER
    slab = replace(slab, outline=rectangle(0, low, wall.board, foot))
    vented = numbers.has("weep_top")
    leaf = (
        vented_leaf(wall, low, top, soffit, "Open upright joint in the first course below the soffit: vents the cavity")
        if vented
        else [cladding(wall, low, top)]
    )  # fmt: skip
    rows = ("cav_fire", *(("weep_top",) if vented else ()))
    name = "Cavity barrier from leaf to leaf, over the insulation" + (
        ", whole, above the open joints" if vented else ""
    )
    return [
        inner,
        slab,
        *leaf,
        battens(wall, low, min(soffit, foot) - 60, carrier="core"),
        Layer("cavity top", "barrier", rectangle(wall.leaf_back, foot, wall.core_face, top), name, rows, leaf[-1].key, order=8),
        Layer("plate", "timber", rectangle(wall.core_face, 0, wall.core_back, WALL_PLATE), "Wall plate, bedded on the inner leaf", (), "core", order=2),
    ]  # fmt: skip


def _membrane(wall: Wall, low: float) -> list[Layer]:
    """The membrane over the plate, and the tape that closes its edge."""
    end = wall.core_face + OVER_PLATE
    way = [(0.0, low), (0.0, PLATE), (end, PLATE)]
    return [
        Layer("membrane", "membrane", sheet(way, FILM), "Membrane, over the plate", ("mem_top", "mem_class"), "core board" if wall.board else "core",
              water=True, order=2),
        Layer("plate tape", "tape", tape_on_plate(end, PLATE), "Tape on the plate", ("mem_top",), "plate", water=True, order=2),
    ]  # fmt: skip


def _outside(numbers: Numbers, wall: Wall, low: float, under: float) -> list[Layer]:
    """Cladding or leaf up to the soffit, and how its cavity ends."""
    if wall.masonry:
        end = under - GAP
        leaf = (
            leaf_with_barrier(wall, low, end, end - BARRIER, "Open upright joint in the first course below the cavity barrier: vents the cavity")
            if numbers.has("weep_top")
            else [cladding(wall, low, end)]
        )  # fmt: skip
        return [
            *leaf,
            gap_over_leaf(wall, leaf, end, under),
            battens(wall, low, end - (BARRIER + WEEP if len(leaf) > 1 else 0), carrier="membrane"),
        ]
    open_top = wall.cavity and _is_baffled(numbers)
    top = under - (GAP if open_top else 0)
    parts = [cladding(wall, low, top, carrier="battens" if wall.cavity else "membrane")]
    if wall.cavity:
        parts.append(battens(wall, low, top if open_top else under - SHUT))
        name = NAMES[_form(numbers)]
        shut = rectangle(wall.leaf_back, under - SHUT, wall.skin, under)
        if open_top:
            left, right = wall.leaf_back - 2, (wall.leaf_back + wall.skin) / 2
            shut = rectangle(left, under - GAP, right, under - 1)
            name = name.format(deep=right - left, gap=GAP)
        parts.append(
            Layer(
                "cavity top",
                "mesh" if open_top else "timber",
                shut,
                name,
                ("cav_top",),
                "soffit",
                cut=not open_top,
                order=8,
            )
        )
    return parts


def _form(numbers: Numbers) -> int:
    """How the top of the cavity ends, as a place in TOPS."""
    return TOPS.index(str(numbers.values.get("cav_top", TOPS[0])))


def _is_baffled(numbers: Numbers) -> bool:
    return TOPS[_form(numbers)] == TOPS[-1]
