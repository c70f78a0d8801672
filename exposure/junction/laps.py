"""Laps of the membrane, upright section and plan: which sheet lies over which, and how far."""

from collections.abc import Sequence
from dataclasses import replace

from exposure.junction.build_up import JOG, Wall, core, wall_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import Dimension, Layer, Point, Section, View, rectangle, sheet
from exposure.junction.window import NotDrawnError

THICK = 3.0  # mm, films drawn thicker still, so that the lap can be seen
BEYOND = 110.0
STUD_WIDE = 45.0
BACKING = "Blocking behind the taped edge"
LAYERS = "The {:g} layers asked are drawn as one."
TAPED = ("openings", "openings and upright laps", "all laps", "all laps, joined to the air seal")


def level_lap(numbers: Numbers) -> Section:
    """A level lap of the membrane, upper sheet over lower."""
    wall = _film_wall(numbers)
    lap = numbers.length("lap_h")
    taped = TAPED.index(str(numbers.values.get("seam_tape", TAPED[0]))) >= 2
    bottom, top = -max(BEYOND, numbers.length("tape_bond") + 40), lap + BEYOND
    framing = core(wall, bottom, top)
    parts = [
        *(backed(framing, 0) if taped else framing),
        *_sheets(wall, lap, bottom, top, "Upper sheet, over the lower one", "Lower sheet", "lap_h"),
        *([_tape(numbers.length("tape_bond"), lap)] if taped else []),
    ]
    dimensions = [Dimension("lap_h", (-2 * THICK, 0), (-THICK, lap), lap, "y", "left")]
    if taped:
        dimensions.append(_bond(numbers))
    drawn = _section(
        "lap-level",
        "Level lap of the membrane, upright section",
        "upright",
        wall,
        parts,
        dimensions,
        (bottom, top),
    )
    return _of_layers(drawn, numbers, wall)


def upright_lap(numbers: Numbers) -> Section:
    """An upright lap of the membrane, drawn at a stud, from above."""
    wall = _film_wall(numbers)
    lap = numbers.length("lap_v")
    taped = uprights_taped(numbers)
    bottom, top = -max(BEYOND, numbers.length("tape_bond") + 40), lap + BEYOND
    low, high = lap / 2 - STUD_WIDE / 2, lap / 2 + STUD_WIDE / 2
    stud = (
        "Stud behind the lap; over boards a lap may lie between two" if wall.board else "Stud behind the lap"
    )
    framing = core(wall, bottom, low, key="core")
    parts = [
        *(backed(framing, 0) if taped else framing),
        *core(wall, high, top, key="core beyond"),
        Layer("stud", "timber", rectangle(wall.core_face, low, wall.core_back, high), stud, ("lap_v",), "core", order=2),
        *_sheets(wall, lap, bottom, top, "Second sheet, over the first", "First sheet", "lap_v"),
        *([_tape(numbers.length("tape_bond"), lap)] if taped else []),
    ]  # fmt: skip
    if wall.board:
        parts.append(
            Layer(
                "stud board", "board", rectangle(0, low, wall.board, high), "Boards on the studs", (), "stud"
            )
        )
    dimensions = [Dimension("lap_v", (-2 * THICK, 0), (-THICK, lap), lap, "y", "left")]
    if taped:
        dimensions.append(_bond(numbers))
    drawn = _section(
        "lap-upright",
        "Upright lap of the membrane, seen from above",
        "plan",
        wall,
        parts,
        dimensions,
        (bottom, top),
    )
    return _of_layers(drawn, numbers, wall)


def backed(framing: Sequence[Layer], edge: float) -> list[Layer]:
    """Framing with solid blocking behind a taped edge, its middle as high as that, where no boards lie on the studs and it has room.

    Examples
    --------
    >>> wool = Layer("core", "insulation", rectangle(0, -100, 140, 100), "Studs and insulation")
    >>> [(one.key, min(y for _, y in one.outline)) for one in backed([wool], 0)]
    [('core', 22.5), ('core below', -100), ('blocking', -22.5)]
    """
    core, *boards = framing
    low, high = edge - STUD_WIDE / 2, edge + STUD_WIDE / 2
    left, bottom = (min(values) for values in zip(*core.outline, strict=True))
    right = max(x for x, _ in core.outline)
    if boards or low < bottom or high > min(y for _, y in core.outline if y > bottom):
        return [*framing]
    rest = replace(
        core,
        outline=tuple((x, high if y == bottom else y) for x, y in core.outline),
    )
    below = replace(core, key=f"{core.key} below", outline=rectangle(left, bottom, right, low), name="")
    return [rest, below, Layer("blocking", "timber", rectangle(left, low, right, high), BACKING, (), core.key, order=2)]  # fmt: skip


def _of_layers(drawn: Section, numbers: Numbers, wall: Wall) -> Section:
    """A lap that says how many layers of membrane over open studs are drawn as one."""
    layers = 1.0 if wall.board else numbers.length("stud_layers", 1.0)
    return replace(drawn, notes=(*drawn.notes, LAYERS.format(layers))) if layers > 1 else drawn


def _film_wall(numbers: Numbers) -> Wall:
    wall = wall_of(numbers)
    if not wall.film:
        message = "a cavity wall of masonry has no membrane"
        raise NotDrawnError(message)
    return wall


def _sheets(
    wall: Wall, lap: float, bottom: float, top: float, upper: str, lower: str, row: str
) -> tuple[Layer, Layer]:
    over: list[Point] = [(-THICK, top), (-THICK, lap + JOG), (-2 * THICK, lap + JOG / 2), (-2 * THICK, 0)]
    return (
        Layer("membrane", "membrane", rectangle(-THICK, bottom, 0, lap), lower, ("mem_class",), "core board" if wall.board else "core",
              water=True, order=2),
        Layer("upper sheet", "membrane", sheet(over, THICK), upper, (row,), "membrane", water=True, order=2),
    )  # fmt: skip


def _tape(bond: float, lap: float) -> Layer:
    return edge_tape(over_edge(bond, THICK, lap=lap), "upper sheet", order=2)


def edge_tape(outline: tuple[Point, ...], carrier: str, *, order: int) -> Layer:
    """Tape over the edge of the outer sheet."""
    rows = ("seam_tape", "tape_bond")
    return Layer(
        "lap tape",
        "tape",
        outline,
        "Tape over the edge; it never replaces the lap",
        rows,
        carrier,
        order=order,
    )


def over_edge(bond: float, thick: float, *, lap: float) -> tuple[Point, ...]:
    """Outline of a tape over the edge of a sheet that ends at y = 0 and lies above it on another by ``lap``."""
    high = min(bond, lap)
    return (
        (-3 * thick, high), (-3 * thick, 0), (-2 * thick, -thick), (-2 * thick, -bond), (-thick, -bond), (-thick, 0), (-2 * thick, 0),
        (-2 * thick, high),
    )  # fmt: skip


def uprights_taped(numbers: Numbers) -> bool:
    """Whether the schedule asks tape along every upright lap."""
    return TAPED.index(str(numbers.values.get("seam_tape", TAPED[0]))) >= 1


def _bond(numbers: Numbers) -> Dimension:
    bond = numbers.length("tape_bond")
    return Dimension("tape_bond", (-2 * THICK, -bond), (-2 * THICK, 0), bond, "y", "right")


def _section(
    key: str,
    title: str,
    view: View,
    wall: Wall,
    parts: list[Layer],
    dimensions: list[Dimension],
    ends: tuple[float, float],
) -> Section:
    bottom, top = ends
    left, right = -90.0, wall.core_face + 60
    return Section(
        key, title, view, (left, bottom, right, top), tuple(parts), tuple(dimensions), outdoors=((left + 5, 0),),
        drop=(-THICK, top - 20) if view == "upright" else None, water_ends=("membrane", "upper sheet"),
        notes=("Drawn before the cladding goes on.",),
    )  # fmt: skip
