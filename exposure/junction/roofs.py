"""A roof that meets the wall: apron flashing where it leans against it, and the kick-out where its eave ends."""

from collections.abc import Callable
from dataclasses import replace
from math import sqrt

from exposure.junction.build_up import (
    BEHIND,
    CLOSE_UNDER,
    Upstand,
    Wall,
    battens,
    cladding,
    core,
    high_over,
    hung_and_over,
    hung_to,
    lining,
    over_roof,
    snow_over,
    wall_of,
)
from exposure.junction.leaf import AS_OVER_OPENING, leaf_with_tray, let_in, top_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Dimension, Layer, Point, Section, rectangle, sheet

PITCH = 0.3
THICK = 40.0
APRON = 150.0
KICK_FALL = 0.25
ROOF_UP = 90.0  # mm of the roof beyond shown over the eave
COVERING = 20.0  # mm of the roof over its membrane, where snow lies
STEPPED_ALONG = "Flashing and tray lie level, as drawn, where the roof falls away from the wall; where it runs up along the wall they are stepped with it."
SHORT = 10.0  # mm, roof's membrane in the kick-out behind its outer edge
GUTTER_DEEP, GUTTER_UNDER, GUTTER_OFF = 65.0, 15.0, 18.0  # mm, under the kick-out and clear of the cladding


def roof_at_wall(numbers: Numbers) -> Section:
    """The upper edge of a roof that leans against the wall."""
    wall = wall_of(numbers)
    up, on = numbers.length("step_h"), numbers.length("step_on", APRON)
    plane = wall.face if wall.masonry else 0.0

    def roof(x: float) -> float:
        return PITCH * (x - plane)

    gap_from = 2 * SHEET - PITCH * (plane - wall.leaf_back)  # the apron's face under the cladding
    snow = None if wall.masonry else snow_over(numbers, gap_from, 2 * SHEET + up)
    foot = plane - SHEET - _behind(wall, snow)
    bend = roof(foot) + 2 * SHEET
    top = bend + up
    turned = Upstand("step_h", "flashing", foot, bend + BEHIND, top)
    lapped = hung_to(numbers, turned, snow)
    high = top_over(numbers, wall, foot, top) if wall.masonry else high_over(numbers, top, lapped)
    low, left = -140.0, plane - on - 130
    way: list[Point] = [(foot, top), (foot, bend), (foot - on, bend - PITCH * on)]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    right = wall.room + 45
    end = plane if wall.masonry else -FILM  # the wall's membrane runs up behind the roof
    parts = [
        *_roof(roof, left, end, snow),
        Layer("flashing", "metal", sheet(way, SHEET), "Apron flashing" + ", up into the joint" * wall.masonry, ("step_h",), "roof", water=True, order=5),
    ]  # fmt: skip
    dimensions = [
        Dimension("step_h", (foot, bend), (foot, top), up, "y", "right" if not wall.masonry else "left")
    ]
    if numbers.has("step_on"):
        dimensions.append(Dimension("step_on", way[-1], (foot, bend), on, "x", "bottom"))
    air: list[Point] = [(left + 5, high - 5)]
    drop = (-FILM, high - 20) if wall.cavity else (foot - 20, bend - PITCH * 20)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(numbers, wall, low, high, foot=foot, bed=top)
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
    else:
        clad, gaps = over_roof(numbers, wall, gap_from, high, lined=foot - FILM)
        dimensions += gaps
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            *hung_and_over(wall, "roof", turned, lapped, low=low, high=high, strip=snow),
            *clad,
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - SHEET - FILM) / 2, high - 3))
    return Section(
        "roof-at-wall", "Roof against the wall, upright section", "upright", (left, low, right, high), tuple(parts), tuple(dimensions),
        outdoors=tuple(air), indoors=((right - 10, high - 5),),
        drop=drop, water_ends=("flashing", "membrane" if wall.film else "tray"), notes=(STEPPED_ALONG, AS_OVER_OPENING) if wall.masonry else (),
        cut_off=left + 2,
    )  # fmt: skip


def kick_out(numbers: Numbers) -> Section:
    """The end of an eave beside the wall, cut across the kick-out."""
    wall = wall_of(numbers)
    up, out = numbers.length("kick_h"), numbers.length("kick_proj")
    plane = wall.face if wall.masonry else 0.0
    snow = None if wall.masonry else snow_over(numbers, 0.0, up)
    foot, tip = plane - SHEET - _behind(wall, snow), wall.face - out
    fall = KICK_FALL * (foot - tip)
    top = up
    turned = Upstand("kick_h", "kick-out", foot, BEHIND, top)
    lapped = hung_to(numbers, turned, snow)
    high = top_over(numbers, wall, foot, top) if wall.masonry else high_over(numbers, top, lapped)
    low = -fall - GUTTER_UNDER - GUTTER_DEEP - 60
    right, left = wall.room + 45, tip - 110
    way: list[Point] = [(foot, top), (foot, 0), (tip, -fall)]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [
        Layer("kick-out", "metal", sheet(way, SHEET), "Kick-out, in one piece", ("kick_h", "kick_proj"),
              "leaf" if wall.masonry else "snow membrane" if snow else "membrane below", water=True, order=5),
        *_eave(left, wall.face, -fall),
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
        clad, gaps = over_roof(numbers, wall, 0.0, high, lined=foot - FILM)
        dimensions += gaps
        under = -KICK_FALL * (foot - wall.face) - 2 * SHEET - 5
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            *hung_and_over(wall, "kick-out", turned, lapped, low=low, high=high, strip=snow),
            *clad,
            replace(cladding(wall, low, under, key="cladding below", carrier="battens below" if wall.cavity else "membrane below"), name=CLOSE_UNDER),
        ]  # fmt: skip
        if snow:
            inner = foot + SHEET
            sole = KICK_FALL * SHEET - SHEET * sqrt(1 + KICK_FALL**2)
            parts.append(
                _up_in_snow(
                    snow,
                    (inner, sole),
                    (tip + SHORT, sole - KICK_FALL * (inner - tip - SHORT)),
                    "membrane below",
                )
            )
        if wall.cavity:
            parts.append(battens(wall, low, under - 10, key="battens below", carrier="membrane below"))
            air += [
                ((wall.leaf_back - SHEET - FILM) / 2, high - 3),
                ((wall.leaf_back + wall.skin) / 2, low + 3),
            ]
    return Section(
        "kick-out", "Kick-out where an eave ends, upright section", "upright", (left, low, right, high), tuple(parts), tuple(dimensions),
        outdoors=tuple(air), indoors=((right - 10, high - 5),), drop=drop, water_ends=("kick-out", "membrane" if wall.film else "tray"),
        notes=(AS_OVER_OPENING,) if wall.masonry else (), cut_off=left + 2,
    )  # fmt: skip


def _behind(wall: Wall, snow: float | None) -> float:
    """Thickness of what stands between wall and flashing: the wall's membrane, and the roof's where snow lies."""
    return 0.0 if wall.masonry else FILM * (2 if snow else 1)


def _roof(face: Callable[[float], float], left: float, end: float, snow: float | None) -> list[Layer]:
    """The roof, its upper face ``face`` of x, up to ``end``; where snow lies with its membrane, which turns up the wall, under its covering."""

    def slab(key: str, name: str, stop: float, under: float, top: float) -> Layer:
        a, b = face(left), face(stop)
        return Layer(key, "roof", ((left, a - under), (stop, b - under), (stop, b - top), (left, a - top)), name, order=5)  # fmt: skip

    if not snow:
        return [slab("roof", "Roof", end, THICK, 0.0)]
    up, film = end - FILM, FILM * sqrt(1 + PITCH**2)
    bend, edge = (up, face(up) - COVERING), (left, face(left) - COVERING)
    return [
        slab("roof deck", "Roof below its membrane", end, THICK, COVERING + film),
        _up_in_snow(snow, bend, edge, "roof deck"),
        slab("roof", "Roof covering", up, COVERING, 0.0),
    ]


def _up_in_snow(top: float, bend: Point, edge: Point, carrier: str) -> Layer:
    """The roof's membrane, from its edge to the wall and up it."""
    return Layer(
        "snow membrane", "membrane", sheet([(bend[0], top), bend, edge], FILM), "Roof's membrane, turned up as high as snow counts", ("snow_roof",), carrier,
        water=True, order=5,
    )  # fmt: skip


def _eave(left: float, face: float, tip: float) -> list[Layer]:
    """The roof beyond the cut with its eave, and the gutter that takes what the kick-out at ``tip`` throws off."""
    end, low = face - GUTTER_OFF, tip - GUTTER_UNDER - GUTTER_DEEP
    return [
        Layer("roof beyond", "roof", rectangle(left, tip - 8, face, ROOF_UP), "Roof beyond the cut, rising away from its eave", (), "kick-out",
              cut=False, order=5),
        Layer("eave board", "timber", rectangle(left, low - 10, face, tip - 8), "Fascia, behind the gutter", (), "roof beyond", cut=False, order=5),
        Layer("gutter", "gutter", sheet([(end, low + GUTTER_DEEP), (end, low), (left, low)], -SHEET), "Gutter, its end clear of the cladding", (),
              "eave board", order=5),
    ]  # fmt: skip
