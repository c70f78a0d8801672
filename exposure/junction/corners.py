"""Corners of the wall, seen from above: membrane past an inside corner; battens and split cavity at an outside one."""

from dataclasses import replace

from exposure.junction.build_up import Wall, wall_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import NotDrawnError

BEYOND = 90.0
BATTEN = 45.0
FIRST = 70.0  # mm, first batten from the corner
HARDER = "Drawn for a corner of two walls of this level; where the other wall is harder, build the corner by that wall's drawing."


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
        (-past + min(lap, past - 40), -2 * FILM),
        (-past - 8, -2 * FILM),
        (-past - 12, -FILM),
        (left, -FILM),
    ]
    parts = [
        Layer("core", "insulation", rectangle(wall.core_face, bottom, deep, deep), "Studs and insulation"),
        Layer("other core", "insulation", rectangle(left, wall.core_face, wall.core_face, deep), ""),
        Layer("membrane", "membrane", sheet(first, -FILM), "Membrane, round the corner in one piece", ("icorner",),
              "core board" if wall.board else "core", water=True, order=6),
        Layer("next sheet", "membrane", sheet(over, -FILM), "Next sheet, lapped over it", ("icorner",), "membrane", water=True, order=6),
        _leaf(wall, "cladding", rectangle(wall.face, bottom, wall.leaf_back, wall.face)),
        _leaf(wall, "other cladding", rectangle(left, wall.face, wall.leaf_back, wall.leaf_back)),
    ]  # fmt: skip
    if wall.board:
        parts += [
            Layer("core board", "board", rectangle(0, bottom, wall.board, wall.board), "Boards on the studs", (), "core", order=2),
            Layer("other board", "board", rectangle(left, 0, 0, wall.board), "", (), "other core"),
        ]  # fmt: skip
    parts.append(
        _batten(rectangle(wall.leaf_back, wall.leaf_back - BATTEN, wall.skin, wall.leaf_back), "batten")
    ) if wall.cavity and not wall.masonry else None
    dimensions = [Dimension("icorner", (-past, -FILM), (0, -FILM), past, "x", "bottom")]
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
    )  # fmt: skip


def outside_corner(numbers: Numbers) -> Section:
    """An outside corner: one wall runs down the sheet, the other to the right, indoors between them.

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
    bottom = -max(FIRST + apart, past + 20) - BEYOND
    right = wall.core_back + 190
    deep, out, back = wall.core_back, -wall.face, -wall.leaf_back
    round_it: list[Point] = [(-FILM, -past), (-FILM, FILM), (right, FILM)]
    over: list[Point] = [
        (-FILM, bottom),
        (-FILM, -past - 12),
        (-2 * FILM, -past - 8),
        (-2 * FILM, -past + min(lap, past - 40)),
    ]
    parts = [
        Layer("core", "insulation", rectangle(wall.core_face, bottom, deep, -wall.core_face), "Studs and insulation"),
        Layer("other core", "insulation", rectangle(deep, -deep, right, -wall.core_face), ""),
        Layer("membrane", "membrane", sheet(round_it, -FILM), "Membrane, round the corner in one piece", ("ocorner", "mem_class"),
              "core board" if wall.board else "core", water=True, order=2),
        Layer("next sheet", "membrane", sheet(over, -FILM), "Next sheet, lapped over it", ("ocorner",), "membrane", water=True, order=2),
        _leaf(wall, "cladding", rectangle(wall.face, bottom, wall.leaf_back, out)),
        replace(_leaf(wall, "other cladding", rectangle(wall.leaf_back, back, right, out)), carrier="cladding"),
    ]  # fmt: skip
    if wall.board:
        parts += [
            Layer("core board", "board", rectangle(0, bottom, wall.board, 0), "Boards on the studs", (), "core", order=2),
            Layer("other board", "board", rectangle(wall.board, -wall.board, right, 0), "", (), "core"),
        ]  # fmt: skip
    dimensions = [Dimension("ocorner", (-FILM, -past), (-FILM, 0), past, "y", "right")]
    air: list[Point] = [(wall.face - 40, out + 30)]
    if battened:
        more, sizes = _battened(numbers, wall, apart)
        parts += more
        dimensions += sizes
    if wall.cavity:
        dimensions.append(
            Dimension(
                wall.cavity_row, (wall.leaf_back, bottom), (wall.skin, bottom), wall.cavity, "x", "bottom"
            )
        )
        middle = (wall.leaf_back + wall.skin) / 2 - FILM / 2
        air += [(middle, bottom + 2), (right - 2, -middle)]
    return Section(
        "corner-outside", "Outside corner, seen from above", "plan", (wall.face - 50, bottom, right, out + 40), tuple(parts),
        tuple(dimensions), outdoors=tuple(air),
        indoors=((right - 5, -deep - 10),) if right > deep + 10 else (), water_ends=("membrane", "next sheet"), notes=(HARDER,),
    )  # fmt: skip


def _battened(numbers: Numbers, wall: Wall, apart: float) -> tuple[list[Layer], list[Dimension]]:
    """Battens at an outside corner, and the closer that splits the cavity where the schedule asks one."""
    asked = str(numbers.values.get("cav_corner", ""))
    low, skin, back = -FIRST - apart, -wall.skin, -wall.leaf_back
    inner = wall.skin - FILM  # before the next sheet
    parts = [
        _batten(rectangle(wall.leaf_back, -FIRST - BATTEN / 2, inner, -FIRST + BATTEN / 2), "batten"),
        replace(
            _batten(rectangle(wall.leaf_back, low - BATTEN / 2, inner, low + BATTEN / 2), "second batten"),
            carrier="next sheet",
        ),
        _batten(rectangle(FIRST, skin, FIRST + BATTEN, back), "third batten"),
    ]
    if asked.startswith("split"):
        parts.append(
            Layer("corner closer", "timber", rectangle(wall.leaf_back, skin, 0, back),
                  "Upright closer that splits the cavity" + (", sealed top to bottom" if asked == "split and sealed" else ""), ("cav_corner",),
                  "cladding", order=8)
        )  # fmt: skip
    return parts, [
        Dimension("batten_sp", (wall.leaf_back, low), (wall.leaf_back, -FIRST), apart, "y", "left")
    ]


def _leaf(wall: Wall, key: str, outline: tuple[Point, ...]) -> Layer:
    name = {"cladding": "Cladding", "render": "Render on board", "masonry": "Masonry leaf"}[
        wall.leaf_material
    ]
    carrier = "" if wall.masonry else "batten" if wall.cavity else "membrane"
    rows = (wall.cavity_row,) if wall.cavity else ()
    return Layer(key, wall.leaf_material, outline, name, rows, carrier if key == "cladding" else "", order=8)


def _batten(outline: tuple[Point, ...], key: str) -> Layer:
    return Layer(key, "timber", outline, "Upright batten", ("batten_sp",), "membrane", order=8)
