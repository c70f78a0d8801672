"""Outside corners of a wall with a cavity and one without: drawn in a form of their own, told from the wall with the cavity."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

from exposure.assess.corners import corners_of
from exposure.junction.build_up import wall_of
from exposure.junction.catalogue import Drawing
from exposure.junction.corners import outside_corner
from exposure.wall import Wall

ONE_SIDED = "corner-one-side"
Pair = tuple[str, str]


class OneSided(NamedTuple):
    """The wall with a cavity, which is drawn across the top, whether the other one stands at its right, seen from above, and whether one alone has boards."""

    deep: str
    right: bool
    one_boarded: bool = False


def one_sided_pairs(
    drawings: Sequence[Drawing], corners: Iterable[Pair], facing: Mapping[str, float]
) -> dict[Pair, OneSided]:
    """Of elevations that meet at outside corners those where light cladding has a cavity on one side alone, and how they stand.

    Parameters
    ----------
    facing
        Where each elevation faces. [degrees]
    """
    walls_of = {
        name: wall_of(one.numbers)
        for one in drawings
        if one.section.key == "corner-outside" and one.numbers
        for name in one.elevations
    }
    found = {}
    for pair in corners:
        walls = {name: walls_of[name] for name in pair if name in walls_of}
        deep = [name for name, wall in walls.items() if wall.cavity]
        if len(walls) == 2 and len(deep) == 1 and not any(wall.masonry for wall in walls.values()):
            [bare] = set(pair) - {*deep}
            boarded = {bool(wall.board) for wall in walls.values()}
            found[pair] = OneSided(deep[0], stands_right(bare, deep[0], facing), len(boarded) == 2)
    return found


def facing_of(walls: Iterable[Wall]) -> dict[str, float]:
    """Where each elevation faces. [degrees]"""
    return {wall.name: wall.orientation for wall in walls}


def stands_right(other: str, first: str, facing: Mapping[str, float]) -> bool:
    """Whether at their corner, seen from above, one elevation stands at the right of the ``first``, that one across the top of the sheet.

    With the first down an inside corner, its outdoors at the left, the other lies at the right of the sheet just then.

    Examples
    --------
    >>> facing = {"south": 180.0, "west": 270.0, "east": 90.0}
    >>> stands_right("west", "south", facing), stands_right("east", "south", facing)
    (True, False)
    """
    return (facing[other] - facing[first]) % 360 < 180


def one_sided_drawings(drawings: Sequence[Drawing], pairs: Mapping[Pair, OneSided]) -> tuple[Drawing, ...]:
    """The corner with a cavity on one side as each wall that has it there builds it, the hardest first, mirrored where the other stands at its right."""
    found = []
    for one in drawings:
        for right, boarded in product((False, True), repeat=2):
            deep = {
                each.deep for each in pairs.values() if (each.right, each.one_boarded) == (right, boarded)
            }
            mine = tuple(name for name in one.elevations if name in deep)
            if one.section.key == "corner-outside" and one.numbers and mine:
                form = outside_corner(one.numbers, bare=True, mirrored=right, one_boarded=boarded)
                stem = one.stem.replace("corner-outside", ONE_SIDED)
                stem += "-boards-on-one-wall" * boarded + "-mirrored" * right
                found.append(replace(one, section=form, elevations=mine, stem=stem))
    return tuple(sorted(found, key=lambda one: -one.level))


def one_sided_of(drawings: Sequence[Drawing], walls: Sequence[Wall]) -> tuple[Drawing, ...]:
    """The corners with a cavity on one side of some walls, of which each has its drawings."""
    corners, inside = corners_of(walls)
    pairs = one_sided_pairs(drawings, [pair for pair in corners if pair not in inside], facing_of(walls))
    return one_sided_drawings(drawings, pairs)


def is_mirrored(drawing: Drawing) -> bool:
    """Whether indoors is drawn at the left."""
    return drawing.section.sides[0] == "inside"


def _one_boarded(drawing: Drawing) -> bool:
    """Whether boards stand behind one of the two walls alone."""
    return len({"core board", "other board"} & {layer.key for layer in drawing.section.layers}) == 1


def drawn_one_sided(how: OneSided, drawn: Iterable[Drawing]) -> Drawing:
    """The drawing of such a corner."""
    return next(
        one
        for one in drawn
        if how == OneSided(how.deep, is_mirrored(one), _one_boarded(one)) and how.deep in one.elevations
    )


def stands(pair: Pair, how: OneSided, codes: Mapping[str, str]) -> str:
    """Which wall stands where in the drawing of such a corner."""
    [bare] = set(pair) - {how.deep}
    return f"{codes[how.deep]} across the top, {codes[bare]} at the {'right' if how.right else 'left'}"


def told_one_sided(
    pairs: Mapping[Pair, OneSided],
    drawn: Sequence[Drawing],
    codes: Mapping[str, str],
    otherwise: Callable[[Pair, Drawing], str],
) -> list[str]:
    """Which wall stands where at each such corner, and what is built there otherwise than the first of those drawn shows it."""
    found: dict[str, list[str]] = {}
    for pair, how in pairs.items():
        mirrored = ", mirrored" * (how.right != is_mirrored(drawn[0]))
        words = otherwise(pair, drawn_one_sided(how, drawn))
        found.setdefault(words, []).append(stands(pair, how, codes) + mirrored)
    return [f"{'; '.join(where)}: {words}" for words, where in found.items()]


def beside_the_other(
    common: Sequence[Drawing], more: Sequence[Drawing], *, alone: bool
) -> tuple[Drawing, ...]:
    """Shared drawings with the corner of a wall without a cavity after the other outside corner, in its place where it is ``alone``."""
    other = next((one for one in common if one.section.key == "corner-outside"), None)
    place = common.index(other) + 1 if other else len(common)
    return (*common[: place - bool(other and alone)], *more, *common[place:])
