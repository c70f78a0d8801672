"""Answers about how the building is built and the local rules it must meet: asked in sentences, kept in the address.

Derived from the designer's question what an elevation needs: exposure alone does not choose a detail. Only answers
that differ from the usual ones are kept.
"""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import streamlit as st

from exposure.checks import RefusalError
from exposure.detail.circumstances import questions
from exposure.detail.rule_file import local_rules
from exposure.page.address import asks, choices, choose, fill
from exposure.page.house_file import answers_in
from exposure.page.markup import say
from exposure.page.own_files import house_words
from exposure.page.state import PageState, short_name

RULES = "local_rules"
PREFIX = "rule."
UNIT_NAMES = {"mm": "millimetres", "m": "metres"}  # as a question spells them
YES, NO, OPEN = "yes", "no", "not answered"
NOT_ASKED = ("storeys", "eaves")  # the building form has them


@dataclass(frozen=True)
class Asked:
    """One question as the page asks it, whoever it comes from."""

    name: str
    question: str
    kind: str  # choice | number | yes or no
    choices: tuple[str, ...]
    unit: str
    low: float
    high: float
    usual: Any  # None: open
    help: str
    part: str = ""  # heading it is asked under


def construction_questions() -> list[Asked]:
    """What the schedule asks of every building."""
    return [
        Asked(
            one.field, one.question, one.kind, one.choices, one.unit, one.low, one.high, one.default,
            f"{one.why} Left empty: {one.empty}." if one.empty else one.why, one.part,
        )
        for one in questions()
        if one.field not in NOT_ASKED
    ]  # fmt: skip


def rule_questions(key: str) -> list[Asked]:
    """What one local rule asks."""
    return [
        Asked(
            f"{PREFIX}{key.replace(' ', '-')}.{one.key}", one.question, one.kind, one.choices, one.unit,
            max(one.low, -1e9), min(one.high, 1e9), None, "May stay open." if one.optional else "",
        )
        for one in local_rules()[key].questions
    ]  # fmt: skip


def rules_of(state: PageState) -> list[str]:
    """Keys of the local rules in force."""
    return [key for key in dict(state.details).get(RULES, "").split(",") if key in local_rules()]


def details_of(state: PageState) -> dict[str, Any]:
    """The answers as a building's file spells them; what no question knows is left out.

    Examples
    --------
    >>> details_of(PageState(details=(("eaves", "600"), ("parapet", "yes"), ("nonsense", "1"))))
    {'parapet': True}
    """
    given = dict(state.details)
    rules = rules_of(state)
    found: dict[str, Any] = {}
    for one in construction_questions():
        value = _value(one, given.get(one.name))
        if value is not None:
            found[one.name] = value
    if rules:
        found[RULES] = rules
    answers = {}
    for key in rules:
        told = {one.name.rpartition(".")[2]: _value(one, given.get(one.name)) for one in rule_questions(key)}
        answers[key] = {name: value for name, value in told.items() if value is not None}
    if any(answers.values()):
        found["rule_answers"] = {key: told for key, told in answers.items() if told}
    return found


def _value(asked: Asked, text: str | None) -> Any:
    if text is None:
        return None
    if asked.kind == "number":
        try:
            number = float(text)
        except ValueError:
            return None
        return number if asked.low <= number <= asked.high else None
    if asked.kind == "yes or no":
        return {YES: True, NO: False}.get(text)
    return text if text in asked.choices else None


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


def _form(key: str, asked: list[Asked], given: Mapping[str, str], button: str) -> None:
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
                        _ask(one, given.get(one.name))
        st.form_submit_button(button, on_click=_use_answers, args=(tuple(asked),))


def _ask(asked: Asked, text: str | None) -> None:
    now = _value(asked, text)
    now = asked.usual if now is None else now
    named = UNIT_NAMES.get(asked.unit, asked.unit) in asked.question
    label = asked.question if named or not asked.unit else f"{asked.question} ({asked.unit})"
    key = f"ask-{asked.name}"
    if asked.kind == "number":
        st.number_input(
            label,
            asked.low,
            asked.high,
            None,
            key=fill(key, None if now is None else float(now)),
            help=asked.help or None,
            placeholder=OPEN,
            format="%g",
        )
    else:
        options = (YES, NO) if asked.kind == "yes or no" else asked.choices
        shown = {True: YES, False: NO}.get(now, now) if asked.kind == "yes or no" else now
        if asked.usual is None:
            options = (OPEN, *options)
        st.selectbox(
            label,
            list(options),
            key=fill(key, shown if shown in options else options[0]),
            help=asked.help or None,
        )


def _use_answers(asked: tuple[Asked, ...]) -> None:
    told = dict(choices().details)
    filed = _told_in_file(choices())
    for one in asked:
        value = st.session_state.get(f"ask-{one.name}")
        usual = {True: YES, False: NO}.get(one.usual, one.usual) if one.kind == "yes or no" else one.usual
        words = short_name(f"{value:g}" if isinstance(value, float) else str(value))
        if one.name in filed:
            asked_again = value not in (None, OPEN) and words != filed[one.name]
        else:
            asked_again = value is not None and value not in (OPEN, usual)
        if asked_again:
            told[one.name] = words
        else:
            told.pop(one.name, None)
    choose(details=tuple(sorted(told.items())))
