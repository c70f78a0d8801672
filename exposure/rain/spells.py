"""Spells of driving rain on one wall: found, summed and given to their years."""

from typing import NamedTuple

import numpy as np

SPELL_GAP = 96  # hours without driving rain that end a spell; ISO 15927-3:2009 and CEDA 4e0c93f090dc4b759de8ead14724a35b


class Spells(NamedTuple):
    """Spells of one wall, in order of time."""

    total: np.ndarray  # L m-2
    first: np.ndarray  # position of the first hit
    last: np.ndarray  # position of the last hit


def find_spells(hours: np.ndarray, amounts: np.ndarray) -> Spells:
    """Part a wall's hits into spells.

    Parameters
    ----------
    hours
        Whole hour number of each hit, ascending.
    amounts
        Driving rain of each hit. [L m-2]

    Examples
    --------
    >>> find_spells(np.array([0, 96]), np.array([1.0, 2.0])).total.tolist()  # 95 dry hours between
    [3.0]
    >>> find_spells(np.array([0, 97]), np.array([1.0, 2.0])).total.tolist()  # 96
    [1.0, 2.0]
    """
    if hours.size == 0:
        nothing = np.zeros(0, dtype=int)
        return Spells(np.zeros(0), nothing, nothing)
    dry = np.diff(hours) - 1
    first = np.concatenate([[0], np.flatnonzero(dry >= SPELL_GAP) + 1])
    last = np.concatenate([first[1:] - 1, [hours.size - 1]])
    return Spells(np.add.reduceat(amounts, first), first, last)
