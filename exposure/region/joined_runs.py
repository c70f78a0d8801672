"""Consecutive forecasts joined to one record: which hours of each run count is told, never guessed."""

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import listed
from exposure.doubts import as_attribute, doubt, flags_of

STEPS = ("step", "lead_time", "leadtime", "lead", "forecast_period", "prediction_timedelta")
RUNS = ("forecast_reference_time", "reference_time", "init_time", "time")
RAIN_OF_RUN = ("hour", "since start")
LEAST_FALL = -0.01  # of the largest amount; a running total that falls by more is none; our choice
AMOUNTS = ("tp", "rain", "pr", "sf", "cp", "snowfall", "convective_rain", "prsn", "prc")  # that may add up


def axis_of_steps(dataset: xr.Dataset) -> str | None:
    """The dimension along which a forecast's hours lie, None where there is none.

    Examples
    --------
    >>> axis_of_steps(xr.Dataset({"tp": (("time", "step"), [[0.0, 1.0]])}))
    'step'
    """
    return next((name for name in STEPS if dataset.sizes.get(name, 1) > 1), None)


def joined_runs(dataset: xr.Dataset, *, leads: tuple[int, int] | None, rain: str | None = None) -> xr.Dataset:
    """Runs of a forecast as one record along ``time``.

    Parameters
    ----------
    leads
        First and last hour of each run that counts; together the runs must give every hour once.
    rain
        What the amounts of rain and snow at a step are: of the ``hour``, or ``since start`` of the run.

    Raises
    ------
    RefusalError
        When the rule is not told, or the hours it leaves are not consecutive.

    Examples
    --------
    >>> runs = xr.Dataset({"tp": (("time", "step"), [[1.0, 3.0], [0.5, 0.5]])},
    ...     {"time": np.array(["2001-01-01T00", "2001-01-01T02"], "M8[ns]"), "step": np.array([1, 2], "m8[h]")})
    >>> one = joined_runs(runs, leads=(1, 2), rain="since start")
    >>> one["tp"].values.tolist(), str(one["time"].values[-1])[:13]
    ([1.0, 2.0, 0.5, 0.0], '2001-01-01T04')
    """
    step = axis_of_steps(dataset)
    run = next((name for name in RUNS if name in dataset.dims and name in dataset.coords), None)
    if step is None or run is None or step not in dataset.coords:
        raise RefusalError(
            f"the file has dimensions {listed(dataset.dims)}",
            "the start of each run and its steps",
            "Give them coordinates of time.",
        )
    hours = _hours(dataset[step])
    if leads is None:
        raise RefusalError(
            f"the file holds {dataset.sizes[run]:,} forecasts of {dataset.sizes[step]} steps each",
            "one record, or the rule to join them by",
            f"Say which hours of each run count, of {hours.min():g} to {hours.max():g}.",
            parameter="leads",
        )
    if rain not in RAIN_OF_RUN:
        raise RefusalError(
            f"rain of a run is {rain!r}", f"one of {listed(RAIN_OF_RUN)}", "Say what the amount at a step is.",
            parameter="run_rain",
        )  # fmt: skip
    first, last = leads
    wanted = np.arange(first, last + 1)
    place = {float(hour): k for k, hour in enumerate(hours.tolist())}
    before = first - 1
    missing = [hour for hour in wanted if float(hour) not in place]
    if missing or (rain == "since start" and before > 0 and float(before) not in place):
        raise RefusalError(
            f"the runs have no hour {missing[0] if missing else before}",
            "every hour that counts, and the one before it where rain adds up",
            "Choose other hours.",
            parameter="leads",
        )
    stamps = dataset[run].values[:, None] + wanted.astype("m8[h]")
    if np.any(np.diff(stamps.ravel()).astype("m8[s]").astype(int) != 3600):
        raise RefusalError(
            f"hours {first} to {last} of each run do not follow one another",
            "every hour once",
            "Choose as many hours as lie between two runs.",
            parameter="leads",
        )
    chosen = [place[float(hour)] for hour in wanted]
    made = {}
    for name, value in dataset.data_vars.items():
        if not {run, step} <= set(value.dims):
            made[name] = value
            continue
        part = value.isel({step: chosen})
        if rain == "since start" and _adds_up(value, str(name)):
            part = _apart(value, part, step, place, wanted)
        made[name] = part
    joined = xr.Dataset(made, attrs=dataset.attrs).stack(joined_time=(run, step))
    joined = joined.drop_vars(["joined_time", run, step, "valid_time"], errors="ignore")
    joined = joined.assign_coords(joined_time=stamps.ravel()).rename(joined_time="time")
    note = doubt("region.joined_runs", first=first, last=last)
    return joined.transpose("time", ...).assign_attrs(flags=as_attribute([*flags_of(dataset.attrs), note]))


def _hours(step: xr.DataArray) -> np.ndarray:
    values = step.values
    if np.issubdtype(values.dtype, np.timedelta64):
        return values / np.timedelta64(1, "h")
    return np.asarray(values, dtype=float)


def _adds_up(value: xr.DataArray, name: str) -> bool:
    """Whether a variable is an amount, which a model sums from the run's start."""
    standard = str(value.attrs.get("standard_name", ""))
    return name in AMOUNTS or standard.endswith("_amount")


def _apart(
    value: xr.DataArray, part: xr.DataArray, step: str, place: dict[float, int], wanted: np.ndarray
) -> xr.DataArray:
    """Amounts of each hour from those since the run's start."""
    earlier = [place.get(float(hour - 1)) for hour in wanted]
    shifted = value.isel({step: [0 if one is None else one for one in earlier]}).values
    axis = part.dims.index(step)
    begins = np.array([one is None for one in earlier]).reshape(
        [-1 if k == axis else 1 for k in range(part.ndim)]
    )
    apart = part.values - np.where(begins, 0.0, shifted)
    if apart.size and np.nanmin(apart) < LEAST_FALL * max(float(np.nanmax(part.values)), 1e-12):
        raise RefusalError(
            f"{value.name} falls within a run, so it does not add up since its start",
            "a running total",
            "Say that the amount at a step is of its hour.",
            parameter="run_rain",
        )
    return part.copy(data=np.maximum(apart, 0.0))
