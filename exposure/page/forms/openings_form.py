"""Ways to make the openings list: a file, or one size after another.

Derived from the builder's question what to have on site: a small job has a handful of windows, and nobody wants to
write a file for them; a large one has its list already.
"""

import csv
import io
from collections.abc import Sequence
from typing import Any

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.assess.openings import check_openings
from exposure.checks import RefusalError
from exposure.detail.openings import Opening
from exposure.detail.window_class import rating_of
from exposure.page.choices.address import choices, choose
from exposure.page.choices.answer import find_answer
from exposure.page.choices.own_files import (
    LARGEST,
    MOST_LINES,
    OPENINGS,
    check_size,
    keep,
    kept,
    on_walls,
    openings_of,
    read_own,
)
from exposure.page.choices.session import OwnFile
from exposure.page.choices.state import PageState, short_name
from exposure.page.held import Held, HeldEach
from exposure.page.refuse import Refused, show_refused

COLUMNS = ("elevation", "width", "height", "count", "door", "rated")
WINDOW, DOOR, LEVEL_DOOR = "window", "door", "door, level threshold"
TYPED = "typed here"
LIST = "The openings list"
REFUSED: Refused = Held("refused-openings", None)
_FILE: Held[UploadedFile | None] = Held("openings-file", None)
_SIZES: HeldEach[Any] = HeldEach("opening-", None)  # each has its own type
_RATED: Held[str] = Held("opening-rated", "")
_OUT: Held[int | None] = Held("opening-out", None)
_CHANGED: Held[bool] = Held("openings-opened", False)  # the list, since the page was drawn


def show_ways_in(state: PageState, elevations: list[str]) -> None:
    """Open a list, add one size, take a line out; the whole page is drawn again when the list changed."""
    show_refused(REFUSED, LIST)
    st.file_uploader(
        f"Open an openings list (CSV, up to {LARGEST[OPENINGS] // 1000} kB and {MOST_LINES} lines)",
        type=["csv", "txt"],
        key=_FILE.key,
        max_upload_size=1,
        on_change=_open,
        help=f"First line: {', '.join(COLUMNS)}. Sizes in mm; count, door and rated may be left out; door is yes, no or level (a level threshold); rated in Pa or as a class. Rooflights are not in it.",
    )
    with st.form("opening", border=False):
        st.html("<h3>Or add openings one size at a time</h3>")
        first, second, third = st.columns(3)
        with first:
            st.selectbox("On the elevation", elevations, key=_SIZES["elevation"].key)
            st.selectbox("Kind", [WINDOW, DOOR, LEVEL_DOOR], key=_SIZES["kind"].key)
        with second:
            st.number_input("Width, mm", 100, 20_000, 1200, 50, key=_SIZES["width"].key)
            st.number_input("Height, mm", 100, 20_000, 1200, 50, key=_SIZES["height"].key)
        with third:
            st.number_input("How many", 1, 500, 1, key=_SIZES["count"].key)
            st.text_input(
                "Offered, rated to (Pa or class)", key=_RATED.key, max_chars=12, placeholder="not known"
            )
        pressed = st.form_submit_button("Add to the list", on_click=_add)
    lines = _lines(state)
    if lines:
        names = [f"{number}. {_line_words(one)}" for number, one in enumerate(lines, start=1)]
        left, right = st.columns([2, 1], vertical_alignment="bottom")
        with left:
            st.selectbox("Take a line out", range(len(lines)), format_func=names.__getitem__, key=_OUT.key)
        with right:
            pressed = st.button("Take it out", on_click=_take_out) or pressed
    if pressed or _CHANGED.take():
        st.rerun(scope="app")


def _line_words(one: Opening) -> str:
    rated = "" if one.rated is None else f", rated {one.rated:g} Pa"
    kind = (DOOR if one.door else WINDOW) + ("" if one.count == 1 else "s")
    rated = f", level{rated}" if one.level else rated
    return f"{one.count} {kind} {one.width:g} by {one.height:g} mm, {one.elevation}{rated}"


def _lines(state: PageState) -> tuple[Opening, ...]:
    own = kept(state.openings)
    return () if own is None else openings_of(own.text)


def _open() -> None:
    given = _FILE.value
    if given is None:
        return
    try:
        check_size(OPENINGS, given.size)
        _use(read_own(OPENINGS, given.getvalue(), given.name))
    except RefusalError as refused:
        REFUSED.put(refused)


def _add() -> None:
    told = {name: _SIZES[name].value for name in ("elevation", "width", "height", "count", "kind")}
    rated = _RATED.value.strip()
    try:
        one = Opening(
            told["elevation"],
            float(told["width"]),
            float(told["height"]),
            int(told["count"]),
            told["kind"] != WINDOW,
            rating_of(rated, "the rating") if rated else None,
            level=told["kind"] == LEVEL_DOOR,
        )
        _use(OwnFile(OPENINGS, TYPED, openings_text([*_lines(choices()), one])))
    except RefusalError as refused:
        REFUSED.put(refused)


def _take_out() -> None:
    lines = list(_lines(choices()))
    place = _OUT.value
    if isinstance(place, int) and 0 <= place < len(lines):
        del lines[place]
    choose(openings=keep(OwnFile(OPENINGS, TYPED, openings_text(lines))) if lines else "")


def _use(own: OwnFile) -> None:
    """Take a list into use, once it stands on the walls of the building in force."""
    walls = find_answer(choices()).building.walls
    check_openings(on_walls(openings_of(own.text), walls), walls)
    choose(openings=keep(own))
    _CHANGED.put(True)


def openings_text(openings: Sequence[Opening]) -> str:
    """Openings as the text of a list, as :func:`exposure.detail.openings.read_openings` takes it.

    Examples
    --------
    >>> openings_text([Opening("north", 900.0, 1200.0, 2, rated=300.0)]).splitlines()[1]
    'north,900,1200,2,no,300'
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in openings:
        rated = "" if one.rated is None else f"{one.rated:g}"
        writer.writerow(
            [
                short_name(one.elevation),
                f"{one.width:g}",
                f"{one.height:g}",
                one.count,
                "level" if one.level else "yes" if one.door else "no",
                rated,
            ]
        )
    return text.getvalue()
