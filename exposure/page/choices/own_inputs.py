"""What the reader adds to the details: openings, rules of the office with their answers, the window looked at.

Derived from the designer's question what an elevation needs: the answer is of this job only when its windows and the
rules it must meet went in. One place gathers them, so that every view and every file says the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from exposure.assess.details_parts import BuildingDetails
from exposure.assess.prices import Prices
from exposure.detail.openings import Opening
from exposure.detail.question import Question
from exposure.detail.rule_file import Rule
from exposure.page.choices.own_files import office_rules_in_use, openings_in_use, prices_in_use
from exposure.page.choices.state import PageState
from exposure.wall import Building

OWN = "own."
ANSWERS = {"yes": True, "no": False}


@dataclass(frozen=True)
class OwnInputs:
    """The reader's own inputs to :func:`exposure.assess.details.detail_building`."""

    openings: tuple[Opening, ...]
    rules: tuple[Rule, ...]
    circumstances: Mapping[str, Any] | None  # none: as the building says
    rating: float | None  # Pa
    prices: Prices | None
    told: tuple[str, ...]  # what of them could not be used, as sentences that reach the sheet
    mark: str  # by content

    def told_in(self, details: BuildingDetails) -> BuildingDetails:
        """``details`` with what could not be used told first."""
        return replace(details, flags=(*self.told, *details.flags)) if self.told else details


NOTHING = OwnInputs((), (), None, None, None, (), "")


def own_inputs(state: PageState, building: Building) -> OwnInputs:
    """The reader's own inputs for these choices.

    Raises
    ------
    RefusalError
        When a rule of the office is named that this session does not hold.
    """
    if not state.openings and not state.office and not state.prices and state.rating is None:
        return NOTHING
    openings, refused = openings_in_use(state, building.walls)
    rules = office_rules_in_use(state)
    answers = {
        rule.key: rule_answers(rule, mark, state) for rule, mark in zip(rules, state.office, strict=True)
    }
    circumstances: dict[str, Any] | None = None
    if rules:
        asked: dict[str, Any] = {**_mapping(building.details.get("rule_answers")), **answers}
        circumstances = {**building.details, "rule_answers": asked}
    told = (f"The openings list is not counted: {refused.came}.",) if refused is not None else ()
    prices, _ = prices_in_use(state)
    mark = repr((openings, state.office, answers, state.rating, prices and state.prices, told))
    return OwnInputs(openings, rules, circumstances, state.rating, prices, told, mark)


def answer_name(mark: str, place: int) -> str:
    """What the address calls the answer to the rule's question at ``place``.

    Examples
    --------
    >>> answer_name("rule-0123456789ab", 2)
    'own.01234567.2'
    """
    return f"{OWN}{mark.rpartition('-')[2][:8]}.{place}"


def rule_answers(rule: Rule, mark: str, state: PageState) -> dict[str, Any]:
    """Answers to a rule of the office, as the rule takes them; what cannot be read stays unanswered."""
    given = dict(state.details)
    found = {}
    for place, one in enumerate(rule.questions):
        text = given.get(answer_name(mark, place))
        value = None if text is None else _value(one, text)
        if value is not None:
            found[one.key] = value
    return found


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _value(one: Question, text: str) -> Any:
    """An answer from the address: a choice by its number, since its words may be long."""
    if one.kind == "yes or no":
        return ANSWERS.get(text)
    try:
        if one.kind == "choice":
            return dict(enumerate(one.choices)).get(int(text))
        number = float(text)
    except ValueError:
        return None
    return number if one.low <= number <= one.high else None
