"""Top of a parapet under its cap, and the saddle where the parapet meets a wall."""

from collections.abc import Callable
from dataclasses import replace
from math import floor

from exposure.detail.ladder import SADDLE_LAP
from exposure.junction.build_up import (
    BOARD,
    JOG,
    TUCKED,
    Upstand,
    Wall,
    battens,
    behind_cladding,
    cladding,
    core,
    high_over,
    hung_and_over,
    hung_to,
    lining,
    membrane,
    over_roof,
    snow_over,
    wall_of,
)
from exposure.junction.leaf import (
    AS_OVER_OPENING,
    gap_over_leaf,
    leaf_with_barrier,
    leaf_with_tray,
    let_in,
    top_over,
)
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Conflict, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.wall_top import SHUT, TOPS, plated, tape_on_plate

DRIP = 8.0
AIR = 12.0  # mm, between the cap and the cladding
DOWN = 260.0
PLATE = 45.0
VENT = 14.0  # mm, over the cladding of a cavity that is vented
SADDLE_FALL = 0.05
FALLS = "The saddle falls from the wall as drawn, which no line sizes"
WITH_CAP = "; across the cut it falls to the roof with the cap, whose end this drawing leaves out"
SINKS = 10.0  # mm, sloped top on a timber frame clear of the leaf; the engineer gives it
TURNED = 60.0  # mm, membrane of the wall in under the sloped top, or over it; no line sizes it
SADDLE_LAPPED = 30.0  # mm, least lap over a saddle that is drawn; ours
BELOW_CAP = 12.0  # mm, from the cap's drip to the top of an open joint in the leaf
BAFFLE = 8.0  # mm, baffle to both sides of the back of the cladding
ROOF_FALL, PAST_CAP = 0.015, 130.0  # of the roof, as a flat one is drawn; mm of it drawn past the cap
STRIP = 6.0  # mm, membrane under a cap or saddle, drawn thicker still: it slants, and its plate covers it


def cap(numbers: Numbers) -> Section:
    """The cap of a parapet; the roof lies on its inner side."""
    wall = wall_of(numbers)
    slope = numbers.length("cap_slope") / 100
    cover = numbers.length("cap_cover")
    back = wall.core_back + (BOARD if wall.film else 0.0)  # face of what the roof's membrane is turned up on
    inner = back + 2 * FILM + 3
    left_lip, right_lip = wall.face - AIR, inner + 22
    wide = right_lip - left_lip
    first, last = slope * wide, 0.0  # the cap's upper face at both ends

    def cap_under(x: float) -> float:
        return last + slope * (right_lip - x) - _up(SHEET, slope)

    def under(x: float) -> float:
        return cap_under(x) - STRIP

    clad = wall.film and not wall.masonry
    edge = 0.0 if clad else wall.face  # outer edge of the sloped top
    lap = numbers.length("lap_h", 75.0)  # as any sheet over the one below
    told = f" {lap:g} mm" if numbers.has("lap_h") else ""
    lapped = (
        f"lapped{told} down over those of wall and roof"
        if clad
        else f"over its outer edge, lapped{told} down over the roof's"
    )
    out = edge - FILM if clad else edge  # face of what the membrane under the cap comes down over
    base = under(back) - PLATE
    turned = wall.film and wall.masonry  # the membrane of the wall, in under the sloped top
    head = base - (2 * FILM if turned else 0.0)  # top of the framing, under membrane and tape
    vented = clad and wall.cavity and numbers.values.get("cav_top_cap") == TOPS[2]
    free = SINKS if turned else 2.0
    clad_top = cap_under(out) - (VENT if vented else 4) if clad else min(under(wall.face) - 4, base - free)
    edge_right = under(back + FILM)
    low = min(clad_top, edge_right) - cover - max(DOWN, lap + 110)
    way: list[Point] = [
        (left_lip - DRIP, clad_top - cover - DRIP), (left_lip, clad_top - cover), (left_lip, first), (right_lip, last),
        (right_lip, edge_right - cover), (right_lip + DRIP, edge_right - cover - DRIP),
    ]  # fmt: skip
    top = ((edge, base), (back, base), (back, under(back)), (edge, under(edge)))
    roof_top = low + 70
    roof_end = right_lip + PAST_CAP
    roof_low = roof_top - ROOF_FALL * (roof_end - back)
    roof_film = sheet([(back, under(back)), (back, roof_top), (roof_end, roof_low)], FILM)
    behind = [
        Layer("roof board", "board", rectangle(wall.core_back, low, back, base), "Boards on the roof side too", (), "core", order=2)
    ] * wall.film  # fmt: skip
    leaf = (
        leaf_with_barrier(wall, low, clad_top, clad_top - cover - DRIP - BELOW_CAP, "Open upright joint in the first course below the cap's edge")
        if wall.masonry and numbers.has("weep_top")
        else [cladding(wall, low, clad_top, carrier="" if wall.masonry else "battens" if wall.cavity else "membrane")]
    )  # fmt: skip
    parts = [
        *(plated(wall, low, head - PLATE, head, key="top plate") if wall.film else core(wall, low, base)),
        *behind,
        Layer("plate", "timber", top, "Sloped top of the parapet", ("cap_slope",), "top plate" if wall.film else "core"),
        Layer("roof membrane", "membrane", roof_film, "Roof membrane, turned up to the top", ("cap_under",), "roof board" if wall.film else "core",
              water=True, order=5),
        Layer("strip", "membrane", _over_top(out, back + FILM, (cap_under, under), lap, out_to=under(out) - lap if clad else base + 4, turned_in=TURNED if clad else 0),
              f"Membrane under the cap, {lapped}",
              ("cap_under", *(("lap_h",) if told else ())), "plate", water=True, order=5),
        Layer("cap", "metal", sheet(way, -SHEET), "Cap, held at both sides as its maker says, undrawn; no fixing through its top", ("cap_slope", "cap_cover", "cap_fix"), "strip", water=True, order=5),
        Layer("roof", "roof", ((back, low), (roof_end, low), (roof_end, roof_low), (back, roof_top)), "Roof"),
        *leaf,
    ]  # fmt: skip
    if turned:
        parts.append(gap_over_leaf(wall, leaf, clad_top, base))
    if wall.film:
        parts += _film(wall, low, head if turned else None, under)
    if wall.cavity and clad:
        parts += [
            battens(wall, low, clad_top - (0 if vented else SHUT)),
            cavity_top(numbers, wall, clad_top, out - FILM, cap_under),
        ]
    dimensions = [
        Dimension(
            "cap_cover",
            (wall.face, clad_top),
            (left_lip, clad_top - cover),
            cover,
            "y",
            "left",
            name="leaf" if wall.masonry else "cladding",
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


def _film(wall: Wall, low: float, head: float | None, under: Callable[[float], float]) -> list[Layer]:
    """The membrane of the wall over the plate whose face is ``head``, or where none lies under the sloped top over that, up to ``under``; its edge taped."""
    film = membrane(wall, low, 0.0, rows=("mem_class", "mem_top"))
    if head is not None:
        way = sheet([(0.0, low), (0.0, head), (TURNED, head)], FILM)
        tape = tape_on_plate(TURNED, head)
        name, where, carrier = "Membrane, over the top plate", "top plate", "top plate"
    else:
        way = (
            (-FILM, low), (-FILM, under(-FILM) + FILM), (TURNED, under(TURNED) + FILM), (TURNED, under(TURNED)), (0, under(0)), (0, low),
        )  # fmt: skip
        tape = tuple((x, y + under(x)) for x, y in tape_on_plate(TURNED, 0.0))
        name, where, carrier = "Membrane, turned in over the sloped top", "sloped top", "plate"
    return [
        replace(film, outline=way, name=name),
        Layer("plate tape", "tape", tape, f"Tape on the {where}", ("mem_top",), carrier, water=True, order=2),
    ]


def cavity_top(
    numbers: Numbers, wall: Wall, clad: float, inner: float, ceiling: Callable[[float], float]
) -> Layer:
    """How the cavity ends under the cap, beside the cladding's top edge: shut as far as ``inner``, or with a baffle up to the cap's ``ceiling``."""
    form = TOPS.index(str(numbers.values.get("cav_top_cap", TOPS[0])))
    if form == 2:
        back = wall.leaf_back
        front, rear = back - BAFFLE, back + BAFFLE
        outline: tuple[Point, ...] = (
            (front, clad), (rear, clad), (rear, ceiling(rear) - 0.5), (front, ceiling(front) - 0.5),
        )  # fmt: skip
        high = ceiling(back) - clad
        name = f"Baffle with slots on the battens, {2 * BAFFLE:.0f} mm deep, as open per metre as the base, {high:.0f} mm up to the cap, whose leg is {AIR - SHEET:.0f} mm clear of the cladding, which no line sizes: air leaves"
        return Layer("cavity top", "mesh", outline, name, ("cav_top_cap",), "battens", cut=False, order=8)
    name = "Top of the cavity closed under the cap" + (", or baffled to the outside" if form else "")
    outline = rectangle(wall.leaf_back, clad - SHUT, inner, clad)
    return Layer("cavity top", "timber", outline, name, ("cav_top_cap",), "cladding", order=8)


def _over_top(
    left: float,
    right: float,
    faces: tuple[Callable[[float], float], Callable[[float], float]],
    lap: float,
    *,
    out_to: float,
    turned_in: float,
) -> tuple[Point, ...]:
    """Membrane between a cap and what it lies on, from ``left`` to ``right`` and down both sides.

    Parameters
    ----------
    faces
        Upper and lower, over the width.
    lap
        Down over the membrane of the roof.
    out_to
        Where it ends at the left.
    turned_in
        How far the membrane of the wall lies in under it; 0 where it does not.
    """  # fmt: skip
    upper, lower = faces
    end, on = turned_in, FILM if turned_in else 0.0
    tape = (  # what it lies on, how far over ``lower``
        (left, on), (end - 25, on), (end - 25, 2 * on), (end, 2 * on), (end + 30, on), (end + 30, 0.0),
    )  # fmt: skip
    below = tuple((x, lower(x) + up) for x, up in tape) if on else ((left, lower(left)),)
    return (
        (left - FILM, upper(left - FILM)), (left - FILM, out_to), (left, out_to), *below, (right, lower(right)),
        (right, lower(right) - lap), (right + FILM, lower(right) - lap), (right + FILM, upper(right + FILM)),
    )  # fmt: skip


def _up(thickness: float, slope: float) -> float:
    return thickness * (1 + slope * slope) ** 0.5


def _low_saddle(gap: float, lap: float) -> tuple[Conflict, ...]:
    """Where the saddle ends so near the foot of the cladding that the sheet behind it has nothing to lap."""
    if lap >= SADDLE_LAPPED:
        return ()
    said = f"The wall membrane, which ends behind the cladding {gap:g} mm up, laps the saddle by {max(floor(lap), 0)} mm: take the saddle {gap + SADDLE_LAP:g} mm up the wall."
    return (Conflict(("saddle_up", "roof_gap"), said),)


def saddle(numbers: Numbers) -> Section:
    """The parapet, cut along its length, where it runs into the wall."""
    wall = wall_of(numbers)
    up = numbers.length("saddle_up")
    plane = wall.face if wall.masonry else 0.0
    roof = -SADDLE_FALL * (plane - SHEET - wall.leaf_back)
    snow = None if wall.masonry else snow_over(numbers, roof, up)
    behind, rise = (
        (plane, plane) if wall.masonry else (-FILM, -2 * FILM)
    )  # faces of what the rail stands against, and of the strip up the wall
    foot = rise - SHEET
    long = 260.0
    left = foot - long
    right = wall.room + 45
    top = up
    under = SHEET * (1 + SADDLE_FALL**2) ** 0.5
    way: list[Point] = [(foot, top), (foot, 0), (left - 15, -SADDLE_FALL * (foot - left + 15))]
    edge, lap = behind_cladding(numbers, roof), numbers.length("lap_h", 150.0)
    strip_top = max(snow or top + JOG + TUCKED, edge + lap)
    turned = Upstand("saddle_up", "saddle", foot, edge, top)
    lapped = hung_to(numbers, turned, strip_top)  # top of the wall membrane that goes on down behind the rail
    low = -220.0
    high = top_over(numbers, wall, foot, top) if wall.masonry else high_over(numbers, top, lapped)

    def below(x: float) -> float:
        return -SADDLE_FALL * (foot - x) - under

    capped = numbers.has("cap_slope")
    lower = STRIP + PLATE * capped
    beam = ((left, low), (behind, low), (behind, below(behind) - lower), (left, below(left) - lower))
    sloped = (beam[3], beam[2], (behind, below(behind) - STRIP), (left, below(left) - STRIP))
    strip: list[Point] = [
        (rise, below(rise)),
        (left, below(left)),
        (left, below(left) - STRIP),
        (behind, below(behind) - STRIP),
    ]
    if not wall.masonry:
        strip += [(behind, strip_top), (rise, strip_top)]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [
        Layer("parapet", "timber" if not wall.masonry else "masonry", beam, "Parapet or rail, cut along its length", order=5),
        *([Layer("sloped top", "timber", sloped, "Sloped top of the parapet", ("cap_slope",), "parapet", order=5)] if capped else []),
        Layer("strip", "membrane", tuple(strip), "Strip of membrane under the saddle" + (", up the wall as high as snow counts" if snow else "" if wall.masonry else ", turned up behind its leg"),
              ("cap_under", *(("snow_roof",) if snow else ())), "sloped top" if capped else "parapet", water=True, order=5),
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
        clad, gaps = over_roof(numbers, wall, roof, high, lined=foot - FILM)
        dimensions += gaps
        if strip_top == edge + lap:
            dimensions.append(
                Dimension("lap_h", (rise, edge), (rise, strip_top), lap, "y", "right", name="strip lapped")
            )
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            *hung_and_over(wall, "rail", turned, lapped, low=low, high=high, strip=strip_top),
            *clad,
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - SHEET - FILM) / 2, high - 3))
    return Section(
        "saddle", "Saddle where a parapet or rail meets the wall, upright section", "upright", (left - 40, low, right, high), tuple(parts),
        tuple(dimensions), outdoors=tuple(air), indoors=((right - 10, high - 5),), drop=drop, water_ends=("saddle", "membrane" if wall.film else "tray"),
        notes=(*((AS_OVER_OPENING,) if wall.masonry else ()), f"{FALLS}{WITH_CAP if capped else ''}."), cut_off=left + 2,
        conflicts=() if wall.masonry else _low_saddle(numbers.length("roof_gap", 35.0), top - turned.edge),
    )  # fmt: skip
