"""A comparison as the page shows and saves it: plain figures and words, made once, in this process or beside it.

Derived from the planner's question: what the screen says of the order is what its files and its print say.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from exposure.assess.compare_sites import Comparison
from exposure.draw.comparison_bars import comparison_bars, narrow_bars
from exposure.draw.comparison_words import comparison_sentence, list_sentence, wall_sentence
from exposure.export.ranked_files import (
    CAUTION,
    RANK_NOTE,
    left_out_csv,
    ranked_csv,
    ranked_geopackage,
    ranked_json,
)
from exposure.map.map_layers import place_marks
from exposure.map.place_map import box_view
from exposure.paper.place_doubts import place_notes
from exposure.paper.provenance import INVENTED
from exposure.paper.ranked_page import HEADS, ranked_html, table_cells

FEW = 6  # places that are told in groups; of a longer list it is counted how many may be hit hardest
BARS = 20
MOST_LEFT_OUT = 50  # told on the page; the table has all
PRINT, LEFT_OUT = "comparison.html", "left_out.csv"
FILES: dict[str, Callable[[Comparison], str | bytes]] = {
    PRINT: ranked_html,
    "comparison.csv": ranked_csv,
    "comparison.gpkg": ranked_geopackage,
    "comparison.json": ranked_json,
    LEFT_OUT: left_out_csv,
}


@dataclass(frozen=True, eq=False)
class Compared:
    """What the screen says of a comparison, and its files by their names."""

    shown: dict[str, Any]
    file: Callable[[str], str | bytes]


def compared(found: Comparison, *, home: str) -> Compared:
    """A comparison made in this process; its files are written when they are asked for."""
    return Compared(shown_of(found, home=home), lambda name: FILES[name](found))


def shown_of(found: Comparison, *, home: str) -> dict[str, Any]:
    """What the screen says, of what JSON knows.

    Parameters
    ----------
    home
        Name of the place in force, where it is among those compared.
    """
    ranked = found.ranked
    notes, letters = place_notes(ranked, found.flags)
    heads = [HEADS[1], HEADS[0], *HEADS[2:]]  # the place names its row
    rows = []
    for one, mine in zip(ranked, letters, strict=True):
        rank, name, *rest = table_cells(one, mine)
        rows.append([name, rank, *rest])
    many = f"The hardest {BARS} of {len(ranked)}. " if len(ranked) > BARS else ""
    bars = ranked[:BARS]
    return {
        "lead": comparison_sentence(ranked) if 1 < len(ranked) <= FEW else list_sentence(ranked),
        "bars": comparison_bars(bars, home=home or None, width=700, prefix="list"),
        "narrow_bars": narrow_bars(bars, home=home or None, prefix="list-narrow"),
        "caption": f"{many}Stems: 90 % band of the years. {wall_sentence(found)}",
        "map": _marks(found, home),
        "invented": any(one.kind == INVENTED for one in found.sites),
        "heads": heads,
        "rows": rows,
        "doubts": [*(f"{note.letter}: {note.words}" for note in notes), *map(str, found.flags)],
        "notes": list(map(str, found.notes)),
        "rank_note": RANK_NOTE,
        "caution": CAUTION,
        "left_out": [
            f"Row {one.row}{f', {one.name}' if one.name else ''}: {one.reason}"
            for one in found.left_out[:MOST_LEFT_OUT]
        ],
    }


def _marks(found: Comparison, home: str) -> dict[str, Any]:
    """The places with their ranks as numbers, and the view that holds them."""
    sites = [one.site.site for one in found.ranked]
    marks = place_marks(sites)
    for mark, one in zip(marks, found.ranked, strict=True):
        mark |= {
            "label": str(one.rank),
            "name": one.name,
            "note": one.site.worst.in_words,
            "chosen": one.name == home,
        }
    latitudes, longitudes = [one.latitude for one in sites], [one.longitude for one in sites]
    spare = 0.06 + 0.1 * max(max(latitudes) - min(latitudes), max(longitudes) - min(longitudes))
    view = box_view(
        south=min(latitudes) - spare,
        west=min(longitudes) - spare,
        north=max(latitudes) + spare,
        east=max(longitudes) + spare,
    )
    return {"places": marks, "view": view}
