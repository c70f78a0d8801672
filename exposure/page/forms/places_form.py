"""Which places are compared: named ones, positions typed, the place in force, or a list that is opened; and by which wall.

Derived from the planner's question: the candidates are the planner's own. What is chosen one by one travels in the
address; a list stays in the session.
"""

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.checks import RefusalError
from exposure.invented.geography import places
from exposure.page.choices.address import asks, choices, choose, writes
from exposure.page.choices.compare_files import (
    COVER,
    ENDINGS,
    GRID,
    GROUND,
    LIST,
    MEGABYTES,
    NEIGHBOURS,
    TITLES,
    held_files,
    keep_files,
)
from exposure.page.choices.inputs import INVENTED_RECORD, SpotInUse, home_of, spot_in_use
from exposure.page.choices.places_asked import chosen_spots, label_of, same_place
from exposure.page.choices.query import read_spot, spot_name, write_spot
from exposure.page.choices.state import MOST_PLACES, NamedSpot, PageState
from exposure.page.forms.place_form import POSITION_LABEL
from exposure.page.forms.record_form import KIND_WORDS, RAIN_WORDS, ROWS_HINT
from exposure.page.held import Held
from exposure.page.markup import plain_label, say
from exposure.page.refuse import Refused, show_refused
from exposure.page.work.compare_work import MOST_ROWS
from exposure.site.position_text import EXAMPLE, read_position
from exposure.site.site_list import HEADER
from exposure.wall.building import wall_shapes

_REFUSED: Refused = Held("refused-spot", None)
_UNFIT: Refused = Held("refused-compare-file", None)
_POSITION: Held[str] = Held("add-position", "")
_NAME: Held[str] = Held("add-name", "")
SAYS = {
    GRID: "NetCDF, one file or several",
    GROUND: "GeoTIFF, metres above sea",
    COVER: "GeoTIFF",
    NEIGHBOURS: "GeoPackage or GeoJSON",
}
HINTS = {
    GRID: "Hourly rain and wind, ERA5 or alike; each place takes its nearest cell. Large stores: exposure compare in the terminal.",
    GROUND: "Tells hills and cliffs. Without it the ground is flat, and that is doubted.",
    COVER: "ESA WorldCover classes. Without it the hardest ground is taken, and that is doubted.",
    NEIGHBOURS: "Footprints with height or storeys. Without them the wall stands in the open.",
}
EXAMPLE_LIST = (
    f"{HEADER}\nHarbour road,48.44,-29.68,,,\nUpper field,48.60,-29.40,III,120,two-storey gable\n"
    'Mill,48° 33′ N,29° 28′ W,"I,I,II,II,II,III,III,III,II,II,I,I",,\n'
)
KEPT_WORDS = "Files stay on this server while the page is open; a reload loses them, so keep them at hand."
HINT = (
    "CSV with name, latitude and longitude; where you know them also terrain (I to IV), ground_height [m] and wall. "
    f"GeoJSON of points works too. Up to {MOST_ROWS} sites and {MEGABYTES[LIST]} MB."
)


def show_places_form(state: PageState, spot: SpotInUse) -> None:
    """Everything that changes what is compared."""
    show_refused(_REFUSED, "The place to add")
    left, right = st.columns(2, gap="large")
    with left:
        st.selectbox(
            "Wall put on every place",
            wall_shapes(),
            **asks("reference", state.reference, writes("reference")),
            help="One wall, turned to face each of twelve ways; its hardest facing counts. No neighbours but those you give.",
        )
        _chosen_places(state, spot)
    with right:
        show_refused(_UNFIT, "The file")
        st.html(f'<p class="note">{say(KEPT_WORDS)}</p>')
        _own_file(state, LIST, "Or open a list of sites")
        st.html(f'<p class="note">{say(HINT)}</p>')
        st.download_button(
            "An example list",
            EXAMPLE_LIST,
            "sites.csv",
            "text/csv",
            key="site-list-example",
            on_click="ignore",
        )
        st.html("<h3>Weather, ground and buildings of your own</h3>")
        for kind in (GRID, GROUND, COVER, NEIGHBOURS):
            _own_file(state, kind, f"{TITLES[kind]} ({SAYS[kind]})")
            if kind == GRID and GRID in held_files(state):
                _told_of_grid(state)


def _chosen_places(state: PageState, spot: SpotInUse) -> None:
    chosen = chosen_spots(state, spot)
    here = NamedSpot(round(spot.latitude, 5), round(spot.longitude, 5))
    offered = [*chosen, here]
    if state.record == INVENTED_RECORD:
        offered += [NamedSpot(*home_of(place.name)) for place in places()]
    keys = list(dict.fromkeys(write_spot(one) for one in offered))
    if LIST in held_files(state):
        st.html('<p class="note">The list is compared; the places below count again once it is left out.</p>')
    st.multiselect(
        f"Places, up to {MOST_PLACES}",
        keys,
        **asks("compare-places", [write_spot(one) for one in chosen], _keep_chosen),
        format_func=lambda key: label_of(state, read_spot(key)),
        max_selections=MOST_PLACES,
        help="Take one off with its cross; type to find a named place. They stand in the address.",
    )
    if not any(same_place(one, here) for one in chosen):
        st.button(
            f"Add the place in force: {plain_label(spot.name)}", on_click=_add, args=(here,), key="add-here"
        )
    with st.form("add-place", border=False):
        st.text_input(POSITION_LABEL, key=_POSITION.key, placeholder=EXAMPLE)
        st.text_input("Its name, if you like", key=_NAME.key, max_chars=40)
        st.form_submit_button("Add it", on_click=_add_typed)


def _told_of_grid(state: PageState) -> None:
    """What the grid does not say itself."""
    left, right = st.columns(2, vertical_alignment="bottom")
    with left:
        st.selectbox(
            "Kind of record",
            list(KIND_WORDS),
            format_func=(KIND_WORDS | {"": RAIN_WORDS[""]}).__getitem__,
            **asks("grid-kind", state.grid_kind, writes("grid_kind")),
        )
    with right:
        st.selectbox(
            "How its rain adds up",
            list(RAIN_WORDS),
            format_func=RAIN_WORDS.__getitem__,
            **asks("grid-rain", state.grid_rain, writes("grid_rain")),
        )
    st.text_input(
        "Rows, when it holds several members",
        max_chars=60,
        placeholder="number=3",
        help=ROWS_HINT,
        **asks("grid-rows", state.grid_rows, writes("grid_rows", str.strip)),
    )


def _own_file(state: PageState, kind: str, title: str) -> None:
    """An uploader, and what is in force in its place."""
    field = _file(kind)
    own = held_files(state).get(kind)
    st.file_uploader(
        title,
        type=list(ENDINGS[kind]),
        accept_multiple_files=kind == GRID,
        key=field.key,
        max_upload_size=MEGABYTES[kind],
        help=HINTS.get(kind),
        on_change=_take_file,
        args=(kind,),
    )
    if own is not None:
        st.html(f'<p class="note">In force: {say(own.name)}.</p>')
        if not field.value:  # opened before another view was looked at: its cross is gone
            st.button(
                f"Leave out: {TITLES[kind].lower()}", on_click=keep_files, args=(kind, []), key=f"drop-{kind}"
            )


def _file(kind: str) -> Held[UploadedFile | list[UploadedFile] | None]:
    return Held(f"compare-{kind}-file", None)


def _take_file(kind: str) -> None:
    given = _file(kind).value
    several = given if isinstance(given, list) else [given] if given is not None else []
    try:
        keep_files(kind, [(one.name, one.getvalue()) for one in several])
    except RefusalError as refused:
        _UNFIT.put(refused)


def _keep_chosen(keys: list[str]) -> None:
    choose(places=tuple(read_spot(key) for key in keys))


def _add_typed() -> None:
    try:
        at = read_position(_POSITION.value)
        name = spot_name(_NAME.value)
        _add(NamedSpot(round(at[0], 5), round(at[1], 5), name))
    except RefusalError as refused:
        _REFUSED.put(refused)


def _add(new: NamedSpot) -> None:
    state = choices()
    chosen = chosen_spots(state, spot_in_use(state))
    if any(same_place(one, new) for one in chosen):
        _REFUSED.put(
            RefusalError("a place that is in the list already", "another place", "Type another position.")
        )
    elif len(chosen) >= MOST_PLACES:
        _REFUSED.put(
            RefusalError(
                f"a place more than {MOST_PLACES}",
                f"at most {MOST_PLACES} side by side",
                "Take one off first, or open a list of sites.",
            )
        )
    else:
        choose(places=(*chosen, new))
