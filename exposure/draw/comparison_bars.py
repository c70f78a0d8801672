"""How do these places compare: ranked bars of one wall put on every site, over labelled class columns.

Answers the planner's question.
"""

from collections.abc import Sequence
from typing import NamedTuple

from exposure.assess.ranking import RankedSite
from exposure.draw.building_plan import SPELL_UNIT
from exposure.draw.drawing import (
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
from exposure.draw.lettering import clean, fit, text_width
from exposure.draw.palette import HAIR, PAPER, SOFT
from exposure.wall.classes import class_limits

ROW = 45
HEAD = 52
GAP = 10  # between two labels beside each other
LEFT = 200  # least room for the names
MOST_LEFT = 0.55  # share of names and bars that names may take before they are cut; our choice
NARROW = 300  # width of the picture for a phone, whose words stay 12 px and more on a screen of 320
NARROW_TEXT = 14
NARROW_ROW = 76
CLOSE_KEY = "in brackets: ranks it may have"


def push_apart(
    middles: Sequence[float], widths: Sequence[float], *, low: float, high: float, gap: float = GAP
) -> list[float]:
    """Middles of labels in a row, moved as little as it takes for none to touch the next, between ``low`` and ``high``.

    When all do not fit, they stand shoulder to shoulder from ``low``.

    Examples
    --------
    >>> push_apart([10, 12], [20, 20], low=0, high=100, gap=4)
    [10.0, 34.0]
    >>> push_apart([90, 95], [20, 20], low=0, high=100, gap=4)
    [66.0, 90.0]
    """
    found: list[float] = []
    edge = low - gap
    for middle, width in zip(middles, widths, strict=True):
        at = max(float(middle), edge + gap + width / 2)
        found.append(at)
        edge = at + width / 2
    edge = high + gap
    for place in range(len(found) - 1, -1, -1):
        found[place] = min(found[place], edge - gap - widths[place] / 2)
        edge = found[place] - widths[place] / 2
    if found and found[0] - widths[0] / 2 < low - 1e-9:
        edge = low - gap
        for place, width in enumerate(widths):
            found[place] = edge + gap + width / 2
            edge = found[place] + width / 2
    return found


class _Frame(NamedTuple):
    """Where the bars stand, on paper."""

    left: float  # where they begin
    scale: float  # of a figure
    top: float  # the figure at the right end
    low: float  # how far left and right a label may reach
    high: float
    head: float
    foot: float


def _top_of(ranked: Sequence[RankedSite]) -> float:
    furthest = max(max(one.site.value, one.site.band[1] if one.site.band else 0.0) for one in ranked)
    return max(furthest * 1.02, class_limits()[-1][0] * 1.3)


def _columns(frame: _Frame, *, size: float, words: bool) -> str:
    """Class columns: a line at each limit with its figure below, tally (and word) of each class above."""
    left, scale, top, low, high, head, foot = frame
    limits = class_limits()
    ends = [*(limit for limit, _ in limits[1:]), top]
    lines = [left + scale * limit for limit, _ in limits]
    middles = [left + scale * (limit + end) / 2 for (limit, _), end in zip(limits, ends, strict=True)]
    wide = [
        max(tally_width(), text_width(name, size=size) if words else 0.0) for _, name in limits
    ]  # fmt: skip
    parts = [stroke(f"M{x:.1f} {head - 8:.1f} V{foot:.1f}", colour=HAIR) for x in lines]
    placed = push_apart(middles, wide, low=low, high=high)
    for (_, name), at, middle in zip(limits, placed, middles, strict=True):
        if words:
            parts.append(text(at, 14, name, size=size, anchor="middle"))
        parts.append(tally(at - tally_width() / 2, 27 if words else 10, name))
        if abs(at - middle) > 3:
            start = (37 if words else 20) + 1
            parts.append(stroke(f"M{at:.1f} {start} L{middle:.1f} {head - 8:.1f}", colour=SOFT, width=0.75))
    figures = [f"{limit:g}" for limit, _ in limits[1:]]
    numbers = push_apart(
        lines[1:], [text_width(figure, size=size) for figure in figures], low=left, high=high, gap=8
    )
    for figure, at, x in zip(figures, numbers, lines[1:], strict=True):
        parts.append(text(at, foot + 20, figure, size=size, anchor="middle", colour=SOFT))
        if abs(at - x) > 3:
            parts.append(stroke(f"M{x:.1f} {foot:.1f} L{at:.1f} {foot + 8:.1f}", colour=SOFT, width=0.75))
    return "".join(parts)


def _figures(one: RankedSite) -> str:
    return figures_sentence(one.site.value, one.site.band)


def _desc(ranked: Sequence[RankedSite]) -> str:
    return "; ".join(
        f"{place}. {clean(one.name, most=40)} {_figures(one)}, {one.site.worst.in_words}"
        for place, one in enumerate(ranked, start=1)
    )


def _stem(one: RankedSite, frame: _Frame, *, middle: float, half: float) -> tuple[str, float]:
    """The band's stem and how far it reaches."""
    left, scale, band = frame.left, frame.scale, one.site.band
    tip = left + scale * one.site.value
    if band is None:
        return "", tip
    low, tip = left + scale * band[0], max(left + scale * band[1], tip)
    if tip - low < 8:
        return "", tip
    cap = f"{middle - half:.1f} v{2 * half:g}"
    return band_stem(f"M{low:.1f} {middle:.1f} H{tip:.1f} M{low:.1f} {cap} M{tip:.1f} {cap}"), tip


def _title(ranked: Sequence[RankedSite]) -> str:
    """What the bars are, as far as each record carries it."""
    spells = dict.fromkeys(one.site.worst.spell_label for one in ranked)
    return f"Wall index of the worst-facing wall, {' or '.join(spells)}"


def _bar(one: RankedSite, frame: _Frame, *, y: float, tall: float, heavy: bool) -> str:
    corners = rectangle(frame.left, y, max(frame.scale * one.site.value, 1), tall)
    return hatched(corners, one.site.worst.exposure_class, outline=2.5 if heavy else 1)


def comparison_bars(
    ranked: Sequence[RankedSite], *, home: str | None = None, width: int = 760, prefix: str = "compare"
) -> str:
    """Draw the bars in the order given, the hardest hit first, 90 % band as stem; ``home`` is drawn heavier."""
    top = _top_of(ranked)
    right_room = 16 + max(text_width(_figures(one), size=13, bold=True) for one in ranked)
    ranks = [one.rank_in_words for one in ranked] if len(ranked) > 1 else [""]
    room = max((text_width(rank, size=13, bold=True) + 10 for rank in ranks if rank), default=0)
    longest = max(text_width(clean(one.name), size=15, bold=one.name == home) for one in ranked)
    left = min(max(LEFT, room + longest + 13), max(LEFT, MOST_LEFT * (width - right_room)))
    foot = HEAD + ROW * len(ranked)
    frame = _Frame(left, (width - left - right_room) / top, top, left - 40, width, HEAD, foot)
    parts = [_columns(frame, size=13, words=True)]
    for place, (one, rank) in enumerate(zip(ranked, ranks, strict=True)):
        y = HEAD + place * ROW + 10
        heavy = one.name == home
        if rank:
            parts.append(text(0, y + 17, rank, bold=heavy))
        name = fit(one.name, width=left - 12 - room, size=15, bold=heavy)
        parts.append(text(room, y + 17, name, size=15, bold=heavy))
        parts.append(_bar(one, frame, y=y, tall=24, heavy=heavy))
        stem, tip = _stem(one, frame, middle=y + 12, half=6)
        words = _figures(one)
        wide = text_width(words, size=13, bold=heavy)
        parts += [stem, filled(box_corners((tip + 4, y + 3, tip + 12 + wide, y + 21)), PAPER)]
        parts.append(text(tip + 8, y + 17, words, bold=heavy))
    if any("(" in rank for rank in ranks):
        parts.append(text(0, foot + 38, CLOSE_KEY, size=12, colour=SOFT))
    parts.append(text(width - 4, foot + 38, SPELL_UNIT, size=12, anchor="end", colour=SOFT))
    return _picture(parts, ranked, width=width, height=foot + 46, prefix=prefix)


def narrow_bars(
    ranked: Sequence[RankedSite], *, home: str | None = None, prefix: str = "compare-narrow"
) -> str:
    """The same bars for a phone: name and figures above each bar, words that stay readable on 320 px."""
    top = _top_of(ranked)
    left, right, head = 1.0, NARROW - 6.0, 44
    foot = head + NARROW_ROW * len(ranked)
    frame = _Frame(left, (right - left) / top, top, 0, NARROW, head, foot)
    ranks = [one.rank_in_words for one in ranked] if len(ranked) > 1 else [""]
    parts = [_columns(frame, size=NARROW_TEXT, words=False)]
    for place, (one, rank) in enumerate(zip(ranked, ranks, strict=True)):
        y = head + place * NARROW_ROW
        room = text_width(rank, size=NARROW_TEXT, bold=True) + 8 if rank else 0
        name = fit(one.name, width=NARROW - room - 4, size=NARROW_TEXT + 1, bold=True)
        words = f"{_figures(one)}, {one.site.worst.exposure_class}"
        wide = max(
            room + text_width(name, size=NARROW_TEXT + 1, bold=True), text_width(words, size=NARROW_TEXT)
        )
        parts.append(filled(rectangle(0, y, min(wide + 4, NARROW), 40), PAPER))
        if rank:
            parts.append(text(0, y + 15, rank, size=NARROW_TEXT, bold=True))
        parts.append(text(room, y + 15, name, size=NARROW_TEXT + 1, bold=True))
        parts.append(text(0, y + 34, fit(words, width=NARROW, size=NARROW_TEXT), size=NARROW_TEXT))
        parts.append(_bar(one, frame, y=y + 42, tall=20, heavy=one.name == home))
        parts.append(_stem(one, frame, middle=y + 52, half=5)[0])
    if any("(" in rank for rank in ranks):
        parts.append(text(0, foot + 58, CLOSE_KEY, size=NARROW_TEXT, colour=SOFT))
    parts.append(text(NARROW, foot + 40, SPELL_UNIT, size=NARROW_TEXT, anchor="end", colour=SOFT))
    return _picture(parts, ranked, width=NARROW, height=foot + 64, prefix=prefix)


def _picture(
    parts: Sequence[str], ranked: Sequence[RankedSite], *, width: int, height: float, prefix: str
) -> str:
    body, desc = "".join(parts), f"{_desc(ranked)}."
    return picture(body, width=width, height=height, title=_title(ranked), desc=desc, prefix=prefix)
