"""The members of an ensemble: named by the dimension they stand along, and one of them taken."""

from collections.abc import Mapping

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.axes import MEMBER_NAMES, listed


def member_dimension(dataset: xr.Dataset) -> str | None:
    """The dimension of several members, or None.

    Examples
    --------
    >>> member_dimension(xr.Dataset({"tp": (("number", "time"), np.zeros((2, 3)))}))
    'number'
    >>> member_dimension(xr.Dataset({"tp": (("number", "time"), np.zeros((1, 3)))})) is None
    True
    """
    return next((name for name in MEMBER_NAMES if dataset.sizes.get(name, 0) > 1), None)


def member_names(dataset: xr.Dataset) -> tuple[str, ...]:
    """What each member is called: its coordinate, or its place from 0 where there is none.

    Examples
    --------
    >>> member_names(xr.Dataset({"tp": (("number", "time"), np.zeros((2, 3)))}, {"number": [4.0, 7.0]}))
    ('4', '7')
    """
    dimension = member_dimension(dataset)
    if dimension is None:
        return ()
    told = dataset[dimension].values if dimension in dataset.coords else np.arange(dataset.sizes[dimension])
    names = tuple(f"{one:g}" if np.issubdtype(told.dtype, np.number) else str(one).strip() for one in told)
    if len(set(names)) < len(names):
        raise RefusalError(
            f"several members are called alike along {dimension}",
            "a name of its own for each",
            "Rename them.",
        )
    return names


def one_member(dataset: xr.Dataset, where: Mapping[str, str], name: str) -> xr.Dataset:
    """The grid with the one member that ``where`` names, such as ``{"number": "3"}``.

    Raises
    ------
    RefusalError
        When it has no such dimension, or no such member.
    """
    dimension = member_dimension(dataset)
    if dimension is None or set(where) != {dimension}:
        held = "no ensemble" if dimension is None else f"an ensemble along {dimension}"
        raise RefusalError(
            f"{listed(where)} was told to choose by, and {name} holds {held}",
            "the dimension of its members, or nothing",
            "Leave it out, or name that dimension.",
            parameter="where",
        )
    names = member_names(dataset)
    try:
        place = names.index(where[dimension].strip())
    except ValueError:
        raise RefusalError(
            f"{name} has no member {where[dimension][:40]!r} along {dimension}",
            f"one of {listed(names)}",
            "Name one of them.",
            parameter="where",
        ) from None
    return dataset.isel({dimension: place}, drop=True)
