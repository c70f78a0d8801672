"""What gets past the cladding, and how it dries: two stores of water an hour at a time.

Store A lies on the outer face of the membrane, store B behind it. It ranks ways to build; it is no hygrothermal
assessment and does not replace one.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from exposure.detail.air import MUCH_MISSING, Air
from exposure.detail.store import PIECE, filled
from exposure.detail.vapour import diffusion, venting
from exposure.detail.wall_hours import WallHours
from exposure.detail.ways_to_build import WayToBuild, ways_to_build
from exposure.detail.wetting_result import Wetting, WettingResult, in_words, sentence_on_worst
from exposure.doubts import doubt

BOARD_HOLDS = 3000.0  # g/m2 that a board behind the membrane can take up; our choice
WET = 10.0  # g/m2 in a store from which it is called wet, a film of a hundredth of a millimetre; our choice
WEEKS = 52
BUFFER = 16  # entries; in its own of 8,192, which is longer than our rows, NumPy would copy what is spread over rows
CAUTION = (
    "This ranks ways to build; drying to the inside is not counted. It is no hygrothermal assessment: "
    "who designs the wall makes one where codes ask."
)


def wetting_and_drying(
    hours: WallHours,
    air: Air,
    *,
    elevations: Sequence[str],
    ways: Sequence[WayToBuild] | None = None,
    leaf: Sequence[bool] | None = None,
) -> Wetting:
    r"""Run both stores through the whole record, for every elevation and way to build.

    Parameters
    ----------
    hours
        From :func:`exposure.detail.wall_hours.wall_hours`, walls in the order of ``elevations``.
    air
        From :func:`exposure.detail.air.outdoor_air` of the same record.
    ways
        By default :func:`ways_to_build`.
    leaf
        Which elevations stand behind a masonry leaf; by default none.

    Notes
    -----
    With leak :math:`l` [g/m2 in the hour], lap share :math:`\lambda`, air changes :math:`n` and depth :math:`d`:
    store A changes by :math:`(1-\lambda) l - n d (\rho_{sat} - \rho)` and holds at most what its gap keeps;
    store B by :math:`\lambda l - W_p (p_{sat}(T_s) - p_c)`, where the wet surface lags behind the air and the
    cavity's vapour pressure :math:`p_c` lies between outdoor air and saturation while A is wet. That last term
    can be negative: a damp, warm cavity wets the wall inward. Leak share from ASHRAE 160 (from memory), stores
    our own model.
    """
    options = ways_to_build() if ways is None else tuple(ways)
    behind_leaf = [False] * len(elevations) if leaf is None else list(leaf)
    alike: dict[tuple[bytes, bool], int] = {}  # walls of one rain and one kind are run through once
    number = [
        alike.setdefault((rain.tobytes(), one), len(alike))
        for rain, one in zip(hours.rain_on_wall, behind_leaf, strict=True)
    ]
    first = [number.index(k) for k in range(len(alike))]
    by_wall = [[way.behind_leaf() if behind_leaf[w] else way for w in first] for way in options]
    stores = _run_stores(1000 * hours.rain_on_wall[first], air, by_wall)
    years = _years(hours)
    weeks = _weeks(hours)
    told, told_inner = (
        [[_told(one, hours, weeks) for one in row] for row in rows] for rows in (stores.outer, stores.inner)
    )
    results = []
    for name, rain, k in zip(elevations, hours.rain_on_wall, number, strict=True):
        on_wall = rain.sum() / years
        for row, o, inner_row in zip(by_wall, stores.outer_of, told_inner, strict=True):
            way, outer, inner = row[k], told[o][k], inner_row[k]
            behind = on_wall * way.leak_share
            results.append(
                WettingResult(
                    elevation=name,
                    way=way,
                    litres_behind_cladding=float(behind),
                    litres_behind_membrane=float(behind * way.laps),
                    hours_wet=inner.hours_wet,
                    longest_wet=inner.longest_wet,
                    peak=inner.peak,
                    outer_hours_wet=outer.hours_wet,
                    outer_longest_wet=outer.longest_wet,
                    outer_peak=outer.peak,
                    by_week=inner.by_week,
                    outer_by_week=outer.by_week,
                    in_words="",
                )
            )
    described = tuple(WettingResult(**{**one.__dict__, "in_words": in_words(one)}) for one in results)
    flags = list(air.flags)
    missing = 1 - hours.known.mean()
    if missing > MUCH_MISSING:
        flags.append(doubt("detail.water_unknown", share=float(missing)))
    return Wetting(described, sentence_on_worst(described), CAUTION, tuple(flags))


class _Hours(NamedTuple):
    """What a store holds over the record."""

    wet: np.ndarray  # (hour of piece, piece)
    peak: float  # g m-2


class _Stores(NamedTuple):
    """Both stores of every wall."""

    outer: list[list[_Hours]]  # by way that differs in it, and wall
    outer_of: list[int]  # which of them each way has
    inner: list[list[_Hours]]  # by way and wall


def _run_stores(rain: np.ndarray, air: Air, ways: Sequence[Sequence[WayToBuild]]) -> _Stores:
    """Run both stores of each wall and way; ``rain`` by wall and hour [g m-2], ``ways`` by way and wall."""
    walls, size = rain.shape
    pieces = -(-size // PIECE)

    def cut(values: np.ndarray) -> np.ndarray:  # (hour of piece, ..., piece)
        padded = np.pad(values, [*[(0, 0)] * (values.ndim - 1), (0, pieces * PIECE - size)])
        return np.ascontiguousarray(np.moveaxis(padded.reshape(*values.shape[:-1], pieces, PIECE), -1, 0))

    def column(rows: Sequence[Sequence[WayToBuild]], figure: Callable[[WayToBuild], float]) -> np.ndarray:
        found = np.array([[figure(way) for way in row] for row in rows], dtype=float)[:, :, None]
        return found[:, :1] if (found == found[:, :1]).all() else found  # (way, wall or all, 1)

    def run(
        number: tuple[int, ...], full: np.ndarray | float, change: Callable[[int], np.ndarray]
    ) -> tuple[np.ndarray, list[list[_Hours]]]:
        shape = (*number, walls, pieces)
        wet = np.empty((PIECE, *shape), dtype=bool)
        peak = np.zeros(shape)

        def note(h: int, store: np.ndarray) -> None:
            np.greater_equal(store, WET, out=wet[h])
            np.maximum(peak, store, out=peak)

        filled(change, shape=shape, piece=PIECE, full=full, keep=note)
        by_row, most = wet.reshape(PIECE, -1, walls, pieces), peak.max(-1).reshape(-1, walls)
        return wet, [
            [_Hours(by_row[:, o, w], float(row[w])) for w in range(walls)] for o, row in enumerate(most)
        ]

    falling = cut(rain)  # g/m2 on the wall
    deficit, at_surface, now = (
        cut(values)
        for values in (
            air.deficit,
            air.saturation - air.vapour_pressure,
            air.saturation_now - air.vapour_pressure,
        )
    )
    apart: dict[tuple, int] = {}  # ways that differ outside the membrane
    outer_of = [apart.setdefault(tuple(map(_outside, row)), len(apart)) for row in ways]
    kinds = len(apart)
    if outer_of != [*range(kinds)] * (len(ways) // kinds):  # not the same ones with each membrane
        kinds, outer_of = len(ways), [*range(len(ways))]
    outside = ways[:kinds]
    stays = column(outside, lambda way: way.leak_share * (1 - way.laps))
    holds = column(outside, lambda way: way.holds)
    vented = column(outside, lambda way: float(venting(way.air_changes, way.depth, 1.0)))
    passes = column(outside, lambda way: way.leak_share * way.laps)

    def by_membrane(figures: np.ndarray) -> np.ndarray:  # (membrane, outside, wall or all, 1)
        return figures.reshape(-1, kinds, *figures.shape[1:])

    drying = by_membrane(column(ways, lambda way: float(diffusion(way.permeance, 1.0))))
    damp = by_membrane(column(ways, lambda way: way.damp)) * drying

    everywhere = np.empty((walls, pieces))  # of what is alike on every wall: spread once, not for every way
    damped = np.empty((kinds, walls, pieces))

    def change_outer(h: int) -> np.ndarray:
        change = stays * falling[h]
        everywhere[:] = deficit[h]
        change -= vented * everywhere
        return change

    def change_inner(h: int) -> np.ndarray:
        everywhere[:] = at_surface[h]
        change = passes * falling[h] - drying * everywhere
        everywhere[:] = now[h]
        np.copyto(damped, outer_wet[h])
        np.multiply(damped, everywhere, out=damped)
        change += damp * damped
        return change

    before = np.setbufsize(BUFFER)
    try:
        outer_wet, outer = run((kinds,), holds, change_outer)
        return _Stores(outer, outer_of, run((len(ways) // kinds, kinds), BOARD_HOLDS, change_inner)[1])
    finally:
        np.setbufsize(before)


def _outside(way: WayToBuild) -> tuple[float, ...]:
    """What the store outside the membrane depends on."""
    return way.leak_share, way.laps, way.holds, way.air_changes, way.depth


class _Told(NamedTuple):
    """What is told of a store."""

    hours_wet: float  # in a year
    longest_wet: int
    peak: float  # g m-2
    by_week: np.ndarray  # (52,) hours


def _told(store: _Hours, hours: WallHours, weeks: tuple[np.ndarray, np.ndarray]) -> _Told:
    wet, years = store.wet.T.ravel()[: hours.size], _years(hours)
    return _Told(
        float(np.count_nonzero(wet) / years), _longest(wet), store.peak, _hours_by_week(wet, *weeks, years)
    )


def _years(hours: WallHours) -> float:
    return max(hours.years, 1e-9)


def _longest(wet: np.ndarray) -> int:
    """Longest run of wet hours.

    Examples
    --------
    >>> _longest(np.array([True, True, False, True]))
    2
    """
    turns = np.flatnonzero(wet[1:] != wet[:-1]) + 1
    edges = np.concatenate([[0], turns, [wet.size]])
    runs = np.diff(edges)
    return int(runs[0 if wet[0] else 1 :: 2].max(initial=0))


def _weeks(hours: WallHours) -> tuple[np.ndarray, np.ndarray]:
    """Position where each week of the record begins, and which week of its year it is, 0 to 51.

    The last day or two of a year belong to its last week.
    """
    starts = sorted(hours.year_start.values())
    begins, week_of = [], []
    for start in starts:
        for week in range(WEEKS):
            begin = start + 168 * week
            if (begin > 0 or begin + 168 > 0) and begin < hours.size:
                begins.append(max(begin, 0))
                week_of.append(week)
    return np.array(begins), np.array(week_of)


def _hours_by_week(wet: np.ndarray, bounds: np.ndarray, week_of: np.ndarray, years: float) -> np.ndarray:
    counts = np.add.reduceat(wet, bounds, dtype=np.int32)
    return np.bincount(week_of, counts, minlength=WEEKS)[:WEEKS] / years
