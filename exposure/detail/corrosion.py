"""Metals for flashings and fixings by distance from the sea."""

from collections.abc import Sequence

from exposure.detail.schedule_parts import Ask, ScheduleLine
from exposure.tables import load_table, source_line, table_standing
from exposure.tables.standing import with_standing

METAL = "metal"  # key of the line, and of the row for rules
STRENGTHS = (1, 2, 3)  # inland, near the sea, sea front
UNKNOWN_DISTANCE = 1000.0  # m, taken when the distance is not known; our choice, flagged


def metal_line(sea_distance: float | None, asks: Sequence[Ask] = ()) -> ScheduleLine:
    """The line on metals; an unknown distance counts as near the sea, a rule may ask for more.

    Examples
    --------
    >>> metal_line(100.0).value, metal_line(None).value
    ('sea front', 'near the sea')
    """
    rows = load_table("corrosion")["row"]
    distance = UNKNOWN_DISTANCE if sea_distance is None else sea_distance
    row = next(row for row in rows if row["from"] <= distance < row["to"])
    source, standing, rule = source_line("corrosion"), table_standing("corrosion"), ""
    for ask in asks:
        if ask.row == METAL and ask.value > row["strength"]:
            before = row["zone"]
            row = next(row for row in rows if row["strength"] == ask.value)
            source, standing = with_standing(ask.source, ask.standing), ask.standing
            rule = f"A local rule asks for metals as at the {row['zone']}, the table {before}: the rule is taken."
    told = "not known, taken as near the sea" if sea_distance is None else f"{distance:,.0f}\u00a0m away"
    return ScheduleLine(
        key=METAL,
        where="Flashings and fixings",
        build=row["build"],
        why=f"Salt eats metal from the back as well as the front. Here the sea is {told}.",
        one_lower=f"{'A local rule' if rule else 'The distance to the sea'} decides, not the level.",
        source=source,
        standing=standing,
        caution="The local corrosion map decides; keep copper run-off from aluminium and zinc, "
        "and aluminium off preservative-treated timber.",
        axis="-",
        decided_by="this wall" if not rule else "a local rule",
        value=row["zone"],
        unit="",
        rule=rule,
    )
