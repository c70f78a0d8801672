"""Which walls of a town are hit hardest: the answer, a map of every wall by class, shares, the worst buildings, files.

Derived from the planner's question. A town is worked out beside the page, with its progress and a Stop; the one before stays
and says so.
"""

from functools import partial
from typing import Any

import streamlit as st

from exposure.page.choices.state import PageState
from exposure.page.choices.town_asked import TOWNS_MADE, FoundTown, TownAsked, asked_town
from exposure.page.forms.town_form import show_town_form
from exposure.page.markup import Marked, caution, doubts, either, say, table
from exposure.page.refuse import plain_words
from exposure.page.work.town_work import MAP, MAP_ALONE, PRINT

TITLE = "Which walls of this town are hit hardest?"
NOTHING = (
    "Open a file of footprints, or take the invented town. Each outer wall is worked out as one building's wall is: its length "
    "and bearing, the ground and hills round it, the neighbours in the file; with the weather chosen above."
)
FILES = (
    ("Print (HTML)", PRINT, "text/html"),
    ("Save as GeoPackage", "district.gpkg", "application/geopackage+sqlite3"),
    ("Walls as CSV", "walls.csv", "text/csv"),
    ("Buildings as CSV", "buildings.csv", "text/csv"),
    ("The map (HTML)", MAP_ALONE, "text/html"),
)
LEFT_OUT_FILE = ("Left out as CSV", "left_out.csv", "text/csv")


def show_town_page(state: PageState) -> None:
    """The page; while a town is worked out the one before stays."""
    st.html(f"<h2>{TITLE}</h2>")
    with plain_words("The town"):
        if not state.town:
            st.html(f"<p>{say(NOTHING)}</p>")
        with st.container(key="asked-town"):  # a refusal stands above the line, clear of its Change
            asked = _asked(state)
        with st.container(key="town-asked"):
            nothing = "This town gives no answer yet." if state.town else "No town is chosen yet."
            line = nothing if asked is None else asked.title
            st.html(f'<p class="inputs"><span>{say(line)}</span>{_weather(asked)}</p>')
            with st.expander("Change the town", key="change-town", expanded=asked is None and not state.town):
                show_town_form(state)
        if asked is None:
            return
        shown = TOWNS_MADE.show(asked)
        if shown is not None:
            _show(shown)


def _asked(state: PageState) -> TownAsked | None:
    """What is asked; a refusal stands in the page, and the form below it stays to mend it."""
    with plain_words("The town"):
        return asked_town(state)
    return None


def _weather(asked: TownAsked | None) -> Marked:
    return "" if asked is None else f"<span>{say(asked.weather)}</span>"


def _show(found: FoundTown) -> None:
    shown = found.shown
    st.html(f'<p class="lead" role="status">{say(shown["lead"])}</p>')
    if shown["left_out_count"]:
        st.html(f'<p class="note">{say(_left_out(shown["left_out_count"]))}</p>')
    with st.container(key="town-map"):
        st.iframe(found.words_of(MAP), height=700, alt=f"Map of every wall by class. {shown['lead']}")
    _files(found)
    st.html(
        either(shown["bars"], shown["narrow_bars"], caption=shown["how"], kind="bars")
        + table(
            shown["share_caption"],
            shown["share_heads"],
            shown["shares"],
            numbers=range(1, len(shown["share_heads"])),
            kind="stack shares",
        )
        + _weights(shown)
        + caution(shown["caution"])
        + '<h2>What to doubt</h2><div class="two">'
        + doubts(shown["left_out"], word="Left out")
        + doubts(shown["doubts"])
        + doubts(shown["sources"], word="Source")
        + "</div>"
    )


def _weights(shown: dict[str, Any]) -> Marked:
    if not shown["weights"]:
        return Marked("")
    heads = shown["weight_heads"]
    return table(
        shown["weight_caption"], heads, shown["weights"], numbers=range(1, len(heads)), kind="stack shares"
    )


def _left_out(count: int) -> str:
    if count == 1:
        return "One building is left out; why stands below and in a table of its own."
    return f"{count:,} buildings are left out; why stands below and in a table of its own."


def _files(found: FoundTown) -> None:
    wanted = [*FILES, LEFT_OUT_FILE] if found.shown["left_out_count"] else FILES
    with st.container(horizontal=True, key="town-files"):
        for words, name, kind in wanted:
            st.download_button(
                words,
                partial(found.bytes_of, name),
                name,
                kind,
                key=f"take-town-{name}",
                on_click="ignore",
                type="primary" if name == PRINT else "secondary",
            )
