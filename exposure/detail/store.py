"""Stores of water that fill and empty by the hour, floored at empty and capped at full.

One hour turns a store ``s`` into ``min(full, max(0, s + change))``. Such steps compose: two of them in a row are
one step of the form ``min(high, max(low, s + change))``. So the record is cut into pieces, each piece's single
step is found for all pieces at once, the pieces are run through in order, and then all pieces are filled in
at once. The result is that of the plain hourly loop, only in another order of work.
"""

from collections.abc import Callable

import numpy as np

PIECE = 1024  # hours; sets only how fast it goes


def filled(
    change: Callable[[int], np.ndarray],
    *,
    shape: tuple[int, ...],
    piece: int,
    full: np.ndarray | float,
    keep: Callable[[int, np.ndarray], None],
) -> None:
    """Run stores through a record that is cut into pieces.

    Parameters
    ----------
    change
        Gives the change of the h-th hour of every piece; shape ``shape``. [g m-2]
    shape
        Of the stores, the pieces along the last axis.
    piece
        Hours in a piece.
    full
        What the stores hold at most; broadcasts to ``shape``. [g m-2]
    keep
        Called with h and the stores after the h-th hour of every piece, in order of h; they change afterwards.

    Examples
    --------
    >>> amounts = np.array([[3.0, -1.0], [-5.0, 4.0]])  # two pieces of two hours: 3, -1, then -5, 4
    >>> seen = np.zeros((2, 2))
    >>> filled(lambda h: amounts[:, h], shape=(2,), piece=2, full=3.5,
    ...        keep=lambda h, stores: seen.__setitem__((slice(None), h), stores))
    >>> seen.tolist()
    [[3.0, 2.0], [0.0, 3.5]]
    """
    top = np.array(np.broadcast_to(full, shape), dtype=float)  # whole: read twice as fast as spread
    floor = np.zeros(shape)
    total, low, high = np.zeros(shape), np.zeros(shape), top.copy()
    for h in range(piece):  # the pieces' own steps, min(high, max(low, s + total)), grown hour by hour
        step = change(h)
        total += step
        for edge in (low, high):
            edge += step
            np.maximum(edge, floor, out=edge)
            np.minimum(edge, top, out=edge)
    store = np.zeros(shape)
    running = np.zeros(shape[:-1])
    for p in range(shape[-1]):  # what each piece starts with
        store[..., p] = running
        running = np.minimum(high[..., p], np.maximum(low[..., p], running + total[..., p]))
    for h in range(piece):  # every hour of every piece
        store += change(h)
        np.maximum(store, floor, out=store)
        np.minimum(store, top, out=store)
        keep(h, store)


def filled_hour_by_hour(change: np.ndarray, *, full: np.ndarray | float) -> np.ndarray:
    """The same by a plain loop over hours (first axis), to read and to test against.

    Examples
    --------
    >>> filled_hour_by_hour(np.array([3.0, -1.0, -5.0, 4.0]), full=3.5).tolist()
    [3.0, 2.0, 0.0, 3.5]
    """
    store = np.zeros(change.shape[1:])
    seen = np.empty(change.shape)
    for h in range(change.shape[0]):
        store = np.minimum(full, np.maximum(0.0, store + change[h]))
        seen[h] = store
    return seen
