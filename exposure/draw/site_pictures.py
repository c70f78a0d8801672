"""Pictures of a surveyed site: plan with the view of a wall, ground by sector, and the others by name.

Pure functions, data in and SVG text out; names and reasons are escaped. One unit is one CSS pixel or more as shown.
"""

from math import hypot, sqrt

import numpy as np
import shapely

from exposure.assess import Assessment
from exposure.assess.from_files import Surveyed
from exposure.draw.drawing import (
    compass_letters,
    filled,
    path,
    picture,
    polar,
    rectangle,
    stroke,
    text,
)
from exposure.draw.ground_ring import ground_caption, ground_ring
from exposure.draw.lettering import clean, text_width, wrap
from exposure.draw.palette import HAIR, INK, PAPER, RAIN, SOFT, TROUGH
from exposure.draw.site_bars import doubt_bars, elevation_bars
from exposure.draw.site_profile import ground_profile_picture
from exposure.wall import WallExposure

REACH = 125.0  # m shown around the building
RINGS = (40.0, 80.0, 120.0)
NARROW = 400  # units; a plan no wider breaks its words into more lines
MEANINGS = (
    "stopped by a building as tall as the wall",
    "free view; figures are heights in metres; hedges never count",
)


def site_pictures(assessment: Assessment, surveyed: Surveyed) -> dict[str, str]:
    """Every picture of the site by a file name without ending; what was not surveyed is left out."""
    worst = assessment.worst
    found = {"elevation_bars": elevation_bars(assessment), "doubts_worst": doubt_bars(worst)}
    if surveyed.place.footprint is not None:
        found["view_worst"] = view_plan(assessment, surveyed, worst)
    if assessment.site.grounds or assessment.site.hills:
        found["ground_by_sector"] = site_ring(assessment)
    if assessment.site.hills:
        found["profile_worst"] = ground_profile_picture(
            assessment.site.hills[worst.ground_sector],
            height=worst.wall.height,
            name=assessment.building.name,
        )
    return found


def view_plan(
    assessment: Assessment, surveyed: Surveyed, one: WallExposure, *, size: float = 520, prefix: str = "view"
) -> str:
    """The building among its neighbours, with the rays of one elevation: stopped ones end in a dot.

    Neighbours at least as tall as the wall are dark, lower ones light; figures are their heights in metres.
    """
    centre, scale = (size / 2, size / 2), (size / 2 - 26) / REACH

    def place(east: float, north: float) -> tuple[float, float]:
        return centre[0] + east * scale, centre[1] - north * scale

    frame = shapely.Point(0, 0).buffer(REACH, 64)
    lower: list[str] = []
    taller: list[str] = []
    labels: list[str] = []
    around = surveyed.neighbours
    if around is not None:
        for shape, tall in zip(around.polygons, around.heights, strict=True):
            seen = shapely.intersection(shape, frame)
            if seen.is_empty:
                continue
            as_tall = tall >= one.wall.height - 0.05
            for part in shapely.get_parts(seen):
                if part.geom_type == "Polygon":
                    ring = [place(*xy) for xy in np.asarray(part.exterior.coords)]
                    (taller if as_tall else lower).append(
                        filled(ring, "#8C969C" if as_tall else TROUGH)
                        + stroke(path(ring), width=0.75, colour=SOFT)
                    )
            if shape.within(frame) and shape.area * scale**2 > 200:
                x, y = place(shape.centroid.x, shape.centroid.y)
                labels.append(
                    text(x, y + 4, f"{tall:.0f}", size=12, anchor="middle", colour=PAPER if as_tall else INK)
                )
    rings = "".join(
        f'<circle cx="{centre[0]:.1f}" cy="{centre[1]:.1f}" r="{ring * scale:.1f}" fill="none" stroke="{HAIR}" stroke-width="0.75" stroke-dasharray="3 3"/>'
        for ring in RINGS
    )
    rays, dots = [], []
    if one.wall.view is not None:
        for x0, y0, x1, y1, stopped in one.wall.view.rays:
            start, end = place(x0, y0), place(*_within(x0, y0, x1, y1))
            rays.append(
                stroke(path([start, end]), colour=RAIN if stopped else HAIR, width=1.6 if stopped else 0.9)
            )
            if stopped:
                dots.append(f'<circle cx="{end[0]:.1f}" cy="{end[1]:.1f}" r="3" fill="{RAIN}"/>')
    outline = surveyed.place.footprint
    house = [] if outline is None else [place(*xy) for xy in np.asarray(outline.exterior.coords)]
    body = (
        rings
        + "".join([*lower, *taller, *rays, *dots, *labels])
        + (filled(house, PAPER) + stroke(path(house), width=1.6) if house else "")
    )
    if one.wall.start and one.wall.end:
        body += stroke(path([place(*one.wall.start), place(*one.wall.end)]), width=6.5, ends="square")
    for metres in RINGS:
        label_x, label_y = polar(centre, metres * scale, 135)
        body += filled(
            rectangle(label_x - 2, label_y - 11, text_width(f"{metres:.0f} m", size=12) + 4, 15), PAPER
        ) + text(label_x, label_y + 1, f"{metres:.0f} m", size=12, colour=SOFT)
    body += compass_letters(centre, size / 2 - 12)
    reason = one.factors[2].reason
    title = (
        f"{clean(one.wall.name, most=60)} elevation, {one.wall.height:g} m high: × {one.factors[2].value:.1f}"
    )
    heads = wrap(title, width=size - 24, size=14, bold=True)
    lines = [
        *heads,
        *wrap(reason, width=size - 24, size=14, most_lines=3 if size > NARROW else 8),
    ]
    y = size + 18
    for number, words in enumerate(lines):
        body += text(12, y, words, size=14, bold=number < len(heads))
        y += 19
    body += (
        stroke(f"M12 {y - 3:.0f} h22", colour=RAIN, width=1.6)
        + f'<circle cx="34" cy="{y - 3:.0f}" r="3" fill="{RAIN}"/>'
    )
    for free, words in enumerate(MEANINGS):
        if free:
            body += stroke(f"M12 {y - 3:.0f} h22", colour=HAIR, width=1.4)
        for line in wrap(words, width=size - 54, size=13):
            body += text(42, y + 1, line, colour=SOFT)
            y += 19
    desc = f"View of the {one.wall.name} elevation: {reason}. Factor {one.factors[2].value:.1f}."
    return picture(
        body,
        width=size,
        height=y - 7,
        title=f"Neighbours of {assessment.building.name}",
        desc=desc,
        prefix=prefix,
    )


def _within(x0: float, y0: float, x1: float, y1: float) -> tuple[float, float]:
    """The end of a ray, pulled back to the edge of the plan."""
    if hypot(x1, y1) <= REACH:
        return x1, y1
    a, b = (x1 - x0) ** 2 + (y1 - y0) ** 2, 2 * (x0 * (x1 - x0) + y0 * (y1 - y0))
    c = x0**2 + y0**2 - REACH**2
    part = (-b + sqrt(max(b**2 - 4 * a * c, 0))) / (2 * a)
    return x0 + part * (x1 - x0), y0 + part * (y1 - y0)


def site_ring(assessment: Assessment, *, size: int = 340, prefix: str = "ground") -> str:
    """Ground and hill by the sector the wind comes from, with the way the worst wall faces in the middle."""
    site = assessment.site
    return ground_ring(
        site.categories,
        site.hill_coefficients,
        size=size,
        facing=assessment.worst.wall.orientation,
        title=f"Ground and hills around {assessment.building.name}",
        prefix=prefix,
    )


def ground_words(assessment: Assessment) -> str:
    """What stands under :func:`site_ring`."""
    return ground_caption(assessment.site.categories, facing=True)
