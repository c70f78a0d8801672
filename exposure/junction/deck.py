"""A closed deck, balcony or flat roof at the wall, upright sections."""

from dataclasses import replace
from math import ceil, floor, sqrt
from typing import Literal

from exposure.junction.build_up import (
    MESH,
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
    over_roof,
    snow_over,
    wall_of,
)
from exposure.junction.leaf import AS_OVER_OPENING, TRAY_IN_LEAF, leaf_with_tray, let_in, top_over
from exposure.junction.numbers import Numbers
from exposure.junction.scene import (
    FILM,
    SHEET,
    Conflict,
    Dimension,
    Layer,
    Point,
    Section,
    rectangle,
    sheet,
)
from exposure.junction.walked_on import WALKED, walked_on_it

FALL = 0.015
LONG = 260.0
SLAB = 110.0  # mm, deck below its membrane; the engineer sizes it
BELOW_SLAB = 95.0  # mm of wall shown below it
APRON_CLEAR = 15.0  # mm, edge of a deck's apron over the membrane
COUNTED = "Gap, upstand and step count from the top of what is walked on, or of a bare membrane."
WEEPS_CLEAR = "The leaf may stand in snow, and no line lifts this for it: keep the weep holes clear."
APRON_LEG = 80.0  # mm, leg of an apron on the roof
BATTEN_SHORT = 8.0  # mm, battens below the mesh under a deck


def deck_at_wall(numbers: Numbers) -> Section:
    """The membrane of a deck, turned up the wall above what is walked on, under a metal apron."""
    return _turned_up(
        numbers, "deck_up", "deck", "Deck or balcony at the wall, upright section", "Deck membrane, turned up",
        walked=WALKED,
    )  # fmt: skip


def flat_roof_at_wall(numbers: Numbers) -> Section:
    """The membrane of a flat roof, turned up the wall under a metal apron."""
    return _turned_up(
        numbers, "step_flat", "flat-roof", "Flat roof against the wall, upright section", "Roof membrane, turned up"
    )  # fmt: skip


def _turned_up(
    numbers: Numbers,
    row: str,
    key: str,
    title: str,
    name: str,
    *,
    walked: float = 0.0,
) -> Section:
    """A membrane turned up the wall; of a deck ``walked`` is the top of what is walked on over it, from which its sizes count."""
    wall = wall_of(numbers)
    up = numbers.length(row)
    told = bool(walked) and numbers.has("deck_fall")
    fall = numbers.length("deck_fall") / 100 if told else FALL
    plane = wall.face if wall.masonry else -FILM  # a sheet of the wall's membrane hangs behind it
    foot = plane - FILM
    level = walked or -fall * (foot - wall.leaf_back)  # its face under the cladding
    start = walked  # from where the upstand counts
    upstand = start + up
    snow = None if wall.masonry else snow_over(numbers, level, upstand)
    left, right = plane - LONG, wall.room + 45
    top = level + numbers.length("snow_roof") if snow else upstand
    with_apron = not (walked and wall.masonry)
    cover = SHEET if with_apron else 0.0
    turned = Upstand(row, "apron", foot - cover, behind_cladding(numbers, level), upstand)
    lapped = hung_to(numbers, turned, snow)
    high = top_over(numbers, wall, foot, top) if wall.masonry else high_over(numbers, upstand, lapped)
    open_below = bool(walked) and not wall.masonry and numbers.has("floor_gap")  # it stands at a floor line
    low = -SLAB - BELOW_SLAB if open_below else -180.0
    way: list[Point] = [(foot, top), (foot, 0), (left - 15, -fall * (foot - left + 15))]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [
        *deck_floor(plane, left, -SLAB if open_below else low, fall, "concrete" if walked else "roof"),
        deck_membrane(
            way, name + (" as high as snow counts" if snow else ""), (row, *(("snow_roof",) if snow else ()))
        ),
    ]
    side: Literal["left", "right"] = "left" if wall.masonry else "right"
    dimensions = [Dimension(row, (foot, start), (foot, upstand), up, "y", side, name="apron" if snow else "")]
    if told:
        dimensions.append(
            Dimension("deck_fall", (foot, 0), (left, -fall * (foot - left)), 100 * fall, "fall %")
        )
    if open_below:
        end = -SLAB - numbers.length("floor_gap")
        dimensions.append(
            Dimension("floor_gap", (wall.face, end), (wall.face, -SLAB), -SLAB - end, "y", "left")
        )
    air: list[Point] = [(left + 5, high - 5)]
    notes: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    if with_apron:
        face, head = foot - SHEET, upstand - (0 if snow else 2)
        on = SHEET * sqrt(1 + fall * fall) - fall * SHEET
        bent = [(face, head), (face, APRON_CLEAR)] if walked else [(face, head), (face, on), (face - APRON_LEG, on - fall * APRON_LEG)]  # fmt: skip
        said = "down past what is walked on" if walked else "its leg on the roof"
        parts.append(
            Layer("apron", "metal", sheet(bent, SHEET), f"Metal apron over it, {said}", (row,), "deck membrane", water=True, order=5)
        )  # fmt: skip
        notes = (COUNTED,) if walked else ("No line sizes the apron's leg on the roof.",)
    if walked:
        parts += walked_on_it(left, foot - cover, 0.0, fall)
    drop = (foot - 3, -fall * 3)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(
            numbers, wall, low, high, foot=foot, bed=top, cover=cover
        )
        if not with_apron:
            name = TRAY_IN_LEAF.format("membrane")
            more = [replace(one, name=name) if one.key == "tray" else one for one in more]
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
        notes = (*notes, AS_OVER_OPENING, *(WEEPS_CLEAR,) * bool(numbers.length("snow_open", 0.0)))
    else:
        if not walked:
            conflicts = _short_lap(numbers, top - turned.edge, up)
        clad, gaps = over_roof(numbers, wall, level, high, lined=foot - cover - FILM)
        dimensions += gaps
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            *hung_and_over(wall, "deck" if walked else "roof", turned, lapped, low=low, high=high, strip=snow),
            *clad,
            *(_cladding_below(numbers, wall, low) if open_below else []),
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - 2 * FILM - cover) / 2, high - 3))
            if open_below:
                air.append(((wall.leaf_back + wall.skin) / 2, low + 3))
    return Section(
        key, title, "upright", (left - 40, low, right, high), tuple(parts), tuple(dimensions), outdoors=tuple(air),
        indoors=((right - 10, high - 5),), drop=drop, water_ends=("deck membrane", "membrane" if wall.film else "tray"), notes=notes,
        cut_off=left + 2, conflicts=conflicts,
    )  # fmt: skip


def _short_lap(numbers: Numbers, lap: float, up: float) -> tuple[Conflict, ...]:
    """Where what is turned up is too low for the sheet behind the cladding to lap it as far as sheets lap one another."""
    asked = numbers.length("lap_h")
    if lap >= asked:
        return ()
    said = f"The wall membrane laps that of the roof by {floor(lap)} mm, and {asked:g} mm are asked: take roof membrane and apron {ceil(up + asked - lap)} mm up the wall."
    return (Conflict(("step_flat", "lap_h"), said),)


def _cladding_below(numbers: Numbers, wall: Wall, low: float) -> list[Layer]:
    """What lies on the wall below a deck that is open below: cladding, clear of the deck's underside, with mesh behind the gap."""
    end = -SLAB - numbers.length("floor_gap")
    holder = "battens below" if wall.cavity else "membrane below"
    clad = cladding(wall, low, end, key="cladding below", carrier=holder)
    parts = [replace(clad, name="Cladding where the deck is open below, clear of its underside")]
    if wall.cavity:
        mesh = rectangle(wall.leaf_back - MESH, end, wall.leaf_back, -SLAB)
        parts += [
            battens(wall, low, end - BATTEN_SHORT, key="battens below", carrier="membrane below"),
            Layer("gap mesh", "mesh", mesh, "Mesh behind the gap", ("floor_gap", "mesh"), "cladding below",
                  cut=False, order=9),
        ]  # fmt: skip
    return parts


def deck_floor(
    plane: float, left: float, low: float, fall: float = FALL, material: str = "concrete"
) -> list[Layer]:
    """What carries a membrane that falls away from the wall at ``plane``, from ``left`` on and down to ``low``."""
    thick = FILM * (1 + fall * fall) ** 0.5
    outline = ((left, low), (plane, low), (plane, -thick), (left, -fall * (plane - FILM - left) - thick))
    return [
        Layer(
            "deck floor",
            material,
            outline,
            "Roof, falling away from the wall" if material == "roof" else "Deck, falling away from the wall",
            (),
            order=5,
        )
    ]


def deck_membrane(way: list[Point], name: str, rows: tuple[str, ...]) -> Layer:
    """A membrane laid on the deck and turned up."""
    return Layer("deck membrane", "membrane", sheet(way, FILM), name, rows, "deck floor", water=True, order=5)
