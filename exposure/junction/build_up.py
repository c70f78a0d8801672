"""The wall as layers from outside to inside, by its type: one set of planes for every junction.

x is 0 on the outer face of the boards, of the studs where there are none, or of what lines the cavity of a
masonry wall. Depths the schedule does not set are ordinary ones, so that the drawing shows a wall.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from exposure.detail.inside_layer import is_laid
from exposure.detail.ladder import BEHIND_FOOT, CLADDING
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, rectangle, sheet

STUD, BOARD, LINING, LEAF, BOARDS_OUT, INNER_LEAF, SLAB = 140.0, 12.0, 13.0, 100.0, CLADDING, 100.0, 50.0
BOARD_RISE = 150.0
LEAST_BOARD = 12.0  # mm, height of a board that is drawn over another
BEHIND = 6.0  # mm, from the bend of a flashing or tray to the lower edge of the membrane over it
MESH = 5.0  # mm, mesh behind a gap in the cladding
WITHOUT_MESH = 5.0  # mm, the widest gap that needs none, as the row mesh has it
CLOSE_UNDER = f"Cladding below, close under the metal: a gap to {WITHOUT_MESH:g} mm takes no mesh"
MESH_IN = 10.0  # mm, mesh in a weep hole behind the face of the leaf; no line sizes it
CLOSER = 10.0  # mm, height of what closes the foot of a cavity but for its slots
TUCKED = 30.0  # mm, sheet behind the cladding over it
JOG = 8.0  # mm, over the top of what is turned up, where a membrane comes down before it
IN_LEAF, TIE, TIE_PLATE, TIE_SCREW = (
    40.0,
    3.0,
    15.0,
    45.0,
)  # mm, tie in its bed, its thickness, its plate past that, its screw in the stud
STACK = 4 * FILM  # flange, tape, leg and membrane over one another behind cladding fixed direct


@dataclass(frozen=True)
class Wall:
    """Planes of one wall. [mm]"""

    type: str
    cavity: float  # clear; 0 where the cladding is fixed direct
    leaf: float  # thickness of cladding or outer leaf
    leaf_material: str
    film: bool  # has a membrane
    board: float  # 0 on open studs
    core: float
    core_material: str

    @property
    def skin(self) -> float:
        """Face that lines the cavity: the membrane's, or the insulation's."""
        return -FILM if self.film else 0.0

    @property
    def leaf_back(self) -> float:
        """Back of the cladding."""
        return self.skin - self.cavity if self.cavity else -STACK

    @property
    def face(self) -> float:
        """Outer face of the cladding."""
        return self.leaf_back - self.leaf

    @property
    def core_face(self) -> float:
        """Outer face of studs or inner leaf."""
        return self.board

    @property
    def core_back(self) -> float:
        """Inner face of studs or inner leaf."""
        return self.board + self.core

    @property
    def room(self) -> float:
        """Face of the lining."""
        return self.core_back + LINING

    @property
    def masonry(self) -> bool:
        """Whether the outside is a leaf of masonry."""
        return self.leaf_material == "masonry"

    @property
    def cavity_row(self) -> str:
        """Row that sets the clear cavity."""
        return {"timber frame with cladding": "cav_depth", "rendered board": "cav_render"}.get(
            self.type, "cav_mas"
        )


def wall_of(numbers: Numbers) -> Wall:
    """The wall that the numbers speak of."""
    kind = numbers.circumstances.wall_type
    board = BOARD if numbers.boards else 0.0
    if kind == "timber frame with cladding":
        return Wall(
            kind, numbers.length("cav_depth"), BOARDS_OUT, "cladding", True, board, STUD, "insulation"
        )
    if kind == "rendered board":
        return Wall(kind, numbers.length("cav_render"), BOARDS_OUT, "render", True, board, STUD, "insulation")
    if kind == "masonry veneer":
        return Wall(kind, numbers.length("cav_mas"), LEAF, "masonry", True, board, STUD, "insulation")
    return Wall(kind, numbers.length("cav_mas"), LEAF, "masonry", False, SLAB, INNER_LEAF, "masonry")


def cladding(wall: Wall, bottom: float, top: float, *, key: str = "cladding", carrier: str = "") -> Layer:
    """The cladding or outer leaf from ``bottom`` to ``top``."""
    name = {"cladding": "Cladding", "render": "Render on board", "masonry": "Masonry leaf"}[
        wall.leaf_material
    ]
    rows = (wall.cavity_row,) if wall.cavity else ()
    outline: tuple[Point, ...] = rectangle(wall.face, bottom, wall.leaf_back, top)
    if wall.leaf_material == "cladding":
        steps: list[Point] = []
        low = bottom
        while low < top - 1e-9:
            high = low + BOARD_RISE
            if high > top - LEAST_BOARD:  # less of a next board would look like a lip on this one
                high = top
            lean = min(1.0, (high - low) / BOARD_RISE) * (wall.leaf - 8)
            steps += [(wall.face, low), (wall.face + lean, high)]
            low = high
        outline = ((wall.leaf_back, bottom), *steps, (wall.leaf_back, top))
    return Layer(key, wall.leaf_material, outline, name, rows, carrier, order=8)


def face_over(wall: Wall, foot: float, high: float) -> float:
    """Outer face, at a height, of cladding whose foot lies at ``foot``: boards lean back from theirs.

    Examples
    --------
    >>> from exposure.junction.scene import FILM
    >>> boards = Wall("timber frame with cladding", 25.0, 18.0, "cladding", True, 12.0, 140.0, "insulation")
    >>> [face_over(boards, 100, high) - boards.face for high in (100, 175, 250, 325)]
    [0.0, 5.0, 0.0, 5.0]
    """
    lean = wall.leaf - 8 if wall.leaf_material == "cladding" else 0.0
    return wall.face + (high - foot) % BOARD_RISE / BOARD_RISE * lean


def weep_hole(
    wall: Wall, low: float, high: float, name: str, *rows: str, carrier: str = "tray", key: str = "weep brick"
) -> list[Layer]:
    """An open upright joint of a leaf from ``low`` to ``high``, and the mesh in it, which is as every wide opening's."""
    front = wall.face + MESH_IN
    mesh = rectangle(front, low, front + MESH, high)
    return [
        Layer(key, "open joint", rectangle(wall.face, low, wall.leaf_back, high), f"{name}, mesh in it", (*rows, "mesh"), carrier, cut=False, order=8),
        Layer(f"{key} mesh", "mesh", mesh, "", (), key, cut=False, order=8),
    ]  # fmt: skip


def battens(
    wall: Wall, bottom: float, top: float, *, key: str = "battens", carrier: str = "membrane"
) -> Layer:
    """Battens, or wall ties, seen beyond the cut."""
    if wall.masonry:
        built_in, low = wall.leaf_back - IN_LEAF, (bottom + top) / 2
        if not wall.film:
            tie = rectangle(built_in, low, wall.core_face + 50, low + TIE)
            return Layer(key, "tie", tie, "Wall tie", (), carrier, cut=False, order=8)
        name = "Wall tie, its plate on a patch of tape, its screw in a stud beyond the cut"
        return Layer(key, "tie", _tie_on_film(wall, built_in, low), name, (), carrier, cut=False, order=8)
    left, right = wall.leaf_back, wall.skin
    return Layer(
        key, "batten", rectangle(left, bottom, right, top), "Batten, seen beyond", ("batten_sp",), carrier,
        cut=False, order=8,
    )  # fmt: skip


def _tie_on_film(wall: Wall, built_in: float, low: float) -> tuple[Point, ...]:
    """A tie whose lower face lies at ``low``, from the bed of the leaf to its plate on the membrane, and the screw behind that."""
    front, skin, end, high = wall.skin - TIE, wall.skin, wall.core_face + TIE_SCREW, low + TIE
    foot, head = low - TIE_PLATE, high + TIE_PLATE
    return (
        (built_in, low), (front, low), (front, foot), (skin, foot), (skin, low), (end, low),
        (end, high), (skin, high), (skin, head), (front, head), (front, high), (built_in, high),
    )  # fmt: skip


def over_roof(
    numbers: Numbers, wall: Wall, roof: float, high: float, *, lined: float
) -> tuple[list[Layer], list[Dimension]]:
    """Cladding over a roof or deck whose face lies at ``roof``, its cavity closed at the foot, and what snow may lie against below it, with their sizes.

    Parameters
    ----------
    lined
        Face of the membrane over what is turned up, which lines the cavity at its foot.
    """
    gap, snow = numbers.length("roof_gap", 35.0), numbers.length("snow_roof", 0.0)
    edge, foot = wall.leaf_back, roof + max(gap, snow)
    held = "battens" if wall.cavity else "membrane"
    parts = [cladding(wall, foot, high, carrier=held)]
    if wall.cavity:
        parts.append(battens(wall, roof + gap + CLOSER, high))
    sizes = []
    if numbers.has("roof_gap"):
        sizes.append(Dimension("roof_gap", (edge, roof), (edge, roof + gap), gap, "y", "left"))
    if snow > gap:
        out, top = (
            (0.0 if wall.cavity else SHEET),
            foot - JOG,
        )  # clear of what lies behind it where there is no cavity
        bent = [(edge - out, roof + gap), (edge - out, top), (edge, top + 5), (edge, foot + TUCKED)]
        cover = sheet(bent, -SHEET)
        parts.append(
            Layer("snow sheet", "metal", cover, "Sheet that snow may lie against", ("snow_roof",), held, order=5)
        )  # fmt: skip
        sizes += [
            Dimension("snow_roof", (edge, roof), (edge, foot), snow, "y", "left"),
            Dimension("snow_roof", (0, roof), (0, foot), snow, "y", "right", name="membrane"),
        ]
    if wall.cavity and numbers.has("slot"):
        outer = edge + SHEET if snow > gap else edge
        mouth = rectangle(outer, roof + gap, lined, roof + gap + CLOSER)
        parts.append(
            Layer("closer", "mesh", mouth, "Closer with slots, as at the base", ("slot", "cav_vent"), "battens", cut=False, order=8)
        )  # fmt: skip
    return parts, sizes


def snow_over(numbers: Numbers, roof: float, top: float) -> float | None:
    """How high the roof's membrane goes up the wall where snow lies on a roof at ``roof``; None where ``top`` is as high."""
    gap, snow = numbers.length("roof_gap", 35.0), numbers.length("snow_roof", 0.0)
    high = roof + snow
    return max(high, top + JOG + TUCKED) if snow > gap and high > top else None


class Upstand(NamedTuple):
    """What is turned up the wall. [mm]"""

    row: str
    key: str  # of its layer
    face: float  # its outer face
    edge: float  # where the wall membrane ends over it
    top: float


def over_upstand(
    name: str,
    turned: Upstand,
    *,
    high: float,
    sheets: Sequence[float] = (),
) -> list[Layer]:
    """Wall membrane that comes down over what is turned up the wall.

    Parameters
    ----------
    high
        Where the section ends.
    sheets
        How high sheets go that the junction has drawn behind what is turned up, from the wall outward, each higher than the next.
    """  # fmt: skip
    row, carrier, face, edge, top = turned
    out, at = face - FILM, -FILM
    way: list[Point] = [(at, high)]
    for end in sheets:
        way += [(at, end + JOG), (at - FILM, end + JOG - 5)]
        at -= FILM
    way += [(at, top + JOG), (out, top + JOG - 5), (out, edge)]
    return [Layer("membrane", "membrane", sheet(way, FILM), name, (row,), carrier, water=True, order=5)]


def higher_for_snow(numbers: Numbers) -> float:
    """How much higher a section over a roof becomes where snow lies. [mm]"""
    return max(numbers.length("snow_roof", 0.0) - numbers.length("roof_gap", 35.0), 0.0)


def core(wall: Wall, bottom: float, top: float, *, key: str = "core") -> tuple[Layer, ...]:
    """Studs with insulation or inner leaf, what stands before it, and the lining."""
    parts = [
        Layer(
            key,
            wall.core_material,
            rectangle(wall.core_face, bottom, wall.core_back, top),
            "Studs and insulation" if wall.core_material == "insulation" else "Inner leaf",
            order=0 if wall.film else 1,
        )
    ]
    if wall.board:
        slab = wall.type == "cavity masonry"
        parts.append(
            Layer(
                f"{key} boards" if slab else f"{key} board",
                "slab" if slab else "board",
                rectangle(0, bottom, wall.board, top),
                "Insulation in the cavity" if slab else "Boards on the studs",
                (),
                key,
                order=2,
            )
        )
    return tuple(parts)


def lining(wall: Wall, bottom: float, top: float, *, key: str = "lining", carrier: str = "core") -> Layer:
    """The inner lining, which keeps air in."""
    return Layer(
        key,
        "lining",
        rectangle(wall.core_back, bottom, wall.room, top),
        "Inner lining, airtight",
        (),
        carrier,
        air=True,
    )


def with_vapour_layer(layer: Layer, numbers: Numbers) -> Layer:
    """The inner lining, told with a number; with the vapour control layer behind it where the schedule orders one."""
    if not numbers.has("inside_layer") or layer.key != "lining":
        return layer
    over = ", over the vapour control layer" if is_laid(str(numbers.values["inside_layer"])) else ""
    return replace(layer, name=f"{layer.name}{over}", order=9)


def carried_in(wall: Wall, frame: float, low: float, high: float) -> Layer:
    """The lining of a cavity wall in its reveal, from ``low`` to ``high``, as far as the inner seal of a frame whose inner face is ``frame``."""
    return Layer(
        "lining in reveal", "lining", rectangle(frame, low, wall.room, high),
        "Inner lining, carried into the reveal up to the inner seal", (), "lining", air=True, order=9,
    )  # fmt: skip


def membrane(
    wall: Wall,
    bottom: float,
    top: float,
    *,
    key: str = "membrane",
    carrier: str = "",
    rows: tuple[str, ...] = (),
    name: str = "Membrane",
) -> Layer:
    """The membrane on its boards or studs."""
    return Layer(
        key, "membrane", rectangle(-FILM, bottom, 0, top), name, rows, carrier or ("core board" if wall.board else "core"), water=True, order=2
    )  # fmt: skip


def hung_to(numbers: Numbers, turned: Upstand, strip: float | None) -> float:
    """How high the wall membrane goes that hung there before: behind all that is turned up, a ``strip`` or a roof's membrane among it, and by the lap over the upper sheet's edge."""
    return max((strip or turned.top) + JOG + TUCKED, turned.edge + numbers.length("lap_h", 150.0))


def high_over(numbers: Numbers, top: float, lapped: float) -> float:
    """Where a section over an upstand up to ``top`` ends: above the snow, and above the sheet behind."""
    return max(top + 130 + higher_for_snow(numbers), lapped + JOG + TUCKED)


def hung_and_over(
    wall: Wall,
    what: str,
    turned: Upstand,
    lapped: float,
    *,
    low: float,
    high: float,
    strip: float | None,
) -> list[Layer]:
    """The wall's membrane: a sheet that hung there before ``what`` stood, and the one that comes down over both."""
    return [
        membrane(wall, low, lapped, key="membrane below", rows=("mem_class",), name=f"Wall membrane, hung before, on down behind the {what}"),
        *over_upstand(f"Wall membrane, over the {turned.key}", turned, high=high, sheets=(lapped, strip) if strip else (lapped,)),
    ]  # fmt: skip


def behind_cladding(numbers: Numbers, face: float) -> float:
    """Where a sheet ends that comes down over an upstand at a roof or deck whose face lies at ``face``: behind the cladding's foot."""
    return face + numbers.length("roof_gap", 35.0) + BEHIND_FOOT
