"""Window jamb, plan: the flange and its tape, or the frame behind the leaf with its damp-proof course."""

from dataclasses import replace

from exposure.junction.build_up import Wall, cladding, core, lining, membrane, wall_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Conflict, Dimension, Layer, Point, Section, rectangle
from exposure.junction.window import (
    BEAD,
    DEPTH,
    HEIGHT,
    Frame,
    NotDrawnError,
    frame_of,
    glass,
    rod,
    rod_asked,
)

CLEAR = 10.0  # mm, between frame and stud
FIN = 25.0  # mm, flange beside the frame
STUD_WIDE = 45.0
CLOSER = 50.0
ON_CLADDING = 10.0  # mm, flange over the cladding; said in the order of work
LAP = 25.0  # mm, damp-proof course onto the frame; said in the row dpc_jamb


def jamb(numbers: Numbers) -> Section:
    """The jamb of a window, seen from above; the wall lies below it on the sheet."""
    wall = wall_of(numbers)
    frame = frame_of(numbers, wall)
    parts, dimensions = _masonry(numbers, wall, frame) if wall.masonry else _clad(numbers, wall, frame)
    bottom = min(y for layer in parts for _, y in layer.outline)
    if wall.cavity:
        dimensions.append(
            Dimension(
                wall.cavity_row, (wall.leaf_back, bottom), (wall.skin, bottom), wall.cavity, "x", "bottom"
            )
        )
    if numbers.setback and frame.outer - wall.face == numbers.setback:
        dimensions.append(
            Dimension("reveal", (wall.face, 0), (frame.outer, CLEAR), numbers.setback, "x", "top")
        )
    top = CLEAR + HEIGHT + 90
    return Section(
        "jamb",
        "Window jamb, seen from above",
        "plan",
        (wall.face - 60, bottom, wall.room + 55, top),
        tuple(parts),
        tuple(dimensions),
        outdoors=(
            (wall.face - 50, top - 5),
            *(((wall.leaf_back + wall.skin) / 2, bottom + 2),) * bool(wall.cavity),
        ),
        indoors=((wall.room + 40, top - 5),),
        conflicts=(*frame.conflicts, *(_short_bond(numbers) if frame.flange else ())),
        water_ends=("membrane" if wall.film else "dpc", "pane"),
        air_ends=("lining", "pane"),
    )


def _frame_parts(numbers: Numbers, wall: Wall, frame: Frame, start: float) -> list[Layer]:
    """Frame, pane, and the seal in the gap that begins at ``start``."""
    high = CLEAR + HEIGHT
    outline: tuple[Point, ...] = rectangle(frame.outer, CLEAR, frame.inner, high)
    if frame.flange:
        outline = (
            (frame.outer, CLEAR), (-2 * FILM, CLEAR), (-2 * FILM, -FIN), (-FILM, -FIN), (-FILM, CLEAR), (frame.inner, CLEAR),
            (frame.inner, high), (frame.outer, high),
        )  # fmt: skip
    if frame.on_cladding:
        outline = (
            (frame.outer - FILM, -ON_CLADDING), (frame.outer, -ON_CLADDING), (frame.outer, CLEAR), (frame.inner, CLEAR),
            (frame.inner, high), (frame.outer - FILM, high),
        )  # fmt: skip
    holder = "opening tape" if wall.film else "closer"
    parts = [
        Layer("frame", "frame", outline, "Window frame", ("reveal", "reveal_face"), "seal", water=True, air=True, order=3),
        *glass(frame, high, high + 90),
        Layer(
            "seal", "sealant", rectangle(frame.inner - BEAD, start, frame.inner, CLEAR), "Inner air seal", ("air_seal",), holder,
            water=True, air=True, order=3,
        ),
    ]  # fmt: skip
    if rod_asked(numbers):
        radius = (CLEAR - start) / 2
        parts.append(rod((frame.inner - BEAD - radius, start + radius), radius, "seal"))
    return parts


def _framed(numbers: Numbers, wall: Wall, frame: Frame, bottom: float) -> list[Layer]:
    """Studs, boards, membrane turned to the reveal, its tape."""
    parts = [
        *core(wall, bottom, -2 * STUD_WIDE),
        Layer("stud", "timber", rectangle(wall.core_face, -2 * STUD_WIDE, wall.core_back, -STUD_WIDE), "", (), "core"),
        Layer("jack stud", "timber", rectangle(wall.core_face, -STUD_WIDE, wall.core_back, 0), "", (), "stud"),
        lining(wall, bottom, 0),
        membrane(wall, bottom, 0, rows=("mem_class",)),
        Layer(
            "opening tape", "tape", rectangle(-FILM, 0, wall.room, FILM), "Tape that lines the opening", ("open_tape",), "jack stud",
            water=True, air=True, order=3,
        ),
    ]  # fmt: skip
    if wall.board:
        parts.append(
            Layer(
                "jamb board",
                "board",
                rectangle(0, -2 * STUD_WIDE, wall.board, 0),
                "Boards on the studs",
                (),
                "stud",
                order=2,
            )
        )
    if frame.flange:
        wide = numbers.length("tape_w")
        parts.append(
            Layer(
                "jamb tape",
                "tape",
                rectangle(-3 * FILM, CLEAR - 1 - wide, -2 * FILM, CLEAR - 1),
                "Jamb tape over the flange",
                ("tape_w", "tape_bond"),
                "frame",
                water=True,
                order=3,
            )
        )
    parts += _frame_parts(numbers, wall, frame, FILM)
    return parts


def _bond(numbers: Numbers) -> Dimension:
    """The least of the tape that sticks to the membrane, from the edge of the flange."""
    bond = numbers.length("tape_bond")
    return Dimension("tape_bond", (-3 * FILM, -FIN), (-3 * FILM, -FIN - bond), bond, "y", "right")


def _short_bond(numbers: Numbers) -> tuple[Conflict, ...]:
    """The clash of a tape too narrow to pass the flange by the bond."""
    wide, bond = numbers.length("tape_w"), numbers.length("tape_bond")
    left = wide - (CLEAR - 1) - FIN
    if left >= bond:
        return ()
    return (
        Conflict(
            ("tape_w", "tape_bond"),
            f"A tape {wide:g} mm wide over a flange of {FIN + CLEAR:g} mm leaves {left:g} mm on the membrane, and {bond:g} mm "
            f"are asked: take tape {wide + bond - left:g} mm wide.",
        ),
    )


def _clad(numbers: Numbers, wall: Wall, frame: Frame) -> tuple[list[Layer], list[Dimension]]:
    wide = numbers.length("tape_w") if frame.flange else 100.0
    bottom = -max(wide, 150.0) - 40
    parts = _framed(numbers, wall, frame, bottom)
    boards = cladding(wall, bottom, 0, carrier="jamb batten" if wall.cavity else "membrane")
    parts.append(replace(boards, outline=rectangle(wall.face, bottom, wall.leaf_back, 0)))
    if wall.cavity:
        back = -3 * FILM if frame.flange else -FILM
        parts.append(
            Layer(
                "jamb batten",
                "timber",
                rectangle(wall.leaf_back, -60, back, -15),
                "Upright batten",
                ("batten_sp",),
                "jamb tape" if frame.flange else "membrane",
                order=8,
            )
        )
    dimensions = []
    if frame.flange:
        dimensions.append(
            Dimension("tape_w", (-3 * FILM, CLEAR - 1 - wide), (-3 * FILM, CLEAR - 1), wide, "y", "left")
        )
        dimensions.append(_bond(numbers))
    return parts, dimensions


def _masonry(numbers: Numbers, wall: Wall, frame: Frame) -> tuple[list[Layer], list[Dimension]]:
    wide = numbers.length("dpc_jamb")
    reach = CLEAR + LAP
    if frame.outer > wall.leaf_back + FILM + DEPTH:
        message = f"a frame {frame.outer - wall.leaf_back:.0f} mm behind the leaf is not drawn at the jamb"
        raise NotDrawnError(message)
    bottom = min(reach - wide, -(numbers.length("tape_w") if frame.flange else 100.0)) - 60
    inner = wall.leaf_back + FILM
    beside = frame.outer > inner
    closer = rectangle(inner, -CLOSER, -FILM if wall.film else wall.core_face, 0)
    if beside:
        closer = rectangle(inner, -CLOSER, min(frame.outer, -3 * FILM), reach)
    parts = [
        cladding(wall, bottom, reach),
        Layer(
            "dpc", "damp course", rectangle(wall.leaf_back, reach - wide, inner, reach), "Damp-proof course in the jamb", ("dpc_jamb",),
            "cladding", water=True, order=3,
        ),
        Layer(
            "closer", "barrier", closer, "Cavity barrier at the jamb", ("cav_fire",), "dpc", water=not wall.film, air=not wall.film,
            order=8,
        ),
    ]  # fmt: skip
    if wall.film:
        parts += _framed(numbers, wall, frame, bottom)
    else:
        leaf, slab = core(wall, bottom, 0)
        short = replace(slab, outline=rectangle(0, bottom, wall.board, -CLOSER))
        parts += [replace(leaf, air=True), short, lining(wall, bottom, 0)]
        parts += _frame_parts(numbers, wall, frame, 0)
    dimensions = [
        Dimension("dpc_jamb", (wall.leaf_back, reach - wide), (wall.leaf_back, reach), wide, "y", "left")
    ]
    if frame.flange:
        wide = numbers.length("tape_w")
        dimensions.append(
            Dimension("tape_w", (-3 * FILM, CLEAR - 1 - wide), (-3 * FILM, CLEAR - 1), wide, "y", "right")
        )
        dimensions.append(_bond(numbers))
    return parts, dimensions
