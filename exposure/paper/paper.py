"""Room on an A4 page: how high text and table rows come out, and how rows are shared out over pages.

Printing cannot ask how long words became, so heights are reckoned beforehand from the letters' widths; a page that
still comes out longer grows onto the next one rather than losing its foot.
"""

from collections.abc import Sequence
from math import ceil

from exposure.draw.lettering import text_width

PAGE_WIDE, PAGE_TALL = 794, 1120  # A4 at 96 to the inch, a hair less high so that no empty page follows
INNER_WIDE = 710
SHEET_RATIO = 0.87  # Arial and its like against DejaVu Sans; the sheets are set in the narrower


def lines_needed(words: str, *, width: float, size: float, bold: bool = False) -> int:
    """Lines that ``words`` take in a column ``width`` wide, at least one; breaks at spaces only.

    Examples
    --------
    >>> lines_needed("Lap the upper sheet at least 150 mm over the lower", width=150, size=11)
    2
    """
    count, used = 1, 0.0
    space = text_width(" ", size=size, bold=bold) * SHEET_RATIO
    for word in words.split(" "):
        wide = text_width(word, size=size, bold=bold) * SHEET_RATIO
        if used and used + space + wide > width:
            count, used = count + 1, 0.0
        if wide > width:
            extra = ceil(wide / width) - 1
            count, wide = count + extra, wide - extra * width
        used += wide + (space if used else 0)
    return count


def row_height(
    cells: Sequence[tuple[str, float]], *, size: float, line: float = 1.3, padding: float = 6.0
) -> float:
    """Height of a table row whose cells hold ``(words, width)``."""
    return max(lines_needed(words, width=width, size=size) for words, width in cells) * size * line + padding


def share_out(heights: Sequence[float], *, first: float, rest: float) -> list[slice]:
    """Rows for each page, in order: the first page has ``first`` room, each later one ``rest``.

    A row higher than a page stands on a page of its own.

    Examples
    --------
    >>> share_out([40, 40, 40, 40], first=50, rest=100)
    [slice(0, 1, None), slice(1, 3, None), slice(3, 4, None)]
    """
    pages: list[slice] = []
    start, used, room = 0, 0.0, first
    for place, height in enumerate(heights):
        fits = used + height <= room
        lonely = place == start and bool(pages)
        if not fits and not lonely:
            pages.append(slice(start, place))
            start, used, room = place, 0.0, rest
        used += height
    pages.append(slice(start, len(heights)))
    return pages
