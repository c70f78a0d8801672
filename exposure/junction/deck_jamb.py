"""The jamb of a door to a closed deck where snow lies, seen from above: below the cladding membranes and metal go up beside it."""

from dataclasses import replace

from exposure.junction.build_up import Wall, wall_of
from exposure.junction.door_jamb import as_door
from exposure.junction.jamb import jamb_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Layer, Point, Section, rectangle, sheet
from exposure.junction.threshold import door_frame
from exposure.junction.window import Frame, NotDrawnError

IN = 2 * FILM  # sheets behind the wall's membrane, which it comes down over
CUT = "Cut below the foot of the cladding; the apron is left out."
OURS = "No line says how membrane and metal end at a door: as drawn is ours."


def deck_jamb(numbers: Numbers) -> Section:
    """The jamb beside a deck's membrane and the sheet before it, which go up the wall as high as snow counts.

    Raises
    ------
    NotDrawnError
        For a masonry leaf, which goes on beside the door.
    """
    wall = wall_of(numbers)
    if wall.masonry:
        message = "a leaf goes on beside its door"
        raise NotDrawnError(message)
    frame = door_frame(numbers, wall)
    made = jamb_of(numbers, wall, replace(frame, conflicts=()), lined=False)
    return replace(
        made,
        key="deck-jamb",
        title="Door jamb at a closed deck in snow, seen from above",
        layers=_as_in_snow(numbers, wall, frame, made),
        notes=(CUT, OURS),
    )


def _as_in_snow(numbers: Numbers, wall: Wall, frame: Frame, made: Section) -> tuple[Layer, ...]:
    """Layers of a window's jamb with what snow asks in place of cladding and reveal."""
    low = made.box[1]
    parts = [replace(one, outline=tuple((IN if x == 0 else x, y) for x, y in one.outline))
             if one.material in ("board", "timber", "insulation") else one for one in made.layers]  # fmt: skip
    closing = [one for one in parts if one.key in ("trim", "reveal lining")]
    ahead = max((y for one in closing for _, y in one.outline), default=0.0)
    kept = [
        as_door(numbers, wall, _named(one, wall))
        for one in parts
        if one not in closing and one.key != "cladding"
    ]
    board = "core board" if wall.board else "core"
    behind = [
        Layer("membrane below", "membrane", rectangle(FILM, low, IN, -FILM), "Wall membrane, hung before, on down behind the deck", ("mem_class",), board,
              water=True, order=2),
        Layer("deck membrane", "membrane", rectangle(0, low, FILM, -FILM), "Deck membrane, as high as snow counts, to the edge of the opening",
              ("snow_roof",), "membrane below", water=True, order=5),
    ]  # fmt: skip
    return (*kept, *behind, _metal(wall, frame, low, ahead))


def _named(one: Layer, wall: Wall) -> Layer:
    """A part of a window's jamb as it is carried and covered here."""
    if one.key == "jamb batten":
        return replace(
            one, outline=tuple((x + SHEET if x == wall.leaf_back else x, y) for x, y in one.outline)
        )
    if one.key == "membrane":
        return replace(
            one,
            name="Wall membrane, over the deck's, turned into the opening",
            carrier="deck membrane",
            order=5,
        )
    return one


def _metal(wall: Wall, frame: Frame, low: float, ahead: float) -> Layer:
    """The sheet that snow may lie against; ``ahead`` is where it ends before a frame to which it is turned in, 0 where it is not."""
    out = wall.leaf_back - (0 if wall.cavity else SHEET)
    name = "Sheet that snow may lie against"
    way: list[Point] = [(out, low), (out, 0)]
    if ahead:
        edge = min(frame.outer, -3 * FILM) if frame.flange else frame.outer
        near = IN + 0.5 + SHEET
        way = [(out, low), (out, near), (edge - SHEET, near), (edge - SHEET, ahead)]
        name = f"{name}, its edge turned in to the frame and before it"
    return Layer("snow sheet", "metal", sheet(way, -SHEET), name, ("snow_roof",), "jamb batten" if wall.cavity else "membrane", order=5)  # fmt: skip
