"""Which elevation is worst, and what does it need?

Derived from the designer's question. In order of strength: which elevation, its class, what to build, millimetres
and pascals, and only then litres with their band. The chain shows each step from the open field to the wall, so
that a figure can be defended; the schedule stands in order of work, with its caution inside the same box.
"""

import streamlit as st

from exposure.assess.details import BuildingDetails, ElevationDetails
from exposure.doubts import Doubt
from exposure.draw.assessment_pictures import FACTOR_NAMES, chain_of, plan_of, plan_walls
from exposure.draw.building_plan import plan_caption
from exposure.draw.marked import mark
from exposure.draw.site_pictures import ground_words, site_ring, view_plan
from exposure.figures import (
    NO_BREAK,
    band_words,
    degrees,
    litres,
    litres_with_band,
    millimetres,
    pascals,
    share_words,
)
from exposure.page.choices.address import asks, choices, view_button, writes
from exposure.page.choices.answer import Answer, details_mark, find_answer, find_details
from exposure.page.choices.own_inputs import own_inputs
from exposure.page.forms.what_differs import show_what_differs
from exposure.page.markup import Marked, Safe, doubts, figures, folded, heading, plate, say, table
from exposure.page.parts.assumed_panel import assumed_words
from exposure.page.parts.folding import Sealed, folded_part, let_go, words_of
from exposure.page.parts.openings_panel import show_missing_openings, show_openings
from exposure.page.parts.schedule_panel import level_strip, show_schedule
from exposure.page.parts.take_along import site_button
from exposure.page.parts.three_answers import NO_BAND, QUESTIONS, sure
from exposure.page.parts.wall_panels import show_panels
from exposure.page.parts.what_if_panel import show_what_ifs
from exposure.page.refuse import plain_words
from exposure.paper.sheet_words import class_words, details_class_words, limit_words, rank_words
from exposure.rain.pressure import head_of_water
from exposure.wall import WallExposure

DRAWN = "inputs of the walls as drawn"


def show_wall_question() -> None:
    """The question's heading, and its answer as a part that is redrawn alone when an elevation is chosen."""
    st.html(heading(2, QUESTIONS[1]))
    st.session_state.pop(DRAWN, None)
    _answered()


@st.fragment
def _answered() -> None:
    """What changes in words leaves first: figures and level, then the pictures, the schedule and what stands folded."""
    with plain_words("The elevations"):
        state = choices()
        answer = find_answer(state)
        _with_the_rest(answer)
        details = find_details(answer)
        one = details.of(answer.chosen.wall.name)
        words = Sealed(words_of(details_mark(answer), one.name), answer.seal)
        st.html(answer.seal.whole.on(f'<p class="lead">{say(lead(answer))}</p>'))
        plan, side = st.columns([2.1, 1])
        with side:
            _elevation_choice(answer)
            st.html(
                words.of(
                    "figures",
                    lambda: _figures(one) + level_strip(one.schedule) + assumed_words(answer, one.name),
                )
            )
        let_go("elevation", one.name)
        with plan:
            st.html(words.of("plan", lambda: _plan(answer)))
        with side:
            site_button(answer, details)
            view_button("Print the sheets", "print")
            st.html(words.of("less sure", lambda: _less_sure(answer.chosen)))
        show_schedule(one, words, lambda: _chain(answer))
        show_panels(details, one, state, words)
        st.html(answer.seal.whole.on(_details_doubts(answer, details, one)))
        show_missing_openings(answer)
        folded_part(
            "Windows and doors of this job: what to order, how much it takes", "openings", show_openings
        )
        folded_part(
            "As it stands, and if: neighbours, ground, roof, storeys, cladding", "what-ifs", show_what_ifs
        )
        show_what_differs(answer, state)
        folded_part(
            "Plan and chain as tables, lines of sight, ground by direction",
            "tables-of-walls",
            lambda: st.html(words.of("tables", lambda: _all_tables(answer))),
        )


def _with_the_rest(answer: Answer) -> None:
    """Draw the whole page again when a choice made in this part changed what the three answers say."""
    inputs = (answer.mark, own_inputs(answer.state, answer.building).mark)
    if st.session_state.setdefault(DRAWN, inputs) != inputs:
        st.rerun(scope="app")


def lead(answer: Answer) -> str:
    """The answer in one sentence: elevation, class, figure, band, and how often it is the worst."""
    worst = answer.worst
    return (
        f"The {worst.wall.name} elevation is worst: {class_words(worst)}, "
        f"{sure(litres_with_band(worst.wall_spell_index, worst.spell_band), worst.spell_band)} {worst.spell_label}. "
        f"{rank_words(answer.assessment, worst)}"
    )


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
        **asks(answer.seal.key("elevation"), answer.chosen.wall.name, writes("elevation")),
        required=True,
    )


def _figures(details: ElevationDetails) -> Marked:
    one, design = details.exposure, details.design_pressure
    dam = next((line for line in details.schedule.lines if line.key == "back_dam"), None)
    return figures(
        [
            (
                one.spell_label.removeprefix("in the ").capitalize(),
                litres(one.wall_spell_index),
                "L/m²",
                f"{band_words(one.spell_band) or NO_BAND}; {class_words(one)}{limit_words(one)}",
            ),
            ("A year", litres(one.wall_annual_index), "L/m²", band_words(one.annual_band) or NO_BAND),
            (
                "Wind pressure with heavy rain",
                *_split(pascals(design)),
                f"{millimetres(float(head_of_water(design)))} of water; gust {pascals(design * details.pressure.gust_factor)}",
            ),
            (
                "Sill tray turned up",
                "ask" if dam is None else f"{float(dam.value):.0f}",
                "a designer" if dam is None else "mm",
                _dam_words(details),
            ),
        ]
    )


def _dam_words(details: ElevationDetails) -> str:
    if not any(line.key == "back_dam" for line in details.schedule.lines):
        return ""
    return "at the back; a local rule is a floor" if details.schedule.rules else "at the back"


def _split(words: str) -> tuple[str, str]:
    figure, _, unit = words.rpartition(NO_BREAK)
    return figure, unit


def _less_sure(one: WallExposure) -> Marked:
    follows = details_class_words(one).strip()
    sentences = [*(doubt.sentence for doubt in one.doubts), *([follows] if follows else [])]
    return f"<h3>What else it could be</h3>{doubts(sentences)}"


def _chain(answer: Answer) -> Marked:
    one = answer.chosen
    sector = f'<p class="note">{say(one.sector_note)}</p>' if one.sector_note else ""
    return (
        f"<h3>From the open field to the {say(one.wall.name)} wall</h3>"
        + plate(chain_of(one), size="roomy")
        + plate(chain_of(one, narrow=True, width=346, prefix="up"), size="narrow")
        + sector
    )


def _details_doubts(answer: Answer, details: BuildingDetails, one: ElevationDetails) -> Marked:
    """Doubts about what to build that stand nowhere above: of the building, and folded those of other elevations."""
    above = {*answer.assessment.flags, *details.wetting.flags, *one.bare_wrap.flags, *one.schedule.flags}
    rest = [flag for flag in details.flags if flag not in above]
    others = [flag for flag in rest if _is_of(flag, details, one)]
    whole = [flag for flag in rest if flag not in others]
    said = f"<h3>What to doubt in these details</h3>{doubts(whole)}" if whole else ""
    if others:
        said += folded(f"What to doubt on the other elevations: {len(others)}", doubts(others))
    return said


def _is_of(flag: str, details: BuildingDetails, one: ElevationDetails) -> bool:
    """Whether a doubt is of another elevation than ``one``."""
    subject = flag.subject if isinstance(flag, Doubt) else ""
    return subject != one.name and any(subject == other.name for other in details.elevations)


def _all_tables(answer: Answer) -> Marked:
    return _elevation_table(answer) + _factor_table(answer.chosen) + _ground(answer)


def _elevation_table(answer: Answer) -> Marked:
    rows = [
        (
            one.wall.name,
            class_words(one),
            litres(one.wall_spell_index),
            band_words(one.spell_band),
            litres(one.wall_annual_index),
            degrees(one.wall.orientation),
            share_words(one.worst_share),
        )
        for one in answer.assessment.elevations
    ]
    heads = [
        "Elevation",
        "Class",
        "Worst spell, L/m²",
        "90 % band",
        "A year, L/m²",
        "Faces",
        "Is the worst in",
    ]
    return table(
        f"Elevations of {answer.building.name}, worst first", heads, rows, numbers=(2, 3, 4, 5), kind="stack"
    )


def _factor_table(one: WallExposure) -> Marked:
    rows = []
    for factor in one.factors:
        checked = mark(factor.standing)
        who = Safe(f'{checked}<span class="src">{say(factor.source)}</span>')
        rows.append((FACTOR_NAMES[factor.name], f"{factor.value:.3f}", factor.reason, who))
    heads = ["Factor", "Value", "Why", "Who says so"]
    return table(f"Factors of the {one.wall.name} elevation", heads, rows, numbers=(1,), kind="stack")


def _ground(answer: Answer) -> Marked:
    view = plate(
        view_plan(answer.assessment, answer.surveyed, answer.chosen),
        caption=f"Lines of sight from the {answer.chosen.wall.name} elevation; dark: as tall as the wall.",
    )
    ring = plate(site_ring(answer.assessment), caption=ground_words(answer.assessment))
    return f'<div class="pair">{view}{ring}</div>'
