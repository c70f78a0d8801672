"""One numbering of the steps for a house: a number means the same act on every elevation, on paper, phone and record."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import zip_longest

from exposure.detail.schedule_parts import Step

FIGURES = re.compile(r"\d[\d.,]*")


@dataclass(eq=False)
class _Act:
    """One act of the house's order of work."""

    kind: object


def numbered(orders: Sequence[Sequence[Step]]) -> list[tuple[Step, ...]]:
    """Steps of several orders of work with the numbers of one order that holds them all.

    Parameters
    ----------
    orders
        Of each elevation, the hardest first: it has the fewest numbers left out.

    Examples
    --------
    >>> tray, window, spray = (Step(words, adds=(words,)) for words in ("tray", "window", "spray"))
    >>> [[step.number for step in steps] for steps in numbered([[tray, spray], [tray, window, spray]])]
    [[1, 3], [1, 2, 3]]
    """
    house: list[_Act] = []
    found: list[list[_Act]] = []
    for steps in orders:
        kinds = [_kind(step) for step in steps]
        merged, mine = [], []
        matcher = SequenceMatcher(None, [one.kind for one in house], kinds, autojunk=False)
        for _, start, end, begin, stop in matcher.get_opcodes():
            for act, kind in zip_longest(house[start:end], kinds[begin:stop]):
                merged.append(act or _Act(kind))
                mine += [merged[-1]] if kind is not None else []
        house = merged
        found.append(mine)
    numbers = {act: number for number, act in enumerate(house, start=1)}
    return [
        tuple(replace(step, number=numbers[act]) for step, act in zip(steps, mine, strict=True))
        for steps, mine in zip(orders, found, strict=True)
    ]


def _kind(step: Step) -> object:
    """What a step adds; of one that adds nothing one can see, its words without figures."""
    return step.adds or FIGURES.sub("#", step.text)
