"""Metals for flashings and fixings by distance from the sea."""

from exposure.detail.schedule_parts import ScheduleLine
from exposure.tables import load_table, source_line, table_standing

UNKNOWN_DISTANCE = 1000.0  # m, taken when the distance is not known; our choice, flagged


def metal_line(sea_distance: float | None) -> ScheduleLine:
    """The line on metals; an unknown distance counts as near the sea.

    Examples
    --------
    >>> metal_line(100.0).value, metal_line(None).value
    ('sea front', 'near the sea')
    """
    rows = load_table("corrosion")["row"]
    distance = UNKNOWN_DISTANCE if sea_distance is None else sea_distance
    place = next(i for i, row in enumerate(rows) if row["from"] <= distance < row["to"])
    row = rows[place]
    told = "not known, taken as near the sea" if sea_distance is None else f"{distance:,.0f}\u00a0m away"
    return ScheduleLine(
        key="metal",
        where="Flashings and fixings",
        build=row["build"],
        why=f"Salt eats metal from the back as well as the front. Here the sea is {told}.",
        one_lower="The distance to the sea decides, not the level.",
        source=source_line("corrosion"),
        standing=table_standing("corrosion"),
        caution="The local corrosion map decides; keep copper run-off from aluminium and zinc, and aluminium off preservative-treated timber.",
        axis="-",
        value=row["zone"],
        unit="",
    )
