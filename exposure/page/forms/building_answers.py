"""Ask how the building is built and which local rules it must meet: in sentences, kept in the address.

Derived from the designer's question what an elevation needs: exposure alone does not choose a detail.
"""

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

import streamlit as st

from exposure.checks import RefusalError
from exposure.detail.question import Question
from exposure.detail.rule_file import local_rules
from exposure.page.choices.address import asks, choices, choose, fill
from exposure.page.choices.construction import (
    NO,
    OPEN,
    PREFIX,
    RULES,
    YES,
    construction_questions,
    help_of,
    rule_questions,
    rules_of,
    value_of,
)
from exposure.page.choices.house_file import answers_in
from exposure.page.choices.own_files import house_words
from exposure.page.choices.state import PageState, short_name
from exposure.page.held import HeldEach
from exposure.page.markup import say

_ANSWERS: HeldEach[Any] = HeldEach("ask-", None)  # by question: a number, a word, or nothing
UNIT_NAMES = {"mm": "millimetres", "m": "metres"}  # as a question spells them


def show_construction_form(state: PageState) -> None:
    """Ask how it is built."""
    given = {**_told_in_file(state), **dict(state.details)}
    _form("construction", construction_questions(), given, "Use these answers")


def _told_in_file(state: PageState) -> dict[str, str]:
    """What the building's file answers already; nothing when it has none, or is gone."""
    with suppress(RefusalError):
        return answers_in(house_words(state) or {})
    return {}


def show_rules_form(state: PageState) -> None:
    """Choose the local rules, and ask what they ask."""
    known = local_rules()
    now = rules_of(state)
    st.multiselect(
        "Local rules to compare",
        list(known),
        format_func=lambda key: known[key].name,
        **asks("rules", now, _use_rules),
        help="Where a rule asks more than our schedule, the rule is taken and said. Your local code decides.",
    )
    for key in now:
        st.markdown(f"**{known[key].name}**")
        _form(
            f"rule-{key}",
            rule_questions(key),
            dict(state.details),
            f"Use these answers for {known[key].name}",
        )


def _use_rules(wanted: list[str]) -> None:
    told = dict(choices().details)
    told.pop(RULES, None)
    if wanted:
        told[RULES] = ",".join(wanted)
    kept = tuple(f"{PREFIX}{key.replace(' ', '-')}." for key in wanted)
    choose(
        details=tuple(
            sorted(
                (name, value)
                for name, value in told.items()
                if not name.startswith(PREFIX) or name.startswith(kept)
            )
        )
    )


def _form(key: str, asked: list[Question], given: Mapping[str, str], button: str) -> None:
    """The questions under their headings, two beside each other where there is room."""
    with st.form(key, border=False):
        for part in dict.fromkeys(one.part for one in asked):
            if part:
                st.html(f"<h3>{say(part)}</h3>")
            mine = [one for one in asked if one.part == part]
            beside = 2 if part else 1
            for first in range(0, len(mine), beside):
                columns = st.columns(beside, vertical_alignment="bottom")
                for column, one in zip(columns, mine[first : first + beside], strict=False):
                    with column:
                        _ask(one, given.get(one.key))
        st.form_submit_button(button, on_click=_use_answers, args=(tuple(asked),))


def _ask(asked: Question, text: str | None) -> None:
    now = value_of(asked, text)
    now = asked.default if now is None else now
    named = UNIT_NAMES.get(asked.unit, asked.unit) in asked.question
    label = asked.question if named or not asked.unit else f"{asked.question} ({asked.unit})"
    field = _ANSWERS[asked.key]
    if asked.kind == "number":
        st.number_input(
            label,
            asked.low,
            asked.high,
            None,
            key=fill(field, None if now is None else float(now)),
            help=help_of(asked),
            placeholder=OPEN,
            format="%g",
        )
    else:
        options = (YES, NO) if asked.kind == "yes or no" else asked.choices
        shown = {True: YES, False: NO}.get(now, now) if asked.kind == "yes or no" else now
        if asked.default is None:
            options = (OPEN, *options)
        st.selectbox(
            label,
            list(options),
            key=fill(field, shown if shown in options else options[0]),
            help=help_of(asked),
        )


def _use_answers(asked: tuple[Question, ...]) -> None:
    told = dict(choices().details)
    filed = _told_in_file(choices())
    for one in asked:
        value = _ANSWERS[one.key].value
        usual = (
            {True: YES, False: NO}.get(one.default, one.default) if one.kind == "yes or no" else one.default
        )
        words = short_name(f"{value:g}" if isinstance(value, float) else str(value))
        if one.key in filed:
            asked_again = value not in (None, OPEN) and words != filed[one.key]
        else:
            asked_again = value is not None and value not in (OPEN, usual)
        if asked_again:
            told[one.key] = words
        else:
            told.pop(one.key, None)
    choose(details=tuple(sorted(told.items())))
