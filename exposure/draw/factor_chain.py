"""From airfield to wall: a stream whose height is the running figure, thinning or swelling at each factor.

Answers the designer's "why this figure": every factor stands over its step, its reason under it, and the printed
factors multiply back to the printed answer.
"""

from collections.abc import Sequence
from itertools import accumulate
from operator import mul
from typing import NamedTuple

from exposure.draw.drawing import figure_text, figures_sentence, path, picture, stroke, text
from exposure.draw.lettering import clean, fit, text_width, wrap
from exposure.draw.palette import HAIR, RAIN, SOFT, STREAM
from exposure.draw.printed_factors import factor_words, start_words
from exposure.draw.rose import YEAR_UNIT
from exposure.figures import Band, band_words, figures_words, litres
from exposure.wall import WallExposure

ANSWER_ROOM = 200  # at the right, for the answer and its band
SHALLOW = 60
MOST_LINES = 9  # of a reason; the longest the program writes takes eight at the desk
FACTOR_NAMES = {
    "terrain_roughness_coefficient": "ground",
    "topography_coefficient": "hill",
    "obstruction_factor": "neighbours",
    "wall_factor": "wall shape",
}
SPELL_NAME = "worst spell"
START_NAME = "open airfield"
START_NOTE = "10 m up, facing this way"


class _Along(NamedTuple):
    """An index along the factors, from the open airfield to the wall."""

    running: list[float]  # [L m-2]
    first: str  # the first of them in words
    typed: float  # as whoever checks it would type it
    band: Band | None  # of the last

    @classmethod
    def of(cls, start: float, values: Sequence[float], band: Band | None) -> "_Along":
        return cls(list(accumulate([start, *values], mul)), *start_words(start, values), band)


class _Chain(NamedTuple):
    """What both ways of drawing show."""

    end_name: str
    steps: list[tuple[str, str, str]]  # a factor's name, its figure in words, its reason
    year: _Along
    spell: _Along
    class_name: str


def factor_chain(
    one: WallExposure,
    *,
    width: int = 1180,
    deep: int = 104,
    notes: bool = True,
    narrow: bool = False,
    factors: Sequence[str] | None = None,
    prefix: str = "chain",
) -> str:
    """Draw an elevation's way from the airfield, a year as a stream, the worst spell along the same factors below.

    Parameters
    ----------
    deep
        Height of the stream where it is deepest.
    notes
        False to leave out the reasons, for small print.
    narrow
        True for an upright chain on a phone; ``width`` is then the phone's.
    factors
        The factors in words, where others are printed beside them; by default with as few digits as multiply back.
    """
    values = [factor.value for factor in one.factors]
    year = _Along.of(one.airfield_annual_index, values, one.annual_band)
    spell = _Along.of(one.airfield_spell_index, values, one.spell_band)
    factors = factors or factor_words(values, [(along.typed, along.running[0]) for along in (year, spell)])
    steps = [
        (FACTOR_NAMES.get(factor.name, factor.name), words, factor.reason)
        for factor, words in zip(one.factors, factors, strict=True)
    ]
    chain = _Chain(f"{one.wall.name} wall", steps, year, spell, one.exposure_class)
    body, height = _upright(chain, width) if narrow else _lying(chain, width, deep=deep, notes=notes)
    desc = (
        f"Open airfield {year.first}"
        + "".join(f", {clean(name, most=40)} times {words}" for name, words, _ in steps)
        + f", gives {figures_words(year.running[-1], year.band, YEAR_UNIT)} on the {clean(chain.end_name, most=60)}."
        + f" {SPELL_NAME}: {spell.first} becomes {figures_sentence(spell.running[-1], spell.band)}."
    )
    title = f"From airfield to wall, {one.wall.name}"
    return picture(body, width=width, height=height, title=title, desc=desc, prefix=prefix)


def _lying(chain: _Chain, width: int, *, deep: int, notes: bool) -> tuple[str, float]:
    running, band, steps = chain.year.running, chain.year.band, chain.steps
    shallow = deep < SHALLOW  # too thin for figures: they stand over it, and the factors over them
    head = 28 if shallow else 6
    base = deep + head + 30
    stream_end = width - ANSWER_ROOM
    cell = stream_end / (len(steps) + 1)
    scale = deep / max(*running, band[1] if band else 0, 1e-9)
    size, room = (14 if notes else 13), cell - 14
    under = [START_NOTE, *(reason for _, _, reason in steps)]
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

    parts.append(in_stream(8, running[0], chain.year.first, 22 if shallow else 24))
    long = text_width(START_NAME, size=size, bold=True) > room
    names = ["airfield" if long else START_NAME, *(name for name, _, _ in steps)]
    for place, name in enumerate(names):
        x = cell * place + 8
        parts.append(text(x, base + 20, fit(name, width=room, size=size, bold=True), size=size, bold=True))
        parts += [text(x, base + 38 + 18 * row, line, colour=SOFT) for row, line in enumerate(lines[place])]
    for place, (_, words, _) in enumerate(steps):
        x = cell * (place + 1)
        parts.append(
            stroke(f"M{x:.1f} {base + 6} V{base - deep - head - 6}", colour=SOFT, width=0.75, dashes="3 3")
        )
        parts.append(text(x + 7, base - deep - head, f"× {words}", size=17, bold=True))
        if place < len(steps) - 1:
            parts.append(in_stream(x + lead + 8, running[place + 1], litres(running[place + 1]), 17))
    x = stream_end + 26
    parts.append(text(x, base - 12, litres(running[-1]), size=34, bold=True))
    parts.append(
        text(x, base + 20, fit(chain.end_name, width=width - x, size=size, bold=True), size=size, bold=True)
    )
    if band:
        low, high = base - scale * band[0], base - scale * band[1]
        at = stream_end + 11
        stem = f"M{at:.1f} {low:.1f} V{high:.1f} M{at - 5:.1f} {low:.1f} h10 M{at - 5:.1f} {high:.1f} h10"
        if abs(low - high) >= 4:
            parts.append(stroke(stem, width=1.6))
    behind = band_words(band)
    together = f"({behind}) {YEAR_UNIT}" if behind else YEAR_UNIT
    if text_width(together, size=12) <= width - x:
        under, tail = [together], 38
    else:
        under, tail = [f"({behind})", YEAR_UNIT], 55
    parts += [text(x, base + 38 + 17 * row, line, size=12) for row, line in enumerate(under)]
    y = max(last, base + tail) + 27
    parts.append(stroke(f"M0 {y - 18:.1f} H{width}", colour=HAIR, width=0.75))
    parts.append(_spell_row(chain, cell, lead=lead, answer=x, y=y))
    return "".join(parts), y + 28


def _spell_row(chain: _Chain, cell: float, *, lead: float, answer: float, y: float) -> str:
    spell = chain.spell
    parts = [
        text(8, y, spell.first, size=14),
        text(8, y + 18, fit(SPELL_NAME, width=cell - 16, size=13), colour=SOFT),
    ]
    parts += [
        text(cell * (place + 1) + lead + 8, y, litres(value), size=14)
        for place, value in enumerate(spell.running[1:-1])
    ]
    parts.append(figure_text(answer, y, spell.running[-1], spell.band))
    class_name = fit(chain.class_name, width=ANSWER_ROOM - 28, size=13, bold=True)
    parts.append(text(answer, y + 18, class_name, bold=True))
    return "".join(parts)


def _upright(chain: _Chain, width: int) -> tuple[str, float]:
    running, spell = chain.year.running, chain.spell
    full = width - 76
    top = max(*running, 1e-9)
    rows = [
        (START_NAME, "", START_NOTE),
        *((name, f"× {words}  ", reason) for name, words, reason in chain.steps),
    ]
    parts = []
    y = 0.0
    for place, (name, head, note) in enumerate(rows):
        last = place == len(chain.steps)
        wide = max(full * running[place] / top, 1)
        parts.append(
            f'<rect x="0.5" y="{y + 22:g}" width="{wide:.1f}" height="12" fill="{STREAM}" stroke="{RAIN}"/>'
        )
        words = fit(head + clean(name), width=full, size=15, bold=True)
        parts.append(text(0, y + 16, words, size=15, bold=True))
        figure = chain.year.first if place == 0 else litres(running[place])
        parts.append(text(width - 2, y + 36, figure, size=24 if last else 18, bold=True, anchor="end"))
        lines = wrap(note, width=width - 4, size=13, most_lines=MOST_LINES) if note else []
        parts += [text(0, y + 50 + 16 * row, line, colour=SOFT) for row, line in enumerate(lines)]
        y += 46 + 16 * max(len(lines), 1)
    behind = band_words(chain.year.band)
    answer = f"{litres(running[-1])} {YEAR_UNIT}" + (f" ({behind})" if behind else "")
    parts.append(text(0, y + 16, fit(chain.end_name, width=width, size=15, bold=True), size=15, bold=True))
    parts.append(text(0, y + 36, answer, size=14))
    parts.append(text(0, y + 58, f"{SPELL_NAME}: {spell.first} becomes", size=14))
    parts.append(figure_text(0, y + 79, spell.running[-1], spell.band, size=14))
    parts.append(text(width - 2, y + 79, chain.class_name, size=14, bold=True, anchor="end"))
    return "".join(parts), y + 87
