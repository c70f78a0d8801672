"""Corners of the wall, seen from above: membrane past an inside corner; battens and split cavity at an outside one."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from exposure.junction.build_up import BOARD, LINING, STACK, Wall, wall_of
from exposure.junction.corner_laps import (
    BATTEN,
    STUD_END,
    Covered,
    lies_on,
    over_first,
    over_studs,
    round_the_bend,
    straight_on,
    with_stud,
)
from exposure.junction.laps import edge_tape, over_edge, uprights_taped
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import NotDrawnError

BEYOND = 90.0
ROOM = 15.0  # mm of the room shown at an inside corner
BEAD = 7.0  # mm, sealant along a batten, where the batten is thick enough for two of them
SEALED = "split and sealed top to bottom"  # as the row cav_corner has it
HARDER = "Drawn for two walls of this level; where they differ, build the corner by the drawing of the harder, of two membrane classes the tighter: that wall {where}, mirrored where the other is then at the right. Each wall keeps its own cavity up to the corner."


NO_CAVITY = "Where the other wall has no cavity, its cladding lies straight on the membrane and goes past the batten beside the corner: it has no batten there."
ONE_SIDE = ", cavity on one side alone"
OVER, UNDER = "Next sheet lapped over it", "Next sheet under it as far as the corner stud"
BLOCKING = "Blocking or a stud behind the edge of the sheet round the corner"
PAST_INSIDE = "Membrane of the wall down the sheet, in one piece"
ROUND = "Membrane of the wall across the top, in one piece"
BARE: dict[str, Any] = {
    "name": "Cladding of the wall without a cavity, straight on the membrane and past the batten, its ends fixed to the corner stud",
    "rows": (),
}


def has_cavity(corner: Section) -> bool:
    """Whether the wall in the drawing of a corner has a cavity."""
    return any(one.key.startswith("cav_") for one in corner.dimensions)


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
    bond = numbers.length("tape_bond") if uprights_taped(numbers) else 0.0
    over = over_first(past, lap, bond) if wall.board else over_studs(past, bond)
    face, back = (wall.face, wall.leaf_back) if wall.cavity else (-STACK - wall.leaf, -FILM)
    along = tuple((y, x) for x, y in straight_on(face, left, back, over))
    level = rectangle(left, face, back, back) if wall.cavity else along
    framing = _framing_inside(wall, past, bottom, left)
    if wall.cavity and not wall.masonry:
        low, high = wall.leaf_back - BATTEN, wall.leaf_back
        corner = wall.core_face - BATTEN
        beside = low < corner - BATTEN / 3 < high - BATTEN / 3  # the corner stud bears too little of it
        end = corner if beside else high
        for stud in (
            (wall.core_face, end - BATTEN, deep, end),
            (end - BATTEN, wall.core_face, end, deep),
        ):
            framing = with_stud(framing, stud)
    parts = [
        *framing,
        *_sheets_inside(wall, past, lap, bond, bottom, left),
        *_round_inside(wall, face, back, left, bottom, level),
        _lining(
            (
                (deep, bottom),
                (wall.room, bottom),
                (wall.room, wall.room),
                (left, wall.room),
                (left, deep),
                (deep, deep),
            )
        ),
    ]
    if wall.cavity and not wall.masonry:  # one under each board end
        on = lies_on((low + high) / 2, over)
        parts += [
            _batten(rectangle(high, low, wall.skin, high), "batten"),
            _batten(rectangle(low, high, high, on.face), "second batten", on.key),
        ]
    dimensions = [
        Dimension("icorner", (-past, -FILM), (0, -FILM), past, "x", "bottom"),
        *(
            [Dimension("lap_v", (-past, -2 * FILM), (lap - past, -2 * FILM), lap, "x", "bottom")]
            if wall.board
            else []
        ),
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
        "corner-inside", "Inside corner, seen from above", "plan", (left, bottom, wall.room + ROOM, wall.room + ROOM), tuple(parts), tuple(dimensions),
        outdoors=air, indoors=(), water_ends=("membrane", "next sheet"), notes=(HARDER.format(where="runs down the sheet"),),
        conflicts=round_the_bend("icorner", past, lap, bond), turn=1,
    )  # fmt: skip


def _round_inside(
    wall: Wall, face: float, back: float, left: float, bottom: float, level: tuple[Point, ...]
) -> list[Layer]:
    """Cladding ``level`` and down the sheet; a masonry leaf is bonded round the corner, in one piece."""
    if wall.masonry:
        ends = (face, bottom), (back, bottom), (back, back), (left, back), (left, face), (face, face)
        return [_leaf(wall, "cladding", ends)]
    down = rectangle(face, bottom, back, face)
    return [_leaf(wall, "cladding", down), _leaf(wall, "other cladding", level)]


def _lining(outline: tuple[Point, ...]) -> Layer:
    """The inner lining of both walls."""
    return Layer("lining", "lining", outline, "Inner lining, airtight", (), "other core", air=True)


def _framing_inside(wall: Wall, past: float, bottom: float, left: float) -> list[Layer]:
    """Studs, insulation and boards at an inside corner: a stud of each wall behind its layers there; over open studs one or blocking behind the edge of the sheet.

    The wall down the sheet runs through, the other's last stud stands against its end.
    """
    deep, face = wall.core_back, wall.core_face
    side, end = face - BATTEN, deep - BATTEN
    framing = [
        Layer("core", "insulation", rectangle(face, bottom, deep, side), "Studs and insulation"),
        Layer("stud beside", "timber", rectangle(face, side, deep, face), "", (), "core at the end", order=2),
        Layer("core at the end", "insulation", rectangle(face, face, deep, end), ""),
        Layer("end stud", "timber", rectangle(face, end, deep, deep), "", (), "core at the end", order=2),
        Layer("corner stud", "timber", rectangle(side, face, face, deep), "Corner stud", (), "end stud", order=2),
    ]  # fmt: skip
    if wall.board:
        return [
            *framing,
            Layer("other core", "insulation", rectangle(left, face, side, deep), ""),
            Layer("core board", "board", rectangle(0, bottom, wall.board, wall.board), "Boards on the studs", (), "stud beside", order=2),
            Layer("other board", "board", rectangle(left, 0, 0, wall.board), "", (), "corner stud"),
        ]  # fmt: skip
    low, high = -past - BATTEN / 2, -past + BATTEN / 2
    return [
        *framing,
        Layer("other core", "insulation", rectangle(high, face, side, deep), ""),
        Layer("core beyond", "insulation", rectangle(left, face, low, deep), ""),
        Layer("blocking", "timber", rectangle(low, face, high, deep), BLOCKING, ("lap_v",), "other core", order=2),
    ]  # fmt: skip


def _sheets_inside(
    wall: Wall, past: float, lap: float, bond: float, bottom: float, left: float
) -> list[Layer]:
    """The sheet past an inside corner, the next one and the tape, as at an outside corner."""
    way: list[Point] = [(-FILM, bottom), (-FILM, -FILM)]
    if wall.board:
        way.append((-past, -FILM))
        over: list[Point] = [
            (-past + lap, -2 * FILM),
            (-past - 8, -2 * FILM),
            (-past - 12, -FILM),
            (left, -FILM),
        ]
        following = Layer("next sheet", "membrane", sheet(over, -FILM), OVER, ("icorner", "lap_v"), "membrane", water=True, order=6)  # fmt: skip
        taped = [(lap - past - along, out) for out, along in over_edge(bond, FILM, lap=lap)]
    else:
        way += [(STUD_END + 8, -FILM), (STUD_END + 4, -2 * FILM), (-past, -2 * FILM)]
        under = rectangle(left, -FILM, STUD_END, 0)
        following = Layer("next sheet", "membrane", under, UNDER, ("icorner", "stud_layers"), "other core", water=True, order=6)  # fmt: skip
        taped = [(along - past, out) for out, along in over_edge(bond, FILM, lap=past)]
    on = "core board" if wall.board else "core"
    first = Layer("membrane", "membrane", sheet(way, -FILM), PAST_INSIDE, ("icorner",), on, water=True, order=6)  # fmt: skip
    outer = "next sheet" if wall.board else "membrane"
    return [first, following, *([edge_tape(tuple(taped), outer, order=6)] if bond else [])]


def outside_corner(
    numbers: Numbers, *, bare: bool = False, mirrored: bool = False, one_boarded: bool = False
) -> Section:
    """An outside corner: the wall whose membrane goes round it runs across the top, the other down the sheet, indoors between them.

    Parameters
    ----------
    bare
        Whether the wall that runs down the sheet has no cavity, its cladding straight on the membrane.
    mirrored
        Whether that wall stands at the right.
    one_boarded
        Whether boards stand behind the membrane of one of the two walls alone.

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
    apart = numbers.length("batten_sp") if battened and not bare else 0.0
    bottom = -max(apart, past) - BEYOND
    down = replace(wall, board=BOARD - wall.board) if one_boarded else wall
    right = wall.core_back + 190
    back = -wall.leaf_back if wall.cavity else FILM
    bond = numbers.length("tape_bond") if uprights_taped(numbers) else 0.0
    framing = _framing(wall, down, past, bottom, right)
    if apart:
        at = -wall.skin - BATTEN / 2 - apart  # middle of the second batten
        framing = with_stud(framing, (down.core_face, at - BATTEN / 2, down.core_back, at + BATTEN / 2))
    sheets, over = _sheets_at(down, past, lap, bond, bottom, right)
    direct = bare or not wall.cavity  # the cladding down the sheet lies straight on the membrane
    held = "membrane" if direct else "second batten"
    face = -STACK - wall.leaf if direct else wall.face
    outline = (
        straight_on(face, bottom, back, over) if direct else rectangle(face, bottom, wall.leaf_back, back)
    )
    across = rectangle(face, back, right, back + wall.leaf)
    inner, side, room = -wall.core_back, down.core_back, down.room
    low = inner - LINING
    corner = (side, bottom), (room, bottom), (room, low), (right, low), (right, inner), (side, inner)
    parts = [*framing, *sheets, _lining(corner)]
    if wall.masonry:
        parts.append(_leaf(wall, "cladding", (*outline[:2], (outline[1][0], back), *across[1:])))
    else:
        parts += [
            replace(_leaf(wall, "cladding", outline, held=held), **(BARE if bare else {})),
            replace(
                _leaf(wall, "other cladding", across),
                name=_leaf(wall, "cladding", across).name if bare else "",
                carrier="batten" if battened else "membrane",
            ),
        ]
    dimensions = [Dimension("ocorner", (-FILM, -past), (-FILM, 0), past, "y", "right")]
    if down.board:
        dimensions.append(Dimension("lap_v", (-2 * FILM, -past), (-2 * FILM, lap - past), lap, "y", "right"))
    air: list[Point] = [(face - 40, back + wall.leaf + 30)]
    if battened:
        more, sizes = _battened(numbers, wall, apart, over, bare=bare)
        parts += more
        dimensions += sizes
    if wall.cavity:
        between = wall.leaf_back, wall.skin
        middle = sum(between) / 2 - FILM / 2
        start, end = ((wall.skin, -x) if bare else (x, bottom) for x in between)
        dimensions.append(
            Dimension(
                wall.cavity_row, start, end, wall.cavity, "y" if bare else "x", "left" if bare else "bottom"
            )
        )
        air += [*(() if bare else ((middle, bottom + 2),)), (right - 2, -middle)]
    drawn = Section(
        "corner-one-side" if bare else "corner-outside",
        f"Outside corner{ONE_SIDE if bare else ''}, seen from above",
        "plan",
        (face - 50, bottom, right, back + wall.leaf + 40),
        tuple(parts),
        tuple(dimensions),
        outdoors=tuple(air),
        indoors=((right - 5, low - 10),),
        water_ends=("membrane", "next sheet"),
        notes=()
        if bare
        else (
            HARDER.format(where="runs across the top"),
            *((NO_CAVITY,) if battened else ()),
        ),
        conflicts=round_the_bend("ocorner", past, lap, bond),
        turn=-1,
    )
    return _in_a_mirror(drawn) if mirrored else drawn


def _sheets_at(
    wall: Wall, past: float, lap: float, bond: float, bottom: float, right: float
) -> tuple[list[Layer], list[Covered]]:
    """The sheet round an outside corner, the next one and the tape, and where one of them lies over another.

    Over boards the next one laps over it and ends before the corner; over open studs it lies under it as far as the corner stud.
    """
    on, rows = "core board" if wall.board else "core", ("ocorner", "mem_class")
    first = Layer("membrane", "membrane", (), ROUND, rows, on, water=True, order=2)
    if wall.board:
        way: list[Point] = [(-FILM, -past), (-FILM, FILM), (right, FILM)]
        over: list[Point] = [
            (-FILM, bottom),
            (-FILM, -past - 12),
            (-2 * FILM, -past - 8),
            (-2 * FILM, -past + lap),
        ]
        edge, covered = lap - past, over_first(past, lap, bond)
        following = Layer("next sheet", "membrane", sheet(over, -FILM), OVER, ("ocorner", "lap_v"), "membrane", water=True, order=2)  # fmt: skip
        taped = [(out, edge - along) for out, along in over_edge(bond, FILM, lap=lap)]
    else:
        end = STUD_END
        way = [
            (-2 * FILM, -past),
            (-2 * FILM, end + 4),
            (-FILM, end + 8),
            (-FILM, FILM),
            (right, FILM),
        ]
        edge, covered = -past, over_studs(past, bond)
        under = rectangle(-FILM, bottom, 0, end)
        following = Layer("next sheet", "membrane", under, UNDER, ("ocorner", "stud_layers"), "core", water=True, order=2)  # fmt: skip
        taped = [(out, edge + along) for out, along in over_edge(bond, FILM, lap=past)]
    sheets = [replace(first, outline=sheet(way, -FILM)), following]
    if bond:
        sheets.append(edge_tape(tuple(taped), "next sheet" if wall.board else "membrane", order=2))
    return sheets, covered


def _framing(wall: Wall, down: Wall, past: float, bottom: float, right: float) -> list[Layer]:
    """Studs, insulation and boards at an outside corner; over open studs ``down`` the sheet a stud or blocking behind the edge of the sheet round it."""
    deep, face, top = down.core_back, down.core_face, -wall.core_face
    end = top - BATTEN
    studs = [Layer("corner stud", "timber", rectangle(face, end, deep, top), "Corner stud", (), "core", order=2)]  # fmt: skip
    boards = []
    if down.board:
        core = [Layer("core", "insulation", rectangle(face, bottom, deep, end), "Studs and insulation")]
        boards.append(Layer("core board", "board", rectangle(0, bottom, face, 0), "Boards on the studs", (), "core", order=2))  # fmt: skip
    else:
        low, high = -past - BATTEN / 2, -past + BATTEN / 2
        core = [
            Layer("core", "insulation", rectangle(face, high, deep, end), "Studs and insulation"),
            Layer("core beyond", "insulation", rectangle(face, bottom, deep, low), ""),
        ]
        studs.append(
            Layer(
                "blocking",
                "timber",
                rectangle(face, low, deep, high),
                BLOCKING,
                ("lap_v",),
                "core beyond",
                order=2,
            )
        )
    if wall.board:
        name = "" if down.board else "Boards on the studs"
        boards.append(Layer("other board", "board", rectangle(face, top, right, 0), name, (), "corner stud", order=2))  # fmt: skip
    inner, last = -wall.core_back, deep + BATTEN
    studs.append(Layer("end stud", "timber", rectangle(deep, inner, last, top), "", (), "corner stud", order=2))  # fmt: skip
    other = Layer("other core", "insulation", rectangle(last, inner, right, top), "")
    return [*core, *studs, other, *boards]


def _in_a_mirror(drawn: Section) -> Section:
    """A plan with left and right changed."""
    swapped: dict[str, Any] = {"left": "right", "right": "left"}

    def point(at: Point) -> Point:
        return -at[0], at[1]

    left, bottom, right, top = drawn.box
    return replace(
        drawn,
        box=(-right, bottom, -left, top),
        layers=tuple(replace(one, outline=tuple(map(point, one.outline))) for one in drawn.layers),
        dimensions=tuple(
            replace(one, start=point(one.start), end=point(one.end), side=swapped.get(one.side, one.side))
            for one in drawn.dimensions
        ),
        outdoors=tuple(map(point, drawn.outdoors)),
        indoors=tuple(map(point, drawn.indoors)),
        sides=(drawn.sides[1], drawn.sides[0]),
        turn=-drawn.turn,
    )


def _battened(
    numbers: Numbers, wall: Wall, apart: float, over: Sequence[Covered], *, bare: bool
) -> tuple[list[Layer], list[Dimension]]:
    """Battens at an outside corner: one beside it on each wall, over the corner stud, so that both board ends lie on one.

    The first splits the cavity of the wall across the top, sealed where that is asked. The second goes past its side, out to
    that wall's cladding; where its own wall is ``bare`` there is none, and both board ends lie on the first.
    """
    asked = str(numbers.values.get("cav_corner", ""))
    sealed = ", sealed top to bottom" if asked == SEALED else ""
    out, back, end = wall.skin, -wall.leaf_back, -wall.skin - BATTEN
    beside = replace(
        _batten(rectangle(out, FILM, out + BATTEN, back), "batten"),
        name=f"Batten beside the corner, on membrane and corner stud{sealed}",
        rows=("cav_corner", "batten_sp"),
    )
    first = [beside, *(_corner_seals(out + BATTEN, back) if sealed else ())]
    if bare:
        return first, []
    on = lies_on(end + BATTEN / 2, over)
    name = "Batten of the other wall, out to the cladding, for both board ends"
    wide = Layer("corner batten", "timber", rectangle(wall.leaf_back, end, on.face, back), name, ("batten_sp",), on.key, order=8)  # fmt: skip
    low = end + BATTEN / 2 - apart
    on = lies_on(low, over)
    second = rectangle(wall.leaf_back, low - BATTEN / 2, on.face, low + BATTEN / 2)
    edge = (
        end - apart
    )  # as far as from middle to middle; the corner batten's own middle lies nearer to the corner
    return [*first, replace(_batten(second, "second batten", on.key), name=""), wide], [
        Dimension("batten_sp", (wall.leaf_back, edge), (wall.leaf_back, end), apart, "y", "left")
    ]


def _corner_seals(side: float, back: float) -> list[Layer]:
    """Sealant along the batten that splits a cavity, at its ``side``: to the membrane, and to the cladding whose back is at ``back``."""
    bead = min(BEAD, (back - FILM) / 2)
    fillets = (
        ((side, FILM), (side + bead, FILM), (side, FILM + bead)),
        ((side, back), (side, back - bead), (side + bead, back)),
    )
    name = "Sealant, batten to membrane and cladding"
    return [
        Layer(f"corner seal {place}", "sealant", one, name, ("cav_corner",), "batten", order=8)
        for place, one in enumerate(fillets)
    ]


def _leaf(wall: Wall, key: str, outline: tuple[Point, ...], *, held: str = "batten") -> Layer:
    name = {"cladding": "Cladding", "render": "Render on board", "masonry": "Masonry leaf"}[
        wall.leaf_material
    ]
    carrier = "" if wall.masonry else held if wall.cavity else "membrane"
    rows = (wall.cavity_row,) if wall.cavity else ()
    return Layer(key, wall.leaf_material, outline, name, rows, carrier if key == "cladding" else "", order=8)


def _batten(outline: tuple[Point, ...], key: str, carrier: str = "membrane") -> Layer:
    return Layer(key, "timber", outline, "Upright batten", ("batten_sp",), carrier, order=8)
