"""The desk: which elevation is worst and how exposed it is, on the plan, and what to build there, on a drawing.

Derived from the designer's question. In order of strength: which elevation, its class, what to build, millimetres
and pascals, and only then litres with their band. What is assumed stands beside the answer; the reasons stand
under it, one part open at a time.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import streamlit as st

from exposure.assess.details_parts import BuildingDetails, ElevationDetails, ElevationOrders
from exposure.detail.axes import axis_steps
from exposure.doubts import alike
from exposure.draw.assessment_pictures import plan_of
from exposure.draw.building_plan import plan_caption
from exposure.draw.junction_svg import bare_junction
from exposure.draw.marked import dimensions
from exposure.draw.palette import CLASS_LOOKS
from exposure.figures import (
    NO_BREAK,
    band_words,
    listed,
    litres,
    litres_with_band,
    pascals,
)
from exposure.junction.catalogue import JUNCTIONS, Drawing, drawings_of
from exposure.junction.numbers import numbers_of
from exposure.page.choices.address import asks, choices, choose, view_button, writes
from exposure.page.choices.answer import Answer, details_mark, find_answer, find_details, find_orders
from exposure.page.choices.session import session
from exposure.page.choices.state import PARTS, PageState
from exposure.page.markup import PHONE, Marked, caution, doubts, either, figures, plate, say, tally
from exposure.page.parts.build_part import show_build_part
from exposure.page.parts.chips import chips_ahead, show_chips, told_elsewhere
from exposure.page.parts.folding import Sealed, Words, make_ahead, words_of
from exposure.page.parts.limits import show_limits
from exposure.page.parts.place_part import show_place_part
from exposure.page.parts.take_along import site_button
from exposure.page.parts.why_part import show_why_part
from exposure.page.parts.windows_part import show_missing_openings, show_windows_part
from exposure.page.parts.work_part import show_work_part
from exposure.page.refuse import plain_words
from exposure.paper.sheet_words import class_words, details_class_words, limit_words

ROOMY = 400  # height of the plan with callouts, where it has no more of them than fit beside it
MOST_BESIDE = 8
MOST_AHEAD = 12  # elevations whose words are made before they are asked for; our choice
DECIDING = "sill"  # the junction drawn beside the answer, where the wall has it
THREE = (("back_dam", "door_sill"), ("cav_depth", "cav_mas", "cav_render"), ("seam_tape", "lap_h"))
PLAN = "Worst spell, L/m². Ring: rain direction."
NO_BAND = "no band: too few years"


def show_desk(answer: Answer) -> None:
    """The whole desk; what hangs on the elevation shown is redrawn alone when another is chosen.

    The first figures leave for the browser once the orders are known; what stands below them is worked out after that.

    Raises
    ------
    RefusalError
        For answers about the building that do not go together.
    """
    find_orders(answer)
    session.desk_drawn_for = _inputs(choices())
    st.html(answer.seal.whole.on(f'<p class="lead">{say(lead(answer))}</p>'))
    _answered()
    details = find_details(answer)
    st.html(answer.seal.whole.on(_doubts(answer, details)))
    show_limits(answer)
    _other_elevations_ahead(answer, details)


def _other_elevations_ahead(answer: Answer, details: BuildingDetails) -> None:
    """Have the answers about the hardest other elevations made while this one is read."""
    mark = details_mark(answer)

    def ahead(one: ElevationDetails, kept: Words) -> None:
        theirs = replace(answer, state=answer.state.with_(elevation=one.name))
        kept.of("answer", lambda: _answer_of(theirs, one))
        chips_ahead(theirs, details, kept)

    wanted = [(one, words_of(mark, one.name)) for one in details.elevations[:MOST_AHEAD]]
    missing = [partial(ahead, one, kept) for one, kept in wanted if not kept.has("answer")]
    if missing:
        make_ahead(missing)


def _inputs(state: PageState) -> PageState:
    """The choices without those that only say what is looked at."""
    return state.with_(elevation="", open="", row="", measure="", facing="", turn=0)


@st.fragment
def _answered() -> None:
    with plain_words("The elevations"):
        state = choices()
        if session.desk_drawn_for != _inputs(state):  # an input changed in here: all of the page follows
            st.rerun(scope="app")
        answer = find_answer(state)
        orders = find_orders(answer).of(answer.chosen.wall.name)
        words = Sealed(words_of(details_mark(answer), orders.name), answer.seal)
        names = [other.wall.name for other in answer.assessment.elevations]
        st.pills(
            "Elevation",
            names,
            **asks(answer.seal.key("elevation"), orders.name, writes("elevation")),
            required=True,
            label_visibility="collapsed",
        )
        st.html(words.of("answer", lambda: _answer_of(answer, orders)))
        # unlike a piece of HTML this keeps its element and changes its words, so that a screen reader hears them
        st.markdown(f'<p role="status" class="told">{say(_told(answer, orders))}</p>', unsafe_allow_html=True)
        details = find_details(answer)
        one = details.of(orders.name)
        with st.container(horizontal=True, key="take"):
            site_button(answer, details)
            view_button("Print", "print")
        show_missing_openings(answer)
        show_chips(answer, details, state, words.words)
        _parts(answer, details, one, words, state)


def _parts(
    answer: Answer, details: BuildingDetails, one: ElevationDetails, words: Sealed, state: PageState
) -> None:
    """The row of parts, and the one that is open."""
    now = state.open if state.open in PARTS else None
    st.segmented_control(
        "Under the answer",
        list(PARTS),
        format_func=PARTS.__getitem__,
        **asks("part", now, lambda part: choose(open=part or ""), may_be_none=True),
        label_visibility="collapsed",
    )
    if now is None:
        return
    shown: dict[str, Callable[[], None]] = {
        "build": lambda: show_build_part(one, words, state),
        "place": show_place_part,
        "why": lambda: show_why_part(answer, words),
        "work": lambda: show_work_part(details, one, state, words),
        "windows": show_windows_part,
    }
    with st.container(key=f"open-{now}"), plain_words(PARTS[now]):
        shown[now]()


def lead(answer: Answer) -> str:
    """The answer in a few words: which elevation is worst, and how exposed it is."""
    worst = answer.worst
    alike = [one.wall.name for one in answer.assessment.alike(worst)]
    names = listed(alike)
    return f"{names[:1].upper()}{names[1:]} {'are' if len(alike) > 1 else 'is'} worst: {class_words(worst)}."


def _told(answer: Answer, one: ElevationOrders) -> str:
    """What has changed for whoever listens: the worst elevation, then the one shown with its figures."""
    name, exposure = one.name, one.exposure
    return (
        f"{lead(answer)} Shown: {name}, {class_words(exposure)}, "
        f"{litres_with_band(exposure.wall_spell_index, exposure.spell_band)} {exposure.spell_label}; build to "
        f"{one.schedule.axes}."
    )


def _answer_of(answer: Answer, one: ElevationOrders) -> Marked:
    """Plan on the left, figures, level and what to build on the right; under each other where there is no room."""
    return f'<div class="answer"><div>{_plan(answer)}</div><div>{_figures(one, worst=one.exposure is answer.worst)}{level_strip(one)}{_first(one)}</div></div>'


def _plan(answer: Answer) -> Marked:
    walls = answer.assessment.elevations
    chosen = answer.chosen.wall.name
    size = ROOMY if len(walls) <= MOST_BESIDE else 520
    wide = plan_of(answer.assessment, chosen=chosen, size=size)
    small = plan_of(answer.assessment, chosen=chosen, size=PHONE, callouts=False, prefix="small-plan")
    return either(wide, small, caption=PLAN, kind="plan")


def _figures(details: ElevationOrders, *, worst: bool) -> Marked:
    one, design = details.exposure, details.design_pressure
    dam = next((line for line in details.schedule.lines if line.key == "back_dam"), None)
    name = f"{one.wall.name[:1].upper()}{one.wall.name[1:]}"
    said = "" if worst else class_words(one)  # of the worst it stands above already
    head = tally(CLASS_LOOKS[one.exposure_class].rank, f"{said}{limit_words(one)}")
    spell = one.spell_label.removeprefix("in the worst ").capitalize()  # what is worst stands above
    pressure, _, unit = pascals(design).rpartition(NO_BREAK)
    return f'<h2 class="part">{say(name)} {head}</h2>' + figures(
        [
            (spell, litres(one.wall_spell_index), "L/m²", band_words(one.spell_band) or NO_BAND),
            ("A year", litres(one.wall_annual_index), "L/m²", band_words(one.annual_band) or NO_BAND),
            ("Wind with rain", pressure, unit, ""),
            (
                "Sill tray back",
                "ask" if dam is None else f"{float(dam.value):.0f}",
                "a designer" if dam is None else "mm",
                "",
            ),
        ]
    )


def level_strip(one: ElevationOrders) -> Marked:
    """The four steps and where each axis stands on them; each step keeps what the one before asks."""
    cells = []
    for place, (words, on) in enumerate(axis_steps(one.schedule), 1):
        kind = "on" if on else "has" if place < one.schedule.level else ""
        here = ' aria-current="true"' if on else ""
        cells.append(f'<li class="{kind}"{here}>{say(words)}</li>')
    return f'<ol class="levels" aria-label="{say(one.schedule.axes.capitalize())}">{"".join(cells)}</ol>'


def _first(one: ElevationOrders) -> Marked:
    """What to build there: the deciding junction drawn, and the three lines that matter most."""
    schedule = one.schedule
    if schedule.specific_design:
        return caution(f"{schedule.lines[0].build} {schedule.specific_design}")
    found = {line.key: line for line in schedule.lines}
    lines = [next((found[key] for key in keys if key in found), None) for keys in THREE]
    told = "".join(f"<li>{dimensions(_short(line.build))}</li>" for line in lines if line is not None)
    drawing = _deciding(one)
    shown = ""
    if drawing is not None:
        svg, _ = bare_junction(drawing.section, width=PHONE, tallest=330, rings=False, prefix="deciding")
        shown = plate(svg, caption=f"{drawing.section.title.partition(',')[0]}")
    return f'<div class="first">{shown}<ol class="three">{told}</ol></div>'


def _short(order: str) -> str:
    """An order up to its first stop; the whole of it stands under All there is to build.

    Examples
    --------
    >>> _short("Tape every lap upward, lower edges left open.")
    'Tape every lap upward.'
    """
    first = re.split(r"[,;:] |\.$", order.removeprefix("At windows "), maxsplit=1)[0]
    return f"{first[:1].upper()}{first[1:]}."


def _deciding(one: ElevationOrders) -> Drawing | None:
    numbers = numbers_of(one.schedule, one.circumstances, one.pressure)
    for junction in sorted(JUNCTIONS, key=lambda each: each.key != DECIDING):
        drawings, _ = drawings_of([(one.name, numbers)], [junction])
        if drawings:
            return drawings[0]
    return None


def _doubts(answer: Answer, details: BuildingDetails) -> Marked:
    """What to doubt, never folded: the record, the site, the details; what a chip tells is not told again."""
    said = [flag for flag in (*answer.assessment.flags, *details.flags) if not told_elsewhere(flag)]
    worst = answer.worst
    name = f"{worst.wall.name[:1].upper()}{worst.wall.name[1:]}"
    said += [f"{name}: {one.sentence}" for one in worst.doubts if one.sentence not in said]
    follows = details_class_words(worst).strip()
    once = [f"{one}{f' Likewise {listed(others)}.' if others else ''}" for one, others in alike(said)]
    plan = f"The plan. {plan_caption(answer.assessment.elevations, ring=True)}"
    notes = [one for one in (plan, answer.assessment.band_statement, follows) if one]
    return f'<h2>What to doubt</h2><div class="two">{doubts(once)}{doubts(notes, word="Note")}</div>'


__all__ = ["lead", "level_strip", "show_desk"]
