"""What changes at the walls of a town between two results, as one printed page: the answer, the classes, the walls, doubts.

Answers the planner's question with what a hearing asks for: how much of the change is more than the chance of the years.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import pandas as pd
from markupsafe import Markup

from exposure.district.change import Change, change_in_words
from exposure.draw.marked import say
from exposure.export.ranked_files import DECIDE
from exposure.figures import litres
from exposure.paper.district_page import bullets, plain_table, record_words, standing_page
from exposure.paper.provenance import DO_NOT_BUILD, INVENTED
from exposure.wall.building import compass_name
from exposure.wall.classes import class_names

MOST_WALLS, MOST_AREAS = 40, 30  # listed; the tables beside the page have all
WALL_HEADS = (
    "Building, wall",
    "Facing",
    "Length, m",
    "Before",
    "After",
    "Change (band), L/m²",
    "Class before",
    "Class after",
)
TITLE = "What changes at these walls?"
HOW = (
    "A change is clear where its 90 % band leaves no other way; both results count their own years as one draw of many. "
    "Indices are of the worst spell, in L/m²."
)
HOW_MEMBERS = (
    "Changes are the median over the members, the band the smallest and the largest of one; a change is clear where every member "
    "goes the same way. Indices are of the worst spell, in L/m²."
)
AREA_HEADS = (
    "Area",
    "Length, m",
    "Before",
    "After",
    "Change (band), L/m²",
    "Rises, m",
    "Falls, m",
    "Not clear, m",
    "Severe or harder",
)


def change_html(
    change: Change,
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    *,
    table: pd.DataFrame | None = None,
    flags: Sequence[str] = (),
    made: date | None = None,
) -> str:
    """The page as one HTML document, everything inside it; no script, no request.

    Parameters
    ----------
    before, after
        What holds for each result (:func:`exposure.export.district_files.district_summary`).
    table
        The change by area (:func:`exposure.district.change.change_by_area`), the whole first.
    flags
        Doubts about the areas.
    made
        Date printed on it; today by default.
    """
    results = {"Before": before, "After": after}
    invented = any(one.get("kind") == INVENTED for result in results.values() for one in result["records"])
    lead, moved = change_in_words(change)
    doubts = {
        f"{when}: {words}" for when, result in results.items() for words in map(str, result["doubts_of_all"])
    }
    parts = [
        Markup('<p class="invented">{}</p>').format(DO_NOT_BUILD) if invented else Markup(""),
        Markup('<p class="lead">{}</p><p>{}</p>').format(say(lead), say(moved)),
        plain_table("Length of wall by class before (rows) and after (columns), m.", ["Before", *class_names()], _classes(change)),
        _areas(table),
        plain_table(_caption(change), WALL_HEADS, _walls(change.walls)),
        Markup('<p class="note">{}</p>').format(say(HOW if change.paired is None else HOW_MEMBERS)),
        Markup('<p class="caution"><b>Caution</b>{}</p>').format(say(DECIDE)),
        bullets("Doubts", [*map(str, change.flags), *map(str, flags), *sorted(doubts)]),
        bullets(
            "Sources",
            [
                f"{when}: {words}"
                for when, result in results.items()
                for words in (f"outlines of buildings: {result['footprints']}.", *record_words(result["records"]))
            ],
        ),
    ]  # fmt: skip
    return standing_page(TITLE, parts, made=made)


def _classes(change: Change) -> list[list[str]]:
    """Length of wall that went from each class to each. [m]"""
    walls = change.walls
    found = walls.groupby(["class_before", "class_after"])["length"].sum()
    return [
        [one, *(f"{float(found.get((one, other), 0.0)):,.0f}" for other in class_names())]
        for one in class_names()
    ]


def _areas(table: pd.DataFrame | None) -> Markup:
    """The change by area, the largest first; nothing where only the whole town is known."""
    if table is None or len(table) < 2:
        return Markup("")
    own = table.iloc[1:]
    own = own[own["length"] > 0]
    order = own["spell_change"].abs().sort_values(ascending=False, kind="stable").index
    shown = f", the {MOST_AREAS} largest of {len(own):,}" if len(own) > MOST_AREAS else ""
    caption = f"Worst spell by area, the mean over its length of wall{shown}; change_by_area.csv holds all."
    rows = [
        [
            str(one.area),
            f"{one.length:,.0f}",
            litres(one.spell_before),
            litres(one.spell_after),
            f"{_difference(one.spell_change, (one.spell_change_low, one.spell_change_high))}, "
            f"{'not clear' if one.spell_clear == 'not clear' else 'clear'}",
            f"{one.length_more:,.0f}",
            f"{one.length_less:,.0f}",
            f"{one.length_not_clear:,.0f}",
            f"{one.hard_before:.0%} to {one.hard_after:.0%}",
        ]
        for one in table.loc[[0, *order[:MOST_AREAS]]].itertuples()
    ]
    return plain_table(caption, AREA_HEADS, rows)


def _caption(change: Change) -> str:
    clear = int((change.walls["spell_clear"] != "not clear").sum())
    shown = f", the {MOST_WALLS} largest of {clear:,}" if clear > MOST_WALLS else ""
    return (
        f"Walls whose change is clear{shown}; change.csv holds all."
        if clear
        else "No wall's change is clear; change.csv holds all."
    )


def _walls(walls: pd.DataFrame) -> list[list[str]]:
    clear = walls[walls["spell_clear"] != "not clear"]
    order = clear["spell_change"].abs().sort_values(ascending=False, kind="stable").index[:MOST_WALLS]
    return [
        [
            f"{one.building}, {one.wall}",
            compass_name(one.facing),
            f"{one.length:.1f}",
            litres(one.spell_before),
            litres(one.spell_after),
            _difference(one.spell_change, (one.spell_change_low, one.spell_change_high)),
            str(one.class_before),
            str(one.class_after),
        ]
        for one in clear.loc[order].itertuples()
    ]


def _difference(value: float, band: tuple[float, float]) -> str:
    """A change with its sign and band, e.g. ``+20 (+9 to +31)``."""
    if any(end != end for end in band):
        return f"{_signed(value)} (no band)"
    low, high = (_signed(end) for end in band)
    return f"{_signed(value)} ({low} to {high})"


def _signed(value: float) -> str:
    words = f"{abs(value):,.0f}"
    return words if words == "0" else f"{'+' if value > 0 else '−'}{words}"
