"""Which kind of record the rain of a file looks like: a gauge writes steps and dry hours, a model writes traces.

A gauge empties a bucket or rounds to its step: no hour of rain lies below that step, and few hours are wet. A
reanalysis or model spreads each shower over a cell: a third of all hours carry rain, most of it under 0.1 mm.
The limits are our choice, set between real records (an airport gauge: 7 % wet, no trace; a reanalysis of the
same coast: 38 % with any rain, 63 % of those a trace).
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from exposure.doubts import Doubt, doubt, flags_of

TRACE = 0.1  # mm in the hour, below which an hour of rain is a trace
NOISE = 1e-4  # mm; 0.1 mm stored as float32 metres reads 0.09999999747
ENOUGH_WET = 50  # hours of rain from which a record shows its kind; our choice
MODEL_WET = 0.20  # share of hours with any rain that few gauges reach; our choice
MODEL_TRACES = 0.30  # share of the hours of rain that are traces, likewise; our choice
GAUGE_STEP = 0.2  # mm, a bucket's step; a model rounded to 0.1 mm for a table looks like a gauge; our choice
LEAST_STEP = 0.005  # mm; finer steps are a computer's; our choice
ON_STEP = 0.99  # share of the hours of rain that must lie on the step; our choice
STATION, GRID = "gauge", "reanalysis"


class RainSigns(NamedTuple):
    """What tells a gauge from a model in a row of hourly rain."""

    hours_wet: int  # hours with any rain
    wet_share: float  # of the known hours
    trace_share: float  # of the hours of rain, those under 0.1 mm
    step: float  # mm, the least step all rain comes in; 0 where there is none


class LikelyKind(NamedTuple):
    """A guess at the kind of a record.

    Attributes
    ----------
    kind
        ``"gauge"`` or ``"reanalysis"`` (which stands for a model too).
    reason
        What it rests on, with its figures; a sentence without its full stop.
    sure
        Whether the rain shows it plainly; otherwise whoever has the file should be asked.
    """

    kind: str
    reason: str
    sure: bool


def rain_signs(rain: np.ndarray) -> RainSigns:
    """Wet share, share of traces and smallest step of hourly rain [mm]; missing hours are left aside.

    Examples
    --------
    >>> rain_signs(np.array([0.0, 0.5, 1.5, np.nan, 0.0]))
    RainSigns(hours_wet=2, wet_share=0.5, trace_share=0.0, step=0.5)
    """
    values = np.asarray(rain, dtype=float)
    known = values[np.isfinite(values)]
    wet = known[known > 0]
    if wet.size == 0:
        return RainSigns(0, 0.0, 0.0, 0.0)
    return RainSigns(wet.size, wet.size / known.size, float(np.mean(wet < TRACE - NOISE)), _step(wet))


def _step(wet: np.ndarray) -> float:
    """Step that all rain comes in, also when a table rounded it to hundredths of a mm; 0 where there is none."""
    step = float(np.min(wet))
    if step < LEAST_STEP:
        return 0.0
    for most in (5, 40):  # a rounded first step is made finer by its multiples
        few = wet[wet <= (most + 0.5) * step]
        times = np.round(few / step)
        step = float(np.sum(few * times) / np.sum(times**2))
    off = np.abs(wet - np.round(wet / step) * step)
    return step if np.mean(off <= max(0.02 * step, min(0.0051, 0.06 * step))) >= ON_STEP else 0.0


def likely_kind(rain: np.ndarray) -> LikelyKind:
    """The kind that hourly ``rain`` [mm] looks like, why, and whether that is plain.

    Examples
    --------
    >>> bucket = np.tile([0.0] * 9 + [0.254], 100)
    >>> likely_kind(bucket).kind, likely_kind(bucket).sure
    ('gauge', True)
    >>> drizzle = np.tile([0.0, 0.0, 0.004, 0.031, 0.37], 100)
    >>> print(likely_kind(drizzle).reason)
    60% of the hours carry rain and 67% of those less than 0.1 mm, as in a reanalysis or model
    """
    signs = rain_signs(rain)
    if signs.hours_wet < ENOUGH_WET:
        return LikelyKind(
            STATION, f"It holds only {signs.hours_wet} hours of rain, too few to tell", sure=False
        )
    figures = (
        f"{signs.wet_share:.0%} of the hours carry rain and {signs.trace_share:.0%} of those less than 0.1 mm"
    )
    many, traces = signs.wet_share >= MODEL_WET, signs.trace_share >= MODEL_TRACES
    if many and traces:
        return LikelyKind(GRID, f"{figures}, as in a reanalysis or model", sure=True)
    if many or traces:
        return LikelyKind(GRID, f"{figures}, more like a reanalysis or model than a gauge", sure=False)
    if signs.step >= GAUGE_STEP - NOISE:
        return LikelyKind(STATION, f"Rain comes in steps of {signs.step:.3g} mm, as from a gauge", sure=True)
    if signs.step:
        reason = f"Rain comes in steps of {signs.step:.3g} mm: a gauge, or a model rounded for a table"
        return LikelyKind(STATION, reason, sure=False)
    return LikelyKind(STATION, f"{figures}: a gauge with a fine step, or a model", sure=False)


def doubts_on_kind(rain: np.ndarray, told: str | None) -> list[Doubt]:
    """Doubts on the ``told`` kind of a record, or that it was guessed when none was told.

    Untold, a record is taken for a gauge: then all its rain counts, which gives the larger index and the higher
    class. A told kind is doubted only where the rain plainly says otherwise.

    Examples
    --------
    >>> bucket = np.tile([0.0] * 9 + [0.254], 100)
    >>> doubts_on_kind(bucket, None), [found.key for found in doubts_on_kind(bucket, "reanalysis")]
    ([], ['climate.kind_contradicted'])
    """
    likely = likely_kind(rain)
    if told is None:
        if likely.kind == STATION and likely.sure:
            return []
        return [
            doubt(
                "climate.kind_guessed",
                kind=STATION,
                likely=likely.kind,
                sure=likely.sure,
                reason=likely.reason,
            )
        ]
    contradicted = likely.sure and (
        (told == STATION and likely.kind == GRID)
        or (told in ("reanalysis", "model") and likely.kind == STATION)
    )
    if not contradicted:
        return []
    return [doubt("climate.kind_contradicted", told=told, likely=likely.kind, reason=likely.reason)]


def guessed_and_like_a_grid(attrs: Mapping[Any, Any]) -> bool:
    """Whether nobody named the kind of a record with these attributes and its rain looks like a model's.

    Examples
    --------
    >>> drizzle = np.tile([0.0, 0.0, 0.004, 0.031, 0.37], 100)
    >>> guessed_and_like_a_grid({"kind": "gauge", "flags": doubts_on_kind(drizzle, None)})
    True
    >>> guessed_and_like_a_grid({"kind": "gauge", "flags": doubts_on_kind(drizzle, "gauge")})
    False
    """
    return any(
        isinstance(one, Doubt) and one.key == "climate.kind_guessed" and one.numbers.get("likely") == GRID
        for one in flags_of(attrs)
    )
