"""A masonry leaf over a lower roof, deck or parapet: what is turned up it is let into a joint, and a cavity tray lies on that."""

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from exposure.junction.build_up import (
    BEHIND,
    MESH,
    MESH_IN,
    WITHOUT_MESH,
    Wall,
    cladding,
    core,
    lining,
    membrane,
    weep_hole,
)
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, rectangle, sheet
from exposure.junction.step_bracket import under_metal
from exposure.junction.window import PACKER, Frame

CHASE = 25.0  # mm, into the joint of the leaf
BED_FALL = 3.0  # mm across the leaf under a tray
BUILT_IN = 40.0  # mm, tray into the inner leaf
WEEP = 65.0
BARRIER = 45.0  # mm, height of a cavity barrier
OVER = 70.0  # mm of wall shown over the tray
TRAY_IN_LEAF = "Cavity tray in the leaf, its front lapped down over the {}, stop-ends up"
IN_GAP = "mesh or a soft strip in it"
LAP = 30.0  # mm, front of the tray down over what is let in below it; no row sizes it
AS_OVER_OPENING = (
    "The tray rises as one over an opening does; no line sizes how far its front laps down over the flashing."
)


def gap_to_frame(numbers: Numbers, wall: Wall, frame: Frame, outside: Sequence[Layer]) -> list[Layer]:
    """What closes the gap between the sill on a leaf, among ``outside``, and a frame over the cavity, which sinks on to it."""
    course = next((one for one in outside if one.key == "sill damp course"), None)
    if not wall.film or course is None or not numbers.has("mesh"):
        return []
    low, back = max(y for _, y in course.outline), wall.leaf_back
    if abs(PACKER - low) <= WITHOUT_MESH or frame.outer > back + MESH:
        return []
    strip, name = rectangle(back, low, back + MESH, PACKER), f"Gap between sill and frame, {IN_GAP}"
    if low > PACKER:  # before the frame, clear of it, open to the sky but for what fills it
        strip = rectangle(max(x for x, _ in course.outline), PACKER, frame.outer, low)
        name = "Gap between sill and frame, a soft strip in it, no mortar"
    return [
        Layer("sill mesh", "mesh", strip, name, ("leaf_gap", "mesh"), course.key, cut=low > PACKER, order=9)
    ]


def gap_over_leaf(wall: Wall, leaf: Sequence[Layer], low: float, high: float) -> Layer:
    """What closes the gap from the top of a ``leaf`` at ``low`` to what sinks on to it with the frame."""
    front = wall.face + MESH_IN
    carrier = "leaf above" if len(leaf) > 1 else "cladding"
    name = f"Gap over the leaf, as the engineer says, {IN_GAP}"
    strip = rectangle(front, low, front + MESH, high)
    return Layer("leaf gap", "mesh", strip, name, ("leaf_gap", "mesh"), carrier, cut=False, order=8)


def gap_to_cover(numbers: Numbers, cover: Layer, sill: Layer) -> list[Layer]:
    """What closes the gap between the back of the ``sill`` on a leaf and the metal cover over its cavity, which sinks with the frame."""
    if not numbers.has("mesh"):
        return []
    (back, high), (out, front) = sill.outline[-2:]
    face = back - MESH
    low = high - MESH * (high - front) / (back - out)
    strip = ((face, low), (back, high), (back, under_metal(cover, back)), (face, under_metal(cover, face)))
    return [Layer("cover mesh", "mesh", strip, f"Gap between sill and cover, {IN_GAP}", ("mesh",), sill.key, cut=False, order=9)]  # fmt: skip


def bed_on_lintel(numbers: Numbers, wall: Wall) -> tuple[float, float]:
    """Where the front of a tray over an opening ends, and how far it falls from the back of the leaf to its face."""
    return wall.face - numbers.length("tray_out"), numbers.length("tray_fall") / 100 * wall.leaf


def weep_over_tray(
    numbers: Numbers, wall: Wall, start: float, name: str, *, carrier: str = "tray"
) -> list[Layer]:
    """The open joint over a tray whose bed begins to fall at ``start``, the mesh in it down to that bed."""
    _, fall = bed_on_lintel(numbers, wall)

    def down_to_bed(part: Layer) -> Layer:
        spots = [(x, y - fall * (wall.leaf_back - x) / wall.leaf * (y == start)) for x, y in part.outline]
        return replace(part, outline=tuple(spots))

    parts = weep_hole(wall, start, start + WEEP, name, "weep_sp", carrier=carrier)
    return [down_to_bed(part) for part in parts]


def _bed(wall: Wall, foot: float) -> float:
    """Fall of the joint, from its back to the face of what is turned up."""
    return BED_FALL / (wall.leaf_back - foot)


def let_in(wall: Wall, foot: float, top: float) -> Point:
    """Where what is turned up the leaf at ``foot`` to ``top`` ends in the joint."""
    inner = wall.face + CHASE
    return inner, top + _bed(wall, foot) * (inner - foot)


def _tray(numbers: Numbers, wall: Wall, foot: float, bed: float) -> tuple[float, float, float, float]:
    """Of the tray on the joint at ``bed``: where its leg stands, its face at the back of the leaf, its upper bend, its top."""
    slope = _bed(wall, foot)
    start = bed + BED_FALL + FILM * sqrt(1 + slope * slope)
    shelf = start + numbers.length("head_tray_mas")
    leg = -FILM if wall.film else wall.core_face
    return leg, start, shelf, shelf + BEHIND + (numbers.length("head_up") if wall.film else 0.0)


def top_over(numbers: Numbers, wall: Wall, foot: float, bed: float) -> float:
    """How high a section must reach to show the tray over the joint at ``bed``."""
    return _tray(numbers, wall, foot, bed)[3] + OVER


def leaf_with_tray(
    numbers: Numbers,
    wall: Wall,
    low: float,
    high: float,
    *,
    foot: float,
    bed: float,
    cover: float = 0.0,
) -> tuple[list[Layer], list[Dimension], list[Point], Point]:
    """The wall from ``low`` to ``high`` with its tray on what is let in at ``bed``.

    Parameters
    ----------
    foot
        Face of what is turned up the leaf.
    cover
        Thickness of an apron before that.

    Returns
    -------
    Parts, sizes, points in the drained cavity over and under the tray, and where a drop that shows its way starts.
    """
    leg, start, shelf, top = _tray(numbers, wall, foot, bed)
    slope = _bed(wall, foot)
    under = SHEET * sqrt(1 + slope * slope)
    inner, at_inner = let_in(wall, foot, bed)
    at_face = bed + slope * (wall.face - foot)
    lower = (
        (wall.face, low), (wall.leaf_back, low), (wall.leaf_back, bed + BED_FALL), (inner, at_inner), (inner, at_inner - under),
        (wall.face, at_face - under),
    )  # fmt: skip
    upper: list[Point] = [(leg, top), (leg, shelf)] if wall.film else [(leg + BUILT_IN, shelf), (leg, shelf)]
    out = foot - cover - FILM
    front = start - slope * (wall.leaf_back - out)
    way = [*upper, (wall.leaf_back, start), (out, front), (out, front - LAP)]
    rows = ("step_tray",) if numbers.has("step_tray") else ()
    parts = [
        Layer("leaf", "masonry", lower, "Masonry leaf", (wall.cavity_row,)),
        Layer("tray", "damp course", sheet(way, FILM), TRAY_IN_LEAF.format("flashing"), rows, "leaf",
              water=True, order=5),
        *weep_hole(wall, start, start + WEEP, "Open upright joint: weep hole over the tray", "weep_sp"),
        cladding(wall, start + WEEP, high, key="leaf above", carrier="weep brick"),
        lining(wall, low, high),
    ]  # fmt: skip
    sizes = [Dimension("head_tray_mas", (wall.leaf_back, start), (leg, shelf), shelf - start, "y", "right")]
    middle = (wall.leaf_back + wall.skin) / 2
    air: list[Point] = [(middle, high - 3), (middle, low + 3)]
    if not wall.film:
        rise = (shelf - start) / (leg - wall.leaf_back)
        parts += inner_leaf(wall, rise, shelf, high, low=low, ceiling=low)
        return parts, sizes, air, (wall.leaf_back + 3, start + 3 * rise)
    edge = shelf + BEHIND
    parts += [
        *core(wall, low, high),
        membrane(wall, low, shelf - BEHIND, key="membrane below", rows=("mem_class",)),
        Layer("membrane", "membrane", sheet([(-FILM, high), (-FILM, top + 8), (leg - FILM, top), (leg - FILM, edge)], FILM),
              "Membrane, over the tray's leg through a level cut", ("head_up",), "tray", water=True, order=5),
    ]  # fmt: skip
    sizes.append(Dimension("head_up", (leg - FILM, edge), (leg, top), top - edge, "y", "right"))
    return parts, sizes, air, (leg - FILM, high - 20)


def tray_flap(leg: float, edge: float, top: float, high: float) -> tuple[Point, ...]:
    """Membrane that comes down over the leg of a tray, from ``high`` to ``edge``."""
    return sheet([(-FILM, high), (-FILM, top + 8), (leg - FILM, top), (leg - FILM, edge)], FILM)


def inner_leaf(
    wall: Wall, slope: float, shelf: float, high: float, *, low: float, ceiling: float, carrier: str = ""
) -> list[Layer]:
    """Inner leaf with insulation before it, the tray built into its bed at ``shelf``.

    Parameters
    ----------
    slope
        Of the tray through the insulation.
    low, ceiling
        Where the leaf and the insulation begin.
    """
    under = FILM * sqrt(1 + slope * slope)
    at_skin = shelf - slope * wall.core_face
    bed = shelf - FILM
    over = (
        (wall.core_face, shelf), (wall.core_face + BUILT_IN, shelf), (wall.core_face + BUILT_IN, bed), (wall.core_back, bed),
        (wall.core_back, high), (wall.core_face, high),
    )  # fmt: skip
    below = (
        (wall.core_face, low), (wall.core_back, low), (wall.core_back, bed), (wall.core_face + 3, bed), (wall.core_face, bed - 4),
    )  # fmt: skip
    return [
        Layer("inner leaf", "masonry", below, "", (), carrier),
        Layer("core", "masonry", over, "Inner leaf", (), "inner leaf", order=1),
        Layer("slab below", "slab", ((0, ceiling), (wall.core_face, ceiling), (wall.core_face, shelf - under), (0, at_skin - under)),
              "", (), "inner leaf"),
        Layer("slab", "slab", ((0, at_skin), (wall.core_face, shelf), (wall.core_face, high), (0, high)), "Insulation in the cavity, cut for the tray", (),
              "core", order=2),
    ]  # fmt: skip


def vented_leaf(wall: Wall, low: float, top: float, joint: float, name: str) -> list[Layer]:
    """A leaf up to ``top`` with an open joint ``name`` whose top lies at ``joint``."""
    return [
        cladding(wall, low, joint - WEEP),
        *weep_hole(wall, joint - WEEP, joint, name, "weep_top", carrier="cladding", key="top joint"),
        cladding(wall, joint, top, key="leaf above", carrier="top joint"),
    ]  # fmt: skip


def leaf_with_barrier(wall: Wall, low: float, top: float, joint: float, name: str) -> list[Layer]:
    """The same, with the barrier in the cavity above the joint."""
    barrier = rectangle(wall.leaf_back, top - BARRIER, wall.skin, top)
    return [
        *vented_leaf(wall, low, top, joint, name),
        Layer("barrier", "barrier", barrier, "Cavity barrier, whole, above the open joints", ("weep_top",), "leaf above", order=8),
    ]  # fmt: skip
