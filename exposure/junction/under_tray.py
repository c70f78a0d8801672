"""What lies between a sill tray and what gives its fall: the membrane turned in, the tape on it, or a strip that carries a film."""

from collections.abc import Callable
from dataclasses import replace

from exposure.junction.build_up import Wall, membrane
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Layer, Point

STRIP, ON_THE_BEVEL, CLEAR_OF_LEAF = (
    2.0,
    30.0,
    4.0,
)  # mm, what a film tray lies on over a cavity: thickness, bearing, end


def turned_in_under(
    numbers: Numbers, wall: Wall, bottom: float, bend: float, low: Callable[[float], float], thick: float
) -> tuple[list[Layer], tuple[Point, ...]]:
    """The membrane with its lower flap turned in over the bevel, the tape on it that lines the opening, in to the lining, and the top of the bevel below both.

    Parameters
    ----------
    bend
        Where the bevel becomes level, behind the tray's back.
    low
        Height of the tray's underside up to there, over the depth of the wall.
    thick
        Of one film measured upright.
    """
    into, out = min(numbers.length("tape_bond", 50.0), bend - SHEET), wall.skin
    level = low(bend)
    back, floor = wall.core_back, level - thick
    under = ((out, low(out) - thick), (bend, floor), (back, floor))
    tape = tuple(dict.fromkeys((*under, (back, level), (bend, level), (out, low(out)))))
    flap = ((0.0, low(0) - 2 * thick), (into, low(into) - 2 * thick), (into, low(into) - thick))
    sheet_in = ((out, bottom), (0.0, bottom), *flap, (out, low(out) - thick))
    wall_sheet = membrane(wall, bottom, 0, rows=("mem_class",), name="Membrane, turned in over the bevel")
    top_of_bevel = ((back, floor), (bend, floor), *reversed(flap))
    return [
        replace(wall_sheet, outline=sheet_in),
        _lining_tape(tape, "Tape that lines the opening", "bevel"),
    ], top_of_bevel


def _lining_tape(outline: tuple[Point, ...], name: str, carrier: str, *rows: str) -> Layer:
    return Layer(
        "opening tape", "tape", outline, name, ("open_tape", *rows), carrier, water=True, air=True, order=3
    )


def on_the_floor(
    numbers: Numbers, wall: Wall, back: float, under_tray: Callable[[float], float], *, thick: float
) -> tuple[list[Layer], tuple[Point, ...]]:
    """What a door's tray lies on in the recess of the floor, and the edge of that: the tape that lines the opening, turned down over the strip on that edge, in cavity masonry a stiff strip.

    Parameters
    ----------
    back
        Where the tray is turned up.
    under_tray
        Height of the tray's underside over the depth of the wall.
    thick
        Of one film measured upright.
    """
    if not wall.film:
        strip, bearing = under_film(wall, back, under_tray, carrier="floor")
        name = "Strip of metal or board under a tray of film, fixed to the floor, with its fall"
        return [replace(one, name=name) for one in strip], bearing
    inner, out = back + SHEET, wall.skin
    bond = min(numbers.length("tape_bond", 50.0), numbers.length("tray_down"))  # under the tray's leg
    low, corner, front = under_tray(inner) - thick, under_tray(out) - thick, wall.skin - FILM
    outline = (
        (inner, under_tray(inner)), (inner, low), (out, corner), (out, corner - bond), (front, corner - bond),
        (front, under_tray(front)),
    )  # fmt: skip
    name = "Tape that lines the opening, turned down on the strip"
    tape = _lining_tape(outline, name, "floor", "tape_bond")
    return [tape], ((inner, low), (0.0, under_tray(0) - thick))


def under_film(
    wall: Wall, back: float, under_tray: Callable[[float], float], *, carrier: str, top: float | None = None
) -> tuple[list[Layer], tuple[Point, ...]]:
    """What a film tray lies on over the cavity of cavity masonry, and the edge of the bevel that it bears on.

    Parameters
    ----------
    back
        Where the tray is turned up.
    under_tray
        Height of the tray's underside over the depth of the wall.
    top
        How high the strip goes up behind that back, at a window; without it the strip ends under the tray.
    """
    if wall.film:
        return [], ((0, under_tray(0)),)
    if top is not None:
        return _strip_with_back(wall, back + SHEET, under_tray, top, carrier)
    inner, out = min(ON_THE_BEVEL, back / 2), wall.leaf_back + CLEAR_OF_LEAF
    rest = ((inner, under_tray(inner) - STRIP), (0.0, under_tray(0) - STRIP))
    outline = ((inner, under_tray(inner)), (out, under_tray(out)), (out, under_tray(out) - STRIP), rest[0])
    name = "Strip of metal or board under a tray of film, with its fall"
    strip = Layer("tray strip", "metal", outline, name, (), carrier, order=3)
    return [strip], ((inner, under_tray(inner)), *rest)


def _strip_with_back(
    wall: Wall, inner: float, under_tray: Callable[[float], float], top: float, carrier: str
) -> tuple[list[Layer], tuple[Point, ...]]:
    """The same under the whole of a tray whose back has its inner face at ``inner``, and up behind that."""
    out, low = wall.leaf_back + CLEAR_OF_LEAF, under_tray(inner)
    behind = inner + STRIP
    outline = (
        (inner, top), (inner, low), (out, under_tray(out)), (out, under_tray(out) - STRIP), (inner, low - STRIP),
        (behind, low - STRIP), (behind, top),
    )  # fmt: skip
    name = "Strip of metal or board under a tray of film, with its fall and back"
    strip = Layer("tray strip", "metal", outline, name, (), carrier, air=True, order=3)
    return [strip], ((behind, low), (behind, low - STRIP), (inner, low - STRIP), (0.0, under_tray(0) - STRIP))
