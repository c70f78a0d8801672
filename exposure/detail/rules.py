"""What the rules of a country or an office say about an elevation.

The rules are data (:mod:`exposure.detail.rule_file`); this is the one evaluator they share.
"""

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

from exposure.checks import RefusalError, check_between
from exposure.detail.rule_file import CONDITIONS, POINTS, WAYS, Rule, RuleInput
from exposure.detail.schedule_parts import RuleResult
from exposure.tables.standing import weakest


def missing_answers(
    rule: Rule, facts: Mapping[str, Any], answers: Mapping[str, Any]
) -> tuple[RuleInput, ...]:
    """Inputs of ``rule`` that are needed and not known."""
    return tuple(
        one
        for one in rule.inputs
        if not one.optional
        and (facts.get(one.fact) is None if one.kind == "fact" else answers.get(one.key) is None)
    )


def evaluate_rule(rule: Rule, facts: Mapping[str, Any], answers: Mapping[str, Any]) -> RuleResult:
    """What ``rule`` says.

    Parameters
    ----------
    facts
        What is known already: the circumstances' fields, ``exposure_class``, ``wall_spell_index`` [L m-2],
        ``pressure`` and ``gust_pressure`` [Pa].
    answers
        Answers to the rule's questions, by key.

    Returns
    -------
    RuleResult
        With no effect, and a sentence that says what is asked, while an answer is missing.
    """
    known = [one.key for one in rule.inputs if one.kind != "fact"]
    for key in answers:
        if key not in known:
            raise RefusalError(
                f"an answer {key!r} to {rule.name}", f"one of {', '.join(known)}", "Correct rule_answers."
            )
    missing = missing_answers(rule, facts, answers)
    if missing:
        asked = " ".join(one.question or one.fact for one in missing)
        return RuleResult(rule.name, f"Not answered yet: {asked}", "", rule.source, "from memory")
    values: dict[str, Any] = {}
    for one in rule.inputs:
        given = facts.get(one.fact) if one.kind == "fact" else answers.get(one.key)
        if given is not None:
            values[one.key] = given if one.kind == "fact" else _answer(rule, one, given)
    figures = _figures(rule, values)
    return _result(rule, values, figures)


def _result(rule: Rule, values: Mapping[str, Any], figures: Mapping[str, float]) -> RuleResult:
    said, standings, asks, groups = [], [], [], set()
    least, specific = 1, False
    for outcome in rule.outcomes:
        group = outcome.get("group", "")
        if (group and group in groups) or not _holds(outcome["when"], values):
            continue
        groups.add(group)
        said.append(outcome["says"])
        standings.append(outcome["standing"])
        least = max(least, int(outcome.get("least_wetness", 1)))
        specific = specific or bool(outcome.get("specific_design", False))
        for ask in outcome.get("asks", ()):
            asks.append((ask["row"], ask["way"], _asked_for(rule, ask, values)))
    return RuleResult(
        rule=rule.name,
        result=" ".join(said) or "Says nothing more for this elevation.",
        figures=", ".join(f"{name.replace('_', ' ')} {value:.4g}" for name, value in figures.items()),
        source=rule.source,
        standing=weakest(standings or ["practice"]),
        asks=tuple(asks),
        specific_design=specific,
        least_wetness=least,
    )


def _figures(rule: Rule, values: dict[str, Any]) -> dict[str, float]:
    """Work the figures out in order, each laid into ``values`` for the next."""
    found: dict[str, float] = {}
    for figure in rule.figures:
        name = figure["key"]
        if name in found:
            continue
        if figure["way"] == POINTS:
            value = float(sum(_points(rule, factor, values) for factor in figure["of"]))
        else:
            parts = [values.get(part) if isinstance(part, str) else part for part in figure["of"]]
            if any(part is None for part in parts):
                continue
            value = _worked_out(rule, figure, parts)
        found[name] = values[name] = value
    return found


def _asked_for(rule: Rule, ask: Mapping[str, Any], values: Mapping[str, Any]) -> float:
    """The number an outcome asks of a row of the ladder."""
    value = values.get(ask["value"]) if isinstance(ask["value"], str) else ask["value"]
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise RefusalError(
            f"{rule.name} asks {value!r:.40} of {ask['row']}",
            "a number",
            "Correct the outcome in the rule file, or leave the rule out.",
        )
    return float(value)


def _worked_out(rule: Rule, figure: Mapping[str, Any], parts: Sequence[Any]) -> float:
    """A figure of the rule from its parts, which must be numbers and give one."""
    try:
        if any(isinstance(part, bool | str) for part in parts):
            raise TypeError(parts)
        value = WAYS[figure["way"]](*parts)
        if not isfinite(value):
            raise ValueError(value)
    except (TypeError, ValueError, OverflowError, RecursionError):
        raise RefusalError(
            f"{rule.name}: the figure {figure['key']} cannot be worked out of {', '.join(map(repr, parts))[:80]}",
            f"numbers for {figure['way']!r}",
            "Correct the figure in the rule file, or leave the rule out.",
        ) from None
    return value


def _points(rule: Rule, factor: str, values: Mapping[str, Any]) -> float:
    for row in rule.points:
        if row["factor"] == factor and _holds(row["when"], values):
            return row["points"]
    raise RefusalError(
        f"{rule.name}: no points of {factor!r} fit the answers",
        "a row of points that holds",
        "Add the missing row to the rule file.",
    )


def _holds(conditions: Sequence[Mapping[str, Any]], values: Mapping[str, Any]) -> bool:
    for condition in conditions:
        value = values.get(condition["what"])
        if value is None:
            return False
        try:
            if not CONDITIONS[condition["is"]](value, condition["than"]):
                return False
        except TypeError:
            raise RefusalError(
                f"{condition['what']} is {value!r}, compared with {condition['than']!r}",
                "two numbers or two words",
                "Correct the condition in the rule file.",
            ) from None
    return True


def _answer(rule: Rule, one: RuleInput, given: Any) -> Any:
    name = f"answer {one.key!r} to {rule.name}"
    if one.kind == "choice":
        if given not in one.choices:
            raise RefusalError(
                f"{name} is {given!r}", f"one of: {'; '.join(one.choices)}", "Correct rule_answers."
            )
        return given
    if one.kind == "yes or no":
        if not isinstance(given, bool):
            raise RefusalError(f"{name} is {given!r}", "true or false", "Correct rule_answers.")
        return given
    return check_between(given, name, one.low, one.high, one.unit)
