"""One numbering of the steps for a house: a number means the same act on every elevation, on paper, phone and record."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from exposure.detail.schedule_parts import Step

FIGURES = re.compile(r"\d[\d.,]*")
OPENING_WORDS = 4  # by which two forms of a step that adds nothing to a picture are known; our choice


@dataclass(eq=False)
class _Act:
    """One act of the house's order of work, as the first elevation that has it words it."""

    step: Step


def numbered(orders: Sequence[Sequence[Step]]) -> list[tuple[Step, ...]]:
    """Steps of several orders of work with the numbers of one order that holds them all.

    Forms of one act share its number; a step that one elevation lacks leaves its number out there.

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
        merged = _aligned(house, steps)
        house = [act for act, _ in merged]
        found.append([act for act, step in merged if step is not None])
    numbers = {act: number for number, act in enumerate(house, start=1)}
    return [
        tuple(replace(step, number=numbers[act]) for step, act in zip(steps, mine, strict=True))
        for steps, mine in zip(orders, found, strict=True)
    ]


def _aligned(house: Sequence[_Act], steps: Sequence[Step]) -> list[tuple[_Act, Step | None]]:
    """Both in one order, each act beside its step, a new one where the house has none; of all ways the one with the most, and most alike, pairs."""
    best = [[0] * (len(steps) + 1) for _ in range(len(house) + 1)]
    for i in reversed(range(len(house))):
        for j in reversed(range(len(steps))):
            like = _likeness(house[i].step, steps[j])
            best[i][j] = max(best[i + 1][j], best[i][j + 1], like and like + best[i + 1][j + 1])
    pairs: list[tuple[_Act, Step | None]] = []
    i = j = 0
    while i < len(house) and j < len(steps):
        like = _likeness(house[i].step, steps[j])
        if like and best[i][j] == like + best[i + 1][j + 1]:
            pairs.append((house[i], steps[j]))
            i, j = i + 1, j + 1
        elif best[i][j] == best[i + 1][j]:
            pairs.append((house[i], None))
            i += 1
        else:
            pairs.append((_Act(steps[j]), steps[j]))
            j += 1
    return [*pairs, *((act, None) for act in house[i:]), *((_Act(step), step) for step in steps[j:])]


def _likeness(one: Step, other: Step) -> int:
    """3 for the same act, 2 for another form of it, 0 for other work."""
    if one.adds or other.adds:
        return 3 if one.adds == other.adds else 2 if set(one.adds) & set(other.adds) else 0
    mine, theirs = (FIGURES.sub("#", step.text).split() for step in (one, other))
    return 3 if mine == theirs else 2 if mine[:OPENING_WORDS] == theirs[:OPENING_WORDS] else 0
