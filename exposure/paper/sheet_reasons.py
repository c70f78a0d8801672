"""The annex's table: every line of the schedules with its reason, what it would be one level lower, and who says so.

The elevations share one table: an order that differs from wall to wall stands once for each figure, with the codes of
the elevations it holds for.
"""

from collections.abc import Sequence

from markupsafe import Markup

from exposure.assess.details_parts import BuildingDetails, ElevationDetails
from exposure.detail import ScheduleLine
from exposure.draw.assessment_pictures import codes_of
from exposure.draw.marked import dimensions, mark, name, say
from exposure.figures import litres_with_band, pascals
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of
from exposure.paper.sheet_words import class_words
from exposure.rain.wind_pressure import head_words
from exposure.tables.standing import without_standing

REASON_COLUMNS = (
    ("Where", 10),
    ("Build this", 34),
    ("Why", 19),
    ("One level lower", 13),
    ("Who says so", 24),
)  # width in percent
ABOVE = "As above."
LEAD = (
    "What decides a row is named in it: wetness, pressure or both. Letters before an order name the "
    "elevations it holds for, as on the plan of sheet 1; without letters it holds for all."
)


def reason_part(details: BuildingDetails) -> dict:
    """Every line of the schedules with why, what it would be one level lower, and who says so."""
    return {
        "kind": "reasons",
        "short": "reasons",
        "head": "Reasons and sources",
        "lead": LEAD,
        "follows": _follows(details),
        "columns": REASON_COLUMNS,
        "lines": _printed(_rows(details)),
        "undrawn": _undrawn(details),
    }


def _follows(details: BuildingDetails) -> list[Markup]:
    """The two figures the rows follow, elevation by elevation."""
    codes = codes_of(details.assessment)
    return [
        Markup("<b>{}</b> {}: {}").format(
            codes[one.exposure.wall.name], name(one.exposure.wall.name, most=40), follows_words(one)
        )
        for one in details.elevations
    ]


def _undrawn(details: BuildingDetails) -> list[Markup]:
    """What no drawing shows though it is ordered, in the words of the sheets."""
    codes = codes_of(details.assessment)
    numbers = [
        (one.name, numbers_of(one.schedule, one.circumstances, one.pressure)) for one in details.elevations
    ]
    return [
        say(
            left.in_words(
                ", ".join(codes[name] for name in left.elevations)
                if len(left.elevations) < len(codes)
                else ""
            ),
            most=300,
        )
        for left in drawings_of(numbers)[1]
    ]


def follows_words(one: ElevationDetails) -> str:
    """The two figures of an elevation that the rows of its schedule follow."""
    band = litres_with_band(one.exposure.wall_spell_index, one.exposure.spell_band)
    head = head_words(one.design_pressure)
    raised = "; raised one level" if one.schedule.raised else ""
    return (
        f"wetness {band}, {class_words(one.exposure)}; pressure {pascals(one.design_pressure)}, "
        f"{head} of water{raised}."
    )


def _rows(details: BuildingDetails) -> list[dict]:
    """One row for each order that differs, in order of work; ``codes`` is empty where all share it."""
    codes = codes_of(details.assessment)
    by_key: dict[str, dict[tuple, dict]] = {}
    order: list[str] = []
    for one in details.elevations:
        before = -1
        for line in one.schedule.floor or one.schedule.lines:
            if line.key not in by_key:
                by_key[line.key] = {}
                order.insert(before + 1, line.key)
            before = order.index(line.key)
            row = _row(line)
            same = by_key[line.key].setdefault(tuple(row.values()), {**row, "key": line.key, "codes": []})
            same["codes"].append(codes[one.exposure.wall.name])
    rows = [row for key in order for row in by_key[key].values()]
    for row in rows:
        if len(row["codes"]) == len(details.elevations):
            row["codes"] = []
    return rows


def _row(line: ScheduleLine) -> dict:
    return {
        "where": line.where,
        "build": line.build,
        "rule": line.rule,
        "caution": line.caution,
        "why": short_reason(line),
        "one_lower": short_lower(line),
        "mark": line.standing,
        "source": without_standing(line.source),
    }


def short_lower(line: ScheduleLine) -> str:
    """What one level lower would ask, for a column that is headed so."""
    lower = line.lower or line.one_lower
    return lower[:1].upper() + lower[1:]


def short_reason(line: ScheduleLine) -> str:
    """A reason without the elevation's own figures, which stand at the head, but with the name of what it follows."""
    if not line.reason:
        return line.why
    return line.reason if line.axis == "-" else f"{line.reason} ({line.decided_by})"


def _printed(rows: Sequence[dict]) -> list[dict]:
    """Rows as printed: what the row above said of the same order is not said again."""
    printed: list[dict] = []
    for place, row in enumerate(rows):
        above = rows[place - 1] if place and rows[place - 1]["key"] == row["key"] else {}
        same = {cell: above.get(cell) == row[cell] for cell in ("why", "source", "caution")}
        shown = {
            "where": say(row["where"]),
            "codes": ", ".join(row["codes"]),
            "build": dimensions(row["build"]),
            "rule": say(row["rule"]),
            "caution": "" if same["caution"] else say(row["caution"]),
            "why": ABOVE if same["why"] else say(row["why"]),
            "one_lower": say(row["one_lower"]),
            "mark": mark(row["mark"]),
            "source": ABOVE if same["source"] else say(row["source"]),
        }
        printed.append(shown)
    return printed
