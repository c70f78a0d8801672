"""What stands inside the sill tray's back: the strip that a back of film is folded up against, and the window board."""

from exposure.junction.build_up import Wall
from exposure.junction.numbers import Numbers
from exposure.junction.scene import Layer, rectangle

BOARD, STRIP = 18.0, 18.0  # mm, thickness of both
PACKER_WIDE, THINNEST = 30.0, 2.0  # mm, packers of the board over the bevel, and a gap that takes some


def strip_asked(numbers: Numbers, wall: Wall) -> bool:
    """Whether the tray's back is of film, which a strip on the sill's tape carries."""
    return wall.film and not str(numbers.values.get("sill_form", "")).startswith("rigid")


def board_and_strip(
    numbers: Numbers, wall: Wall, start: float, low: float, back: float, *, carrier: str
) -> list[Layer]:
    """The board, its top no lower than the tray's back, and before it the strip; on the brackets of cavity masonry another one carries the tray.

    Parameters
    ----------
    start
        Inner face of the tray's back, or of what stands behind that: the ``carrier``.
    low, back
        Underside of the tray there, and top of its back.
    """
    strip = []
    if strip_asked(numbers, wall):
        upright = rectangle(start, low, start + STRIP, back)
        strip = [Layer("back strip", "packer", upright, "Strip on the tape, behind the tray's back", ("back_dam",), "opening tape", air=True, order=3)]  # fmt: skip
        start += STRIP
    top = max(low + BOARD, back)
    board, carrier = rectangle(start, top - BOARD, wall.room + 25, top), "back strip" if strip else carrier
    gap = top - BOARD - low
    packers = [
        Layer(
            f"board packer {place}",
            "packer",
            rectangle(left, low, left + PACKER_WIDE, low + gap),
            "",
            (),
            "window board",
            cut=False,
            order=9,
        )
        for place, left in enumerate((start, wall.core_back - PACKER_WIDE))
        if gap > THINNEST and left + PACKER_WIDE <= wall.core_back
    ]
    name = "Window board, packed" if packers else "Window board"
    return [*strip, *packers, Layer("window board", "lining", board, name, (), carrier, air=True, order=9)]
