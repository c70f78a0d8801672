"""Hours wet behind the cladding, week by week, for the ways to build the wall."""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.draw.drawing import month_letters, picture, stroke, text
from exposure.draw.lettering import clean, fit, text_width
from exposure.draw.palette import RAIN, TROUGH

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
    y = 0.0
    for row in rows:
        words, head = clean(row.words, most=120), clean(row.name, most=120)
        together = text_width(head, size=13, bold=True) + text_width(words, size=13) + 16 <= width
        parts.append(text(0, y + 14, fit(head, width=width, size=13, bold=True), bold=True))
        if together:
            parts.append(text(width, y + 14, words, anchor="end"))
        else:
            y += 17
            parts.append(text(0, y + 14, fit(words, width=width, size=13)))
        parts.append(f'<rect x="0" y="{y + 20:g}" width="{width}" height="24" fill="{TROUGH}"/>')
        cell = width / len(row.hours)
        bars = " ".join(
            f"M{(week + 0.5) * cell:.1f} {y + 44:g} v{-24 * min(hours / HOURS_A_WEEK, 1):.1f}"
            for week, hours in enumerate(row.hours)
            if hours > 0.5
        )
        if bars:
            parts.append(stroke(bars, colour=RAIN, width=round(cell * 0.72, 2)))
        parts.append(stroke(f"M0 {y + 44:g} H{width}"))
        y += ROW
    parts.append(month_letters(0, width, y + 4))
    desc = "; ".join(f"{clean(row.name, most=60)}: {clean(row.words, most=80)}" for row in rows) + "."
    return picture("".join(parts), width=width, height=y + 12, title=title, desc=desc, prefix=prefix)
