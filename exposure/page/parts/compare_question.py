"""How do these places compare?

Derived from the planner's question. Ranked bars with their bands over labelled class columns; where bands meet the
sentence says so, never a bare rank; what decides the order stands beside it. The comparison view lays the roses
of up to six places side by side, all to one scale, or ranks a list of sites.
"""

from functools import partial

import streamlit as st

from exposure.draw.assessment_pictures import FACTOR_NAMES, rose_curves, rose_of
from exposure.draw.comparison_bars import comparison_bars, narrow_bars
from exposure.draw.comparison_words import comparison_sentence, wall_sentence
from exposure.draw.palette import CLASS_LOOKS
from exposure.draw.place_rows import site_rank_words
from exposure.draw.rose import round_step
from exposure.export.ranked_files import CAUTION, RANK_NOTE
from exposure.figures import NO_BREAK, band_words, litres, share_words
from exposure.page.choices.address import asks, writes
from exposure.page.choices.inputs import record_in_use, spot_in_use
from exposure.page.choices.places_compared import (
    ComparedPlaces,
    compare,
    comparison_key,
    known_comparison,
    places_to_compare,
)
from exposure.page.choices.state import PageState
from exposure.page.forms.compare_form import show_places_form
from exposure.page.markup import Marked, Safe, caution, doubts, plate, say, table, tally
from exposure.page.parts.compare_files import show_comparison_files
from exposure.page.parts.site_list_panel import show_site_list
from exposure.page.refuse import plain_words
from exposure.page.work.long_work import begin, running, show_work
from exposure.wall import WallExposure
from exposure.wall.building import compass_name, wall_shapes

WORK = "compare"
WAIT = ("Being worked out", "The other places are assessed beside this page; the answer appears here.")
MODE = "compared how"  # of this session, so that it outlives a change of view
SIDE_BY_SIDE, LIST = "Side by side", "A list of sites"


def comparison_of(state: PageState) -> ComparedPlaces | None:
    """The comparison for these choices; begun beside the page when it is not known yet."""
    wanted = places_to_compare(state, spot_in_use(state))
    key = comparison_key(state, wanted)
    known = known_comparison(key)
    if known is None and st.session_state.get("compare-asked") != key:
        st.session_state["compare-asked"] = key
        begin(WORK, "Comparing places:", partial(compare, key, state, wanted))
    return known


def show_compare_view(state: PageState) -> None:
    """The comparison view: one wall on every place; up to six side by side, or a list."""
    st.html("<h2>How do these places compare?</h2>")
    with plain_words("The comparison"):
        spot = spot_in_use(state)
        mode = st.session_state.setdefault(MODE, SIDE_BY_SIDE)
        st.segmented_control(
            "What is compared",
            [SIDE_BY_SIDE, LIST],
            **asks("compare-mode", mode, partial(st.session_state.__setitem__, MODE)),
            required=True,
            label_visibility="collapsed",
        )
        listed = mode == LIST
        compared = None if listed else comparison_of(state)
        if compared is not None:
            st.html(f'<p class="lead">{say(comparison_sentence(compared.rows))}</p>')
        left, right = st.columns([1, 2])
        with left:
            st.selectbox(
                "Wall put on every place",
                wall_shapes(),
                **asks("reference", state.reference, writes("reference")),
                help="One wall, turned to face each of twelve ways, without neighbours; its hardest facing counts.",
            )
        with right:
            if listed:
                st.html(
                    '<p class="note">It stands on every site whose row names no other, in the weather in force.</p>'
                )
            else:
                show_places_form(state, spot)
        if listed:
            show_site_list(state, record_in_use(state, spot))
            return
        show_work(WORK, lambda _result: None, what="the comparison")
        if compared is not None:
            _side_by_side(compared)


def _side_by_side(compared: ComparedPlaces) -> None:
    st.html(_roses(compared))
    st.html(_bars_and_reasons(compared))
    st.html(_table(compared) + f'<p class="note">{say(RANK_NOTE)}</p>')
    show_comparison_files(compared.comparison, key="places")
    st.html(caution(CAUTION))
    st.html(
        doubts(
            (f"{one.name}: {one.reason}" for one in compared.comparison.left_out),
            word="Left out",
        )
        + doubts(compared.comparison.notes, word="Note")
        + doubts(_doubts(compared))
    )


def _doubts(compared: ComparedPlaces) -> list[str]:
    """Doubts about the weather of all places once, the others with their place."""
    common = compared.comparison.flags
    own = [
        f"{one.name}: {flag}"
        for one in compared.places
        for flag in one.ranked.site.flags
        if flag not in common
    ]
    return [*common, *own]


def still_comparing() -> bool:
    """Whether a comparison is being worked out."""
    return running(WORK) is not None


def _bars_and_reasons(compared: ComparedPlaces) -> Marked:
    caption = (
        f"{wall_sentence(compared.comparison)} Stems: 90 % band of the years. Behind a rank: its range in nine of ten "
        "resamples of the years."
    )
    bars = plate(comparison_bars(compared.rows, home=compared.home), caption=caption, size="bars-roomy")
    narrow = plate(narrow_bars(compared.rows, home=compared.home), caption=caption, size="bars-narrow")
    return f'<div class="bars-pair"><div>{bars}{narrow}</div><div>{_decides(compared)}</div></div>'


def _decides(compared: ComparedPlaces) -> Marked:
    rows = [
        (one.name, litres(one.assessment.worst.airfield_annual_index), _ground_words(one.assessment.worst))
        for one in compared.places
    ]
    return "<h3>What decides it</h3>" + table(
        "The same wall on each place: open field, L/m² a year, then ground and hill",
        ["Place", "Open field", "Then"],
        rows,
        numbers=(1,),
    )


def _ground_words(one: WallExposure) -> str:
    return "; ".join(f"{FACTOR_NAMES[factor.name]} × {factor.value:.2f}" for factor in one.factors[:2])


def _roses(compared: ComparedPlaces) -> Marked:
    curves = [rose_curves(one.assessment) for one in compared.places]
    top = max(max(high or curve) for curve, _, high in curves)
    step = round_step(top)
    cards = []
    for place, one in enumerate(compared.places):
        worst, ranked = one.assessment.worst, one.ranked
        svg = rose_of(
            one.assessment, size=224, small=True, top=top, step=step, walls=False, prefix=f"rose-{place}"
        )
        sure = "" if len(compared.places) == 1 else f"<p>rank {say(site_rank_words(ranked))}</p>"
        cards.append(
            f'<div class="place-rose">{plate(svg)}<div><h3>{place + 1}&ensp;{say(one.name)}</h3>'
            f"{tally(CLASS_LOOKS[worst.exposure_class].rank, ranked.site.in_words)}"
            f"{sure}<p>facing {say(compass_name(worst.wall.orientation))}</p>"
            f'<p class="note">{say(litres(worst.airfield_annual_index))} L/m² a year in an open field facing so; '
            f"{say(_ground_words(worst))}</p></div></div>"
        )
    return (
        f'<div class="place-roses">{"".join(cards)}</div>'
        f'<p class="note">All roses to one scale, rings each {litres(step)} L/m² a year in an open field. Curve: by the '
        "way a wall faces. Ring of strokes: where the rain comes from.</p>"
    )


def _table(compared: ComparedPlaces) -> Marked:
    rows = []
    for one in compared.places:
        worst, ranked = one.assessment.worst, one.ranked
        rows.append(
            (
                Safe(f"<b>{say(one.name)}</b>"),
                site_rank_words(ranked).replace(" ", NO_BREAK),
                ranked.site.in_words,
                litres(worst.wall_spell_index),
                band_words(worst.spell_band),
                litres(worst.wall_annual_index),
                compass_name(worst.wall.orientation),
                " × ".join(f"{factor.value:.2f}" for factor in worst.factors),
                "not known" if ranked.kept is None else share_words(ranked.kept),
                worst.doubts[0].sentence if worst.doubts else "",
            )
        )
    return table(
        "The same as a table. Factors: ground × hill × neighbours × wall shape.",
        [
            "Place",
            "Rank",
            "Class of the wall",
            "Worst spell, L/m²",
            "Band",
            "A year, L/m²",
            "Facing",
            "Factors",
            "Keeps its rank",
            "Widest doubt",
        ],
        rows,
        numbers=(3, 4, 5),
        kind="stack",
    )
