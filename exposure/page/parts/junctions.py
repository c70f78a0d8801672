"""Junctions drawn beside the lines of the schedule that size them.

Derived from the designer's question what an elevation needs, and the builder's how: a row of millimetres is read
wrongly, a section with the same millimetres is not.
"""

from collections import Counter

from exposure.assess.details import ElevationDetails
from exposure.draw.junction_svg import junction_picture
from exposure.junction.catalogue import JUNCTIONS, Drawing, LeftOut, drawings_of
from exposure.junction.numbers import numbers_of
from exposure.page.markup import Marked, plate

WIDTH = 360  # CSS pixels: a phone shows it whole, a desk two or three side by side
ROWS = {one.key: one.row for one in JUNCTIONS}


def drawings_by_place(one: ElevationDetails) -> tuple[dict[str, list[Drawing]], tuple[LeftOut, ...]]:
    """The drawings under the place of the schedule they belong to, and the junctions that cannot be drawn.

    A drawing belongs where the row stands that asks for its junction, else where most of its sizes stand.
    """
    where = {line.key: line.where for line in one.schedule.lines}
    found: dict[str, list[Drawing]] = {}
    drawings, left_out = drawings_of([(one.name, numbers_of(one.schedule, one.circumstances, one.pressure))])
    for drawing in drawings:
        row = ROWS[drawing.section.key]
        places = Counter(where[key] for key, _ in drawing.words if key in where)
        found.setdefault(where.get(row) or places.most_common(1)[0][0], []).append(drawing)
    return found, left_out


def drawn_junction(drawing: Drawing) -> Marked:
    """A junction on its plate, told in the words of its parts and sizes."""
    key = drawing.section.key
    svg = junction_picture(drawing.section, lines=dict(drawing.words), width=WIDTH, prefix=f"page-{key}")
    return plate(svg, caption=f"{drawing.section.title}, level {drawing.level} of 4")
