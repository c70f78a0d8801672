"""Rules of the reader's own office: opened as a file, asked in sentences, compared like the rules that come with us.

Derived from the designer's question what an elevation needs: an office has its own rules, and the stricter of rule
and schedule is what has to be drawn.
"""

from typing import Any

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.checks import RefusalError
from exposure.detail.rule_file import Rule, local_rules
from exposure.page.choices.address import choices, choose, fill
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.construction import NO, OPEN, YES, rules_of
from exposure.page.choices.own_files import LARGEST, RULE, check_size, keep, kept, not_here, read_own, rule_of
from exposure.page.choices.own_inputs import answer_name, rule_answers
from exposure.page.choices.state import MOST_OFFICE_RULES, PageState, short_name
from exposure.page.forms.building_answers import show_rules_form
from exposure.page.held import Held, HeldEach
from exposure.page.markup import plain_label
from exposure.page.refuse import Refused, plain_words, show_refused

_REFUSED: Refused = Held("refused-rule", None)
_FILE: Held[UploadedFile | None] = Held("rule-file", None)
_ANSWERS: HeldEach[Any] = HeldEach("ask-", None)  # a number, a word or the place of one
NONE = "none compared"
EDGE = 1e9  # where a number without limits ends in its field
HINT = (
    "A rule file is TOML text; `exposure example` writes one to copy and change. "
    "Nothing in it is run. It stays in this window and in the project file."
)


def rules_line(state: PageState) -> tuple[str, str]:
    """The rules in force in a few words, and the line that proves them."""
    names = [local_rules()[key].name.partition(",")[0] for key in rules_of(state)]
    own = [_name_of(mark) for mark in state.office]
    if own:
        return ", ".join([*names, *own]), "your office's rule beside our schedule, the stricter counts"
    if names:
        return ", ".join(names), "each figure says whether it was read in the code itself"
    return NONE, "our own schedule alone"


def _name_of(mark: str) -> str:
    own = kept(mark)
    return "a rule not in this window" if own is None else rule_of(own.text).name.partition(",")[0]


def show_rules(state: PageState) -> None:
    """The rules that come with us, then the reader's own."""
    show_rules_form(state)
    show_office_rules(state)


def show_office_rules(state: PageState) -> None:
    """Open a rule file, leave one out, and answer what each asks."""
    st.markdown("**Rules of your office**")
    show_refused(_REFUSED, "The rule file")
    for mark in state.office:
        own = kept(mark)
        if own is None:
            with plain_words("The rule of an office"):
                raise not_here(RULE, mark)
        else:
            _ask(rule_of(own.text), mark, state)
        st.button("Leave this rule out", key=f"leave-{mark}", on_click=_leave_out, args=(mark,))
    if len(state.office) < MOST_OFFICE_RULES:
        st.file_uploader(
            f"Open a rule file (TOML, up to {LARGEST[RULE] // 1000} kB)",
            type=["toml"],
            key=_FILE.key,
            max_upload_size=1,
            help=HINT,
            on_change=_open,
        )


def _open() -> None:
    given = _FILE.value
    if given is None:
        return
    try:
        check_size(RULE, given.size)
        own = read_own(RULE, given.getvalue(), given.name)
        rule = rule_of(own.text)
        office = tuple(mark for mark in choices().office if _key_of(mark) != rule.key)
        if len(office) >= MOST_OFFICE_RULES:
            raise RefusalError(
                f"{len(office) + 1} rule files", f"at most {MOST_OFFICE_RULES}", "Leave one out."
            )
        office = (*office, keep(own))
        find_details(find_answer(choices().with_(office=office)))  # a rule that cannot be asked stops here
    except RefusalError as refused:
        _REFUSED.put(refused)
        return
    choose(office=office)


def _key_of(mark: str) -> str:
    own = kept(mark)
    return "" if own is None else rule_of(own.text).key


def _leave_out(mark: str) -> None:
    tail = answer_name(mark, 0).rpartition(".")[0] + "."
    now = choices()
    choose(
        office=tuple(one for one in now.office if one != mark),
        details=tuple(pair for pair in now.details if not pair[0].startswith(tail)),
    )


def _ask(rule: Rule, mark: str, state: PageState) -> None:
    asks = "" if rule.questions else "  \nIt asks nothing."
    st.markdown(f"{plain_label(rule.name)}  \n{plain_label(short_name(rule.source, 300))}{asks}")
    if not rule.questions:
        return
    now = rule_answers(rule, mark, state)
    with st.form(f"office-{mark}", border=False):
        for place, one in enumerate(rule.questions):
            field = _ANSWERS[answer_name(mark, place)]
            unit = f" ({one.unit})" if one.unit else ""
            label = plain_label(short_name(f"{one.question}{unit}", 300))
            value = now.get(one.key)
            if one.kind == "number":
                low, high = max(one.low, -EDGE), min(one.high, EDGE)
                fill(field, None if value is None else float(value))
                st.number_input(
                    label, low, max(low, high), None, key=field.key, placeholder=OPEN, format="%g"
                )
            elif one.kind == "choice":
                shown = [OPEN, *(short_name(choice, 200) for choice in one.choices)]
                fill(field, 0 if value is None else 1 + one.choices.index(value))
                st.selectbox(label, range(len(shown)), format_func=shown.__getitem__, key=field.key)
            else:
                fill(field, OPEN if value is None else YES if value else NO)
                st.selectbox(label, [OPEN, YES, NO], key=field.key)
        st.form_submit_button("Use these answers", on_click=_use, args=(rule, mark), key=f"use-{mark}")


def _use(rule: Rule, mark: str) -> None:
    told = dict(choices().details)
    for place, one in enumerate(rule.questions):
        name = answer_name(mark, place)
        value = _ANSWERS[name].value
        if value in (None, OPEN) or (one.kind == "choice" and value == 0):
            told.pop(name, None)
        elif one.kind == "choice":
            told[name] = str(int(value) - 1)
        else:
            told[name] = f"{value:.10g}" if isinstance(value, float) else str(value)
    choose(details=tuple(sorted(told.items())))
