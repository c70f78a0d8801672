"""Two results of one grid side by side: the difference in each cell, and where the spread of years hides it."""

from typing import Any

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.doubts import Doubt, doubt, flags_of, with_flags
from exposure.rain.uncertainty import band_of, band_of_difference, resample_years
from exposure.rain.variables import cf_dataset

AT_ONCE = 400  # cells and facings drawn together; our choice
LEAST_MEMBERS = 5  # all going one way by chance: twice a half to the fifth, 6 %
PAIRS = {
    "annual": ("airfield_annual_index", "yearly_annual_index"),
    "spell": ("airfield_spell_index", "yearly_spell_maximum"),
}


def index_change(first: xr.Dataset, second: xr.Dataset) -> xr.Dataset:
    """Second result against the first: two periods, two runs.

    Parameters
    ----------
    first, second
        As :func:`exposure.region.region_index.index_region` writes them: the indices along ``orientation``,
        ``latitude``, ``longitude``, and the yearly figures they come from. Or both as
        :func:`exposure.region.members.index_members` writes them: then the spread over the members stands in for that
        of the years.

    Returns
    -------
    xarray.Dataset
        Of ``annual`` and ``spell``: ``_change`` and both ends of its 90 % band, ``_change_low``, ``_change_high``
        [L m-2], and ``_clear``: 1 where it rises and -1 where it falls whatever the years, 0 where they hide it.
        A cell without a result in one of them is missing, and its ``_clear`` 0.

    Raises
    ------
    RefusalError
        When the cells or the orientations are not the same.
    """
    for name in ("orientation", "latitude", "longitude"):
        one, other = first[name].values, second[name].values
        if one.shape != other.shape or not np.allclose(one, other, atol=1e-4):
            raise RefusalError(
                f"the results differ along {name}",
                "the same cells and orientations in both",
                "Make both from one grid, box and number of orientations.",
            )
    dims = ("orientation", "latitude", "longitude")
    found: dict[str, tuple[tuple[str, ...], np.ndarray, dict[str, Any]]] = {}
    ensembles = ["member" in one.dims for one in (first, second)]
    if ensembles[0] != ensembles[1]:
        raise RefusalError(
            "one result holds the members of an ensemble, the other a single run",
            "both of one kind",
            "Index one member, or all members of both.",
        )
    for name, (index, yearly) in PAIRS.items():
        values = [one[index].transpose(*dims).values for one in (first, second)]
        if ensembles[0]:
            change, low, high = _over_members(first, second, name)
        else:
            bands = [
                _bands(one[yearly].transpose("year", *dims).values, value, name)
                for one, value in zip((first, second), values, strict=True)
            ]
            low, high = band_of_difference(values[0], bands[0], values[1], bands[1])
            change = values[1] - values[0]
        enough = not ensembles[0] or min(first.sizes["member"], second.sizes["member"]) >= LEAST_MEMBERS
        low_said, high_said = ("smallest", "largest") if ensembles[0] else ("lower", "upper")
        of_band = "change of a member" if ensembles[0] else "end of the 90 % band"
        unit = {"units": "L m-2", "long_name": f"change of the {name} index"}
        found |= {
            f"{name}_change": (dims, change, unit),
            f"{name}_change_low": (dims, low, unit | {"comment": f"{low_said} {of_band}"}),
            f"{name}_change_high": (dims, high, unit | {"comment": f"{high_said} {of_band}"}),
            f"{name}_clear": (
                dims,
                np.where(enough & (low > 0), 1, np.where(enough & (high < 0), -1, 0)).astype(np.int8),
                {
                    "long_name": f"whether the change of the {name} index is clear",
                    "flag_values": np.array([-1, 0, 1], dtype=np.int8),
                    "flag_meanings": "falls hidden rises",
                },
            ),
        }
    coords = {name: first[name] for name in dims}
    flags = [*flags_of(first.attrs), *flags_of(second.attrs)]
    least = [one.attrs.get("wet_hour_mm") for one in (first, second)]
    if least[0] != least[1]:
        flags.append(doubt("rain.thresholds_differ", one=least[0], other=least[1]))
    if first.attrs.get("kind") != second.attrs.get("kind"):
        flags.append(doubt("rain.kinds_differ", one=first.attrs.get("kind"), other=second.attrs.get("kind")))
    if ensembles[0]:
        flags += doubts_of_members(
            min(first.sizes["member"], second.sizes["member"]), paired=_paired(first, second)
        )
    made = xr.Dataset(found, coords=coords)
    made.attrs = {
        "first": str(first.attrs.get("source", "not named")),
        "second": str(second.attrs.get("source", "not named")),
        "licence": "; ".join(dict.fromkeys(str(one.attrs.get("licence", "not named")) for one in (first, second))),
    }  # fmt: skip
    if "invented" in (first.attrs.get("kind"), second.attrs.get("kind")):
        made.attrs["kind"] = "invented"
    return with_flags(cf_dataset(made, "Change of driving rain on walls, by the way they face"), flags)


def _over_members(
    first: xr.Dataset, second: xr.Dataset, name: str
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    dims = ("member", "orientation", "latitude", "longitude")
    before, after = (one[f"member_{name}_index"].transpose(*dims).values for one in (first, second))
    return change_over_members(before, after, paired=_paired(first, second))


def change_over_members(
    before: np.ndarray, after: np.ndarray, *, paired: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Median change, and the smallest and the largest; of members that are not the same, between all of both.

    Parameters
    ----------
    before, after
        Figures of each member, along the first axis; a place that one member lacks is missing.
    paired
        Whether the members are the same and stand in one order.

    Examples
    --------
    >>> before, after = np.array([[1.0], [2.0], [4.0]]), np.array([[2.0], [5.0], [4.0]])
    >>> [one.tolist() for one in change_over_members(before, after, paired=True)]
    [[1.0], [0.0], [3.0]]
    >>> [one.tolist() for one in change_over_members(before, after, paired=False)]
    [[2.0], [-2.0], [4.0]]
    """
    known = np.isfinite(before).all(axis=0) & np.isfinite(after).all(axis=0)
    before, after = np.where(known, before, 0.0), np.where(known, after, 0.0)
    if paired:
        change = after - before
        found = np.median(change, axis=0), change.min(axis=0), change.max(axis=0)
    else:
        middle = np.median(after, axis=0) - np.median(before, axis=0)
        found = middle, after.min(axis=0) - before.max(axis=0), after.max(axis=0) - before.min(axis=0)
    change, low, high = (np.where(known, one, np.nan) for one in found)
    return change, low, high


def _paired(first: xr.Dataset, second: xr.Dataset) -> bool:
    return first["member"].values.tolist() == second["member"].values.tolist()


def doubts_of_members(least: int, *, paired: bool) -> list[Doubt]:
    """What is said of a change between ensembles, the smaller of which has ``least`` members."""
    told = [doubt("region.members_compared", count=least) if paired else doubt("region.members_apart")]
    few = [doubt("region.few_members", count=least, least=LEAST_MEMBERS)] if least < LEAST_MEMBERS else []
    return told + few


def _bands(yearly: np.ndarray, value: np.ndarray, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Both ends of the band of each cell and facing; cells that count the same years are drawn together."""
    flat, figure = yearly.reshape(yearly.shape[0], -1), value.ravel()
    low, high = np.full((2, figure.size), np.nan)
    counts = np.isfinite(flat)
    kinds, which = np.unique(counts, axis=1, return_inverse=True)
    for number in range(kinds.shape[1]):
        rows = np.flatnonzero(kinds[:, number])
        if not rows.size:
            continue
        mine = np.flatnonzero(which.ravel() == number)
        for part in np.split(mine, range(AT_ONCE, mine.size, AT_ONCE)):
            drawn = resample_years(flat[np.ix_(rows, part)], flat[np.ix_(rows, part)])
            picked = drawn.annual if name == "annual" else drawn.spell
            low[part], high[part] = band_of(picked, figure[part], drawn.years)
    return low.reshape(value.shape), high.reshape(value.shape)
