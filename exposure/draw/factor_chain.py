"""From airfield to wall: a stream whose height is the running figure, thinning or swelling at each factor.

Answers the designer's "why this figure": every factor stands over its step, its reason under it, and the printed
factors multiply back to the printed answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from operator import mul

from exposure.draw.drawing import figure_text, figures_sentence, path, picture, stroke, text
from exposure.draw.lettering import clean, fit, text_width, wrap
from exposure.draw.palette import HAIR, RAIN, SOFT, STREAM
from exposure.draw.printed_factors import factor_words, start_words
from exposure.figures import Band, band_words, figures_words, litres

ANSWER_ROOM = 200  # at the right, for the answer and its band
MOST_LINES = 9  # of a reason; the longest the program writes takes eight at the desk
START_NAME = "open airfield"
START_NOTE = "10 m up, facing this way"


@dataclass(frozen=True)
class ChainStep:
    """One factor, with its reason in the trade's words."""

    name: str
    factor: float
    note: str = ""


@dataclass(frozen=True)
class SecondRow:
    """The other index along the same factors: a plain row of figures under the stream."""

    name: str
    start: float
    band: Band | None = None
    words: str = ""  # e.g. the class, which belongs to the spell


def factor_chain(
    start: float,
    steps: Sequence[ChainStep],
    *,
    end_name: str,
    band: Band | None = None,
    unit: str = "L/m² a year",
    second: SecondRow | None = None,
    width: int = 1180,
    deep: int = 104,
    notes: bool = True,
    narrow: bool = False,
    title: str = "From airfield to wall",
    prefix: str = "chain",
) -> str:
    """Draw the chain.

    Parameters
    ----------
    start
        The airfield figure. [L m-2]
    steps
        The factors in order.
    end_name
        What the answer belongs to, e.g. ``south-west wall``.
    band
        Of the answer.
    second
        The other index, e.g. the worst spell, along the same factors.
    deep
        Height of the stream where it is deepest.
    notes
        False to leave out the reasons, for small print.
    narrow
        True for an upright chain on a phone; ``width`` is then the phone's.

    Examples
    --------
    >>> svg = factor_chain(412, [ChainStep("ground", 0.8326), ChainStep("wall shape", 0.4)], end_name="wall")
    >>> "× 0.833" in svg, ">137<" in svg  # 412 x 0.83 would be 342 where 343 is printed
    (True, True)
    """
    values = [step.factor for step in steps]
    running = list(accumulate([start, *values], mul))
    first_words, typed = start_words(start, values)
    starts = [(typed, start)]
    if second:
        second_words, second_typed = start_words(second.start, values)
        second_answer = list(accumulate([second.start, *values], mul))[-1]
        starts.append((second_typed, second.start))
    factors = factor_words(values, starts)
    desc = (
        f"Open airfield {first_words}"
        + "".join(
            f", {clean(step.name, most=40)} times {words}" for step, words in zip(steps, factors, strict=True)
        )
        + f", gives {figures_words(running[-1], band, unit)} on the {clean(end_name, most=60)}."
    )
    if second:
        desc += f" {clean(second.name, most=40)}: {second_words} becomes {figures_sentence(second_answer, second.band)}."
    if narrow:
        body, height = _upright(running, steps, factors, first_words, end_name, band, unit, second, width)
    else:
        body, height = _lying(
            running, steps, factors, first_words, end_name, band, unit, second, width, deep, notes
        )
    return picture(body, width=width, height=height, title=title, desc=desc, prefix=prefix)


def _lying(
    running: Sequence[float],
    steps: Sequence[ChainStep],
    factors: Sequence[str],
    first_words: str,
    end_name: str,
    band: Band | None,
    unit: str,
    second: SecondRow | None,
    width: int,
    deep: int,
    notes: bool,
) -> tuple[str, float]:
    base = deep + 36
    stream_end = width - ANSWER_ROOM
    cell = stream_end / (len(steps) + 1)
    scale = deep / max(*running, band[1] if band else 0, 1e-9)
    size, room = (14 if notes else 13), cell - 16
    under = [START_NOTE, *(step.note for step in steps)]
    lines = [
        wrap(note, width=room, size=13, most_lines=MOST_LINES) if notes and note else [] for note in under
    ]
    last = base + 20 + 18 * max(map(len, lines), default=0)

    lead = min(22.0, cell / 4)
    upper = [(0.0, base - scale * running[0])]
    for place in range(len(steps)):
        x = cell * (place + 1)
        upper += [(x - lead, base - scale * running[place]), (x + lead, base - scale * running[place + 1])]
    upper.append((stream_end, base - scale * running[-1]))
    parts = [
        f'<path d="{path([(0, base), *upper, (stream_end, base)], close=True)}" fill="{STREAM}"/>',
        stroke(path(upper), colour=RAIN, width=2),
        stroke(path([(0, base), (stream_end, base)]), width=1.25),
    ]

    def in_stream(x: float, value: float, words: str, figure_size: float) -> str:
        """Inside the stream, or just over it where it is too thin to hold the figure."""
        high = scale * value
        y = base - 12 if high >= figure_size + 8 else base - high - 7
        return text(x, y, words, size=figure_size, bold=figure_size > 20)

    parts.append(in_stream(8, running[0], first_words, 24 if deep >= 60 else 22))
    long = text_width(START_NAME, size=size, bold=True) > room
    names = ["airfield" if long else START_NAME, *(step.name for step in steps)]
    for place, name in enumerate(names):
        x = cell * place + 8
        parts.append(text(x, base + 20, fit(name, width=room, size=size, bold=True), size=size, bold=True))
        parts += [text(x, base + 38 + 18 * row, line, colour=SOFT) for row, line in enumerate(lines[place])]
    for place, words in enumerate(factors):
        x = cell * (place + 1)
        parts.append(
            stroke(f"M{x:.1f} {base + 6} V{base - deep - 12}", colour=SOFT, width=0.75, dashes="3 3")
        )
        parts.append(text(x + 7, base - deep - 6, f"× {words}", size=17, bold=True))
        if place < len(factors) - 1:
            parts.append(in_stream(x + lead + 8, running[place + 1], litres(running[place + 1]), 17))
    x = stream_end + 26
    parts.append(text(x, base - 12, litres(running[-1]), size=34, bold=True))
    parts.append(
        text(x, base + 20, fit(end_name, width=width - x, size=size, bold=True), size=size, bold=True)
    )
    if band:
        low, high = base - scale * band[0], base - scale * band[1]
        at = stream_end + 11
        stem = f"M{at:.1f} {low:.1f} V{high:.1f} M{at - 5:.1f} {low:.1f} h10 M{at - 5:.1f} {high:.1f} h10"
        if abs(low - high) >= 4:
            parts.append(stroke(stem, width=1.6))
    behind = band_words(band)
    together = f"({behind}) {unit}" if behind else unit
    if text_width(together, size=12) <= width - x:
        under, tail = [together], 38
    else:
        under, tail = [f"({behind})", unit], 55
    parts += [text(x, base + 38 + 17 * row, line, size=12) for row, line in enumerate(under)]
    height = max(last, base + tail)
    if second:
        y = height + 27
        parts.append(stroke(f"M0 {y - 18:.1f} H{width}", colour=HAIR, width=0.75))
        parts.append(_second_row(second, [step.factor for step in steps], cell, lead, x, y))
        height = y + 18
    return "".join(parts), height + 10


def _second_row(
    second: SecondRow, values: Sequence[float], cell: float, lead: float, answer: float, y: float
) -> str:
    words, _ = start_words(second.start, values)
    figures = list(accumulate([second.start, *values], mul))
    name = fit(second.name, width=cell - 16, size=13)
    parts = [text(8, y, words, size=14), text(8, y + 18, name, colour=SOFT)]
    parts += [
        text(cell * (place + 1) + lead + 8, y, litres(value), size=14)
        for place, value in enumerate(figures[1:-1])
    ]
    parts.append(figure_text(answer, y, figures[-1], second.band))
    if second.words:
        parts.append(
            text(answer, y + 18, fit(second.words, width=ANSWER_ROOM - 28, size=13, bold=True), bold=True)
        )
    return "".join(parts)


def _upright(
    running: Sequence[float],
    steps: Sequence[ChainStep],
    factors: Sequence[str],
    first_words: str,
    end_name: str,
    band: Band | None,
    unit: str,
    second: SecondRow | None,
    width: int,
) -> tuple[str, float]:
    full = width - 76
    top = max(*running, 1e-9)
    names = [(START_NAME, START_NOTE), *((step.name, step.note) for step in steps)]
    heads = ["", *(f"× {words}  " for words in factors)]
    parts = []
    y = 0.0
    for place, ((name, note), head) in enumerate(zip(names, heads, strict=True)):
        last = place == len(steps)
        wide = max(full * running[place] / top, 1)
        parts.append(
            f'<rect x="0.5" y="{y + 22:g}" width="{wide:.1f}" height="12" fill="{STREAM}" stroke="{RAIN}"/>'
        )
        words = fit(head + clean(name), width=full, size=15, bold=True)
        parts.append(text(0, y + 16, words, size=15, bold=True))
        figure = first_words if place == 0 else litres(running[place])
        parts.append(text(width - 2, y + 36, figure, size=24 if last else 18, bold=True, anchor="end"))
        lines = wrap(note, width=width - 4, size=13, most_lines=MOST_LINES) if note else []
        parts += [text(0, y + 50 + 16 * row, line, colour=SOFT) for row, line in enumerate(lines)]
        y += 46 + 16 * max(len(lines), 1)
    behind = band_words(band)
    answer = f"{litres(running[-1])} {unit}" + (f" ({behind})" if behind else "")
    parts.append(text(0, y + 16, fit(end_name, width=width, size=15, bold=True), size=15, bold=True))
    parts.append(text(0, y + 36, answer, size=14))
    height = y + 44
    if second:
        words, _ = start_words(second.start, [step.factor for step in steps])
        figures = list(accumulate([second.start, *(step.factor for step in steps)], mul))
        becomes = f": {words} becomes"
        name = fit(second.name, width=width - text_width(becomes, size=14), size=14)
        parts.append(text(0, y + 58, name + becomes, size=14))
        parts.append(figure_text(0, y + 79, figures[-1], second.band, size=14))
        if second.words:
            parts.append(text(width - 2, y + 79, second.words, size=14, bold=True, anchor="end"))
        height = y + 87
    return "".join(parts), height
