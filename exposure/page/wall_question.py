"""Which elevation is worst, and what does it need?

Derived from the designer's question. In order of strength: which elevation, its class, what to build, millimetres
and pascals, and only then litres with their band. The chain shows each step from the open field to the wall, so
that a figure can be defended; the schedule stands in order of work, with its caution inside the same box.
"""

import streamlit as st

from exposure.page.address import choices, follow, writes
from exposure.page.answer import Answer, find_answer
from exposure.page.markup import Marked, doubts, figures, heading, plate, say
from exposure.page.refuse import plain_words
from exposure.page.three_answers import QUESTIONS, class_words
from exposure.show.assessment_pictures import chain_of, plan_of, plan_walls
from exposure.show.building_plan import plan_caption
from exposure.show.numbers import band_words, litres, litres_with_band, share_words
from exposure.wall import WallExposure


def show_wall_question() -> None:
    """The question's heading, and its answer as a part that is redrawn alone when an elevation is chosen."""
    st.html(heading(2, QUESTIONS[1]))
    _answered()


@st.fragment
def _answered() -> None:
    with plain_words("The elevations"):
        answer = find_answer(choices())
        st.html(f'<p class="lead">{say(lead(answer))}</p>')
        plan, side = st.columns([2, 1])
        with plan:
            st.html(_plan(answer))
        with side:
            _elevation_choice(answer)
            st.html(_figures(answer.chosen))
            st.html(_less_sure(answer.chosen))
        st.html(_chain(answer))


def lead(answer: Answer) -> str:
    """The answer in one sentence: elevation, class, figure, band, and how often it is the worst."""
    worst = answer.worst
    words = (
        f"The {worst.wall.name} elevation is worst: {class_words(worst)}, "
        f"{litres_with_band(worst.wall_spell_index, worst.spell_band)} in the worst spell in three years."
    )
    if len(answer.assessment.elevations) > 1 and worst.worst_share is not None:
        words += f" It comes out worst in {share_words(worst.worst_share)} resamples of the years."
    return words


def _plan(answer: Answer) -> Marked:
    walls = plan_walls(answer.assessment)
    chosen = answer.chosen.wall.name
    caption = plan_caption(walls, ring=True)
    wide = plan_of(answer.assessment, chosen=chosen)
    small = plan_of(answer.assessment, chosen=chosen, size=346, callouts=False, prefix="small-plan")
    return plate(wide, caption=caption, size="roomy") + plate(small, caption=caption, size="narrow")


def _elevation_choice(answer: Answer) -> None:
    names = [one.wall.name for one in answer.assessment.elevations]
    st.pills(
        "Elevation",
        names,
        key=follow("elevation", answer.chosen.wall.name),
        on_change=writes("elevation", "elevation"),
    )


def _figures(one: WallExposure) -> Marked:
    spell = band_words(one.spell_band)
    year = band_words(one.annual_band)
    return figures(
        [
            (
                "Worst spell in three years",
                litres(one.wall_spell_index),
                "L/m²",
                f"{spell}, {class_words(one)}".strip(", "),
            ),
            ("A year", litres(one.wall_annual_index), "L/m²", year),
        ]
    )


def _less_sure(one: WallExposure) -> Marked:
    return f"<h3>What else it could be</h3>{doubts(doubt.sentence for doubt in one.doubts)}"


def _chain(answer: Answer) -> Marked:
    one = answer.chosen
    sector = f'<p class="note">{say(one.sector_note)}</p>' if one.sector_note else ""
    return (
        f"<h3>From the open field to the {say(one.wall.name)} wall</h3>"
        + plate(chain_of(one), size="roomy")
        + plate(chain_of(one, narrow=True, width=346, prefix="up"), size="narrow")
        + sector
    )
