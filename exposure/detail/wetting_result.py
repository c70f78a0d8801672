"""How wet each way to build stays on each elevation, and what that says in words."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from exposure.detail.ways_to_build import WayToBuild
from exposure.figures import NO_BREAK, listed, number, whole

YEAR = 8760  # hours


@dataclass(frozen=True)
class WettingResult:
    """One elevation built one way. Both stores: A outside the membrane, B behind it."""

    elevation: str
    way: WayToBuild
    litres_behind_cladding: float  # L/m2 in a year
    litres_behind_membrane: float  # L/m2 in a year
    hours_wet: float  # of store B in a year
    longest_wet: int  # hours, of store B
    peak: float  # of store B, g/m2
    outer_hours_wet: float  # of store A in a year
    outer_longest_wet: int
    outer_peak: float
    by_week: np.ndarray  # (52,) hours in the week that store B is wet, mean over years
    outer_by_week: np.ndarray  # (52,) the same of store A
    in_words: str


@dataclass(frozen=True)
class Wetting:
    """Every way to build on every elevation, with what to say of it."""

    results: tuple[WettingResult, ...]
    sentence: str
    caution: str
    flags: tuple[str, ...] = field(default=())

    def sentence_of(self, elevation: str) -> str:
        """Unsealed against taped with a drained cavity, on one elevation."""
        return sentence_on_worst(self.of(elevation))

    def of(self, elevation: str) -> tuple[WettingResult, ...]:
        """The results of one elevation, in the order of the ways to build."""
        return tuple(one for one in self.results if one.elevation == elevation)


def hours_words(hours: float) -> str:
    """Hours of a year, whole, to the nearest ten from a thousand.

    Examples
    --------
    >>> hours_words(4312.0).replace(NO_BREAK, " "), hours_words(0.3).replace(NO_BREAK, " ")
    ('4,310 h', 'under 1 h')
    """
    if 0 < hours < 1:
        return f"under{NO_BREAK}1{NO_BREAK}h"
    return f"{whole(10 * round(hours / 10) if hours >= 1000 else hours)}{NO_BREAK}h"


def on_end(hours: int) -> str:
    """How long on end, in years from two of them on, where hours say nothing.

    Examples
    --------
    >>> on_end(1200).split(), on_end(95_841).split()
    (['1,200', 'h'], ['10.9', 'years'])
    """
    return f"{number(hours)}{NO_BREAK}h" if hours < 2 * YEAR else f"{number(hours / YEAR, 1)}{NO_BREAK}years"


def in_words(one: WettingResult) -> str:
    """One way to build on one elevation, by what is wet behind the membrane."""
    return (
        f"{hours_words(one.hours_wet)} wet behind the membrane in a mean year, longest {on_end(one.longest_wet)}, "
        f"most {number(one.peak)}{NO_BREAK}g/m²"
    )


def sentence_on_worst(results: Sequence[WettingResult]) -> str:
    """Unsealed against taped with a drained cavity, on the elevation that takes most."""
    worst = max(results, key=lambda one: one.litres_behind_cladding).elevation
    own = {one.way.key: one for one in results if one.elevation == worst}
    poor, good = own.get("unsealed, open"), own.get("drained, open")
    if poor is None or good is None:
        return ""
    return (
        f"On the {worst} elevation {_fine(poor.litres_behind_cladding)} get behind the cladding in a year. "
        f"Unsealed, {_fine(poor.litres_behind_membrane)} of it pass the membrane and the wall behind is wet for "
        f"{hours_words(poor.hours_wet)} in a mean year, at longest {on_end(poor.longest_wet)} on end; "
        f"taped with a drained cavity it is {_fine(good.litres_behind_membrane)}, {hours_words(good.hours_wet)} "
        f"and at longest {on_end(good.longest_wet)}." + _why_taped_is_wetter(results)
    )


def _why_taped_is_wetter(results: Sequence[WettingResult]) -> str:
    """A sentence where taping alone comes out wetter, so that nobody leaves laps open for it; else empty."""
    by_way = {(one.elevation, one.way.key): one.hours_wet for one in results}
    wetter = [
        f"{hours_words(taped)} on the {name} elevation, where unsealed it is {hours_words(unsealed)}"
        for name in dict.fromkeys(one.elevation for one in results)
        if (taped := by_way.get((name, "taped, open"), 0.0)) > (unsealed := by_way[name, "unsealed, open"])
    ]
    if not wetter:
        return ""
    return (
        f" Taped without a cavity it is {listed(wetter)}: less water passes, but what is kept out "
        "stands against the membrane and damps the wall from there. A cavity cures that; open laps do not."
    )


def _fine(litres: float) -> str:
    shown = f"{litres:.1f}" if litres >= 0.1 else f"{1000 * litres:.0f}{NO_BREAK}mL/m²"
    return shown if shown.endswith("m²") else f"{shown}{NO_BREAK}L/m²"
