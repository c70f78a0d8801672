"""What the answer assumes, beside it: each says what telling it otherwise would make of the figure, and is edited there.

Derived from the designer's question which elevation is worst: a figure that rests on something nobody said must say so
where it is read, and take the answer there. What each would change is computed, never guessed.
"""

from collections.abc import Callable
from functools import partial

import streamlit as st
import xarray as xr

from exposure.assess import assess_building
from exposure.assess.assumptions import WHOLE_SITE, Assumption, other_answers
from exposure.assess.assumptions import Answer as Other
from exposure.assess.details_parts import BuildingDetails
from exposure.assess.from_files import Surveyed
from exposure.doubts import Doubt, has_doubt
from exposure.figures import NO_BREAK, litres
from exposure.page.choices.address import asks, choose
from exposure.page.choices.answer import Answer
from exposure.page.choices.construction import RULES
from exposure.page.choices.state import CHIPS, PageState
from exposure.page.choices.told import EAVES, GABLES, PITCH
from exposure.page.forms.beside_form import show_beside_form
from exposure.page.forms.building_answers import show_construction_form
from exposure.page.forms.ground_form import show_ground_form
from exposure.page.forms.openings_form import show_ways_in
from exposure.page.forms.record_form import show_kind_question
from exposure.page.forms.told_form import show_near_form, show_neighbours_switch, show_roof_form
from exposure.page.markup import plain_label, say
from exposure.page.parts.folding import Words
from exposure.page.refuse import plain_words
from exposure.wall import WallExposure

ROOF = ("roof", "ridges", "ridge height", "shape")
AROUND = ("eaves", "roof", "ground", "neighbours")
GUESSED = "climate.kind_guessed"


def show_chips(answer: Answer, details: BuildingDetails, state: PageState, kept: Words) -> None:
    """One chip for each thing assumed; the one pressed opens its form below the row."""
    now = state.open if state.open in CHIPS else None
    words = {key: kept.of(f"chip {key}", partial(chip_words, key, answer, details, state)) for key in CHIPS}
    labels = {key: kept.of(f"label {key}", partial(plain_label, words[key])) for key in CHIPS}
    st.pills(
        "What this rests on: press one to change it",
        list(CHIPS),
        format_func=labels.__getitem__,
        **asks("chip", now, lambda chip: choose(open=chip or ""), may_be_none=True),
    )
    with st.container(key="chip-form"):  # always there: what stands below keeps its place
        if now is not None:
            _form(now, words[now], answer, state)


def _form(now: str, words: str, answer: Answer, state: PageState) -> None:
    """What is assumed in full, and the form that changes it."""
    names = [wall.name for wall in answer.building.walls]
    forms: dict[str, Callable[[], object]] = {
        "eaves": lambda: show_roof_form(state, names),
        "roof": lambda: show_roof_form(state, names),
        "ground": lambda: show_ground_form(answer, state),
        "neighbours": lambda: _neighbours(answer, state, names),
        "openings": lambda: show_ways_in(state, names),
        "record": lambda: _record(answer),
        "built": lambda: show_construction_form(state),
    }
    with st.container(border=True, key=f"open-{now}"), plain_words(words):
        told = [one for one in assumed_of(answer) if one.what == now or (now == "roof" and one.what in ROOF)]
        if told:
            st.html("".join(f"<p>{say(str(one.doubt))}</p>" for one in told))
        forms[now]()


def chip_words(key: str, answer: Answer, details: BuildingDetails, state: PageState) -> str:
    """What is assumed in a few words, and what the other answer would make of the elevation shown."""
    other = _others(answer.mark, answer.chosen.wall.name, answer) if key in AROUND else {}
    makers: dict[str, Callable[[], str]] = {
        "eaves": lambda: _eaves(answer, other),
        "roof": lambda: _roof(answer, other),
        "ground": lambda: _ground(answer, other),
        "neighbours": lambda: _shelter(answer, other),
        "openings": lambda: _openings(details),
        "record": lambda: _kind(answer),
        "built": lambda: _built(state),
    }
    return makers[key]()


@st.cache_resource(max_entries=256, show_spinner=False)
def _others(mark: str, elevation: str, _answer: Answer) -> dict[str, Other]:
    """What other answers would make of an elevation, worked out once for all chips."""
    return other_answers(_answer.assessment.index, _answer.assessment.site, _answer.chosen)


def chips_ahead(answer: Answer, details: BuildingDetails, kept: Words) -> None:
    """The words of the chips about what stands around, made before they are asked for."""
    for key in AROUND:
        words = kept.of(f"chip {key}", partial(chip_words, key, answer, details, answer.state))
        kept.of(f"label {key}", partial(plain_label, words))


def assumed_of(answer: Answer) -> list[Assumption]:
    """What was not told and would move the figure of the elevation shown."""
    wall = answer.chosen.wall.name
    return [one for one in answer.assessment.assumptions if one.elevation == wall and one.matters]


def told_elsewhere(flag: str) -> bool:
    """Whether a doubt of the assessment stands in a chip of its elevation already."""
    room, _, name = flag.key.partition(".") if isinstance(flag, Doubt) else ("", "", "")
    return (
        room == "assess" and name.endswith("_not_told") and name.removesuffix("_not_told") not in WHOLE_SITE
    )


def _untold(answer: Answer, *whats: str) -> str:
    """What was taken, and the first other answer with its figure; empty where all of it was told."""
    wall = answer.chosen.wall.name
    found = [one for one in answer.assessment.assumptions if one.elevation == wall and one.what in whats]
    for one in sorted(found, key=lambda each: not each.matters):
        other = one.would_be[0] if one.would_be else None
        if other is None:
            return f"{one.taken} taken"
        then = litres(other.wall_spell_index)
        if not one.matters:
            return f"{one.taken} taken; telling it changes nothing here"
        return f"{one.taken} taken; {then}{NO_BREAK}L/m² with {other.words}"
    return ""


def _with(words: str, other: Other | None) -> str:
    """The figure stands before the other answer, whose own metres would otherwise run into it."""
    if other is None:
        return words
    return f"{words}; {litres(other.wall_spell_index)}{NO_BREAK}L/m² with {other.words}"


def _eaves(told: Answer, other: dict[str, Other]) -> str:
    untold = _untold(told, "eaves")
    if untold:
        return f"Eaves: {untold}"
    reach = told.surveyed.words.get("eaves")
    if "eaves" not in other:
        return "Eaves: none over this wall"
    return _with(
        f"Eaves: {reach:g} mm" if isinstance(reach, int | float) else "Eaves: as told", other["eaves"]
    )


def _roof(told: Answer, other: dict[str, Other]) -> str:
    untold = _untold(told, *ROOF)
    return f"Roof: {untold}" if untold else _with(f"Roof: {told.chosen.wall.shape}", other.get("roof"))


def _ground(told: Answer, other: dict[str, Other]) -> str:
    untold = _untold(told, "ground", "hills")
    if untold:
        return f"Ground: {untold}"
    return _with("Ground: as you told" if told.state.ground else "Ground: as mapped", other.get("ground"))


def _shelter(told: Answer, other: dict[str, Other]) -> str:
    untold = _untold(told, "neighbours")
    if untold:
        return f"Neighbours: {untold}"
    gone = _doubt_of(told.chosen, "neighbours")
    if gone is not None:
        return f"Neighbours: counted; {litres(gone)}{NO_BREAK}L/m² without them"
    words = "Neighbours: taken away" if told.state.neighbours == "none" else "Neighbours: none near this wall"
    return _with(words, other.get("neighbours"))


def _doubt_of(one: WallExposure, name: str) -> float | None:
    """The figure a doubt of the elevation leads to at its far end. [L m-2]"""
    return next((each.high for each in one.doubts if each.name == name), None)


def _openings(details: BuildingDetails) -> str:
    number = sum(one.count for one in details.openings)
    if not number:
        return "Openings: none listed; their tape and trays are not counted"
    return f"Openings: {number} listed"


def _kind(answer: Answer) -> str:
    kind = str(answer.record.climate.attrs.get("kind", ""))
    if has_doubt(answer.record.climate.attrs.get("flags", ()), GUESSED):
        other = _as_model(answer.mark, answer.chosen.wall.name, answer.record.climate, answer.surveyed)
        return f"Record: counted as a {kind}; {litres(other)}{NO_BREAK}L/m² were it a model"
    light = _doubt_of(answer.chosen, "threshold")
    if kind != "gauge" and light is not None:
        return f"Record: {kind}; {litres(light)}{NO_BREAK}L/m² counted like a gauge"
    return f"Record: {kind}"


@st.cache_data(max_entries=64, show_spinner=False)
def _as_model(mark: str, wall: str, _climate: xr.Dataset, _surveyed: Surveyed) -> float:
    found = assess_building(_climate.assign_attrs(kind="model"), _surveyed.building, _surveyed.site)
    return float(next(one for one in found.elevations if one.wall.name == wall).wall_spell_index)


def _built(state: PageState) -> str:
    told = [
        name for name, _ in state.details if "." not in name and name not in (EAVES, PITCH, GABLES, RULES)
    ]
    if not told:
        return "How it is built: the usual answers"
    return f"How it is built: {len(told)} answer{'' if len(told) == 1 else 's'} told"


def _neighbours(answer: Answer, state: PageState, names: list[str]) -> None:
    if answer.surveyed.neighbours is None and state.neighbours == "mapped":
        show_near_form(state, names)
    else:
        show_neighbours_switch(state)
    show_beside_form(state)


def _record(answer: Answer) -> None:
    """The question, where the file leaves it open; else what the kind means."""
    if show_kind_question(answer.record):
        return
    kind = str(answer.record.climate.attrs.get("kind", ""))
    means = (
        "Every trace of rain of a gauge counts."
        if kind == "gauge"
        else "Hours with less than 0.1 mm are left out: a grid drizzles when no gauge would read anything."
    )
    st.html(
        f"<p>The record's kind is {say(kind)}. {means} Another record, or another kind for your own, is chosen under "
        "Change, above.</p>"
    )


__all__ = ["assumed_of", "chip_words", "show_chips", "told_elsewhere"]
