"""The side of a level door from outside, its cladding cut away: the upstand that the plate stands on, where the base flashing ends, what covers the tape."""

from dataclasses import replace
from typing import NamedTuple

from exposure.junction.base import ABOVE, BELOW_FOOT, BELOW_JOINT, plate_at
from exposure.junction.build_up import Wall
from exposure.junction.jamb import CLEAR, jamb_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Dimension, Layer, Section, rectangle
from exposure.junction.window import HEIGHT, ON_CLADDING, Frame, NotDrawnError, side_tape, window_in

CLADDING = 70.0  # mm of cladding shown
CUT_AWAY, BEYOND = 190.0, 60.0  # mm of wall without its cladding at least, and beside the tape
WITHIN = 150.0  # mm of door shown
GROUND = 60.0  # mm shown below the paving
THIN = 9.0  # mm, what is seen on edge, thicker than it is
SILL = 16.0  # mm, outer sill over the grating
CHANNEL_DEEP = 36.0  # mm of channel shown
PAST_TAPE, CORNER = 12.0, 60.0  # mm, metal past the tape, which no line sizes, and its corner cut away
FOOT = 40.0  # mm of trim or lining shown
WHAT = {"trim": "trim", "reveal lining": "reveal lining"}
OURS = "No line sizes the metal over the tape."


class _Heights(NamedTuple):
    """Over the paving. [mm]"""

    boards: float  # lower edge of the cladding
    joint: float  # top of the upstand, under the plate
    edge: float  # lower edge of the membrane
    top: float  # of what the membrane comes down over


def door_side(numbers: Numbers) -> Section:
    """The wall beside a level door, whose paving comes up to it.

    Raises
    ------
    NotDrawnError
        For a masonry leaf, which stands before it.
    """
    wall, frame = window_in(numbers)
    if wall.masonry:
        message = "a leaf stands before it"
        raise NotDrawnError(message)
    clear = numbers.length("paved")
    joint = plate_at(numbers, "paved")
    upstand = numbers.length("lap_h")
    edge = joint + 5 if wall.cavity else joint - BELOW_JOINT
    high = _Heights(clear, joint, edge, (edge if wall.cavity else joint) + upstand)
    tape, sizes = _tape(numbers, frame, high.top + ABOVE)
    cut = min([-CUT_AWAY, *(x - BEYOND for one in tape for x, _ in one.outline)])
    left, on_wall = cut - CLADDING, min(x for x, _ in tape[0].outline)
    box = (left, -GROUND, WITHIN, high.top + ABOVE)
    parts = [
        Layer("membrane", "film", rectangle(left, high.edge, 0, box[3]), "Membrane, down over what is turned up at the base", ("mem_foot",), order=2),
        Layer("upstand", "concrete", rectangle(left, -GROUND, 0, high.edge),
              "Upstand of concrete or masonry under the plate, its face as the foundation's, in to the jamb", ("door_side", "low_timber"), order=1),
        *_flashing(wall, left, high),
        *_door(box[3]),
        *tape,
        _turned_up(wall, high),
        Layer("framing", "hidden", rectangle(cut, high.joint, 0, box[3]), "", (), "upstand", order=0),
        Layer("cladding", wall.leaf_material, rectangle(left, high.boards, cut, box[3]),
              f"{'Render on board' if wall.leaf_material == 'render' else 'Cladding'}, cut away here up to the jamb", ("paved", "plate_lap"), "membrane", order=8),
        Layer("lower edge", "outlined", rectangle(cut, high.boards, 0, box[3]), "", (), "membrane", order=8),
        *_closed(tape, _closing(numbers, wall, frame, high.boards), high.boards),
        Layer("paving", "paving", rectangle(left, -GROUND, 0, 0), "Paving, up to the grating and falling away", ("paved",), order=1),
    ]  # fmt: skip
    dimensions = (
        Dimension("paved", (left, 0), (left, clear), clear, "y", "left"),
        Dimension("plate_lap", (left, high.boards), (left, joint), joint - clear, "y", "left"),
        Dimension(
            "lap_h", (on_wall, high.top - upstand), (0, high.top), upstand, "y", "right", name="end up"
        ),
        *sizes,
    )
    return Section(
        "door-side", "Side of a level door, seen from outside", "face", box, tuple(parts), dimensions, sides=("seen from outside", ""),
        notes=(OURS,),
    )  # fmt: skip


def _flashing(wall: Wall, left: float, high: _Heights) -> list[Layer]:
    """The base flashing up to the door, where a cavity asks for one."""
    if not wall.cavity:
        return []
    outline = rectangle(left, high.boards - BELOW_FOOT, 0, high.edge)
    name = "Base flashing, its end at the door turned up"
    return [Layer("base flashing", "pale metal", outline, name, ("lap_h", "door_edge"), "upstand", order=1)]


def _turned_up(wall: Wall, high: _Heights) -> Layer:
    """The end at the door of what is turned up at the base, under the tape."""
    low, name = high.boards - BELOW_FOOT, ""
    if not wall.cavity:
        low, name = high.joint, "Damp-proof course under the plate, its end at the door turned up too"
    return Layer(
        "end", "hidden", rectangle(-THIN, low, 0, high.top), name, ("door_edge",), "upstand", order=1
    )


def _door(top: float) -> list[Layer]:
    """Frame and door over their sill, and the channel before it."""
    inner = CLEAR + HEIGHT
    return [
        Layer("hole", "opening", rectangle(0, 0, WITHIN, top), "", (), "membrane"),
        Layer("frame", "frame", rectangle(CLEAR, 0, inner, top), "Door frame", (), "hole", order=3),
        Layer("door", "glass", rectangle(inner, SILL, WITHIN, top), "", (), "frame"),
        Layer("outer sill", "frame", rectangle(CLEAR, 0, WITHIN, SILL), "", (), "frame"),
        Layer("channel", "bracket", rectangle(0, -CHANNEL_DEEP, WITHIN, 0), "Grating, as long as the door is wide, over its channel", ("door_level",), "hole", order=3),
    ]  # fmt: skip


def _tape(numbers: Numbers, frame: Frame, top: float) -> tuple[list[Layer], list[Dimension]]:
    """The jamb tape as it shows from outside, and how wide it is where it lies flat."""
    if not frame.flange and not frame.taped:  # its joint is closed at the cladding
        outline = rectangle(-numbers.length("tape_bond"), 0, 0, top)
        return [
            Layer("jamb tape", "pale tape", outline, "Tape that lines the jamb, here out on primer onto the upstand", ("tape_bond",), "membrane", order=3)
        ], [Dimension("tape_bond", outline[3], outline[2], numbers.length("tape_bond"), "x", "top", name="least on wall")]  # fmt: skip
    wide = numbers.length("tape_w")
    left, right = CLEAR - 1 - wide, CLEAR - 1
    if frame.taped:
        _, way = side_tape(frame, wide, start=FILM, side=CLEAR, face=-FILM)
        left, right = min(way[-1][1], -THIN), 0.0
    tape = Layer("jamb tape", "pale tape", rectangle(left, 0, right, top), "Jamb tape, here on primer down onto the upstand", ("tape_w",), "membrane", order=3)  # fmt: skip
    flat = [Dimension("tape_w", (left, top), (right, top), wide, "x", "top")] if frame.flange else []
    return [tape], flat


def _closing(numbers: Numbers, wall: Wall, frame: Frame, boards: float) -> list[Layer]:
    """The foot of trim or reveal lining, level with the lowest boards and as wide as at a window, the rest cut away."""
    found = []
    for one in jamb_of(numbers, wall, frame, lined=False).layers:
        if one.key in WHAT:
            ends = [y for _, y in one.outline]
            foot = rectangle(min(ends), boards, max(ends), boards + FOOT)
            name = (
                f"{WHAT[one.key].capitalize()}, its foot open, level with the lowest boards; cut away above"
            )
            found.append(replace(one, outline=foot, name=name, rows=()))
    return found


def _closed(tape: list[Layer], closing: list[Layer], boards: float) -> list[Layer]:
    """What closes the jamb, and below it the metal over the tape, from the paving up to the lowest boards."""
    left = min(x for x, _ in tape[0].outline)
    up_to = " and the open foot of the ".join(["the lowest boards", *(WHAT[one.key] for one in closing)])
    name = f"Metal over that tape, from the paving up to {up_to}; a corner cut away here"
    edge, right = left - PAST_TAPE, CLEAR + ON_CLADDING
    cut = min(0.5 * boards, CORNER, right - left - 10)
    outline = (
        (edge + cut + PAST_TAPE, 0.0),
        (right, 0.0),
        (right, boards),
        (edge, boards),
        (edge, cut + PAST_TAPE),
    )
    metal = Layer("tape cover", "pale metal", outline, name, ("door_side",), "jamb tape", order=5)
    return [*(replace(one, name="") for one in closing), metal]
