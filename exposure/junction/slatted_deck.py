"""A slatted deck at the wall and at its door, upright sections."""

from dataclasses import replace
from math import sqrt
from typing import TypeAlias

from exposure.junction.build_up import (
    BEHIND,
    CLOSE_UNDER,
    WITHOUT_MESH,
    Wall,
    battens,
    cladding,
    core,
    lining,
    membrane,
    wall_of,
)
from exposure.junction.numbers import Numbers
from exposure.junction.scene import (
    FILM,
    SHEET,
    Dimension,
    Layer,
    Point,
    Section,
    rectangle,
    sheet,
    taken_down,
    without,
)
from exposure.junction.threshold import BACK, threshold

LEDGER, LEDGER_THICK = 150.0, 45.0
UNDER_SLATS, LEDGER_LIP = (
    5.0,
    14.0,
)  # mm, flashing under the slats over the ledger, and its edge down before it
BLOCK = 30.0  # mm, half the height of the block behind a spacer
BLOCK_FALL = 0.15
BOLT, BOLT_END = 8.0, 12.0  # mm, thickness of a bolt, and its length past a washer
FRAMING, FRAMING_THICK = 190.0, 45.0  # mm, upright and across; the engineer sizes it
SEAL, SEALED = 5.0, 12.0  # mm, sealant round a bolt before the membrane, and half its height
WASHER, WASHER_WIDE, NUT, NUT_WIDE = 4.0, 40.0, 7.0, 14.0
AT_A_DOOR = "At a door the ledger stops at both sides of the jambs: the leg of its flashing would lie where tray and sill support are. The deck before it stands on posts of its own."
HANGER, PLATE = 45.0, 3.0  # mm, seat of a joist's hanger; its maker sizes it
AT_A_LEVEL_DOOR = "At a level door the ledger stops at both sides of jambs and channel. The deck before it stands on posts of its own, the channel on a kerb or bearer of concrete; the slats end at the grating."
GRATING_GAP = 6.0  # mm, slats before a grating


def slatted_deck(numbers: Numbers) -> Section:
    """The ledger of a slatted deck, held off the cladding, under its flashing."""
    wall = wall_of(numbers)
    off = numbers.length("deck_slats")
    edge = wall.face - off
    left, right = edge - 230, wall.room + 45
    low = -260.0
    made = _ledger_on_posts(wall, edge, low) if wall.masonry else _ledger_on_wall(numbers, wall, edge, low)
    parts, sizes, air, high, drop = made
    slats = [
        Layer(f"slat {place}", "deck", rectangle(edge - 100 * place - 92, 0, edge - 100 * place, 28), "Slats with gaps" if place == 0 else "", (),
              "joist", cut=place == 0, order=5)
        for place in range(2)
    ]  # fmt: skip
    joist = Layer(
        "joist",
        "batten",
        rectangle(left, -LEDGER, edge - LEDGER_THICK, 0),
        "Joist, seen beyond",
        (),
        "ledger",
        cut=False,
        order=5,
    )
    return Section(
        "deck-slats", "Slatted deck at the wall, upright section", "upright", (left, low, right, high), (*parts, joist, *_hanger(wall, edge - LEDGER_THICK), *slats),
        (Dimension("deck_slats", (edge, -LEDGER), (wall.face, -LEDGER), off, "x", "bottom"), *sizes),
        outdoors=((left + 5, high - 5), (wall.face - off / 2, low + 5), *air), indoors=((right - 10, high - 5),), drop=drop,
        water_ends=(("flashing", "membrane") if drop else ("membrane",)) if wall.film else (),
        notes=() if wall.masonry else ("The engineer sizes ledger, bolts, hangers and framing.",),
        warnings=_at_a_door(numbers, wall),
    )  # fmt: skip


def _at_a_door(numbers: Numbers, wall: Wall) -> tuple[str, ...]:
    """Where the ledger ends beside a door of the wall."""
    if numbers.has("door_level"):
        return (AT_A_LEVEL_DOOR,)
    return (AT_A_DOOR,) if numbers.has("door_sill") and not wall.masonry else ()


def _hanger(wall: Wall, face: float) -> list[Layer]:
    """What a joist hangs in on a ledger; on posts it may lie on a bearer."""
    if wall.masonry:
        return []
    way = [(face, -LEDGER / 3), (face, -LEDGER), (face - HANGER, -LEDGER)]
    return [Layer("hanger", "bracket", sheet(way, -PLATE), "Hanger of each joist, by its maker", (), "ledger", cut=False, order=5)]  # fmt: skip


Made: TypeAlias = tuple[list[Layer], list[Dimension], list[Point], float, Point | None]


def _ledger_on_posts(wall: Wall, edge: float, low: float) -> Made:
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
    close = min(gap, WITHOUT_MESH)
    foot, lip = -SHEET, edge - LEDGER_THICK - SHEET
    slope = numbers.length("head_slope") / 100  # as every flashing across the cavity
    out = -UNDER_SLATS - slope * (edge - lip)  # the flashing over the outer edge of the ledger
    bend = out + slope * (foot - lip)
    under = SHEET * sqrt(1 + slope * slope)
    first, top = bend + BEHIND, bend + BEHIND + up
    jog, high = top + 8, top + 110
    film = sheet([(-FILM, high), (-FILM, jog), (-SHEET - FILM, jog - 5), (-SHEET - FILM, first)], FILM)

    def over(x: float) -> float:
        return out + slope * (x - lip)

    fixing = -LEDGER / 2
    behind = wall.core_face + FRAMING_THICK
    held, held_below = ("battens", "battens below") if wall.cavity else ("membrane", "membrane below")
    end = over(wall.face) - under - close
    below = replace(cladding(wall, low, end, key="cladding below", carrier=held_below), name=CLOSE_UNDER)
    edge_of_top = min(x for x, y in below.outline if y == end)
    rest = over(edge_of_top) - over(wall.face)  # a lapped board is thinner there
    below = replace(below, outline=tuple((x, y + rest if y == end else y) for x, y in below.outline))
    parts = [
        *_core_with_framing(wall, low, high, fixing),
        lining(wall, low, high),
        Layer("membrane", "membrane", film, "Membrane, over the flashing", ("ledger_flash",), "flashing", water=True, order=5),
        membrane(wall, low, bend - under - 4, key="membrane below", rows=("mem_class",)),
        Layer("flashing", "metal", sheet([(foot, top), (foot, bend), (lip, out), (lip, out - LEDGER_LIP)], SHEET), "Flashing over the ledger, falling as over a window",
              ("ledger_flash",), "core board" if wall.board else "core", water=True, order=5),
        cladding(wall, over(wall.leaf_back) + gap, high, carrier=held),
        replace(below, name=CLOSE_UNDER.replace("below", "below, or the base sheet as high as snow asks it")) if numbers.has("snow_base") else below,
        Layer("ledger", "timber", rectangle(edge - LEDGER_THICK, -LEDGER, edge, out - under), "Ledger", ("deck_slats",), "spacer", order=5),
        Layer("spacer", "fixing", rectangle(edge, fixing - 12, wall.face, fixing + 12), "Spacer and bolt, beyond the cut",
              ("ledger_seal",), "cladding below", cut=False, order=5),
        Layer("bolt", "tie", rectangle(edge - LEDGER_THICK - PLATE - BOLT_END, fixing - BOLT / 2, behind + BOLT_END, fixing + BOLT / 2), "", (), "spacer",
              cut=False, order=5),
        _washer("washer outside", edge - LEDGER_THICK - PLATE, fixing, -1.0),
        _washer("washer", behind, fixing, 1.0, name="Washer and nut on the back of the framing"),
    ]  # fmt: skip
    air: list[Point] = []
    if wall.cavity:
        parts += [
            battens(wall, over(wall.leaf_back) + gap + 10, high),
            battens(wall, low, end - 8, key="battens below", carrier="membrane below"),
            Layer("block", "packer", ((wall.leaf_back, fixing - BLOCK), (wall.skin, fixing - BLOCK), (wall.skin, fixing + BLOCK),
                                      (wall.leaf_back, fixing + BLOCK - BLOCK_FALL * wall.cavity)),
                  "Solid block from cladding to membrane, framing behind it", ("ledger_block",), "membrane below", cut=False, order=5),
        ]  # fmt: skip
        air = [((wall.leaf_back - SHEET - FILM) / 2, high - 3), ((wall.leaf_back + wall.skin) / 2, low + 3)]
    parts.append(
        Layer(
            "bolt seal",
            "sealant",
            rectangle(max(wall.leaf_back, wall.skin - SEAL), fixing - SEALED, wall.skin, fixing + SEALED),
            "Sealant round each bolt, at the membrane",
            ("ledger_seal",),
            "membrane below",
            cut=False,
            order=5,
        )
    )
    sizes = [
        Dimension("ledger_flash", (foot - FILM, first), (foot, top), up, "y", "right"),
        Dimension("head_slope", (foot, bend), (lip, out), slope * 100, "fall %"),
    ]
    return parts, sizes, air, high, (-SHEET - FILM, first + 10)


def _core_with_framing(wall: Wall, low: float, high: float, middle: float) -> tuple[Layer, ...]:
    """The wall's layers, with the framing that a ledger is bolted to let into the insulation."""
    face, back = wall.core_face, wall.core_face + FRAMING_THICK
    foot, top = middle - FRAMING / 2, middle + FRAMING / 2
    whole, *boards = core(wall, low, high)
    around = (
        (face, low),
        (wall.core_back, low),
        (wall.core_back, high),
        (face, high),
        (face, top),
        (back, top),
        (back, foot),
        (face, foot),
    )
    return (
        replace(whole, outline=around),
        Layer("framing", "timber", rectangle(face, foot, back, top), "Framing: the floor's edge, or blocking fixed between the studs", (), "core", order=1),
        *boards,
    )  # fmt: skip


def _washer(key: str, face: float, middle: float, out: float, *, name: str = "") -> Layer:
    """Washer and nut on ``face``, to the side that ``out`` gives."""
    wide, nut = WASHER_WIDE / 2, NUT_WIDE / 2
    over, end = face + out * WASHER, face + out * (WASHER + NUT)
    outline = (
        (face, middle - wide), (over, middle - wide), (over, middle - nut), (end, middle - nut), (end, middle + nut), (over, middle + nut),
        (over, middle + wide), (face, middle + wide),
    )  # fmt: skip
    return Layer(key, "tie", outline, name, (), "bolt", cut=False, order=5)


def slats_at_door(numbers: Numbers) -> Section:
    """The step from the floor at a door down to slats near the ground."""
    own = {
        row: value for row, value in numbers.values.items() if row not in ("snow_open", "paved")
    }  # the slats are its landing, and no paving comes up to it
    door = threshold(replace(numbers, values=own))
    down = numbers.length("deck_slats_down")
    level, parts, warnings = numbers.has("door_level"), door.layers, door.warnings
    sizes: tuple[Dimension, ...] = ()
    if level:  # the slats end at the grating, and are no step lower
        grating, parts = door.layer("grating"), without(parts, "paving")
        edge, top = min(x for x, _ in grating.outline) - GRATING_GAP, max(y for _, y in grating.outline)
        warnings = (
            *warnings,
            f"Drawn at a level door; at any other the slats lie {down:g} mm below the floor.",
        )
    else:
        face, top = min(x for layer in parts for x, _ in layer.outline), BACK - down
        edge = face - numbers.length("deck_slats", 12.0)
        inner = max(x for layer in parts if layer.key == "floor" for x, _ in layer.outline)
        sizes = (Dimension("deck_slats_down", (edge, top), (inner, BACK), down, "y", "left"),)
    left, _, right, high = door.box
    left, low = min(left, edge - 200), min(door.box[1], top - 28 - LEDGER)
    parts = tuple(taken_down(layer, door.box[1], low) for layer in parts)
    slats = [
        Layer(f"slat {place}", "deck", rectangle(edge - 100 * place - 92, top - 28, edge - 100 * place, top),
              ("Slats with gaps" + (", ending at the grating" if level else "")) if place == 0 else "",
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
    return replace(
        door, key="slats-door", title="Slatted deck at a door, upright section", box=(left, low, right, high),
        layers=(*parts, joist, *slats), dimensions=sizes, warnings=warnings, notes=(*door.notes, "What carries the slats is not drawn; the sizes of the tray stand in the drawing of the threshold."),
    )  # fmt: skip
