"""How do these places compare: ranked bars of one wall put on every site, over labelled class columns, and the sentence.

Answers the planner's question. Bands that meet are said to meet; a place is never a bare "second".
"""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.show.drawing import (
    band_stem,
    box_corners,
    figures_sentence,
    filled,
    hatched,
    picture,
    rectangle,
    stroke,
    tally,
    tally_width,
    text,
)
from exposure.show.lettering import clean, fit, text_width
from exposure.show.numbers import Band, could_be_words
from exposure.show.palette import HAIR, PAPER, SOFT
from exposure.tables import load_table

ROW = 45
HEAD = 46


@dataclass(frozen=True)
class PlaceRow:
    """One place: the wall spell index of its worst-facing wall."""

    name: str
    value: float  # [L m-2]
    band: Band | None
    class_name: str
    could_be: str | None = None


def class_limits() -> list[tuple[float, str]]:
    """Lower limit and name of each class, mildest first, from the class table. [L m-2]"""
    return [(row["from"], row["class"]) for row in load_table("exposure_class")["row"]]


def bands_meet(one: Band | None, other: Band | None) -> bool:
    """Whether two bands overlap; an unknown band meets every other.

    Examples
    --------
    >>> bands_meet((58, 84), (47, 69)), bands_meet((99, 141), (58, 84))
    (True, False)
    """
    if one is None or other is None:
        return True
    return one[0] <= other[1] and other[0] <= one[1]


def ranked(rows: Sequence[PlaceRow]) -> list[PlaceRow]:
    """The places, hardest hit first."""
    return sorted(rows, key=lambda row: -row.value)


def comparison_bars(
    rows: Sequence[PlaceRow],
    *,
    home: str | None = None,
    width: int = 760,
    title: str = "Wall index of the worst-facing wall, worst spell in three years",
    prefix: str = "compare",
) -> str:
    """Draw the bars, hardest hit first, 90 % band as stem.

    Examples
    --------
    >>> svg = comparison_bars([PlaceRow("Saltmar", 28, (23, 35), "sheltered")])
    >>> "1. Saltmar 28 (23 to 35), sheltered" in svg
    True
    """
    order = ranked(rows)
    limits = class_limits()
    furthest = max(row.band[1] if row.band else row.value for row in order)
    top = max(furthest * 1.02, limits[-1][0] * 1.3)
    left = 150
    right_room = 16 + max(
        text_width(figures_sentence(row.value, row.band), size=13, bold=True) for row in order
    )
    scale = (width - left - right_room) / top

    def across(value: float) -> float:
        return left + scale * value

    foot = HEAD + ROW * len(order)
    parts = []
    ends = [*(limit for limit, _ in limits[1:]), top]
    for (limit, name), end in zip(limits, ends, strict=True):
        x, middle = across(limit), (across(limit) + across(end)) / 2
        parts.append(stroke(f"M{x:.1f} {HEAD - 8} V{foot}", colour=HAIR))
        parts.append(text(middle, 14, name, anchor="middle"))
        parts.append(tally(middle - tally_width() / 2, 27, name))
        if limit:
            parts.append(text(x, foot + 16, f"{limit:g}", size=12, anchor="middle", colour=SOFT))
    for place, row in enumerate(order):
        y = HEAD + place * ROW + 10
        heavy = row.name == home
        name = f"{place + 1}  {clean(row.name)}" if len(order) > 1 else clean(row.name)
        parts.append(text(0, y + 17, fit(name, width=left - 12, size=15, bold=heavy), size=15, bold=heavy))
        parts.append(
            hatched(
                rectangle(left, y, max(scale * row.value, 1), 24), row.class_name, outline=2.5 if heavy else 1
            )
        )
        tip = across(row.value)
        if row.band:
            low, tip = across(row.band[0]), max(across(row.band[1]), tip)
            if tip - low >= 8:
                parts.append(
                    band_stem(f"M{low:.1f} {y + 12} H{tip:.1f} M{low:.1f} {y + 6} v12 M{tip:.1f} {y + 6} v12")
                )
        words = figures_sentence(row.value, row.band)
        wide = text_width(words, size=13, bold=heavy)
        parts.append(filled(box_corners((tip + 4, y + 3, tip + 12 + wide, y + 21)), PAPER))
        parts.append(text(tip + 8, y + 17, words, bold=heavy))
    parts.append(text(width - 4, foot + 16, "L/m² in the worst spell", size=12, anchor="end", colour=SOFT))
    desc = "; ".join(
        f"{place + 1}. {clean(row.name, most=40)} {figures_sentence(row.value, row.band)}, "
        f"{could_be_words(row.class_name, row.could_be)}"
        for place, row in enumerate(order)
    )
    return picture("".join(parts), width=width, height=foot + 24, title=title, desc=f"{desc}.", prefix=prefix)


def comparison_sentence(rows: Sequence[PlaceRow]) -> str:
    """Who is hardest hit and which neighbours in the order may change places.

    Examples
    --------
    >>> comparison_sentence([PlaceRow("A", 118, (99, 141), "very severe"), PlaceRow("B", 70, (58, 84), "severe"),
    ...                      PlaceRow("C", 57, (47, 69), "severe")])
    'A is hardest hit, 2.1 times C. B and C lie close: they may change places.'
    """
    order = ranked(rows)
    if len(order) < 2:
        return ""
    first, last = order[0], order[-1]
    words = f"{clean(first.name, most=60)} is hardest hit"
    if last.value >= 1:
        times = first.value / last.value
        words += f", {times:.{0 if times >= 9.95 else 1}f} times {clean(last.name, most=60)}"
    words += "."
    runs: list[list[PlaceRow]] = [[order[0]]]
    for row in order[1:]:
        if bands_meet(runs[-1][-1].band, row.band):
            runs[-1].append(row)
        else:
            runs.append([row])
    for run in runs:
        if len(run) == 2:
            words += f" {clean(run[0].name, most=60)} and {clean(run[1].name, most=60)} lie close: they may change places."
        elif len(run) > 2:
            first_place = order.index(run[0]) + 1
            words += (
                f" Places {first_place} to {first_place + len(run) - 1} lie close: "
                "neighbours in that order may change places."
            )
    return words


def answer_words(rows: Sequence[PlaceRow], home: str) -> str:
    """The place of ``home`` in the order, with the places its band meets; never a bare rank.

    Examples
    --------
    >>> rows = [PlaceRow("A", 70, (58, 84), "severe"), PlaceRow("B", 57, (47, 69), "severe")]
    >>> answer_words(rows, "B")
    'Second of two; A could be milder.'
    """
    order = ranked(rows)
    place = next(number for number, row in enumerate(order) if row.name == home)
    mine = order[place]
    names = ("first", "second", "third", "fourth", "fifth", "sixth")
    counts = ("one", "two", "three", "four", "five", "six")
    rank = names[place] if place < len(names) else f"number {place + 1}"
    count = counts[len(order) - 1] if len(order) <= len(counts) else str(len(order))
    if len(order) == 1:
        return "No other place to compare."
    words = f"{rank.capitalize()} of {count}"
    above = [row.name for row in order[:place] if bands_meet(row.band, mine.band)]
    below = [row.name for row in order[place + 1 :] if bands_meet(row.band, mine.band)]
    tails = []
    if above:
        tails.append(f"{_listed(above)} could be milder")
    if below:
        tails.append(f"{_listed(below)} could be harder hit")
    return f"{words}; {', '.join(tails)}." if tails else f"{words}."


def _listed(names: Sequence[str]) -> str:
    short = [clean(name, most=40) for name in names]
    if len(short) > 3:
        return f"{len(short)} others"
    return short[0] if len(short) == 1 else f"{', '.join(short[:-1])} and {short[-1]}"


__all__ = ["PlaceRow", "answer_words", "bands_meet", "comparison_bars", "comparison_sentence", "ranked"]
