"""Which town: a file of footprints, or the invented one; and what its file does not tell.

Derived from the planner's question: the footprints are the planner's own, and seldom tell every height.
"""

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.checks import RefusalError
from exposure.page.choices.address import asks, choose, writes
from exposure.page.choices.state import INVENTED_TOWN, SQUARES, TERRAINS, PageState
from exposure.page.choices.town_asked import AREAS, LARGEST, TOWNS, keep_file
from exposure.page.held import Held
from exposure.page.markup import say
from exposure.page.refuse import Refused, show_refused
from exposure.page.work.town_work import MOST

_REFUSED: Refused = Held("refused-town-file", None)
ENDINGS = ["gpkg", "geojson", "json"]
HINT = (
    "Outlines of buildings as GeoPackage or GeoJSON, with height [m] or storeys; where you know them also roof, eaves [mm], "
    f"terrain and name. Up to {MOST:,} buildings and {LARGEST} MB; it stays on this server while the page is open; a reload loses it."
)
GROUND_WORDS = {
    "": "not told",
    "I": "I: sea, lake or flat open ground",
    "II": "II: farmland with few buildings",
    "III": "III: suburb or wood",
    "IV": "IV: town",
}
SQUARE_WORDS = {0.0: "of the whole alone"} | {size: f"of squares of {size:g} m" for size in SQUARES}


def show_town_form(state: PageState) -> None:
    """Everything that changes which walls are worked out, and over which areas they are summed."""
    show_refused(_REFUSED, "The file")
    left, right = st.columns(2, gap="large")
    with left:
        _uploader("Open footprints", TOWNS)
        st.html(f'<p class="note">{say(HINT)}</p>')
        if state.town != INVENTED_TOWN:
            st.button(
                "Take the invented town", on_click=choose, kwargs={"town": INVENTED_TOWN}, key="invented-town"
            )
        st.selectbox("Shares", list(SQUARE_WORDS), format_func=SQUARE_WORDS.__getitem__,
                     disabled=bool(state.town_areas), **asks("town-squares", state.town_squares, writes("town_squares")))  # fmt: skip
        _uploader("Or shares of your districts: polygons with a name", AREAS)
        if state.town_areas:
            st.button("Leave the districts out", on_click=choose, kwargs={"town_areas": ""})
    with right:
        st.number_input(
            "Height of buildings that tell none, m",
            2.0,
            200.0,
            step=0.5,
            format="%g",
            placeholder="leave them out",
            **asks("town-height", state.town_height, writes("town_height"), may_be_none=True),
        )
        st.text_input(
            "Property that holds the height, where it has another name",
            max_chars=60,
            placeholder="height",
            **asks("town-column", state.town_column, writes("town_column", str.strip)),
        )
        st.text_input(
            "Property to sum buildings by, such as their dwellings",
            max_chars=60,
            placeholder="none",
            **asks("town-weight", state.town_weight, writes("town_weight", str.strip)),
        )
        st.selectbox(
            "Ground round buildings that tell none",
            ["", *TERRAINS],
            format_func=GROUND_WORDS.__getitem__,
            **asks("town-ground", state.town_ground, writes("town_ground")),
            help="Not told, the invented island's map of the ground is taken with its weather; elsewhere open ground, the "
            "harder side.",
        )


def _uploader(label: str, kind: str) -> None:
    field: Held[UploadedFile | None] = Held(f"{kind}-file", None)

    def take() -> None:
        given = field.value
        if given is None:
            return
        try:
            mark = keep_file(kind, given.name, given.getvalue())
        except RefusalError as refused:
            _REFUSED.put(refused)
            return
        choose(**({"town": mark} if kind == TOWNS else {"town_areas": mark}))

    st.file_uploader(label, type=ENDINGS, key=field.key, max_upload_size=LARGEST, on_change=take)
