"""The place: map, rose, months, and what the record is worth.

Derived from the planner's question, and the first thing a designer asks of a new plot. The map answers for the
region, the rose for the way each wall may face, the months for when; the doubts of the record stand beside them,
never folded. The rose carries no class: a class belongs to a wall, after its own factors.
"""

import time

import streamlit as st

from exposure.draw.assessment_pictures import months_of, rose_of
from exposure.draw.months import months_sentence
from exposure.figures import band_words, degrees, litres
from exposure.page.choices.address import asks, choices, writes
from exposure.page.choices.answer import Answer, find_answer, rose_of_place
from exposure.page.choices.inputs import region_figure, spot_in_use
from exposure.page.choices.session import session
from exposure.page.choices.state import MEASURES, WORST, PageState
from exposure.page.markup import PHONE, Marked, either, folded, plate, say, table
from exposure.page.parts.map_panel import show_map
from exposure.page.parts.record_quality import record_quality
from exposure.page.refuse import plain_words
from exposure.wall.building import compass_name

LET_GO = 0.05  # seconds
ROSE_CAPTION = (
    "Curve: rain on a wall in an open field facing that way, L/m²; shaded, its 90 % band. Ring: where the rain "
    "comes from. Ticks: this building's elevations. No classes here: they come after the wall's own factors."
)


@st.fragment
def show_place_part() -> None:
    """Redrawn alone when its switches change."""
    with plain_words("The place"):
        state = choices()
        _quick_words(state)
        if session.map_moved:
            del session.map_moved
            time.sleep(LET_GO)  # the figure leaves for the browser before the long part begins
            st.rerun(scope="app")
        answer = find_answer(state)
        _switches(state)
        spell = state.measure == "spell"
        with st.container(key="place-pair"):
            left, right = st.columns([1.7, 1])
        with left:
            show_map(answer, state)
        with right:
            roses = [rose_of(answer.assessment, spell=spell, size=size) for size in (420, PHONE)]
            st.html(answer.seal.whole.on(either(*roses, caption=ROSE_CAPTION, kind="rose")))
            st.html(answer.seal.on(_months(answer)))
        st.html(answer.seal.whole.on(folded("The rose as a table", _rose_table(answer, spell=spell))))
        if st.toggle("Can this record be trusted?", key="inspect-record"):
            st.html(record_quality(answer.record.climate))


def _quick_words(state: PageState) -> None:
    """The spot's figure from the region's index: a click is answered with it before the assessment is made."""
    spot = spot_in_use(state)
    found = region_figure(state, spot)
    if found is None:
        return
    value, way = found
    when = "in the worst spell in three years" if state.measure == "spell" else "a year"
    st.html(
        f'<p class="lead" id="spot">{say(spot.name)}: {say(litres(value))} L/m² {when} in an open field, '
        f"on a wall facing {say(compass_name(way))}.</p>"
    )


def _switches(state: PageState) -> None:
    """How the figures are told, and which way the map's walls face, where a raster of the region is drawn at all."""
    with st.container(horizontal=True, vertical_alignment="bottom", key="place-switches"):
        st.segmented_control(
            "Index",
            list(MEASURES),
            format_func=MEASURES.__getitem__,
            **asks("measure", state.measure, writes("measure")),
            required=True,
        )
        if region_figure(state, spot_in_use(state)) is None:
            return
        ways = [WORST, *(str(way) for way in range(0, 360, 30))]
        if state.facing not in ways:
            ways.append(state.facing)
        st.selectbox(
            "Map for walls facing",
            ways,
            format_func=_way_words,
            **asks("facing", state.facing, writes("facing")),
            width=320,
        )


def _way_words(way: str) -> str:
    return "the worst way, cell by cell" if way == WORST else f"{compass_name(float(way))}, {way}°"


def _months(answer: Answer) -> Marked:
    one = answer.chosen
    svg = months_of(one, width=PHONE)
    share = one.monthly_share
    trend = f'<p class="note">{say(answer.assessment.trend.sentence)}</p>' if answer.assessment.trend else ""
    if svg is None or share is None:
        return f"<p>No month of the {say(one.wall.name)} elevation is known.</p>{trend}"
    return (
        f"<h3>When it comes: share of the year on the {say(one.wall.name)}, %</h3>"
        + plate(svg, caption=months_sentence(share), size="fills")
        + trend
    )


def _rose_table(answer: Answer, *, spell: bool) -> Marked:
    curve, low, high = rose_of_place(answer, spell=spell)
    ways = answer.assessment.rose["orientation"].values
    rows = [
        (
            f"{compass_name(float(way))}, {degrees(float(way))}",
            litres(value),
            band_words((low[i], high[i])) if low is not None and high is not None else "",
        )
        for i, (way, value) in enumerate(zip(ways, curve, strict=True))
    ]
    unit = answer.worst.spell_label if spell else "a year"
    return table(
        f"Rain on a wall in an open field, L/m² {unit}", ["Facing", "L/m²", "90 % band"], rows, numbers=(1, 2)
    )
