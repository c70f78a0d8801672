"""A deck or balcony at the wall and at its door, upright sections."""

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
from exposure.junction.scene import FILM, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import HEIGHT

FALL = 0.015
LONG = 260.0
THICK = 60.0
BEHIND = 6.0
TILE = 20.0  # mm, what is walked on
LEDGER = 150.0
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
    foot = plane - FILM
    left, right = plane - LONG, wall.room + 45
    top = up
    high, low = (
        top_over(numbers, wall, foot, top) if wall.masonry else top + 120 + higher_for_snow(numbers),
        -180.0,
    )
    way: list[Point] = [(foot, top), (foot, 0), (left - 15, -fall * (foot - left + 15))]
    if wall.masonry:
        way = [let_in(wall, foot, top), *way]
    parts = [*_floor(plane, left, low, fall), _membrane(way, name, (row,))]
    dimensions = [Dimension(row, (foot, 0), (foot, top), up, "y", "left" if wall.masonry else "right")]
    if told:
        dimensions.append(
            Dimension("deck_fall", (foot, 0), (left, -fall * (foot - left)), 100 * fall, "fall %")
        )
    air: list[Point] = [(left + 5, high - 5)]
    cover = 0.0
    if apron:
        cover = FILM
        parts.append(
            Layer("apron", "metal", rectangle(foot - FILM, APRON_FOOT, foot, top - 2), "Metal apron over it", (row,), "deck membrane",
                  water=True, order=5)
        )  # fmt: skip
    drop = (foot - 3, -fall * 3)
    if wall.masonry:
        more, sizes, cavities, drop = leaf_with_tray(numbers, wall, low, high, foot=foot, bed=top)
        parts, dimensions, air = [*parts, *more], [*dimensions, *sizes], [*air, *cavities]
        notes = (*notes, AS_OVER_OPENING)
    else:
        edge, jog = (APRON_FOOT + 15 if apron else BEHIND), top + 8
        clad, gaps = over_roof(numbers, wall, -fall * (foot - wall.leaf_back), high)
        dimensions += gaps
        film = sheet(
            [(-FILM, high), (-FILM, jog), (-2 * FILM - cover, jog - 5), (-2 * FILM - cover, edge)], FILM
        )
        holder = "apron" if apron else "deck membrane"
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            Layer("membrane", "membrane", film, "Wall membrane, over what is turned up", (row,), holder, water=True, order=5),
            *clad,
        ]  # fmt: skip
        if wall.cavity:
            air.append(((wall.leaf_back - 2 * FILM - cover) / 2, high - 3))
    return Section(
        key, title, "upright", (left - 40, low, right, high), tuple(parts), tuple(dimensions), outdoors=tuple(air),
        indoors=((right - 10, high - 5),), drop=drop, water_ends=("deck membrane", "membrane" if wall.film else "tray"), notes=notes,
    )  # fmt: skip


def slatted_deck(numbers: Numbers) -> Section:
    """The ledger of a slatted deck, held off the cladding."""
    wall = wall_of(numbers)
    off = numbers.length("deck_slats")
    high, low = 190.0, -260.0
    left, right = wall.face - off - 230, wall.room + 45
    edge = wall.face - off
    fixing = -LEDGER / 2
    slats = [
        Layer(f"slat {place}", "deck", rectangle(edge - 100 * place - 92, 0, edge - 100 * place, 28), "Slats with gaps" if place == 0 else "", (),
              "ledger" if place == 0 else "joist", cut=place == 0, order=5)
        for place in range(2)
    ]  # fmt: skip
    parts = [
        *core(wall, low, high),
        lining(wall, low, high),
        cladding(wall, low, high, carrier="" if wall.masonry else "battens" if wall.cavity else "membrane"),
        Layer("ledger", "timber", rectangle(edge - 45, -LEDGER, edge, 0), "Ledger", ("deck_slats",), "post" if wall.masonry else "spacer", order=5),
        Layer("joist", "batten", rectangle(left, -LEDGER, edge - 45, 0), "", (), "ledger", cut=False),
        *slats,
    ]  # fmt: skip
    if wall.masonry:  # a leaf on ties carries no deck
        parts.append(
            Layer("post", "batten", rectangle(edge - 90, low, edge, -LEDGER), "Post, beyond the cut; nothing hangs on the leaf", ("ledger_leaf",),
                  cut=False, order=5)
        )  # fmt: skip
    else:
        parts.append(
            Layer("spacer", "fixing", rectangle(edge, fixing - 12, wall.face, fixing + 12), "Spacer and fixing, beyond the cut; each sealed to the membrane",
                  ("ledger_seal",), "cladding", cut=False, order=5)
        )  # fmt: skip
    if wall.film:
        parts.append(membrane(wall, low, high, rows=("mem_class",)))
    if wall.cavity and not wall.masonry:
        parts += [
            battens(wall, low, high),
            Layer("block", "packer", ((wall.leaf_back, fixing - BLOCK), (wall.skin, fixing - BLOCK), (wall.skin, fixing + BLOCK),
                                      (wall.leaf_back, fixing + BLOCK - BLOCK_FALL * wall.cavity)),
                  "Solid block behind the spacer, on framing", ("ledger_block",), "membrane", cut=False, order=5),
        ]  # fmt: skip
    air: list[Point] = [(left + 5, high - 5), (wall.face - off / 2, low + 5)]
    if wall.cavity:
        air.append(((wall.leaf_back + wall.skin) / 2, low + 3))
    return Section(
        "deck-slats", "Slatted deck at the wall, upright section", "upright", (left, low, right, high), tuple(parts),
        (Dimension("deck_slats", (edge, -LEDGER), (wall.face, -LEDGER), off, "x", "bottom"),), outdoors=tuple(air),
        indoors=((right - 10, high - 5),), water_ends=("membrane",) if wall.film else (),
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
        water_ends=("deck membrane", "door"),
    )  # fmt: skip


def _floor(plane: float, left: float, low: float, fall: float = FALL) -> list[Layer]:
    thick = FILM * (1 + fall * fall) ** 0.5
    outline = ((left, low), (plane, low), (plane, -thick), (left, -fall * (plane - FILM - left) - thick))
    return [Layer("deck floor", "concrete", outline, "Deck or roof, falling away from the wall", ())]


def _membrane(way: list[Point], name: str, rows: tuple[str, ...]) -> Layer:
    """A membrane laid on the deck and turned up."""
    return Layer(
        "deck membrane", "damp course", sheet(way, FILM), name, rows, "deck floor", water=True, order=5
    )
