"""The tape that lines an opening at its jambs and head, and what of it comes out onto the wall."""

from dataclasses import replace

from exposure.detail.beside import beside
from exposure.junction.build_up import Wall
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Dimension, Layer, Point, rectangle, sheet
from exposure.junction.window import Frame


def lining_tape(numbers: Numbers, wall: Wall, frame: Frame) -> Layer:
    """The tape to the full depth of the opening; where no other closes the joint, what it is wider goes round the edge onto the membrane."""
    tape = Layer(
        "opening tape", "tape", rectangle(0, 0, wall.room, FILM), "Tape that lines the opening", ("open_tape",), "jack stud",
        water=True, air=True, order=3,
    )  # fmt: skip
    out = tape_over(numbers, wall, frame)
    if not out:
        return tape
    return with_rest(tape, sheet([(wall.room, 0), (-FILM, 0), (-FILM, -out)], -FILM))


def with_rest(tape: Layer, outline: tuple[Point, ...]) -> Layer:
    """``tape`` along ``outline``, what it is wider than the opening is deep on the membrane."""
    return replace(
        tape, outline=outline, name=f"{tape.name}, its rest on the membrane", rows=("open_tape", "tape_w")
    )


def tape_over(numbers: Numbers, wall: Wall, frame: Frame) -> float:
    """How far that tape, as wide as ordered, comes out onto the wall. [mm]"""
    if (
        not wall.film
        or frame.flange
        or frame.taped
        or not beside("window off the boards", numbers.circumstances)
    ):
        return 0.0
    out = numbers.length("tape_w", 0.0) - wall.room - 2 * FILM  # along the middle of the tape
    return out if out > 2 * FILM else 0.0


def turned_in(
    numbers: Numbers, wall: Wall, foot: float, *, cut: float, high: float
) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Outlines over an opening whose head lies at ``foot``: the membrane up to its level ``cut``, turned in under the tape, and the lintel up to ``high``."""
    into, on = min(numbers.length("tape_bond", 50.0), wall.core_back - 20), foot + FILM
    film = ((-FILM, foot), (into, foot), (into, on), (0, on), (0, cut), (-FILM, cut))
    lintel = ((wall.core_face, on), (into, on), (into, foot), (wall.core_back, foot), (wall.core_back, high), (wall.core_face, high))  # fmt: skip
    return film, lintel


def before_films(wall: Wall, frame: Frame, over: float) -> float:
    """Where a barrier beside the frame ends: before the films on the wall, flange and tape among them, or what of the lining's tape comes ``over``. [mm]"""
    films = 3 if frame.flange else 2 if frame.taped or over else 1
    return -films * FILM if wall.film else wall.core_face


def tape_size(
    numbers: Numbers, wall: Wall, frame: Frame, *, over_head: float | None = None
) -> list[Dimension]:
    """How wide the tape is, laid flat, where it comes out onto the wall: at a jamb, or where the opening's edge lies ``over_head``."""
    out, face = tape_over(numbers, wall, frame), -1.5 * FILM
    if not out:
        return []
    way: tuple[Point, ...] = ((face, -out), (face, FILM / 2), (wall.room, FILM / 2))
    if over_head is not None:
        way = tuple((x, over_head - y) for x, y in way)
    wide = numbers.length("tape_w")
    return [Dimension("tape_w", way[0], way[-1], wide, "flat", "right", way=way)]
