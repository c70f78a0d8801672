"""Window sill, upright section: tray with its turned-up back, the membrane under it, frame, seal, and what is outside."""

from collections.abc import Sequence
from dataclasses import replace
from math import inf, sqrt

from exposure.detail.beside import beside
from exposure.junction.build_up import (
    MESH,
    WITHOUT_MESH,
    Wall,
    battens,
    cladding,
    lining,
    with_vapour_layer,
)
from exposure.junction.leaf import gap_to_cover, gap_to_frame
from exposure.junction.numbers import Numbers
from exposure.junction.over_frame import before_cladding, jamb_beyond
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
from exposure.junction.support import (
    BEARING,
    PLATE,
    SUPPORT,
    below_support,
    brackets,
    core_behind,
    sill_support,
    support_asked,
    support_warnings,
)
from exposure.junction.under_tray import STRIP, turned_in_under, under_film
from exposure.junction.window import (
    BEAD,
    DEPTH,
    GAP,
    HEIGHT,
    HIDDEN,
    PACKER,
    Frame,
    flange_before,
    flange_past,
    frame_outline,
    glass,
    rod,
    rod_asked,
    window_in,
)
from exposure.junction.window_board import BOARD, board_and_strip

LEAST_BEVEL = 6.0
BED_FALL = 3.0  # mm across the leaf under the sill
SILL_FALL = 0.10  # of the outer sill, which no line of the schedule sets
NOSE = 25.0  # mm, its lip before light cladding
SILL_UP = 10.0  # mm, its upper edge over the foot of the frame
FIN = 25.0  # mm, flange below the frame
BATTEN_BELOW = 20.0  # mm, top of a batten under a sill below that of the cladding on it
COVER_FALL = 0.05  # of a cover over the cavity; no line sets it
CLEAR_OF_SILL = 10.0  # mm, its lip over the sill; no line sets it
COVER_BACK, COVER_LIP = 10.0, 5.0  # mm, turned up at the frame and down at its front
GROOVE = 3.0  # mm, depth of the groove in the frame
ROD_NEEDS = (
    PACKER + BEAD + 0.75 * GAP
)  # mm of back: the sealant and three quarters of the rod beside the frame; our choice


def sill(numbers: Numbers) -> Section:
    """The sill of a window."""
    wall, frame = window_in(numbers)
    slope = numbers.length("sill_slope") / 100
    back = numbers.length("back_dam")
    under = SHEET * sqrt(1 + slope * slope)  # the tray's thickness measured upright
    flat = frame.back

    def on_tray(x: float) -> float:
        return -(flat - x) * slope

    masonry = wall.type == "cavity masonry"
    edge = wall.skin - SHEET if not masonry else wall.leaf_back - 30
    top_of_wall = on_tray(edge + SHEET) - under if not masonry else on_tray(0) - under
    films = 2 * under if wall.film else 0.0  # flap and tape between bevel and tray
    base = min(on_tray(min(0, edge)) - under, top_of_wall) - films - LEAST_BEVEL
    down = numbers.length("tray_down") if not masonry else 0.0
    foot = top_of_wall - down if not masonry else on_tray(edge) - 6
    tray = Layer(
        "tray",
        "tray",
        sheet([(flat, back), (flat, 0), (edge, on_tray(edge)), (edge, foot)], SHEET),
        "Sill tray, laid before the window",
        ("sill_form", "sill_slope", "back_dam", "end_dam", *(() if masonry else ("tray_down",))),
        "opening tape" if wall.film else "bevel",
        water=True,
        air=True,
        order=3,
    )
    inner = slope * SHEET - under  # underside of the tray behind its back
    bottom = min(foot, base - PLATE) - 120
    strip, bearing = under_film(wall, flat, lambda x: on_tray(x) - under, carrier="bevel", top=back)
    start = flat + SHEET + STRIP * bool(strip)  # of what stands behind the tray's back
    top_of_bevel: tuple[Point, ...] = ((wall.core_back, inner), (flat + SHEET, inner), *bearing)
    if strip:
        top_of_bevel = ((wall.core_back, inner), *bearing)
    lined: list[Layer] = []
    if wall.film:
        lined, top_of_bevel = turned_in_under(
            numbers, wall, bottom, flat + SHEET, lambda x: on_tray(x) - under, under
        )
    parts: list[Layer] = [
        *core_behind(numbers, wall, bottom, base - PLATE, foot),
        Layer(
            "plate", "timber" if not masonry else "masonry", rectangle(wall.core_face, base - PLATE, wall.core_back, base),
            "Sill plate" if not masonry else "Inner leaf", (), "core",
        ),
        Layer(
            "bevel",
            "packer",
            ((0, base), (wall.core_back, base), *top_of_bevel),
            "Bevel that gives the fall",
            ("sill_slope",),
            "plate",
            order=3,
        ),
        tray,
        lining(wall, bottom, max(inner, back - BOARD)),
        *board_and_strip(numbers, wall, start, inner, back, carrier="tray strip" if strip else "tray"),
    ]  # fmt: skip
    if wall.board:
        beside = SUPPORT if numbers.has("sill_bracket") else 0.0  # cut for the bracket that stands beyond
        parts.append(
            Layer(
                "top board",
                "board" if not masonry else "slab",
                rectangle(0, base - PLATE, wall.board - beside, base - beside),
                "Boards on the studs" if not masonry else "Insulation in the cavity",
                (),
                "plate" if not masonry else "core boards",
            )
        )
    parts += [
        *lined,
        *_frame_parts(numbers, frame, back, on_tray),
        *_flange(numbers, frame, edge),
        *sill_support(numbers, wall, frame, edge, foot),
        *strip,
        *brackets(numbers, wall, frame, base, lambda x: on_tray(x) - under - STRIP),
    ]
    highest = below_support(numbers, wall, frame)
    outside, floor = outside_of_sill(wall, frame, bottom, edge, on_tray, highest=highest)
    parts += [*outside, *_mesh_over_cladding(numbers, wall, frame, floor)]
    parts += gap_to_frame(numbers, wall, frame, outside)
    parts, sizes = cover_over_cavity(numbers, wall, frame, parts, when="leaf before the boards")
    top = PACKER + HEIGHT + 110
    foot_of_trim, clear = _foot_of_trim(numbers, wall, frame, top)
    parts += foot_of_trim
    conflicts = [*frame.conflicts, *_conflicts(numbers, back)]
    dimensions = [
        *sizes,
        *clear,
        Dimension("back_dam", (flat, 0), (flat, back), back, "y", "right"),
        Dimension("sill_slope", (flat, 0), (edge, on_tray(edge)), slope * 100, "fall %", "right"),
    ]
    if down:
        dimensions.append(Dimension("tray_down", (edge, foot), (edge, top_of_wall), down, "y", "left"))
    dimensions += _sizes_of_wall(numbers, wall, frame, bottom, floor)
    return Section(
        "sill",
        "Window sill, upright section",
        "upright",
        (wall.face - 75, bottom, wall.room + 55, top),
        tuple(with_vapour_layer(one, numbers) for one in parts),
        tuple(dimensions),
        outdoors=((wall.face - 60, top - 5), *(((wall.leaf_back + wall.skin) / 2, bottom + 5),) * bool(wall.cavity)),
        indoors=((wall.room + 40, top - 5),),
        held=(Held("tray", "back_dam", (flat, 0), (flat, back), max(numbers.head, numbers.gust_head)),),
        conflicts=tuple(conflicts),
        drop=(flat - 2, on_tray(flat - 2)),
        water_ends=("membrane" if wall.film else "tray", "pane"),
        air_ends=("lining", "pane"),
        warnings=support_warnings(numbers, wall, highest),
    )  # fmt: skip


def _sizes_of_wall(
    numbers: Numbers, wall: Wall, frame: Frame, bottom: float, floor: float
) -> list[Dimension]:
    """The cavity's depth, and how far the frame is set back."""
    sizes = []
    if wall.cavity:
        low = bottom + 30
        ends = ((wall.leaf_back, low), (wall.skin, low))
        sizes.append(Dimension(wall.cavity_row, *ends, wall.cavity, "x", "bottom"))
    if numbers.setback and frame.outer - wall.face == numbers.setback:
        start, end = (wall.face, floor), (frame.outer, PACKER + HEIGHT)
        sizes.append(Dimension("reveal", start, end, numbers.setback, "x", "top"))
    return sizes


def _frame_parts(numbers: Numbers, frame: Frame, back: float, on_tray) -> list[Layer]:
    first = frame.outer + 15 if frame.outer > 0 else max(frame.outer + 15, 2)
    if numbers.has("sill_bracket"):
        first = frame.outer + (DEPTH - BEARING) / 2
    last = min(first + BEARING, frame.inner - 4)
    bead = min(back, PACKER + HEIGHT - 2)
    parts = [
        Layer(
            "packer", "packer", ((first, on_tray(first)), (last, on_tray(last)), (last, PACKER), (first, PACKER)),
            "Packer beyond the cut, clear of the drain path", ("bottom_open",), "tray", cut=False, order=3,
        ),
        Layer(
            "frame", "frame", frame_outline(frame, PACKER),
            f"Window frame{', bottom edge unsealed' * (not (frame.flange or frame.on_cladding))}", ("bottom_open", "reveal", "reveal_face"), "packer", water=True, air=True, order=3,
        ),
        *glass(frame, PACKER + HEIGHT, PACKER + HEIGHT + 110),
        Layer(
            "seal", "sealant", rectangle(frame.inner, bead - BEAD, frame.back, bead), "Inner air seal", ("air_seal",),
            "frame", water=True, air=True, order=3,
        ),
    ]  # fmt: skip
    if rod_asked(numbers) and back >= ROD_NEEDS:
        parts.append(rod((frame.inner + GAP / 2, bead - BEAD - GAP / 2), GAP / 2, "frame"))
    return parts


def _flange(numbers: Numbers, frame: Frame, edge: float) -> list[Layer]:
    """The flange below a frame, unsealed: before the tray whose face is at ``edge``, so that what that drains runs down behind it, or before the cladding, as wide as at the jambs."""
    if not (frame.flange or frame.on_cladding):
        return []
    outline = rectangle(edge - 2 * FILM, PACKER - FIN, edge - FILM, PACKER)
    row = "fix_flange"
    if frame.on_cladding:
        outline, row = flange_before(frame, PACKER, PACKER - flange_past(numbers)), "reveal_face"
    name = "Flange of the frame, unsealed"
    return [Layer("flange", "flange", outline, name, ("bottom_open", row), "frame", order=3)]


def _mesh_over_cladding(numbers: Numbers, wall: Wall, frame: Frame, top: float) -> list[Layer]:
    """Mesh at the back of light cladding, from its ``top`` up to frame or outer sill, where the gap is wider than one that needs none."""
    if wall.masonry or not wall.cavity or not numbers.has("mesh"):
        return []
    back = wall.leaf_back - MESH
    high = under_outer_sill(frame, back) if frame.outer >= wall.leaf_back else PACKER
    shut = frame.on_cladding and wall.leaf_material == "render"  # by the flange; boards lean away from it
    if shut or high - top <= WITHOUT_MESH:
        return []
    between = ", between the supports" if support_asked(numbers) else ""
    name = f"Mesh over the cladding's top{between}"
    outline = rectangle(back, top, wall.leaf_back, high)
    return [Layer("sill mesh", "mesh", outline, name, ("mesh",), "cladding", cut=False, order=9)]


def _foot_of_trim(
    numbers: Numbers, wall: Wall, frame: Frame, top: float
) -> tuple[list[Layer], list[Dimension]]:
    """Trim or reveal lining at the jamb, whose foot ends over the outer sill as far as cladding over its flashing, and that gap."""
    gap = numbers.length("clad_gap", 5.0)

    def foot(x: float) -> float:
        return PACKER + SILL_UP - SILL_FALL * (frame.outer - x) + gap

    parts = jamb_beyond(wall, frame, foot, end=top, where="its foot open")
    if wall.masonry or not parts:
        return [], []
    out = before_cladding(wall, frame)
    size = Dimension(
        "clad_gap", (out, foot(out) - gap), (out, foot(out)), gap, "y", "left", name="foot clear"
    )
    return parts, [size]


def _conflicts(numbers: Numbers, back: float) -> list[Conflict]:
    found = []
    most = PACKER + HEIGHT - HIDDEN
    if back > most:
        way_out = (
            " With a tested inner seal planned, the back may be lower."
            if numbers.gust_head > numbers.head
            else ""
        )
        found.append(
            Conflict(
                ("back_dam",),
                f"The turned-up back of {back:g} mm stands higher than the {most:g} mm that a frame of {HEIGHT:g} mm on {PACKER:g} mm of packer "
                f"hides, {HIDDEN:g} mm of the frame kept over the back: it stands inboard of the frame, in sight. Order a taller bottom frame or a sub-sill.{way_out}",
            )
        )
    if rod_asked(numbers) and back < ROD_NEEDS:
        found.append(
            Conflict(
                ("back_dam", "air_seal"),
                f"Backing rod and sealant are held where frame and back stand beside each other, and a frame on {PACKER:g} mm of packer leaves them "
                f"{max(back - PACKER, 0):g} mm of a back of {back:g} mm: turn it up {ROD_NEEDS:g} mm.",
            )
        )
    return found


def cover_over_cavity(
    numbers: Numbers, wall: Wall, frame: Frame, parts: Sequence[Layer], *, when: str
) -> tuple[list[Layer], list[Dimension]]:
    """``parts`` with the metal cover from the groove of a frame behind the cavity onto the sill of the leaf, and how far it lies over that.

    ``when`` is the condition of the column of that name under which the row is meant for this junction.
    """
    stands_off = frame.outer > wall.leaf_back + 2 * FILM
    if not (numbers.has("sill_cover") and beside(when, numbers.circumstances) and stands_off):
        return [*parts], []
    over, sill = numbers.length("sill_cover"), next(one for one in parts if one.key == "outer sill")
    high = max(y for x, y in sill.outline if x == wall.leaf_back)
    out = wall.leaf_back - over
    low = high - SILL_FALL * over + CLEAR_OF_SILL
    name, rows = (
        "Metal cover over the cavity, on the frame alone, clear of the sill, ends up",
        ("sill_cover",),
    )
    covered = from_groove(numbers, parts, frame.outer, (out, low), name=name, rows=rows)
    covered += gap_to_cover(numbers, covered[-1], sill)
    return covered, [Dimension("sill_cover", (wall.leaf_back, high), (out, low), over, "x", "top")]


def from_groove(
    numbers: Numbers, parts: Sequence[Layer], outer: float, lip: Point, *, name: str, rows: tuple[str, ...]
) -> list[Layer]:
    """``parts`` with a metal sill from a groove in the face of their frame, which is at ``outer``, out to its ``lip``."""
    (out, low), inner = lip, outer + GROOVE
    back = low + COVER_FALL * (inner - out)
    top = back + COVER_BACK
    way = [(inner, top), (inner, back), (out, low), (out, low - COVER_LIP)]
    rows = (*rows, *(("leaf_gap",) if numbers.has("leaf_gap") else ()))
    part = Layer("cover", "metal", sheet(way, -SHEET), name, rows, "frame", water=True, order=9)
    groove = ((outer, top), (inner, top), (inner, PACKER))
    cut = [replace(one, outline=(*groove, *one.outline[1:])) if one.key == "frame" else one for one in parts]
    return [*cut, part]


def under_outer_sill(frame: Frame, x: float) -> float:
    """Underside of the outer sill before light cladding at ``x``, as it lies where nothing raises it."""
    return PACKER + SILL_UP - SILL_FALL * (frame.outer - x) - SHEET * sqrt(1 + SILL_FALL**2)


def outside_of_sill(
    wall: Wall,
    frame: Frame,
    bottom: float,
    edge: float,
    on_tray,
    *,
    raised: tuple[float, float, float] = (0.0, 28.0, NOSE),
    highest: float = inf,
) -> tuple[list[Layer], float]:
    """What is outside of the tray, and how high the cladding reaches, at most ``highest``; the outer sill so much ``raised``, its lip so far down, before light cladding so far out."""
    lift, lip, past = raised
    if not wall.masonry:
        start: Point = (frame.outer, PACKER + SILL_UP + lift)
        nose = wall.face - past
        drop = start[1] - SILL_FALL * (frame.outer - nose)
        free = under_outer_sill(frame, nose) - 8  # under the frame, which may stand over it
        top = min(free, highest)
        lip += free - top
        return [
            cladding(wall, bottom, top, carrier="battens" if wall.cavity else "membrane"),
            *([battens(wall, bottom, top - BATTEN_BELOW)] if wall.cavity else []),
            Layer(
                "outer sill", "metal", sheet([start, (nose, drop), (nose, drop - lip), (nose - 4, drop - lip - 4)], SHEET),
                "Outer sill; no line sizes it", (), "frame", order=3,
            ),
        ], top  # fmt: skip
    high = on_tray(edge) - 6 if wall.type == "cavity masonry" else PACKER - 6 + lift
    inner = wall.leaf_back - MESH * (high > PACKER and frame.outer < wall.leaf_back + MESH)
    out = wall.face - 45
    front = high - SILL_FALL * (inner - out)
    bed = front - 27  # underside of the sill at its back; it falls with the bed
    slope = BED_FALL / wall.leaf

    def under(x: float) -> float:
        return bed - slope * (inner - x)

    stone = (
        (out, under(out) - 10), (out + 15, under(out) - 10), (out + 15, under(out + 15)), (inner, bed), (inner, high),
        (out, front),
    )  # fmt: skip
    damp = sheet([(inner, high), (inner, bed), (wall.face, under(wall.face))], FILM)
    thick = FILM * sqrt(1 + slope * slope)
    top = under(wall.face) - thick
    bedding = ((wall.face, top), (inner, top), (inner, bed - thick))
    return [
        cladding(wall, bottom, top, carrier="ties"),
        battens(wall, bottom, top, key="ties", carrier="membrane" if wall.film else "core"),
        Layer("sill bed", "masonry", bedding, "", (), "cladding"),
        Layer("outer sill", "concrete", stone, "Sill on the outer leaf alone", ("sill_past",), "sill damp course", order=3),
        Layer(
            "sill damp course", "damp course", damp, "Damp-proof course under the sill, turned up at back and ends", ("sill_past",),
            "sill bed", order=3,
        ),
    ], top  # fmt: skip
