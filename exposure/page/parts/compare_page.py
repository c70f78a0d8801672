"""How places compare: who is hit hardest in a sentence, ranked bars, a map with the ranks, the table, its own print.

Derived from the planner's question. One wall stands on every place; where bands meet the sentence says so, never a bare
rank; what decides the order and what to doubt stand beside it.
"""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import streamlit as st

from exposure.checks import RefusalError
from exposure.map.place_map import INVENTED_NOTICE, MapState, show_place_map
from exposure.page.choices.compare_files import LIST, TITLES, held_files, leave_out_missing, missing_files
from exposure.page.choices.inputs import SpotInUse, spot_in_use
from exposure.page.choices.places_asked import COMPARISONS, asked_places
from exposure.page.choices.session import session
from exposure.page.choices.state import PageState
from exposure.page.forms.places_form import show_places_form
from exposure.page.markup import Marked, caution, doubts, either, refusal, say, table
from exposure.page.parts.map_panel import coast_of_island
from exposure.page.refuse import plain_words
from exposure.page.work.asked import Asked
from exposure.page.work.compared import LEFT_OUT, PRINT, Compared
from exposure.page.work.long_work import begin, running, show_work
from exposure.paper.pdf import sheet_pdf

PDF = "compare-pdf"
NUMBERS = ("A year, L/m²",)
FILES = (
    ("Print (HTML)", PRINT, "text/html"),
    ("Save as CSV", "comparison.csv", "text/csv"),
    ("Save as GeoPackage", "comparison.gpkg", "application/geopackage+sqlite3"),
    ("Save as JSON", "comparison.json", "application/json"),
)
LEFT_OUT_FILE = ("Rows left out (CSV)", LEFT_OUT, "text/csv")


def show_compare_page(state: PageState) -> None:
    """The page; while a comparison is made the one before stays, and says so."""
    st.html("<h2>How do these places compare?</h2>")
    with plain_words("The comparison"):
        spot = spot_in_use(state)
        with st.container(key="asked-places"):
            asked = _asked(state, spot)
        with st.container(key="places"):
            line = "These places give no answer yet." if asked is None else asked.title
            st.html(
                f'<p class="inputs"><span>{say(line)}</span><span>{say(state.reference)}</span>{_files(state)}</p>'
            )
            form = st.expander("Change the places", key="change-places")
        with plain_words("The comparison"):
            shown = None if asked is None else COMPARISONS.show(asked)
            if shown is not None:
                _show(shown)
        with form:  # filled last: nobody waits for it
            show_places_form(state, spot)


def _asked(state: PageState, spot: SpotInUse) -> Asked[Compared] | None:
    """What is asked; a refusal stands in the page, and the form below it stays to mend it."""
    try:
        return asked_places(state, spot)
    except RefusalError as refused:
        st.html(refusal(refused, what="the comparison"))
        if missing_files(state):
            st.button("Leave them out", on_click=leave_out_missing, key="leave-files-out")
    return None


def _files(state: PageState) -> Marked:
    """The reader's own files in force, each with what it tells."""
    return "".join(
        f"<span>{TITLES[kind]}: {say(one.name)}</span>"
        for kind, one in sorted(held_files(state).items())
        if kind != LIST
    )


def _show(found: Compared) -> None:
    shown = found.shown
    st.html(f'<p class="lead" role="status">{say(shown["lead"])}</p>')
    left, right = st.columns([1.35, 1])
    with left:
        st.html(either(shown["bars"], shown["narrow_bars"], caption=shown["caption"], kind="bars"))
    with right:
        show_place_map(_map(shown), key="compare-map", height=430)
        st.html('<p class="note">The numbers are ranks; equal places share one.</p>')
    _buttons(found)
    st.html(doubts_of(shown) + ranking(shown) + _below(shown))


def _map(shown: Mapping[str, Any]) -> dict[str, Any]:
    """The places with their ranks as numbers, on the island's coast or on the world's."""
    invented = shown["invented"]
    return MapState(
        label=f"Map of the places compared, numbered by rank. {shown['lead']}",
        **shown["map"],
        coast=coast_of_island() if invented else None,
        notice=INVENTED_NOTICE if invented else "",
        clickable=False,
    ).data()


def _buttons(found: Compared) -> None:
    """The print of its own, and the ranking for other programs."""
    wanted = [*FILES, LEFT_OUT_FILE] if found.shown["left_out"] else FILES
    with st.container(horizontal=True, key="comparison-files"):
        for words, name, kind in wanted:
            st.download_button(
                words,
                partial(found.file, name),
                name,
                kind,
                key=f"take-{name}",
                on_click="ignore",
                type="primary" if name == PRINT else "secondary",
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


def _begin_pdf(found: Compared) -> None:
    def make(tell: Callable[..., None]) -> tuple[Compared, bytes]:
        tell(0.1, "")
        html = found.file(PRINT)
        return found, sheet_pdf(html if isinstance(html, str) else html.decode())

    begin(PDF, "Making the PDF, some seconds.", make)


def ranking(shown: Mapping[str, Any]) -> Marked:
    """The ranking as it stands in the print; the place names its row."""
    heads = shown["heads"]
    caption = "Hardest hit first; in brackets the ranks a place may have; letters: the doubts above."
    numbers = [heads.index(one) for one in NUMBERS]
    return table(caption, heads, shown["rows"], numbers=numbers, kind="stack ranking")


def doubts_of(shown: Mapping[str, Any]) -> Marked:
    """What to doubt, before a table that may be long."""
    return (
        '<h3>What to doubt</h3><div class="two">'
        + doubts(shown["doubts"])
        + doubts(shown["notes"], word="Note")
        + "</div>"
    )


def _below(shown: Mapping[str, Any]) -> Marked:
    """What the figures mean, and the rows without an answer."""
    told = f'<p class="note">{say(shown["rank_note"])}</p>{caution(shown["caution"])}'
    return told + doubts(shown["left_out"], word="Left out")
