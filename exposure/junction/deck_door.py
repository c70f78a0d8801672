"""A door to a closed deck or balcony, upright sections."""

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from typing import NamedTuple

from exposure.detail.beside import beside
from exposure.junction.build_up import (
    Wall,
    membrane,
    wall_of,
)
from exposure.junction.deck import FALL, LONG, deck_floor
from exposure.junction.leaf import BED_FALL
from exposure.junction.numbers import Numbers
from exposure.junction.scene import (
    FILM,
    SHEET,
    Conflict,
    Dimension,
    Layer,
    Point,
    Section,
    moved,
    sheet,
    taken_down,
)
from exposure.junction.sill import CLEAR_OF_SILL, COVER_FALL, COVER_LIP, from_groove
from exposure.junction.step_bracket import packer_on_leaf, step_bracket
from exposure.junction.support import support_asked
from exposure.junction.threshold import (
    BACK,
    DOOR,
    INSIDE,
    LIP,
    OFF_LEAF,
    door_frame,
    door_on_tray,
    floor_of,
    pushed_over_the_back,
    threshold,
)
from exposure.junction.walked_on import WALKED, walked_on_at_door
from exposure.junction.window import PACKER

BEFORE_LEAF = 200.0  # mm of deck at a door before a leaf, for cavity and leaf stand between
THICK = 60.0
AT_A_SLAB = "Drawn at a slab, as the threshold is; an edge of timber is recessed alike, its boards behind the wall membrane."
COUNTED = "The step counts down to the top of what is walked on, or to a bare membrane."
LEVEL_TOO = "At a level door what is walked on comes up level with the grating of its channel, and the step counts down to what drains below it."
LEVEL_OVER = "The size is drawn down to the membrane, which drains; what is walked on, which is not drawn, comes up level with the grating of the channel before the door, as its threshold is drawn."
IN_SNOW = "Where snow lies: a roof over the deck, or keep it clear, and a drained channel under a grating before the sill, "
UNDER_SILL = 7.0  # mm, lower edge of a metal sill at a door over its tray
CLEAR_UNDER = 75.0  # mm, of it, or of a frame, over the deck, as the rows deck_sill and deck_step say
TURNED_UP = 20.0  # mm, membrane at the back of the leaf; no line sizes it
PACKER_IN = 15.0  # mm, packer under that sill behind the face of the leaf
UNDER_TRAY = 4.0  # mm, membrane on the leaf under the front of a tray; no line sizes it
# rows of thresholds that open on no deck
OF_OTHER_DOORS = ("door_level", "sill_cover", "sill_support", "snow_open")
OF_OUTER_SILL = ("outer sill", "sill damp course", "sill bed", "cladding")
LEG_OVER = 10.0  # mm, leg of the tray over the deck, as the row deck_step says
AS_ONE = 1.5  # mm, between two levels that are seen as one


def deck_at_door(numbers: Numbers) -> Section:
    """The step from the floor at a door down to the deck, whose membrane goes up and in under the tray of the threshold."""
    wall = wall_of(numbers)
    if wall.masonry:
        return _deck_at_leaf(numbers, wall)
    step, slope = numbers.length("deck_step"), numbers.length("sill_slope") / 100
    frame = door_frame(numbers, wall)
    flat, foot = frame.back, -2 * FILM  # a sheet of the wall's membrane hangs behind the deck
    edge = foot - SHEET
    under, film = (thick * sqrt(1 + slope * slope) for thick in (SHEET, FILM))

    def on_tray(x: float) -> float:
        return -(flat - x) * slope

    level = BACK - step  # of what is walked on, or of what drains below it before a level door
    deck = level - _over_membrane(numbers)  # its membrane at the wall
    left, right = -LONG, flat + INSIDE + 15
    low, top = deck - 110, BACK + LIP + DOOR
    recess = slope * SHEET - under
    end = max(on_tray(edge) - numbers.length("tray_down", 50.0), level + LEG_OVER)
    lies_on = ((flat + SHEET, BACK), (flat + SHEET, recess - film), (0, on_tray(0) - under - film))
    way: list[Point] = [
        (flat + SHEET, recess), (foot, on_tray(foot) - under), (foot, deck), (left - 15, deck - FALL * (foot - left + 15)),
    ]  # fmt: skip
    tray = sheet([(flat, BACK), (flat, 0), (edge, on_tray(edge)), (edge, end)], SHEET)
    parts = [
        *(moved(layer, up=deck) for layer in deck_floor(-FILM, left, low - deck)),
        _floor_at_door(numbers, low, right, lies_on),
        membrane(wall, low, on_tray(-FILM) - under - film, key="membrane below", carrier="floor", rows=("mem_class",), name="Wall membrane, hung before, on down behind the deck"),
        Layer("deck membrane", "membrane", sheet(way, FILM), "Deck membrane, up and in under the sill tray", ("deck_step", "deck_tray"), "floor",
              water=True, air=True, order=5),
        *([] if _drained(numbers) else walked_on_at_door(numbers, left, edge, deck, FALL)),
        Layer("tray", "tray", tray, "Sill tray, down over the deck's membrane, its back turned up within the floor", ("door_sill", "deck_tray", "sill_slope"),
              "deck membrane", water=True, air=True, order=5),
        *(_without_sill(one) for one in door_on_tray(numbers, frame, max(frame.outer + 15, 2), on_tray)),
    ]  # fmt: skip
    drawn_over, told_over = _least_over(
        [
            Clear("deck_step", (frame.outer, PACKER), CLEAR_UNDER, "under sill", "the threshold"),
            Clear("deck_step", (edge, end), LEG_OVER, "under tray", "the front of the tray"),
        ],
        level,
        drained=bool(_drained(numbers)),
    )
    sizes = (
        Dimension("deck_step", (edge, level), (flat, BACK), step, "y", "left", name=_drained(numbers)),
        *drawn_over,
        Dimension("sill_slope", (flat, 0), (edge, on_tray(edge)), slope * 100, "fall %", "right"),
    )
    return Section(
        "deck-door", "Deck at a door, upright section", "upright", (left - 40, low, right, top), tuple(parts), sizes,
        outdoors=((left + 5, top - 5),), indoors=((right - 10, top - 5),), conflicts=frame.conflicts, drop=(flat - 2, on_tray(flat - 2)),
        water_ends=("deck membrane", "door"), air_ends=("floor", "door"), cut_off=left + 2,
        warnings=(*_in_snow(numbers), *_pushed(numbers)), notes=(*_counted(numbers), *told_over, AT_A_SLAB),
    )  # fmt: skip


def _without_sill(part: Layer) -> Layer:
    """A part of a door on its tray, the threshold named as what has nothing before it."""
    return replace(part, name=f"{part.name}, no outer sill") if part.key == "frame" else part


class Clear(NamedTuple):
    """How far at least the lower end of a part lies over a deck, as its row says: the size's name and the words for the part."""

    row: str
    at: Point
    least: float
    name: str
    part: str


def _least_over(
    asked: Sequence[Clear], level: float, *, drained: bool
) -> tuple[list[Dimension], tuple[str, ...]]:
    """What is asked over a deck: a size where that ends at its ``level``, else in words, for it would end at nothing.

    Parameters
    ----------
    drained
        Whether the level is that of what drains, not of what is walked on.
    """
    sizes, told = [], []
    for row, (x, y), least, name, part in asked:
        if abs(y - least - level) < AS_ONE:
            sizes.append(Dimension(row, (x, y - least), (x, y), least, "y", "left", name=name))
        else:
            told.append(f"{least:g} mm under {part}")
    ends = "What drains lies" if drained else "What is walked on lies"
    return sizes, (f"{ends} at least {' and '.join(told)}.",) if told else ()


def _drained(numbers: Numbers) -> str:
    """The word beside the height from the membrane to the floor, where no door has a step."""
    return "drained" if beside("level doors alone to a deck", numbers.circumstances) else ""


def _over_membrane(numbers: Numbers) -> float:
    """How far what is walked on lies over the deck's membrane at a door; 0 where the step counts to what drains."""
    return 0.0 if _drained(numbers) else WALKED


def _floor_at_door(numbers: Numbers, low: float, right: float, under_tray: tuple[Point, ...]) -> Layer:
    """The floor as the threshold of the same wall has it, with what its step asks."""
    alone = ", which stands on it without a sill support" if support_asked(numbers) else ""
    floor = floor_of(low, right, under_tray)
    return replace(floor, name=floor.name + alone, rows=("deck_step",))


def _counted(numbers: Numbers) -> tuple[str, ...]:
    """How high what is walked on may come at the door, or at each kind of door."""
    if _drained(numbers):
        return (LEVEL_OVER,)
    return (COUNTED, LEVEL_TOO) if numbers.has("door_level") else (COUNTED,)


def _in_snow(numbers: Numbers) -> tuple[str, ...]:
    """What a door to a deck needs where snow lies."""
    if not numbers.has("deck_snow"):
        return ()
    return (IN_SNOW + ("as its threshold is drawn." if _drained(numbers) else "as drawn."),)


def _pushed(numbers: Numbers) -> tuple[str, ...]:
    """What to do where wind pushes water over the tray's back, besides the channel that snow asks."""
    return pushed_over_the_back(numbers, channel=numbers.has("deck_snow"))


def _deck_at_leaf(numbers: Numbers, wall: Wall) -> Section:
    """A deck before a masonry leaf: its membrane goes up and over the leaf, a metal sill from the door over both and the cavity."""
    own = {row: value for row, value in numbers.values.items() if row not in OF_OTHER_DOORS}
    door = threshold(replace(numbers, values=own), upstairs=True)
    step, past = numbers.length("deck_step"), numbers.length("deck_sill")
    level, face, foot = BACK - step, wall.face, wall.face - FILM
    deck = level - _over_membrane(numbers)
    tray, flat = door.layer("tray"), max(x for x, y in door.layer("tray").outline if y == 0)
    low, left = min(door.box[1], deck - THICK), face - BEFORE_LEAF
    lip = (face - past, UNDER_SILL + COVER_LIP)
    fall = BED_FALL / wall.leaf
    if wall.film:  # the tray goes down into the cavity behind it
        turned = lip[1] + COVER_FALL * (wall.leaf_back - lip[0]) - SHEET - CLEAR_OF_SILL
        top = turned - TURNED_UP
    else:
        slope = numbers.length("sill_slope") / 100
        turned = -(flat - wall.leaf_back) * slope - SHEET * sqrt(1 + slope * slope)
        top = min(y for _, y in tray.outline) - UNDER_TRAY
    way: list[Point] = [
        (wall.leaf_back, turned), (wall.leaf_back, top), (foot, top - fall * (wall.leaf_back - foot)), (foot, deck),
        (left - 15, deck - FALL * (foot - left + 15)),
    ]  # fmt: skip
    bed = top - FILM * sqrt(1 + fall * fall)
    leaf = ((face, low), (wall.leaf_back, low), (wall.leaf_back, bed), (face, bed - fall * wall.leaf))
    inner = [taken_down(layer, door.box[1], low) for layer in door.layers if layer.key not in OF_OUTER_SILL]
    frame = min(x for x, _ in door.layer("frame").outline)
    parts = [
        *(moved(layer, up=deck) for layer in deck_floor(face, left, low - deck)),
        Layer("cladding", "masonry", leaf, "Masonry leaf, its top falling outward", (wall.cavity_row,), order=5),
        Layer("deck membrane", "membrane", sheet(way, FILM), "Deck membrane, up the leaf and over its top, turned up at its back" + ("" if wall.film else " under the sill tray"),
              ("deck_step", "deck_tray"), "cladding", water=True, order=5),
        *([] if _drained(numbers) else walked_on_at_door(numbers, left, foot, deck, FALL)),
        *from_groove(numbers, inner, frame, lip, name="Metal sill over cavity and leaf, fixed to the frame alone, ends up", rows=("deck_sill",)),
    ]  # fmt: skip
    sill, film = (next(one for one in parts if one.key == key) for key in ("cover", "deck membrane"))
    if wall.film:
        edge, end = min(x for x, _ in tray.outline), min(y for _, y in tray.outline)
        parts += step_bracket(
            numbers,
            sill,
            frame=frame,
            reach=face + OFF_LEAF,
            leg=(edge, end),
            skin=wall.skin,
            leaf=wall.leaf_back,
        )
    else:
        parts.append(packer_on_leaf(sill, film, face + PACKER_IN))
    under_sill = Clear("deck_sill", (lip[0], UNDER_SILL), CLEAR_UNDER, "under sill", "the metal sill")
    drawn_over, told_over = _least_over([under_sill], level, drained=bool(_drained(numbers)))
    sizes = (
        Dimension("deck_step", (foot, level), (flat, BACK), step, "y", "left", name=_drained(numbers)),
        Dimension("deck_sill", (face, lip[1]), lip, past, "x", "top"),
        *drawn_over,
        *(one for one in door.dimensions if one.key in ("sill_slope", wall.cavity_row)),
    )
    pushed = pushed_over_the_back(numbers)  # said once, with the channel that is drawn here
    narrow: tuple[Conflict, ...] = ()
    if UNDER_SILL - level < CLEAR_UNDER:
        said = f"A step of {step:g} mm leaves {UNDER_SILL - level:.0f} mm between deck and sill, and {CLEAR_UNDER:g} mm are asked: lay the deck {step + CLEAR_UNDER - UNDER_SILL + level:.0f} mm down."
        narrow = (Conflict(("deck_step", "deck_sill"), said),)
    return replace(
        door, key="deck-door", title="Deck at a door, upright section", box=(left - 40, low, door.box[2], door.box[3]), layers=tuple(parts),
        dimensions=sizes, outdoors=((left + 5, door.box[3] - 5), *door.outdoors[1:]), cut_off=left + 2, conflicts=(*door.conflicts, *narrow),
        warnings=(*_in_snow(numbers), *(one for one in door.warnings if one not in pushed), *_pushed(numbers)), notes=(*_counted(numbers), *told_over, *door.notes, "The other sizes of the tray stand in the drawing of the threshold."),
    )  # fmt: skip
