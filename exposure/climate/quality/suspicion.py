"""What a doubt about a record is: the hours it concerns and a sentence for the reader."""

from typing import NamedTuple

import numpy as np
import xarray as xr

YEAR = 8766.0  # h


class Suspicion(NamedTuple):
    """One doubt about a record.

    Attributes
    ----------
    name
        Short name, in words joined by hyphens.
    mask
        The hours it concerns, one truth value for each hour of the record.
    sentence
        What was seen, with its figures.
    grave
        Whether the answer itself becomes doubtful, so that the sentence goes on the flags.
    """

    name: str
    mask: np.ndarray
    sentence: str
    grave: bool

    @property
    def hours(self) -> int:
        """Number of hours concerned."""
        return int(np.count_nonzero(self.mask))


def values_of(climate: xr.Dataset, term: str) -> np.ndarray:
    """Values of a term as plain numbers, all missing when the record does not hold it."""
    if term in climate.variables:
        return np.asarray(climate.variables[term].values, dtype=float)
    return np.full(climate.sizes["time"], np.nan)


def run_lengths(values: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """For each hour, how many consecutive hours around it hold the very same value; 0 where missing.

    Examples
    --------
    >>> run_lengths(np.array([1.0, 1.0, 2.0, np.nan, 2.0]), np.arange(5)).tolist()
    [2, 2, 1, 0, 1]
    """
    if values.size == 0:
        return np.zeros(0, dtype=int)
    new = np.ones(values.size, dtype=bool)
    new[1:] = (values[1:] != values[:-1]) | (np.diff(hours) != 1)
    length = np.diff(np.flatnonzero(new), append=values.size)
    return np.where(np.isfinite(values), np.repeat(length, length), 0)
