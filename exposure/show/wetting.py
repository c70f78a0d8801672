"""Hours wet behind the cladding, week by week, for the ways to build the wall."""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.show.drawing import month_letters, picture, stroke, text
from exposure.show.lettering import clean, fit, text_width
from exposure.show.palette import RAIN, TROUGH

HOURS_A_WEEK = 168.0
ROW = 58


@dataclass(frozen=True)
class WettingRow:
    """One way to build the wall: hours wet in each of evenly spaced weeks, and its figures in words."""

    name: str
    hours: Sequence[float]  # [h in the week]
    words: str


def wetting(
    rows: Sequence[WettingRow],
    *,
    width: int = 400,
    title: str = "Hours wet behind the cladding, week by week",
    prefix: str = "wetting",
) -> str:
    """Draw one strip for each way to build, all to one scale: a full strip is a week wet throughout.

    Examples
    --------
    >>> "drained: 870 h" in wetting([WettingRow("drained", [20.0] * 52, "870 h")])
    True
    """
    parts = []
    for place, row in enumerate(rows):
        y = place * ROW
        room = width - text_width(row.words, size=13) - 12
        parts.append(text(0, y + 14, fit(row.name, width=room, size=13, bold=True), size=13, bold=True))
        parts.append(text(width, y + 14, fit(row.words, width=width * 0.6, size=13), anchor="end"))
        parts.append(f'<rect x="0" y="{y + 20}" width="{width}" height="24" fill="{TROUGH}"/>')
        cell = width / len(row.hours)
        bars = " ".join(
            f"M{(week + 0.5) * cell:.1f} {y + 44} v{-24 * min(hours / HOURS_A_WEEK, 1):.1f}"
            for week, hours in enumerate(row.hours)
            if hours > 0.5
        )
        if bars:
            parts.append(stroke(bars, colour=RAIN, width=round(cell * 0.72, 2)))
        parts.append(stroke(f"M0 {y + 44} H{width}"))
    y = len(rows) * ROW
    parts.append(month_letters(0, width, y + 4))
    desc = "; ".join(f"{clean(row.name, most=60)}: {clean(row.words, most=80)}" for row in rows) + "."
    return picture("".join(parts), width=width, height=y + 12, title=title, desc=desc, prefix=prefix)
