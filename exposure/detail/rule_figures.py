"""Figures of a rule: numbers worked out of answers, facts and points, as ranges while an answer is open."""

from collections.abc import Mapping, Sequence
from math import inf, isfinite, isnan
from typing import Any

from exposure.checks import RefusalError
from exposure.detail.open_answers import UNKNOWN, AnyOf, Between, all_hold, spread
from exposure.detail.rule_file import POINTS, WAYS, Rule


def rule_figures(rule: Rule, values: dict[str, Any]) -> dict[str, Any]:
    """Work the figures out in order, each laid into ``values`` for the next.

    The first figure of a name whose parts are all known counts; while none is, the first that is a range.

    Raises
    ------
    RefusalError
        For a figure that cannot be worked out, and for points of which no row fits.
    """
    found: dict[str, Any] = {}
    for figure in rule.figures:
        name = figure["key"]
        if name in found and not isinstance(found[name], Between):
            continue
        if figure["way"] == POINTS:
            value = spread(WAYS["sum"], [_points(rule, factor, values) for factor in figure["of"]])
        else:
            parts = [values.get(part) if isinstance(part, str) else part for part in figure["of"]]
            if any(part is None for part in parts):
                continue
            parts = [Between(-inf, inf) if part is UNKNOWN else part for part in parts]
            value = _worked_out(rule, figure, parts)
        if name not in found or not isinstance(value, Between):
            found[name] = values[name] = value
    return found


def _worked_out(rule: Rule, figure: Mapping[str, Any], parts: Sequence[Any]) -> float | Between:
    """A figure of the rule from its parts, which must be numbers and give one."""
    try:
        if any(isinstance(part, bool | str | AnyOf) for part in parts):
            raise TypeError(parts)
        value = spread(WAYS[figure["way"]], parts)
        if isinstance(value, Between):
            return Between(-inf, inf) if any(isnan(one) for one in value) else value
        if not isfinite(value):
            raise ValueError(value)
    except (TypeError, ValueError, OverflowError, RecursionError):
        raise RefusalError(
            f"{rule.name}: the figure {figure['key']} cannot be worked out of {', '.join(map(repr, parts))[:80]}",
            f"numbers for {figure['way']!r}",
            "Correct the figure in the rule file, or leave the rule out.",
        ) from None
    return value


def _points(rule: Rule, factor: str, values: Mapping[str, Any]) -> float | Between:
    """Points of a factor: of the first row that holds, and of those before it that may."""
    found: list[float] = []
    for row in rule.points:
        if row["factor"] != factor:
            continue
        holds = all_hold(row["when"], values)
        if holds is not False:
            found.append(row["points"])
        if holds:
            return found[0] if min(found) == max(found) else Between(min(found), max(found))
    if found:  # no row is certain while an answer is open
        return found[0] if min(found) == max(found) else Between(min(found), max(found))
    raise RefusalError(
        f"{rule.name}: no points of {factor!r} fit the answers",
        "a row of points that holds",
        "Add the missing row to the rule file.",
    )


def figure_in_words(value: Any, scale: Sequence[str] = ()) -> str:
    """A figure of a rule, or its range while an answer is open.

    Parameters
    ----------
    scale
        Names of the figures 1, 2 and so on, of a figure that is a place on a scale.

    Examples
    --------
    >>> figure_in_words(2.0, ("sheltered", "moderate", "severe")), figure_in_words(2.5)
    ('moderate (2 of 3)', '2.5')
    """
    of = f" of {len(scale)}" if scale else ""
    if isinstance(value, Between):
        return f"{value.low:.4g} to {value.high:.4g}{of}"
    if value in range(1, len(scale) + 1):
        return f"{scale[int(value) - 1]} ({value:.4g}{of})"
    return f"{value:.4g}{of}"
