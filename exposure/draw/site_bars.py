"""Bars of every elevation over the class limits, and of every doubt about one.

Pure functions, data in and SVG text out; names and reasons are escaped. One unit is one CSS pixel or more as shown.
"""

from collections.abc import Sequence
from math import ceil, sqrt

from exposure.assess import Assessment
from exposure.draw.drawing import (
    band_stem,
    figure_text,
    filled,
    hatched,
    picture,
    rectangle,
    stroke,
    tally,
    tally_width,
    text,
)
from exposure.draw.lettering import fit, text_width
from exposure.draw.palette import INK, PAPER, RAIN, SOFT, TROUGH
from exposure.figures import band_words, litres
from exposure.tables import load_table
from exposure.wall import WallExposure


def _limits() -> list[tuple[str, float, float]]:
    return [(row["class"], row["from"], row["to"]) for row in load_table("exposure_class")["row"]]


def _axis(left: float, right: float, top: float, base: float, most: float) -> tuple[str, float]:
    """Class columns with their names and limits over a root scale; and units a root litre."""
    scale = (right - left) / sqrt(most)
    body, last_figure = "", -1e9
    free = [-1e9, -1e9]  # where each of two lines of names ends
    for number, (name, start, end) in enumerate(_limits()):
        if start >= most:
            break
        x0, x1 = left + scale * sqrt(start), left + scale * sqrt(min(end, most))
        body += filled(rectangle(x0, top, x1 - x0, base - top), TROUGH if number % 2 else PAPER)
        body += stroke(
            f"M{x0:.1f} {top - 34 + 20 * (number % 2 == 0):.1f} V{base:.1f}", colour=SOFT, width=0.75
        )
        level = 0 if x0 + 4 > free[0] else 1
        body += text(x0 + 4, top - 10 - 15 * level, name, size=12, colour=SOFT)
        free[level] = x0 + 12 + text_width(name, size=12)
        words = f"{start:g}"
        if x0 > last_figure:
            body += text(x0, base + 16, words, size=12, anchor="middle", colour=SOFT)
            last_figure = x0 + text_width(words, size=12) + 10
    for value in (200.0, 400.0, 800.0, 1600.0):
        x = left + scale * sqrt(value)
        if value < most and x > last_figure:
            body += stroke(f"M{x:.1f} {base:.1f} v4", colour=SOFT, width=0.75) + text(
                x, base + 16, f"{value:g}", size=12, anchor="middle", colour=SOFT
            )
    return body, scale


def _top_of(values: Sequence[float]) -> float:
    return max(120.0, 1.06 * max(values))


def elevation_bars(assessment: Assessment, *, width: float = 920, prefix: str = "bars") -> str:
    """Worst spell on every elevation, worst first, over the class limits, with band, shelter and ground by direction.

    The bar is the figure, the stem its 90 % band; the open circle is the wall with its neighbours gone, the
    leaning mark the figure with the ground of each wind's own direction. The scale is a root, so that the
    limits of the lower classes can be told apart.
    """
    elevations = assessment.elevations
    left, right, top, row = 176.0, width - 322.0, 52.0, 40.0
    base = top + row * len(elevations) + 6
    ends = [one.spell_band[1] if one.spell_band else one.wall_spell_index for one in elevations]
    most = _top_of([*ends, *(one.wall_spell_index_in_the_open for one in elevations)])
    body, scale = _axis(left, right, top, base, most)

    def across(value: float) -> float:
        return left + scale * sqrt(max(value, 0.0))

    said = []
    for number, one in enumerate(elevations):
        y = top + row * number + 8
        worst = number == 0 and len(elevations) > 1
        body += text(
            left - 10,
            y + 17,
            fit(one.wall.name, width=left - 20, size=14, bold=worst),
            size=14,
            bold=worst,
            anchor="end",
        )
        end = across(one.wall_spell_index)
        if end - left >= 1.5:
            body += hatched(rectangle(left, y, end - left, 24), one.exposure_class, outline=2 if worst else 1)
        if one.spell_band and across(one.spell_band[1]) - across(one.spell_band[0]) >= 8:
            a, b = across(one.spell_band[0]), across(one.spell_band[1])
            body += band_stem(
                f"M{a:.1f} {y + 12:.1f} H{b:.1f} M{a:.1f} {y + 7:.1f} v10 M{b:.1f} {y + 7:.1f} v10"
            )
        if one.wall_spell_index_in_the_open > 1.02 * one.wall_spell_index:
            x = across(one.wall_spell_index_in_the_open)
            body += f'<circle cx="{x:.1f}" cy="{y + 12:.1f}" r="5" fill="{PAPER}" stroke="{INK}" stroke-width="1.6"/>'
        if (
            one.sector_spell_index is not None
            and abs(one.sector_spell_index - one.wall_spell_index) > 0.02 * one.wall_spell_index
        ):
            x = across(one.sector_spell_index)
            body += stroke(
                f"M{x - 3:.1f} {y + 28:.1f} L{x + 3:.1f} {y - 4:.1f}", colour=PAPER, width=5
            ) + stroke(f"M{x - 3:.1f} {y + 28:.1f} L{x + 3:.1f} {y - 4:.1f}", colour=RAIN, width=2.4)
        body += figure_text(right + 12, y + 11, one.wall_spell_index, one.spell_band)
        body += tally(right + 12, y + 23, one.exposure_class) + text(
            right + 20 + tally_width(),
            y + 27,
            fit(one.in_words, width=310 - tally_width() - 12, size=12),
            size=12,
        )
        said.append(
            f"{one.wall.name} {litres(one.wall_spell_index)} ({band_words(one.spell_band) or 'no band'}), {one.in_words}"
        )
    body += stroke(f"M{left:.1f} {top:.1f} V{base:.1f}", width=1.25) + stroke(
        f"M{left:.1f} {base:.1f} H{right:.1f}", width=1.25
    )
    body += text(
        left, base + 34, "L/m² on the wall, worst spell in three years; root scale", size=12, colour=SOFT
    )
    y = base + 56
    body += band_stem(f"M14 {y - 4} h26 M14 {y - 9} v10 M40 {y - 9} v10") + text(
        48, y, "90 % band of the years"
    )
    body += f'<circle cx="232" cy="{y - 4}" r="5" fill="{PAPER}" stroke="{INK}" stroke-width="1.6"/>' + text(
        244, y, "neighbours gone"
    )
    body += stroke(f"M388 {y + 4} l6 -18", colour=RAIN, width=2.4) + text(
        404, y, "ground of each wind’s own direction"
    )
    worst_one = elevations[0]
    desc = f"Worst: {worst_one.wall.name}. " + "; ".join(said) + "."
    return picture(
        body,
        width=width,
        height=y + 14,
        title=f"Elevations of {assessment.building.name}, worst spell",
        desc=desc,
        prefix=prefix,
    )


DOUBT_WORDS = {
    "record": "another run of years",
    "threshold": "every trace of rain counted",
    "neighbours": "neighbours gone",
    "sectors": "ground by direction",
    "models": "other models",
    "place": "records around",
}


def doubt_bars(one: WallExposure, *, width: float = 820, prefix: str = "doubts") -> str:
    """How far each doubt could move one elevation's figure, over the class limits."""
    rows = [doubt for doubt in one.doubts if doubt.low is not None and doubt.high is not None]
    left, right, top, row = 214.0, width - 130.0, 52.0, 34.0
    base = top + row * max(len(rows), 1) + 6
    most = _top_of([one.wall_spell_index, *(doubt.high for doubt in rows if doubt.high is not None)])
    body, scale = _axis(left, right, top, base, most)
    x = left + scale * sqrt(one.wall_spell_index)
    body += stroke(f"M{x:.1f} {top - 4:.1f} V{base:.1f}", width=2.4)
    said = []
    for number, doubt in enumerate(rows):
        assert doubt.low is not None
        assert doubt.high is not None
        y = top + row * number + 20
        a, b = left + scale * sqrt(doubt.low), left + scale * sqrt(doubt.high)
        body += text(left - 10, y + 5, DOUBT_WORDS.get(doubt.name, doubt.name), size=14, anchor="end")
        body += stroke(f"M{a:.1f} {y} H{b:.1f}", colour=PAPER, width=11) + stroke(
            f"M{a:.1f} {y} H{b:.1f}", colour=RAIN, width=7
        )
        words = f"{litres(doubt.low)} to {litres(doubt.high)}"
        body += text(right + 12, y + 5, words, size=14)
        said.append(f"{DOUBT_WORDS.get(doubt.name, doubt.name)} {words}")
    if not rows:
        body += text(left + 8, top + 26, "no doubt here can be put into litres", colour=SOFT)
    body += stroke(f"M{left:.1f} {top:.1f} V{base:.1f}", width=1.25) + stroke(
        f"M{left:.1f} {base:.1f} H{right:.1f}", width=1.25
    )
    body += text(
        left,
        base + 34,
        f"upright line: {litres(one.wall_spell_index)} L/m², worst spell in three years; root scale",
        size=12,
        colour=SOFT,
    )
    desc = f"{one.wall.name} elevation {litres(one.wall_spell_index)} L/m2. " + "; ".join(said) + "."
    return picture(
        body,
        width=width,
        height=ceil(base + 48),
        title=f"Doubts about the {one.wall.name} elevation",
        desc=desc,
        prefix=prefix,
    )
