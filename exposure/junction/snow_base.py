"""The threshold of a door with a step in snow: on the base of its wall, lifted as that is asked, and an open landing before it."""

from dataclasses import replace

from exposure.junction.base import base_at_soil
from exposure.junction.build_up import CLOSER, Wall, battens, cladding
from exposure.junction.numbers import Numbers
from exposure.junction.scene import Dimension, Layer, Section, moved, rectangle

OVER_THE_BASE = (
    "core",
    "core boards",
    "core board",
    "lining",
    "cladding",
    "battens",
    "floor",
    "timber level",
    "membrane",
)
BARE = (
    "plate",
    "plate dpc",
    "low board",
    "footing",
    "low leaf",
    "low wall",
    "low slab",
)  # without a name: a threshold has enough of them
SIZES = ("snow_open", "plate_lap")
LANDING, SLAT, APART = 92.0, 28.0, 12.0  # mm, a slat of the landing, its thickness, clear of the wall
BELOW_SILL = 10.0  # mm, top of the landing under the sill; no line sizes it
UNDER_TRAY = 10.0  # mm of the membrane between them
OVER_WEEP = 20.0  # mm of leaf at least between weep holes and sill
PAST = 20.0  # mm shown before the landing


def lies_in_snow(numbers: Numbers) -> bool:
    """Whether snow lies before the door and it has a step."""
    return numbers.length("snow_open", 0.0) > 0 and not numbers.has("door_level")


def on_snow_base(door: Section, numbers: Numbers, wall: Wall) -> Section:
    """The threshold ``door`` with the base of its wall under it, so far down to the ground that its sill stands above the snow."""
    base = base_at_soil(numbers)
    parts, mine = ({layer.key: layer for layer in one.layers} for one in (base, door))
    head = _top(parts["plate"] if "plate" in parts else parts["leaf dpc"])
    up = door.box[1] - head
    if wall.film:  # the sheet over the upstand of the base ends under the front of the tray
        over_upstand = max(y for x, y in parts["membrane"].outline if x < wall.skin)
        up = min(up, _low(mine["tray"]) - UNDER_TRAY - over_upstand)
    if wall.masonry:
        up = min(up, _low(mine["sill bed"]) - OVER_WEEP - _top(parts["weep brick"]))
        foot = _top(parts["weep brick"]) + up
    else:
        foot = _low(parts["cladding"]) + up
    stand = _landing(wall, mine["outer sill"])
    left, right = min(x for x, _ in stand.outline) - PAST, max(door.box[2], base.box[2])
    planes = {door.box[1]: head + up}
    over = [_down(layer, wall, foot, planes, (door.box[2], right)) for layer in door.layers]
    if wall.film:
        film = moved(parts["membrane"], up=up)
        high = _top(film)
        outline = tuple((x, _top(mine["membrane"]) if y == high else y) for x, y in film.outline)
        over = [replace(one, outline=outline) if one.key == "membrane" else one for one in over]
    under = [
        replace(
            one,
            outline=tuple((left if x == base.box[0] else x, y) for x, y in one.outline),
            name="" if one.key in BARE else one.name,
        )
        for one in (moved(one, up=up) for one in base.layers if one.key not in OVER_THE_BASE)
    ]
    sizes = [_raised(one, up) for one in base.dimensions if one.key in SIZES]
    return replace(
        door, box=(left, base.box[1] + up, right, door.box[3]), layers=(*under, *over, stand), dimensions=(*door.dimensions, *sizes),
        outdoors=((left + 5, door.box[3] - 5), *door.outdoors[1:]), indoors=((right - 10, door.box[3] - 5),),
        water_ends=(base.water_ends[0] if wall.film else "tray", "door"),
    )  # fmt: skip


def _top(layer: Layer) -> float:
    return max(y for _, y in layer.outline)


def _low(layer: Layer) -> float:
    return min(y for _, y in layer.outline)


def _raised(size: Dimension, up: float) -> Dimension:
    (x, low), (other, high) = size.start, size.end
    return replace(size, start=(x, low + up), end=(other, high + up))


def _down(
    layer: Layer, wall: Wall, foot: float, planes: dict[float, float], sides: tuple[float, float]
) -> Layer:
    """A part of the threshold taken down onto the base: leaf or cladding to ``foot``, the wall to where ``planes`` says, the floor on indoors."""
    if layer.key == "cladding":
        held = "weep brick" if wall.masonry else layer.carrier
        return replace(cladding(wall, foot, _top(layer), carrier=held), name=layer.name)
    if layer.key == "battens":
        return replace(battens(wall, foot + CLOSER, _top(layer)), name=layer.name)
    old, new = sides
    outline = tuple((new if x == old else x, planes.get(y, y)) for x, y in layer.outline)
    return replace(layer, outline=outline)


def _landing(wall: Wall, sill: Layer) -> Layer:
    """A slat of the open landing before the door."""
    top = _low(sill) - BELOW_SILL
    right = min(wall.face - APART, min(x for x, _ in sill.outline) + SLAT)
    name = "Open landing below the sill, roofed over or kept clear; what carries it is not drawn"
    return Layer(
        "landing", "deck", rectangle(right - LANDING, top - SLAT, right, top), name, ("door_snow",), order=5
    )
