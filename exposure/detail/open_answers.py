"""Conditions and figures of a rule while some of its answers are open.

A value is known, or one of several (:class:`AnyOf`), or somewhere in a range (:class:`Between`), or unknown
altogether (:data:`UNKNOWN`). A condition on it holds, fails, or is open (None).
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import product
from typing import Any, NamedTuple

from exposure.checks import RefusalError

CONDITIONS: dict[str, Callable[[Any, Any], bool]] = {
    "below": lambda value, than: value < than,
    "at most": lambda value, than: value <= than,
    "above": lambda value, than: value > than,
    "at least": lambda value, than: value >= than,
    "is": lambda value, than: value == than,
    "is not": lambda value, than: value != than,
    "is one of": lambda value, than: value in than,
}
ORDERED = ("below", "at most", "above", "at least")
UNKNOWN = object()  # a fact that nobody gave


class AnyOf(NamedTuple):
    """An answer not given yet: one of these."""

    choices: tuple[Any, ...]


class Between(NamedTuple):
    """A number not known yet, within limits that are themselves possible."""

    low: float
    high: float


def condition_holds(condition: Mapping[str, Any], values: Mapping[str, Any]) -> bool | None:
    """Whether one condition holds; None while that is open. On a value that is not there it fails.

    Examples
    --------
    >>> above = {"what": "points", "is": "above", "than": 6}
    >>> [condition_holds(above, {"points": one}) for one in (7, 6, Between(5, 9), Between(7, 9))]
    [True, False, None, True]
    >>> condition_holds({"what": "zone", "is": "is", "than": "high"}, {"zone": AnyOf(("low", "high"))}) is None
    True
    """
    value = values.get(condition["what"])
    if value is None:
        return False
    if value is UNKNOWN:
        return None
    if isinstance(value, AnyOf):
        return _agreed([_compare(condition, one) for one in value.choices])
    if isinstance(value, Between):
        if condition["is"] in ORDERED:
            return _agreed([_compare(condition, one) for one in value])
        than = condition["than"]
        wanted = than if isinstance(than, list) else [than]
        inside = [one for one in wanted if isinstance(one, int | float) and value.low <= one <= value.high]
        if value.low == value.high or not inside:
            return _compare(condition, value.low if not inside else inside[0])
        return None
    return _compare(condition, value)


def all_hold(conditions: Sequence[Mapping[str, Any]], values: Mapping[str, Any]) -> bool | None:
    """Whether all conditions hold; one that fails decides, else one that is open leaves it open."""
    found = [condition_holds(condition, values) for condition in conditions]
    if False in found:
        return False
    return None if None in found else True


def spread(way: Callable[..., float], parts: Sequence[Any]) -> float | Between:
    """A figure of its parts; over the corners of those that are ranges.

    Examples
    --------
    >>> spread(lambda *parts: float(sum(parts)), [1, Between(2, 4)])
    Between(low=3.0, high=5.0)
    """
    corners = [part if isinstance(part, Between) else (part,) for part in parts]
    found = [way(*corner) for corner in product(*corners)]
    return found[0] if min(found) == max(found) else Between(min(found), max(found))


def _agreed(found: Sequence[bool]) -> bool | None:
    return found[0] if len(set(found)) == 1 else None


def _compare(condition: Mapping[str, Any], value: Any) -> bool:
    try:
        return CONDITIONS[condition["is"]](value, condition["than"])
    except TypeError:
        raise RefusalError(
            f"{condition['what']} is {value!r}, compared with {condition['than']!r}",
            "two numbers or two words",
            "Correct the condition in the rule file.",
        ) from None
