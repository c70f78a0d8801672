"""Colours: the four classes, the map raster, the page. Contrast and separation are proven in the tests.

Classes run from light to dark so that the order survives grey print; each has a hatch of leaning rain strokes
and a word besides, and no text ever stands on a hatch. The raster is another family, so that a tone of the map
is never read as a class.
"""

from collections.abc import Sequence
from dataclasses import dataclass

INK = "#1B2228"
SOFT = "#55606A"  # soft text inside pictures
HAIR = "#B9C0C4"  # ornament only
PAPER = "#FFFFFF"
RAIN = "#2F6570"
STREAM = "#DCE6E6"
TROUGH = "#F2F4F4"

LIGHT = {
    "ground": "#F4F6F5",
    "card": "#FFFFFF",
    "ink": "#1B2228",
    "soft": "#4E5A63",
    "line": "#C9CFD2",
    "edge": "#7A858C",
    "accent": "#1B5C69",
    "on-accent": "#FFFFFF",
    "focus": "#1B5C69",
    "wash": "#E6EDEE",
}
DARK = {
    "ground": "#14181B",
    "card": "#1C2226",
    "ink": "#E9EDEF",
    "soft": "#AEB9BF",
    "line": "#3A444A",
    "edge": "#87939A",
    "accent": "#8CCBD5",
    "on-accent": "#0F1A1D",
    "focus": "#F2D8A0",
    "wash": "#263237",
}

RASTER_STEPS = ("#EEF3EC", "#CFE0D6", "#A3C6BF", "#6FA5A8", "#3D7C8B", "#1D5268")  # sea mist to deep water

HIDDEN = "#D6D8D8"  # a change that the spread hides
LESS_STEPS = ("#EFDFC2", "#C79A57", "#8A5A1E")  # less rain: straw to bark
MORE_STEPS = ("#C3DFDB", "#6FA5A8", "#1D5268")  # more: mist to deep water


@dataclass(frozen=True)
class Strokes:
    """One family of parallel hatch strokes: lean (1 or -1), distance apart and width in picture units."""

    lean: int
    step: float
    width: float


@dataclass(frozen=True)
class ClassLook:
    """How one exposure class looks."""

    name: str
    rank: int  # 1 mildest to 4
    fill: str
    stroke: str  # of its hatch
    hatch: tuple[Strokes, ...]


CLASS_LOOKS = {
    look.name: look
    for look in (
        ClassLook("sheltered", 1, "#EFE3C8", "#EFE3C8", ()),
        ClassLook("moderate", 2, "#D3A069", "#5B3A14", (Strokes(1, 9, 1.0),)),
        ClassLook("severe", 3, "#93507F", "#F7E9F2", (Strokes(1, 5, 1.1),)),
        ClassLook("very severe", 4, "#2C1B47", "#D9CFEA", (Strokes(1, 6, 0.9), Strokes(-1, 6, 0.9))),
    )
}


def raster_colours(number: int = 64) -> list[str]:
    """``number`` colours evenly along the raster ramp, lightest (least rain) first.

    Examples
    --------
    >>> raster_colours(3)
    ['#EEF3EC', '#89B6B4', '#1D5268']
    """
    last = len(RASTER_STEPS) - 1
    return [_between(place * last / (number - 1)) for place in range(number)]


def change_colours(number: int = 64) -> list[str]:
    """``number`` colours from less rain over ``HIDDEN`` to more, the two in the middle ``HIDDEN`` itself.

    Examples
    --------
    >>> change_colours(8)[0], change_colours(8)[3:5], change_colours(8)[-1]
    ('#8A5A1E', ['#D6D8D8', '#D6D8D8'], '#1D5268')
    """
    half = number // 2 - 1
    less = [
        _between((half - 1 - k) / max(half - 1, 1) * (len(LESS_STEPS) - 1), LESS_STEPS) for k in range(half)
    ]
    more = [_between(k / max(half - 1, 1) * (len(MORE_STEPS) - 1), MORE_STEPS) for k in range(half)]
    return [*less, HIDDEN, HIDDEN, *more]


def _between(place: float, steps: Sequence[str] = RASTER_STEPS) -> str:
    low = min(int(place), len(steps) - 2)
    part = place - low
    one, other = ([int(colour[i : i + 2], 16) for i in (1, 3, 5)] for colour in steps[low : low + 2])
    return "#" + "".join(f"{round(a + part * (b - a)):02X}" for a, b in zip(one, other, strict=True))
