"""How do these places compare: ranked bars of one wall put on every site, over labelled class columns, and the sentence.

Answers the planner's question. Bands that meet are said to meet; a place is never a bare "second".
"""

from collections.abc import Sequence
from dataclasses import dataclass

from exposure.assess.many_sites import RankedSite, bands_meet, class_counts
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
from exposure.show.numbers import Band, could_be_words, share_words, whole
from exposure.show.palette import HAIR, PAPER, SOFT
from exposure.tables import load_table

ROW = 45
HEAD = 52
GAP = 10  # between two labels beside each other
LEFT = 200  # room for the names
NARROW = 300  # width of the picture for a phone, whose words stay 12 px and more on a screen of 320
NARROW_TEXT = 14
NARROW_ROW = 76
MOST_NAMED = 4  # names a sentence lists; a longer group is named by its ends
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
RANKS = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


@dataclass(frozen=True)
class PlaceRow:
    """One place: the wall spell index of its worst-facing wall, and the range of ranks it may have."""

    name: str
    value: float  # [L m-2]
    band: Band | None
    class_name: str
    could_be: str | None = None
    ranks: tuple[int, int] | None = None


def row_of(one: RankedSite) -> PlaceRow:
    """A ranked site's line."""
    site = one.site
    return PlaceRow(
        one.name,
        site.value,
        site.band,
        site.worst.exposure_class,
        " or ".join(site.could_be) or None,
        one.ranks,
    )


def class_limits() -> list[tuple[float, str]]:
    """Lower limit and name of each class, mildest first, from the class table. [L m-2]"""
    return [(row["from"], row["class"]) for row in load_table("exposure_class")["row"]]


def ranked(rows: Sequence[PlaceRow]) -> list[PlaceRow]:
    """The places, hardest hit first."""
    return sorted(rows, key=lambda row: -row.value)


def rank_words(rank: int, ranks: tuple[int, int] | None) -> str:
    """A rank and, behind it, the range nine in ten resamples give it.

    Examples
    --------
    >>> rank_words(2, (1, 3)), rank_words(6, (6, 6)), rank_words(2, None)
    ('2 (1 to 3)', '6', '2')
    """
    if ranks is None or ranks[0] == ranks[1]:
        return f"{rank}"
    return f"{rank} ({ranks[0]} to {ranks[1]})"


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
    top = _top_of(order)
    right_room = 16 + max(
        text_width(figures_sentence(row.value, row.band), size=13, bold=True) for row in order
    )
    scale = (width - LEFT - right_room) / top
    foot = HEAD + ROW * len(order)
    ranks = [
        rank_words(place, row.ranks) if len(order) > 1 else "" for place, row in enumerate(order, start=1)
    ]
    room = max((text_width(rank, size=13, bold=True) + 10 for rank in ranks if rank), default=0)
    parts = [
        _columns(left=LEFT, scale=scale, top=top, low=LEFT - 40, high=width, head=HEAD, foot=foot, size=13, words=True)
    ]  # fmt: skip
    for place, row in enumerate(order):
        y = HEAD + place * ROW + 10
        heavy = row.name == home
        if ranks[place]:
            parts.append(text(0, y + 17, ranks[place], bold=heavy))
        name = fit(row.name, width=LEFT - 12 - room, size=15, bold=heavy)
        parts.append(text(room, y + 17, name, size=15, bold=heavy))
        parts.append(
            hatched(
                rectangle(LEFT, y, max(scale * row.value, 1), 24), row.class_name, outline=2.5 if heavy else 1
            )
        )
        stem, tip = _stem(row, left=LEFT, scale=scale, middle=y + 12, half=6)
        words = figures_sentence(row.value, row.band)
        wide = text_width(words, size=13, bold=heavy)
        parts += [stem, filled(box_corners((tip + 4, y + 3, tip + 12 + wide, y + 21)), PAPER)]
        parts.append(text(tip + 8, y + 17, words, bold=heavy))
    parts.append(text(width - 4, foot + 38, "L/m² in the worst spell", size=12, anchor="end", colour=SOFT))
    return picture(
        "".join(parts), width=width, height=foot + 46, title=title, desc=f"{_desc(order)}.", prefix=prefix
    )


def narrow_bars(
    rows: Sequence[PlaceRow],
    *,
    home: str | None = None,
    title: str = "Wall index of the worst-facing wall, worst spell in three years",
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
    parts = [
        _columns(
            left=left, scale=scale, top=top, low=0, high=NARROW, head=head, foot=foot, size=NARROW_TEXT, words=False
        )
    ]  # fmt: skip
    for place, row in enumerate(order):
        y = head + place * NARROW_ROW
        heavy = row.name == home
        rank = rank_words(place + 1, row.ranks) if len(order) > 1 else ""
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
    parts.append(
        text(NARROW, foot + 40, "L/m² in the worst spell", size=NARROW_TEXT, anchor="end", colour=SOFT)
    )
    return picture(
        "".join(parts), width=NARROW, height=foot + 46, title=title, desc=f"{_desc(order)}.", prefix=prefix
    )


def comparison_sentence(rows: Sequence[PlaceRow]) -> str:
    """Who is hit hardest, in groups whose neighbours in the order cannot be told apart.

    Examples
    --------
    >>> comparison_sentence([PlaceRow("A", 118, (99, 141), "very severe"), PlaceRow("B", 70, (58, 84), "severe"),
    ...                      PlaceRow("C", 57, (47, 69), "severe")])
    'Hardest hit is A; then come B and C, which lie close. A gets 2.1 times what C gets.'
    """
    order = ranked(rows)
    if len(order) < 2:
        return ""
    first, last = (clean(row.name, most=60) for row in (order[0], order[-1]))
    runs: list[list[PlaceRow]] = [[order[0]]]
    for row in order[1:]:
        if bands_meet(runs[-1][-1].band, row.band):
            runs[-1].append(row)
        else:
            runs.append([row])
    if len(runs) == 1:
        return (
            f"{first} and {last} lie close: either may be hit harder."
            if len(order) == 2
            else f"All {_count(len(order))} lie close, from {first} down to {last}: neighbours in this order may change places."
        )
    words = f"Hardest hit {_group(runs[0])}"
    close = len(runs[0]) > 1
    at = 1
    while at < len(runs):
        alone = at
        while alone < len(runs) and len(runs[alone]) == 1:
            alone += 1
        if alone - at > 1:  # several places, each clear of the next
            words += f"; then {_names([run[0] for run in runs[at:alone]])}, each clear of the next"
            at = alone
            continue
        words += f"; then {_group(runs[at], come=True)}" + (" too" if close and len(runs[at]) > 1 else "")
        close = close or len(runs[at]) > 1
        at += 1
    return f"{words}.{_times(order, first, last)}"


def _times(order: Sequence[PlaceRow], first: str, last: str) -> str:
    if order[-1].value < 1:
        return ""
    times = order[0].value / order[-1].value
    return f" {first} gets {times:.{0 if times >= 9.95 else 1}f} times what {last} gets."


def _group(run: Sequence[PlaceRow], *, come: bool = False) -> str:
    one = len(run) == 1
    verb = ("comes" if one else "come") if come else ("is" if one else "are")
    return f"{verb} {_names(run)}" + ("" if one else ", which lie close")


def _names(rows: Sequence[PlaceRow]) -> str:
    names = [clean(row.name, most=60) for row in rows]
    if len(names) > MOST_NAMED:
        return f"{_count(len(names))} from {names[0]} down to {names[-1]}"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _count(number: int) -> str:
    return COUNTS[number] if number < len(COUNTS) else whole(number)


def _rank(number: int, count: int) -> str:
    if number == count:
        return "last"
    if number < len(RANKS):
        return RANKS[number]
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10 if number % 100 not in (11, 12, 13) else 0, "th")
    return f"{number}{ending}"


def answer_words(rows: Sequence[PlaceRow], home: str) -> str:
    """Where ``home`` stands in the order, with the places its band meets; never a bare rank.

    Examples
    --------
    >>> rows = [PlaceRow("A", 118, (99, 141), "very severe"), PlaceRow("B", 70, (58, 84), "severe"),
    ...         PlaceRow("C", 57, (47, 69), "severe")]
    >>> answer_words(rows, "A"), answer_words(rows, "B")
    ('First of three; no other band meets its own.', 'Second or last of three; its band meets that of C.')
    """
    order = ranked(rows)
    count = len(order)
    if count == 1:
        return "No other place to compare."
    mine = next(row for row in order if row.name == home)
    others = [row for row in order if row is not mine]
    close = [row for row in others if bands_meet(row.band, mine.band)]
    harder = sum(row.value > mine.value and row not in close for row in others)
    milder = sum(row.value <= mine.value and row not in close for row in others)
    low, high = 1 + harder, count - milder
    if not close:
        return f"{_rank(low, count).capitalize()} of {_count(count)}; no other band meets its own."
    if len(close) == count - 1:
        short = "Either of the two" if count == 2 else f"Any rank of {_count(count)}"
    else:
        between = "or" if high == low + 1 else "to"
        short = f"{_rank(low, count).capitalize()} {between} {_rank(high, count)} of {_count(count)}"
    whose = f"that of {_names(close)}" if len(close) == 1 else f"those of {_names(close)}"
    return f"{short}; its band meets {whose}."


def list_sentence(ranked_sites: Sequence[RankedSite]) -> str:
    """A long list's answer: how many may be the hardest hit, and how the classes fall.

    The few that may be hardest are named; a larger group is counted.
    """
    first = ranked_sites[0]
    name = clean(first.name, most=60)
    total = len(ranked_sites)
    if total == 1:
        return f"{name} is the only site: nothing to rank."
    close = len(first.close_to)
    words = f"{name} comes out hardest hit of {whole(total)}"
    if first.kept is not None:
        words += f", in {share_words(first.kept)} resamples of the years"
    if close == 0:
        words += "; no other band meets its own."
    elif close == total - 1:
        words += "; but every other band meets its own: they all lie close."
    elif close <= MOST_NAMED:
        words += f"; {_listed(first.close_to)} {'lies' if close == 1 else 'lie'} close: {'its band meets' if close == 1 else 'their bands meet'} its own."
    else:
        words += (
            f"; {whole(close)} others lie close, from {clean(first.close_to[0], most=60)} to "
            f"{clean(first.close_to[-1], most=60)}: their bands meet its own."
        )
    classes = ", ".join(f"{whole(count)} {kind}" for kind, count in class_counts(ranked_sites).items())
    return f"{words} By class: {classes}."


def _listed(names: Sequence[str]) -> str:
    short = [clean(one, most=60) for one in names]
    return short[0] if len(short) == 1 else f"{', '.join(short[:-1])} and {short[-1]}"


__all__ = [
    "PlaceRow",
    "answer_words",
    "bands_meet",
    "comparison_bars",
    "comparison_sentence",
    "list_sentence",
    "narrow_bars",
    "push_apart",
    "rank_words",
    "ranked",
    "row_of",
]
