"""Checks made where data enters: say what came, what was expected, what to do."""

import math
import re
import tomllib
from functools import partial
from typing import Any

MOST_JOINED = 60  # keys of one TOML line; our choice


class RefusalError(ValueError):
    """Input that would make the answer wrong, told in three parts.

    The terminal and the page catch exactly this: it is the user's to mend, never a fault of the program.

    Parameters
    ----------
    came
        What was found, with its value.
    expected
        What is needed instead.
    cure
        The next step for the user, as an imperative; no option of the terminal and no field of the page in it.
    parameter
        Name of the argument the cure speaks of, as Python has it (``columns``); each surface adds what it is called
        there. Empty when the cure lies elsewhere.

    Examples
    --------
    >>> str(RefusalError("wind is in 'parsec'", "a unit of speed", "Write e.g. wind_speed [m/s]."))
    "wind is in 'parsec'; expected a unit of speed. Write e.g. wind_speed [m/s]."
    """

    def __init__(self, came: str, expected: str, cure: str, *, parameter: str = "") -> None:
        self.came, self.expected, self.cure, self.parameter = came, expected, cure, parameter
        super().__init__(f"{came}; expected {expected}. {cure}")

    def __reduce__(self) -> tuple:
        """Keep all parts when the refusal travels between processes."""
        return partial(type(self), parameter=self.parameter), (self.came, self.expected, self.cure)


def check_between(value: float | str, name: str, low: float, high: float, unit: str) -> float:
    """Return ``value`` as a number, or stop unless it is finite and within ``low`` to ``high``.

    Examples
    --------
    >>> check_between(6.0, "height", 1, 100, "m")
    6.0
    """
    try:
        number = math.nan if isinstance(value, bool) else float(value)
    except (TypeError, ValueError):
        number = math.nan
    if not low <= number <= high:
        raise RefusalError(
            f"{name} is {value!r}", f"a number from {low:g} to {high:g} {unit}".rstrip(), f"Correct {name}."
        )
    return number


def sound_toml(text: str) -> dict[str, Any]:
    """The table of a TOML ``text`` from outside.

    Raises
    ------
    ValueError
        When it is no TOML, or a line joins more keys by dots than a file of ours ever does: the time and
        memory such a line takes to read grow with the square of its length.

    Examples
    --------
    >>> sound_toml("place.latitude = 48.4")
    {'place': {'latitude': 48.4}}
    """
    for number, line in enumerate(text.splitlines(), start=1):
        longest = max((piece.count(".") for piece in re.split(r"[\[\]{}=,]", line)), default=0)
        quoted = len(re.findall(r"[\"']\s*\.", line))
        if max(longest, quoted) > MOST_JOINED and line.count(".") > MOST_JOINED:
            message = f"line {number} joins more than {MOST_JOINED} keys by dots"
            raise ValueError(message)
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))  # the mark some editors begin a file with
    except RecursionError as error:
        message = "lists or tables lie within one another without end"
        raise ValueError(message) from error
