"""Corners of the wall, seen from above: membrane past an inside corner; battens and split cavity at an outside one."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from exposure.junction.build_up import STACK, Wall, wall_of
from exposure.junction.laps import edge_tape, over_edge, uprights_taped
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Conflict, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import NotDrawnError

BEYOND = 90.0
BATTEN = 45.0
SEALED = "split and sealed top to bottom"  # as the row cav_corner has it
HARDER = "Drawn for a corner of two walls of this level; where the other wall is harder, build the corner by that wall's drawing. Each wall keeps its own cavity up to the corner."


NO_CAVITY = "Where the other wall has no cavity, its cladding lies straight on the membrane and goes past the batten beside the corner: it has no batten there."
ONE_SIDE = ", cavity on one side alone"
BARE: dict[str, Any] = {
    "name": "Cladding of the wall without a cavity, straight on the membrane and past the batten, its ends fixed to the corner stud",
    "rows": (),
}


class Covered(NamedTuple):
    """A piece along a wall on which a sheet or a tape lies over the first sheet, and its outer face. [mm]"""

    low: float
    high: float
    face: float
    key: str  # of its layer


def _over_first(past: float, lap: float, bond: float) -> list[Covered]:
    """The next sheet, measured from the corner, and the tape over its edge."""
    edge = lap - past
    sheets = [Covered(-past - 12, edge, -2 * FILM, "next sheet")]
    if bond:
        sheets += [
            Covered(edge - min(bond, lap), edge, -3 * FILM, "lap tape"),
            Covered(edge, edge + bond, -2 * FILM, "lap tape"),
        ]
    return sheets


def inside_corner(numbers: Numbers) -> Section:
    """An inside corner: one wall runs up the sheet, the other to the left, outdoors between them."""
    wall = wall_of(numbers)
    if not wall.film:
        message = "a cavity wall of masonry has no membrane"
        raise NotDrawnError(message)
    past = numbers.length("icorner")
    lap = numbers.length("lap_v")
    left, bottom = -past - max(BEYOND, -wall.face), -max(220.0, -wall.face + 80)
    deep = wall.core_back
    first: list[Point] = [(-FILM, bottom), (-FILM, -FILM), (-past, -FILM)]
    over: list[Point] = [
        (-past + lap, -2 * FILM),
        (-past - 8, -2 * FILM),
        (-past - 12, -FILM),
        (left, -FILM),
    ]
    parts = [
        Layer("core", "insulation", rectangle(wall.core_face, bottom, deep, deep), "Studs and insulation"),
        Layer("other core", "insulation", rectangle(left, wall.core_face, wall.core_face, deep), ""),
        Layer("membrane", "membrane", sheet(first, -FILM), "Membrane, round the corner in one piece", ("icorner",),
              "core board" if wall.board else "core", water=True, order=6),
        Layer("next sheet", "membrane", sheet(over, -FILM), "Next sheet, lapped over it", ("icorner", "lap_v"), "membrane", water=True, order=6),
        _leaf(wall, "cladding", rectangle(wall.face, bottom, wall.leaf_back, wall.face)),
        _leaf(wall, "other cladding", rectangle(left, wall.face, wall.leaf_back, wall.leaf_back)),
    ]  # fmt: skip
    if wall.board:
        parts += [
            Layer("core board", "board", rectangle(0, bottom, wall.board, wall.board), "Boards on the studs", (), "core", order=2),
            Layer("other board", "board", rectangle(left, 0, 0, wall.board), "", (), "other core"),
        ]  # fmt: skip
    bond = numbers.length("tape_bond") if uprights_taped(numbers) else 0.0
    if wall.cavity and not wall.masonry:  # one under each board end
        low, high = wall.leaf_back - BATTEN, wall.leaf_back
        on = _lies_on((low + high) / 2, _over_first(past, lap, bond))
        parts += [
            _batten(rectangle(high, low, wall.skin, high), "batten"),
            _batten(rectangle(low, high, high, on.face), "second batten", on.key),
        ]
    if bond:
        tape = over_edge(bond, FILM, lap=lap)
        parts.append(
            edge_tape(tuple((lap - past - along, out) for out, along in tape), "next sheet", order=6)
        )
    dimensions = [
        Dimension("icorner", (-past, -FILM), (0, -FILM), past, "x", "bottom"),
        Dimension("lap_v", (-past, -2 * FILM), (lap - past, -2 * FILM), lap, "x", "bottom"),
    ]
    if wall.cavity:
        dimensions.append(
            Dimension(
                wall.cavity_row, (wall.leaf_back, bottom), (wall.skin, bottom), wall.cavity, "x", "bottom"
            )
        )
    air: tuple[Point, ...] = ((left + 5, bottom + 5),)
    if wall.cavity:
        air += (((wall.leaf_back + wall.skin) / 2, bottom + 2),)
    return Section(
        "corner-inside", "Inside corner, seen from above", "plan", (left, bottom, deep, deep), tuple(parts), tuple(dimensions),
        outdoors=air, indoors=(), water_ends=("membrane", "next sheet"), notes=(HARDER,),
        conflicts=_round_the_bend("icorner", past, lap, bond),
    )  # fmt: skip


def outside_corner(numbers: Numbers, *, bare: bool = False) -> Section:
    """An outside corner: one wall runs down the sheet, the other to the right, indoors between them.

    Parameters
    ----------
    bare
        Whether the wall to the right has no cavity, its cladding straight on the membrane.

    Raises
    ------
    NotDrawnError
        For a wall without a membrane, of which the schedule says nothing at a corner.
    """
    wall = wall_of(numbers)
    if not wall.film:
        message = "a cavity wall of masonry has no membrane"
        raise NotDrawnError(message)
    past, lap = numbers.length("ocorner"), numbers.length("lap_v")
    battened = bool(wall.cavity) and not wall.masonry
    apart = numbers.length("batten_sp") if battened else 0.0
    bottom = -max(apart, past) - BEYOND
    right = wall.core_back + 190
    deep, back = wall.core_back, STACK if bare else -wall.leaf_back
    out = back + wall.leaf
    round_it: list[Point] = [(-FILM, -past), (-FILM, FILM), (right, FILM)]
    over: list[Point] = [
        (-FILM, bottom),
        (-FILM, -past - 12),
        (-2 * FILM, -past - 8),
        (-2 * FILM, -past + lap),
    ]
    parts = [
        Layer("core", "insulation", rectangle(wall.core_face, bottom, deep, -wall.core_face - BATTEN), "Studs and insulation"),
        Layer("corner stud", "timber", rectangle(wall.core_face, -wall.core_face - BATTEN, deep, -wall.core_face), "Corner stud", (), "core", order=2),
        Layer("other core", "insulation", rectangle(deep, -deep, right, -wall.core_face), ""),
        Layer("membrane", "membrane", sheet(round_it, -FILM), "Membrane, round the corner in one piece", ("ocorner", "mem_class"),
              "core board" if wall.board else "core", water=True, order=2),
        Layer("next sheet", "membrane", sheet(over, -FILM), "Next sheet, lapped over it", ("ocorner", "lap_v"), "membrane", water=True, order=2),
        _leaf(wall, "cladding", rectangle(wall.face, bottom, wall.leaf_back, out), held="second batten"),
        replace(_leaf(wall, "other cladding", rectangle(wall.leaf_back, back, right, out)), carrier="cladding", **(BARE if bare else {})),
    ]  # fmt: skip
    if wall.board:
        parts += [
            Layer("core board", "board", rectangle(0, bottom, wall.board, 0), "Boards on the studs", (), "core", order=2),
            Layer("other board", "board", rectangle(wall.board, -wall.board, right, 0), "", (), "corner stud"),
        ]  # fmt: skip
    bond = numbers.length("tape_bond") if uprights_taped(numbers) else 0.0
    if bond:
        tape = over_edge(bond, FILM, lap=lap)
        parts.append(
            edge_tape(tuple((out, lap - past - along) for out, along in tape), "next sheet", order=2)
        )
    dimensions = [
        Dimension("ocorner", (-FILM, -past), (-FILM, 0), past, "y", "right"),
        Dimension("lap_v", (-2 * FILM, -past), (-2 * FILM, lap - past), lap, "y", "right"),
    ]
    air: list[Point] = [(wall.face - 40, out + 30)]
    if battened:
        more, sizes = _battened(numbers, wall, apart, _over_first(past, lap, bond), bare=bare)
        parts += more
        dimensions += sizes
    if wall.cavity:
        dimensions.append(
            Dimension(
                wall.cavity_row, (wall.leaf_back, bottom), (wall.skin, bottom), wall.cavity, "x", "bottom"
            )
        )
        middle = (wall.leaf_back + wall.skin) / 2 - FILM / 2
        air += [(middle, bottom + 2), *(() if bare else ((right - 2, -middle),))]
    return Section(
        "corner-one-side" if bare else "corner-outside", f"Outside corner{ONE_SIDE if bare else ''}, seen from above", "plan", (wall.face - 50, bottom, right, out + 40), tuple(parts),
        tuple(dimensions), outdoors=tuple(air),
        indoors=((right - 5, -deep - 10),) if right > deep + 10 else (), water_ends=("membrane", "next sheet"), notes=() if bare else (HARDER, *((NO_CAVITY,) if battened else ())),
        conflicts=_round_the_bend("ocorner", past, lap, bond),
    )  # fmt: skip


def _round_the_bend(row: str, past: float, lap: float, bond: float) -> tuple[Conflict, ...]:
    """Where the sheet past a corner is too short for the lap of the next one and the tape on its edge."""
    if past - lap > bond:
        return ()
    words = f"The sheet goes {past:g} mm past the corner; a lap of {lap:g} mm with its tape would lie round the bend."
    return (Conflict((row, "lap_v"), words),)


def _battened(
    numbers: Numbers, wall: Wall, apart: float, over: Sequence[Covered], *, bare: bool
) -> tuple[list[Layer], list[Dimension]]:
    """Battens at an outside corner: one beside it on each wall, over the corner stud, so that both board ends lie on one.

    The first splits the cavity of its wall, sealed where that is asked. The second goes past its side, out to the cladding;
    where the other wall is ``bare`` there is none, and both board ends lie on the first.
    """
    asked = str(numbers.values.get("cav_corner", ""))
    sealed = ", sealed top to bottom" if asked == SEALED else ""
    top, back = -wall.skin, -wall.leaf_back
    low = top - BATTEN / 2 - apart
    on = _lies_on(top - BATTEN / 2, over)
    beside = replace(
        _batten(
            rectangle(wall.leaf_back, top - BATTEN, on.face, STACK if bare else top),
            "batten",
            on.key,
        ),
        name=f"Batten beside the corner, on membrane and corner stud{sealed}",
        rows=("cav_corner", "batten_sp"),
    )
    on = _lies_on(low, over)
    second = rectangle(wall.leaf_back, low - BATTEN / 2, on.face, low + BATTEN / 2)
    corner = rectangle(wall.leaf_back, top, wall.skin + BATTEN, back)
    name = "Batten of the other wall, past the side of the first and out to the cladding: both board ends lie on them"
    other = (
        [] if bare else [Layer("corner batten", "timber", corner, name, ("batten_sp",), "membrane", order=8)]
    )
    return [beside, _batten(second, "second batten", on.key), *other], [
        Dimension("batten_sp", (wall.leaf_back, low), (wall.leaf_back, low + apart), apart, "y", "left")
    ]


def _lies_on(middle: float, over: Sequence[Covered]) -> Covered:
    """What a batten lies on: the sheet round the corner, or what is lapped or taped over it there; past its end the next sheet."""
    low, high = middle - BATTEN / 2, middle + BATTEN / 2
    first = Covered(low, high, -FILM, "membrane" if high > over[0].low else "next sheet")
    return min(
        (one for one in over if one.low < high and low < one.high), key=lambda one: one.face, default=first
    )


def _leaf(wall: Wall, key: str, outline: tuple[Point, ...], *, held: str = "batten") -> Layer:
    name = {"cladding": "Cladding", "render": "Render on board", "masonry": "Masonry leaf"}[
        wall.leaf_material
    ]
    carrier = "" if wall.masonry else held if wall.cavity else "membrane"
    rows = (wall.cavity_row,) if wall.cavity else ()
    return Layer(key, wall.leaf_material, outline, name, rows, carrier if key == "cladding" else "", order=8)


def _batten(outline: tuple[Point, ...], key: str, carrier: str = "membrane") -> Layer:
    return Layer(key, "timber", outline, "Upright batten", ("batten_sp",), carrier, order=8)
