"""A few cells of a grid read through its own chunks, each unpacked once, and which cells and hours show how it is."""

from itertools import groupby

import numpy as np
import xarray as xr

from exposure.climate.grid.blocks import read_block
from exposure.climate.grid.names import GridVariables

AT_ONCE = 100_000_000  # bytes of a box read at a time; our choice
CELLS = 9  # cells looked at, spread over the area; our choice
TRIES = 100  # places tried for them where many are masked; our choice
WINDOWS = (
    12  # stretches of hours looked at, one around the start of each month, spread over the years; our choice
)
HALF = 96  # hours before and after that start; our choice
MONTH_STARTS = tuple(int(day * 24) for day in np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30]))
YEAR = 8766.0
UNREADABLE = (OSError, RuntimeError, ValueError)  # what the libraries below raise for damaged parts


def chunks_of(variable: xr.DataArray, axes: tuple[str, ...]) -> tuple[int, ...]:
    """Sizes stored together along ``axes``; whole axes where the variable is not stored in chunks.

    Examples
    --------
    >>> chunks_of(xr.DataArray(np.zeros((4, 2)), dims=("time", "y")), ("time", "y"))
    (4, 2)
    """
    told = variable.encoding.get("preferred_chunks") or {}
    stored = dict(zip(variable.dims, variable.encoding.get("chunksizes") or (), strict=False))
    return tuple(max(int(told.get(axis, stored.get(axis, variable.sizes.get(axis, 1)))), 1) for axis in axes)


def read_cells(
    dataset: xr.Dataset,
    names: GridVariables,
    name: str,
    *,
    hours: slice,
    rows: np.ndarray,
    columns: np.ndarray,
) -> np.ndarray:
    """One variable at some cells of a regular grid, as it stands in the file, shape (hour, cell), float32.

    Parameters
    ----------
    hours
        Positions along time.
    rows, columns
        Position of each cell along latitude and longitude, as many of one as of the other.

    Notes
    -----
    Cells of one stored chunk are read as one box, and boxes are cut along time at the chunks' own borders, so that
    each chunk is unpacked once and no box fills the memory.
    """
    axis = str(dataset[names.time].dims[0])
    variable = dataset[name]
    step, down, across = chunks_of(variable, (axis, names.latitude, names.longitude))
    whole = step >= variable.sizes[axis] and down >= variable.sizes[names.latitude]
    if whole and not variable.encoding.get("chunksizes"):
        down = across = 1  # in one piece on the disk: a cell costs no more than itself
    elif _mostly_wanted(rows // down, columns // across):
        down, across = (variable.sizes[name] for name in (names.latitude, names.longitude))  # one box for all
    out = np.empty((hours.stop - hours.start, rows.size), np.float32)
    order = np.lexsort((columns, rows, columns // across, rows // down))
    for _, group in groupby(order, key=lambda cell: (rows[cell] // down, columns[cell] // across)):
        cells = np.array(list(group))
        box = (
            slice(int(rows[cells].min()), int(rows[cells].max()) + 1),
            slice(int(columns[cells].min()), int(columns[cells].max()) + 1),
        )
        area = (box[0].stop - box[0].start) * (box[1].stop - box[1].start)
        fitting = max(AT_ONCE // (8 * area), 1)
        length = max(fitting // step * step, 1) if fitting >= step else fitting
        starts = [hours.start, *range((hours.start // length + 1) * length, hours.stop, length)]
        for start, stop in zip(starts, [*starts[1:], hours.stop], strict=True):
            piece = read_block(
                dataset, names, name, time=slice(start, stop), latitude=box[0], longitude=box[1]
            )
            out[start - hours.start : stop - hours.start, cells] = piece[
                :, rows[cells] - box[0].start, columns[cells] - box[1].start
            ]
    return out


def _mostly_wanted(down: np.ndarray, across: np.ndarray) -> bool:
    """Whether cells lie in most of the chunks that the box round them holds: one look at all is then the quicker.

    Examples
    --------
    >>> _mostly_wanted(np.array([0, 0, 1]), np.array([0, 1, 1])), _mostly_wanted(np.array([0, 9]), np.array([0, 9]))
    (True, False)
    """
    wanted = len(set(zip(down.tolist(), across.tolist(), strict=True)))
    return bool(2 * wanted > (np.ptp(down) + 1) * (np.ptp(across) + 1))


def spread(count: int, wanted: int) -> np.ndarray:
    """``wanted`` of ``count`` positions, evenly spread and away from the ends, each once.

    Examples
    --------
    >>> spread(100, 4).tolist(), spread(2, 5).tolist()
    ([12, 37, 62, 87], [0, 1])
    """
    return np.unique((np.arange(wanted) + 0.5) * count // wanted).astype(int)


def windows_of(hours: np.ndarray) -> list[slice]:
    """Stretches of a record that show each month's start, from year to year, and its own first and last days.

    Parameters
    ----------
    hours
        Since 1970, ascending.

    Examples
    --------
    >>> year = np.arange(24 * 365)
    >>> [(one.start, one.stop) for one in windows_of(year)][:3]
    [(0, 192), (648, 840), (1320, 1512)]
    """
    size = hours.size
    if size <= 2 * HALF * (WINDOWS + 2):
        return [slice(0, size)]
    years = max(int((hours[-1] - hours[0]) // YEAR), 1)
    chosen = {0, size - 2 * HALF}
    first_year = int(hours[0] // YEAR)
    for month, start in enumerate(MONTH_STARTS):
        for year in (month * years // WINDOWS, month * years // WINDOWS + 1):
            middle = int((first_year + year) * YEAR + start)
            if hours[0] + HALF <= middle <= hours[-1] - HALF:
                chosen.add(min(max(int(np.searchsorted(hours, middle)) - HALF, 0), size - 2 * HALF))
                break
    firsts = sorted(chosen)
    return [slice(first, first + 2 * HALF) for first in firsts]
