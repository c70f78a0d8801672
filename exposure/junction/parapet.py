"""Top of a parapet under its cap, and the saddle where the parapet meets a wall."""

from dataclasses import replace

from exposure.junction.build_up import (
    Upstand,
    Wall,
    battens,
    cladding,
    core,
    higher_for_snow,
    lining,
    membrane,
    over_roof,
    over_upstand,
    snow_over,
    wall_of,
)
from exposure.junction.leaf import AS_OVER_OPENING, leaf_with_tray, let_in, top_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.wall_top import TOPS

DRIP = 8.0
AIR = 12.0  # mm, between the cap and the cladding
DOWN = 260.0
PLATE = 45.0
VENT = 14.0  # mm, over the cladding of a cavity that is vented
SADDLE_FALL = 0.05
BEHIND = 6.0
FORMS = (
    "under the joints",
    "full strip",
    "full width and down the sides",
    "the same, heat-rated, laps sealed",
)


def cap(numbers: Numbers) -> Section:
    """The cap of a parapet; the roof lies on its inner side."""
    wall = wall_of(numbers)
    slope = numbers.length("cap_slope") / 100
    cover = numbers.length("cap_cover")
    form = FORMS.index(str(numbers.values.get("cap_under", FORMS[0])))
    back = wall.core_back
    inner = back + FILM + 3
    left_lip, right_lip = wall.face - AIR, inner + 22
    wide = right_lip - left_lip
    first, last = slope * wide, 0.0  # the cap's upper face at both ends

    def under(x: float) -> float:
        return (
            last
            + slope * (right_lip - x)
            - SHEET * (1 + slope * slope) ** 0.5
            - FILM * (1 + slope * slope) ** 0.5
        )

    edge_left = under(wall.face) - 4  # top of the outer cladding
    edge_right = under(back + FILM)
    low = min(edge_left, edge_right) - cover - DOWN
    way: list[Point] = [
        (left_lip - DRIP, edge_left - cover - DRIP), (left_lip, edge_left - cover), (left_lip, first), (right_lip, last),
        (right_lip, edge_right - cover), (right_lip + DRIP, edge_right - cover - DRIP),
    ]  # fmt: skip
    base = under(back) - PLATE
    top = ((wall.face, base), (back, base), (back, under(back)), (wall.face, under(wall.face)))
    film: list[Point] = [
        (wall.face, under(wall.face) + _up(FILM, slope)),
        (back, under(back) + _up(FILM, slope)),
    ]
    strip = sheet(film, -FILM)
    roof_top = low + 70
    roof_film = rectangle(back, roof_top, back + FILM, under(back))
    vented = wall.cavity and not wall.masonry and numbers.values.get("cav_top_cap") == TOPS[2]
    clad_top = min(edge_left, base - (VENT if vented else 2))
    parts = [
        *core(wall, low, base),
        Layer("plate", "timber", top, "Sloped top of the parapet", ("cap_slope",), "core"),
        Layer("strip", "membrane", strip, "Membrane under the cap", ("cap_under",), "plate", water=True, order=5),
        Layer("roof membrane", "membrane", roof_film, "Roof membrane, turned up to the top", ("cap_under",) if form >= 2 else (), "core",
              water=True, order=5),
        Layer("cap", "metal", sheet(way, -SHEET), "Cap, no fixing through its top", ("cap_slope", "cap_cover"), "strip", water=True, order=5),
        Layer("roof", "roof", rectangle(back + FILM, low, right_lip + 130, roof_top), "Roof"),
        cladding(wall, low, clad_top, carrier="" if wall.masonry else "battens" if wall.cavity else "membrane"),
    ]  # fmt: skip
    if form >= 2:
        outer = rectangle(wall.face - FILM, base + 4, wall.face, under(wall.face))
        parts.append(Layer("strip down", "membrane", outer, "", ("cap_under",), "plate", water=True, order=5))
    if wall.film:
        parts.append(membrane(wall, low, base, rows=("mem_class",)))
    if wall.cavity and not wall.masonry:
        parts += [battens(wall, low, base - 50), cavity_top(numbers, wall, base, clad_top)]
    shift = edge_left - clad_top
    parts = [_lowered(layer, left_lip, shift) if layer.key == "cap" else layer for layer in parts]
    dimensions = [
        Dimension(
            "cap_cover",
            (wall.face, clad_top),
            (left_lip, clad_top - cover),
            cover,
            "y",
            "left",
            name="cladding",
        ),
        Dimension(
            "cap_cover",
            (back + FILM, edge_right),
            (right_lip, edge_right - cover),
            cover,
            "y",
            "right",
            name="upstand",
        ),
        Dimension("cap_slope", (left_lip, first), (right_lip, last), slope * 100, "fall %"),
    ]
    air: list[Point] = [(left_lip - 30, first + 20), (right_lip + 40, 20)]
    if wall.cavity:
        dimensions.append(
            Dimension(wall.cavity_row, (wall.leaf_back, low), (wall.skin, low), wall.cavity, "x", "bottom")
        )
        air.append(((wall.leaf_back + wall.skin) / 2, low + 3))
    return Section(
        "parapet-cap", "Parapet cap, upright section", "upright", (left_lip - 70, low, right_lip + 90, first + 60), tuple(parts),
        tuple(dimensions), outdoors=tuple(air), drop=(left_lip + 20, first - slope * 20), water_ends=("cap", "roof membrane"),
        sides=("outside", "roof"),
    )  # fmt: skip


def cavity_top(numbers: Numbers, wall: Wall, top: float, clad: float) -> Layer:
    """How the cavity ends under the plate of the parapet: shut, or with a baffle over the cladding's edge."""
    form = TOPS.index(str(numbers.values.get("cav_top_cap", TOPS[0])))
    if form == 2:
        outline, name = rectangle(wall.leaf_back - 2, clad + 0.5, wall.skin - 1, top - 0.5), "Baffle: air leaves under the cap, driven rain does not get in"  # fmt: skip
        return Layer("cavity top", "mesh", outline, name, ("cav_top_cap",), "cladding", cut=False, order=8)
    name = "Top of the cavity closed under the cap" + (", or baffled to the outside" if form else "")
    outline = rectangle(wall.leaf_back, top - 40, wall.skin, top)
    return Layer("cavity top", "timber", outline, name, ("cav_top_cap",), "plate", order=8)


def _up(thickness: float, slope: float) -> float:
    return thickness * (1 + slope * slope) ** 0.5


def _lowered(layer: Layer, lip: float, by: float) -> Layer:
    """The cap with its outer lip reaching ``by`` farther down."""
    if not by:
        return layer
    split = max(y for x, y in layer.outline if x < lip + 2 * SHEET) - 10
    return replace(
        layer,
        outline=tuple((x, y - by if x < lip + 2 * SHEET and y < split else y) for x, y in layer.outline),
    )


def saddle(numbers: Numbers) -> Section:
    """The parapet, cut along its length, where it runs into the wall."""
    wall = wall_of(numbers)
    up = numbers.length("saddle_up")
    plane = wall.face if wall.masonry else 0.0
    roof = -SADDLE_FALL * (plane - SHEET - wall.leaf_back)
    snow = None if wall.masonry else snow_over(numbers, roof, up)
    foot = plane - SHEET - (FILM if snow else 0.0)
    long = 260.0
    left = foot - long
    right = wall.room + 45
    top = up
    high, low = (
        top_over(numbers, wall, foot, top) if wall.masonry else top + 120 + higher_for_snow(numbers),
        -220.0,
    )
    under = SHEET * (1 + SADDLE_FALL**2) ** 0.5
    thick = _up(FILM, SADDLE_FALL)
    way: list[Point] = [(foot, top), (foot, 0), (left - 15, -SADDLE_FALL * (foot - left + 15))]
    beam = (
        (left, low),
        (plane, low),
        (plane, -under - thick),
        (left, -SADDLE_FALL * (plane - left) - under - thick),
    )
    strip = [(plane, -under), (left, -SADDLE_FALL * (plane - left) - under)]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [
        Layer("parapet", "timber" if not wall.masonry else "masonry", beam, "Parapet or rail, cut along its length"),
        Layer("strip", "membrane", sheet(strip, FILM), "Membrane under the saddle", ("cap_under",), "parapet", water=True, order=5),
        Layer("saddle", "metal", sheet(way, SHEET), "Saddle, in one piece with formed corners", ("saddle_up",), "strip", water=True, order=5),
    ]  # fmt: skip
    dimensions = [
        Dimension("saddle_up", (foot, 0), (foot, top), up, "y", "right" if not wall.masonry else "left")
    ]
    air: list[Point] = [(left + 5, high - 5)]
    drop = (foot - 3, -SADDLE_FALL * 3)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(numbers, wall, low, high, foot=foot, bed=top)
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
    else:
        clad, gaps = over_roof(numbers, wall, roof, high)
        dimensions += gaps
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            *over_upstand(wall, "Wall membrane, over the saddle", Upstand("saddle_up", "saddle", foot, BEHIND, top), high=high, snow=snow),
            *clad,
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - SHEET - FILM) / 2, high - 3))
    return Section(
        "saddle", "Saddle where a parapet or rail meets the wall, upright section", "upright", (left - 40, low, right, high), tuple(parts),
        tuple(dimensions), outdoors=tuple(air), indoors=((right - 10, high - 5),), drop=drop, water_ends=("saddle", "membrane" if wall.film else "tray"),
        notes=(AS_OVER_OPENING,) if wall.masonry else (), cut_off=left + 2,
    )  # fmt: skip
