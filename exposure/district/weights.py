"""What a property of the buildings counts for each of them, such as its dwellings."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.doubts import Doubt, doubt

MOST = 1e9  # of one building; our choice: more is a slip or an identity number


def building_weights(
    rows: Sequence[Mapping[str, Any]], column: str, source: str
) -> tuple[np.ndarray, dict[int, Doubt]]:
    """The number each building tells under ``column``, and a doubt of each that tells none.

    Returns
    -------
    weights
        NaN where the building tells nothing, no number, a negative one or one above a thousand million.
    doubts
        By row.

    Raises
    ------
    RefusalError
        When no building tells a number.

    Examples
    --------
    >>> weights, doubts = building_weights([{"homes": 4}, {"homes": "2.5"}, {"homes": -1}, {}], "homes", "town.gpkg")
    >>> weights.tolist(), [str(one) for one in doubts.values()][1]
    ([4.0, 2.5, nan, nan], 'No usable homes is told (nothing): left out where buildings are summed by it.')
    """
    weights, doubts = np.full(len(rows), np.nan), {}
    for place, row in enumerate(rows):
        told = row.get(column)
        number = _number(told)
        if 0 <= number <= MOST:
            weights[place] = number
        else:
            came = "nothing" if told is None or told == "" or told != told else repr(told)[:40]
            doubts[place] = doubt("district.no_weight", column=column[:60], came=came)
    if len(doubts) == len(rows):
        raise RefusalError(
            f"no building of {source} tells a number of at least 0 as {column[:60]!r}",
            "a property such as the number of dwellings",
            "Name another property, or none.",
            parameter="weight_column",
        )
    return weights, doubts


def _number(told: object) -> float:
    """As a number; NaN for anything else, for true and false too."""
    if isinstance(told, bool | np.bool_) or not isinstance(told, int | float | str | np.number):
        return float("nan")
    try:
        return float(told)
    except (ValueError, OverflowError):
        return float("nan")
