"""How high the drawings of a sheet stand in print: in columns that end nearly level, and as many as its page holds."""

import re
from collections.abc import Iterable, Sequence
from itertools import product
from math import ceil

from exposure.draw.junction_breaks import SAID, breaks_of
from exposure.draw.junction_svg import bare_junction
from exposure.draw.lettering import wrap
from exposure.junction.drop import shown_path
from exposure.junction.scene import Section

CORNERS = ("corner-inside", "corner-outside")  # told corner by corner, each by its harder wall, in one form
COLUMNS = 3
DRAWN_TALL, SHARED_TALL = 144, 112
DRAWN_WIDE = 316  # units a drawing is laid out in, before it is made to fit its column
PRINTED = 228 / DRAWN_WIDE
PAGE = 980  # CSS px between the margins of the shorter paper, Letter (997), less a line that a writer breaks otherwise
HEAD, WALL, FOOT = 82, 24.5, 29  # over the drawings, there for each wall, and under all else
WIDER = 1.14  # the letters that words are measured in than those of print
COLUMN, BESIDE, WHOLE = 237, 600, 725  # room of a line, in a column, beside its box to tick, and in a frame
HIGH = re.compile(r'viewBox="0 0 \S+ ([\d.]+)"')


def printed(section: Section, *, tallest: float, prefix: str = "junction") -> dict:
    """A section as a sheet prints it: its picture, title, parts, notes and warnings."""
    svg, parts = bare_junction(section, width=DRAWN_WIDE, tallest=tallest, prefix=prefix)
    broken = bool(breaks_of(section, section.box, shown_path(section)))
    return {
        "key": section.key,
        "svg": svg,
        "title": section.title.removesuffix(", upright section"),
        "parts": parts,
        # of a corner the sheets tell them corner by corner
        "notes": [*(() if section.key in CORNERS else section.notes), *[SAID] * broken],
        "own": [],
        "warnings": list(section.warnings),
    }


def in_columns(drawings: Sequence[dict]) -> list[list[dict]]:
    """Drawings shared out so that the tallest column is as short as can be; the first head a column each where that costs no line.

    Parameters
    ----------
    drawings
        As :func:`printed` gives them, or as they stand on a sheet.
    """
    heights = [printed_height(one) for one in drawings]
    first = tuple(range(COLUMNS))

    def cost(places: tuple[int, ...]) -> tuple:
        tallest = max(
            sum(high for high, at in zip(heights, places, strict=True) if at == one) for one in first
        )
        return ceil(tallest / 10), places[:COLUMNS] != first, places

    best = min(product(first, repeat=len(drawings)), key=cost)
    columns = [
        [one for one, at in zip(drawings, best, strict=True) if at == column]
        for column in dict.fromkeys(best)
    ]
    return [column for column in columns if column]


def column_height(drawings: Iterable[dict]) -> float:
    """Height of drawings one under another, about. [CSS px]"""
    return sum(map(printed_height, drawings))


def printed_height(drawing: dict) -> float:
    """Height of a drawing with the words over and under it, about. [CSS px]"""
    [high] = map(float, HIGH.findall(drawing["svg"]))
    key = " ".join(
        [*(f"{number} {part}" for number, part in enumerate(drawing["parts"], 1)), *drawing["notes"]]
    )
    own = sum(_lines(one, COLUMN, bold=True) for one in (*drawing["own"], *drawing["warnings"]))
    title = _lines(drawing["title"], COLUMN, bold=True)
    return high * PRINTED + 13.6 * title + 12.5 * own + 9.63 * _lines(key, COLUMN, size=9.35) + 5


def page_holds(drawings: Sequence[dict], *, walls: int, ticked: Iterable[str], framed: Iterable[str]) -> bool:
    """Whether the drawings of a sheet of some walls find room on one page with its lines to tick and what stands in frames."""
    under = sum(12.25 * _lines(one, BESIDE) + 1 for one in ticked) + 15
    boxes = sum(13.5 * _lines(one, WHOLE, bold=True) + 5 for one in framed)
    tallest = max(map(column_height, in_columns(drawings)), default=0)
    return HEAD + walls * WALL + tallest + under + boxes + FOOT <= PAGE


def _lines(words: str, wide: float, *, size: float = 11.34, bold: bool = False) -> int:
    return len(wrap(words, width=wide * WIDER, size=size, bold=bold))
