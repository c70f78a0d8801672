"""A deck or balcony at the wall and at its door, upright sections."""

from exposure.junction.build_up import battens, cladding, core, lining, wall_of
from exposure.junction.numbers import Numbers
from exposure.junction.roofs import flashed_leaf
from exposure.junction.scene import FILM, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import HEIGHT

FALL = 0.015
LONG = 260.0
THICK = 60.0
BEHIND = 6.0
TILE = 20.0  # mm, what is walked on
PACK = 12.0
REACH = 78.0  # mm, membrane under the door sill
RISE = 3.0


def deck_at_wall(numbers: Numbers) -> Section:
    """The membrane of a deck, turned up the wall."""
    wall = wall_of(numbers)
    up = numbers.length("deck_up")
    plane = wall.face if wall.masonry else 0.0
    foot = plane - FILM
    left, right = plane - LONG, wall.room + 45
    bend = 0.0
    top = bend + up
    high, low = top + 120, -180.0
    way: list[Point] = [(foot, top), (foot, bend), (left - 15, bend - FALL * (foot - left + 15))]
    if wall.masonry:
        way = [(plane + 25.0, top), *way]
    parts = [*_floor(plane, left, low), _membrane(way, ("deck_up",))]
    dimensions = [
        Dimension("deck_up", (foot, bend), (foot, top), up, "y", "right" if not wall.masonry else "left")
    ]
    air: list[Point] = [(left + 5, high - 5)]
    if wall.masonry:
        parts += flashed_leaf(wall, low, high, top)
    else:
        gap = numbers.length("roof_gap", 35.0)
        edge, jog = BEHIND, top + 8
        clad = -FALL * (foot - wall.leaf_back) + gap
        film = sheet([(-FILM, high), (-FILM, jog), (-2 * FILM, jog - 5), (-2 * FILM, edge)], FILM)
        parts += [
            *core(wall, low, high),
            lining(wall, low, high),
            Layer("membrane", "membrane", film, "Wall membrane, over the deck's", ("deck_up",), "deck membrane", water=True, order=5),
            cladding(wall, clad, high, carrier="battens" if wall.cavity else "membrane"),
            *([battens(wall, clad + 10, high)] if wall.cavity else []),
        ]  # fmt: skip
        if "roof_gap" in numbers.values:
            dimensions.append(
                Dimension("roof_gap", (wall.leaf_back, clad - gap), (wall.leaf_back, clad), gap, "y", "left")
            )
        if wall.cavity:
            air.append(((wall.leaf_back - 2 * FILM) / 2, high - 3))
    return Section(
        "deck", "Deck or balcony at the wall, upright section", "upright", (left - 40, low, right, high), tuple(parts), tuple(dimensions),
        outdoors=tuple(air), indoors=((right - 10, high - 5),), drop=(foot - 3, -FALL * 3),
        water_ends=("deck membrane", "membrane") if not wall.masonry else (),
        notes=("What is walked on stands on supports over the membrane and is not drawn.",),
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


def _floor(plane: float, left: float, low: float) -> list[Layer]:
    thick = FILM * (1 + FALL * FALL) ** 0.5
    outline = ((left, low), (plane, low), (plane, -thick), (left, -FALL * (plane - FILM - left) - thick))
    return [Layer("deck floor", "concrete", outline, "Deck, falling away from the wall", ("deck_step",))]


def _membrane(way: list[Point], rows: tuple[str, ...]) -> Layer:
    return Layer(
        "deck membrane",
        "damp course",
        sheet(way, FILM),
        "Deck membrane, turned up",
        rows,
        "deck floor",
        water=True,
        order=5,
    )
