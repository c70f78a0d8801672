"""Ground profile under the wind: the building, the slope that governs, and what it gives.

Pure functions, data in and SVG text out; names and reasons are escaped. One unit is one CSS pixel or more as shown.
"""

from math import log10

import numpy as np

from exposure.draw.drawing import (
    filled,
    path,
    picture,
    rectangle,
    stroke,
    text,
)
from exposure.draw.lettering import fit
from exposure.draw.palette import INK, RAIN, SOFT, STREAM
from exposure.site.sector import SectorHill
from exposure.wall.building import compass_name


def ground_profile_picture(
    hill: SectorHill, *, height: float, name: str, width: float = 760, prefix: str = "profile"
) -> str:
    """Ground under the wind from one direction: the building, the slope that governs, and what it gives.

    Parameters
    ----------
    hill
        With its profile.
    height
        Of the wall. [m]
    """
    along, ground = np.asarray(hill.along), np.asarray(hill.ground)
    title = f"Ground under wind from {hill.bearing:.0f}°, {name}"
    if along.size < 2:
        return picture(
            text(12, 28, "No ground heights here."),
            width=width,
            height=48,
            title=title,
            desc="No ground heights.",
            prefix=prefix,
        )
    shown = _shown(hill, along)
    along, ground = along[shown], ground[shown]
    left, right, top, base = 62.0, width - 20.0, 66.0, 246.0
    low, high = float(ground.min()), max(float(ground.max()), _at(along, ground, 0.0) + height)
    room = max(high - low, 20.0)
    x_scale, y_scale = (right - left) / float(along[-1] - along[0]), (base - top) / room

    def place(metres: float, metres_up: float) -> tuple[float, float]:
        return left + (metres - float(along[0])) * x_scale, base - (metres_up - low) * y_scale

    line = [place(x, z) for x, z in zip(along, ground, strict=True)]
    body = filled([(left, base), *line, (right, base)], STREAM) + stroke(path(line), colour=RAIN, width=2)
    body += stroke(f"M{left:.1f} {base:.1f} H{right:.1f}", width=1.25)
    here = _at(along, ground, 0.0)
    x, y = place(0.0, here)
    tall = max(height * y_scale, 6.0)
    body += filled(rectangle(x - 4, y - tall, 8, tall), INK) + stroke(f"M{x:.1f} {base:.1f} v6", width=1.25)
    body += text(x, base + 20, "building", anchor="middle", bold=True)
    if hill.foot is not None and hill.crest is not None:
        foot, crest = (
            place(hill.foot, _at(along, ground, hill.foot)),
            place(hill.crest, _at(along, ground, hill.crest)),
        )
        body += stroke(path([foot, crest]), width=1.6, dashes="5 3")
        for (px, py), words in ((foot, "foot"), (crest, "crest")):
            if abs(px - x) > 46:
                body += stroke(f"M{px:.1f} {py:.1f} V{base:.1f}", colour=SOFT, width=0.75, dashes="3 3")
                body += text(px, base + 20, words, anchor="middle", colour=SOFT)
    body += text(left - 8, place(0, high)[1] + 4, f"{high:.0f} m", anchor="end", colour=SOFT) + text(
        left - 8, base + 4, f"{low:.0f} m", anchor="end", colour=SOFT
    )
    body += _distance_bar(right, base + 44, x_scale)
    stretch = y_scale / x_scale
    body += text(
        left,
        base + 48,
        f"heights drawn {stretch:.0f} times" if stretch >= 1.5 else "heights to scale",
        colour=SOFT,
    )
    way = compass_name(hill.bearing)
    body += stroke(f"M{left:.1f} 48 H{left + 70:.1f} m-9 -5 l9 5 l-9 5", colour=RAIN, width=2)
    body += text(left + 80, 53, f"wind from the {way} ({hill.bearing:.0f}°)", colour=RAIN)
    words = hill.in_words
    body += text(left, 26, f"× {hill.coefficient:.2f}", size=18, bold=True) + text(
        left + 70, 26, fit(words, width=right - left - 76, size=14), size=14
    )
    desc = (
        f"Times {hill.coefficient:.2f}: {words}. Wind from the {way}. Ground from {low:.0f} to {high:.0f} m."
    )
    return picture(body, width=width, height=base + 62, title=title, desc=desc, prefix=prefix)


def _shown(hill: SectorHill, along: np.ndarray) -> np.ndarray:
    """The part of the profile worth showing: the feature and the building with room around, at least 1 km."""
    if hill.foot is None or hill.crest is None:
        return np.abs(along) <= 1500
    first, last = min(hill.foot, 0.0), max(hill.crest, 0.0, hill.crest + hill.downwind_length)
    room = max(0.25 * (last - first), 250.0)
    shown = (along >= first - room) & (along <= last + room)
    return shown if shown.sum() > 2 else np.ones(along.size, dtype=bool)


def _at(along: np.ndarray, ground: np.ndarray, where: float) -> float:
    return float(np.interp(where, along, ground))


def _distance_bar(right: float, y: float, scale: float) -> str:
    """A bar of a round length, at most a quarter of 600 units, its length in words."""
    most = 150 / scale
    step = 10 ** int(log10(most))
    length = max(n * step for n in (1, 2, 5) if n * step <= most)
    words = f"{length:.0f} m" if length < 1000 else f"{length / 1000:g} km"
    left = right - length * scale
    return stroke(f"M{left:.1f} {y - 5:.1f} v5 H{right:.1f} v-5", width=1.25) + text(
        left - 8, y + 2, words, anchor="end"
    )
