"""The junctions of the worst elevation as drawn sections, for the sheets: what is looked at before it is read."""

from typing import Any

from markupsafe import Markup

from exposure.assess.details import BuildingDetails
from exposure.draw.drawing import picture_height
from exposure.draw.junction_svg import junction_picture
from exposure.draw.marked import name
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of
from exposure.paper.sheet_annex import BODY, SEASON_WIDE, shared_out

DRAWN = ("sill", "head", "jamb", "base-soil")


def drawn_pages(details: BuildingDetails) -> list[dict]:
    """Window and base of the worst elevation, two beside one another; none where no schedule may be printed."""
    one = details.elevations[0]
    numbers = numbers_of(one.schedule, one.circumstances, one.pressure)
    found, _ = drawings_of([(one.name, numbers)])
    figures: list[dict[str, Any]] = []
    for drawing in found:
        if drawing.section.key in DRAWN:
            svg = junction_picture(
                drawing.section, lines=dict(drawing.words), brief=True, width=SEASON_WIDE, prefix=f"d-{drawing.section.key}"
            )  # fmt: skip
            figures.append(
                {"head": "", "svg": Markup(svg), "caption": "", "height": picture_height(svg) + 12}
            )
    blocks: list[tuple[float, dict]] = []
    for place in range(0, len(figures), 2):
        pair = figures[place : place + 2]
        height = max(figure["height"] for figure in pair)
        blocks.append(
            (height, {"name": "", "columns": [[figure] for figure in pair], "wide": SEASON_WIDE + 14})
        )
    pages = [
        {"kind": "drawn", "short": "drawn", "head": "Drawn sections", "elevations": part, "notes": []}
        for part in shared_out(blocks, first=BODY - 50, rest=BODY)
    ]
    if pages:
        pages[0]["notes"] = [
            Markup(
                "{}, the worst elevation, at its own level. Other elevations have sizes of their own."
            ).format(name(one.name[:1].upper() + one.name[1:], most=60))
        ]
    return pages
