"""What the rules of a country or an office say about an elevation.

The rules are data (:mod:`exposure.detail.rule_file`); this is the one evaluator they share. What needs no answer
applies at once. While an answer is open every outcome it could lead to is asked for, so the strictest holds, and
the result says which answer would relax it.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf, isfinite
from typing import Any

from exposure.checks import RefusalError
from exposure.detail.corrosion import METAL
from exposure.detail.open_answers import UNKNOWN, AnyOf, Between, all_hold
from exposure.detail.question import Question
from exposure.detail.rule_figures import figure_in_words, rule_figures
from exposure.detail.rule_file import POINTS, Rule
from exposure.detail.schedule_parts import Ask, RuleResult
from exposure.doubts import doubt
from exposure.tables.standing import weakest

Outcome = Mapping[str, Any]
LEAST_WETNESS, STOP = "least wetness", "stop"
MAY_STOP = "An answer may ask for a design of this wall's own in place of this schedule: do not build before it is known."
ALWAYS = (STOP, METAL)  # demands that no row of the ladder meets by itself


@dataclass
class _Reach:
    """Outcomes that can follow, by group: one that is certain, or several while an answer is open."""

    certain: list[Outcome] = field(default_factory=list)
    open_groups: list[list[Outcome]] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    figures: dict[str, Any] = field(default_factory=dict)

    @property
    def possible(self) -> list[Outcome]:
        return [*self.certain, *(outcome for group in self.open_groups for outcome in group)]

    def touched(self, rule: Rule) -> set[str]:
        """Names that the open groups hang on."""
        return _touched(rule, [outcome for group in self.open_groups for outcome in group])


def _touched(rule: Rule, outcomes: Sequence[Outcome]) -> set[str]:
    """Inputs that ``outcomes`` hang on, through figures and points too."""
    names = {condition["what"] for outcome in outcomes for condition in outcome["when"]}
    for figure in reversed(rule.figures):
        if figure["key"] in names:
            factors = set(figure["of"])
            names |= {part for part in factors if isinstance(part, str)}
            names |= {
                condition["what"]
                for row in rule.points
                if figure["way"] == POINTS and row["factor"] in factors
                for condition in row["when"]
            }
    return names


def missing_answers(rule: Rule, facts: Mapping[str, Any], answers: Mapping[str, Any]) -> tuple[Question, ...]:
    """Inputs of ``rule`` that are needed and not known."""
    return tuple(
        one
        for one in rule.inputs
        if not one.optional
        and (facts.get(one.fact) is None if one.kind == "fact" else answers.get(one.key) is None)
    )


def evaluate_rule(
    rule: Rule,
    facts: Mapping[str, Any],
    answers: Mapping[str, Any],
    *,
    own: Mapping[str, float] | None = None,
    there: Collection[str] | None = None,
) -> RuleResult:
    """What ``rule`` says.

    Parameters
    ----------
    facts
        What is known already: the circumstances' fields, ``exposure_class``, ``wall_spell_index`` [L m-2],
        ``pressure`` and ``gust_pressure`` [Pa].
    answers
        Answers to the rule's questions, by key. What is not answered takes the stricter of what may follow.
    own
        How strict each row is by itself, larger is stricter, in the numbers a rule asks in: an answer that relaxes no
        more than that relaxes nothing. Without it any answer that asks less does.
    there
        Rows, by the keys of rules, of which the wall has the part: what is asked of other rows alone is not said.

    Returns
    -------
    RuleResult
        ``open`` holds a sentence for each answer that would relax something.
    """
    known = [one.key for one in rule.inputs if one.kind != "fact"]
    for key in answers:
        if key not in known:
            raise RefusalError(
                f"an answer {key!r} to {rule.name}", f"one of {', '.join(known)}", "Correct rule_answers."
            )
    reach = _reach(rule, facts, answers)
    if there is not None:
        reach.certain = [outcome for outcome in reach.certain if _concerns([outcome], there)]
        reach.open_groups = [group for group in reach.open_groups if _concerns(group, there)]
    asks = [ask for outcome in reach.possible for ask in _asks(rule, outcome, reach.values)]
    missing = missing_answers(rule, facts, answers)
    relaxing = _relaxing(rule, facts, answers, reach, missing, own)
    said = [outcome["says"] for outcome in reach.certain]
    if reach.open_groups:
        asked = "; ".join(one.question or one.fact for one in missing if one.key in reach.touched(rule))
        asked += "" if asked.endswith(("?", ".")) else "."
        stricter = [_strictest(rule, group, reach.values) for group in reach.open_groups]
        quoted = " ".join(outcome["says"] for outcome in stricter if not outcome.get("specific_design"))
        said.append(
            f"Not answered yet: {asked}" + (f" Until then the stricter holds: {quoted}" if quoted else "")
        )
        if any(outcome.get("specific_design") for outcome in stricter):
            said.append(MAY_STOP)
    scales = {figure["key"]: figure.get("scale", ()) for figure in rule.figures}
    dates = [outcome["look_again"].isoformat() for outcome in reach.possible if "look_again" in outcome]
    return RuleResult(
        rule=rule.name,
        result=" ".join(said) or "Says nothing more for this elevation.",
        figures=", ".join(
            f"{name.replace('_', ' ')} {figure_in_words(value, scales.get(name, ()))}"
            for name, value in _told_figures(rule, reach).items()
        ),
        source=rule.source,
        standing=weakest([outcome["standing"] for outcome in reach.possible] or ["practice"]),
        asks=tuple(asks),
        specific_design=any(outcome.get("specific_design") for outcome in reach.certain),
        least_wetness=_least_wetness(reach),
        open=relaxing,
        look_again=min(dates, default=""),
    )


def bearing_questions(
    rule: Rule, facts: Mapping[str, Any], answers: Mapping[str, Any], *, there: Collection[str]
) -> tuple[Question, ...]:
    """Questions of ``rule`` that nobody answered and whose answer would change what it says here.

    Parameters
    ----------
    facts, answers, there
        As in :func:`evaluate_rule`.
    """
    now = evaluate_rule(rule, facts, answers, there=there)
    return tuple(
        one
        for one in rule.questions
        if one.key not in answers
        and any(
            evaluate_rule(rule, facts, {**answers, one.key: answer}, there=there) != now
            for answer in _candidates(rule, one)
        )
    )


def _concerns(group: Sequence[Outcome], there: Collection[str]) -> bool:
    """Whether one of the outcomes asks for what the wall has, for a level or for a design; or none asks for anything."""
    asking = [outcome for outcome in group if "asks" in outcome]
    others = any("least_wetness" in one or "specific_design" in one for one in group)
    rows = {ask["row"] for outcome in asking for ask in outcome["asks"]}
    return not asking or others or not rows.isdisjoint({*there, METAL})


def _told_figures(rule: Rule, reach: _Reach) -> dict[str, Any]:
    """Figures to tell: not those that need an answer which nobody gave."""
    needs = {figure["key"]: figure["needs"] for figure in rule.figures if "needs" in figure}
    return {
        name: value for name, value in reach.figures.items() if needs.get(name, name) in {name, *reach.values}
    }


def _reach(rule: Rule, facts: Mapping[str, Any], answers: Mapping[str, Any]) -> _Reach:
    values: dict[str, Any] = {}
    for one in rule.inputs:
        given = facts.get(one.fact) if one.kind == "fact" else answers.get(one.key)
        if given is not None:
            if one.kind != "fact":
                given = one.checked(given, f"answer {one.key!r} to {rule.name}", cure="Correct rule_answers.")
            values[one.key] = given
        elif not one.optional:
            values[one.key] = _all_answers(one)
    reach = _Reach(values=values, figures=rule_figures(rule, values))
    groups: dict[Any, list[Outcome]] = {}
    settled = set()
    for place, outcome in enumerate(rule.outcomes):
        group = outcome.get("group") or place
        holds = False if group in settled else all_hold(outcome["when"], values)
        if holds is False:
            continue
        groups.setdefault(group, []).append(outcome)
        if holds:
            settled.add(group)
    for group, outcomes in groups.items():
        if group in settled and len(outcomes) == 1:
            reach.certain.append(outcomes[0])
        else:
            reach.open_groups.append(outcomes)
    return reach


def _all_answers(one: Question) -> Any:
    if one.kind == "choice":
        return AnyOf(one.choices)
    if one.kind == "yes or no":
        return AnyOf((True, False))
    return Between(one.low, one.high) if one.kind == "number" else UNKNOWN


def _asks(rule: Rule, outcome: Outcome, values: Mapping[str, Any]) -> list[Ask]:
    """What an outcome asks of the ladder, as far as a number can be given while answers are open."""
    found = []
    for ask in outcome.get("asks", ()):
        value = _asked_for(rule, ask, values)
        if value is not None:
            source, standing = rule.citation(outcome), ask.get("standing", outcome["standing"])
            found.append(
                Ask(ask["row"], ask["way"], value, source, standing, ask.get("drawn"), ask.get("above"))
            )
    return found


def _least_wetness(reach: _Reach) -> int:
    return max((int(outcome.get("least_wetness", 1)) for outcome in reach.possible), default=1)


def _demands(rule: Rule, reach: _Reach, own: Mapping[str, float] | None = None) -> dict[str, float]:
    """How much is asked of each row, larger is stricter; of wetness too, and whether a stop is possible.

    With what rows ask by themselves, only where the rule asks more.
    """
    found: dict[str, float] = {
        LEAST_WETNESS: _least_wetness(reach),
        STOP: float(any(outcome.get("specific_design") for outcome in reach.possible)),
    }
    for outcome in reach.possible:
        for ask in _asks(rule, outcome, reach.values):
            value = -ask.value if ask.way == "at most" else ask.value
            found[ask.row] = max(found.get(ask.row, -inf), value)
    if own is None:
        return found
    return {row: value for row, value in found.items() if row in ALWAYS or value > own.get(row, inf)}


def _strictest(rule: Rule, group: Sequence[Outcome], values: Mapping[str, Any]) -> Outcome:
    """The outcome to quote for an open group: one that stops, else the first of those that ask most, else the last."""

    def weight(outcome: Outcome) -> tuple[int, int, float]:
        asks = _asks(rule, outcome, values)
        most = sum(-one.value if one.way == "at most" else one.value for one in asks)
        return int(bool(outcome.get("specific_design"))), len(asks), most

    asking = any("asks" in outcome for outcome in group)
    return max(group if asking else reversed(group), key=weight)


def _relaxing(
    rule: Rule,
    facts: Mapping[str, Any],
    answers: Mapping[str, Any],
    reach: _Reach,
    missing: Sequence[Question],
    own: Mapping[str, float] | None,
) -> tuple[str, ...]:
    """For each open answer that could relax what is asked, a sentence; and one where a stop is possible."""
    if not reach.open_groups:
        return ()
    now = _demands(rule, reach, own)
    said: list[str] = []
    for one in missing:
        if one.kind == "fact":
            continue
        easier = [
            answer
            for answer in _candidates(rule, one)
            if _is_easier(_demands(rule, _reach(rule, facts, {**answers, one.key: answer}), own), now)
        ]
        if not easier:
            continue
        if one.kind == "number":
            said.append(doubt("detail.open_number", rule.name, question=one.question))
        else:
            words = " or ".join({True: "yes", False: "no"}.get(answer, str(answer)) for answer in easier)
            said.append(doubt("detail.open_answer", rule.name, question=one.question, answers=words))
    if now[STOP] and not any(outcome.get("specific_design") for outcome in reach.certain):
        stops = [group for group in reach.open_groups if any(one.get("specific_design") for one in group)]
        touched = _touched(rule, [outcome for group in stops for outcome in group])
        asked = " ".join(one.question or one.fact for one in missing if one.key in touched)
        said.append(doubt("detail.may_need_design", rule.name, questions=asked))
    return tuple(said)


def _is_easier(then: Mapping[str, float], now: Mapping[str, float]) -> bool:
    return any(then.get(row, -inf) < value for row, value in now.items() if row != STOP)


def _candidates(rule: Rule, one: Question) -> list[Any]:
    """Answers to try: each choice, or numbers on both sides of every limit the rule sets."""
    if one.kind == "choice":
        return list(one.choices)
    if one.kind == "yes or no":
        return [True, False]
    limits = {
        float(condition["than"])
        for row in (*rule.outcomes, *rule.points)
        for condition in row["when"]
        if isinstance(condition["than"], int | float) and one.low <= condition["than"] <= one.high
    }
    ends = [one.low, *sorted(limits), one.high]
    tried = {*ends, *((low + high) / 2 for low, high in pairwise(ends))}
    return sorted(value for value in tried if isfinite(value))


def _asked_for(rule: Rule, ask: Mapping[str, Any], values: Mapping[str, Any]) -> float | None:
    """The number an outcome asks of a row of the ladder; of a range its harder end, None where that has none."""
    value = values.get(ask["value"]) if isinstance(ask["value"], str) else ask["value"]
    if isinstance(value, Between):
        value = value.low if ask["way"] == "at most" else value.high
        if not isfinite(value):
            return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise RefusalError(
            f"{rule.name} asks {value!r:.40} of {ask['row']}",
            "a number",
            "Correct the outcome in the rule file, or leave the rule out.",
        )
    return float(value)
