"""Break lines: a long piece of plain height is left out of a picture, so that what laps what stays large enough to read."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from exposure.draw.drawing import Box, path, stroke
from exposure.draw.palette import INK, PAPER
from exposure.junction.scene import Point, Section

PLAIN = 300.0  # mm in which nothing begins or ends: from here on a break is drawn
KEPT = 40.0  # mm shown at both ends of it
GAP = 36.0  # mm of picture that the break itself takes
BAND = 5.0  # half the white band between two break lines, in picture units
SAID = "Between broken lines a plain piece is left out; sizes are true."


@dataclass(frozen=True)
class Break:
    """A piece of height that is left out. [mm]"""

    low: float
    high: float

    @property
    def left_out(self) -> float:
        """How much lower the picture becomes."""
        return self.high - self.low - GAP


def breaks_of(section: Section, view: Box, way: Sequence[Point]) -> tuple[Break, ...]:
    """Pieces of an upright section in which nothing begins or ends, from below upward."""
    if section.view != "upright":
        return ()
    _, bottom, _, top = view
    ends = [point for layer in section.layers for point in layer.outline]
    ends += [end for one in section.dimensions for end in (one.start, one.end)]
    heights = sorted({bottom, top, *(y for _, y in [*ends, *way] if bottom < y < top)})
    return tuple(Break(low + KEPT, high - KEPT) for low, high in pairwise(heights) if high - low > PLAIN)


def lowered(y: float, breaks: Sequence[Break]) -> float:
    """Height at which ``y`` is shown.

    Examples
    --------
    >>> [lowered(y, [Break(40, 440)]) for y in (0, 40, 440, 500)]
    [0.0, 40.0, 76.0, 136.0]
    """
    less = sum(one.left_out * min(max((y - one.low) / (one.high - one.low), 0), 1) for one in breaks)
    return float(y - less)


def break_mark(left: float, right: float, y: float) -> str:
    """A white band across the wall at ``y`` with a broken line at both of its edges."""
    middle = (left + right) / 2
    band = f'<rect x="{left - 6:.1f}" y="{y - BAND:.1f}" width="{right - left + 12:.1f}" height="{2 * BAND:g}" fill="{PAPER}"/>'
    lines = []
    for edge in (y - BAND, y + BAND):
        zigzag = [(left - 8, edge), (middle - 7, edge), (middle - 3, edge - 7), (middle + 3, edge + 7), (middle + 7, edge), (right + 8, edge)]  # fmt: skip
        lines.append(path(zigzag))
    return band + stroke(" ".join(lines), colour=INK, width=0.7)
