"""What a metal sill at a door bears on, so that people may step on it: a bracket at the edge of the floor, or packers over the leaf."""

from exposure.junction.numbers import Numbers
from exposure.junction.scene import Layer, Point, rectangle
from exposure.junction.window import PACKER

ARM, FOOT, SCREW = 10.0, 40.0, 45.0  # mm, thickness of a bracket, its foot below the tray, its screw
OVER_LEAF = 5.0  # mm, thickness of its arm over a leaf, and from the back of that to where it grows
BOLTED, SHANK = 18.0, 5.0  # mm, its bolt below the tray, well in the strip on the floor's edge
UNDER_FRAME = 1.0  # mm, bracket under the threshold, which sinks with the floor as it does
PAD = 30.0  # mm of packer under a metal sill


def under_metal(cover: Layer, x: float) -> float:
    """Height of the underside of a metal sill at ``x``, between its back and its lip."""
    (back_x, back), (lip_x, lip) = cover.outline[1:3]
    return lip + (back - lip) * (x - lip_x) / (back_x - lip_x)


def step_bracket(
    numbers: Numbers,
    cover: Layer,
    *,
    frame: float,
    reach: float,
    leg: Point,
    skin: float,
    leaf: float | None = None,
) -> list[Layer]:
    """The bracket under a metal sill, where the schedule orders one: screwed below the tray's foot, up before its leg and out.

    Parameters
    ----------
    frame
        Outer face of the threshold, under which it passes.
    reach
        Where its arm ends.
    leg
        Lower end of the tray's leg, at its outer face.
    skin
        Face of the membrane that it is screwed on.
    leaf
        Back of the leaf, where the arm passes over that.
    """
    if not numbers.has("step_bracket"):
        return []
    edge, foot = leg
    before, low, rise = edge - ARM, foot - FOOT, PACKER - UNDER_FRAME
    near = min(frame - UNDER_FRAME, edge)
    top = ((reach, under_metal(cover, reach)), (near, under_metal(cover, near)), (near, rise), (edge, rise))
    under: tuple[Point, ...] = ((reach, top[0][1] - ARM),)
    if leaf is not None:
        clear = leaf + OVER_LEAF
        under = ((clear, under_metal(cover, clear) - OVER_LEAF), (reach, top[0][1] - OVER_LEAF))
    outline = (
        *top,
        (edge, foot - 3),
        (skin, foot - 3),
        (skin, low),
        (before, low),
        (before, rise - ARM),
        (min(near, before), rise - ARM),
        *under,
    )
    screw = rectangle(before - 4, foot - BOLTED, skin + SCREW, foot - BOLTED + SHANK)
    name = "Bracket on the edge of the floor, beyond the cut, bears the step; water drops past it"
    return [
        Layer("step bracket", "bracket", outline, name, ("step_bracket",), "membrane", cut=False, order=3),
        Layer("step screw", "tie", screw, "", (), "step bracket", cut=False, order=3),
    ]  # fmt: skip


def packer_on_leaf(cover: Layer, membrane: Layer, first: float) -> Layer:
    """A packer under a metal sill on the membrane over a leaf, its outer side at ``first``."""
    last = first + PAD

    def on(x: float) -> float:
        sides = zip(membrane.outline, membrane.outline[1:], strict=False)
        return max(
            y + (b - y) * (x - a) / (c - a)
            for (a, y), (c, b) in sides
            if a != c and min(a, c) <= x <= max(a, c)
        )

    outline = (
        (first, on(first)), (last, on(last)), (last, under_metal(cover, last)), (first, under_metal(cover, first)),
    )  # fmt: skip
    name = "Packer on the membrane, beyond the cut, bears the step"
    return Layer("step packer", "packer", outline, name, (), "deck membrane", cut=False, order=5)
