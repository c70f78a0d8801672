"""What carries a window over a cavity: a sill support on framing behind the boards, or brackets on the inner leaf."""

from collections.abc import Callable
from dataclasses import replace
from math import ceil, inf

from exposure.detail.beside import beside
from exposure.junction.build_up import BOARD, Wall, core
from exposure.junction.numbers import Numbers
from exposure.junction.scene import FILM, SHEET, Layer, Point, rectangle
from exposure.junction.window import DEPTH, PACKER, Frame

SUPPORT, SUPPORT_FOOT, SCREW = 7.0, 30.0, 45.0  # mm, thickness, foot below the tray, screw in the framing
LEAST = 3.0  # mm, of a support in a narrow cavity
HEAD, SHANK = 4.0, 5.0  # mm, head of the screw before the support, and its shank
UNDER_FOOT, BLOCKING = 25.0, 45.0  # mm, framing below the foot, and its thickness
PLATE = 45.0  # mm, timber under a sill
BEARING = 30.0  # mm, packer under a frame
CLEAR_OF_ARM = 4.0  # mm, cladding below a support that reaches out over it
OFF_BOARD = 2.0  # mm, support clear of the back of the cladding


def support_asked(numbers: Numbers) -> bool:
    """Whether the schedule orders something that carries a window over the cavity."""
    return numbers.has("sill_support") and beside("over the cavity", numbers.circumstances)


def sill_support(numbers: Numbers, wall: Wall, frame: Frame, edge: float, foot: float) -> list[Layer]:
    """What carries a window over the cavity, where the schedule orders it: before the tray's leg, its foot below the tray."""
    if not support_asked(numbers):
        return []
    out, low = frame.outer + 2, foot - SUPPORT_FOOT
    # it bends in to the membrane under the tray's foot, and is screwed through it there
    skin, before = wall.skin, edge - _thickness(wall)
    bed = skin - FILM
    top: tuple[Point, ...] = ((out, PACKER), (out, PACKER - SUPPORT), (before, PACKER - SUPPORT))
    if (
        out >= before
    ):  # a frame set back behind the tray's leg: the support stands before it and reaches out no further
        top = ((before, PACKER),)
    outline = (*top, (before, low), (bed, low), (bed, foot - 3), (edge, foot - 3), (edge, PACKER))
    head = before - (0.0 if _is_narrow(wall) else HEAD)
    end, middle = skin + FILM + (BOARD if numbers.boards else 0.0) + SCREW, low + SUPPORT_FOOT / 3
    shank = rectangle(head, middle - SHANK / 2, end, middle + SHANK / 2)
    return [
        Layer("support", "bracket", outline, "Sill support, beyond the cut, its foot on sealant, screwed to framing, screws sealed; water drops past it",
              ("sill_support",), "tray", cut=False, order=3),
        Layer("support seal", "sealant", rectangle(bed, low, skin, foot - 3), "", (), "support", cut=False, order=3),
        Layer("support screw", "tie", shank, "", (), "support", cut=False, order=3),
    ]  # fmt: skip


def core_behind(numbers: Numbers, wall: Wall, bottom: float, top: float, foot: float) -> tuple[Layer, ...]:
    """The wall's layers under a sill, with framing let into the insulation where a support is screwed below the tray's ``foot``."""
    whole, *boards = core(wall, bottom, top)
    if not support_asked(numbers):
        return (whole, *boards)
    face, back, low = wall.core_face, wall.core_face + BLOCKING, foot - SUPPORT_FOOT - UNDER_FOOT
    around = (
        (back, top),
        (back, low),
        (face, low),
        (face, bottom),
        (wall.core_back, bottom),
        (wall.core_back, top),
    )
    name = "Framing: blocking between the studs, behind the foot of the support"
    blocking = Layer("blocking", "timber", rectangle(face, low, back, top), name, (), "core", order=1)  # fmt: skip
    return (replace(whole, outline=around), blocking, *boards)


def below_support(numbers: Numbers, wall: Wall, frame: Frame) -> float:
    """How high light cladding may reach under what carries the window; infinite where that does not reach out over it."""
    reaches = support_asked(numbers) and not wall.masonry and frame.outer + 2 < wall.leaf_back
    return PACKER - SUPPORT - CLEAR_OF_ARM if reaches else inf


def support_warnings(numbers: Numbers, wall: Wall, highest: float) -> tuple[str, ...]:
    """How flat a support must be in a narrow cavity, and that the cladding ends below it, where it may be no higher than ``highest``."""
    if not support_asked(numbers) or wall.masonry:
        return ()
    said = []
    if wall.cavity and _is_narrow(wall):
        plain = 5 * ceil(_needed(HEAD) / 5)
        said.append(
            f"In a cavity of {wall.cavity:g} mm the support and its screws stand at most {wall.cavity - OFF_BOARD:g} mm off the membrane: "
            f"a flat steel, the heads let in flush, or a cavity of {plain} mm."
        )
    if highest < inf:
        said.append(
            "The support reaches out over the cladding, which ends below it all along; the outer sill covers its edge."
        )
    return tuple(said)


def _needed(head: float) -> float:
    """Depth of a cavity for a support of full thickness, its screw's ``head`` before it. [mm]"""
    return SHEET + SUPPORT + head + OFF_BOARD


def _is_narrow(wall: Wall) -> bool:
    """Whether the heads of screws have no room before a support."""
    return wall.cavity < _needed(HEAD)


def _thickness(wall: Wall) -> float:
    """Of a support, as the cavity has room for it. [mm]"""
    room = wall.cavity - OFF_BOARD - SHEET
    return min(SUPPORT, max(room, LEAST)) if wall.cavity else SUPPORT


def brackets(
    numbers: Numbers, wall: Wall, frame: Frame, base: float, under_tray: Callable[[float], float]
) -> list[Layer]:
    """What carries a window over the cavity of cavity masonry: from the inner leaf out under the middle of the frame, below the tray.

    Parameters
    ----------
    base
        Top of the inner leaf, below every part of the tray.
    under_tray
        Height of what lies on them over the depth of the wall.
    """
    if not numbers.has("sill_bracket"):
        return []
    out = frame.outer + (DEPTH - BEARING) / 2
    inner, skin, low = out + BEARING, wall.core_face, base - PLATE
    arm = (
        (out, base),
        (skin, base),
        (skin, low),
        (skin - SUPPORT, low),
        (skin - SUPPORT, base - SUPPORT),
        (out, base - SUPPORT),
    )
    bed = ((out, base), (inner, base), (inner, under_tray(inner)), (out, under_tray(out)))
    screw = rectangle(skin - SUPPORT - 4, low + 8, skin + SCREW, low + 13)
    return [
        Layer("support", "bracket", arm, "Bracket on the inner leaf, beyond the cut, packed up to the tray, carries the window; water drops past it", ("sill_bracket",), "plate",
              cut=False, order=3),
        Layer("support bed", "packer", bed, "", ("sill_bracket",), "support", cut=False, order=3),
        Layer("support screw", "tie", screw, "", (), "support", cut=False, order=3),
    ]  # fmt: skip
