"""How do these places compare: ranked bars of one wall put on every site, over labelled class columns.

Answers the planner's question.
"""

from collections.abc import Sequence

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
from exposure.draw.place_rows import PlaceRow, class_limits, ranked, row_rank_words
from exposure.figures import could_be_words

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


def _top_of(order: Sequence[PlaceRow]) -> float:
    furthest = max(max(row.value, row.band[1] if row.band else 0.0) for row in order)
    return max(furthest * 1.02, class_limits()[-1][0] * 1.3)


def _columns(
    *,
    left: float,
    scale: float,
    top: float,
    low: float,
    high: float,
    head: float,
    foot: float,
    size: float,
    words: bool,
) -> str:
    """Class columns: a line at each limit with its figure below, tally (and word) of each class above."""
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


def _desc(order: Sequence[PlaceRow]) -> str:
    return "; ".join(
        f"{place}. {clean(row.name, most=40)} {figures_sentence(row.value, row.band)}, "
        f"{could_be_words(row.class_name, row.could_be)}"
        for place, row in enumerate(order, start=1)
    )


def _stem(row: PlaceRow, *, left: float, scale: float, middle: float, half: float) -> tuple[str, float]:
    """The band's stem and how far it reaches."""
    tip = left + scale * row.value
    if row.band is None:
        return "", tip
    low, tip = left + scale * row.band[0], max(left + scale * row.band[1], tip)
    if tip - low < 8:
        return "", tip
    cap = f"{middle - half:.1f} v{2 * half:g}"
    return band_stem(f"M{low:.1f} {middle:.1f} H{tip:.1f} M{low:.1f} {cap} M{tip:.1f} {cap}"), tip


def _title(rows: Sequence[PlaceRow]) -> str:
    """What the bars are, as far as each record carries it."""
    return (
        f"Wall index of the worst-facing wall, {' or '.join(dict.fromkeys(row.spell_label for row in rows))}"
    )


def comparison_bars(
    rows: Sequence[PlaceRow],
    *,
    home: str | None = None,
    width: int = 760,
    title: str = "",
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
    top = _top_of(order)
    right_room = 16 + max(
        text_width(figures_sentence(row.value, row.band), size=13, bold=True) for row in order
    )
    ranks = row_rank_words(order) if len(order) > 1 else [""]
    room = max((text_width(rank, size=13, bold=True) + 10 for rank in ranks if rank), default=0)
    longest = max(text_width(clean(row.name), size=15, bold=row.name == home) for row in order)
    left = min(max(LEFT, room + longest + 13), max(LEFT, MOST_LEFT * (width - right_room)))
    scale = (width - left - right_room) / top
    foot = HEAD + ROW * len(order)
    parts = [
        _columns(left=left, scale=scale, top=top, low=left - 40, high=width, head=HEAD, foot=foot, size=13, words=True)
    ]  # fmt: skip
    for place, row in enumerate(order):
        y = HEAD + place * ROW + 10
        heavy = row.name == home
        if ranks[place]:
            parts.append(text(0, y + 17, ranks[place], bold=heavy))
        name = fit(row.name, width=left - 12 - room, size=15, bold=heavy)
        parts.append(text(room, y + 17, name, size=15, bold=heavy))
        parts.append(
            hatched(
                rectangle(left, y, max(scale * row.value, 1), 24), row.class_name, outline=2.5 if heavy else 1
            )
        )
        stem, tip = _stem(row, left=left, scale=scale, middle=y + 12, half=6)
        words = figures_sentence(row.value, row.band)
        wide = text_width(words, size=13, bold=heavy)
        parts += [stem, filled(box_corners((tip + 4, y + 3, tip + 12 + wide, y + 21)), PAPER)]
        parts.append(text(tip + 8, y + 17, words, bold=heavy))
    if any("(" in rank for rank in ranks):
        parts.append(text(0, foot + 38, CLOSE_KEY, size=12, colour=SOFT))
    parts.append(text(width - 4, foot + 38, "L/m² in the worst spell", size=12, anchor="end", colour=SOFT))
    return picture(
        "".join(parts),
        width=width,
        height=foot + 46,
        title=title or _title(order),
        desc=f"{_desc(order)}.",
        prefix=prefix,
    )


def narrow_bars(
    rows: Sequence[PlaceRow],
    *,
    home: str | None = None,
    title: str = "",
    prefix: str = "compare-narrow",
) -> str:
    """The same bars for a phone: name and figures above each bar, words that stay readable on 320 px.

    Examples
    --------
    >>> 'width="300"' in narrow_bars([PlaceRow("Saltmar", 28, (23, 35), "sheltered")])
    True
    """
    order = ranked(rows)
    top = _top_of(order)
    left, right, head = 1.0, NARROW - 6.0, 44
    scale = (right - left) / top
    foot = head + NARROW_ROW * len(order)
    ranks = row_rank_words(order) if len(order) > 1 else [""]
    parts = [
        _columns(
            left=left, scale=scale, top=top, low=0, high=NARROW, head=head, foot=foot, size=NARROW_TEXT, words=False
        )
    ]  # fmt: skip
    for place, row in enumerate(order):
        y = head + place * NARROW_ROW
        heavy = row.name == home
        rank = ranks[place]
        room = text_width(rank, size=NARROW_TEXT, bold=True) + 8 if rank else 0
        name = fit(row.name, width=NARROW - room - 4, size=NARROW_TEXT + 1, bold=True)
        words = f"{figures_sentence(row.value, row.band)}, {row.class_name}"
        wide = max(
            room + text_width(name, size=NARROW_TEXT + 1, bold=True), text_width(words, size=NARROW_TEXT)
        )
        parts.append(filled(rectangle(0, y, min(wide + 4, NARROW), 40), PAPER))
        if rank:
            parts.append(text(0, y + 15, rank, size=NARROW_TEXT, bold=True))
        parts.append(text(room, y + 15, name, size=NARROW_TEXT + 1, bold=True))
        parts.append(text(0, y + 34, fit(words, width=NARROW, size=NARROW_TEXT), size=NARROW_TEXT))
        parts.append(
            hatched(
                rectangle(left, y + 42, max(scale * row.value, 1), 20),
                row.class_name,
                outline=2.5 if heavy else 1,
            )
        )
        parts.append(_stem(row, left=left, scale=scale, middle=y + 52, half=5)[0])
    if any("(" in rank for rank in ranks):
        parts.append(text(0, foot + 40, CLOSE_KEY, size=NARROW_TEXT, colour=SOFT))
    parts.append(
        text(NARROW, foot + 40, "L/m² in the worst spell", size=NARROW_TEXT, anchor="end", colour=SOFT)
    )
    return picture(
        "".join(parts),
        width=NARROW,
        height=foot + 46,
        title=title or _title(order),
        desc=f"{_desc(order)}.",
        prefix=prefix,
    )
