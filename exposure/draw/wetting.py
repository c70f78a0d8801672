"""Hours wet behind the cladding, week by week, for the ways to build the wall."""

from collections.abc import Sequence

from exposure.detail.wetting_result import WettingResult, hours_words
from exposure.draw.drawing import month_letters, picture, stroke, text
from exposure.draw.lettering import clean, fit, text_width, wrap
from exposure.draw.palette import RAIN, TROUGH
from exposure.figures import NO_BREAK, whole

HOURS_A_WEEK = 168.0
ROW = 58


def run_words(hours: float) -> str:
    """The longest wet run, in hours up to two days, then in days.

    Examples
    --------
    >>> run_words(30).replace(NO_BREAK, " "), run_words(150).replace(NO_BREAK, " ")
    ('30 h', '6 days')
    """
    return f"{whole(hours)}{NO_BREAK}h" if hours < 48 else f"{whole(hours / 24)}{NO_BREAK}days"


def wetting(results: Sequence[WettingResult], *, width: int = 400, prefix: str = "wetting") -> str | None:
    """Draw a strip for each way to build one elevation with a membrane open to vapour, all to one scale.

    A full strip is a week wet throughout behind the membrane. None where there are no such ways.
    """
    shown = [one for one in results if one.way.membrane == "open"]
    if not shown:
        return None
    rows = [
        (f"{one.way.option[:1].upper()}{one.way.option[1:]}", _figures(one), one.by_week) for one in shown
    ]
    parts = []
    y = 0.0
    for name, figures, weeks in rows:
        words, head = clean(figures, most=120), clean(name, most=120)
        together = text_width(head, size=13, bold=True) + text_width(words, size=13) + 16 <= width
        *above, last = wrap(head, width=width, size=13, bold=True)
        for line in above:
            parts.append(text(0, y + 14, line, bold=True))
            y += 17
        parts.append(text(0, y + 14, last, bold=True))
        if together:
            parts.append(text(width, y + 14, words, anchor="end"))
        else:
            y += 17
            parts.append(text(0, y + 14, fit(words, width=width, size=13)))
        parts.append(f'<rect x="0" y="{y + 20:g}" width="{width}" height="24" fill="{TROUGH}"/>')
        cell = width / len(weeks)
        bars = " ".join(
            f"M{(week + 0.5) * cell:.1f} {y + 44:g} v{-24 * min(hours / HOURS_A_WEEK, 1):.1f}"
            for week, hours in enumerate(weeks.tolist())
            if hours > 0.5
        )
        if bars:
            parts.append(stroke(bars, colour=RAIN, width=round(cell * 0.72, 2)))
        parts.append(stroke(f"M0 {y + 44:g} H{width}"))
        y += ROW
    parts.append(month_letters(0, width, y + 4))
    desc = "; ".join(f"{clean(name, most=60)}: {clean(words, most=80)}" for name, words, _ in rows) + "."
    title = f"Hours wet behind the membrane, week by week, {shown[0].elevation}, membrane open to vapour"
    return picture("".join(parts), width=width, height=y + 12, title=title, desc=desc, prefix=prefix)


def _figures(one: WettingResult) -> str:
    longest = f", longest {run_words(one.longest_wet)}" if one.longest_wet else ""
    return f"{hours_words(one.hours_wet)} in a mean year{longest}"
