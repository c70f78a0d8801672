"""How do these places compare?

Derived from the planner's question. Ranked bars with their bands over labelled class columns; where bands meet the
sentence says so, never a bare rank; what decides the order stands beside it. The comparison view lays the roses
side by side, all to one scale.
"""

from functools import partial

import streamlit as st

from exposure.page.address import follow, view_button, writes
from exposure.page.inputs import spot_in_use
from exposure.page.long_work import begin, running, show_work
from exposure.page.markup import Marked, Safe, caution, doubts, heading, plate, say, table, tally
from exposure.page.places_compared import (
    ComparedPlace,
    compare,
    comparison_key,
    known_comparison,
    places_to_compare,
)
from exposure.page.refuse import plain_words
from exposure.page.state import PageState
from exposure.page.take_along import show_comparison_buttons
from exposure.page.three_answers import QUESTIONS
from exposure.show.assessment_pictures import FACTOR_NAMES, rose_curves, rose_of
from exposure.show.comparison import answer_words, comparison_bars, comparison_sentence, ranked
from exposure.show.numbers import band_words, litres, share_words
from exposure.show.palette import CLASS_LOOKS
from exposure.show.rose import round_step
from exposure.show.sheet_words import class_words
from exposure.wall import WallExposure
from exposure.wall.building import compass_name, wall_shapes

WORK = "compare"
WAIT = ("Being worked out", "The other places are assessed beside this page; the answer appears here.")


def comparison_of(state: PageState) -> tuple[ComparedPlace, ...] | None:
    """The comparison for these choices; begun beside the page when it is not known yet."""
    spot = spot_in_use(state)
    pairs = places_to_compare(state, spot)
    key = comparison_key(state, pairs)
    known = known_comparison(key)
    if known is None and st.session_state.get("compare-asked") != key:
        st.session_state["compare-asked"] = key
        begin(WORK, "Comparing places:", partial(compare, key, state, pairs))
    return known


def compared_words(compared: tuple[ComparedPlace, ...] | None) -> tuple[str, str]:
    """Third answer in a few words, and its sentence."""
    if compared is None:
        return WAIT
    rows = [one.row for one in compared]
    home = next(one.name for one in compared if one.home)
    short, _, rest = answer_words(rows, home).rstrip(".").partition("; ")
    sentence = comparison_sentence(rows)
    more = f"{rest[:1].upper()}{rest[1:]}. " if rest else ""
    return short, f"{more}{sentence}"


def show_compare_question(compared: tuple[ComparedPlace, ...] | None) -> None:
    """The question on the desk: bars, what decides it, and the way to the comparison."""
    st.html(heading(3, QUESTIONS[2]))
    with plain_words("The comparison"):
        show_work(WORK, lambda _result: None, what="the comparison")
        if compared is None:
            return
        st.html(f'<p class="lead">{say(comparison_sentence([one.row for one in compared]))}</p>')
        left, right = st.columns([1.6, 1])
        with left:
            st.html(_bars(compared))
        with right:
            st.html(_decides(compared))
            view_button("Lay the roses side by side", "compare")


def show_compare_view(state: PageState) -> None:
    """The comparison view: one wall on every place, roses to one scale, bars, and the same as a table."""
    st.html(heading(3, QUESTIONS[2]))
    with plain_words("The comparison"):
        compared = comparison_of(state)
        st.selectbox(
            "Wall put on every place",
            wall_shapes(),
            key=follow("reference", state.reference),
            on_change=writes("reference", "reference"),
            help="One wall, turned to face each of twelve ways, without neighbours; its hardest facing counts.",
        )
        show_work(WORK, lambda _result: None, what="the comparison")
        if compared is None:
            return
        st.html(f'<p class="lead">{say(comparison_sentence([one.row for one in compared]))}</p>')
        _roses(compared)
        st.html(_bars(compared, width=1100))
        st.html(_table(compared))
        show_comparison_buttons(compared)
        st.html(
            caution(
                "A place's class is the class of this one wall there, not of the buildings that stand there."
            )
        )
        st.html(
            doubts(dict.fromkeys(flag for one in compared for flag in one.assessment.index.attrs["flags"]))
        )


def _doubts(compared: tuple[ComparedPlace, ...]) -> list[str]:
    """Doubts that hold for all places once, the others with their place."""
    told = [list(one.assessment.flags) for one in compared]
    common = [flag for flag in told[0] if all(flag in other for other in told)]
    own = [
        f"{one.name}: {flag}"
        for one, flags in zip(compared, told, strict=True)
        for flag in flags
        if flag not in common
    ]
    return [*common, *own]


def still_comparing() -> bool:
    """Whether a comparison is being worked out."""
    return running(WORK) is not None


def _in_order(compared: tuple[ComparedPlace, ...]) -> list[ComparedPlace]:
    order = [row.name for row in ranked([one.row for one in compared])]
    return sorted(compared, key=lambda one: order.index(one.name))


def _bars(compared: tuple[ComparedPlace, ...], *, width: int = 760) -> Marked:
    home = next(one.name for one in compared if one.home)
    rows = [one.row for one in compared]
    return plate(
        comparison_bars(rows, home=home, width=width),
        caption="One reference wall on every place, its hardest facing. Stems: 90 % band of the years.",
        size="scroll",
    )


def _decides(compared: tuple[ComparedPlace, ...]) -> Marked:
    rows = [
        (one.name, litres(one.assessment.worst.airfield_annual_index), _ground_words(one.assessment.worst))
        for one in _in_order(compared)
    ]
    return "<h3>What decides it</h3>" + table(
        "The same wall on each place: open field, L/m² a year, then ground and hill",
        ["Place", "Open field", "Then"],
        rows,
        numbers=(1,),
    )


def _ground_words(one: WallExposure) -> str:
    return "; ".join(f"{FACTOR_NAMES[factor.name]} × {factor.value:.2f}" for factor in one.factors[:2])


def _roses(compared: tuple[ComparedPlace, ...]) -> None:
    order = _in_order(compared)
    curves = [rose_curves(one.assessment) for one in order]
    top = max(max(high or curve) for curve, _, high in curves)
    step = round_step(top)
    columns = st.columns(3)
    for place, one in enumerate(order):
        worst = one.assessment.worst
        svg = rose_of(
            one.assessment, size=224, small=True, top=top, step=step, walls=False, prefix=f"rose-{place}"
        )
        with columns[place % 3]:
            st.html(
                f'<div class="place-rose">{plate(svg)}<div><h3>{place + 1} {say(one.name)}</h3>'
                f"{tally(CLASS_LOOKS[worst.exposure_class].rank, class_words(worst))}"
                f"<p>facing {say(compass_name(worst.wall.orientation))}</p>"
                f'<p class="note">{say(litres(worst.airfield_annual_index))} L/m² a year in an open field facing so; '
                f"{say(_ground_words(worst))}</p></div></div>"
            )
    st.html(
        f'<p class="note">All roses to one scale, rings each {litres(step)} L/m² a year in an open field. Curve: by the '
        "way a wall faces. Ring of strokes: where the rain comes from.</p>"
    )


def _table(compared: tuple[ComparedPlace, ...]) -> Marked:
    order = _in_order(compared)
    rows = []
    for place, one in enumerate(order, start=1):
        worst = one.assessment.worst
        factors = " × ".join(f"{factor.value:.2f}" for factor in worst.factors)
        rows.append(
            (
                place,
                Safe(f"<b>{say(one.name)}</b>"),
                class_words(worst),
                litres(worst.wall_spell_index),
                band_words(worst.spell_band),
                litres(worst.wall_annual_index),
                compass_name(worst.wall.orientation),
                factors,
                share_words(worst.worst_share),
                worst.doubts[0].sentence if worst.doubts else "",
            )
        )
    return table(
        "The same as a table. Factors: ground × hill × neighbours × wall shape.",
        [
            "Rank",
            "Place",
            "Class of the wall",
            "Worst spell, L/m²",
            "Band",
            "A year, L/m²",
            "Facing",
            "Factors",
            "Facing so is worst",
            "Widest doubt",
        ],
        rows,
        numbers=(3, 4, 5),
    )
