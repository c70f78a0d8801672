"""Window jamb, plan: the flange and its tape, or the frame behind the leaf with its damp-proof course."""

from dataclasses import replace

from exposure.detail.beside import SET_BACK
from exposure.junction.build_up import (
    LINING,
    Wall,
    carried_in,
    cladding,
    core,
    lining,
    membrane,
    with_vapour_layer,
)
from exposure.junction.lining_tape import before_films, lining_tape, tape_over, tape_size
from exposure.junction.numbers import Numbers
from exposure.junction.over_frame import is_lined, over_the_edge
from exposure.junction.scene import FILM, SHEET, Conflict, Dimension, Layer, Point, Section, rectangle, sheet
from exposure.junction.window import (
    BEAD,
    BESIDE,
    BOX,
    HEIGHT,
    IN_REVEAL_OUT,
    ON_CLADDING,
    ON_SIDE,
    TRIM,
    UNDER_FLANGE,
    Frame,
    bedding,
    flange_before,
    glass,
    reveal_board_asked,
    rod,
    rod_asked,
    side_tape,
    tape_sizes,
    window_in,
)

CLEAR = BESIDE  # mm, between frame and stud
FIN = 25.0  # mm, flange beside the frame
STUD_WIDE = 45.0
ON_FRAME = 30.0  # mm, strap on the room face of a frame; its maker gives it
ON_LEAF = 60.0  # mm, strap on the inner leaf at least; its maker gives it
CLOSER = 50.0
REVEAL_LAP = 25.0  # mm, trim of a reveal over the cladding at most
TRIM_WIDE, REVEAL = 50.0, 12.0
SEALED_WIDE = 8.0  # mm, bead under a flange on the cladding, from its edge
LAP = 25.0  # mm, damp-proof course onto the frame; said in the row dpc_jamb


def jamb(numbers: Numbers) -> Section:
    """The jamb of a window, seen from above; the wall lies below it on the sheet."""
    wall, frame = window_in(numbers)
    made = jamb_of(numbers, wall, frame, lined=reveal_board_asked(numbers, wall, frame))
    if numbers.setback and frame.outer - wall.face == numbers.setback:
        back = Dimension("reveal", (wall.face, 0), (frame.outer, CLEAR), numbers.setback, "x", "top")
        return replace(made, dimensions=(*made.dimensions, back))
    return made


def jamb_of(numbers: Numbers, wall: Wall, frame: Frame, *, lined: bool, row: str = "reveal_board") -> Section:
    """The jamb with its frame, ``lined`` by a reveal board that ``row`` orders."""
    tape, sizes, short = _jamb_tape(numbers, frame)
    if wall.masonry:
        parts, dimensions, narrow = _masonry(numbers, wall, frame, tape, lined=lined, row=row)
    else:
        parts, dimensions, narrow = _clad(numbers, wall, frame, tape)
    dimensions += tape_size(numbers, wall, frame)
    dimensions += (
        [replace(one, side="right") if one.axis == "y" else one for one in sizes] if wall.masonry else sizes
    )
    bottom = min(y for layer in parts for _, y in layer.outline)
    if wall.cavity:
        ends = (wall.leaf_back, bottom), (wall.skin, bottom)
        dimensions.append(Dimension(wall.cavity_row, *ends, wall.cavity, "x", "bottom"))
    top = CLEAR + HEIGHT + 90
    return Section(
        "jamb",
        "Window jamb, seen from above",
        "plan",
        (wall.face - 60, bottom, wall.room + 55, top),
        tuple(with_vapour_layer(one, numbers) for one in parts),
        tuple(dimensions),
        outdoors=(
            (wall.face - 50, top - 5),
            *(((wall.leaf_back + wall.skin) / 2, bottom + 2),) * bool(wall.cavity),
        ),
        indoors=((wall.room + 40, top - 5),),
        conflicts=(*frame.conflicts, *short, *narrow),
        water_ends=("membrane" if wall.film else "dpc", "pane"),
        air_ends=("lining", "pane"),
    )


def _frame_parts(numbers: Numbers, wall: Wall, frame: Frame, start: float) -> list[Layer]:
    """Frame, pane, and the seal in the gap that begins at ``start``."""
    high = CLEAR + HEIGHT
    outline = rectangle(frame.outer, CLEAR, frame.inner, high)
    holder = "opening tape" if wall.film else "closer"
    parts = [
        Layer("frame", "frame", outline, "Window frame", ("reveal",), "seal", water=True, air=True, order=3),
        *glass(frame, high, high + 90),
        Layer(
            "seal", "sealant", rectangle(frame.inner - BEAD, start, frame.inner, CLEAR), "Inner air seal", ("air_seal",), holder,
            water=True, air=True, order=3,
        ),
    ]  # fmt: skip
    if frame.flange:
        fin = rectangle(-2 * FILM, -FIN, -FILM, CLEAR)
        flange = Layer("flange", "metal", fin, "Flange of the frame, bedded in sealant", (), "frame", water=True, order=3)  # fmt: skip
        parts += [flange, bedding(flange, up=False)]
    if frame.strapped or frame.on_cladding:
        low = start + SHEET
        way: list[Point] = [
            (frame.inner + 45, low),
            (frame.inner + SHEET, low),
            (frame.inner + SHEET, CLEAR + ON_FRAME),
        ]
        parts.append(Layer("strap", "hidden", sheet(way, SHEET), *_holds(numbers, frame), "frame", cut=False, order=3))  # fmt: skip
    if rod_asked(numbers):
        radius = (CLEAR - start) / 2
        parts.append(rod((frame.inner - BEAD - radius, start + radius), radius, "seal"))
    return parts


def _holds(numbers: Numbers, frame: Frame) -> tuple[str, tuple[str, ...]]:
    """What holds the frame on the room side, and the row that orders it."""
    if frame.on_cladding:
        return "Bracket to the stud, above and below the cut, sealed behind", ("fix_over",)
    rows = {BOX: ("fix_box",), SET_BACK: ("fix_set_back",)}
    return "Strap on the room side, above and below the cut, sealed behind", rows.get(
        numbers.circumstances.frame, ()
    )


def _framed(numbers: Numbers, wall: Wall, frame: Frame, bottom: float) -> list[Layer]:
    """Studs, boards, membrane turned into the opening, the tape that lines it."""
    into = min(numbers.length("tape_bond", 50.0), wall.core_back - 20)
    parts = [
        *core(wall, bottom, -2 * STUD_WIDE),
        Layer("stud", "timber", rectangle(wall.core_face, -2 * STUD_WIDE, wall.core_back, -STUD_WIDE), "", (), "core"),
        Layer("jack stud", "timber", ((wall.core_face, -STUD_WIDE), (wall.core_back, -STUD_WIDE), (wall.core_back, 0), (into, 0), (into, -FILM), (wall.core_face, -FILM)),
              "", (), "stud"),
        lining(wall, bottom, 0),
        replace(membrane(wall, bottom, 0, rows=("mem_class",)), name="Membrane, turned in under the tape",
                outline=((-FILM, bottom), (0, bottom), (0, -FILM), (into, -FILM), (into, 0), (-FILM, 0))),
        lining_tape(numbers, wall, frame),
    ]  # fmt: skip
    if wall.board:
        edge = rectangle(0, -2 * STUD_WIDE, wall.board, -FILM)
        parts.append(Layer("jamb board", "board", edge, "Boards on the studs", (), "stud", order=2))
    parts += _frame_parts(numbers, wall, frame, FILM)
    return parts


def _jamb_tape(numbers: Numbers, frame: Frame) -> tuple[list[Layer], list[Dimension], tuple[Conflict, ...]]:
    """Tape over the flange, or from the side of a box frame; its sizes, and the clash of one too narrow for its bond."""
    if not frame.flange and not frame.taped:
        return [], [], ()
    wide, bond = numbers.length("tape_w"), numbers.length("tape_bond")
    if frame.taped:
        bent, way = side_tape(frame, wide, start=FILM, side=CLEAR, face=-FILM)
        name = "Jamb tape, from the side of the frame round the edge of the opening"
        tape = Layer(
            "jamb tape",
            "tape",
            tuple(bent),
            name,
            ("box_tape", "tape_w", "tape_bond"),
            "membrane",
            water=True,
            order=3,
        )
        sizes, short = tape_sizes(way, wide, bond)
        return (
            [tape],
            [*sizes, Dimension("tape_bond", way[1], way[0], ON_SIDE, "x", "top", name="on frame")],
            short,
        )
    edge, top = -3 * FILM, CLEAR - 1
    outline = rectangle(edge, top - wide, -2 * FILM, top)
    tape = Layer(
        "jamb tape",
        "tape",
        outline,
        "Jamb tape over the flange",
        ("tape_w", "tape_bond"),
        "flange",
        water=True,
        order=3,
    )
    sizes = [
        Dimension("tape_w", (edge, top - wide), (edge, top), wide, "y", "left"),
        Dimension(
            "tape_bond", (edge, -FIN), (edge, -FIN - bond), bond, "y", "right", name="least on wall"
        ),  # from the edge of the flange
    ]
    left = wide - top - FIN
    if left >= bond:
        return [tape], sizes, ()
    said = (
        f"A tape {wide:g} mm wide over a flange of {FIN + CLEAR:g} mm leaves {left:g} mm on the membrane, and {bond:g} mm "
        f"are asked: take tape {wide + bond - left:g} mm wide."
    )
    return [tape], sizes, (Conflict(("tape_w", "tape_bond"), said),)


def _reach(tape: list[Layer]) -> float:
    """How far the tape reaches along the wall."""
    return min((y for layer in tape for _, y in layer.outline), default=-100.0)


def _clad(
    numbers: Numbers, wall: Wall, frame: Frame, tape: list[Layer]
) -> tuple[list[Layer], list[Dimension], tuple[Conflict, ...]]:
    bottom = min(_reach(tape), -150.0) - 40
    parts = [*_framed(numbers, wall, frame, bottom), *tape]
    boards = cladding(wall, bottom, 0, carrier="jamb batten" if wall.cavity else "membrane")
    end, clear = 0.0, []
    if frame.flange and not wall.cavity:  # over the tape up to the frame, which nothing else covers
        gap = min(numbers.length("clad_gap", 5.0), CLEAR)
        end = CLEAR - gap
        clear = [Dimension("clad_gap", (wall.leaf_back, end), (wall.leaf_back, CLEAR), gap, "y", "left", name="clear")]  # fmt: skip
        boards = replace(boards, name=f"{boards.name}, over the tape up to the frame")
    parts.append(replace(boards, outline=rectangle(wall.face, bottom, wall.leaf_back, end)))
    if wall.cavity:
        under = [one for one in parts if one.key in ("opening tape", "jamb tape")]
        ends = [(x, one.key) for one in under for x, y in one.outline if y < -STUD_WIDE / 3]
        back, carrier = min(ends, default=(-FILM, "membrane"))
        parts.append(
            Layer(
                "jamb batten",
                "timber",
                rectangle(wall.leaf_back, -60, back, -15),
                "Upright batten",
                ("batten_sp",),
                carrier,
                order=8,
            )
        )
    cover = numbers.length("jamb_cover", ON_CLADDING)
    dimensions: list[Dimension] = []
    parts += _reveal_lining(numbers, wall, frame)
    if frame.trimmed:
        trim, dimensions = _trim(numbers, wall, frame, cover)
        parts.append(trim)
    if frame.on_cladding:
        flange, lap = _flange_on_cladding(wall, frame, cover)
        parts += flange
        dimensions.append(lap)
    return parts, [*dimensions, *clear], ()


def _flange_on_cladding(wall: Wall, frame: Frame, cover: float) -> tuple[list[Layer], Dimension]:
    """The flange before the cladding, bedded in sealant on it, and how far it covers its edge."""
    outline, near = flange_before(frame, CLEAR, -cover), frame.outer - UNDER_FLANGE
    bead = rectangle(near, -cover, wall.face, SEALED_WIDE - cover)
    return [
        Layer("flange", "flange", outline, "Flange of the frame, on the cladding", ("jamb_cover",), "frame", order=3),
        Layer("flange seal", "sealant", bead, "Sealant under the flange", ("reveal_face",), "cladding", order=3),
    ], Dimension("jamb_cover", (near - FILM, -cover), (near - FILM, 0), cover, "y", "left")  # fmt: skip


def _trim(numbers: Numbers, wall: Wall, frame: Frame, cover: float) -> tuple[Layer, list[Dimension]]:
    """The trim before the joint of a box frame and the cladding; where the frame stands back it lines the reveal."""
    edge = CLEAR + cover
    name, outline = (
        "Trim over the joint",
        rectangle(wall.face - TRIM, -over_the_edge(numbers, TRIM_WIDE), wall.face, edge),
    )
    if frame.outer > wall.face + 1:
        name += f", {_over_edges(wall)}"
        outline = _in_reveal(numbers, wall, frame.outer, edge)
    trim = Layer("trim", "trim", outline, f"{name}, its foot open", ("jamb_cover",), "frame", order=8)
    return trim, [Dimension("jamb_cover", (frame.outer, CLEAR), (frame.outer, edge), cover, "y", "right")]


def _over_edges(wall: Wall) -> str:
    """What a lining of the reveal covers."""
    return f"in over {'battens and ' if wall.cavity else ''}cut edges to the frame"


def _in_reveal(numbers: Numbers, wall: Wall, inner: float, edge: float) -> tuple[Point, ...]:
    """What closes a reveal: over the cladding's edge and in to the frame at ``inner``, its own edge before that."""
    out, near, lap = wall.face - IN_REVEAL_OUT, 2 * FILM + 0.5, over_the_edge(numbers, REVEAL_LAP)
    return ((out, -lap), (wall.face, -lap), (wall.face, near), (inner, near), (inner, edge), (out, edge))  # fmt: skip


def _reveal_lining(numbers: Numbers, wall: Wall, frame: Frame) -> list[Layer]:
    """The lining beside a flange behind the cladding's face."""
    if not is_lined(wall, frame):
        return []
    outline = _in_reveal(numbers, wall, min(frame.outer, -3 * FILM), CLEAR + ON_CLADDING)
    return [
        Layer("reveal lining", "trim", outline, f"Reveal lining, {_over_edges(wall)}, its foot open", ("reveal",), "frame", order=9)
    ]  # fmt: skip


def _masonry(
    numbers: Numbers, wall: Wall, frame: Frame, tape: list[Layer], *, lined: bool, row: str
) -> tuple[list[Layer], list[Dimension], tuple[Conflict, ...]]:
    wide = numbers.length("dpc_jamb")
    reach = CLEAR + LAP
    bottom = min(reach - wide, _reach(tape)) - 80
    inner = wall.leaf_back + FILM
    beside = frame.outer > inner
    over = tape_over(numbers, wall, frame)
    closer = rectangle(inner, -CLOSER, -2 * FILM if over else -FILM if wall.film else wall.core_face, 0)
    course = rectangle(wall.leaf_back, reach - wide, inner, reach)
    dimensions = [
        Dimension("dpc_jamb", (wall.leaf_back, reach - wide), (wall.leaf_back, reach), wide, "y", "left"),
        Dimension("dpc_jamb", (inner, CLEAR), (inner, reach), LAP, "y", "right", name="on frame"),
    ]
    narrow: tuple[Conflict, ...] = ()
    if beside:
        side = reach - (REVEAL if lined else FILM)
        closer = _closer(wall, frame, inner, side, over)
        course, dimensions, narrow = _course_to_frame(wall, frame, side, wide)
        dimensions.append(Dimension("reveal", (wall.face, CLEAR), (wall.face, reach), LAP, "y", "left", name="laps frame"))  # fmt: skip
    parts = [
        cladding(wall, bottom, reach),
        Layer(
            "dpc", "damp course", course, "Damp-proof course in the jamb", ("dpc_jamb",),
            "cladding", water=True, order=3,
        ),
        Layer(
            "closer", "barrier", closer, "Cavity barrier at the jamb", ("cav_fire",), "dpc", water=not wall.film, order=8,
        ),
    ]  # fmt: skip
    if lined:
        board = rectangle(wall.leaf_back, reach - REVEAL + FILM, frame.outer, reach)
        parts.append(
            Layer(
                "reveal board",
                "thin board",
                board,
                "Reveal board before the barrier, its foot open",
                (row,),
                "dpc",
                order=8,
            )
        )
    if wall.film:
        parts += [*_framed(numbers, wall, frame, bottom), *tape]
    else:
        leaf, slab = core(wall, bottom, 0)
        short = replace(slab, outline=rectangle(0, bottom, wall.board, -CLOSER))
        parts += [leaf, short, lining(wall, bottom, 0), carried_in(wall, frame.inner, 0, LINING)]
        parts += [
            _onto_inner_leaf(wall, one) if one.key == "strap" else one
            for one in _frame_parts(numbers, wall, frame, 0)
        ]
    return parts, dimensions, narrow


def _onto_inner_leaf(wall: Wall, strap: Layer) -> Layer:
    """A strap from the frame along the reveal onto the inner leaf."""
    end = max(x for x, _ in strap.outline)
    far = max(end, wall.core_face + ON_LEAF)
    return replace(strap, outline=tuple((far if x == end else x, y) for x, y in strap.outline))


def _course_to_frame(
    wall: Wall, frame: Frame, side: float, wide: float
) -> tuple[tuple[Point, ...], list[Dimension], tuple[Conflict, ...]]:
    """The course between leaf and barrier, turned in along the barrier's edge at ``side`` to a frame that stands behind the cavity."""
    back, inner, top = wall.leaf_back, wall.leaf_back + FILM, side + FILM
    asked = frame.outer - back + side + CLOSER  # the barrier's edge and all its face
    low = side - max(wide - (frame.outer - back), FILM)
    outline = ((back, low), (inner, low), (inner, side), (frame.outer, side), (frame.outer, top), (back, top))
    if wide < asked:
        said = (
            f"A damp-proof course {wide:g} mm wide does not cover the cavity barrier at the jamb from the frame to its far edge: "
            f"take one {asked:.0f} mm wide."
        )
        return outline, [], (Conflict(("dpc_jamb", wall.cavity_row), said),)
    middle = ((back + FILM / 2, low), (back + FILM / 2, side + FILM / 2), (frame.outer, side + FILM / 2))
    return (
        outline,
        [Dimension("dpc_jamb", middle[0], middle[-1], wide, "flat", way=middle, name="course")],
        (),
    )


def _closer(wall: Wall, frame: Frame, inner: float, reach: float, over: float) -> tuple[Point, ...]:
    """The barrier that fills the cavity beside and up to a frame which stands behind the leaf, before tape that comes ``over`` onto the wall."""
    face = before_films(wall, frame, over)
    lining = 2 * FILM if frame.taped else FILM if wall.film else 0.0  # over the opening's lined edge
    if frame.flange and frame.outer <= face:  # beside the frame up to its foot
        lining = CLEAR
    return (
        (inner, -CLOSER),
        (face, -CLOSER),
        (face, lining),
        (frame.outer, lining),
        (frame.outer, reach),
        (inner, reach),
    )
