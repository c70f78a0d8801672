"""Where a window's frame stands in the wall, and the parts of it that sill, head and jamb share."""

from dataclasses import dataclass
from math import cos, hypot, pi, sin

from exposure.detail.beside import beside
from exposure.junction.build_up import Wall, wall_of
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Conflict, Dimension, Layer, Point, rectangle, sheet

DEPTH = 70.0  # mm, frame from outside to inside
HEIGHT = 66.0  # mm, frame as seen from the front
SASH = 34.0
PACKER = 8.0  # mm, under the frame
GAP = 12.0  # mm, between frame and turned-up back; takes a backing rod
FLANGE_OUT = 22.0  # mm, frame in front of its flange
BOX = "box frame with straps"
BOX_IN = 20.0  # mm, box frame behind the boards, so that its tape meets the opening
ON_SIDE = 25.0  # mm, tape on the side of a box frame
FOLD = 8.0  # mm of the frame along which its tape crosses the gap
BEAD = 6.0  # mm, depth of the sealant
TRIM, IN_REVEAL_OUT = 20.0, 10.0  # mm, trim before the cladding, and what lines a reveal before it
BESIDE = 10.0  # mm, between a frame and the edge of its opening at jambs and head
ON_CLADDING = 10.0  # mm, flange over the cladding, where no row says it
UNDER_FLANGE, RETURN = (
    3.0,
    12.0,
)  # mm, bead of sealant under a flange on the cladding, and its leg on the frame
SQUEEZED = 4.0  # mm, bedding of a flange seen at its edge
HIDDEN = 20.0  # mm of the frame that must stand above the turned-up back


class NotDrawnError(LookupError):
    """A junction that is not drawn for this wall or window, and why."""


@dataclass(frozen=True)
class Frame:
    """Where the frame stands and what covers its joint. [mm]"""

    outer: float
    flange: bool = False  # a flange lies on the membrane
    conflicts: tuple[Conflict, ...] = ()
    on_cladding: bool = False  # the flange lies on the cladding instead
    taped: bool = False  # a box frame, taped from its side onto the membrane in the opening
    trimmed: bool = False  # a trim before the cladding covers the joint at the jambs
    strapped: bool = False  # held by straps on the room side

    @property
    def inner(self) -> float:
        """Inner face."""
        return self.outer + DEPTH

    @property
    def back(self) -> float:
        """Outer face of the tray's turned-up back."""
        return self.inner + GAP


def frame_of(numbers: Numbers, wall: Wall) -> Frame:
    """Where the frame stands.

    Raises
    ------
    NotDrawnError
        For a flange that would lie on the boards and does not reach them, or on a cladding so far out that the frame does not.
    """
    position = numbers.circumstances.window_position
    box = numbers.circumstances.frame == BOX
    least = wall.face + numbers.setback
    reach = GAP - DEPTH if wall.film else -float("inf")  # a framed wall's window must still reach its studs
    if wall.type == "cavity masonry" or position == "in the masonry cavity":
        outer = max(wall.leaf_back + FILM, least, reach)
        return Frame(outer, conflicts=_short_of_leaf(wall, outer), strapped=box or not wall.film)
    if position == "over the cavity":
        return _over_the_cavity(wall, max(least, reach), box=box)
    if box:
        return Frame(max(BOX_IN, least), taped=True, trimmed=not wall.masonry, strapped=True)
    outer = max(-FLANGE_OUT, least)
    if outer > -2 * FILM:
        raise NotDrawnError(_too_far_back(numbers, wall))
    return Frame(outer, flange=True)


def window_in(numbers: Numbers) -> tuple[Wall, Frame]:
    """The wall with its window."""
    wall = wall_of(numbers)
    return wall, frame_of(numbers, wall)


def _too_far_back(numbers: Numbers, wall: Wall) -> str:
    """Why a frame so far behind the face of the cladding is not drawn: its flange does not reach the boards."""
    back, before = numbers.setback, wall.cavity + wall.leaf
    return (
        f"a frame that stands {back:g} mm behind a face {before:g} mm in front of the boards cannot have its flange on the membrane; "
        f"take a cavity of more than {back - wall.leaf:g} mm on the whole wall, or answer a frame fixed with straps"
    )


def _over_the_cavity(wall: Wall, outer: float, *, box: bool) -> Frame:
    """A box frame before the boards, or a frame whose flange lies on the cladding."""
    if box:
        if wall.masonry:
            outer = max(outer, wall.leaf_back + FILM)
        return Frame(outer, conflicts=_short_of_leaf(wall, outer), trimmed=not wall.masonry, strapped=True)
    if wall.face + DEPTH < GAP:
        message = (
            f"a frame {DEPTH:g} mm deep whose flange lies on the cladding does not reach over a cavity of {wall.cavity:g} mm; "
            f"order one at least {GAP - wall.face:g} mm deep, or set the window at the boards"
        )
        raise NotDrawnError(message)
    return Frame(wall.face, on_cladding=True)


def _short_of_leaf(wall: Wall, outer: float) -> tuple[Conflict, ...]:
    """The clash of a frame that reaches the studs and so does not reach the leaf, over a deep cavity."""
    gap = outer - wall.leaf_back - FILM
    if not wall.masonry or gap <= 0:
        return ()
    said = (
        f"A frame {DEPTH:g} mm deep that reaches the studs stands {gap:.0f} mm behind the leaf over a cavity of {wall.cavity:g} mm, "
        f"and nothing closes that: order one {DEPTH + gap:.0f} mm deep, or set the window at the boards."
    )
    return (Conflict(("dpc_jamb", wall.cavity_row), said),)


def flange_past(numbers: Numbers) -> float:
    """How far a flange that lies on the cladding reaches past its frame on all four sides: over the gap beside it and the cladding's edge. [mm]"""
    return BESIDE + numbers.length("jamb_cover", ON_CLADDING)


def flange_before(frame: Frame, side: float, tip: float) -> tuple[Point, ...]:
    """A flange that lies on the cladding, from the frame's ``side`` to its ``tip`` along the wall, off it by the bead under it."""
    near = frame.outer - UNDER_FLANGE
    out, inner, leg = near - FILM, frame.outer + RETURN, side + (FILM if tip > side else -FILM)
    return ((out, tip), (near, tip), (near, leg), (inner, leg), (inner, side), (out, side))


def bedding(flange: Layer, *, up: bool) -> Layer:
    """Sealant that a flange on boards or membrane is bedded in, squeezed out at its upper edge, or at its lower one."""
    (left, right), (low, high) = ((min(places), max(places)) for places in zip(*flange.outline, strict=True))
    outline = (
        rectangle(left, high, right, high + SQUEEZED) if up else rectangle(left, low - SQUEEZED, right, low)
    )
    return Layer("flange bed", "sealant", outline, "", ("fix_flange",), flange.key, order=3)


def reveal_board_asked(numbers: Numbers, wall: Wall, frame: Frame) -> bool:
    """Whether the frame stands behind the cavity of a leaf, so that a board lines the reveal before the barrier."""
    asked = numbers.has("reveal_board") and beside("leaf before the boards", numbers.circumstances)
    return asked and frame.outer > wall.leaf_back + FILM


def side_tape(
    frame: Frame, wide: float, *, start: float, side: float, face: float
) -> tuple[list[Point], list[Point]]:
    """Tape of a box frame, given across the gap: from the frame's side, onto the opening, round its edge onto the wall.

    Written with the wall's depth first and the way into the opening second, the opening's edge at 0.

    Parameters
    ----------
    wide
        Of the tape, laid flat.
    start, side
        Where the opening's lining ends and the frame's side begins.
    face
        Outer face of what the tape sticks to beside the opening.

    Returns
    -------
    The outline of the tape, and the way along its middle, as long as the tape is wide.
    """
    low, high = start + FILM / 2, side - FILM / 2
    front, edge = frame.outer, face - FILM / 2
    across = hypot(FOLD, high - low)
    on_side = min(ON_SIDE, DEPTH / 2)
    rest = wide - on_side - across - (front - edge)
    middle = [(front + FOLD + on_side, high), (front + FOLD, high), (front, low)]
    if rest > FILM:
        middle += [(edge, low), (edge, low - rest)]
    else:
        middle.append((front - (wide - on_side - across), low))
    half = FILM / 2
    one, other = sheet(middle, half), sheet(middle, -half)
    number = len(middle)
    return [*one[number:][::-1], *other[number:]], middle


def tape_sizes(middle: list[Point], wide: float, bond: float) -> tuple[list[Dimension], tuple[Conflict, ...]]:
    """Width of a box frame's tape laid flat, and the least of it on the membrane of the wall, or why that is not met."""
    sizes = [Dimension("tape_w", middle[0], middle[-1], wide, "flat", way=tuple(middle))]
    (x, low), end = middle[-2], middle[-1]
    left = low - end[1] if x == end[0] else 0.0
    if left >= bond:
        return [
            *sizes,
            Dimension("tape_bond", (x, low), (x, low - bond), bond, "y", "right", name="least on wall"),
        ], ()
    said = (
        f"A tape {wide:g} mm wide from the side of a box frame leaves {left:.0f} mm on the membrane beside the opening, and "
        f"{bond:g} mm are asked: take tape {wide + bond - left:.0f} mm wide."
    )
    return sizes, (Conflict(("tape_w", "tape_bond"), said),)


def frame_outline(frame: Frame, bottom: float) -> tuple[Point, ...]:
    """The bottom frame cut across, its outer top edge sloped."""
    top = bottom + HEIGHT
    return (
        (frame.outer, bottom),
        (frame.inner, bottom),
        (frame.inner, top),
        (frame.outer + 10, top),
        (frame.outer, top - 4),
    )


def glass(frame: Frame, start: float, end: float, *, up: bool = True) -> tuple[Layer, Layer]:
    """Sash and pane from the frame's edge at ``start`` to ``end``; ``up`` where the pane lies above it."""
    way = 1 if up else -1
    low, high = sorted((start, start + way * SASH))
    first, last = sorted((start + way * SASH, end))
    out, back = frame.outer + 6, frame.outer + 60
    sash: tuple[Point, ...] = ((out, low), (back, low), (back, high), (out + 12, high), (out, high - 5))
    if not up:
        sash = rectangle(out, low, back, high)
    return (
        Layer("sash", "frame", sash, "Sash", (), "frame", water=True, air=True),
        Layer("pane", "glass", rectangle(frame.outer + 22, first, frame.outer + 48, last), "Pane", (), "sash", water=True, air=True),
    )  # fmt: skip


def rod(centre: Point, radius: float, carrier: str) -> Layer:
    """A backing rod as it is seen cut across."""
    circle = tuple(
        (centre[0] + radius * cos(pi * step / 12), centre[1] + radius * sin(pi * step / 12))
        for step in range(24)
    )
    return Layer("rod", "rod", circle, "Backing rod", ("air_seal",), carrier, order=3)


def rod_asked(numbers: Numbers) -> bool:
    """Whether the schedule asks a backing rod behind the sealant."""
    return numbers.values.get("air_seal") not in (None, "sealant, or foam and sealant")
