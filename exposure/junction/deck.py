"""A deck or balcony at the wall and at its door, upright sections."""

from dataclasses import replace
from typing import TypeAlias

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
from exposure.junction.threshold import BACK, threshold
from exposure.junction.window import HEIGHT

FALL = 0.015
LONG = 260.0
THICK = 60.0
BEHIND = 6.0
TILE = 20.0  # mm, what is walked on
LEDGER, LEDGER_THICK = 150.0, 45.0
LEDGER_FALL, LEDGER_DOWN, LEDGER_LIP = 0.05, 8.0, 14.0  # of its flashing, under the slats
BLOCK = 30.0  # mm, half the height of the block behind a spacer
BLOCK_FALL = 0.15
APRON_FOOT = 40.0
PACK = 12.0
REACH = 78.0  # mm, membrane under the door sill
RISE = 3.0


def deck_at_wall(numbers: Numbers) -> Section:
    """The membrane of a deck, turned up the wall."""
    return _turned_up(
        numbers, "deck_up", "deck", "Deck or balcony at the wall, upright section", "Deck membrane, turned up",
        notes=("What is walked on stands on supports over the membrane and is not drawn.",),
    )  # fmt: skip


def flat_roof_at_wall(numbers: Numbers) -> Section:
    """The membrane of a flat roof, turned up the wall under a metal apron."""
    return _turned_up(
        numbers, "step_flat", "flat-roof", "Flat roof against the wall, upright section", "Roof membrane, turned up", apron=True
    )  # fmt: skip


def _turned_up(
    numbers: Numbers,
    row: str,
    key: str,
    title: str,
    name: str,
    *,
    apron: bool = False,
    notes: tuple[str, ...] = (),
) -> Section:
    wall = wall_of(numbers)
    up = numbers.length(row)
    told = row == "deck_up" and numbers.has("deck_fall")
    fall = numbers.length("deck_fall") / 100 if told else FALL
    plane = wall.face if wall.masonry else 0.0
    roof = -fall * (plane - FILM - wall.leaf_back)  # its face under the cladding
    snow = None if wall.masonry else snow_over(numbers, roof, up)
    second = (
        FILM if snow and not apron else 0.0
    )  # a sheet of its own goes as high as the snow, or the one that is turned up does
    foot = plane - second - FILM
    left, right = plane - LONG, wall.room + 45
    top = snow if snow and apron else up
    high, low = (
        top_over(numbers, wall, foot, top) if wall.masonry else up + 120 + higher_for_snow(numbers),
        -180.0,
    )
    way: list[Point] = [(foot, top), (foot, 0), (left - 15, -fall * (foot - left + 15))]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [*_floor(plane, left, low, fall, "roof" if apron else "concrete"), _membrane(way, name, (row,))]
    dimensions = [
        Dimension(
            row,
            (foot, 0),
            (foot, up),
            up,
            "y",
            "left" if wall.masonry else "right",
            name="apron" if snow and apron else "",
        )
    ]
    if told:
        dimensions.append(
            Dimension("deck_fall", (foot, 0), (left, -fall * (foot - left)), 100 * fall, "fall %")
        )
    air: list[Point] = [(left + 5, high - 5)]
    cover = 0.0
    if apron:
        cover = FILM
        parts.append(
            Layer("apron", "metal", rectangle(foot - FILM, APRON_FOOT, foot, up - (0 if snow else 2)), "Metal apron over it", (row,), "deck membrane",
                  water=True, order=5)
        )  # fmt: skip
    drop = (foot - 3, -fall * 3)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(numbers, wall, low, high, foot=foot, bed=top)
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
        notes = (*notes, AS_OVER_OPENING)
    else:
        edge = APRON_FOOT + 15 if apron else BEHIND
        clad, gaps = over_roof(numbers, wall, roof, high)
        dimensions += gaps
        holder = "apron" if apron else "deck membrane"
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            *over_upstand(wall, "Wall membrane, over what is turned up", Upstand(row, holder, foot - cover, edge, top), high=high,
                          snow=snow if second else None),
            *clad,
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - 2 * FILM - cover) / 2, high - 3))
    return Section(
        key, title, "upright", (left - 40, low, right, high), tuple(parts), tuple(dimensions), outdoors=tuple(air),
        indoors=((right - 10, high - 5),), drop=drop, water_ends=("deck membrane", "membrane" if wall.film else "tray"), notes=notes,
        cut_off=left + 2,
    )  # fmt: skip


def slatted_deck(numbers: Numbers) -> Section:
    """The ledger of a slatted deck, held off the cladding, under its flashing."""
    wall = wall_of(numbers)
    off = numbers.length("deck_slats")
    edge = wall.face - off
    left, right = edge - 230, wall.room + 45
    low = -260.0
    made = (
        _ledger_on_posts(numbers, wall, edge, low)
        if wall.masonry
        else _ledger_on_wall(numbers, wall, edge, low)
    )
    parts, sizes, air, high, drop = made
    slats = [
        Layer(f"slat {place}", "deck", rectangle(edge - 100 * place - 92, 0, edge - 100 * place, 28), "Slats with gaps" if place == 0 else "", (),
              "joist", cut=place == 0, order=5)
        for place in range(2)
    ]  # fmt: skip
    joist = Layer(
        "joist", "batten", rectangle(left, -LEDGER, edge - LEDGER_THICK, 0), "", (), "ledger", cut=False
    )
    return Section(
        "deck-slats", "Slatted deck at the wall, upright section", "upright", (left, low, right, high), (*parts, joist, *slats),
        (Dimension("deck_slats", (edge, -LEDGER), (wall.face, -LEDGER), off, "x", "bottom"), *sizes),
        outdoors=((left + 5, high - 5), (wall.face - off / 2, low + 5), *air), indoors=((right - 10, high - 5),), drop=drop,
        water_ends=(("flashing", "membrane") if drop else ("membrane",)) if wall.film else (),
    )  # fmt: skip


Made: TypeAlias = tuple[list[Layer], list[Dimension], list[Point], float, Point | None]


def _ledger_on_posts(numbers: Numbers, wall: Wall, edge: float, low: float) -> Made:
    """A leaf on ties carries no deck: the ledger stands on posts."""
    high = 190.0
    parts = [
        *core(wall, low, high),
        lining(wall, low, high),
        cladding(wall, low, high),
        Layer("ledger", "timber", rectangle(edge - LEDGER_THICK, -LEDGER, edge, 0), "Ledger", ("deck_slats",), "post", order=5),
        Layer("post", "batten", rectangle(edge - 90, low, edge, -LEDGER), "Post, beyond the cut; nothing hangs on the leaf", ("ledger_leaf",),
              cut=False, order=5),
        *([membrane(wall, low, high, rows=("mem_class",))] if wall.film else []),
    ]  # fmt: skip
    return parts, [], [((wall.leaf_back + wall.skin) / 2, low + 3)], high, None


def _ledger_on_wall(numbers: Numbers, wall: Wall, edge: float, low: float) -> Made:
    """The ledger on spacers before the cladding, its flashing up behind the membrane."""
    up, gap = numbers.length("ledger_flash"), numbers.length("clad_gap", 5.0)
    foot, lip = -SHEET, edge - LEDGER_THICK - SHEET
    out = -LEDGER_DOWN  # the flashing over the outer edge of the ledger
    bend = out + LEDGER_FALL * (foot - lip)
    under = SHEET * (1 + LEDGER_FALL**2) ** 0.5
    first, top = bend + BEHIND, bend + BEHIND + up
    jog, high = top + 8, top + 110
    film = sheet([(-FILM, high), (-FILM, jog), (-SHEET - FILM, jog - 5), (-SHEET - FILM, first)], FILM)

    def over(x: float) -> float:
        return out + LEDGER_FALL * (x - lip)

    fixing = -LEDGER / 2
    held, held_below = ("battens", "battens below") if wall.cavity else ("membrane", "membrane below")
    end = over(wall.face) - under - gap
    parts = [
        *core(wall, low, high),
        lining(wall, low, high),
        Layer("membrane", "membrane", film, "Membrane, over the flashing", ("ledger_flash",), "flashing", water=True, order=5),
        membrane(wall, low, bend - under - 4, key="membrane below", rows=("mem_class",)),
        Layer("flashing", "metal", sheet([(foot, top), (foot, bend), (lip, out), (lip, out - LEDGER_LIP)], SHEET), "Flashing over the ledger",
              ("ledger_flash",), "core board" if wall.board else "core", water=True, order=5),
        cladding(wall, over(wall.leaf_back) + gap, high, carrier=held),
        cladding(wall, low, end, key="cladding below", carrier=held_below),
        Layer("ledger", "timber", rectangle(edge - LEDGER_THICK, -LEDGER, edge, out - under), "Ledger", ("deck_slats",), "spacer", order=5),
        Layer("spacer", "fixing", rectangle(edge, fixing - 12, wall.face, fixing + 12), "Spacer and fixing, beyond the cut; each sealed to the membrane",
              ("ledger_seal",), "cladding below", cut=False, order=5),
    ]  # fmt: skip
    air: list[Point] = []
    if wall.cavity:
        parts += [
            battens(wall, over(wall.leaf_back) + gap + 10, high),
            battens(wall, low, end - 8, key="battens below", carrier="membrane below"),
            Layer("block", "packer", ((wall.leaf_back, fixing - BLOCK), (wall.skin, fixing - BLOCK), (wall.skin, fixing + BLOCK),
                                      (wall.leaf_back, fixing + BLOCK - BLOCK_FALL * wall.cavity)),
                  "Solid block behind the spacer, on framing", ("ledger_block",), "membrane below", cut=False, order=5),
        ]  # fmt: skip
        air = [((wall.leaf_back - SHEET - FILM) / 2, high - 3), ((wall.leaf_back + wall.skin) / 2, low + 3)]
    size = Dimension("ledger_flash", (foot - FILM, first), (foot, top), up, "y", "right")
    return parts, [size], air, high, (-SHEET - FILM, first + 10)


def slats_at_door(numbers: Numbers) -> Section:
    """The step from the floor at a door down to slats near the ground."""
    door = threshold(numbers)
    down = numbers.length("deck_slats_down")
    face, top = min(x for layer in door.layers for x, _ in layer.outline), BACK - down
    edge = face - numbers.length("deck_slats", 12.0)
    left, _, right, high = door.box
    left, low = min(left, edge - 200), min(door.box[1], top - 28 - LEDGER)
    slats = [
        Layer(f"slat {place}", "deck", rectangle(edge - 100 * place - 92, top - 28, edge - 100 * place, top), "Slats with gaps" if place == 0 else "",
              ("deck_slats_down",) if place == 0 else (), "joist", order=5)
        for place in range(2)
    ]  # fmt: skip
    joist = Layer(
        "joist",
        "batten",
        rectangle(edge - 200, top - 28 - LEDGER, edge, top - 28),
        "Joist, seen beyond",
        (),
        "",
        cut=False,
        order=5,
    )
    inner = max(x for layer in door.layers if layer.key == "floor" for x, _ in layer.outline)
    size = Dimension("deck_slats_down", (edge, top), (inner, BACK), down, "y", "left")
    return replace(
        door, key="slats-door", title="Slatted deck at a door, upright section", box=(left, low, right, high),
        layers=(*door.layers, joist, *slats), dimensions=(size,), notes=(*door.notes, "What carries the slats is not drawn; the sizes of the tray stand in the drawing of the threshold."),
    )  # fmt: skip


def deck_at_door(numbers: Numbers) -> Section:
    """The step from the floor at a door down to the deck."""
    wall = wall_of(numbers)
    step = numbers.length("deck_step")
    plane = wall.face if wall.masonry else 0.0
    foot = plane - FILM
    left, right = plane - LONG, wall.room + 60
    low, high = -180.0, step + 190
    lip = PACK
    way: list[Point] = [
        (plane + REACH, step + RISE + FILM),
        (foot, step + FILM),
        (foot, 0),
        (left - 15, -FALL * (foot - left + 15)),
    ]
    frame = foot + 12
    parts = [
        *_floor(plane, left, low),
        Layer("floor", "concrete", ((plane, low), (right, low), (right, step + RISE - 0.1), (plane + REACH, step + RISE - 0.1), (plane, step - 0.1)),
              "Floor", ("deck_step",)),
        Layer("deck membrane", "damp course", sheet(way, FILM), "Deck membrane, up and under the door sill", ("deck_step",), "floor",
              water=True, order=5),
        Layer("packer", "packer", rectangle(plane + 30, step + RISE + FILM, plane + 50, step + lip), "", (), "deck membrane", cut=False),
        Layer("frame", "frame", ((frame, step + lip), (frame + 70, step + lip), (frame + 70, step + lip + HEIGHT),
                                 (frame + 6, step + lip + HEIGHT), (frame, step + lip + HEIGHT - 4)),
              "Door sill", (), "packer", water=True, order=5),
        Layer("seal", "sealant", rectangle(plane + REACH - 12, step + RISE + FILM, plane + REACH, step + lip), "Seal under the door sill", (), "deck membrane", water=True,
              order=5),
        Layer("door", "frame", rectangle(frame + 3, step + lip + HEIGHT, frame + 60, high), "Door", (), "frame", water=True),
    ]  # fmt: skip
    dimensions = [Dimension("deck_step", (foot, 0), (foot, step), step, "y", "left")]
    return Section(
        "deck-door", "Deck at a door, upright section", "upright", (left - 40, low, right, high), tuple(parts), tuple(dimensions),
        outdoors=((left + 5, high - 5),), indoors=((right - 10, high - 5),), drop=(foot, step / 2),
        water_ends=("deck membrane", "door"), cut_off=left + 2,
    )  # fmt: skip


def _floor(
    plane: float, left: float, low: float, fall: float = FALL, material: str = "concrete"
) -> list[Layer]:
    thick = FILM * (1 + fall * fall) ** 0.5
    outline = ((left, low), (plane, low), (plane, -thick), (left, -fall * (plane - FILM - left) - thick))
    return [Layer("deck floor", material, outline, "Deck or roof, falling away from the wall", ())]


def _membrane(way: list[Point], name: str, rows: tuple[str, ...]) -> Layer:
    """A membrane laid on the deck and turned up."""
    return Layer(
        "deck membrane", "damp course", sheet(way, FILM), name, rows, "deck floor", water=True, order=5
    )
