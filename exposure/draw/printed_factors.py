"""Factors and starts with as many decimals as it takes for them to multiply back to the printed answer."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import accumulate
from math import floor
from operator import mul

from exposure.figures import THOUSAND, litres

MOST_DECIMALS = 9  # of a factor or a start, where a figure lies on the very edge of rounding
FINE_DECIMALS = 5  # of a factor, that always do otherwise


def factor_words(factors: Sequence[float], starts: Sequence[tuple[float, float]] = ()) -> list[str]:
    """Factors with just enough figures that a pocket calculator reaches every printed figure of the chain.

    Two decimals each; where that does not multiply back, more figures for the factor that rounding bends most.
    A factor of 0.8326 in 412 x 0.83 x 1.1 x 1 x 0.4 gives 150.5 where 151 is printed; as 0.833 it gives 151.0.

    Parameters
    ----------
    factors
        The factors in order. [1]
    starts
        Of each row of figures: its start as printed and its true start. [L m-2]

    Examples
    --------
    >>> factor_words([0.8326, 1.10, 1.0, 0.4], [(412.0, 412.2)])
    ['0.833', '1.10', '1.00', '0.40']
    """
    decimals = [2] * len(factors)
    while True:
        printed = [round(value, places) for value, places in zip(factors, decimals, strict=True)]
        if all(_same_figures(typed, printed, true, factors) for typed, true in starts):
            break
        bend = [
            abs(shown / value - 1) if value and places < MOST_DECIMALS else 0.0
            for shown, value, places in zip(printed, factors, decimals, strict=True)
        ]
        worst = max(range(len(factors)), key=bend.__getitem__, default=0)
        if not bend or bend[worst] == 0.0:
            break
        decimals[worst] += 1
    return [f"{value:.{places}f}" for value, places in zip(factors, decimals, strict=True)]


def _same_figures(typed: float, printed: Sequence[float], true: float, factors: Sequence[float]) -> bool:
    """Whether typing the printed figures shows the same litres at every step as the true ones.

    In decimals, as a calculator works: 340 x 0.175 is 59.5 there, a hair less in binary.
    """
    shown = accumulate((Decimal(repr(float(one))) for one in (typed, *printed)), mul)
    meant = accumulate([true, *factors], mul)
    return all(litres(float(one)) == litres(other) for one, other in list(zip(shown, meant, strict=True))[1:])


def start_words(start: float, factors: Sequence[float]) -> tuple[str, float]:
    """The start of a chain as printed, whole unless whole numbers cannot lead to the printed figures.

    Returns
    -------
    tuple of str and float
        The words, and the number a reader types into a calculator.

    Examples
    --------
    >>> start_words(412.2, [1.0, 0.5])
    ('412', 412.0)
    >>> start_words(412.4, [3.0])  # 412 x 3 would be 1,236, printed 1,240; so is 1,237.2
    ('412', 412.0)
    >>> start_words(41.4, [3.0])  # 41 x 3 is 123, the answer is 124
    ('41.4', 41.4)
    """
    fine = [round(value, FINE_DECIMALS) for value in factors]
    if start >= THOUSAND:
        typed = float(10 * floor(start / 10 + 0.5))
        if _same_figures(typed, fine, start, factors):
            return f"{typed:,.0f}", typed
    for decimals in range(MOST_DECIMALS - 1):
        typed = float(floor(start + 0.5)) if decimals == 0 else round(start, decimals)
        if _same_figures(typed, fine, start, factors):
            return f"{typed:,.{decimals}f}", typed
    return f"{start:,.{MOST_DECIMALS - 1}f}", start
