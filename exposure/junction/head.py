"""Window head, upright section: the flashing or cavity tray that carries water out over the frame."""

from dataclasses import replace
from math import ceil, sqrt

from exposure.detail.beside import beside
from exposure.junction.build_up import (
    BEHIND,
    LINING,
    Wall,
    battens,
    carried_in,
    cladding,
    core,
    lining,
    membrane,
    wall_of,
)
from exposure.junction.leaf import BUILT_IN, WEEP, bed_on_lintel, inner_leaf, tray_flap, weep_over_tray
from exposure.junction.lining_tape import before_films, tape_over, tape_size, turned_in, with_rest
from exposure.junction.numbers import Numbers
from exposure.junction.over_frame import before_cladding, hood, jamb_beyond, sealant_over, trim_along_head
from exposure.junction.scene import (
    FILM,
    SHEET,
    Conflict,
    Dimension,
    Held,
    Layer,
    Point,
    Section,
    rectangle,
    sheet,
)
from exposure.junction.window import (
    BEAD,
    BESIDE,
    HEIGHT,
    Frame,
    NotDrawnError,
    bedding,
    flange_before,
    flange_past,
    glass,
    reveal_board_asked,
    rod,
    rod_asked,
    side_tape,
    tape_sizes,
    window_in,
)

LINTEL = 140.0
CLEAR = BESIDE  # mm, between frame and rough head
FIN = 35.0  # mm, flange above the frame
LEAF_LINTEL = 65.0
CLOSER = 40.0
CHECK = 15.0  # mm, the leaf reaches down before the frame
REVEAL = 12.0  # mm, board under the barrier
BELOW_CUT = "Membrane, below the cut, turned in under the tape"
BEND = 20.0  # mm of tape at the bend of a flashing or tray, neither below it nor well behind its leg


def head(numbers: Numbers) -> Section:
    """The head of a window."""
    wall, frame = window_in(numbers)
    return _under_tray(numbers, wall, frame) if wall.masonry else _under_flashing(numbers, wall, frame)


def lintel_height(numbers: Numbers) -> float:
    """Height of the outer leaf's lintel at its face, as the head has it; where that is not drawn, as most have it."""
    try:
        face = [y for x, y in head(numbers).layer("leaf lintel").outline if x == wall_of(numbers).face]
    except NotDrawnError:
        return CHECK + CLEAR + LEAF_LINTEL
    return max(face) - min(face)


def _frame_parts(
    numbers: Numbers, wall: Wall, frame: Frame, ceiling: float, *, fin: float = FILM
) -> list[Layer]:
    """Frame, sash, pane and the seal between the frame's top at 0 and the ``ceiling``."""
    outline = rectangle(frame.outer, -HEIGHT, frame.inner, 0)
    last = frame.inner
    parts = [
        Layer("frame", "frame", outline, "Window frame", ("reveal", "reveal_face"), "seal", water=True, air=True, order=3),
        *glass(frame, -HEIGHT, -HEIGHT - 110, up=False),
        Layer(
            "seal", "sealant", rectangle(last - BEAD, 0, last, ceiling), "Inner air seal", ("air_seal",), "opening tape" if wall.film else "closer",
            water=True, air=True, order=3,
        ),
    ]  # fmt: skip
    if frame.flange:
        outline = rectangle(-fin, 0, FILM - fin, FIN)
        flange = Layer("flange", "metal", outline, "", (), "frame", water=True, order=3)
        parts += [flange, bedding(flange, up=True)]
    if rod_asked(numbers):
        parts.append(rod((last - BEAD - ceiling / 2, ceiling / 2), ceiling / 2, "seal"))
    return parts


def _tape(wall: Wall, *, turned_out: float = 0.0) -> Layer:
    """Tape that lines the opening under the lintel, joined to the inner lining, ``turned_out`` up the membrane over it."""
    outline: tuple[Point, ...] = rectangle(0, CLEAR - FILM, wall.room, CLEAR)
    if turned_out:
        outline = sheet([(wall.room, CLEAR), (-FILM, CLEAR), (-FILM, CLEAR + turned_out)], FILM)
    return Layer(
        "opening tape", "tape", outline, "Tape that lines the opening", ("open_tape",), "lintel",
        water=True, air=True, order=3,
    )  # fmt: skip


def _head_tape(
    numbers: Numbers, wall: Wall, frame: Frame, *, face: float
) -> tuple[list[Layer], list[Dimension], float]:
    """Tape over the flange, or from the top of a box frame; its sizes, and how high it reaches.

    Parameters
    ----------
    face
        Outer face of what it sticks to over the opening.
    """
    bond = numbers.length("tape_bond", 50)
    if not frame.flange and not frame.taped:
        return [], tape_size(numbers, wall, frame, over_head=CLEAR), CLEAR + bond
    if frame.flange:
        wide, low = numbers.length("tape_w"), CLEAR / 2
        under = "membrane" if wall.masonry else "boards" if wall.board else "framing"
        outline = rectangle(face - FILM, low, face, low + wide)
        return (
            [
                Layer(
                    "head tape",
                    "tape",
                    outline,
                    f"Head tape over the flange, which is bedded on the {under}",
                    ("tape_w", "tape_bond"),
                    "flange",
                    water=True,
                    order=3,
                )
            ],
            [Dimension("tape_w", (face - FILM, low), (face - FILM, low + wide), wide, "y", "right")],
            low + wide,
        )
    wide = numbers.length("tape_w")
    flat, middle = side_tape(frame, wide, start=FILM, side=CLEAR, face=face)
    bent, way = [[(x, CLEAR - into) for x, into in points] for points in (flat, middle)]
    tape = Layer(
        "head tape", "tape", tuple(bent), "Head tape, from the top of the frame round the edge of the opening",
        ("box_tape", "tape_w", "tape_bond"), "frame", water=True, order=3,
    )  # fmt: skip
    return [tape], tape_sizes(way, wide, bond)[0], max(FIN + bond, way[-1][1] + 5)


def _over_leg(numbers: Numbers, what: str) -> str:
    """The membrane over a leg, in the words of its order of work: a head flap, or the sheet above a level cut."""
    if numbers.cut_over_head:
        return f"Membrane, over {what} through a level cut"
    return f"Membrane, its head flap brought down over {what}"


def _under_flashing(numbers: Numbers, wall: Wall, frame: Frame) -> Section:
    slope = numbers.length("head_slope") / 100
    up, lap, drip = numbers.length("head_up"), numbers.length("head_lap"), numbers.length("head_drip")
    gap = numbers.length("clad_gap")
    under = SHEET * sqrt(1 + slope * slope)
    tape, sizes, high = _head_tape(numbers, wall, frame, face=-FILM if frame.flange else 0.0)
    rest = tape_over(numbers, wall, frame)
    lip = min(frame.outer, before_cladding(wall, frame)) - SHEET

    tip = flange_past(numbers)  # of a flange on the cladding

    def plate(films: int) -> tuple[float, float, float]:
        """Outer face of the flashing's leg over so many films, and where the plate begins and ends, clear of frame, flange and opening."""
        leg = -films * FILM
        fall = slope * (leg - lip)
        low = max(1 + under + (tip if frame.on_cladding else 0.0), CLEAR + 3 - fall)
        return leg, low + fall, low

    films = 2 if frame.taped or not (tape or rest) else 3  # over flange and tape, or membrane and tape
    leg, bend, low = plate(films)
    if rest and CLEAR + rest < bend + BEND:  # tape too narrow to go up behind the leg ends below the bend
        leg, bend, low = plate(2)
        raised = max(CLEAR + rest + under + 1 - bend, 0.0)
        bend, low = bend + raised, low + raised
    if not tape:
        high = max(high, CLEAR + rest, bend + BEHIND)
    edge = bend + BEHIND if tape else high  # lower edge of the membrane, or its level cut
    top = edge + up
    roof = max(top, high, CLEAR + LINTEL) + 70
    clad = (
        low + slope * (wall.leaf - 0) + gap
        if lip >= wall.face - SHEET
        else low + slope * (wall.leaf_back - lip) + gap
    )
    jog = max(top, high) + 8
    if not numbers.cut_over_head:  # where the head flap hangs
        jog = max(jog, CLEAR + numbers.flap_height)
        roof = max(roof, jog + 30)
    below, under_cut = turned_in(numbers, wall, CLEAR, cut=high, high=CLEAR + LINTEL)
    lined = _tape(wall, turned_out=rest)
    flap = sheet([(-FILM, roof), (-FILM, jog), (leg - FILM, jog - 8), (leg - FILM, edge)], FILM)
    parts = [
        *core(wall, CLEAR + LINTEL, roof),
        Layer("lintel", "timber", rectangle(wall.core_face, CLEAR, wall.core_back, CLEAR + LINTEL) if tape else under_cut, "Lintel", (), "core"),
        *(
            [Layer("head board", "board", rectangle(0, CLEAR + (0 if tape else FILM), wall.board, CLEAR + LINTEL), "Boards on the studs", (), "lintel")]
            if wall.board
            else []
        ),
        lining(wall, CLEAR, roof),
        with_rest(lined, lined.outline) if rest else lined,
        *_frame_parts(numbers, wall, frame, CLEAR - FILM),
        *tape,
        *([Layer("flange", "flange", flange_before(frame, 0.0, tip), "Flange of the frame, under the flashing", ("jamb_cover",), "frame", order=3)] if frame.on_cladding else []),
        *sealant_over(numbers, frame, lambda x: low - under + slope * (x - lip), back=(min(leg + SHEET, -2 * FILM if rest else 0.0), CLEAR), lined=CLEAR - FILM),
        Layer(
            "flashing", "metal",
            sheet([(leg, top), (leg, bend), (lip, low), (lip, -lap), (lip - drip, -lap - drip)], SHEET),
            "Head flashing", ("head_form", "head_slope", "head_up", "head_lap", "head_drip", "head_ends", "head_past"),
            "head board" if wall.board else "lintel", water=True, order=3,
        ),
        Layer("membrane", "membrane", flap, _over_leg(numbers, "the flashing"), ("head_up",),
              "flashing", water=True, order=3),
        cladding(wall, clad, roof, carrier="battens" if wall.cavity else "membrane"),
        *([battens(wall, clad + 20, roof)] if wall.cavity else []),
    ]  # fmt: skip
    if not tape:
        parts.append(
            Layer("strip", "membrane", below, BELOW_CUT, ("mem_class",),
                  "head board" if wall.board else "lintel", water=True, order=2)
        )  # fmt: skip
    if wall.cavity and numbers.has("head_closer") and beside("over the cavity", numbers.circumstances):
        parts.append(
            Layer("head closer", "mesh", rectangle(wall.leaf_back, clad, leg - FILM, clad + 10), "Vermin closer over the flashing; water gets out",
                  ("head_closer",), "cladding", cut=False, order=8)
        )  # fmt: skip
    over, clear = hood(numbers, wall, frame, foot=clad, drip=-lap)
    parts += over
    cut, clash = ([], ()) if tape else _level_cut(numbers, high)
    bottom = -HEIGHT - 110
    soffit = low - under - 1

    def below_flashing(x: float) -> float:
        return soffit + slope * (x - lip)

    parts += trim_along_head(numbers, wall, frame, below_flashing, top=CLEAR - FILM - 0.5)
    parts += jamb_beyond(wall, frame, below_flashing, end=bottom, where="up under the flashing")
    dimensions = [
        *clear,
        *cut,
        Dimension("head_up", (leg - FILM, edge), (leg, top), up, "y", "right"),
        Dimension("head_slope", (leg, bend), (lip, low), slope * 100, "fall %"),
        Dimension("head_lap", (frame.outer, 0), (lip, -lap), lap, "y", "left"),
        Dimension(
            "head_drip", (lip - drip, -lap - drip), (lip, -lap), drip, "x", "bottom", name="drip off leg"
        ),
        Dimension("clad_gap", (wall.face, clad), (wall.face, clad - gap), gap, "y", "left"),
        *sizes,
    ]
    return Section(
        "head",
        "Window head, upright section",
        "upright",
        (wall.face - 75, bottom, wall.room + 55, roof),
        tuple(parts),
        tuple(dimensions),
        outdoors=((wall.face - 60, bottom + 5), *(((wall.leaf_back + leg - FILM) / 2, roof - 5),) * bool(wall.cavity)),
        indoors=((wall.room + 40, bottom + 5),),
        held=(Held("flashing", "head_up", (leg, edge), (leg, top), numbers.head),),
        conflicts=(*frame.conflicts, *clash),
        drop=(leg - FILM, jog - 20),
        water_ends=("membrane", "pane"),
        air_ends=("lining", "pane"),
    )  # fmt: skip


def _level_cut(numbers: Numbers, high: float) -> tuple[list[Dimension], tuple[Conflict, ...]]:
    """How high over the opening the membrane is cut, up to ``high``, or the clash of tape or flashing that reach higher than its row says."""
    cut, edge = numbers.length("tape_bond", 50), (-FILM, CLEAR)
    if high <= CLEAR + cut:
        return [Dimension("tape_bond", edge, (-FILM, high), cut, "y", "right", name="cut")], ()
    said = (
        f"Tape or flashing reach {ceil(high - CLEAR)} mm up over the opening, and the level cut lies {cut:g} mm over it: "
        f"make the cut {ceil(high - CLEAR)} mm over the opening."
    )
    return [], (Conflict(("tape_w", "head_slope", "tape_bond"), said),)


def _under_tray(numbers: Numbers, wall: Wall, frame: Frame) -> Section:
    rise = numbers.length("head_tray_mas")
    tape, sizes, reach = _head_tape(numbers, wall, frame, face=-2 * FILM if frame.flange else -FILM)
    rest = tape_over(numbers, wall, frame)
    reach = CLEAR + rest if rest else reach
    taped = bool(tape) or bool(rest)
    base = CLEAR + LEAF_LINTEL
    before = 4 if frame.flange else 3  # what lies one before the other up to a leg that tape goes up behind
    steep = rise / (-FILM - wall.leaf_back) if wall.film else 0.0
    low = max(
        2 * BEHIND, FILM * (sqrt(1 + steep * steep) + steep * (before - 2)) + 1
    )  # tray over tape's face
    out, fall = bed_on_lintel(numbers, wall)
    over = reach - (base + fall + FILM + rise - low)  # tape higher than the tray's bend lets it
    base += over if taped and 0 < over < BEND else 0.0  # a taller lintel, or the tape goes up behind the leg
    bed = fall / wall.leaf
    bed_under = FILM * sqrt(1 + bed * bed)
    start = base + fall + bed_under
    end = (out, start - bed * (wall.leaf_back - out))
    shelf = start + rise
    under_leg = taped and reach > shelf - low  # the tape reaches up behind the tray's leg
    leg = -(before if under_leg else 1) * FILM if wall.film else wall.core_face
    slope = rise / (leg - wall.leaf_back)
    cut = shelf - (BEHIND if under_leg else FILM * sqrt(1 + slope * slope))  # up to the tray's underside
    up = numbers.length("head_up") if wall.film else 0.0
    edge = shelf + BEHIND
    top = edge + up
    roof = max(top, CLEAR + LINTEL, FIN + 75, reach) + 70
    upper: list[Point] = [(leg, top), (leg, shelf)] if wall.film else [(leg + BUILT_IN, shelf), (leg, shelf)]
    closer, board = _closer(numbers, wall, frame, rest)
    parts: list[Layer] = [
        Layer(
            "leaf lintel", "concrete",
            ((wall.face, -CHECK), (wall.leaf_back, -CHECK), (wall.leaf_back, start - bed_under),
             (wall.face, start - bed_under - fall)),
            "Lintel of the outer leaf", (), "", water=not wall.film, order=3,
        ),
        Layer(
            "tray", "damp course", sheet([*upper, (wall.leaf_back, start), end], FILM),
            "Cavity tray over the opening, stop-ends up", ("head_tray_mas", "tray_fall", "tray_out", *(("head_up",) if wall.film else ())), "leaf lintel",
            water=True, order=3,
        ),
        cladding(wall, start + WEEP, roof, carrier="weep brick"),
        *weep_over_tray(numbers, wall, start, "Open upright joint: weep holes, at least two over each opening"),
        Layer("closer", "barrier", closer, "Cavity barrier at the head", ("cav_fire",), "leaf lintel", water=not wall.film, order=8),
        *board,
    ]  # fmt: skip
    parts += _frame_parts(numbers, wall, frame, CLEAR - FILM if wall.film else CLEAR, fin=2 * FILM)
    parts += (
        [
            *_framed_back(
                numbers,
                wall,
                tray_flap(leg, edge, max(top, reach) if under_leg else top, roof),
                roof,
                cut=cut,
                rest=rest,
            ),
            *tape,
        ]
        if wall.film
        else _leaf_back(wall, frame, slope, shelf, roof)
    )
    dimensions = [
        Dimension("head_tray_mas", (wall.leaf_back, start), (leg, shelf), rise, "y", "right"),
        Dimension("tray_fall", (wall.leaf_back, start), end, bed * 100, "fall %"),
        Dimension("tray_out", end, (wall.face, end[1]), wall.face - out, "x", "bottom"),
        Dimension("reveal", (wall.face, -CHECK), (wall.face, 0.0), CHECK, "y", "left", name="laps frame"),
        *(sizes if tape else tape_size(numbers, wall, frame, over_head=CLEAR)),
    ]
    foot, high = (wall.leaf_back, start), (leg, shelf)
    if wall.film:
        dimensions.append(Dimension("head_up", (leg, edge), (leg, top), up, "y", "right"))
        foot, high = (leg, edge), (leg, top)
    dimensions.append(
        Dimension(
            wall.cavity_row, (wall.leaf_back, roof - 25), (wall.skin, roof - 25), wall.cavity, "x", "top"
        )
    )
    bottom = -HEIGHT - 110
    return Section(
        "head",
        "Window head, upright section",
        "upright",
        (wall.face - 60, bottom, wall.room + 55, roof),
        tuple(parts),
        tuple(dimensions),
        outdoors=((wall.face - 50, bottom + 5), ((wall.leaf_back + wall.skin) / 2, roof - 5)),
        indoors=((wall.room + 40, bottom + 5),),
        held=(Held("tray", "head_up" if wall.film else "head_tray_mas", foot, high, numbers.head),),
        conflicts=frame.conflicts,
        drop=(leg - FILM, roof - 30) if wall.film else (wall.leaf_back + 3, start + 3 * slope),
        water_ends=("membrane" if wall.film else "tray", "pane"),
        air_ends=("lining", "pane"),
    )


def _closer(numbers: Numbers, wall: Wall, frame: Frame, rest: float) -> tuple[tuple[Point, ...], list[Layer]]:
    """The barrier over the frame, before what ``rest`` of tape is turned up; before one that stands behind the cavity it goes on down to the reveal board, which is given with it."""
    face = before_films(wall, frame, rest)
    if not reveal_board_asked(numbers, wall, frame):
        return rectangle(wall.leaf_back, CLEAR, face, CLEAR + CLOSER), []
    low, ceiling = REVEAL - CHECK, CLEAR - ((2 if frame.taped else 1) * FILM if frame.outer > face else 0)
    if frame.flange and frame.outer <= face:  # over the frame down to its head, as at the jamb
        ceiling = 0.0
    outline = (
        (wall.leaf_back, low), (frame.outer, low), (frame.outer, ceiling), (face, ceiling), (face, CLEAR + CLOSER), (wall.leaf_back, CLEAR + CLOSER),
    )  # fmt: skip
    board = rectangle(wall.leaf_back, -CHECK, frame.outer, low)
    return outline, [
        Layer("reveal board", "thin board", board, "Reveal board under the barrier", ("reveal_board",), "closer", order=9)
    ]  # fmt: skip


def _framed_back(
    numbers: Numbers, wall: Wall, flap: tuple[Point, ...], roof: float, *, cut: float, rest: float
) -> list[Layer]:
    """What stands behind the cavity tray of a veneer: membrane, boards, lintel; one sheet with a level ``cut``, the ``rest`` of the tape up it, its ``flap`` over the leg."""
    tape = _tape(wall, turned_out=rest)
    below, under = turned_in(numbers, wall, CLEAR, cut=cut, high=CLEAR + LINTEL)
    parts = [
        *core(wall, CLEAR + LINTEL, roof),
        Layer("lintel", "timber", under, "Lintel", (), "core"),
        lining(wall, CLEAR, roof),
        with_rest(tape, tape.outline) if rest else tape,
        replace(membrane(wall, CLEAR, roof, key="first membrane", rows=("mem_class",)), name=BELOW_CUT, outline=below),
        Layer(
            "membrane", "membrane", flap,
            _over_leg(numbers, "the tray's leg"), ("head_up",), "tray", water=True, order=3,
        ),
    ]  # fmt: skip
    if wall.board:
        parts.append(
            Layer(
                "head board",
                "board",
                rectangle(0, CLEAR + FILM, wall.board, CLEAR + LINTEL),
                "Boards on the studs",
                (),
                "lintel",
            )
        )
    return parts


def _leaf_back(wall: Wall, frame: Frame, slope: float, shelf: float, roof: float) -> list[Layer]:
    """What stands behind the cavity tray of a cavity wall: insulation and inner leaf, the tray built into its bed."""
    return [
        Layer("lintel", "concrete", rectangle(wall.core_face, CLEAR, wall.core_back, CLEAR + LINTEL), "Lintel of the inner leaf", order=3),
        *inner_leaf(wall, slope, shelf, roof, low=CLEAR + LINTEL, ceiling=CLEAR + CLOSER, carrier="lintel"),
        lining(wall, CLEAR, roof),
        carried_in(wall, frame.inner, CLEAR - LINING, CLEAR),
    ]  # fmt: skip
