"""How places compare: who is hit hardest in a sentence, ranked bars, a map with the ranks, the table, its own print.

Derived from the planner's question. One wall stands on every place; where bands meet the sentence says so, never a bare
rank; what decides the order and what to doubt stand beside it.
"""

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

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
from exposure.map.place_map import INVENTED_NOTICE, MapState, box_view, show_place_map
from exposure.page.choices.compare_files import TITLES, compare_files
from exposure.page.choices.inputs import spot_in_use
from exposure.page.choices.places_asked import PlacesAsked, asked_places, kept_comparisons
from exposure.page.choices.session import session
from exposure.page.choices.state import MOST_PLACES, PageState
from exposure.page.forms.places_form import show_places_form
from exposure.page.markup import Marked, caution, doubts, either, say, table
from exposure.page.parts.map_panel import coast_of_island
from exposure.page.refuse import plain_words
from exposure.page.work.long_work import begin, forget_refusal, running, show_work
from exposure.paper.pdf import sheet_pdf
from exposure.paper.place_doubts import place_notes
from exposure.paper.provenance import INVENTED
from exposure.paper.ranked_page import HEADS, ranked_html, table_cells

WORK, PDF = "compare", "compare-pdf"
BARS = 20
NUMBERS = ("A year, L/m²",)


def show_compare_page(state: PageState) -> None:
    """The page; while a comparison is made the one before stays, and says so."""
    st.html("<h2>How do these places compare?</h2>")
    with plain_words("The comparison"):
        spot = spot_in_use(state)
        asked = asked_places(state, spot)
        found = kept_comparisons().get(asked.key)
        if found is not None:
            session.comparison_shown = found
        elif session.comparison_asked != asked.key:
            _begin(asked)
        with st.container(key="places"):
            st.html(
                f'<p class="inputs"><span>{say(asked.title)}</span><span>{say(state.reference)}</span>{_files()}</p>'
            )
            with st.expander("Change the places", key="change-places"):
                show_places_form(state, spot)
        with st.container(key="comparing"):
            show_work(
                WORK,
                lambda _result: None,
                what=asked.title,
                meanwhile="What stands below is the comparison before."
                if session.comparison_shown is not None
                else "",
                again=partial(_begin, asked),
            )
        shown = found or (session.comparison_shown if running(WORK) is not None else None)
        if shown is not None:
            _show(shown, home=asked.home if found is not None else "")


def _files() -> Marked:
    """The reader's own files in force, each with what it tells."""
    return "".join(
        f"<span>{TITLES[kind]}: {say(one.name)}</span>" for kind, one in sorted(compare_files().items())
    )


def _begin(asked: PlacesAsked) -> None:
    session.comparison_asked = asked.key
    forget_refusal(WORK)
    begin(WORK, f"Comparing {asked.title}:", asked.make)


def _show(found: Comparison, *, home: str) -> None:
    st.html(f'<p class="lead" role="status">{say(_sentence(found))}</p>')
    left, right = st.columns([1.35, 1])
    with left:
        st.html(_bars(found, home))
    with right:
        show_place_map(_map(found, home), key="compare-map", height=430)
        st.html('<p class="note">The numbers are ranks; equal places share one.</p>')
    _buttons(found)
    st.html(_doubts(found) + _table(found) + _below(found))


def _sentence(found: Comparison) -> str:
    """Who is hit hardest: a few places in groups, of a long list how many may be."""
    few = 1 < len(found.ranked) <= MOST_PLACES
    return comparison_sentence(found.ranked) if few else list_sentence(found.ranked)


def _bars(found: Comparison, home: str) -> Marked:
    shown = found.ranked[:BARS]
    many = f"The hardest {BARS} of {len(found.ranked)}. " if len(found.ranked) > BARS else ""
    return either(
        comparison_bars(shown, home=home or None, width=700, prefix="list"),
        narrow_bars(shown, home=home or None, prefix="list-narrow"),
        caption=f"{many}Stems: 90 % band of the years. {wall_sentence(found)}",
        kind="bars",
    )


def _map(found: Comparison, home: str) -> dict[str, Any]:
    """The places with their ranks as numbers, on the island's coast or on the world's."""
    sites = [one.site.site for one in found.ranked]
    marks = place_marks(sites, chosen=None)
    for mark, one in zip(marks, found.ranked, strict=True):
        mark |= {
            "label": str(one.rank),
            "name": one.name,
            "note": one.site.worst.in_words,
            "chosen": one.name == home,
        }
    latitudes, longitudes = [one.latitude for one in sites], [one.longitude for one in sites]
    spare = 0.06 + 0.1 * max(max(latitudes) - min(latitudes), max(longitudes) - min(longitudes))
    invented = any(one.kind == INVENTED for one in found.sites)
    return MapState(
        label=f"Map of the places compared, numbered by rank. {_sentence(found)}",
        view=box_view(
            south=min(latitudes) - spare,
            west=min(longitudes) - spare,
            north=max(latitudes) + spare,
            east=max(longitudes) + spare,
        ),
        coast=coast_of_island() if invented else None,
        places=marks,
        notice=INVENTED_NOTICE if invented else "",
        clickable=False,
    ).data()


def _buttons(found: Comparison) -> None:
    """The print of its own, and the ranking for other programs."""
    wanted: list[tuple[str, Callable[[Comparison], str | bytes], str, str]] = [
        ("Print (HTML)", ranked_html, "comparison.html", "text/html"),
        ("Save as CSV", ranked_csv, "comparison.csv", "text/csv"),
        ("Save as GeoPackage", ranked_geopackage, "comparison.gpkg", "application/geopackage+sqlite3"),
        ("Save as JSON", ranked_json, "comparison.json", "application/json"),
    ]
    if found.left_out:
        wanted.append(("Rows left out (CSV)", left_out_csv, "left_out.csv", "text/csv"))
    with st.container(horizontal=True, key="comparison-files"):
        for words, make, name, kind in wanted:
            st.download_button(
                words,
                partial(make, found),
                name,
                kind,
                key=f"take-{name}",
                on_click="ignore",
                type="primary" if make is ranked_html else "secondary",
            )
        made = session.comparison_pdf
        if made is not None and made[0] is found:
            st.download_button(
                "The print as PDF",
                made[1],
                "comparison.pdf",
                "application/pdf",
                key="take-pdf",
                on_click="ignore",
            )
        elif running(PDF) is None:
            st.button("Make the PDF", on_click=_begin_pdf, args=(found,), key="make-comparison-pdf")
    show_work(PDF, partial(setattr, session, "comparison_pdf"), what="the PDF")


def _begin_pdf(found: Comparison) -> None:
    def make(tell: Callable[..., None]) -> tuple[Comparison, bytes]:
        tell(0.1, "")
        return found, sheet_pdf(ranked_html(found))

    begin(PDF, "Making the PDF, some seconds.", make)


def _table(found: Comparison) -> Marked:
    """The ranking as it stands in the print; the place names its row."""
    _, letters = place_notes(found.ranked, found.flags)
    heads = [HEADS[1], HEADS[0], *HEADS[2:]]
    rows = []
    for one, mine in zip(found.ranked, letters, strict=True):
        rank, name, *rest = table_cells(one, mine)
        rows.append((name, rank, *rest))
    caption = "Hardest hit first; in brackets the ranks a place may have; letters: the doubts above."
    return table(caption, heads, rows, numbers=[heads.index(one) for one in NUMBERS], kind="stack ranking")


def _doubts(found: Comparison) -> Marked:
    """What to doubt, before a table that may be long."""
    notes, _ = place_notes(found.ranked, found.flags)
    return (
        '<h3>What to doubt</h3><div class="two">'
        + doubts([*(f"{note.letter}: {note.words}" for note in notes), *found.flags])
        + doubts(found.notes, word="Note")
        + "</div>"
    )


def _below(found: Comparison) -> Marked:
    """What the figures mean, and the rows without an answer."""
    left_out = (
        f"Row {one.row}{f', {one.name}' if one.name else ''}: {one.reason}" for one in found.left_out[:50]
    )
    return f'<p class="note">{say(RANK_NOTE)}</p>{caution(CAUTION)}' + doubts(left_out, word="Left out")
