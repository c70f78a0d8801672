"""The threshold of a door with a step in snow: lifted so that its sill stands above the snow, and an open landing before it."""

from dataclasses import replace
from math import ceil

from exposure.junction.base import UNDER, base_at_soil, floor_size, ground_before, snow_level, snow_size
from exposure.junction.build_up import Wall, cladding
from exposure.junction.numbers import Numbers
from exposure.junction.scene import Dimension, Layer, Section, moved, rectangle, taken_down

UNDER_A_LEAF = (
    "ground",
    "footing",
    "low leaf",
    "leaf dpc",
    "weep brick",
    "weep brick mesh",
    "low wall",
    "snow level",
)
INNER_COURSE = "plate dpc"  # of a leaf of masonry; a plate does not run through under a door
BARE = (
    "footing",
    "low leaf",
    "low wall",
    INNER_COURSE,
)  # without a name: a threshold has enough of them
# mm, slats of the landing, wide and thick, gaps between them, clear of the wall
SLAT, BETWEEN, APART = (60.0, 28.0), 12.0, 12.0
BELOW_SILL = 10.0  # mm, top of the landing under the sill; no line sizes it
OVER_WEEP = 20.0  # mm of leaf at least between weep holes and sill
NEXT, CUT_OFF = 40.0, 15.0  # mm of the next slat shown, and past the edge of the drawing


def lies_in_snow(numbers: Numbers) -> bool:
    """Whether snow lies before the door and it has a step."""
    return numbers.length("snow_open", 0.0) > 0 and not numbers.has("door_level")


def on_snow_base(door: Section, numbers: Numbers, wall: Wall) -> Section:
    """The threshold ``door`` with what its floor stands on, so far down to the ground that its sill stands above the snow."""
    mine = {layer.key: layer for layer in door.layers}
    stand = _landing(wall, mine["outer sill"])
    left = min(x for x, _ in stand[0].outline) - BETWEEN - NEXT
    open_parts = [mine[key] for key in ("outer sill", "tray", "cover plate") if key in mine]
    ground = _whole(min(map(_low, open_parts)) - numbers.length("snow_open"), mine["floor"])
    over, under, bottom = (_on_leaf if wall.masonry else _on_slab)(door, numbers, wall, (left, ground))
    ground = max(y for one in under if one.key == "ground" for _, y in one.outline)
    sizes = [replace(one, start=(one.start[0], one.start[1] + ground), end=(one.end[0], one.end[1] + ground))
             for one in snow_size(numbers, (wall.face, 0), "left")]  # fmt: skip
    sizes += [_clear_below(numbers, wall, one) for one in under if one.key == "leaf dpc"]
    floor = max(y for _, y in mine["floor"].outline) - ground
    sizes.append(floor_size((door.box[2] - 20, ground), floor))
    lifted = f"So that snow stays below it this floor lies {floor:.0f} mm above the ground; the highest such floor holds for the house."
    return replace(
        door, box=(left, bottom, door.box[2], door.box[3]), layers=(*under, *over, *stand), dimensions=(*door.dimensions, *sizes),
        outdoors=((left + 5, door.box[3] - 5), *door.outdoors[1:]), warnings=(*door.warnings, lifted), asked_floor=max(door.asked_floor, floor),
    )  # fmt: skip


def _clear_below(numbers: Numbers, wall: Wall, course: Layer) -> Dimension:
    """How deep the cavity stays clear below the ``course`` of the leaf."""
    deep, high = numbers.length("cav_base"), _top(course)
    return Dimension("cav_base", (wall.leaf_back, high - deep), (wall.leaf_back, high), deep, "y", "left")


def _whole(ground: float, floor: Layer) -> float:
    """Height of the ground, lowered until the floor lies a whole number of millimetres over it."""
    return _top(floor) - ceil(_top(floor) - ground - 1e-6)


def _low(layer: Layer) -> float:
    return min(y for _, y in layer.outline)


def _top(layer: Layer) -> float:
    return max(y for _, y in layer.outline)


def _on_slab(
    door: Section, numbers: Numbers, wall: Wall, to: tuple[float, float]
) -> tuple[list[Layer], list[Layer], float]:
    """The floor down into the ground, with no boards before it; ``to`` has the left end and the height of the ground."""
    left, ground = to
    bottom = ground - UNDER
    over = [
        taken_down(layer, door.box[1], bottom) if layer.key == "floor" else layer for layer in door.layers
    ]
    soil = ground_before("soil", "Ground, falling away from the door", "", left, -UNDER, 0.0)
    return over, [moved(one, up=ground) for one in (soil, *snow_level(numbers, left, 0.0))], bottom


def _on_leaf(
    door: Section, numbers: Numbers, wall: Wall, to: tuple[float, float]
) -> tuple[list[Layer], list[Layer], float]:
    """Leaf and inner wall on the base of the wall, the weep holes below the sill, the floor on the inner wall."""
    left, ground = to
    below = {
        row: value for row, value in numbers.values.items() if row != "base_tray"
    }  # it ends beside a door
    base = base_at_soil(replace(numbers, values=below))
    parts, mine = ({layer.key: layer for layer in one.layers} for one in (base, door))
    up = _whole(min(ground, _low(mine["sill bed"]) - OVER_WEEP - _top(parts["weep brick"])), mine["floor"])
    foot, head = _top(parts["weep brick"]) + up, _top(parts["leaf dpc"]) + up
    deep = _low(parts["low wall"]) + up
    over = [
        taken_down(layer, door.box[1], deep if layer.key == "inner slab" else head)
        if layer.key in ("floor", "inner leaf", "inner slab")
        else layer
        for layer in door.layers
        if layer.key != "cladding"
    ]
    over = [
        replace(one, carrier="low wall") if one.key == "ties" and _low(one) < head else one for one in over
    ]
    leaf = cladding(wall, foot, _top(mine["cladding"]), carrier="weep brick")
    kept = (*UNDER_A_LEAF, *(() if wall.film else (INNER_COURSE,)))
    under = [
        replace(moved(one, up=up), name="" if one.key in BARE else one.name)
        for one in (
            replace(one, outline=tuple((left if x == base.box[0] else x, y) for x, y in one.outline))
            for one in base.layers
        )
        if one.key in kept
    ]
    if wall.film:
        over, under = _on_inner_wall(over, under)
    return [replace(leaf, name=mine["cladding"].name), *over], under, base.box[1] + up


def _on_inner_wall(over: list[Layer], under: list[Layer]) -> tuple[list[Layer], list[Layer]]:
    """The floor on the inner wall of a framed one, which goes up or ends where the floor's underside lies."""
    floor = next(one for one in over if one.key == "floor")
    wall = next(one for one in over if one.key == "inner leaf")
    stands = [
        replace(taken_down(one, _top(one), _low(floor)), name=wall.name, order=wall.order) if one.key == "low wall" else one
        for one in under
    ]  # fmt: skip
    return [
        replace(one, carrier="low wall") if one is floor else one for one in over if one is not wall
    ], stands


def _landing(wall: Wall, sill: Layer) -> tuple[Layer, Layer]:
    """Slats of the open landing before the door, the outer one cut off."""
    (wide, thick), top = SLAT, _low(sill) - BELOW_SILL
    right = min(wall.face - APART, min(x for x, _ in sill.outline) + thick)
    near = right - wide
    name = "Open landing below the sill, roofed over or kept clear; what carries it is not drawn"
    return (
        Layer("landing", "deck", rectangle(near, top - thick, right, top), name, ("door_snow",), order=5),
        Layer("next slat", "deck", rectangle(near - BETWEEN - NEXT - CUT_OFF, top - thick, near - BETWEEN, top), "", (), order=5),
    )  # fmt: skip
