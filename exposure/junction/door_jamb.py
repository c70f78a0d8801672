"""Door jambs, plan, where a door's frame does not stand as the windows do: behind a leaf, or on the floor at a closed deck."""

from dataclasses import replace

from exposure.detail.beside import beside
from exposure.junction.build_up import Wall, wall_of
from exposure.junction.jamb import jamb_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Layer, Section
from exposure.junction.threshold import door_frame
from exposure.junction.window import NotDrawnError

AT_THE_HEAD = "The head is closed alike, its trim under the flashing."
AT_THE_FOOT = "Cut above the foot of the cladding: below it the sheet that snow may lie against is turned in to the same frame."


def door_jamb(numbers: Numbers) -> Section:
    """The jamb of a door whose frame stands on the floor behind the cavity of a leaf, while the windows stand at the leaf.

    Raises
    ------
    NotDrawnError
        Where a door stands as the windows do, whose jamb is drawn.
    """
    if not beside("door behind a leaf", numbers.circumstances):
        message = "a door stands here as a window does"
        raise NotDrawnError(message)
    wall = wall_of(numbers)
    frame = door_frame(numbers, wall)
    deck = beside("over the cavity", numbers.circumstances)  # other doors stand as the windows do
    made = jamb_of(numbers, wall, frame, lined=frame.outer > wall.leaf_back + FILM, row="reveal_door")
    return replace(
        made,
        key="door-jamb",
        title=f"Door jamb{' at a closed deck' * deck}, seen from above",
        layers=tuple(as_door(numbers, wall, one) for one in made.layers),
        notes=("The head is closed alike.", *("Other doors have the jamb of a window.",) * deck),
    )


def deck_door_jamb(numbers: Numbers) -> Section:
    """The jamb of a door to a closed deck, a box frame on the floor, while the windows stand at the face of the cladding.

    Raises
    ------
    NotDrawnError
        Where such a door stands as the windows do, whose jamb is drawn.
    """
    if not beside("deck door behind the cladding", numbers.circumstances):
        message = "a door to a deck stands here as a window does"
        raise NotDrawnError(message)
    wall = wall_of(numbers)
    made = jamb_of(numbers, wall, door_frame(numbers, wall), lined=False)
    return replace(
        made,
        key="deck-door-jamb",
        title="Door jamb at a closed deck, seen from above",
        layers=tuple(as_door(numbers, wall, one) for one in made.layers),
        notes=(AT_THE_HEAD, *(AT_THE_FOOT,) * numbers.has("snow_roof")),
    )


def as_door(numbers: Numbers, wall: Wall, layer: Layer) -> Layer:
    """A part of a window's jamb as it is named at a door, where a row says how its frame stands."""
    own = ("deck_frame",) if numbers.has("deck_frame") and not wall.masonry else ()
    return replace(layer, name="Door frame", rows=own) if layer.key == "frame" else layer
