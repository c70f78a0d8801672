"""What is asked about how the building is built, and what the answers in the address mean.

Derived from the designer's question what an elevation needs: exposure alone does not choose a detail. Only answers
that differ from the usual ones are kept.
"""

from dataclasses import replace
from typing import Any

from exposure.detail.circumstances import questions
from exposure.detail.question import Question
from exposure.detail.rule_file import local_rules
from exposure.page.choices.state import PageState

RULES = "local_rules"
PREFIX = "rule."
YES, NO, OPEN = "yes", "no", "not answered"
NOT_ASKED = ("storeys", "eaves")  # the building form has them


def construction_questions() -> list[Question]:
    """What the schedule asks of every building."""
    return [one for one in questions() if one.key not in NOT_ASKED]


def rule_questions(key: str) -> list[Question]:
    """What one local rule asks, each under a key of its own in the address."""
    mark = f"{PREFIX}{key.replace(' ', '-')}"
    return [
        replace(one, key=f"{mark}.{one.key}", low=max(one.low, -1e9), high=min(one.high, 1e9))
        for one in local_rules()[key].questions
    ]


def help_of(asked: Question) -> str | None:
    """What is said beside a question."""
    if asked.optional:
        return "May stay open."
    return (f"{asked.why} Left empty: {asked.empty}." if asked.empty else asked.why) or None


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
        value = value_of(one, given.get(one.key))
        if value is not None:
            found[one.key] = value
    if rules:
        found[RULES] = rules
    answers = {}
    for key in rules:
        told = {one.key.rpartition(".")[2]: value_of(one, given.get(one.key)) for one in rule_questions(key)}
        answers[key] = {name: value for name, value in told.items() if value is not None}
    if any(answers.values()):
        found["rule_answers"] = {key: told for key, told in answers.items() if told}
    return found


def value_of(asked: Question, text: str | None) -> Any:
    """An answer of the address as its question means it; None where it is none."""
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
