"""A roof that meets the wall: apron flashing where it leans against it, and the kick-out where its eave ends."""

from exposure.junction.build_up import (
    battens,
    cladding,
    core,
    higher_for_snow,
    lining,
    membrane,
    over_roof,
    wall_of,
)
from exposure.junction.leaf import AS_OVER_OPENING, leaf_with_tray, let_in, top_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, Section, rectangle, sheet

PITCH = 0.3
THICK = 40.0
APRON = 150.0
BEHIND = 6.0
KICK_FALL = 0.25


def roof_at_wall(numbers: Numbers) -> Section:
    """The upper edge of a roof that leans against the wall."""
    wall = wall_of(numbers)
    up = numbers.length("step_h")
    plane = wall.face if wall.masonry else 0.0
    foot = plane - SHEET

    def roof(x: float) -> float:
        return PITCH * (x - plane)

    bend = roof(foot) + 2 * SHEET
    top = bend + up
    high, left = (
        top_over(numbers, wall, foot, top) if wall.masonry else top + 130 + higher_for_snow(numbers),
        plane - APRON - 130,
    )
    low = -140.0
    way: list[Point] = [(foot, top), (foot, bend), (foot - APRON, bend - PITCH * APRON)]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    right = wall.room + 45
    parts = [
        Layer("roof", "roof", ((left, roof(left) - THICK), (plane, -THICK), (plane, 0), (left, roof(left))), "Roof", order=5),
        Layer("flashing", "metal", sheet(way, SHEET), "Apron flashing", ("step_h",), "roof", water=True, order=5),
    ]  # fmt: skip
    dimensions = [
        Dimension("step_h", (foot, bend), (foot, top), up, "y", "right" if not wall.masonry else "left")
    ]
    air: list[Point] = [(left + 5, high - 5)]
    drop = (-FILM, high - 20) if wall.cavity else (foot - 20, bend - PITCH * 20)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(numbers, wall, low, high, foot=foot, bed=top)
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
    else:
        edge = bend + BEHIND
        jog = top + 8
        clad, gaps = over_roof(numbers, wall, bend - PITCH * (foot - wall.leaf_back), high)
        dimensions += gaps
        film = sheet([(-FILM, high), (-FILM, jog), (-SHEET - FILM, jog - 5), (-SHEET - FILM, edge)], FILM)
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            Layer("membrane", "membrane", film, "Membrane, over the flashing", ("step_h",), "flashing", water=True, order=5),
            Layer("membrane below", "membrane", rectangle(-FILM, low, 0, -THICK), "", (), "core board" if wall.board else "core"),
            *clad,
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - SHEET - FILM) / 2, high - 3))
    return Section(
        "roof-at-wall", "Roof against the wall, upright section", "upright", (left, low, right, high), tuple(parts), tuple(dimensions),
        outdoors=tuple(air), indoors=((right - 10, high - 5),),
        drop=drop, water_ends=("flashing", "membrane" if wall.film else "tray"), notes=(AS_OVER_OPENING,) if wall.masonry else (),
    )  # fmt: skip


def kick_out(numbers: Numbers) -> Section:
    """The end of an eave beside the wall, cut across the kick-out."""
    wall = wall_of(numbers)
    up, out = numbers.length("kick_h"), numbers.length("kick_proj")
    plane = wall.face if wall.masonry else 0.0
    foot, tip = plane - SHEET, wall.face - out
    fall = KICK_FALL * (foot - tip)
    top = up
    high, low = (
        top_over(numbers, wall, foot, top) if wall.masonry else top + 130 + higher_for_snow(numbers),
        -fall - 190,
    )
    right, left = wall.room + 45, tip - 80
    way: list[Point] = [(foot, top), (foot, 0), (tip, -fall)]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [
        Layer("kick-out", "metal", sheet(way, SHEET), "Kick-out, in one piece", ("kick_h", "kick_proj"), "core board" if wall.board and not wall.masonry else "core"
              if not wall.masonry else "leaf", water=True, order=5),
    ]  # fmt: skip
    dimensions = [
        Dimension("kick_h", (foot, 0), (foot, top), up, "y", "right" if not wall.masonry else "left"),
        Dimension("kick_proj", (tip, -fall), (wall.face, -fall), out, "x", "bottom"),
    ]
    air: list[Point] = [(left + 5, high - 5)]
    drop = (foot - 3, -KICK_FALL * 3)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(numbers, wall, low, high, foot=foot, bed=top)
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
    else:
        clad, gaps = over_roof(numbers, wall, 0.0, high)
        dimensions += gaps
        edge, jog = BEHIND, top + 8
        film = sheet([(-FILM, high), (-FILM, jog), (-SHEET - FILM, jog - 5), (-SHEET - FILM, edge)], FILM)
        under = -KICK_FALL * (foot - wall.face) - 2 * SHEET - 6
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            Layer("membrane", "membrane", film, "Membrane, over the kick-out", ("kick_h",), "kick-out", water=True, order=5),
            membrane(wall, low, -2 * SHEET - 1, key="membrane below"),
            *clad,
            cladding(wall, low, under, key="cladding below", carrier="battens below" if wall.cavity else "membrane below"),
        ]  # fmt: skip
        if wall.cavity:
            parts.append(battens(wall, low, under - 10, key="battens below", carrier="membrane below"))
            air += [
                ((wall.leaf_back - SHEET - FILM) / 2, high - 3),
                ((wall.leaf_back + wall.skin) / 2, low + 3),
            ]
    return Section(
        "kick-out", "Kick-out where an eave ends, upright section", "upright", (left, low, right, high), tuple(parts), tuple(dimensions),
        outdoors=tuple(air), indoors=((right - 10, high - 5),), drop=drop, water_ends=("kick-out", "membrane" if wall.film else "tray"),
        notes=(AS_OVER_OPENING,) if wall.masonry else (),
    )  # fmt: skip
