"""One question in plain words, whoever asks it: the schedule or a local rule."""

from dataclasses import dataclass
from math import inf
from typing import Any

from exposure.checks import RefusalError, check_between


@dataclass(frozen=True)
class Question:
    """What is asked, with its choices or its limits; or a fact that is known without asking."""

    key: str
    question: str
    kind: str  # choice | number | yes or no | fact
    choices: tuple[str, ...] = ()
    unit: str = ""
    low: float = -inf
    high: float = inf
    default: Any = None  # the usual answer; None: open
    empty: str = ""  # what an empty number means; "" when it must be given
    why: str = ""
    part: str = ""  # heading it is asked under
    fact: str = ""
    optional: bool = False

    def checked(self, value: Any, name: str, *, cure: str) -> Any:
        """``value`` as an answer; ``name`` and ``cure`` are what a refusal says.

        Raises
        ------
        RefusalError
            When it is none of the choices, or no number within the limits.

        Examples
        --------
        >>> Question("deck", "Is there a deck?", "yes or no").checked(True, "deck", cure="Correct it.")
        True
        """
        if self.kind == "choice":
            if not isinstance(value, str) or value not in self.choices:
                raise RefusalError(f"{name} is {value!r}", f"one of: {'; '.join(self.choices)}", cure)
            return value
        if self.kind == "yes or no":
            if not isinstance(value, bool):
                raise RefusalError(f"{name} is {value!r}", "true or false", cure)
            return value
        if value is None and self.empty:
            return None
        return check_between(value, name, self.low, self.high, self.unit)
