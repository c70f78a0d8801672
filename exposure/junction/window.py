"""Where a window's frame stands in the wall, and the parts of it that sill, head and jamb share."""

from dataclasses import dataclass
from math import cos, pi, sin

from exposure.junction.build_up import Wall
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, Conflict, Layer, Point, rectangle

DEPTH = 70.0  # mm, frame from outside to inside
HEIGHT = 66.0  # mm, frame as seen from the front
SASH = 34.0
PACKER = 8.0  # mm, under the frame
GAP = 12.0  # mm, between frame and turned-up back; takes a backing rod
FLANGE_OUT = 22.0  # mm, frame in front of its flange
BEAD = 6.0  # mm, depth of the sealant
HIDDEN = 20.0  # mm of the frame that must stand above the turned-up back
ROD_WORDS = "rod and sealant"


class NotDrawnError(LookupError):
    """A junction that is not drawn for this wall or window, and why."""


@dataclass(frozen=True)
class Frame:
    """Outer and inner face of the frame, and whether its flange lies on the membrane. [mm]"""

    outer: float
    flange: bool
    conflicts: tuple[Conflict, ...] = ()
    on_cladding: bool = False  # the flange lies on the cladding instead

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
        For a box frame before or over the boards, a window over a cavity of masonry, or over one so deep that the frame
        does not reach the boards.
    """
    position = numbers.circumstances.window_position
    if wall.type == "cavity masonry" or position == "in the masonry cavity":
        reach = (
            GAP - DEPTH if wall.film else -float("inf")
        )  # a framed wall's window must still reach its studs
        return Frame(max(wall.leaf_back + FILM, wall.face + numbers.setback, reach), False)
    if numbers.circumstances.frame == "box frame with straps":
        message = "a box frame with straps is not drawn yet"
        raise NotDrawnError(message)
    if position == "over the cavity":
        return _over_the_cavity(wall)
    least = wall.face + numbers.setback
    outer = max(-FLANGE_OUT, least)
    if outer > -2 * FILM:
        before = wall.cavity + wall.leaf
        said = Conflict(
            ("reveal", wall.cavity_row),
            f"The frame shall stand {numbers.setback:g} mm behind the face of the cladding, and that face is only "
            f"{before:g} mm in front of the boards: a flange cannot lie on the membrane. "
            "Take a frame fixed with straps, a deeper cavity, or a hood over the window.",
        )
        return Frame(outer, False, (said,))
    return Frame(outer, True)


def _over_the_cavity(wall: Wall) -> Frame:
    """A frame whose flange lies on the cladding."""
    if wall.masonry:
        message = "a window over the cavity of a masonry leaf is not drawn yet"
        raise NotDrawnError(message)
    if wall.face + DEPTH < GAP:
        message = f"a frame {DEPTH:g} mm deep whose flange lies on the cladding does not reach over a cavity of {wall.cavity:g} mm"
        raise NotDrawnError(message)
    return Frame(wall.face, False, on_cladding=True)


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
