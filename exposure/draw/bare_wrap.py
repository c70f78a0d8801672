"""How much rain the bare membrane takes, by the week in which it goes up."""

from collections.abc import Sequence
from math import isfinite

from exposure.detail.bare_wrap import BareWrap, high_words
from exposure.draw.drawing import band_stem, month_letters, path, picture, stroke, text
from exposure.draw.lettering import text_width
from exposure.draw.palette import HAIR, INK, PAPER, RAIN, SOFT
from exposure.draw.rose import round_step
from exposure.figures import litres

DRY_WASH = "#EDF1EC"


def bare_wrap(one: BareWrap, *, width: int = 400, prefix: str = "bare") -> str:
    """Draw one elevation's expected rain and the high figure by starting week, the chosen start marked."""
    expected, tenth, driest, chosen = one.expected.tolist(), one.tenth.tolist(), one.driest, one.start
    left, base, tall = 34, 136, 110
    count = len(expected)
    top = max([value for value in (*tenth, *expected) if isfinite(value)], default=1.0) * 1.06 or 1.0

    def across(week: float) -> float:
        return left + (width - left) * week / count

    def up(value: float) -> float:
        return base - tall * value / top

    parts = []
    step = round_step(top, most_rings=6)
    value = step
    while value < top:
        parts.append(stroke(f"M{left} {up(value):.1f} H{width}", colour=HAIR, width=0.75))
        parts.append(text(left - 5, up(value) + 4, f"{value:g}", size=12, anchor="end", colour=SOFT))
        value += step
    runs = [
        part
        for first, last in driest
        for part in ([(first, last)] if first <= last else [(first, count - 1), (0, last)])
    ]
    marks = []
    for first, last in runs:
        start, end = across(first), across(last + 1)
        parts.insert(
            0,
            f'<rect x="{start:.1f}" y="24" width="{end - start:.1f}" height="{base - 24}" fill="{DRY_WASH}"/>',
        )
        marks.append(stroke(f"M{start:.1f} 30 v-6 H{end:.1f} v6", width=1.6))
    parts += marks
    for values, colour, wide, dashes in ((tenth, INK, 1.5, "5 3"), (expected, RAIN, 2.5, "")):
        runs_known = " ".join(
            path([(across(week + 0.5), up(values[week])) for week in run]) for run in _known(values)
        )
        if runs_known:
            parts.append(stroke(runs_known, colour=colour, width=wide, dashes=dashes))
    parts.append(stroke(f"M{left} {base} H{width}", width=1.25))
    parts.append(month_letters(left, width, base + 16))
    first, last = max(runs, key=lambda run: run[1] - run[0])
    labels = [(across((first + last + 1) / 2), "driest")]
    x = across(chosen + 0.5)
    parts.append(band_stem(f"M{x:.1f} {base} V20"))
    known = isfinite(expected[chosen])
    if known:
        parts.append(
            f'<circle cx="{x:.1f}" cy="{up(expected[chosen]):.1f}" r="4" fill="{RAIN}" stroke="{PAPER}" stroke-width="1.5"/>'
        )
    labels.append((x, "your start"))
    parts.append(_labels(labels, left, width))
    weeks = ", ".join(f"{first + 1} to {last + 1}" for first, last in driest)
    desc = f"Driest starts in weeks {weeks}. Started in week {chosen + 1}: "
    desc += (
        f"expect {litres(expected[chosen])} L/m² in {one.weeks} weeks, {litres(tenth[chosen])} {high_words(one.years)}."
        if known
        else "not known."
    )
    title = f"Rain on the bare membrane of the {one.elevation}, by week of wrapping"
    return picture("".join(parts), width=width, height=base + 24, title=title, desc=desc, prefix=prefix)


def bare_wrap_caption(one: BareWrap) -> str:
    """What the lines of the bare-wrap picture are."""
    weeks = "week" if one.weeks == 1 else "weeks"
    if one.years == 1:
        return f"L/m² in the {one.weeks} {weeks} from the week shown, in the one year of this record."
    return f"L/m² in the {one.weeks} {weeks} from the week shown. Line: in a mean year. Dashes: {high_words(one.years)}."


def _known(values: Sequence[float]) -> list[list[int]]:
    """Weeks in a row of which the figure is known; a line is drawn through each run and not over the gaps."""
    runs: list[list[int]] = [[]]
    for week, value in enumerate(values):
        if isfinite(value):
            runs[-1].append(week)
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]


def _labels(labels: Sequence[tuple[float, str]], left: float, right: float) -> str:
    """Words over the marks, kept inside the picture and apart from one another."""
    ordered = sorted(labels)
    halves = [text_width(words, size=13, bold=True) / 2 for _, words in ordered]
    middles = []
    edge = left
    for (x, _), half in zip(ordered, halves, strict=True):
        middles.append(min(max(x, edge + half), right - half))
        edge = middles[-1] + half + 8
    for place in range(len(ordered) - 2, -1, -1):  # back what the right edge pushed together
        furthest = middles[place + 1] - halves[place + 1] - 8 - halves[place]
        middles[place] = min(middles[place], furthest)
    return "".join(
        text(middle, 14, words, size=13, bold=True, anchor="middle")
        for middle, (_, words) in zip(middles, ordered, strict=True)
    )
